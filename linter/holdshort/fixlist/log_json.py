r"""A measured log as JSON, for programs. Keys are promises; prose is free.

The shape, whose JSON Schema lies beside this module in ``log.schema.json``. Units stand in the key
names; times are seconds as the log counts them (of the day, or since 1970, for clock and date)::

    {
      "format": "holdshort-log", "version": 1,
      "file": "tarn.yaml", "aircraft": "Tarn Swift", "log": "bench-run.csv",
      "rows", "rows_left_out", "interval_seconds", "time_form": "s",
      "start_seconds", "end_seconds",
      "flaws": [{"flaw", "column", "count", "first_line", "text", "words"}],
      "missing_columns": ["..."], "empty_columns": ["..."], "doubled_columns": ["..."],
      "restarts": [{"line", "before_seconds", "after_seconds"}], "restart_count",
      "gaps": {"count", "seconds", "longest_seconds", "line"},
      "voltages": [
        {"column", "at", "lowest": MOMENT, "highest": MOMENT, "mean_volts",
         "limit_volts", "limit_words", "needed_volts", "computed_lowest_volts",
         "computed_lowest_case", "computed_state", "short_of_computed_volts", "is_short",
         "computed_highest_volts", "computed_highest_case", "rated_max_volts", "is_over_rating",
         "words",
         "dips": {"count", "seconds", "longest_seconds", "told": [
           {"start_seconds", "end_seconds", "line", "lowest": MOMENT, "readings", "cut",
            "moved": [{"column", "of", "before", "after", "words"}], "words"}]}}
      ],
      "currents": [
        {"column", "of", "peak": MOMENT, "mean_amperes", "rms_amperes", "ampere_hours",
         "watt_hours", "covered_seconds", "capacity_ampere_hours", "computed_mean_amperes",
         "computed_peak_amperes", "computed_peak_case", "left_after_flight_share"}
      ],
      "resistances": [
        {"voltage", "current", "of", "at", "ohms", "standard_uncertainty_ohms",
         "half_width_95_ohms", "no_load_volts", "no_load_uncertainty_volts", "r_squared",
         "plain_fit_ohms", "rows", "undetermined", "declared_ohms", "declared_is_assumed"}
      ],
      "links": [{"column", "measures", "of", "lowest": MOMENT, "mean", "total_lost",
                 "longest_run_seconds"}],
      "positions": [{"column", "of", "unit", "lowest": MOMENT, "highest": MOMENT}],
      "figures": {"lowest voltage at front-rx": "6.90 V"},
      "sign": {"test", "figures": those the test asks for, "command"},
      "caution": "..."
    }

MOMENT is ``{"value", "seconds", "line"}``. What is not known is null. ASCII, and no control
character but line ends.
"""

from typing import Any, Final

from holdshort.analysis.logs.dips import Dip
from holdshort.analysis.logs.figures import figures_of, figures_to_sign
from holdshort.analysis.logs.report import (
    CurrentRow,
    LinkRow,
    LogReport,
    PositionRow,
    ResistanceRow,
    VoltageRow,
)
from holdshort.analysis.logs.rows import FLAWS
from holdshort.analysis.logs.statistics import Moment
from holdshort.fixlist.json_format import dump
from holdshort.fixlist.log_words import (
    CAUTION,
    comparison_words,
    dip_words,
    moved_words,
    sign_command,
)

FORMAT: Final = "holdshort-log"
VERSION: Final = 1
_HOUR: Final = 3600.0


def render_json(report: LogReport) -> str:
    """Return what a log says as JSON text."""
    return dump(
        {
            "format": FORMAT,
            "version": VERSION,
            "file": report.file,
            "aircraft": report.aircraft or None,
            "log": report.log,
            **_rows(report),
            "voltages": [_voltage(report, row) for row in report.voltages],
            "currents": [_current(row) for row in report.currents],
            "resistances": [_resistance(row) for row in report.resistances],
            "links": [_link(row) for row in report.links],
            "positions": [_position(row) for row in report.positions],
            "figures": figures_of(report),
            "sign": {
                "test": report.test,
                "figures": figures_to_sign(report),
                "command": " ".join(sign_command(report)),
            },
            "caution": CAUTION,
        }
    )


def _rows(report: LogReport) -> dict[str, Any]:
    reading = report.reading
    return {
        "rows": reading.rows,
        "rows_left_out": reading.left_out,
        "interval_seconds": reading.interval or None,
        "time_form": reading.form,
        "start_seconds": reading.start,
        "end_seconds": reading.end,
        "flaws": [
            {
                "flaw": flaw,
                "column": column or None,
                "count": tally.count,
                "first_line": tally.line,
                "text": tally.text,
                "words": FLAWS[flaw],
            }
            for (flaw, column), tally in reading.flaws.items()
        ],
        "missing_columns": list(report.layout.missing),
        "empty_columns": list(report.empty),
        "doubled_columns": list(report.layout.doubled),
        "restarts": [
            {
                "line": restart.line,
                "before_seconds": restart.before,
                "after_seconds": restart.after,
            }
            for restart in reading.restarts
        ],
        "restart_count": reading.restart_count,
        "gaps": {
            "count": reading.gaps.number,
            "seconds": reading.gaps.seconds,
            "longest_seconds": reading.gaps.longest,
            "line": reading.gaps.line or None,
        },
    }


