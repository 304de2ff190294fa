"""What one run has to say, placed and counted; renderings add nothing to it."""

from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from types import MappingProxyType
from typing import Final, Literal, NamedTuple

from holdshort.document import Fault, Span, show_path
from holdshort.rulebook import (
    Crash,
    Deferred,
    Fix,
    Found,
    Hold,
    Judgement,
    Pack,
    Rule,
    Severity,
    Source,
    Unjudged,
)
from holdshort.rulebook.fix_offers import fix_problem
from holdshort.setup import Loaded, Place, Setup

Kind = Literal["aircraft", "parts", "hangar", "not-read"]
"""What a file is: an aircraft's setup file, a file of parts, a hangar file, or nothing that could
be read."""

Outcome = Literal["clean", "nothing-to-judge", "spoke"]
"""How a rule came out over one file: it judged and had nothing to say, it found nothing of its own
there, or it found, could not judge, or failed."""

CAUTIONS: Final = (
    (
        "An empty list means that nothing was found in what was declared, "
        "not that the aircraft is safe."
    ),
    "Makers' instructions, local rules and a second person's check go first.",
)
"""What goes with every fix list."""


class Spot(NamedTuple):
    """One place: lines and columns from 1, columns in code points, end exclusive.

    All four numbers are 0 where the file as a whole is meant. ``path`` is the document path in
    words (``devices.gyro.told``); it is empty for a file that is no document.
    """

    file: str
    line: int
    column: int
    end_line: int
    end_column: int
    path: str


class Reason(NamedTuple):
    """One declared thing that a finding rests on, or another place that a mistake touches."""

    at: Spot
    text: str


class Mistake(NamedTuple):
    """One mistake of form. ``kind`` is a stable id."""

    kind: str
    message: str
    at: Spot
    do: str
    related: tuple[Reason, ...]


class Change(NamedTuple):
    """One place in the text of a setup file, and what a proved fix puts there instead."""

    at: Spot
    new: str


class PlacedFinding(NamedTuple):
    """One thing a rule says, with everything a reader wants to know about it.

    ``changes`` are what its fix does to the text, the last place first; empty where there is no
    fix, or nobody asked for it to be proved.
    """

    rule: str
    title: str
    pack: str
    severity: Severity
    hold: Hold
    message: str
    at: Spot
    because: tuple[Reason, ...]
    do: str
    sources: tuple[Source, ...]
    fix: Fix | None = None
    changes: tuple[Change, ...] = ()


class DeferredFinding(NamedTuple):
    """A finding that is accepted for now: why, by whom, and until which day (year-month-day).

    ``second`` is who else accepts it, empty where nobody does; ``at`` is where the deferral stands.
    """

    finding: PlacedFinding
    reason: str
    by: str
    until: str
    second: str
    at: Spot


class OpenQuestion(NamedTuple):
    """Something a rule could not judge: ``needs`` completes "not checked: needs ..."."""

    rule: str
    title: str
    pack: str
    needs: str
    at: Spot


class FailedRule(NamedTuple):
    """A rule that failed: a mistake in the rule, never in the aircraft."""

    rule: str
    pack: str
    error: str
    traceback: str


class RuleRun(NamedTuple):
    """A rule that was run over one file, the pack it is of, and how it came out."""

    pack: Pack
    rule: Rule
    outcome: Outcome


class Tally(NamedTuple):
    """What was counted.

    ``held`` counts findings by hold point and severity, notes among them though they hold
    nothing; ``later`` counts those that hold a later point than was asked about, by hold point;
    what does not occur is absent. ``deferred`` and
    ``not_checked`` count findings and open questions; ``clean`` and ``nothing_to_judge`` count
    rules.
    """

    held: Mapping[tuple[Hold, Severity], int] = MappingProxyType({})
    later: Mapping[Hold, int] = MappingProxyType({})
    deferred: int = 0
    not_checked: int = 0
    clean: int = 0
    nothing_to_judge: int = 0
    mistakes: int = 0
    crashes: int = 0

    @property
    def held_in_all(self) -> int:
        """How many findings hold something; a note is told and holds nothing."""
        return sum(count for (_, severity), count in self.held.items() if severity.holds)

    @property
    def notes(self) -> int:
        """How many notes there are."""
        return sum(count for (_, severity), count in self.held.items() if not severity.holds)

    @property
    def later_in_all(self) -> int:
        """How many findings hold later points."""
        return sum(self.later.values())


