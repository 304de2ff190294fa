"""By which packs a device lives, and what hangs on one lead alone."""

from collections.abc import Iterator
from collections.abc import Set as AbstractSet

from holdshort.analysis.spreading import spread
from holdshort.analysis.wiring import Node, Wiring, is_regulating, nodes_of
from holdshort.setup import Cable, Fitted, Setup


def packs_behind(
    wiring: Wiring, start: Node, *, without_cables: AbstractSet[int] = frozenset()
) -> tuple[str, ...]:
    """Return the packs whose power can reach ``start``, through regulators too, nearest first.

    ``without_cables`` are the indices of leads that are unplugged.
    """
    packs: dict[str, None] = {}
    seen: set[Node] = set()
    queue = [start]
    for node in queue:
        if node in seen:
            continue
        for source in wiring.upstream(node, without_cables=without_cables):
            if source in seen:
                continue
            seen.add(source)
            device = wiring.setup.devices[source.device]
            if device.kind == "battery":
                packs[device.name] = None
            elif source.rail == "out" and is_regulating(device):
                queue.append(Node(device.name, "in"))
    return tuple(packs)


def packs_of(
    wiring: Wiring, device: Fitted, *, without_cables: AbstractSet[int] = frozenset()
) -> tuple[str, ...]:
    """Return the packs that ``device`` lives by."""
    return packs_behind(wiring, next(nodes_of(device)), without_cables=without_cables)


def leads_of(setup: Setup, device: str) -> frozenset[int]:
    """Return the indices of all leads that end at ``device``: unplugged, it is out of circuit."""
    return frozenset(
        cable.index for cable in setup.cables if device in {cable.start.device, cable.end.device}
    )


def beyond(wiring: Wiring, cable: Cable) -> frozenset[Node] | None:
    """Return the nodes that take their power through ``cable`` alone.

    None where it shares its current with another path, has packs on both sides, or is no copper.
    """
    joint = next((joint for joint in wiring.copper if joint.cable is cable), None)
    if joint is None:
        return None
    for near, far in ((joint.start, joint.end), (joint.end, joint.start)):
        side = _without(wiring, far, cable, near)
        if side is None:
            return None
        if not _has_pack(wiring, side):
            return side
    return None


def fused_leads(wiring: Wiring, fuse: Fitted) -> tuple[Cable, ...]:
    """Return the leads that ``fuse`` protects: from its outlet on, through switches and splitters.

    They end at the first device of another kind, and at any further fuse.
    """
    found: dict[int, Cable] = {}
    queue = [Node(fuse.name, "out")]
    seen = {*queue, Node(fuse.name, "in")}
    for node in queue:
        for other, joint in wiring.joints(node):
            if other in seen:
                continue
            if joint.cable is not None:
                found[joint.cable.index] = joint.cable
            seen.add(other)
            if wiring.setup.devices[other.device].kind in {"switch", "splitter"}:
                queue.append(other)
    return tuple(found.values())


def _has_pack(wiring: Wiring, nodes: frozenset[Node]) -> bool:
    return any(wiring.setup.devices[node.device].kind == "battery" for node in nodes)


def _without(wiring: Wiring, start: Node, lead: Cable, other: Node) -> frozenset[Node] | None:
    """Return what hangs together with ``start`` without a lead; None where ``other`` does."""

    def beside(node: Node) -> Iterator[Node]:
        return (after for after, cable in wiring.ways.get(node, ()) if cable is not lead)

    found: set[Node] = set()
    for node in spread((start,), beside):
        if node == other:
            return None
        found.add(node)
    return frozenset(found)
