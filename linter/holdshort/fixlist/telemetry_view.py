"""What is measured on board, how it reaches the pilot and where it alarms, as text.

One block for each reading. All text passes through :func:`~holdshort.fixlist.plain.plain`.
"""

from typing import Final

from holdshort.analysis import Aircraft
from holdshort.analysis.telemetry import LANDING_TIME
from holdshort.analysis.telemetry_table import (
    LevelRow,
    ReadingRow,
    TelemetryTable,
    telemetry_table,
)
from holdshort.fixlist.paragraphs import folded
from holdshort.fixlist.place_words import place_told

CAUTION: Final = (
    "Computed from what is declared: no test, and no word on whether the aircraft may fly. Switch "
    "on, look at every reading, and let every alarm sound once on the bench."
)

_INDENT: Final = "  "
_MINUTE: Final = 60.0


def lines(aircraft: Aircraft) -> list[str]:
    """Return the telemetry of ``aircraft`` as lines of text."""
    return render_text(telemetry_table(aircraft)).splitlines()


def render_text(table: TelemetryTable) -> str:
    """Return the table as text of at most :data:`~holdshort.fixlist.paragraphs.WIDTH` columns."""
    blocks = [
        _heading(table),
        *(_reading(row) for row in table.rows),
        _nothing(table),
        _told("No alarm tells of", table.unwatched),
        _told("An alarm tells of", table.watched),
        _missing(table),
        _unread(table),
        folded(CAUTION),
    ]
    return "\n".join("".join(f"{line}\n" for line in block) for block in blocks if block)


def _heading(table: TelemetryTable) -> list[str]:
    file = "standard input" if table.file == "-" else table.file
    return [
        *folded(f"Telemetry of {table.aircraft or file}"),
        *folded(file),
        *folded(landing_words(table.landing_time)),
    ]


def landing_words(seconds: float) -> str:
    """Return what an alarm on a pack or on fuel is to leave, in words."""
    minutes = seconds / _MINUTE
    whose = "common practice" if seconds == LANDING_TIME else "the owner's own limit"
    return f"An alarm on a pack or on fuel is to leave {minutes:.3g} min of flight ({whose})."


def _reading(row: ReadingRow) -> list[str]:
    of = f" of `{row.of}`" if row.of else ""
    source = "" if row.of == row.device else f", read by `{row.device}`"
    found = folded(f"{row.name}: {row.measures}{of}{source}")
    found += _indented(_way(row))
    found += _indented(_shown(row))
    for level in row.levels:
        found += _indented(_level(level))
    return found


def _way(row: ReadingRow) -> str:
    address = "" if row.address is None else f", address {row.address}"
    if row.way:
        return f"way: {' > '.join(row.way)} > transmitter{address}"
    known = "not known" if row.trouble.startswith("needs ") else "none"
    return f"way: {known}, {row.trouble}{address}"


def _shown(row: ReadingRow) -> str:
    shown = {True: "shown", False: "not shown", None: "whether it is shown is not said"}[row.shown]
    if not row.levels:
        return f"{shown}; no alarm"
    by = f", by {' and '.join(row.told_by)}" if row.told_by else ""
    delay = "" if row.delay is None else f", after {row.delay:.3g} s"
    return f"{shown}; alarm{by}{delay}:"


def _level(level: LevelRow) -> str:
    told = f"{level.way} {level.declared}"
    if not level.wanted:
        missing = "what it must be in time for is not known" if level.missing else ""
        return f"{told}; {missing or 'no limit is known that it is for'}"
    word = "too late: " if level.late else ""
    least = "more" if level.way == "below" else "less"
    so_far = ", as far as is known" if level.missing else ""
    return f"{told}; {word}{level.wanted} or {least} is wanted{so_far}: {level.why}"


def _nothing(table: TelemetryTable) -> list[str]:
    if table.rows:
        return []
    return folded("No reading is declared." if table.declared else "No telemetry is declared.")


def _told(title: str, things: tuple[str, ...]) -> list[str]:
    if not things:
        return []
    return [*folded(title), *(line for thing in things for line in _indented(thing))]


def _missing(table: TelemetryTable) -> list[str]:
    if not table.missing:
        return []
    found = folded("Not known")
    for item in table.missing:
        found += _indented(f"needs {item.text} ({place_told(item, table.file)})")
    return found


def _unread(table: TelemetryTable) -> list[str]:
    if not table.unread:
        return []
    return folded(f"Left out, as they have mistakes of form: {', '.join(table.unread)}.")


def _indented(text: str) -> list[str]:
    return folded(text, _INDENT)
