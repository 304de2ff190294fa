"""The table of failures for a terminal: what each one leaves of every control function.

Worst first; failures that leave the same are told together. Nothing rests on colour. All text
passes through :func:`~holdshort.fixlist.plain.plain`.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from holdshort.analysis import Aircraft
from holdshort.analysis.failure_states import FunctionState
from holdshort.analysis.failure_table import FailureTable, failure_table
from holdshort.analysis.failures import LowRail, Outcome, Progress
from holdshort.fixlist.paragraphs import WIDTH, fold, folded
from holdshort.fixlist.plain import plain

CAUTION: Final = (
    "Worked out from what is declared, one failure at a time: no proof, and no word on whether "
    "the aircraft may fly. Unplug each lead and switch off each supply on the bench, and look."
)

_HEADS: Final = {
    "engine shut-down": "stop", "throttle": "throt", "steering": "steer", "airbrake": "airbr",
    "nozzle": "nozz", "release": "drop",
}  # fmt: skip
_CELLS: Final = {
    "works": ".",
    "stops": "stops",
    "failsafe": "set",
    "undeclared": "?",
    "dead": "LOST",
}
LEGEND: Final = (
    (".", "all of it follows the pilot"),
    ("half", "one of its two sides does; 1/3 says how many of several do"),
    ("set", "it goes to the position set as failsafe, or holds; an engine idles"),
    ("stops", "the engine stops by itself"),
    ("?", "a box decides that declares nothing for it"),
    ("LOST", "it is left to itself; an engine runs on"),
)
"""What the words in the cells of a control function mean."""
_RAIL_WORDS: Final = {"collapse": "gone", "dead": "none", "not known": "?"}
RAIL_LEGEND: Final = (
    ("*", "at most this: something on that network is not declared"),
    ("none", "no radio device or servo has power"),
    ("gone", "the load cannot be carried: the voltage collapses"),
)
"""What the signs in the cells of a voltage mean."""

Row = tuple[str, ...]


def lines(aircraft: Aircraft, pairs: Progress | None = None) -> list[str]:
    """Return the table of ``aircraft`` as lines; with ``pairs``, also of failures two at a time."""
    table = failure_table(aircraft, pairs=pairs is not None, progress=pairs)
    return render_text(table).splitlines()


def render_text(table: FailureTable) -> str:
    """Return the table as text of at most :data:`WIDTH` columns."""
    hurt = [outcome for outcome in table.singles if takes_something(outcome)]
    quiet = [outcome for outcome in table.singles if not takes_something(outcome)]
    blocks = [
        _heading(table),
        _matrix(table, [table.intact], "Nothing failed"),
        _matrix(table, hurt, "One failure"),
        _quiet(quiet),
        _pairs(table),
        _legend(table),
        _ways(table),
        _assumptions(table),
        _unread(table),
        folded(CAUTION),
    ]
    return "\n".join("".join(f"{line.rstrip()}\n" for line in block) for block in blocks if block)


def takes_something(outcome: Outcome) -> bool:
    """Tell whether a function or the voltage of a radio device suffers."""
    starved = any(rail.starved for rail in outcome.rails)
    return starved or any(state.state != "works" for state in outcome.functions.values())


def _heading(table: FailureTable) -> list[str]:
    file = "standard input" if table.file == "-" else table.file
    name = table.aircraft or "an aircraft without a name"
    return [*folded(f"What is left of {name} when something fails"), *folded(file)]


def _matrix(table: FailureTable, outcomes: Sequence[Outcome], title: str) -> list[str]:
    if not outcomes:
        return []
    found = folded(title) if len(title) > 1 else []
    found += [f"    {line}" for line in _columns(table, [_head(table)])]
    for cells, group in grouped(table, outcomes):
        for outcome in group:
            label = " and ".join(failure.label for failure in outcome.failures)
            found += folded(label, "  ") if label else []
        found += [f"    {line}" for line in _columns(table, [cells])]
        found += _starved(group[0])
    return found


def grouped(
    table: FailureTable, outcomes: Iterable[Outcome]
) -> Iterator[tuple[Row, list[Outcome]]]:
    """Yield outcomes that leave the same together, with the cells that tell it."""
    groups: dict[Row, list[Outcome]] = {}
    for outcome in outcomes:
        groups.setdefault(_cells(table, outcome), []).append(outcome)
    yield from groups.items()


def _head(table: FailureTable) -> Row:
    names = (_HEADS.get(name, name) for name in table.functions)
    return (*names, *(f"{case.partition('-')[0]} V" for case in cases_told(table)))


def cases_told(table: FailureTable) -> tuple[str, ...]:
    """Return the load cases in which the rails were solved."""
    return tuple(rail.case for rail in table.intact.rails)


def _cells(table: FailureTable, outcome: Outcome) -> Row:
    states = (cell_told(outcome.functions[name]) for name in table.functions)
    return (*states, *(lowest_volts(rail) for rail in outcome.rails))


def cell_told(state: FunctionState) -> str:
    """Return what is left of a control function, in a few letters."""
    if state.state == "half":
        return "half"
    if state.state == "part":
        return f"{len(state.moving)}/{len(state.moving) + len(state.still)}"
    return _CELLS[state.state]


def lowest_volts(rail: LowRail) -> str:
    """Return the lowest voltage of a rail, or a word."""
    if rail.volts is None:
        return _RAIL_WORDS.get(rail.state, "?")
    return f"{rail.volts:.2f}{'*' if rail.state == 'incomplete' else ''}"


def _columns(table: FailureTable, rows: Iterable[Row]) -> Iterator[str]:
    widths = _widths(table)
    for row in rows:
        yield " ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()


def _widths(table: FailureTable) -> list[int]:
    rows = [_head(table), *(_cells(table, outcome) for outcome in _all(table))]
    return [max(map(len, column)) for column in zip(*rows, strict=True)]


def _starved(outcome: Outcome) -> list[str]:
    names = {name: rail.case for rail in outcome.rails for name in rail.starved}
    if not names:
        return []
    listed = ", ".join(f"{name} ({case})" for name, case in names.items())
    return folded(f"resets for want of voltage: {listed}", "    ")


def _quiet(outcomes: Sequence[Outcome]) -> list[str]:
    if not outcomes:
        return []
    labels = [outcome.failures[0].label for outcome in outcomes]
    found = folded("Nothing is taken by one of these alone")
    found += [f"  {line}" for line in _listed(labels)]
    lowest = [(rail, outcome) for outcome in outcomes for rail in outcome.rails if rail.volts]
    if lowest:
        rail, outcome = min(lowest, key=lambda found: found[0].volts or 0.0)
        text = (
            f"The lowest voltage then is {lowest_volts(rail)} V at {rail.device} in {rail.case}, "
            f"without the {outcome.failures[0].label}."
        )
        found += folded(text, "  ")
    return found


def _listed(labels: Iterable[str]) -> Iterator[str]:
    """Return labels one behind the other; a line breaks between two, not inside one."""
    line = ""
    for label in map(plain, labels):
        if line and len(line) + len(label) + 3 > WIDTH - 2:
            yield f"{line},"
            line = ""
        line = f"{line}, {label}" if line else label
    yield from fold(line, WIDTH - 2)


def _pairs(table: FailureTable) -> list[str]:
    if table.pairs is None:
        return []
    if not table.pairs:
        return folded("No two failures take more than they do one at a time.")
    return _matrix(table, table.pairs, "Two failures that take more than they do one at a time")


def _legend(table: FailureTable) -> list[str]:
    shown = {cell for outcome in _all(table) for cell in _cells(table, outcome)}
    words = "".join(shown)
    found = [
        f"  {sign:<6}{text}"
        for sign, text in LEGEND
        if sign in shown or (sign == "half" and "/" in words)
    ]
    found += [f"  {sign:<6}{text}" for sign, text in RAIL_LEGEND if sign in shown or sign in words]
    text = (
        "stop is whether the engine can be shut down; the voltages are the lowest at any radio "
        "device or servo that still has power."
    )
    return [*folded("Signs"), *found, *folded(text, "  ")]


def _all(table: FailureTable) -> tuple[Outcome, ...]:
    return (table.intact, *table.singles, *(table.pairs or ()))


def _ways(table: FailureTable) -> list[str]:
    if not table.ways:
        return folded(
            "No channel is declared to reach anything that pitches, rolls, yaws or drives it."
        )
    shown = dict.fromkeys(way.shown for way in table.ways)
    return [*folded("From stick to surface"), *(line for way in shown for line in _indent(way))]


def _assumptions(table: FailureTable) -> list[str]:
    found = folded("Taken for granted (common practice, no source)")
    return [*found, *(line for text in table.assumptions for line in _indent(text))]


def _unread(table: FailureTable) -> list[str]:
    if not table.unread:
        return []
    return folded(f"Left out, as they have mistakes of form: {', '.join(table.unread)}.")


def _indent(text: str) -> list[str]:
    return folded(text, "  ", "    ")
