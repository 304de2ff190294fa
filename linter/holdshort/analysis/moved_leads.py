"""Leads of which one end goes to another port in a second setup."""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from holdshort.setup import Cable, LeadEnd, Setup


class MovedLead(NamedTuple):
    """A lead that stays at one port and goes from another one to a third.

    ``stays`` is the end that is not touched, ``was`` the port to pull it from, ``now`` the port to
    put it into: each ``device.port``, or the device where it has one port alone.
    """

    stays: str
    was: str
    now: str
    lead_was: str
    """The stated subject that the lead was, and ``lead_now`` the one that it is."""
    lead_now: str


def moved_leads(old: Setup, new: Setup) -> tuple[MovedLead, ...]:
    """Return the leads that move, in the order of ``new``; devices are the same by their names.

    The end that is taken to stay is that at the device with the fewer ports, such as a servo: where
    no lead is found by that one, it is the other end.
    """
    gone, come = _Side(old), _Side(new)
    kept = gone.pairs & come.pairs
    before = [lead for lead in gone.leads if lead.pair not in kept]
    after = [lead for lead in come.leads if lead.pair not in kept]
    found: dict[int, MovedLead] = {}
    for flip in (False, True):
        for index, was, now in _by_kept_end(before, after, flip=flip):
            found[index] = MovedLead(
                was.shown(flip, 0), was.shown(flip, 1), now.shown(flip, 1), was.title, now.title
            )
            before.remove(was)
            after.remove(now)
    return tuple(found[index] for index in sorted(found))


class _Lead(NamedTuple):
    """A lead as its two ends, that of the device with the fewer ports first."""

    number: int
    ends: tuple[str, str]
    names: tuple[str, str]
    title: str

    @property
    def pair(self) -> frozenset[str]:
        return frozenset(self.ends)

    def shown(self, flip: bool, end: int) -> str:  # noqa: FBT001  - which end stays
        return self.names[1 - end if flip else end]


class _Side:
    def __init__(self, setup: Setup) -> None:
        self._setup = setup
        self.leads = [self._lead(cable) for cable in setup.cables]
        self.pairs = {lead.pair for lead in self.leads}

    def _lead(self, cable: Cable) -> _Lead:
        # Of two devices with as many ports, the one that the lead goes to counts first.
        first, second = sorted((cable.end, cable.start), key=self._ports)
        return _Lead(
            cable.index,
            (_address(first), _address(second)),
            (self._name(first), self._name(second)),
            f"lead {self._name(cable.start)} to {self._name(cable.end)}",
        )

    def _ports(self, end: LeadEnd) -> int:
        device = self._setup.devices.get(end.device)
        return len(device.ports) if device else 0

    def _name(self, end: LeadEnd) -> str:
        alone = end.port is not None and self._ports(end) == 1
        return end.device if alone else _address(end)


def _address(end: LeadEnd) -> str:
    return end.port.address if end.port is not None else end.written


def _by_kept_end(
    before: Iterable[_Lead], after: Iterable[_Lead], *, flip: bool
) -> Iterator[tuple[int, _Lead, _Lead]]:
    """Yield the leads of both sides that alone keep one end."""
    one, other = _alone(before, flip=flip), _alone(after, flip=flip)
    for end, was in one.items():
        if end in other:
            yield other[end].number, was, other[end]


def _alone(leads: Iterable[_Lead], *, flip: bool) -> dict[str, _Lead]:
    found: dict[str, list[_Lead]] = {}
    for lead in leads:
        found.setdefault(lead.ends[1 if flip else 0], []).append(lead)
    return {end: several[0] for end, several in found.items() if len(several) == 1}
