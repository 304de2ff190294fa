"""Balance on an aircraft sheet: the rows of ``show balance`` as tables, and a picture of them."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from holdshort.document import show_path
from holdshort.fixlist.balance_plot import LETTERS, balance_svg, plotted
from holdshort.fixlist.balance_view import (
    CAUTION,
    HEAD,
    INCH_HEAD,
    advice_told,
    basis_told,
    inch_row,
    missing_told,
    sideways_told,
    state_row,
)
from holdshort.fixlist.sheet_facts import SheetFacts
from holdshort.fixlist.sheet_parts import Cell, Part, Words, listed_parts, table

if TYPE_CHECKING:
    from holdshort.analysis.balance import BalanceState, BalanceStudy


def balance(facts: SheetFacts) -> dict[str, Any] | None:
    """Return the balance as the template wants it; None where none is declared."""
    from markupsafe import Markup  # noqa: PLC0415  - only a page pays for it

    study = facts.aircraft.balance
    if study is None:
        return None
    return {
        "before": tuple(_tables(study)),
        "svg": Markup(balance_svg(study)),  # noqa: S704  - figures and our own words
        "key": _key(study),
        "after": tuple(_remarks(facts, study)),
    }


def _tables(study: "BalanceStudy") -> Iterator[Part]:
    datum = study.balance.datum or "a datum that is not declared"
    yield Words(f"Stations from {datum}, aft positive.")
    for gear in dict.fromkeys(state.gear for state in study.states):
        states = [state for state in study.states if state.gear == gear]
        where = f", gear {gear}" if gear else ""
        rows = [_row(study, state) for state in states]
        yield table(f"Centre of gravity and its range{where}", HEAD, rows, "<>>>>><")
        if study.words.inches:
            caption = f"The same in inches and pounds{where}"
            yield table(caption, INCH_HEAD, [inch_row(state) for state in states], "<>>>>")


def _row(study: "BalanceStudy", state: "BalanceState") -> tuple[Cell | str, ...]:
    *cells, inside = state_row(study, state)
    out = state.margin is not None and state.margin < 0.0
    return (*cells, Cell(inside, "outside", "!") if out else inside)


def _key(study: "BalanceStudy") -> str:
    """Return what the marks and lines of the picture are."""
    names = dict.fromkeys(state.name for state in plotted(study))
    letters = ", ".join(f"{LETTERS[name]} {name}" for name in names)
    gears = " Filled marks: gear down; open marks: gear up." if len(study.gears) > 1 else ""
    return (
        f"{letters}.{gears} Between the dashed line (forward limit) and the dotted one (aft limit) "
        "it may lie; the thin line is the fuel burning off, the bar at a mark its uncertainty."
    )


def _remarks(facts: SheetFacts, study: "BalanceStudy") -> Iterator[Part]:
    sideways = sideways_told(study)
    if sideways:
        yield Words(sideways)
    yield from listed_parts("It rests on", basis_told(study))
    yield from listed_parts("What could be moved or added", advice_told(study))
    yield from listed_parts("Not known, as something is missing", missing_told(study))
    yield from listed_parts("Taken for granted", study.assumptions)
    unread = [show_path(path) for path in sorted(facts.setup.broken, key=str)]
    if unread:
        yield Words(f"Left out, as they have mistakes of form: {', '.join(unread)}.")
    yield Words(CAUTION, quiet=True)
