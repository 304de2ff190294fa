r"""The power table as JSON, for programs. Keys are promises; prose is free.

The shape, whose JSON Schema lies beside this module in ``power.schema.json``. Units stand in the
key names::

    {
      "format": "holdshort-power",
      "version": 1,                 a change that breaks readers raises it; new keys do not
      "file": "tarn.yaml",          as it was given; "-" is standard input
      "aircraft": "Tarn Swift",     null where it has no name
      "cases": [{"case", "title", "charge_share"}],
      "collapses": [
        {"case", "cause", "device", "share_carried", "also_falling": ["..."]}
      ],
      "rails": [                    "sources" is empty for what has no supply
        {"sources": ["regulator"], "volts": BY_CASE, "amperes": BY_CASE,
         "devices": [
           {"device", "part", "kind", "volts": BY_CASE, "amperes": BY_CASE,
            "lowest_volts": EXTREME, "highest_volts": EXTREME,
            "rated_min_volts", "rated_max_volts", "brown_out_volts", "judgements": ["within"]}
         ]}
      ],
      "leads": [                    the one that loses most first
        {"from", "to", "wire", "wire_assumed", "length_metres", "length_assumed",
         "case", "lost_volts": READING, "amperes": READING}
      ],
      "regulators": [
        {"device", "part", "set_volts", "measured_volts", "input_min_volts", "input_max_volts",
         "continuous_amperes", "peak_amperes", "heat_limit_watts",
         "cases": {case: {"state", "regulation", "input_volts", "input_amperes", "output_volts",
                          "output_amperes", "heat_watts", "marks": ["above continuous"]}}}
      ],
      "packs": [
        {"device", "part", "chemistry", "cells", "capacity_ampere_hours", "continuous_amperes",
         "peak_amperes", "volts": BY_CASE, "amperes": BY_CASE, "marks": {case: ["..."]},
         "use": {"flight_seconds", "flights", "per_flight_ampere_hours": READING,
                 "left_share": READING}}
      ],
      "incomplete": [{"needs", "file", "line", "cases": ["..."]}],
      "assumptions": [{"text", "file", "line", "source": "common practice"}],
      "unread": ["devices.gyro"],   entries with mistakes of form, left out of all the above
      "caution": "..."
    }

BY_CASE maps the name of a load case to a READING: ``{"value", "state"}``, with ``state`` one of
``known``, ``incomplete`` (a voltage is at most the value, a current at least), ``collapse``,
``no supply`` and ``not known``; ``value`` is null in the last three. EXTREME is a READING with its
``case``. A number that is not stated or not known is null.

The text is ASCII and holds no control character but line ends.
"""

from typing import Any, Final

from holdshort.analysis import Aircraft
from holdshort.analysis.power_rows import (
    ByCase,
    CollapseRow,
    DeviceRow,
    Extreme,
    LeadRow,
    PackRow,
    PackUse,
    PowerTable,
    RailRow,
    Reading,
    RegulatorRow,
    Told,
    highest,
    lowest,
)
from holdshort.analysis.power_table import power_table
from holdshort.fixlist.json_format import dump
from holdshort.fixlist.power_view import CAUTION

FORMAT: Final = "holdshort-power"
VERSION: Final = 1

_COULOMBS_PER_AMPERE_HOUR: Final = 3600.0


def json_text(aircraft: Aircraft) -> str:
    """Return the power table of ``aircraft`` as JSON text."""
    return render_json(power_table(aircraft))


def render_json(table: PowerTable) -> str:
    """Return the power table as JSON text."""
    return dump(
        {
            "format": FORMAT,
            "version": VERSION,
            "file": table.file,
            "aircraft": table.aircraft or None,
            "cases": [
                {"case": case.name, "title": case.title, "charge_share": case.charge}
                for case in table.cases
            ],
            "collapses": [_collapse(row) for row in table.collapses],
            "rails": [_rail(row) for row in table.rails],
            "leads": [_lead(row) for row in table.leads],
            "regulators": [_regulator(row) for row in table.regulators],
            "packs": [_pack(row) for row in table.packs],
            "incomplete": [
                {"needs": need.text, **_place(need), "cases": list(need.cases)}
                for need in table.missing
            ],
            "assumptions": [
                {"text": told.text, **_place(told), "source": "common practice"}
                for told in table.assumptions
            ],
            "unread": list(table.unread),
            "caution": CAUTION,
        }
    )


