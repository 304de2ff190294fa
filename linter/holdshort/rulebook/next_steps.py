"""What to do with one aircraft now, what follows, and in which order.

The order: mistakes of form and rules that failed, for what they touch is not judged; what holds
power-up, for nothing is tested before that; what else was found, for a change made after a test
sends the builder back to it; facts that rules miss; deferrals that run out; then the tests, in the
order of the work. The first of these that blocks is the last thing to do now.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import Final, Literal, NamedTuple

from holdshort.analysis import Aircraft
from holdshort.analysis.cards import card_sheet
from holdshort.analysis.proof import Judged, Standing
from holdshort.analysis.redo import must_be_done
from holdshort.document import Fault, show_path
from holdshort.rulebook.declare import Hold, Pack, Source
from holdshort.rulebook.judge import Crash, Deferred, Found, Judgement, Unjudged
from holdshort.setup import Place

RUNS_OUT: Final = 14
"""Days before its end at which a deferral is told of (common practice, no source)."""

FACT: Final = "Not checked: needs "
"""How the text of a missing fact begins."""

_SECTION: Final = "sign-offs"
_LOG: Final = "log"

Kind = Literal["mistake", "crash", "finding", "fact", "deferral", "test"]


class Step(NamedTuple):
    """One thing to do.

    ``text`` says what is wrong or missing, ``do`` what to do and ``why`` for what reason; ``hold``
    is what may not happen before. ``places`` are where it stands in the files. Of a test:
    ``judged`` is its standing, ``cards`` are the bench cards to take, ``opens`` the tests that
    rest on it and are due, ``also`` what rules say of its sign-off, ``ready`` is true where all
    that it rests on counts. ``fixes`` is true where the rule offers to write the change.
    """

    kind: Kind
    text: str
    do: str
    hold: Hold
    why: str = ""
    places: tuple[Place, ...] = ()
    rules: tuple[str, ...] = ()
    source: Source | None = None
    judged: Judged | None = None
    cards: tuple[str, ...] = ()
    opens: tuple[str, ...] = ()
    also: tuple[str, ...] = ()
    ready: bool = True
    fixes: bool = False


class NextSteps(NamedTuple):
    """What to do ``now``, up to the first thing that blocks, and ``then``; in order.

    ``cautions`` go before anything is moved, where a test is to be done now. ``notes`` and
    ``deferred`` are how many findings hold nothing, or are accepted for now.
    """

    now: tuple[Step, ...]
    then: tuple[Step, ...]
    cautions: tuple[str, ...] = ()
    notes: int = 0
    deferred: int = 0


def next_steps(
    aircraft: Aircraft, judgement: Judgement, faults: Iterable[Fault], packs: Sequence[Pack]
) -> NextSteps:
    """Return what to do with ``aircraft``, of which the rules of ``packs`` said ``judgement``.

    ``faults`` are the mistakes of form. The aircraft's own ``today`` decides what runs out.
    """
    found = _Gathered(aircraft, judgement, packs)
    stages: list[tuple[Step, ...]] = [
        (*map(_mistake, faults), *map(_crash, judgement.crashes)),
        tuple(found.findings(up_to=Hold.POWER_UP)),
        tuple(found.findings(above=Hold.POWER_UP)),
    ]
    loose = (*found.facts(), *found.deferrals())
    tests = tuple(found.tests())
    now, then = _split(stages, loose, tests)
    testing = any(step.kind == "test" for step in now)
    codes = tuple(code for pack in packs for code in pack.codes)
    return NextSteps(
        now,
        then,
        card_sheet(aircraft, codes).cautions if testing else (),
        sum(not one.severity.holds for one in judgement.found),
        len(judgement.deferred),
    )


def _split(
    stages: Sequence[tuple[Step, ...]], loose: tuple[Step, ...], tests: tuple[Step, ...]
) -> tuple[tuple[Step, ...], tuple[Step, ...]]:
    """Return what is to be done now, and what follows."""
    first = next((index for index, steps in enumerate(stages) if steps), None)
    if first == 0 and stages[1]:
        first = 1  # what holds power-up is put right together with the mistakes in the file
    if first is not None:
        now = tuple(step for steps in stages[: first + 1] for step in steps)
        return now, (*(step for steps in stages[first + 1 :] for step in steps), *loose, *tests)
    size = next((index + 1 for index, test in enumerate(tests) if test.opens), len(tests))
    return (*loose, *tests[:size]), tests[size:]


def _mistake(fault: Fault) -> Step:
    at = (Place(fault.file, fault.path),)
    why = "what it touches is not judged"
    return Step("mistake", fault.message, fault.do, Hold.POWER_UP, why=why, places=at)


def _crash(crash: Crash) -> Step:
    return Step(
        "crash",
        f"Rule `{crash.rule.id}` of pack `{crash.pack.name}` failed: {crash.error}",
        "Tell whoever keeps the pack.",
        Hold.POWER_UP,
        why="nothing that it looks for was judged",
        rules=(crash.rule.id,),
    )


class _Gathered:
    """The steps of one aircraft, sorted out."""

    def __init__(self, aircraft: Aircraft, judgement: Judgement, packs: Sequence[Pack]) -> None:
        self._aircraft = aircraft
        self._judgement = judgement
        self._evidence = aircraft.evidence
        self._sources = {key: one for pack in packs for key, one in reversed(pack.sources.items())}
        self._codes = tuple(code for pack in packs for code in pack.codes)
        self._of_test: dict[str, list[Found]] = {}
        self._others: list[Found] = []
        for one in judgement.found:
            if one.severity.holds:
                self._sort_in(one)

    def _sort_in(self, found: Found) -> None:
        test = self._test_at(found.finding.at)
        if test is None:
            self._others.append(found)
        else:
            self._of_test.setdefault(test, []).append(found)

    def _test_at(self, at: Place) -> str | None:
        """Return the test whose sign-off stands, or would stand, at a place."""
        setup = self._aircraft.setup
        if at.file != setup.file or at.path[:1] != (_SECTION,) or len(at.path) == 1:
            return None
        named = {place.path[1]: one.test for place, one in setup.sign_offs}
        test = named.get(at.path[1], str(at.path[1]))
        return test if test in self._evidence.tests else None

    # -- findings, facts, deferrals --------------------------------------------------------------

    def findings(self, up_to: Hold = Hold.FLIGHT, above: Hold | None = None) -> Iterator[Step]:
        for one in self._others:
            if one.hold <= up_to and (above is None or one.hold > above):
                yield _finding(one)

    def facts(self) -> Iterator[Step]:
        by_needs: dict[str, list[Unjudged]] = {}
        for one in self._judgement.unjudged:
            if not self._is_about_tests(one):
                by_needs.setdefault(one.not_checked.needs, []).append(one)
        for needs, several in sorted(by_needs.items(), key=_first_hold):
            yield Step(
                "fact",
                f"{FACT}{needs}",
                f"Declare {needs}.",
                min(one.rule.hold for one in several),
                why="a rule could not judge without it, and not checked is not clean",
                places=tuple(dict.fromkeys(one.not_checked.at for one in several)),
                rules=tuple(dict.fromkeys(one.rule.id for one in several)),
            )

    def _is_about_tests(self, one: Unjudged) -> bool:
        """Tell whether a test that is due says the same: its sign-off, or all of them, lacks.

        What is to be read out of a log comes with the tests that it is written in.
        """
        at = one.not_checked.at
        if at.file == self._aircraft.setup.file and at.path == (_LOG,):
            return bool(self._due())
        if at.file != self._aircraft.setup.file or at.path[:1] != (_SECTION,):
            return False
        return len(at.path) == 1 or at.path[1] in {test.test.name for test in self._due()}

    def deferrals(self) -> Iterator[Step]:
        today = self._aircraft.today
        if today is None:
            return
        for item in self._judgement.deferred:
            left = (date.fromisoformat(item.deferral.until) - today).days
            if left <= RUNS_OUT:
                yield _deferral(item, left)

    # -- tests -----------------------------------------------------------------------------------

    def tests(self) -> Iterator[Step]:
        due = self._due()
        names = [one.test.name for one in due]
        cards = self._cards()
        for one in due:
            test = one.test
            needs = self._evidence.earlier(test)
            opens = [name for name in names if test.name in self._evidence.tests[name].after]
            own = self._of_test.get(test.name, [])
            yield Step(
                "test",
                f"Test `{test.name}`: {test.title}",
                "",
                _hold(test.before),
                why=test.reason,
                rules=tuple(dict.fromkeys(found.rule.id for found in own)),
                source=self._sources.get(test.source),
                judged=one,
                cards=tuple(card for card in cards if test.takes_card(card)),
                opens=tuple(opens),
                also=tuple(found.finding.message for found in own if one.standing.counts),
                ready=not any(name in names for name in needs),
            )

    def _due(self) -> tuple[Judged, ...]:
        """Return the tests to be done: those that must be, are too old, or that a rule faults.

        One whose lack is accepted for now is left out.
        """
        needed = {one.test.name for one in must_be_done(self._evidence)}
        deferred = {self._test_at(item.found.finding.at) for item in self._judgement.deferred}
        return tuple(
            one
            for one in self._evidence.standings
            if one.test.name in self._of_test
            or (
                (one.test.name in needed or one.standing is Standing.OLD)
                and one.test.name not in deferred
            )
        )

    def _cards(self) -> tuple[str, ...]:
        sheet = card_sheet(self._aircraft, self._codes)
        return tuple(card.name for group in sheet.groups for card in group.cards)


def _hold(word: str) -> Hold:
    return next(hold for hold in Hold if hold.word == word)


def _first_hold(item: tuple[str, list[Unjudged]]) -> Hold:
    return min(one.rule.hold for one in item[1])


def _finding(one: Found) -> Step:
    finding = one.finding
    return Step(
        "finding",
        finding.message,
        finding.do,
        one.hold,
        why=one.severity.word,
        places=(finding.at,),
        rules=(one.rule.id,),
        fixes=finding.fix is not None,
    )


def _deferral(item: Deferred, left: int) -> Step:
    found, deferral = item.found, item.deferral
    days = "today" if not left else "tomorrow" if left == 1 else f"in {left} days"
    return Step(
        "deferral",
        f"What is accepted for now ({found.rule.id} at {show_path(found.finding.at.path)}) counts "
        f"again {days}, after {deferral.until}: {found.finding.message}",
        found.finding.do,
        found.hold,
        why=f"it was accepted by {deferral.by}: {deferral.reason}",
        places=(item.place,),
        rules=(found.rule.id,),
    )
