"""Telemetry on an aircraft sheet: the rows of ``show telemetry`` as tables."""

from collections.abc import Iterator
from typing import Final

from holdshort.analysis.telemetry_table import (
    LevelRow,
    ReadingRow,
    TelemetryTable,
    telemetry_table,
)
from holdshort.fixlist.sheet_facts import SheetFacts
from holdshort.fixlist.sheet_parts import Cell, Part, Words, listed_parts, table
from holdshort.fixlist.telemetry_view import CAUTION, landing_words

_READING_HEADS: Final = ("reading", "of", "way to the transmitter", "address", "shown")
_ALARM_HEADS: Final = ("reading", "alarms", "early enough", "why", "after", "told by")


def telemetry_parts(facts: SheetFacts) -> tuple[Part, ...]:
    """Return what is measured and where it alarms; nothing where no telemetry is declared."""
    if "telemetry" not in facts.setup.sections:
        return ()
    shown = telemetry_table(facts.aircraft)
    return (*_tables(shown), *_remarks(shown))


def _tables(shown: TelemetryTable) -> Iterator[Part]:
    if not shown.rows:
        yield Words("No reading is declared.")
        return
    yield table("Readings", _READING_HEADS, [_reading(row) for row in shown.rows], "<<<><")
    alarms = [_alarm(row, level) for row in shown.rows for level in row.levels]
    if alarms:
        yield Words(landing_words(shown.landing_time))
        yield table("Alarms", _ALARM_HEADS, alarms, "<<<<><")
    else:
        yield Words("Nothing alarms.")


def _reading(row: ReadingRow) -> tuple[Cell | str, ...]:
    of = row.of if row.of == row.device else f"{row.of or 'not known'}, read by {row.device}"
    return (
        row.name,
        f"{row.measures} of {of}",
        _way(row),
        "" if row.address is None else str(row.address),
        {True: "yes", False: "no", None: "not said"}[row.shown],
    )


def _way(row: ReadingRow) -> Cell | str:
    if row.way:
        return " > ".join(row.way)
    if row.trouble.startswith("needs "):
        return f"not known: {row.trouble}"
    return Cell(f"none: {row.trouble}", "outside", "!")


def _alarm(row: ReadingRow, level: LevelRow) -> tuple[Cell | str, ...]:
    declared = f"{level.way} {level.declared}"
    return (
        row.name,
        Cell(f"{declared}: too late", "outside", "!") if level.late else declared,
        _wanted(level),
        level.why,
        "" if row.delay is None else f"{row.delay:.3g} s",
        " and ".join(row.told_by),
    )


def _wanted(level: LevelRow) -> str:
    if not level.wanted:
        return "not known" if level.missing else "no limit is known"
    least = "more" if level.way == "below" else "less"
    so_far = ", as far as is known" if level.missing else ""
    return f"{level.wanted} or {least}{so_far}"


def _remarks(shown: TelemetryTable) -> Iterator[Part]:
    yield from listed_parts("No alarm tells of", shown.unwatched)
    yield from listed_parts("An alarm tells of", shown.watched)
    yield from listed_parts("Not known", (f"needs {item.text}" for item in shown.missing))
    if shown.unread:
        yield Words(f"Left out, as they have mistakes of form: {', '.join(shown.unread)}.")
    yield Words(CAUTION, quiet=True)
