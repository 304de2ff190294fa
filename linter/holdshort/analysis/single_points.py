"""Single failures that take control, gathered by what would have to be doubled."""

from collections.abc import Collection, Iterable, Mapping
from typing import Final, NamedTuple

from holdshort.analysis.control_functions import FLIGHT, PITCH, ROLL, SHUT_DOWN, Effector
from holdshort.analysis.failure_modes import DEVICE_KINDS, Failure, lower_end, upper_end
from holdshort.analysis.failures import FailureStudy, LowRail
from holdshort.analysis.supply_paths import packs_of

HEADS: Final = frozenset({"battery", "regulator", "distribution", "receiver", "hub", "gyro"})
"""Kinds of device that a cause is named after; leads, switches and the like count with them."""

_SUPPLIES: Final = frozenset({"battery", "regulator", "distribution"})

_HALVES: Final = (
    ("ailerons", frozenset({"aileron", "flaperon"}), PITCH),
    ("elevators", frozenset({"elevator"}), ROLL),
)


class Cause(NamedTuple):
    """One thing on which control functions hang alone, with what is in line with it.

    ``failures`` has the head first. ``rail`` is set where the wiring holds but the voltage does
    not.
    """

    failures: tuple[Failure, ...]
    lost: tuple[str, ...]
    rail: LowRail | None = None

    @property
    def head(self) -> Failure:
        """The failure that the cause is named after."""
        return self.failures[0]


class SharedHalves(NamedTuple):
    """Both halves of a pair of surfaces that fall with one thing."""

    name: str
    function: str
    halves: tuple[Effector, ...]
    cause: Cause


def single_points(
    study: FailureStudy, told: Collection[Failure] = frozenset()
) -> tuple[Cause, ...]:
    """Return what takes pitch, roll or engine shut-down alone, in the order of the failures.

    Functions that do not work while all is well do not count, and neither do the failures ``told``.
    """
    lost: dict[Failure, tuple[str, ...]] = {}
    rails: dict[Failure, LowRail] = {}
    packs = _radio_packs(study)
    for failure in study.failures:
        if failure in told:
            continue
        found = _lost_by(study, failure)
        if not found and failure.kind in _SUPPLIES and packs - {failure.name}:
            rail = study.rail_after(failure)
            found = _starved_by(study, failure, rail)
            rails[failure] = rail
        if found:
            lost[failure] = found
    return tuple(
        Cause(group, _all_lost(group, lost), rails.get(group[0]))
        for group in gathered(study, tuple(lost))
    )


def _lost_by(study: FailureStudy, failure: Failure) -> tuple[str, ...]:
    found: list[str] = [
        name
        for name in FLIGHT
        if name in study.functions
        and study.functions_at_all(name)
        and study.takes_function(failure, name)
    ]
    if SHUT_DOWN in study.functions and study.takes_function(failure, SHUT_DOWN):
        state = study.engine_after(failure).state
        if state == "dead" and study.functions_at_all(SHUT_DOWN):
            found.append(SHUT_DOWN)
    return tuple(found)


def _starved_by(study: FailureStudy, failure: Failure, rail: LowRail) -> tuple[str, ...]:
    """Return what a failure takes by the voltage that is left, where all was well before."""
    if not rail.starved or study.intact.rails[0].starved:
        return ()
    outcome = study.after((failure,))
    return tuple(name for name in FLIGHT if name in outcome.lost)


def _radio_packs(study: FailureStudy) -> set[str]:
    """Return the packs by which any receiver, hub or gyro lives."""
    return {
        pack
        for device in study.setup.of_kind("receiver", "hub", "gyro")
        for pack in packs_of(study.aircraft.wiring, device)
    }


def _all_lost(group: Iterable[Failure], lost: Mapping[Failure, tuple[str, ...]]) -> tuple[str, ...]:
    return tuple(
        name for name in (*FLIGHT, SHUT_DOWN) if any(name in lost[failure] for failure in group)
    )


def gathered(study: FailureStudy, failing: tuple[Failure, ...]) -> list[tuple[Failure, ...]]:
    """Return failures in groups, each behind the one that it is in line with.

    A lead counts with the box that it serves, switches, fuses and splitters with what feeds them, a
    link with the receiver that hears it; in each case where that is among the failures too.
    """
    by_device = {name: failure for failure in failing for name in failure.devices}
    groups: dict[Failure, list[Failure]] = {}
    for failure in failing:
        head = _head(study, failure, by_device, frozenset())
        groups.setdefault(head, [])
        if failure is not head:
            groups[head].append(failure)
    ordered = sorted(groups, key=failing.index)
    return [(head, *groups[head]) for head in ordered]


def _head(
    study: FailureStudy,
    failure: Failure,
    by_device: Mapping[str, Failure],
    above: frozenset[Failure],
) -> Failure:
    if failure.kind in HEADS or failure in above:
        return failure
    above = above | {failure}
    for other in _in_line(study, failure, by_device):
        if other not in above:
            return _head(study, other, by_device, above)
    return failure


def _in_line(
    study: FailureStudy, failure: Failure, by_device: Mapping[str, Failure]
) -> list[Failure]:
    """Return what else fails that ``failure`` counts with, best first."""
    if failure.kind == "link":
        hearing = [by_device.get(name) for name in study.setup.links[failure.name].heard_by]
        return [other for other in hearing if other is not None]
    if failure.kind == "lead":
        lower, upper = lower_end(failure.cables[0]), upper_end(failure.cables[0])
        if lower is None or study.setup.devices[lower.device].kind not in DEVICE_KINDS:
            return []
        ends = [lower, upper]
        found = [by_device[end.device] for end in ends if end and end.device in by_device]
        return sorted(found, key=lambda other: other.kind not in HEADS)
    if failure.kind == "plug":
        device = failure.name.partition(".")[0]
        return [by_device[device]] if device in by_device else []
    feeding = [
        upper.device
        for cable in study.setup.cables
        if (upper := upper_end(cable)) and (lower := lower_end(cable))
        if lower.device == failure.name and upper.device != failure.name
    ]
    return [by_device[name] for name in feeding if name in by_device]


def shared_halves(study: FailureStudy) -> tuple[SharedHalves, ...]:
    """Return what takes both ailerons, or both elevators, but leaves the other axis.

    What takes both axes stands at the root of everything and is no matter of halves.
    """
    found: list[SharedHalves] = []
    for name, parts, other in _HALVES:
        halves = tuple(half for half in study.effectors if half.part in parts and half.side)
        if {half.side for half in halves} != {"left", "right"}:
            continue
        if not all(study.effector_at_all(half) for half in halves):
            continue
        failing = tuple(
            failure
            for failure in study.stops_effector(halves[0])
            if _takes_halves_only(study, failure, halves, other)
        )
        function = ROLL if other == PITCH else PITCH
        for group in gathered(study, failing):
            taken = all(study.takes_function(failure, function) for failure in group[:1])
            cause = Cause(group, (function,) if taken else ())
            found.append(SharedHalves(name, function, halves, cause))
    return tuple(found)


def _takes_halves_only(
    study: FailureStudy, failure: Failure, halves: tuple[Effector, ...], other: str
) -> bool:
    if failure.kind == "link":
        return False
    if not all(study.takes_effector(failure, half) for half in halves):
        return False
    if other in study.functions and study.functions_at_all(other):
        return not study.takes_function(failure, other)
    return failure.kind in {"lead", "plug", "splitter"}
