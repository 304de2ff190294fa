"""Two setups side by side, in the builder's terms: what changed, what moves, what falls.

Each way round it says the same: what has come from the one side has gone from the other.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cached_property
from typing import NamedTuple

from holdshort.analysis.aircraft import Aircraft
from holdshort.analysis.canonical import entries_of
from holdshort.analysis.drives import spare
from holdshort.analysis.known_tests import KnownTest
from holdshort.analysis.moved_leads import MovedLead, moved_leads
from holdshort.analysis.proof import Evidence, Judged, changes_between
from holdshort.analysis.redo import must_be_done, must_be_done_for
from holdshort.analysis.renamed import Renames, renamed, renames
from holdshort.analysis.stated import TOPICS, Facts, is_setting, stated
from holdshort.setup import ChannelEntry, Place, Setup
from holdshort.setup.evidence import SignOff


class AspectChange(NamedTuple):
    """One aspect that differs; ``was`` is empty where it has come, ``now`` where it has gone."""

    aspect: str
    was: str
    now: str

    @property
    def is_setting(self) -> bool:
        """False for what tells only when, from where or how well something was set."""
        return is_setting(self.aspect)


class SubjectChange(NamedTuple):
    """One subject that differs, with all aspects that do.

    ``came`` is true where the second setup has it alone, ``went`` where the first one has.
    """

    topic: str
    name: str
    aspects: tuple[AspectChange, ...]
    came: bool = False
    went: bool = False

    @property
    def is_setting(self) -> bool:
        """True where some of it is a setting."""
        return self.came or self.went or any(one.is_setting for one in self.aspects)


class CopiedChannel(NamedTuple):
    """A channel that came from elsewhere: its number, what it drives, and the aircraft told."""

    number: int
    drives: tuple[str, ...]
    origin: str


class Fallen(NamedTuple):
    """A sign-off that counted in the first setup and does not in the second.

    ``by_name_only`` is true where nothing but the names of devices or parts makes it void.
    """

    before: Judged
    now: Judged
    by_name_only: bool = False


class Compared:
    """Two setups side by side; nothing is worked out until it is asked for."""

    def __init__(self, old: Aircraft, new: Aircraft, *, same_aircraft: bool = True) -> None:
        """Hold both; ``same_aircraft`` is true where they are one aircraft at two times."""
        self.old = old
        self.new = new
        self.same_aircraft = same_aircraft

    @cached_property
    def renames(self) -> Renames:
        """Devices and parts that only go by another name in the second setup."""
        return renames(self.old.setup, self.new.setup)

    @cached_property
    def old_setup(self) -> Setup:
        """The first setup, told in the names of the second."""
        return renamed(self.old.setup, self.renames)

    @cached_property
    def changes(self) -> tuple[SubjectChange, ...]:
        """What differs, topic by topic in the order in which an aircraft is gone through."""
        was = stated(Aircraft(self.old_setup))
        found = facts_between(was, stated(self.new))
        return tuple(sorted(found, key=_topic))

    @cached_property
    def moved_leads(self) -> tuple[MovedLead, ...]:
        """Leads of which one end goes to another port."""
        return moved_leads(self.old_setup, self.new.setup)

    @cached_property
    def leftovers(self) -> tuple[CopiedChannel, ...]:
        """Channels as they were, which now drive nothing that is fitted, and drove something."""
        return tuple(self._leftovers())

    def _leftovers(self) -> Iterator[CopiedChannel]:
        before = self.old.setup.channels
        for number, entry in self.new.setup.channels.items():
            if number not in before or not _same_channel(before[number], entry):
                continue
            if _drives_nothing(self.new, entry) and not _drives_nothing(self.old, before[number]):
                yield _copied(entry)

    @cached_property
    def unconfirmed(self) -> tuple[CopiedChannel, ...]:
        """Channels with values copied and not confirmed that were not so before."""
        before = self.old.setup.channels
        return tuple(
            _copied(entry)
            for number, entry in self.new.setup.channels.items()
            if _is_unconfirmed(entry) and not (number in before and _is_unconfirmed(before[number]))
        )

    # -- sign-offs -------------------------------------------------------------------------------

    @cached_property
    def carried(self) -> Evidence:
        """What the first setup's sign-offs are worth on the second one."""
        return self._evidence(self.new.setup, self.old.setup)

    @cached_property
    def all_signed(self) -> Evidence:
        """What both setups' sign-offs together are worth on the second one."""
        if not self.same_aircraft:
            return self.new.evidence
        return self._evidence(self.new.setup, self.old.setup, self.new.setup)

    def _evidence(self, setup: Setup, *signed: Setup) -> Evidence:
        signs: list[tuple[Place, SignOff]] = []
        for one in signed:
            known = [sign_off for _, sign_off in signs]
            signs += [entry for entry in one.sign_offs if entry[1] not in known]
        held = replace(setup, sign_offs=tuple(signs))
        return Aircraft(held, self.new.limits, self.new.today, _own_tests(self.new)).evidence

    @cached_property
    def fallen(self) -> tuple[Fallen, ...]:
        """The sign-offs that counted and do not any more; none between two aircraft."""
        if not self.same_aircraft:
            return ()
        return tuple(self._fallen())

    def _fallen(self) -> Iterator[Fallen]:
        names = Aircraft(self.old_setup, tests=_own_tests(self.old)).evidence
        for before in self.old.evidence.standings:
            name = before.test.name
            if not before.standing.counts or name not in self.carried.tests:
                continue
            now = self.carried.standing(name)
            if not now.standing.counts:
                only = bool(now.changes) and not changes_between(
                    names.proves(name), self.carried.proves(name)
                )
                yield Fallen(before, now, only)

    @cached_property
    def no_longer_asked(self) -> Mapping[str, str]:
        """Tests that counted and are not for the second setup, each with why."""
        if not self.same_aircraft:
            return {}
        counted = [one.test.name for one in self.old.evidence.standings if one.standing.counts]
        left_out = self.carried.left_out
        return {name: left_out[name] for name in counted if name in left_out}

    @cached_property
    def again(self) -> tuple[Judged, ...]:
        """The shortest list of tests after which all that fell counts again, in their order.

        Between two aircraft it is all that the second one has to do.
        """
        if not self.same_aircraft:
            return must_be_done(self.new.evidence)
        return must_be_done_for(self.all_signed, [one.now.test.name for one in self.fallen])