def _moment(moment: Moment | None) -> dict[str, Any] | None:
    if moment is None:
        return None
    return {"value": moment.value, "seconds": moment.time, "line": moment.line}


def _voltage(report: LogReport, row: VoltageRow) -> dict[str, Any]:
    subject, computed = row.subject, row.subject.computed
    return {
        "column": subject.column,
        "at": subject.written,
        "lowest": _moment(row.extremes.lowest),
        "highest": _moment(row.extremes.highest),
        "mean_volts": row.extremes.mean,
        "limit_volts": subject.limit.voltage if subject.limit else None,
        "limit_words": subject.limit.words if subject.limit else None,
        "needed_volts": subject.limit.hard.voltage if subject.limit else None,
        "computed_lowest_volts": computed.lowest.value if computed.lowest else None,
        "computed_lowest_case": computed.lowest_case or None,
        "computed_state": computed.lowest.state if computed.lowest else None,
        "short_of_computed_volts": row.short,
        "is_short": row.is_short,
        "computed_highest_volts": computed.highest.value if computed.highest else None,
        "computed_highest_case": computed.highest_case or None,
        "rated_max_volts": row.rated,
        "is_over_rating": row.is_over,
        "words": comparison_words(report, row),
        "dips": None
        if row.dips is None
        else {
            "count": row.dips.number,
            "seconds": row.dips.seconds,
            "longest_seconds": row.dips.longest,
            "told": [_dip(report, row, dip) for dip in row.dips.told],
        },
    }


def _dip(report: LogReport, row: VoltageRow, dip: Dip) -> dict[str, Any]:
    return {
        "start_seconds": dip.start.time,
        "end_seconds": dip.end,
        "line": dip.start.line,
        "lowest": _moment(dip.lowest),
        "readings": dip.readings,
        "cut": dip.cut,
        "moved": [
            {
                "column": moved.column,
                "of": (column := report.plan.columns[moved.column]).at or column.of,
                "before": moved.before,
                "after": moved.after,
                "words": moved_words(report, moved),
            }
            for moved in dip.moved
        ],
        "words": dip_words(report, row, dip),
    }


def _current(row: CurrentRow) -> dict[str, Any]:
    return {
        "column": row.column,
        "of": row.device,
        "peak": _moment(row.extremes.highest),
        "mean_amperes": row.mean,
        "rms_amperes": row.rms,
        "ampere_hours": row.charge / _HOUR,
        "watt_hours": None if row.joules is None else row.joules / _HOUR,
        "covered_seconds": row.seconds,
        "capacity_ampere_hours": None if row.capacity is None else row.capacity / _HOUR,
        "computed_mean_amperes": row.computed,
        "computed_peak_amperes": row.computed_peak,
        "computed_peak_case": row.peak_case or None,
        "left_after_flight_share": row.after_flight,
    }


def _resistance(row: ResistanceRow) -> dict[str, Any]:
    line, plain = row.best, row.line
    return {
        "voltage": row.voltage,
        "current": row.current,
        "of": row.device,
        "at": row.at,
        "ohms": row.ohms,
        "standard_uncertainty_ohms": line.slope_error if line else None,
        "half_width_95_ohms": line.half_width if line else None,
        "no_load_volts": line.intercept if line else None,
        "no_load_uncertainty_volts": line.intercept_error if line else None,
        "r_squared": line.r_squared if line else None,
        "plain_fit_ohms": -plain.slope if plain else None,
        "rows": line.readings if line else 0,
        "undetermined": row.undetermined or None,
        "declared_ohms": row.declared,
        "declared_is_assumed": row.assumed,
    }


def _link(row: LinkRow) -> dict[str, Any]:
    losses = row.losses
    return {
        "column": row.column,
        "measures": row.measures,
        "of": row.of,
        "lowest": _moment(row.extremes.lowest),
        "mean": row.extremes.mean,
        "total_lost": losses.total if losses else None,
        "longest_run_seconds": losses.longest.duration if losses and losses.longest else None,
    }


def _position(row: PositionRow) -> dict[str, Any]:
    return {
        "column": row.column,
        "of": row.of,
        "unit": row.unit,
        "lowest": _moment(row.extremes.lowest),
        "highest": _moment(row.extremes.highest),
    }
