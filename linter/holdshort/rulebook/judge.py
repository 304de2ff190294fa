"""Running the rules over one aircraft."""

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from types import MappingProxyType
from typing import Final, NamedTuple, cast

from holdshort.analysis import Aircraft
from holdshort.analysis.facts import Because
from holdshort.rulebook.declare import (
    Clean,
    Edit,
    Finding,
    Fix,
    Hold,
    NotChecked,
    Outcome,
    Pack,
    Rule,
    Severity,
)
from holdshort.rulebook.packs import Rulebook
from holdshort.rulebook.settings import Grade
from holdshort.rulebook.time_limit import SECONDS, TimeLimit
from holdshort.setup import Place
from holdshort.setup.sections import Deferral

_MOST_OUTCOMES: Final = 100_000
"""Far more than an aircraft has devices; a rule that yields for ever would fill the memory."""


class Found(NamedTuple):
    """A finding with the rule and pack that made it, and the severity and hold that count."""

    pack: Pack
    rule: Rule
    finding: Finding
    severity: Severity
    hold: Hold


class Deferred(NamedTuple):
    """A finding that is accepted for now, and the deferral that accepts it."""

    found: Found
    place: Place
    deferral: Deferral


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
    found nothing of theirs in this aircraft; ``ran`` are all that were run, with their packs.
    ``deferred`` are findings that the owner accepts for now, which are not in ``found``.
    """

    found: list[Found] = field(default_factory=list[Found])
    deferred: list[Deferred] = field(default_factory=list[Deferred])
    unjudged: list[Unjudged] = field(default_factory=list[Unjudged])
    crashes: list[Crash] = field(default_factory=list[Crash])
    clean: list[Rule] = field(default_factory=list[Rule])
    idle: list[Rule] = field(default_factory=list[Rule])
    ran: list[tuple[Pack, Rule]] = field(default_factory=list[tuple[Pack, Rule]])

    @property
    def rules(self) -> list[str]:
        """The ids of all rules that were run."""
        return [rule.id for _, rule in self.ran]


def judge(
    aircraft: Aircraft,
    rulebook: Rulebook | Iterable[tuple[Pack, Rule]],
    seconds: float = SECONDS,
    *,
    severities: Mapping[str, Grade] = MappingProxyType({}),
    today: date | None = None,
) -> Judgement:
    """Run every rule over ``aircraft``. A rule that fails is reported; the others still run.

    ``severities`` are the owner's own, by rule id: each counts for all that its rule finds, and
    is told beside it.
    Deferrals count on the day ``today``; without a day they are left alone.

    A rule that runs longer than ``seconds`` has failed (see
    :class:`~holdshort.rulebook.time_limit.TimeLimit`).
    """
    judgement = Judgement()
    with TimeLimit(seconds) as limit:
        for pack, rule in rulebook:
            judgement.ran.append((pack, rule))
            try:
                outcomes = _outcomes(rule, aircraft, limit)
            except KeyboardInterrupt:
                raise
            except BaseException as error:  # noqa: BLE001  - any failure is a report
                judgement.crashes.append(_crash(pack, rule, error))
                continue
            _sort_in(judgement, pack, rule, outcomes, severities.get(rule.id))
    judgement.found.sort(key=lambda found: _order(aircraft, found))
    judgement.unjudged.sort(
        key=lambda item: (item.rule.hold, _where(aircraft, item.not_checked.at))
    )
    if aircraft.setup.deferrals and today is not None:
        _defer(judgement, aircraft, today)
    return judgement


def _defer(judgement: Judgement, aircraft: Aircraft, today: date) -> None:
    """Take out what the owner accepts for now; what is said about deferrals joins the findings."""
    from holdshort.rulebook.deferrals import defer  # noqa: PLC0415  - only where there are any

    told = defer(judgement, aircraft.setup.deferrals, today)
    judgement.found += told
    judgement.found.sort(key=lambda found: _order(aircraft, found))
    judgement.deferred.sort(key=lambda item: _order(aircraft, item.found))


def _outcomes(rule: Rule, aircraft: Aircraft, limit: TimeLimit) -> list[Outcome]:
    """Run one rule to its end, checking that it yields outcomes at places that exist."""
    outcomes: list[Outcome] = []
    limit.start()
    try:
        for outcome in cast("Iterator[object]", rule.check(aircraft)):  # somebody else's code
            if not isinstance(outcome, Finding | NotChecked | Clean):
                raise TypeError(f"a rule yields findings, not {type(outcome).__name__}")
            _check_outcome(outcome, aircraft)
            if len(outcomes) == _MOST_OUTCOMES:
                raise ValueError(f"a rule yields at most {_MOST_OUTCOMES:,} outcomes")
            outcomes.append(outcome)
    finally:
        limit.stop()
    return outcomes


def _check_outcome(outcome: Outcome, aircraft: Aircraft) -> None:
    """Check what a rule yields: places that exist, and words where words are due."""
    _check_place(outcome.at, aircraft)
    if isinstance(outcome, NotChecked):
        _check_text("needs", outcome.needs)
    elif isinstance(outcome, Finding):
        _check_grade(outcome)
        _check_text("message", outcome.message)
        _check_text("do", outcome.do)
        for because in outcome.because:
            _check_place(because.place, aircraft)
            _check_text("because", because.text)
        if outcome.fix is not None:
            _check_fix(outcome.fix, aircraft)


def _check_fix(fix: Fix, aircraft: Aircraft) -> None:
    if not isinstance(cast("object", fix), Fix) or not isinstance(cast("object", fix.edits), tuple):
        raise TypeError(f"`fix` of a finding is a Fix with a tuple of edits, not {fix!r}")
    _check_text("fix", fix.text)
    for edit in fix.edits:
        if not isinstance(cast("object", edit), Edit) or edit.act not in {"set", "add", "remove"}:
            raise TypeError(f"a fix is made of edits that set, add or remove, not {edit!r}")
        _check_place(edit.at, aircraft)
        if not edit.at.path:
            raise ValueError("a fix changes one place of the file, not the whole of it")
        if not all(isinstance(cast("object", step), str | int) for step in edit.at.path):
            raise TypeError(f"a place in a file is keys and positions, not {edit.at.path!r}")
        if not _is_plain(edit.value):
            raise TypeError(f"a fix writes plain data, not {edit.value!r}")


def _is_plain(value: object) -> bool:
    """True for what a file can hold: text, numbers, lists, and mappings with text as keys."""
    if isinstance(value, dict):
        mapping = cast("dict[object, object]", value)
        return all(isinstance(key, str) and _is_plain(entry) for key, entry in mapping.items())
    if isinstance(value, list | tuple):
        return all(_is_plain(entry) for entry in cast("list[object]", value))
    if isinstance(value, float):
        return math.isfinite(value)
    return value is None or isinstance(value, str | int)


def _check_grade(finding: Finding) -> None:
    severity, hold = cast("tuple[object, object]", (finding.severity, finding.hold))
    if severity is not None and not isinstance(severity, Severity):
        raise TypeError(f"`severity` of a finding is a Severity, not {severity!r}")
    if hold is not None and not isinstance(hold, Hold):
        raise TypeError(f"`hold` of a finding is a Hold, not {hold!r}")


def _check_text(field: str, text: object) -> None:
    if not isinstance(text, str) or not text:
        raise TypeError(f"`{field}` of an outcome is text, not {text!r}")


def _check_place(place: Place, aircraft: Aircraft) -> None:
    if not isinstance(cast("object", place), Place) or not isinstance(
        cast("object", place.path), tuple
    ):
        raise TypeError(f"a place is made by `device.at(...)` or `setup.place(...)`, not {place!r}")
    if place.file not in aircraft.setup.documents:
        raise ValueError(f"a rule names a place in {place.file!r}, which is not part of the setup")


def _sort_in(
    judgement: Judgement,
    pack: Pack,
    rule: Rule,
    outcomes: list[Outcome],
    grade: Grade | None = None,
) -> None:
    """Sort what a rule said; ``grade`` is the owner's own severity for all that it finds."""
    spoke = False
    for outcome in outcomes:
        if isinstance(outcome, Finding):
            spoke = True
            severity = rule.severity if outcome.severity is None else outcome.severity
            hold = rule.hold if outcome.hold is None else outcome.hold
            found = Found(pack, rule, outcome, severity, hold)
            judgement.found.append(found if grade is None else _graded(found, grade))
        elif isinstance(outcome, NotChecked):
            spoke = True
            judgement.unjudged.append(Unjudged(pack, rule, outcome))
    if not spoke:
        (judgement.clean if outcomes else judgement.idle).append(rule)


