"""What tests prove now, and what the sign-offs in the file are still worth.

A sign-off keeps what its test proved, aspect by aspect, and a fingerprint of that. It counts while
the setup still says the same of each, while the tests that it rests on had been passed by its day
and still count, and while it is not too old. One that proved the same as an earlier sign-off of its
test may hold the fingerprint alone: the proof is kept once.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from enum import StrEnum
from functools import cached_property
from hashlib import sha256
from typing import TYPE_CHECKING, Final, NamedTuple

from holdshort.analysis.figures import BadFigure, figure, figures_of
from holdshort.analysis.known_tests import KnownTest, chosen
from holdshort.analysis.outcomes import VOLTAGES, outcomes
from holdshort.analysis.stated import Facts, Subject, is_date, stated, touches
from holdshort.setup import Place, Quantity
from holdshort.setup.evidence import SignOff

if TYPE_CHECKING:
    from holdshort.analysis.aircraft import Aircraft

Proved = Mapping[str, Mapping[str, str]]
"""What a test proves: texts by subject's name and aspect."""

AGE_LIMIT: Final = ("sign-off-expired", "day-of-flying")
"""The owner's limit, as rule and option: for how many days a test of the day of flying is good."""

_DIGITS: Final = 16
_LAST_SHORT: Final = 0xFFFF
_JSON_ESCAPES: Final = {
    '"': '\\"', "\\": "\\\\", "\b": "\\b", "\f": "\\f", "\n": "\\n", "\r": "\\r", "\t": "\\t"
}  # fmt: skip


class Standing(StrEnum):
    """What a test's latest sign-off is worth."""

    VALID = "valid"
    MISSING = "not signed"
    FAILED = "failed"
    HAND_EDITED = "changed by hand"
    """It holds no proof, or its fingerprint does not fit the proof that it holds."""
    VOID = "void"
    """What it proved has changed since."""
    FUTURE = "dated in the future"
    FALLS = "falls with an earlier one"
    """A test that it rests on is missing, failed or counts no more."""
    OUT_OF_ORDER = "out of order"
    """A test that it rests on was passed only later."""
    OLD = "too old"

    @property
    def counts(self) -> bool:
        """True where later tests may rest on it."""
        return self in {Standing.VALID, Standing.OLD}


class Change(NamedTuple):
    """One thing that differs from what was proved.

    ``was`` is empty for what has come, ``now`` for what has gone; ``aspect`` is empty where all of
    the subject has come or gone, or is still there and no more among what the test proves: both are
    given then. ``touched`` is the day on which it was set anew, where it is the
    same but the file says that it was set after the test.
    """

    subject: str
    aspect: str
    was: str = ""
    now: str = ""
    touched: str = ""

    @property
    def words(self) -> str:
        """How messages say it: ``travel of channel 3 was 100 %, is 110 %``."""
        if self.touched:
            return self._touched_words()
        if not self.aspect:
            return f"{self.subject} {self._how_it_came_or_went}"
        what = _named(self.subject, self.aspect)
        if not self.was:
            return f"{what} is now {self.now}, and was not stated"
        if not self.now:
            return f"{what} was {self.was}, and is no longer stated"
        return f"{what} was {self.was}, is {self.now}"

    @property
    def _how_it_came_or_went(self) -> str:
        if not self.was:
            return "was not part of it"
        return "is no longer part of it" if self.now else "is gone"

    def _touched_words(self) -> str:
        what, _, how = self.aspect.rpartition("last ")
        of = _named(self.subject, what.strip()) if what else self.subject
        return f"{of} was last {how} on {self.touched}"


def _named(subject: str, aspect: str) -> str:
    """Return how messages name one aspect of a subject."""
    if aspect == "at" and subject.startswith("place of "):
        return f"the {subject}"
    if aspect.startswith("to ") and subject.startswith("way of "):
        return f"the {subject} {aspect}"
    if subject == VOLTAGES:
        return f"the lowest voltage worked out {aspect.removeprefix('lowest ')}"
    if subject.startswith("on "):
        return f"{aspect} {subject}"
    return f"{aspect} of {subject}"


