"""Words about a measured log that text and JSON share: dips, comparisons, the line to sign."""

import json
import shlex
from typing import Final

from holdshort.analysis.logs.clock import show_moment
from holdshort.analysis.logs.dips import Dip, Moved
from holdshort.analysis.logs.figures import figures_of, figures_to_sign
from holdshort.analysis.logs.measured import show_low
from holdshort.analysis.logs.report import LogReport, VoltageRow, highest_of, lowest_of
from holdshort.analysis.logs.subjects import EXPECTED
from holdshort.analysis.wiring import exceeds, show_volts

CAUTION: Final = (
    "A log shows what happened in it, at the rate it was written: shorter dips are not in it. It "
    "is no word on whether the aircraft may fly."
)
_UNITS: Final = {"voltage": "V", "current": "A", "link-quality": "%"}
_FALLING: Final = frozenset({"voltage", "link-quality"})


def limit_words(row: VoltageRow) -> str:
    """Say under what a reading of this voltage is a dip."""
    limit = row.subject.limit
    return f"under {show_volts(limit.voltage)} ({limit.words})" if limit else "without a limit"


def dip_words(report: LogReport, row: VoltageRow, dip: Dip) -> str:
    """Say one dip: how deep, how long, when, and what moved with it."""
    limit = row.subject.limit
    start = show_moment(dip.start.time, report.form)
    lasted = f"for {dip.duration:.2f} s from {start}, line {dip.start.line}"
    if dip.cut:
        lasted = f"from {start}, line {dip.start.line}, until the log breaks off"
    need = ""
    if limit and dip.lowest.value < limit.hard.voltage:
        hard = limit.hard
        need = f" UNDER WHAT IT NEEDS, {show_volts(hard.voltage)} ({hard.words}),"
    moved = [moved_words(report, one) for one in dip.moved]
    while_ = f", while {_and(moved)}" if moved else ""
    return f"Down to {show_low(dip.lowest.value)}{need} {lasted}{while_}."


def moved_words(report: LogReport, moved: Moved) -> str:
    """Say what one column did: ``` `Pack A` rose from 4.0 to 22.1 A ```."""
    column = report.plan.columns[moved.column]
    unit = _UNITS.get(column.measures) or column.unit or "%"
    before, after = (_figure(value, column.measures) for value in (moved.before, moved.after))
    figures = f"from {before} to {after} {unit}"
    if column.measures == "position":
        return f"{column.of} (`{moved.column}`) moved {figures}"
    return f"`{moved.column}` {'rose' if moved.after > moved.before else 'fell'} {figures}"


def _figure(value: float, measures: str) -> str:
    if measures == "voltage":
        return f"{value:.2f}"
    return f"{value:.1f}" if measures == "current" else f"{value:.0f}"


def _and(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def comparison_words(report: LogReport, row: VoltageRow) -> str:
    """Say how what was measured stands to what the network gives and the device is rated to."""
    return f"{_lowest_words(row)}{_highest_words(report, row)}"


def _lowest_words(row: VoltageRow) -> str:
    computed = row.subject.computed
    measured = show_low(lowest_of(row.extremes).value)
    head = f"`{row.subject.written}`: measured lowest {measured}"
    if computed.lowest is not None and computed.lowest.state == "collapse":
        return f"{head}; the network collapses in {computed.lowest_case}."
    if computed.lowest is None or computed.lowest.value is None or row.short is None:
        return f"{head}; the network gives no voltage there."
    most = "" if computed.lowest.state == "known" else "at most "
    gives = f"{most}{computed.lowest.value:.2f} V in {computed.lowest_case}"
    if row.is_short:
        return (
            f"{head}, the network gives {gives}: {row.short:.2f} V LOWER THAN COMPUTED. A plug, "
            "lead or pack is worse than declared, or something draws more: find it before the "
            "next flight."
        )
    if row.short > 0.0:
        return f"{head}, the network gives {gives}."
    return f"{head}, the network gives {gives}: the log did not get that low."


def _highest_words(report: LogReport, row: VoltageRow) -> str:
    """Say where the highest is over the rating, or over what the network gives; else nothing."""
    highest, computed = highest_of(row.extremes), row.subject.computed.highest
    when = show_moment(highest.time, report.form)
    head = f" Measured highest {highest.value:.2f} V at {when}:"
    if row.is_over and row.rated is not None:
        return (
            f"{head} OVER ITS RATING of {row.rated:.2f} V. Over-voltage can burn electronics out; "
            "set or mend what makes that voltage before the next power-up."
        )
    if computed is None or computed.value is None or computed.state != "known":
        return ""
    over = highest.value - computed.value
    if not exceeds(over, EXPECTED):
        return ""
    return (
        f"{head} {over:.2f} V HIGHER THAN COMPUTED. A regulator is set higher, or a pack has more "
        "cells, than declared."
    )


def sign_command(report: LogReport) -> list[str]:
    """Return the words of the command that signs the test with the figures of the log, quoted.

    It says nothing of the outcome: whoever signs judges that.
    """
    words = ["holdshort", "sign", report.file, report.test]
    for name, value in figures_to_sign(report).items():
        words += ["--figure", f"{name}={value}"]
    return [shlex.quote(word) for word in words]


def results_entry(report: LogReport) -> list[str]:
    """Return the lines of YAML that keep the figures of the log, for under `log: results:`.

    The day is left to be filled in: few logs hold it, and a wrong one would count.
    """
    lines = [f"- file: {_scalar(report.log)}", "  on: YYYY-MM-DD", "  figures:"]
    figures = figures_of(report).items()
    return [*lines, *(f"    {_scalar(name)}: {value}" for name, value in figures)]


def _scalar(text: str) -> str:
    """Return a name as YAML: bare where it is made of plain letters, else in double quotes."""
    if all(part.isalnum() for part in text.replace("-", " ").replace(".", " ").split()):
        bare = text.strip() == text and text.isascii() and text[:1].isalpha()
        if bare and text.isprintable():
            return text
    return json.dumps(text)
