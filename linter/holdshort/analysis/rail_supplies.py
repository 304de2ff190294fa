"""Rails as wired: which supplies meet on one rail, and which devices no supply reaches.

Both follow from the copper alone; no voltage is needed.
"""

from collections.abc import Iterator
from typing import Final, NamedTuple

from holdshort.analysis.spreading import spread
from holdshort.analysis.wiring import Node, Wiring, is_regulating, is_source, nodes_of
from holdshort.setup import Cable, Fitted

NEEDS_POWER: Final = frozenset(
    {
        "regulator", "distribution", "receiver", "hub", "gyro", "servo", "engine-controller",
        "pump", "valve", "gear-controller", "brake", "lights", "sensor", "load",
    }
)  # fmt: skip
"""Kinds that do nothing without power."""

_UPSTREAM: Final = (
    "regulator", "distribution", "switch", "fuse", "splitter", "receiver", "hub", "gyro",
    "engine-controller", "gear-controller",
)  # fmt: skip
"""Kinds in the order in which power passes them: a dead group is named after the first."""


class RailSupplies(NamedTuple):
    """One rail and the packs and regulators on it, in the order of the file."""

    sources: tuple[Fitted, ...]
    nodes: frozenset[Node]


class DeadGroup(NamedTuple):
    """Devices that hang together and that no supply reaches.

    ``head`` is the one nearest to where power should come in; ``gap`` is a lead with an unknown
    end that might bring power; ``untold`` is a port of a device with power of its own on which the
    group hangs, where nothing says whether that port gives power.
    """

    head: Fitted
    devices: tuple[Fitted, ...]
    gap: Cable | None
    untold: Node | None


def rail_supplies(wiring: Wiring) -> Iterator[RailSupplies]:
    """Yield each rail with a supply on it.

    A regulator with several outputs is one supply; an isolated input parts two rails.
    """
    devices = wiring.setup.devices
    done: set[Node] = set()
    for device in devices.values():
        node = _output(device)
        if node is None or node in done:
            continue
        rail = wiring.rail(node)
        done.update(rail)
        names = {other.device for other in rail if is_source(wiring.setup, other)}
        sources = tuple(devices[name] for name in devices if name in names)
        yield RailSupplies(sources, frozenset(rail))


def joining_leads(wiring: Wiring, sources: tuple[Fitted, ...]) -> tuple[Cable, ...]:
    """Return the leads that join the last of ``sources`` on one rail to the nearest other one.

    In order, from the last source on.
    """
    goals = {_output(source) for source in sources[:-1]}
    start = _output(sources[-1])
    came: dict[Node, tuple[Node, Cable | None] | None] = {}
    queue: list[Node] = []
    if start is not None:
        came[start] = None
        queue.append(start)
    for node in queue:
        if node in goals:
            return _way_back(came, node)
        for other, joint in wiring.joints(node):
            if other not in came:
                came[other] = (node, joint.cable)
                queue.append(other)
    return ()


def dead_groups(wiring: Wiring) -> tuple[DeadGroup, ...]:
    """Return the devices that need power, have leads and are reached by no supply, in groups."""
    dead = [device for device in wired_loads(wiring) if not is_supplied(wiring, device)]
    groups: list[DeadGroup] = []
    told: set[str] = set()
    for device in dead:
        if device.name in told:
            continue
        nodes = _hanging_together(wiring, device)
        names = {node.device for node in nodes}
        members = tuple(other for other in dead if other.name in names)
        told.update(other.name for other in members)
        groups.append(_dead_group(wiring, nodes, members))
    return tuple(groups)


def wired_loads(wiring: Wiring) -> tuple[Fitted, ...]:
    """Return the devices that need power and have at least one lead."""
    setup = wiring.setup
    wired = {end.device for cable in setup.cables for end in (cable.start, cable.end)}
    return tuple(
        device
        for device in setup.devices.values()
        if device.kind in NEEDS_POWER and device.name in wired
    )


def is_supplied(wiring: Wiring, device: Fitted) -> bool:
    """True where a pack or a regulator that is itself supplied feeds ``device``."""
    return any(_has_supply(wiring, node) for node in nodes_of(device))


def _dead_group(wiring: Wiring, nodes: set[Node], members: tuple[Fitted, ...]) -> DeadGroup:
    devices = wiring.setup.devices
    names = {node.device for node in nodes}
    own = {member.name for member in members}
    passing = [
        device
        for name, device in devices.items()
        if name in own or (name in names and device.kind not in NEEDS_POWER)
    ]
    gaps = (cable for cable in wiring.gaps if names & {cable.start.device, cable.end.device})
    untold = (
        node
        for node in nodes
        if node.device not in own and devices[node.device].kind in NEEDS_POWER
    )
    return DeadGroup(min(passing, key=_rank), members, next(gaps, None), min(untold, default=None))


def _rank(device: Fitted) -> int:
    return _UPSTREAM.index(device.kind) if device.kind in _UPSTREAM else len(_UPSTREAM)


def _has_supply(wiring: Wiring, node: Node) -> bool:
    supply = wiring.supply(node)
    return bool(supply.feeds or supply.unknown)


def _hanging_together(wiring: Wiring, device: Fitted) -> set[Node]:
    """Return the nodes without supply that power would join to ``device``, either way round."""

    def unfed(node: Node) -> Iterator[Node]:
        return (other for other in wiring.beside(node) if not _has_supply(wiring, other))

    return set(spread(nodes_of(device), unfed))


def _output(device: Fitted) -> Node | None:
    """Return the node on which a pack or a regulator puts its voltage, or None."""
    if device.kind == "battery":
        return Node(device.name, "rail")
    return Node(device.name, "out") if is_regulating(device) else None


def _way_back(came: dict[Node, tuple[Node, Cable | None] | None], end: Node) -> tuple[Cable, ...]:
    path: list[Cable] = []
    step = came[end]
    while step is not None:
        node, cable = step
        if cable is not None:
            path.append(cable)
        step = came[node]
    return tuple(reversed(path))
