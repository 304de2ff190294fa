"""A club's own tests, as its hangar file gives them beside those of the trade.

::

    tests:
      wing bolts:
        title: Wing bolts tight, and seen by a second person
        proves: [place of *, surface *, balance]   # names, their beginnings with *, or topics
        before: flight
        after: [balance]
        figures: {torque: 2 N.m}                   # each with an example
        every: 30                                  # days for which it is good
        second: true
"""

import math
from collections.abc import Iterator, Mapping
from typing import Annotated, Final, Literal

from pydantic import Field

from holdshort.analysis.figures import kind_of
from holdshort.analysis.known_tests import KNOWN_TESTS, Chosen, Figure, KnownTest
from holdshort.analysis.spreading import spread
from holdshort.analysis.stated import TOPICS
from holdshort.setup.base import Items, Section, Text, Whole, Words
from holdshort.setup.evidence import TEST, TestName
from holdshort.setup.mistakes import did_you_mean, seen_first
from holdshort.setup.reader import EntryReader

_LONGEST: Final = 3650
_BEGINNINGS: Final = (
    "channel ", "way of channel ", "device ", "part ", "place of ", "lead ", "aerials of ",
    "failsafe of ", "surface ", "mode ", "link ", "telemetry ", "on ",
)  # fmt: skip
_ALONE: Final = ("load cases", "voltages worked out")
_FIRST_STEP: Final[Mapping[str, int]] = {"power-up": 3, "engine-run": 18, "flight": 21}


class ClubTest(Section):
    """One test of a club's own."""

    title: Words
    """What is done and seen, in a line."""
    proves: Annotated[Items[Text], Field(min_length=1)]
    """What it proves: topics such as `balance`, or subjects such as `channel 3` or `channel *`."""
    before: Literal["power-up", "engine-run", "flight"] = "flight"
    """What may not happen until it is passed."""
    after: Items[TestName] = ()
    """The tests that must have been passed by then."""
    figures: dict[Text, Text] | None = None
    """The figures it asks for, each with an example."""
    every: Annotated[int, Whole(0, _LONGEST)] | None = None
    """For how many days it is good; without it, until what it proved changes."""
    second: bool = False
    """True where a second person must watch."""
    reason: Words | None = None
    """Why it is done."""


def read_club_tests(reader: EntryReader, section: str) -> tuple[KnownTest, ...]:
    """Read the tests of a hangar file; what is wrong with them is noted in ``reader``."""
    declared = reader.entries(ClubTest, reader.document.root.get(section), (section,))
    known = {test.name: test.step for test in KNOWN_TESTS}
    found: dict[str, KnownTest] = {}
    for name, test in declared.items():
        path = (section, name)
        if not TEST.fits(name):
            message = f"{seen_first(name)} cannot be the name of a test."
            reader.fault("bad-name", message, path, TEST.form, at_key=True)
        elif name in known:
            message = f"`{name}` is a test of the trade."
            reader.fault("given-twice", message, path, "Give this test another name.", at_key=True)
        else:
            found[name] = _test(reader, name, test)
    _check_order(reader, section, found, known)
    return tuple(_in_steps(found, known))


def _test(reader: EntryReader, name: str, test: ClubTest) -> KnownTest:
    return KnownTest(
        name=name,
        title=test.title,
        step=_FIRST_STEP[test.before],
        before=test.before,
        reason=test.reason or "the club asks for it",
        source="hangar file",
        proves=tuple(_chosen(reader, name, test)),
        after=test.after,
        figures=tuple(_figures(reader, name, test)),
        second=test.second,
        every=test.every,
        club=True,
    )


def _chosen(reader: EntryReader, name: str, test: ClubTest) -> Iterator[Chosen]:
    for index, words in enumerate(test.proves):
        if words in TOPICS:
            yield Chosen(topics=(words,))
        elif words in _ALONE or words.startswith(_BEGINNINGS):
            yield Chosen((words,))
        else:
            path = ("tests", name, "proves", index)
            message = f"{seen_first(words)} is no topic, and no subject begins so."
            known = (*TOPICS, *(f"{beginning}*" for beginning in _BEGINNINGS))
            reader.fault("unknown-word", message, path, did_you_mean(words, known))


def _figures(reader: EntryReader, name: str, test: ClubTest) -> Iterator[Figure]:
    for label, example in (test.figures or {}).items():
        kind = kind_of(example)
        if kind is None:
            path = ("tests", name, "figures", label)
            message = f"{seen_first(example)} is no quantity with its unit."
            reader.fault("wrong-quantity", message, path, "Give an example, such as `2 N.m`.")
        else:
            text = f"such as {example}"
            yield Figure(label, text, kind, 0.0, math.inf, required=True)


def _check_order(
    reader: EntryReader, section: str, found: Mapping[str, KnownTest], known: Mapping[str, int]
) -> None:
    for name, test in found.items():
        for index, earlier in enumerate(test.after):
            path = (section, name, "after", index)
            if earlier not in found and earlier not in known:
                message = f"{seen_first(earlier)} is not a test."
                near = did_you_mean(earlier, (*found, *known))
                reader.fault("unknown-word", message, path, near)
            elif name in _before(found, earlier):
                message = f"`{earlier}` comes after `{name}` itself."
                reader.fault("wrong-value", message, path, "Take one of the two out.")


def _before(found: Mapping[str, KnownTest], name: str) -> set[str]:
    """Return ``name`` and the club's tests that it rests on, directly or through others."""
    return set(spread((name,), lambda here: found[here].after if here in found else ()))


def _in_steps(found: Mapping[str, KnownTest], known: Mapping[str, int]) -> Iterator[KnownTest]:
    """Yield the tests, each at the step of the last one that it rests on or at its own."""
    for name, test in found.items():
        steps = [known[earlier] for earlier in _before(found, name) if earlier in known]
        yield test._replace(step=max([test.step, *steps]))