def _graded(found: Found, grade: Grade) -> Found:
    """Return a finding with the severity that the owner gives it, and the place that says so."""
    if found.rule.fixed or found.severity is grade.severity:
        return found
    words = f"a {grade.severity.word} here; the rule itself calls it a {found.severity.word}"
    finding = found.finding
    because = (*finding.because, Because(grade.place, words))
    return found._replace(severity=grade.severity, finding=finding._replace(because=because))


def _where(aircraft: Aircraft, place: Place) -> tuple[bool, str, int, int]:
    span = aircraft.setup.span(place)
    return place.file != aircraft.setup.file, place.file, span.line, span.column


def _order(aircraft: Aircraft, found: Found) -> tuple[object, ...]:
    """Hold point, then severity, then place."""
    return found.hold, found.severity, _where(aircraft, found.finding.at), found.rule.id


def _crash(pack: Pack, rule: Rule, error: BaseException) -> Crash:
    import traceback  # noqa: PLC0415  - only a failing rule pays for it

    from holdshort.rulebook.blame import crash_place  # noqa: PLC0415  - as above

    text = "".join(traceback.format_exception(error))
    place = crash_place(error, rule)
    where = f" ({place})" if place else ""
    return Crash(pack, rule, f"{type(error).__name__}: {error}{where}", text)