def _place(told: Told) -> dict[str, Any]:
    return {"file": told.file, "line": told.line}


def _reading(reading: Reading) -> dict[str, Any]:
    return {"value": reading.value, "state": reading.state}


def _by_case(readings: ByCase) -> dict[str, Any]:
    return {case: _reading(reading) for case, reading in readings.items()}


def _extreme(found: Extreme | None) -> dict[str, Any] | None:
    return {"case": found.case, **_reading(found.reading)} if found else None


def _collapse(row: CollapseRow) -> dict[str, Any]:
    return {
        "case": row.case,
        "cause": row.cause,
        "device": row.device,
        "share_carried": row.share,
        "also_falling": list(row.also_falling),
    }


def _rail(row: RailRow) -> dict[str, Any]:
    return {
        "sources": list(row.sources),
        "volts": _by_case(row.volts),
        "amperes": _by_case(row.amperes),
        "devices": [_device(device) for device in row.devices],
    }


def _device(row: DeviceRow) -> dict[str, Any]:
    return {
        "device": row.device,
        "part": row.part,
        "kind": row.kind,
        "volts": _by_case(row.volts),
        "amperes": _by_case(row.amperes),
        "lowest_volts": _extreme(lowest(row.volts)),
        "highest_volts": _extreme(highest(row.volts)),
        "rated_min_volts": row.rating.lowest,
        "rated_max_volts": row.rating.highest,
        "brown_out_volts": row.rating.brown_out,
        "judgements": list(row.judgements),
    }


def _lead(row: LeadRow) -> dict[str, Any]:
    return {
        "from": row.start,
        "to": row.end,
        "wire": row.wire,
        "wire_assumed": row.wire_assumed,
        "length_metres": row.length,
        "length_assumed": row.length_assumed,
        "case": row.case,
        "lost_volts": _reading(row.volts),
        "amperes": _reading(row.amperes),
    }


def _regulator(row: RegulatorRow) -> dict[str, Any]:
    return {
        "device": row.device,
        "part": row.part,
        "set_volts": row.set_to,
        "measured_volts": row.measured,
        "input_min_volts": row.input_rating.lowest,
        "input_max_volts": row.input_rating.highest,
        "continuous_amperes": row.continuous,
        "peak_amperes": row.peak,
        "heat_limit_watts": row.heat_limit,
        "cases": {case: _regulator_case(row, case) for case in row.points},
    }


def _regulator_case(row: RegulatorRow, case: str) -> dict[str, Any]:
    point = row.points[case]
    return {
        "state": row.states[case],
        "regulation": point.regulation.value if point else None,
        "input_volts": point.input_voltage if point else None,
        "input_amperes": point.input_current if point else None,
        "output_volts": point.output_voltage if point else None,
        "output_amperes": point.output_current if point else None,
        "heat_watts": point.heat if point else None,
        "marks": list(row.marks[case]),
    }


def _pack(row: PackRow) -> dict[str, Any]:
    return {
        "device": row.device,
        "part": row.part,
        "chemistry": row.chemistry,
        "cells": row.cells,
        "capacity_ampere_hours": _ampere_hours(row.capacity),
        "continuous_amperes": row.continuous,
        "peak_amperes": row.peak,
        "volts": _by_case(row.volts),
        "amperes": _by_case(row.amperes),
        "marks": {case: list(marks) for case, marks in row.marks.items()},
        "use": _use(row.use),
    }


def _use(use: PackUse) -> dict[str, Any]:
    used = use.used._replace(value=_ampere_hours(use.used.value))
    return {
        "flight_seconds": use.flight_time,
        "flights": use.flights,
        "per_flight_ampere_hours": _reading(used),
        "left_share": _reading(use.left),
    }


def _ampere_hours(charge: float | None) -> float | None:
    return None if charge is None else charge / _COULOMBS_PER_AMPERE_HOUR
