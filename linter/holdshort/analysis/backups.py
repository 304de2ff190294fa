"""Main receivers and their back-ups: who backs up whom, and what both hang on."""

from collections.abc import Container, Iterator
from typing import Final, NamedTuple

from holdshort.analysis.failure_modes import Failure, lower_end
from holdshort.analysis.failures import FailureStudy
from holdshort.analysis.signals import Signals
from holdshort.analysis.single_points import gathered
from holdshort.analysis.supply_paths import packs_of
from holdshort.analysis.wiring import Node, is_regulating, node_of
from holdshort.setup import Cable, Fitted, Setup

SUPPLY_KINDS: Final = frozenset({"battery", "regulator", "distribution"})
_IN_LINE: Final = frozenset({"lead", "plug", "splitter", "switch", "fuse"})


class BackUp(NamedTuple):
    """A main receiver and the one behind it.

    ``bus`` is the lead that takes the back-up's bus to the main one, and ``meeting`` the hub or
    gyro that hears both; None where there is none. ``declared`` is True where the back-up says
    whom it backs up.
    """

    main: Fitted
    spare: Fitted
    bus: Cable | None
    meeting: Fitted | None
    declared: bool


class SharedSupply(NamedTuple):
    """What a back-up has in common with its main receiver.

    ``supplies`` are packs and regulators that feed both although the radio has others; ``leads``
    are leads, plugs, splitters and the like behind the supplies through which both are fed;
    ``links`` are the only ones that either hears. ``through_main`` is True where the back-up is
    dead when the main one fails.
    """

    pair: BackUp
    supplies: tuple[Failure, ...]
    leads: tuple[Failure, ...]
    links: tuple[Failure, ...]
    through_main: bool


def back_ups(setup: Setup, signals: Signals) -> tuple[BackUp, ...]:
    """Return the pairs of main receiver and back-up, as declared or else as wired.

    Wired, a receiver whose bus goes into another one backs that up; of two that meet in a hub or
    gyro, the later one in the file does.
    """
    found: dict[tuple[str, str], BackUp] = {}
    for pair in (*_declared(setup, signals), *_wired(setup, signals)):
        key = (pair.main.name, pair.spare.name)
        if key not in found and key[::-1] not in found:
            found[key] = pair
    return tuple(found.values())


def _declared(setup: Setup, signals: Signals) -> Iterator[BackUp]:
    for spare in setup.of_kind("receiver"):
        main = setup.devices.get(spare.device.backs_up or "")
        if main is not None and main.kind == "receiver" and main is not spare:
            bus = bus_between(signals, spare, main)
            yield BackUp(main, spare, bus, _meeting(setup, signals, main, spare), declared=True)


def _wired(setup: Setup, signals: Signals) -> Iterator[BackUp]:
    receivers = setup.of_kind("receiver")
    for spare in receivers:
        if spare.device.backs_up is not None:
            continue
        for main in receivers:
            bus = bus_between(signals, spare, main) if main is not spare else None
            if bus is not None:
                meeting = _meeting(setup, signals, main, spare)
                yield BackUp(main, spare, bus, meeting, declared=False)
    for at, main in enumerate(receivers):
        for spare in receivers[at + 1 :]:
            meeting = _meeting(setup, signals, main, spare)
            if meeting is not None:
                yield BackUp(main, spare, None, meeting, declared=False)


def bus_between(signals: Signals, start: Fitted, end: Fitted) -> Cable | None:
    """Return the lead that takes a bus from one box straight to another, or None."""
    for giver, taker, cable in signals.ways:
        if (giver.device, taker.device) == (start.name, end.name) and giver.does == "bus-out":
            return cable
    return None


def _meeting(setup: Setup, signals: Signals, main: Fitted, spare: Fitted) -> Fitted | None:
    """Return the hub or gyro that hears both receivers, each on an input of its own."""
    for box in setup.of_kind("hub", "gyro"):
        direct = {start.device for start, end, _ in signals.ways if end.device == box.name}
        if {main.name, spare.name} <= direct:
            return box
    return None


def shared_supply(study: FailureStudy, pair: BackUp) -> SharedSupply:
    """Return what a back-up and its main receiver both hang on."""
    own = {pair.main.name, pair.spare.name}
    main_stops = set(study.stops_device(pair.main))
    spare_stops = study.stops_device(pair.spare)
    both = [failure for failure in spare_stops if failure in main_stops]
    through_main = any(pair.main.name in failure.devices for failure in spare_stops)
    supplies = tuple(
        failure
        for failure in both
        if failure.kind in SUPPLY_KINDS and _has_another(study, failure, both)
    )
    behind = _behind_supplies(study, both, pair.main)
    leads = tuple(failure for failure in behind if not own & set(failure.devices))
    return SharedSupply(pair, supplies, leads, _shared_links(study, pair), through_main)


def _has_another(study: FailureStudy, failure: Failure, both: list[Failure]) -> bool:
    """True where the radio and servos have another supply of that sort that is not shared."""
    shared = {other.name for other in both}
    wiring = study.aircraft.wiring
    if failure.kind == "battery":
        devices = study.setup.of_kind("receiver", "hub", "gyro", "servo")
        packs = {pack for device in devices for pack in packs_of(wiring, device)}
        return bool(packs - shared)
    fed = {
        source.device
        for device in study.setup.of_kind("receiver", "hub", "gyro", "servo")
        for source in wiring.upstream(Node(device.name, "rail"))
        if source.rail == "out" and is_regulating(study.setup.devices[source.device])
    }
    return bool(fed - shared)


def _behind_supplies(study: FailureStudy, both: list[Failure], main: Fitted) -> list[Failure]:
    """Return the failures on the rail of the receiver, past what is in line with a pack."""
    rail = study.aircraft.wiring.upstream(Node(main.name, "rail"))
    return [
        failure
        for head, *others in gathered(study, tuple(both))
        if head.kind != "battery"
        for failure in (head, *others)
        if failure.kind in _IN_LINE and _stands(study.setup, failure, rail)
    ]


def _stands(setup: Setup, failure: Failure, rail: Container[Node]) -> bool:
    ends = [lower_end(cable) for cable in failure.cables]
    nodes = [node_of(setup.devices[end.device], end) for end in ends if end is not None]
    nodes += [node for name in failure.devices for node in _insides(setup.devices[name])]
    return any(node in rail for node in nodes)


def _insides(device: Fitted) -> Iterator[Node]:
    yield from (node_of(device, port) for port in device.ports.values())


def _shared_links(study: FailureStudy, pair: BackUp) -> tuple[Failure, ...]:
    heard = study.graph.hears(pair.main.name)
    if len(heard) != 1 or study.graph.hears(pair.spare.name) != heard:
        return ()
    return tuple(
        failure for failure in study.failures if failure.kind == "link" and failure.name == heard[0]
    )