def facts_between(was: Facts, now: Facts) -> tuple[SubjectChange, ...]:
    """Return the subjects that differ: those of both in the order of ``was``, then those come."""
    return tuple(_facts_between(was, now))


def _facts_between(was: Facts, now: Facts) -> Iterator[SubjectChange]:
    after = {subject.name: (subject.topic, aspects) for subject, aspects in now.items()}
    for subject, aspects in was.items():
        if subject.name not in after:
            yield SubjectChange(
                subject.topic, subject.name, _aspects_between(aspects, {}), went=True
            )
            continue
        topic, then = after[subject.name]
        changed = _aspects_between(aspects, then)
        if changed:
            yield SubjectChange(topic, subject.name, changed)
    before = {subject.name for subject in was}
    for subject, aspects in now.items():
        if subject.name not in before:
            yield SubjectChange(
                subject.topic, subject.name, _aspects_between({}, aspects), came=True
            )


def _aspects_between(was: Mapping[str, str], now: Mapping[str, str]) -> tuple[AspectChange, ...]:
    found = (
        AspectChange(aspect, was.get(aspect, ""), now.get(aspect, ""))
        for aspect in dict.fromkeys([*was, *now])
    )
    return tuple(one for one in found if one.was != one.now)


def _topic(change: SubjectChange) -> int:
    return TOPICS.index(change.topic)


def _own_tests(aircraft: Aircraft) -> tuple[KnownTest, ...]:
    return tuple(test for test in aircraft.known_tests if test.club)


_NOT_OF_THE_LAYOUT = ("changed", "note", "copied_from", "confirmed")


def _same_channel(one: ChannelEntry, other: ChannelEntry) -> bool:
    """Tell whether two channels drive the same and are set the same."""
    return dict(entries_of(one.channel, _NOT_OF_THE_LAYOUT)) == dict(
        entries_of(other.channel, _NOT_OF_THE_LAYOUT)
    )


def _drives_nothing(aircraft: Aircraft, entry: ChannelEntry) -> bool:
    """Tell whether a channel is known to reach nothing, and nothing it is for is fitted."""
    drives = aircraft.drives
    fitted = any(drives.fitted_for(words) for words in entry.channel.drives)
    if spare(entry) or fitted or drives.reached_by(entry.number):
        return False
    return drives.lacking(entry) is None


def _is_unconfirmed(entry: ChannelEntry) -> bool:
    return entry.channel.copied_from is not None and entry.channel.confirmed is None


def _copied(entry: ChannelEntry) -> CopiedChannel:
    return CopiedChannel(entry.number, tuple(entry.channel.drives), entry.channel.copied_from or "")
