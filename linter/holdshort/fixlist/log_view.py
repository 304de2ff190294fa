"""A measured log for a terminal: what to read beside the bench. All text passes `plain`."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from holdshort.analysis.logs.clock import show_moment
from holdshort.analysis.logs.dips import KEPT
from holdshort.analysis.logs.figures import figures_of, figures_to_sign
from holdshort.analysis.logs.measured import show_low
from holdshort.analysis.logs.report import (
    CurrentRow,
    LinkRow,
    LogReport,
    ResistanceRow,
    VoltageRow,
    highest_of,
    lowest_of,
)
from holdshort.analysis.logs.rows import FLAWS
from holdshort.analysis.logs.statistics import Extremes
from holdshort.fixlist.log_words import (
    CAUTION,
    comparison_words,
    dip_words,
    limit_words,
    results_entry,
    sign_command,
)
from holdshort.fixlist.paragraphs import fold, folded
from holdshort.fixlist.plain import plain

WIDTH: Final = 80
_INDENT: Final = "  "
_GAP: Final = "  "
_MILLIAMPERE_HOUR: Final = 3.6
_WATT_HOUR: Final = 3600.0
_SLOW: Final = 5.0

Row = tuple[str, ...]


def render_text(report: LogReport) -> str:
    """Return what a log says as text of at most :data:`WIDTH` columns."""
    blocks = [
        _heading(report),
        _left_out(report),
        _dips(report),
        _voltages(report),
        _compared(report),
        _currents(report),
        _resistances(report.resistances),
        _links(report),
        _positions(report),
        _keeping(report),
        _signing(report),
        _paragraph(CAUTION),
    ]
    return "\n".join("".join(f"{line.rstrip()}\n" for line in block) for block in blocks if block)


def _heading(report: LogReport) -> list[str]:
    reading = report.reading
    every = f", one every {reading.interval:.3g} s" if reading.interval else ""
    rows = f"{reading.rows:,} row{'' if reading.rows == 1 else 's'}"
    found = [
        *_paragraph(f"Log {report.log} of {report.aircraft or 'an aircraft without a name'}"),
        *_paragraph("standard input" if report.file == "-" else report.file),
        *_paragraph(
            f"{rows} over {reading.span:.1f} s from "
            f"{show_moment(reading.start, reading.form)}{every}."
        ),
    ]
    if reading.interval >= _SLOW and report.plan.form is None and reading.form == "s":
        found += _paragraph(
            f"Rows {reading.interval:.0f} s apart are unusual. If the time is in milliseconds, say "
            "`unit: ms` under `log: time:`."
        )
    return found


def _left_out(report: LogReport) -> list[str]:
    reading = report.reading
    found: list[str] = []
    for name in report.layout.missing:
        found += _indented(f"`{name}` is not a column of this log.")
    for name in report.empty:
        found += _indented(f"`{name}` has no figure in any row.")
    for name in report.layout.doubled:
        found += _indented(f"`{name}` is the heading of several columns; the first was read.")
    for (flaw, column), tally in reading.flaws.items():
        where = f" in `{column}`" if column else ""
        text = f": `{tally.text}`" if tally.text.strip() else ""
        what = "cells" if flaw == "cell" else "rows"
        what = what.removesuffix("s") if tally.count == 1 else what
        found += _indented(
            f"{tally.count:,} {what}{where} {FLAWS[flaw]}, first in line {tally.line}{text}"
        )
    found += _breaks(report)
    if not found:
        return []
    return [*_paragraph(f"Left out: {reading.left_out:,} of {_all(report):,} rows"), *found]


def _breaks(report: LogReport) -> list[str]:
    """Tell where the clock begins anew, and where rows are too far apart to be joined."""
    reading = report.reading
    found: list[str] = []
    for restart in reading.restarts:
        found += _indented(
            f"The clock begins anew in line {restart.line}: from "
            f"{show_moment(restart.before, reading.form)} to "
            f"{show_moment(restart.after, reading.form)}."
        )
    if reading.restart_count > len(reading.restarts):
        more = reading.restart_count - len(reading.restarts)
        found += _indented(f"It begins anew {more} times more.")
    gaps = reading.gaps
    if gaps.number:
        found += _indented(
            f"{gaps.number:,} gap{'' if gaps.number == 1 else 's'} in the rows, {gaps.seconds:.1f} "
            f"s in all, the longest {gaps.longest:.1f} s before line {gaps.line}: nothing is known "
            "of those times, and no charge is counted in them."
        )
    return found


def _all(report: LogReport) -> int:
    return report.reading.rows + report.reading.left_out


def _dips(report: LogReport) -> list[str]:
    watched = [row for row in report.voltages if row.dips is not None]
    if not watched:
        return _paragraph("No voltage with a limit: dips were not looked for.")
    if not report.dips:
        return _paragraph("No voltage under its limit in this log.")
    found: list[str] = []
    for row in watched:
        dips = row.dips
        if dips is None or not dips.number:
            continue
        found += _paragraph(
            f"DIP at `{row.subject.written}` {limit_words(row)}: {dips.number} "
            f"time{'' if dips.number == 1 else 's'}, {dips.seconds:.2f} s in all, the longest "
            f"{dips.longest:.2f} s"
        )
        for dip in dips.told:
            found += _indented(dip_words(report, row, dip))
        if dips.number > len(dips.told):
            found += _indented(f"The {KEPT} deepest are told.")
    return found


def _voltages(report: LogReport) -> list[str]:
    rows: list[Row] = [("", "lowest V", "at", "mean V", "highest V", "limit V")]
    for row in report.voltages:
        limit = row.subject.limit
        rows.append((*_extremes(report, _named(row), row.extremes), _volts(limit)))
    return [*_paragraph("Voltages"), *_grid(rows, "<>>>>>")] if report.voltages else []


def _named(row: VoltageRow) -> str:
    return f"{row.subject.column} at {row.subject.written}"


def _volts(limit: object) -> str:
    voltage = getattr(limit, "voltage", None)
    return "" if voltage is None else f"{voltage:.2f}"


def _extremes(report: LogReport, name: str, extremes: Extremes) -> Row:
    lowest, highest = lowest_of(extremes), highest_of(extremes)
    return (
        name,
        show_low(lowest.value).removesuffix(" V"),
        show_moment(lowest.time, report.form),
        f"{extremes.mean or 0.0:.2f}",
        f"{highest.value:.2f}",
    )


def _compared(report: LogReport) -> list[str]:
    found = [line for row in report.voltages for line in _indented(comparison_words(report, row))]
    return [*_paragraph("Against the computed network"), *found] if found else []


def _currents(report: LogReport) -> list[str]:
    if not report.currents:
        return []
    rows: list[Row] = [("", "mean A", "RMS A", "peak A", "at", "mAh", "Wh")]
    rows += [_current_row(report, row) for row in report.currents]
    words = [line for row in report.currents for line in _indented(_current_words(row))]
    told = "Currents: the mean empties packs, the RMS heats wires, the peak sags voltages"
    return [*_paragraph(told), *_grid(rows, "<>>>>>>"), *words]


def _current_row(report: LogReport, row: CurrentRow) -> Row:
    peak = highest_of(row.extremes)
    return (
        f"{row.column} of {row.device}",
        "" if row.mean is None else f"{row.mean:.2f}",
        "" if row.rms is None else f"{row.rms:.2f}",
        f"{peak.value:.2f}",
        show_moment(peak.time, report.form),
        f"{row.charge / _MILLIAMPERE_HOUR:.0f}",
        "" if row.joules is None else f"{row.joules / _WATT_HOUR:.2f}",
    )


def _current_words(row: CurrentRow) -> str:
    if row.mean is None:
        return f"`{row.column}`: no two rows close enough to count charge between."
    text = f"`{row.device}` gave {row.mean:.2f} A on average over {row.seconds:.1f} s"
    if row.computed is not None:
        text += f"; the network gives {row.computed:.2f} A in steady flight"
    if row.computed_peak is not None:
        peak = highest_of(row.extremes).value
        text += (
            f". At most it gave {peak:.2f} A; the network gives {row.computed_peak:.2f} A in "
            f"{row.peak_case}"
        )
    if row.capacity:
        text += f". The charge is {row.charge / row.capacity * 100.0:.1f} % of its capacity"
    if row.after_flight is not None and row.flight_time is not None:
        left = f"{max(row.after_flight, 0.0) * 100.0:.0f} % left"
        left = left if row.after_flight > 0.0 else "EMPTY before the end"
        text += f"; at that mean, {left} of a full pack after {row.flight_time / 60.0:g} min"
    return f"{text}."


def _resistances(rows: Sequence[ResistanceRow]) -> list[str]:
    if not rows:
        return []
    found = [line for row in rows for line in _indented(_resistance(row))]
    note = (
        "Least squares of voltage on current, with a steady fall in time taken out. The interval "
        "takes the readings for independent of each other; rows close together are not quite."
    )
    return [*_paragraph("Resistance of the sources"), *found, *_indented(note)]


def _resistance(row: ResistanceRow) -> str:
    way = f"`{row.device}`" if row.at_source else f"`{row.device}` and all up to `{row.at}`"
    best, ohms = row.best, row.ohms
    if best is None or ohms is None:
        return f"{way}: undetermined; {row.undetermined}."
    half = best.half_width
    text = (
        f"{way}: {_milliohms(ohms)}, standard uncertainty {_milliohms(best.slope_error)}, 95 % "
        f"from {ohms * 1e3 - half * 1e3:.1f} to {_milliohms(ohms + half)}, {best.readings:,} rows"
    )
    if row.line is not None and abs(row.line.slope - best.slope) > half:
        text += (
            f". Without the fall of the voltage in time taken out it would be "
            f"{_milliohms(-row.line.slope)}"
        )
    if row.declared is None:
        return f"{text}."
    how = "taken from its capacity" if row.assumed else "declared"
    pack = "" if row.at_source else " for the pack alone"
    text += f"; {how}{pack}: {_milliohms(row.declared)}"
    if row.at_source and ohms - half > row.declared * 1.5:
        text += ". MORE THAN HALF AS MUCH AGAIN: the pack is cold, old or badly plugged"
    return f"{text}."


def _milliohms(ohms: float) -> str:
    return f"{ohms * 1e3:.1f} mΩ"


def _links(report: LogReport) -> list[str]:
    found = [line for row in report.links for line in _indented(_link(report, row))]
    return [*_paragraph("Radio"), *found] if found else []


def _link(report: LogReport, row: LinkRow) -> str:
    if row.losses is None:
        lowest = lowest_of(row.extremes)
        return (
            f"`{row.column}` of `{row.of}`: lowest {lowest.value:.0f} % at "
            f"{show_moment(lowest.time, report.form)}, mean {row.extremes.mean or 0.0:.0f} %."
        )
    what = row.measures.replace("-", " ")
    longest = row.losses.longest
    text = f"`{row.column}` at `{row.of}`: {row.losses.total:.0f} {what}"
    if longest is None:
        return f"{text}."
    return (
        f"{text}; the longest time with more in every row {longest.duration:.2f} s from "
        f"{show_moment(longest.start, report.form)}, line {longest.line}."
    )


def _positions(report: LogReport) -> list[str]:
    found: list[str] = []
    for row in report.positions:
        low, high = lowest_of(row.extremes).value, highest_of(row.extremes).value
        found += _indented(f"`{row.column}`, {row.of}: from {low:g} to {high:g} {row.unit}.")
    return [*_paragraph("Positions"), *found] if found else []


def _keeping(report: LogReport) -> list[str]:
    if not figures_of(report):
        return []
    told = "To keep these figures for the rules, add under `log: results:`, with the day of the log"
    return [*_paragraph(told), *(plain(f"{_INDENT}{line}") for line in results_entry(report))]


def _signing(report: LogReport) -> list[str]:
    if not figures_to_sign(report):
        return _paragraph(f"`{report.test}` asks for no figure that this log gives.")
    told = f"To sign `{report.test}` (say how it ended with --passed or --failed)"
    return [*_paragraph(told), *_command(sign_command(report))]


def _command(words: Sequence[str]) -> Iterator[str]:
    """Break a command between its options, as a shell reads on after a backslash."""
    lines = [_INDENT + " ".join(words[:4])]
    for at in range(4, len(words), 2):
        option = " ".join(words[at : at + 2])
        if len(lines[-1]) + len(option) + 3 > WIDTH:
            lines[-1] += " \\"
            lines.append(f"{_INDENT}{_INDENT}{option}")
        else:
            lines[-1] += f" {option}"
    yield from (plain(line) for line in lines)


def _paragraph(text: str) -> list[str]:
    return folded(text, width=WIDTH)


def _indented(text: str) -> list[str]:
    return folded(text, _INDENT, 2 * _INDENT, width=WIDTH)


def _grid(rows: Iterable[Row], sides: str) -> Iterator[str]:
    """Return rows in columns; a first cell that leaves no room stands on a line of its own."""
    cells = [tuple(plain(cell) for cell in row) for row in rows]
    widths = [max(len(row[at]) for row in cells) for at in range(len(sides))]
    others = sum(widths[1:]) + len(_GAP) * (len(widths) - 1)
    widths[0] = min(widths[0], WIDTH - len(_INDENT) - others)
    for row in cells:
        head = row[0]
        if len(head) > widths[0]:
            yield from (f"{_INDENT}{line}" for line in fold(head, WIDTH - len(_INDENT)))
            head = ""
        shown = [head.ljust(widths[0])]
        for cell, width, side in zip(row[1:], widths[1:], sides[1:], strict=True):
            shown.append(cell.ljust(width) if side == "<" else cell.rjust(width))
        yield f"{_INDENT}{_GAP.join(shown)}"
