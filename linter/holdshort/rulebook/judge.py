"""Running the rules over one aircraft."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import NamedTuple, cast

from holdshort.analysis import Aircraft
from holdshort.rulebook.declare import (
    Clean,
    Finding,
    Hold,
    NotChecked,
    Outcome,
    Pack,
    Rule,
    Severity,
)
from holdshort.rulebook.packs import Rulebook
from holdshort.setup import Place


class Found(NamedTuple):
    """A finding with the rule and pack that made it, and the severity and hold that count."""

    pack: Pack
    rule: Rule
    finding: Finding
    severity: Severity
    hold: Hold


class Unjudged(NamedTuple):
    """Something a rule could not judge."""

    pack: Pack
    rule: Rule
    not_checked: NotChecked


class Crash(NamedTuple):
    """A rule that failed: a mistake in the rule, never in the aircraft."""

    pack: Pack
    rule: Rule
    error: str
    traceback: str


@dataclass(slots=True)
class Judgement:
    """Everything the rules said about one aircraft.

    ``clean`` are rules that judged something and had nothing to say; ``idle`` are rules that
    found nothing of theirs in this aircraft.
    """

    found: list[Found] = field(default_factory=list[Found])
    unjudged: list[Unjudged] = field(default_factory=list[Unjudged])
    crashes: list[Crash] = field(default_factory=list[Crash])
    clean: list[Rule] = field(default_factory=list[Rule])
    idle: list[Rule] = field(default_factory=list[Rule])


def judge(aircraft: Aircraft, rulebook: Rulebook | Iterable[tuple[Pack, Rule]]) -> Judgement:
    """Run every rule over ``aircraft``. A rule that fails is reported; the others still run."""
    judgement = Judgement()
    for pack, rule in rulebook:
        try:
            outcomes = _outcomes(rule, aircraft)
        except (Exception, SystemExit) as error:  # noqa: BLE001  - any failure is a report
            judgement.crashes.append(_crash(pack, rule, error))
            continue
        _sort_in(judgement, pack, rule, outcomes)
    judgement.found.sort(key=lambda found: _order(aircraft, found))
    judgement.unjudged.sort(
        key=lambda item: (item.rule.hold, _where(aircraft, item.not_checked.at))
    )
    return judgement


def _outcomes(rule: Rule, aircraft: Aircraft) -> list[Outcome]:
    """Run one rule to its end, checking that it yields outcomes at places that exist."""
    outcomes: list[Outcome] = []
    for outcome in cast("Iterator[object]", rule.check(aircraft)):  # somebody else's code
        if not isinstance(outcome, Finding | NotChecked | Clean):
            raise TypeError(f"a rule yields findings, not {type(outcome).__name__}")
        _check_outcome(outcome, aircraft)
        outcomes.append(outcome)
    return outcomes


def _check_outcome(outcome: Outcome, aircraft: Aircraft) -> None:
    """Check what a rule yields: places that exist, and words where words are due."""
    _check_place(outcome.at, aircraft)
    if isinstance(outcome, NotChecked):
        _check_text("needs", outcome.needs)
    elif isinstance(outcome, Finding):
        _check_text("message", outcome.message)
        _check_text("do", outcome.do)
        for because in outcome.because:
            _check_place(because.place, aircraft)
            _check_text("because", because.text)


def _check_text(field: str, text: object) -> None:
    if not isinstance(text, str) or not text:
        raise TypeError(f"`{field}` of an outcome is text, not {text!r}")


def _check_place(place: Place, aircraft: Aircraft) -> None:
    if place.file not in aircraft.setup.documents:
        raise ValueError(f"a rule names a place in {place.file!r}, which is not part of the setup")


def _sort_in(judgement: Judgement, pack: Pack, rule: Rule, outcomes: list[Outcome]) -> None:
    spoke = False
    for outcome in outcomes:
        if isinstance(outcome, Finding):
            spoke = True
            severity = rule.severity if outcome.severity is None else outcome.severity
            hold = rule.hold if outcome.hold is None else outcome.hold
            judgement.found.append(Found(pack, rule, outcome, severity, hold))
        elif isinstance(outcome, NotChecked):
            spoke = True
            judgement.unjudged.append(Unjudged(pack, rule, outcome))
    if not spoke:
        (judgement.clean if outcomes else judgement.idle).append(rule)


def _where(aircraft: Aircraft, place: Place) -> tuple[bool, str, int, int]:
    span = aircraft.setup.span(place)
    return place.file != aircraft.setup.file, place.file, span.line, span.column


def _order(aircraft: Aircraft, found: Found) -> tuple[object, ...]:
    """Hold point, then severity, then place."""
    return found.hold, found.severity, _where(aircraft, found.finding.at), found.rule.id


def _crash(pack: Pack, rule: Rule, error: BaseException) -> Crash:
    import traceback  # noqa: PLC0415  - only a failing rule pays for it

    text = "".join(traceback.format_exception(error))
    return Crash(pack, rule, f"{type(error).__name__}: {error}", text)