class FileReport(NamedTuple):
    """What there is to say about one file.

    ``aircraft`` is its name, ``hangar`` the hangar file that counts for it; both are empty where
    there is none. ``deferred`` are findings that are accepted for now, whatever they would hold.
    ``rules`` are all that were run over it.
    """

    file: str
    kind: Kind
    aircraft: str = ""
    mistakes: tuple[Mistake, ...] = ()
    findings: tuple[PlacedFinding, ...] = ()
    not_checked: tuple[OpenQuestion, ...] = ()
    crashes: tuple[FailedRule, ...] = ()
    tally: Tally = Tally()
    deferred: tuple[DeferredFinding, ...] = ()
    hangar: str = ""
    rules: tuple[RuleRun, ...] = ()


class Report(NamedTuple):
    """What one run says about all its files; ``until`` is the last hold point asked about.

    ``made`` is when, with its time zone; None where that is not to be told.
    """

    until: Hold
    files: tuple[FileReport, ...]
    made: datetime | None = None

    @property
    def tally(self) -> Tally:
        """The sum over all files."""
        return _sum(file.tally for file in self.files)

    @property
    def job_done(self) -> bool:
        """False where a file could not be read, was ill-formed, or a rule failed."""
        return not any(file.mistakes or file.crashes for file in self.files)


def make_report(
    loaded: Loaded,
    judgement: Judgement,
    until: Hold = Hold.FLIGHT,
    hangar: str = "",
    changes: Callable[[Found], Iterable[tuple[Span, str]]] | None = None,
) -> FileReport:
    """Return what there is to say about one aircraft file, for which ``hangar`` counts.

    Findings that hold a later point than ``until`` are counted apart and not listed. What was
    not checked is listed whatever it would hold, for a rule may bring a hold point forward.
    ``changes`` says what the fix of a finding does to the text, where that is to be told.
    """
    setup = loaded.setup
    return FileReport(
        file=setup.file,
        kind="aircraft",
        aircraft=setup.aircraft.name if setup.aircraft else "",
        mistakes=tuple(_mistake(fault) for fault in loaded.faults),
        findings=tuple(
            _placed(setup, found, _fix(loaded, found), changes)
            for found in judgement.found
            if found.hold <= until
        ),
        not_checked=tuple(_open_question(setup, item) for item in judgement.unjudged),
        crashes=tuple(_failed(crash) for crash in judgement.crashes),
        tally=_tally(judgement, until, len(loaded.faults)),
        deferred=tuple(_deferred(setup, item) for item in judgement.deferred),
        hangar=hangar,
        rules=_rules(judgement),
    )


def plain_file_report(file: str, kind: Kind, faults: Iterable[Fault]) -> FileReport:
    """Return what there is to say about a file that no rule judges."""
    mistakes = tuple(_mistake(fault) for fault in faults)
    return FileReport(file=file, kind=kind, mistakes=mistakes, tally=Tally(mistakes=len(mistakes)))


def _spot(file: str, span: Span | None, path: str) -> Spot:
    if span is None:
        return Spot(file, 0, 0, 0, 0, path)
    return Spot(file, span.line, span.column, span.end_line, span.end_column, path)


def _spot_of(setup: Setup, place: Place) -> Spot:
    return _spot(place.file, setup.span(place), show_path(place.path))


