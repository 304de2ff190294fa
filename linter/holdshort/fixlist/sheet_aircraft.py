"""The head of an aircraft sheet: what the aircraft is, its hold points, its codes, the cautions."""

from collections.abc import Iterator
from typing import Any, Final

from holdshort import __version__
from holdshort.analysis.code_words import sayings, unknown_codes
from holdshort.fixlist.report import CAUTIONS, Tally
from holdshort.fixlist.sheet_facts import SheetFacts
from holdshort.fixlist.sheet_parts import Listed, Pairs, Part, Words, table
from holdshort.fixlist.text import file_named, hold_point
from holdshort.rulebook import Hold, Severity
from holdshort.rulebook.wording import counted, listed
from holdshort.setup import Quantity

NOTHING_FOUND: Final = "Nothing found in what was declared"
"""What is said of a hold point that nothing holds; it is no word on the aircraft itself."""

_TITLES: Final = {
    Hold.POWER_UP: "Power-up",
    Hold.ENGINE_RUN: "Engine run",
    Hold.FLIGHT: "Flight",
}


def aircraft_parts(facts: SheetFacts) -> tuple[Part, ...]:
    """Return what the aircraft is, by what it was judged, and when."""
    return (Pairs(tuple(_pairs(facts))),)


def _pairs(facts: SheetFacts) -> Iterator[tuple[str, str]]:
    declared = facts.setup.aircraft
    yield "Name", (declared.name if declared else "") or "not declared"
    yield "Setup file", file_named(facts.setup.file)
    yield "Hangar file", facts.report.hangar or "none"
    yield "Propulsion", (declared.propulsion if declared else None) or "not declared"
    mass = declared.mass if declared else None
    yield "Mass ready to fly", _quantity(mass.ready if mass else None)
    if mass and mass.dry is not None:
        yield "Mass without fuel", mass.dry.text
    yield "Codes followed", listed(facts.setup.follows) or "none"
    yield "Sheet made on", facts.made.isoformat()
    yield "Made by", f"Holdshort {__version__}"
    packs = (f"{pack.name} ({counted(len(pack.rules), 'rule')})" for pack in facts.settings.packs)
    yield "Rules of", listed(packs)


def _quantity(value: Quantity | None) -> str:
    return "not declared" if value is None else value.text


def hold_points(facts: SheetFacts) -> dict[str, Any]:
    """Return for each hold point what holds it and what was not judged, and what goes with it."""
    return {"points": _points(facts), "counts": _counts(facts), "cautions": CAUTIONS}


def _points(facts: SheetFacts) -> list[dict[str, Any]]:
    tally = facts.report.tally
    open_questions = _open_by_hold(facts)
    accepted = [item.finding.hold for item in facts.report.deferred if item.finding.severity.holds]
    found: list[dict[str, Any]] = []
    earlier: list[str] = []
    for hold in Hold:
        own = _held_by(tally, hold)
        found.append({
            "title": _TITLES[hold],
            "state": _state(facts, bool(own or earlier), open_questions.get(hold, 0)),
            "words": _words(own, earlier),
            "more": list(_more(facts, hold, open_questions.get(hold, 0), accepted.count(hold))),
        })  # fmt: skip
        earlier += [hold_point(hold)] if own else []
    return found


def _state(facts: SheetFacts, held: bool, not_checked: int) -> str:  # noqa: FBT001  - a fact
    """Return ``held``, ``open`` where something could not be judged, or ``nothing``."""
    if held:
        return "held"
    report = facts.report
    return "open" if not_checked or report.mistakes or report.crashes else "nothing"


def _open_by_hold(facts: SheetFacts) -> dict[Hold, int]:
    holds: dict[Hold, int] = {}
    for item in facts.judgement.unjudged:
        holds[item.rule.hold] = holds.get(item.rule.hold, 0) + 1
    return holds


def _held_by(tally: Tally, hold: Hold) -> str:
    counts = [
        counted(tally.held[hold, severity], severity.word)
        for severity in Severity
        if severity.holds and tally.held.get((hold, severity))
    ]
    return listed(counts)


def _words(own: str, earlier: list[str]) -> str:
    if own:
        also = f", and by what holds {listed(earlier)}" if earlier else ""
        return f"Held by {own}{also}"
    return f"Held by what holds {listed(earlier)}" if earlier else NOTHING_FOUND


def _more(facts: SheetFacts, hold: Hold, not_checked: int, accepted: int) -> Iterator[str]:
    if not_checked:
        yield f"{not_checked} not checked: facts are missing"
    if accepted:
        yield f"{counted(accepted, 'finding')} deferred: accepted for now"
    notes = facts.report.tally.held.get((hold, Severity.NOTE))
    if notes:
        yield f"{counted(notes, 'note')}, which {'holds' if notes == 1 else 'hold'} nothing"
    if facts.report.mistakes:
        mistakes = counted(len(facts.report.mistakes), "mistake")
        yield f"{mistakes} of form: what they touch is not judged"
    if facts.report.crashes:
        yield f"{counted(len(facts.report.crashes), 'rule')} failed, and judged nothing"


def _counts(facts: SheetFacts) -> str:
    tally = facts.report.tally
    return (
        f"{tally.held_in_all} held, {tally.notes} noted, {tally.deferred} deferred, "
        f"{tally.not_checked} not checked; {counted(tally.clean, 'rule')} found nothing, "
        f"{counted(tally.nothing_to_judge, 'rule')} had nothing to judge."
    )


def code_parts(facts: SheetFacts) -> tuple[Part, ...]:
    """Return what the followed codes ask of this aircraft, each line with its source."""
    setup = facts.setup
    if not setup.follows:
        return ()
    propulsion = setup.aircraft.propulsion if setup.aircraft else None
    rows = [
        (saying.title, saying.line.words, _source(saying.line.source), saying.line.confidence)
        for saying in sayings(facts.codes, setup.follows, propulsion)
    ]
    found: list[Part] = []
    if rows:
        heads = ("code", "asks", "source", "how it was read")
        found.append(table("What the codes ask on loss of signal", heads, rows, "<<<<"))
    unknown = unknown_codes(facts.codes, setup.follows)
    if unknown:
        names = listed(f"`{name}`" for name in unknown)
        found.append(Words(f"No rule pack says what {names} asks: read it yourself."))
    return tuple(found)


def _source(text: str) -> str:
    return text or "none found"


def caution_parts(facts: SheetFacts) -> tuple[Part, ...]:
    """Return what goes with every sheet."""
    del facts
    return (Listed("", (*CAUTIONS, *SHEET_CAUTIONS)),)


SHEET_CAUTIONS: Final = (
    (
        "Everything here is computed from what was declared. Nothing was measured, and nobody "
        "looked at the aircraft. A wrong declaration makes a wrong sheet."
    ),
    (
        "When anything on the aircraft changes, declare it and make the sheet again: an old sheet "
        "tells of an old aircraft."
    ),
)
"""What goes with a sheet that leaves the workshop."""