class Signed(NamedTuple):
    """One sign-off and where it stands."""

    at: Place
    sign_off: SignOff


class Judged(NamedTuple):
    """One test and what its latest sign-off is worth.

    ``changes`` make it void; ``earlier`` are the tests that it falls with, or that were passed only
    after it. ``age`` is in days, where today is known.
    """

    test: KnownTest
    standing: Standing
    signed: Signed | None = None
    changes: tuple[Change, ...] = ()
    earlier: tuple[str, ...] = ()
    age: int | None = None


def fingerprint(proved: Proved) -> str:
    """Return the first 16 hexadecimal digits of SHA-256 over the proof as canonical JSON.

    Canonical: keys sorted, no spaces, ASCII with escapes.
    """
    text = _json_object((name, _json_object(_quoted(proved[name]))) for name in sorted(proved))
    return sha256(text.encode("ascii")).hexdigest()[:_DIGITS]


def _quoted(facts: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    return ((aspect, _json_text(facts[aspect])) for aspect in sorted(facts))


def _json_object(pairs: Iterable[tuple[str, str]]) -> str:
    """Write a JSON object from keys and values that are JSON already."""
    return "{" + ",".join(f"{_json_text(key)}:{value}" for key, value in pairs) + "}"


def _json_text(text: str) -> str:
    """Write text as JSON (RFC 8259, section 7) in ASCII: a linter's start-up has no json in it."""
    if text.isascii() and text.isprintable() and '"' not in text and "\\" not in text:
        return f'"{text}"'
    return '"' + "".join(map(_json_character, text)) + '"'


def _json_character(character: str) -> str:
    if character in _JSON_ESCAPES:
        return _JSON_ESCAPES[character]
    if " " <= character <= "~":
        return character
    code = ord(character)
    if code <= _LAST_SHORT:
        return f"\\u{code:04x}"
    code -= _LAST_SHORT + 1
    return f"\\u{0xD800 + (code >> 10):04x}\\u{0xDC00 + (code & 0x3FF):04x}"


def is_intact(sign_off: SignOff) -> bool:
    """Tell whether a sign-off holds a proof itself, and its fingerprint is that of this proof."""
    if sign_off.proved is None or sign_off.fingerprint is None:
        return False
    return fingerprint(sign_off.proved) == sign_off.fingerprint


def changes_between(was: Proved, now: Proved) -> tuple[Change, ...]:
    """Return how two proofs differ, subject by subject in their order, those come or gone last."""
    return tuple(_changes(was, now))


def _changes(was: Proved, now: Proved) -> Iterator[Change]:
    for subject, facts in was.items():
        if subject in now:
            yield from _changed_aspects(subject, facts, now[subject])
    for subject, facts in was.items():
        if subject not in now:
            yield Change(subject, "", was=_first(facts))
    for subject, facts in now.items():
        if subject not in was:
            yield Change(subject, "", now=_first(facts))


def _changed_aspects(
    subject: str, was: Mapping[str, str], now: Mapping[str, str]
) -> Iterator[Change]:
    for aspect in sorted({*was, *now}):
        before, after = was.get(aspect, ""), now.get(aspect, "")
        if before != after:
            yield Change(subject, aspect, before, after)


def _first(facts: Mapping[str, str]) -> str:
    return next(iter(facts.values()), "nothing")


class Evidence:
    """The tests of one aircraft and what its sign-offs are worth."""

    def __init__(self, aircraft: "Aircraft") -> None:
        """Hold the aircraft; nothing is worked out until it is asked for."""
        self.aircraft = aircraft
        self._found: dict[str, Judged] = {}
        self._proved: dict[str, Proved] = {}

    @cached_property
    def facts(self) -> Facts:
        """Everything that a test may prove: what is stated, and what follows from it."""
        return {**stated(self.aircraft), **outcomes(self.aircraft)}

    @cached_property
    def tests(self) -> Mapping[str, KnownTest]:
        """The tests that apply, by name, in the order in which they are done."""
        ordered = sorted(self.aircraft.known_tests, key=_step)
        return {test.name: test for test in ordered if not test.why_not(self.aircraft)}

    @cached_property
    def left_out(self) -> Mapping[str, str]:
        """The tests that do not apply, each with why not."""
        found = {test.name: test.why_not(self.aircraft) for test in self.aircraft.known_tests}
        return {name: why for name, why in found.items() if why}

    @cached_property
    def unknown(self) -> tuple[Signed, ...]:
        """The sign-offs of tests that are not known."""
        known = {test.name for test in self.aircraft.known_tests}
        return tuple(one for one in self._all if one.sign_off.test not in known)

    @cached_property
    def standings(self) -> tuple[Judged, ...]:
        """What each test that applies stands at, in the order in which they are done."""
        return tuple(self.standing(name) for name in self.tests)

    def proves(self, name: str) -> Proved:
        """Return what a test of this name would prove of the setup as it is now."""
        if name not in self._proved:
            test = next(test for test in self.aircraft.known_tests if test.name == name)
            self._proved[name] = chosen(self.facts, test.proves)
        return self._proved[name]

    def standing(self, name: str) -> Judged:
        """Return what the latest sign-off of a test that applies is worth."""
        if name not in self._found:
            # A test that rests on itself, through others, does not fall by that.
            self._found[name] = Judged(self.tests[name], Standing.VALID)
            self._found[name] = self._judged(self.tests[name])
        return self._found[name]

    def figure(self, signed: Signed, name: str) -> Quantity | None:
        """Return a figure of a sign-off, in SI; None where it is not there, or cannot be."""
        test = self.tests.get(signed.sign_off.test)
        return figure(test, signed.sign_off, name) if test else None

    def bad_figures(self, signed: Signed) -> tuple[BadFigure, ...]:
        """Return the figures of a sign-off that cannot be read, or cannot be."""
        test = self.tests.get(signed.sign_off.test)
        found = figures_of(test, signed.sign_off) if test else ()
        return tuple(one for one in found if isinstance(one, BadFigure))

    def resting_on(self, name: str) -> tuple[str, ...]:
        """Return the tests that rest on one, directly or through others, in their order."""
        found = {name}
        for other, test in self.tests.items():
            if found & set(test.after):
                found.add(other)
        return tuple(other for other in self.tests if other in found - {name})

    def signed(self, name: str) -> tuple[Signed, ...]:
        """Return the sign-offs of one test, oldest first; of one day in the order of the file."""
        own = [one for one in self._all if one.sign_off.test == name]
        return tuple(sorted(own, key=_day))

    def proof_of(self, sign_off: SignOff) -> Proved | None:
        """Return what a sign-off proved, or None where it holds no proof that fits.

        It holds it itself, or holds the fingerprint of another sign-off of the same test.
        """
        if sign_off.proved is not None:
            return sign_off.proved if is_intact(sign_off) else None
        if sign_off.fingerprint is None:
            return None
        return self._kept.get((sign_off.test, sign_off.fingerprint))

    def keeps(self, test: str, mark: str) -> bool:
        """Tell whether the file holds the proof of a test with this fingerprint."""
        return (test, mark) in self._kept

    @cached_property
    def _kept(self) -> Mapping[tuple[str, str], Proved]:
        """The intact proofs in the file, by test and fingerprint."""
        return {
            (one.sign_off.test, one.sign_off.fingerprint): one.sign_off.proved
            for one in self._all
            if one.sign_off.proved is not None
            and one.sign_off.fingerprint is not None
            and is_intact(one.sign_off)
        }

    @cached_property
    def _all(self) -> tuple[Signed, ...]:
        return tuple(Signed(at, sign_off) for at, sign_off in self.aircraft.setup.sign_offs)

    def _judged(self, test: KnownTest) -> Judged:
        signed = self.signed(test.name)
        if not signed:
            return Judged(test, Standing.MISSING)
        latest = signed[-1]
        sign_off = latest.sign_off
        if sign_off.outcome == "failed":
            return Judged(test, Standing.FAILED, latest)
        if self.proof_of(sign_off) is None:
            return Judged(test, Standing.HAND_EDITED, latest)
        changes = self.changes(test, sign_off)
        if changes:
            return Judged(test, Standing.VOID, latest, changes)
        today = self.aircraft.today
        age = None if today is None else (today - date.fromisoformat(sign_off.on)).days
        if age is not None and age < 0:
            return Judged(test, Standing.FUTURE, latest, age=age)
        return self._in_its_order(Judged(test, Standing.VALID, latest, age=age), sign_off)

    def _in_its_order(self, found: Judged, sign_off: SignOff) -> Judged:
        earlier = self.earlier(found.test)
        fallen = tuple(name for name in earlier if not self.standing(name).standing.counts)
        if fallen:
            return found._replace(standing=Standing.FALLS, earlier=fallen)
        late = tuple(name for name in earlier if not self.passed_by(name, sign_off.on))
        if late:
            return found._replace(standing=Standing.OUT_OF_ORDER, earlier=late)
        limit = self.age_limit(found.test)
        if found.age is not None and limit is not None and found.age > limit:
            return found._replace(standing=Standing.OLD)
        return found

    def earlier(self, test: KnownTest) -> tuple[str, ...]:
        """Return the tests that apply and that ``test`` names as earlier ones."""
        return tuple(name for name in test.after if name in self.tests)

    def passed_by(self, name: str, day: str) -> bool:
        """Tell whether a test stood as passed on ``day``, with what it proves now.

        That is by its last sign-off before that day, or by any of that day: which of two things
        done on one day came first is not known.
        """
        by_then = [one.sign_off for one in self.signed(name) if one.sign_off.on <= day]
        return any(
            sign_off.outcome == "passed"
            and self.proof_of(sign_off) is not None
            and not self.changes(self.tests[name], sign_off)
            for index, sign_off in enumerate(by_then, 1)
            if sign_off.on == day or all(later.on == day for later in by_then[index:])
        )

    def age_limit(self, test: KnownTest) -> float | None:
        """Return for how many days a test is good, or None where only changes end it."""
        if test.every is not None:
            return test.every
        if not test.day_of_flying:
            return None
        own = self.aircraft.limits.get(AGE_LIMIT)
        return 0.0 if own is None else float(own)

    def changes(self, test: KnownTest, sign_off: SignOff) -> tuple[Change, ...]:
        """Return what has changed of what a sign-off of ``test`` that holds a proof proved."""
        was = self.proof_of(sign_off) or {}
        found = changes_between(was, self.proves(test.name))
        return (*map(self._left, found), *self._touched(was, sign_off.on))

    def _left(self, change: Change) -> Change:
        """Return a subject's going as such, or as its leaving the test where it is still there."""
        still_there = not change.aspect and not change.now and change.subject in self._names
        return change._replace(now=change.was) if still_there else change

    @cached_property
    def _names(self) -> frozenset[str]:
        return frozenset(subject.name for subject in self.facts)

    def _touched(self, was: Proved, day: str) -> Iterator[Change]:
        """Yield what was set anew after ``day``, by the dates in the file."""
        for subject, facts in self._dated.items():
            proved = was.get(subject, {})
            for aspect, text in facts.items():
                if text > day and any(touches(aspect, other) for other in proved):
                    yield Change(subject, aspect, touched=text)

    @cached_property
    def _dated(self) -> Mapping[str, Mapping[str, str]]:
        """The dates in the setup, by subject's name."""
        dated = {
            subject.name: {aspect: text for aspect, text in facts.items() if is_date(aspect)}
            for subject, facts in self.facts.items()
        }
        return {name: facts for name, facts in dated.items() if facts}


def _day(signed: Signed) -> str:
    return signed.sign_off.on


def _step(test: KnownTest) -> int:
    return test.step


__all__ = [
    "AGE_LIMIT",
    "Change",
    "Evidence",
    "Judged",
    "Proved",
    "Signed",
    "Standing",
    "Subject",
    "changes_between",
    "fingerprint",
    "is_intact",
]
