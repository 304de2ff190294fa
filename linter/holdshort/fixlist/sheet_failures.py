"""What each failure leaves, on an aircraft sheet: the rows of ``show failures`` as a table.

A cell says in a word what is left, with a sign before it and a tint behind it that say the same.
"""

from collections.abc import Iterator, Sequence
from typing import Final

from holdshort.analysis.failure_states import FunctionState
from holdshort.analysis.failure_table import FailureTable, failure_table
from holdshort.analysis.failures import LowRail, Outcome
from holdshort.fixlist.failures_view import (
    CAUTION,
    LEGEND,
    RAIL_LEGEND,
    cases_told,
    cell_told,
    grouped,
    lowest_volts,
    takes_something,
)
from holdshort.fixlist.sheet_facts import SheetFacts
from holdshort.fixlist.sheet_parts import Cell, Part, Words, listed_parts, table

_ALL: Final = "all"
_SIGNS: Final = {"half": "◐", "part": "◔", "failsafe": "◇", "stops": "□", "dead": "✕"}
_OUTSIDE: Final = frozenset({"dead", "undeclared"})


def failure_parts(facts: SheetFacts) -> tuple[Part, ...]:
    """Return the table of failures; nothing where the aircraft has no control function."""
    shown = failure_table(facts.aircraft)
    if not shown.functions:
        return ()
    hurt = [outcome for outcome in shown.singles if takes_something(outcome)]
    quiet = [outcome for outcome in shown.singles if not takes_something(outcome)]
    return (*_matrix(shown, hurt), *_quiet(quiet), *_remarks(shown))


def _matrix(shown: FailureTable, hurt: Sequence[Outcome]) -> Iterator[Part]:
    heads = ("failure", *shown.functions, *(f"{case}, V" for case in cases_told(shown)))
    left = [("nothing failed", _cells(shown, shown.intact))]
    for _, group in grouped(shown, hurt):
        labels = ", ".join(_label(outcome) for outcome in group)
        left.append((f"{labels}{_starved(group[0])}", _cells(shown, group[0])))
    kinds = "<" * (1 + len(shown.functions)) + ">" * len(cases_told(shown))
    rows: list[tuple[Cell | str, ...]] = [(label, *cells) for label, cells in left]
    yield table("What one failure leaves of each control function, worst first", heads, rows, kinds)
    words = {cell.text for _, cells in left for cell in cells}
    yield from listed_parts("Words and signs", _legend(words))


def _label(outcome: Outcome) -> str:
    return " and ".join(failure.label for failure in outcome.failures)


def _cells(shown: FailureTable, outcome: Outcome) -> tuple[Cell, ...]:
    states = (_cell(outcome.functions[name]) for name in shown.functions)
    return (*states, *(_volts(rail) for rail in outcome.rails))


def _cell(state: FunctionState) -> Cell:
    if state.state == "works":
        return Cell(_ALL, "quiet")
    sign = _SIGNS.get(state.state, "")
    return Cell(cell_told(state), "outside" if state.state in _OUTSIDE else "", sign)


def _volts(rail: LowRail) -> Cell:
    return Cell(lowest_volts(rail), "" if rail.volts is not None else "outside")


def _starved(outcome: Outcome) -> str:
    names = {name: rail.case for rail in outcome.rails for name in rail.starved}
    listed = ", ".join(f"{name} ({case})" for name, case in names.items())
    return f" (resets for want of voltage: {listed})" if names else ""


def _legend(words: set[str]) -> Iterator[str]:
    yield f"`{_ALL}`: all of it follows the pilot"
    for word, text in LEGEND[1:]:
        if word in words or (word == "half" and any("/" in shown for shown in words)):
            yield f"`{word}`: {text}"
    for word, text in RAIL_LEGEND:
        if any(word in shown for shown in words):
            yield f"`{word}`: {text}"
    yield (
        "The voltages are the lowest at any radio device or servo that still has power. "
        "`engine shut-down` is whether the engine can be shut down."
    )


def _quiet(outcomes: Sequence[Outcome]) -> Iterator[Part]:
    if outcomes:
        labels = "; ".join(_label(outcome) for outcome in outcomes)
        yield Words(f"Nothing is taken by one of these alone: {labels}.")


def _remarks(shown: FailureTable) -> Iterator[Part]:
    yield from listed_parts("From stick to surface", dict.fromkeys(way.shown for way in shown.ways))
    yield from listed_parts(
        "Taken for granted (common practice, no source)", dict.fromkeys(shown.assumptions)
    )
    if shown.unread:
        yield Words(f"Left out, as they have mistakes of form: {', '.join(shown.unread)}.")
    yield Words(CAUTION, quiet=True)