def _mistake(fault: Fault) -> Mistake:
    related = tuple(Reason(_spot(fault.file, span, ""), text) for text, span in fault.related)
    path = show_path(fault.path) if fault.path else ""
    return Mistake(
        fault.kind, fault.message, _spot(fault.file, fault.span, path), fault.do, related
    )


def _fix(loaded: Loaded, found: Found) -> Fix | None:
    """Return the fix of a finding, where it is one that can be written into the setup file."""
    fix = found.finding.fix
    return None if fix is None or fix_problem(fix, loaded) else fix


def _placed(
    setup: Setup,
    found: Found,
    fix: Fix | None = None,
    changes: Callable[[Found], Iterable[tuple[Span, str]]] | None = None,
) -> PlacedFinding:
    finding, rule, pack = found.finding, found.rule, found.pack
    return PlacedFinding(
        rule=rule.id,
        title=rule.title,
        pack=pack.name,
        severity=found.severity,
        hold=found.hold,
        message=finding.message,
        at=_spot_of(setup, finding.at),
        because=tuple(
            Reason(_spot_of(setup, because.place), because.text) for because in finding.because
        ),
        do=finding.do,
        sources=tuple(pack.sources[source] for source in rule.sources if source in pack.sources),
        fix=fix,
        changes=tuple(
            Change(_spot(setup.file, span, ""), new)
            for span, new in (changes(found) if fix and changes else ())
        ),
    )


def _deferred(setup: Setup, item: Deferred) -> DeferredFinding:
    deferral = item.deferral
    return DeferredFinding(
        finding=_placed(setup, item.found),
        reason=deferral.reason,
        by=deferral.by,
        until=deferral.until,
        second=deferral.second or "",
        at=_spot_of(setup, item.place),
    )


def _open_question(setup: Setup, item: Unjudged) -> OpenQuestion:
    spot = _spot_of(setup, item.not_checked.at)
    return OpenQuestion(item.rule.id, item.rule.title, item.pack.name, item.not_checked.needs, spot)


def _rules(judgement: Judgement) -> tuple[RuleRun, ...]:
    clean = {rule.id for rule in judgement.clean}
    idle = {rule.id for rule in judgement.idle}

    def outcome(rule: Rule) -> Outcome:
        if rule.id in clean:
            return "clean"
        return "nothing-to-judge" if rule.id in idle else "spoke"

    return tuple(RuleRun(pack, rule, outcome(rule)) for pack, rule in judgement.ran)


def _failed(crash: Crash) -> FailedRule:
    return FailedRule(crash.rule.id, crash.pack.name, crash.error, crash.traceback)


def _tally(judgement: Judgement, until: Hold, mistakes: int) -> Tally:
    held: dict[tuple[Hold, Severity], int] = {}
    later: dict[Hold, int] = {}
    for found in judgement.found:
        if found.hold > until:
            if found.severity.holds:
                later[found.hold] = later.get(found.hold, 0) + 1
        else:
            pair = (found.hold, found.severity)
            held[pair] = held.get(pair, 0) + 1
    return Tally(
        held=held,
        later=later,
        deferred=len(judgement.deferred),
        not_checked=len(judgement.unjudged),
        clean=len(judgement.clean),
        nothing_to_judge=len(judgement.idle),
        mistakes=mistakes,
        crashes=len(judgement.crashes),
    )


def _sum(tallies: Iterable[Tally]) -> Tally:
    held: dict[tuple[Hold, Severity], int] = {}
    later: dict[Hold, int] = {}
    counts = [0] * 6
    for tally in tallies:
        for pair, count in tally.held.items():
            held[pair] = held.get(pair, 0) + count
        for hold, count in tally.later.items():
            later[hold] = later.get(hold, 0) + count
        own = (
            tally.deferred,
            tally.not_checked,
            tally.clean,
            tally.nothing_to_judge,
            tally.mistakes,
            tally.crashes,
        )
        counts = [total + more for total, more in zip(counts, own, strict=True)]
    return Tally(held, later, *counts)
