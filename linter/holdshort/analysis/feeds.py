"""By which leads a box takes its power, and which single lead or plug it depends on."""

from collections.abc import Set as AbstractSet
from typing import Final, NamedTuple

from holdshort.analysis.signals import GIVERS, Signals
from holdshort.analysis.wiring import Node, Wiring, is_source
from holdshort.setup import Cable, Fitted, Port, Setup


class BoxFeeds(NamedTuple):
    """How one box takes its power.

    ``leads`` are the leads into the box that can power it alone; ``single_leads`` and
    ``single_ports`` are those (anywhere up to where power first branches) without which it is
    dead; ``fighting`` are leads among ``leads`` that join two signal outputs.
    """

    box: Fitted
    powered: bool
    leads: tuple[Cable, ...]
    single_leads: tuple[Cable, ...]
    single_ports: tuple[Port, ...]
    fighting: tuple[Cable, ...]
    signal_only: tuple[Cable, ...]
    free_ports: tuple[str, ...]

    @property
    def one_neighbour(self) -> str | None:
        """The one device that all the leads come from, or None where they come from several."""
        others = {_other_end(lead, self.box.name).device for lead in self.leads}
        return others.pop() if len(others) == 1 else None


def box_feeds(setup: Setup, wiring: Wiring, box: Fitted) -> BoxFeeds:
    """Return how ``box`` takes its power."""
    node = Node(box.name, "rail")
    roots = supply_roots(setup, wiring)
    touching = _touching(setup, box.name)
    power = [cable for cable in touching if cable.carries_power]
    leads = tuple(lead for lead in power if _feeds_alone(wiring, roots, node, lead, power))
    powered = _is_powered(wiring, roots, node)
    cables = [cable for cable in wiring_cables(wiring) if powered]
    return BoxFeeds(
        box=box,
        powered=powered,
        leads=leads,
        single_leads=tuple(
            cable for cable in cables if not _is_powered(wiring, roots, node, {cable.index})
        ),
        single_ports=tuple(
            port
            for port in _shared_ports(cables)
            if not _is_powered(wiring, roots, node, without_port=port.address)
        ),
        fighting=tuple(lead for lead in leads if _fights(lead)),
        signal_only=tuple(cable for cable in touching if _has_no_supply_wire(cable)),
        free_ports=_free_ports(box, touching),
    )


def shared_carriers(setup: Setup, signals: Signals) -> tuple[Fitted, ...]:
    """Return the boxes that a second receiver is meant to keep alive.

    Those are hubs and gyros with servos on them, and receivers with servos that also take another
    receiver's signal. Empty where fewer than two receivers are fitted.
    """
    if len(setup.of_kind("receiver")) < 2:  # noqa: PLR2004  - two make a pair
        return ()
    return tuple(
        box
        for box in signals.carriers()
        if box.kind != "receiver" or len(signals.receivers_heard(box.name)) > 1
    )


def wiring_cables(wiring: Wiring) -> list[Cable]:
    """Return the leads whose supply and ground wires join two known ports."""
    return [joint.cable for joint in wiring.copper if joint.cable is not None]


def _touching(setup: Setup, name: str) -> list[Cable]:
    return [cable for cable in setup.cables if name in {cable.start.device, cable.end.device}]


def supply_roots(setup: Setup, wiring: Wiring) -> frozenset[Node]:
    """Return the nodes from which power can first take more than one way.

    Those are the packs and the regulators' outputs, and what follows them through a single lead:
    a pack's only lead to its switch or splitter fails as the pack does.
    """
    queue = [node for node in wiring.nodes if is_source(setup, node)]
    roots: set[Node] = set()
    for node in queue:
        if node in roots:
            continue
        roots.add(node)
        queue += [way.end for way in wiring.one_way if way.start == node]
        joints = wiring.joints(node)
        queue += [other for other, joint in joints if joint.cable is None]
        onward = [other for other, joint in joints if joint.cable and other not in roots]
        if len(onward) == 1 and setup.devices[onward[0].device].kind in _PASSING:
            queue += onward
    return frozenset(roots)


_PASSING: Final = frozenset({"splitter", "switch", "fuse", "distribution"})


def _is_powered(
    wiring: Wiring,
    roots: frozenset[Node],
    node: Node,
    without: AbstractSet[int] = frozenset(),
    without_port: str = "",
) -> bool:
    reached = wiring.upstream(node, without_cables=without, without_port=without_port)
    return any(source in roots for source in reached)


def _feeds_alone(
    wiring: Wiring, roots: frozenset[Node], node: Node, lead: Cable, power: list[Cable]
) -> bool:
    others = {cable.index for cable in power if cable is not lead}
    return _is_powered(wiring, roots, node, others)


def _shared_ports(cables: list[Cable]) -> list[Port]:
    """Return the ports on which more than one power lead ends."""
    count: dict[str, list[Port]] = {}
    for cable in cables:
        for end in (cable.start, cable.end):
            if end.port is not None:
                count.setdefault(end.port.address, []).append(end.port)
    return [ports[0] for ports in count.values() if len(ports) > 1]


def _has_no_supply_wire(cable: Cable) -> bool:
    """True for a lead that is declared to carry no power."""
    return cable.lead.carries is not None and not cable.carries_power


def _fights(lead: Cable) -> bool:
    start, end = lead.start.port, lead.end.port
    if start is None or end is None or not lead.carries_signal:
        return False
    return start.does in GIVERS and end.does in GIVERS


def _other_end(lead: Cable, box: str) -> Port:
    start, end = lead.start.port, lead.end.port
    assert start is not None  # noqa: S101  - feeding leads have both ports
    assert end is not None  # noqa: S101
    return end if start.device == box else start


def _free_ports(box: Fitted, touching: list[Cable]) -> tuple[str, ...]:
    """Return the powered ports on which no lead ends, power-only ones first."""
    used = {
        end.port.address
        for cable in touching
        for end in (cable.start, cable.end)
        if end.port is not None
    }
    free = [port for port in box.ports.values() if port.powered and port.address not in used]
    return tuple(port.address for port in sorted(free, key=lambda port: port.does != "supply"))
