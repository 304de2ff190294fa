"""The copper of an aircraft: which ports stand on one rail, and what can feed it.

A node is one rail inside one device. Copper joins nodes both ways; a diode or isolated input
passes power one way; a regulator makes a voltage of its own on its output side.
"""

from collections.abc import Iterator, Mapping
from collections.abc import Set as AbstractSet
from functools import cached_property
from typing import Final, NamedTuple

from holdshort.analysis.cells import full_voltage
from holdshort.analysis.facts import Because, Need
from holdshort.analysis.spreading import spread
from holdshort.setup import Cable, Fitted, Port, Setup
from holdshort.setup.parts import (
    REGULATING_KINDS,
    THROUGH_KINDS,
    Battery,
    Distribution,
    EngineController,
    Regulator,
    VoltageRange,
)


class Node(NamedTuple):
    """One rail inside one device."""

    device: str
    rail: str


class Copper(NamedTuple):
    """A conducting joint between two nodes: by a lead, or inside a device (``cable`` is None)."""

    start: Node
    end: Node
    cable: Cable | None
    ports: tuple[Port, ...]


class OneWay(NamedTuple):
    """An isolated input: power passes from ``start`` to ``end`` only."""

    start: Node
    end: Node


class Feed(NamedTuple):
    """A source that can put a voltage on a rail: a pack, or a regulator's output."""

    device: str
    voltage: float
    """The highest it gives, in volts."""
    words: str
    """How messages name it, with its voltage: "`regulator` is set to 8.4 V"."""
    because: Because


class Supply(NamedTuple):
    """What feeds one rail: the known feeds, and what is missing to know the others."""

    feeds: tuple[Feed, ...]
    unknown: tuple[Need, ...]

    @property
    def highest(self) -> Feed | None:
        """The feed with the highest voltage, or None where none is known."""
        return max(self.feeds, key=lambda feed: feed.voltage, default=None)


class Wiring:
    """The power wiring of a setup.

    ``gaps`` are leads that end at no known port: what hangs on them is unknown.
    """

    def __init__(self, setup: Setup) -> None:
        """Build the wiring of ``setup`` from its leads and the insides of its devices."""
        self.setup = setup
        self.copper: list[Copper] = []
        self.one_way: list[OneWay] = []
        self.gaps: list[Cable] = []
        for device in setup.devices.values():
            self._inside(device)
        for cable in setup.cables:
            self._lead(cable)
        self._neighbours = self._both_ways()
        self._supplies: dict[Node, Supply] = {}
        self._rails: dict[Node, dict[Node, None]] = {}
        self._upstream: dict[Node, dict[Node, None]] = {}
        self._networks: dict[Node, frozenset[Node]] = {}

    def _inside(self, device: Fitted) -> None:
        if device.kind in THROUGH_KINDS:
            start, end = Node(device.name, "in"), Node(device.name, "out")
            self.copper.append(Copper(start, end, None, ()))
        for port in device.ports.values():
            if port.isolated and port.powered:
                rail = Node(device.name, "in" if is_regulating(device) else "rail")
                self.one_way.append(OneWay(node_of(device, port), rail))

    def _lead(self, cable: Cable) -> None:
        start, end = cable.start.port, cable.end.port
        if start is None or end is None:
            self.gaps.append(cable)
            return
        if cable.carries_power and start.powered and end.powered:
            nodes = [node_of(self.setup.devices[port.device], port) for port in (start, end)]
            if nodes[0] != nodes[1]:  # from a rail back to itself no current flows
                self.copper.append(Copper(nodes[0], nodes[1], cable, (start, end)))

    def _both_ways(self) -> dict[Node, list[tuple[Node, Copper]]]:
        found: dict[Node, list[tuple[Node, Copper]]] = {}
        for joint in self.copper:
            found.setdefault(joint.start, []).append((joint.end, joint))
            found.setdefault(joint.end, []).append((joint.start, joint))
        return found

    @property
    def nodes(self) -> list[Node]:
        """Every node that a lead or a joint inside a device touches."""
        return list(self._neighbours)

    def joints(self, node: Node) -> list[tuple[Node, Copper]]:
        """Return the nodes next to ``node`` with the copper that joins them."""
        return self._neighbours.get(node, [])

    def rail(
        self,
        start: Node,
        *,
        without_cables: AbstractSet[int] = frozenset(),
        without_port: str = "",
    ) -> Mapping[Node, None]:
        """Return the nodes joined to ``start`` by copper, nearest first.

        ``without_cables`` are the indices of leads that are unplugged; ``without_port`` is the
        address of a port of which every plug is out.
        """
        whole = not without_cables and not without_port
        if whole and start in self._rails:
            return self._rails[start]
        seen = {start: None}
        queue = [start]
        for node in queue:
            for other, joint in self._neighbours.get(node, ()):
                if other in seen or _is_out(joint, without_cables, without_port):
                    continue
                seen[other] = None
                queue.append(other)
        if whole:
            self._rails[start] = seen
        return seen

    def upstream(
        self,
        start: Node,
        *,
        without_cables: AbstractSet[int] = frozenset(),
        without_port: str = "",
    ) -> Mapping[Node, None]:
        """Return every node whose power can reach ``start``.

        That is its rail, and the rails that feed it through isolated inputs.
        """
        whole = not without_cables and not without_port
        if whole and start in self._upstream:
            return self._upstream[start]
        seen: dict[Node, None] = {}
        queue = [start]
        for node in queue:
            if node in seen:
                continue
            rail = self.rail(node, without_cables=without_cables, without_port=without_port)
            seen.update(rail)
            queue += [
                way.start for way in self.one_way if way.end in rail and way.start not in seen
            ]
        if whole:
            self._upstream[start] = seen
        return seen

    @cached_property
    def ways(self) -> Mapping[Node, list[tuple[Node, Cable | None]]]:
        """For each node those next to it and the lead between, which way power passes or not.

        There is no lead inside a device: between the two sides of a switch, an isolated input or a
        regulator.
        """
        found: dict[Node, list[tuple[Node, Cable | None]]] = {}
        pairs = [(joint.start, joint.end, joint.cable) for joint in self.copper]
        pairs += [(way.start, way.end, None) for way in self.one_way]
        pairs += [
            (Node(device.name, "in"), Node(device.name, "out"), None)
            for device in self.setup.devices.values()
            if is_regulating(device)
        ]
        for start, end, cable in pairs:
            found.setdefault(start, []).append((end, cable))
            found.setdefault(end, []).append((start, cable))
        return found

    def beside(self, node: Node) -> list[Node]:
        """Return the nodes next to ``node``, which way power passes or not."""
        return [other for other, _ in self.ways.get(node, ())]

    def network(self, start: Node) -> frozenset[Node]:
        """Return every node that hangs together with ``start``, through regulators too."""
        if start not in self._networks:
            found = frozenset(spread((start,), self.beside))
            self._networks.update(dict.fromkeys(found, found))
        return self._networks[start]

    def supply(self, node: Node) -> Supply:
        """Return what feeds the rail on which ``node`` stands."""
        if node not in self._supplies:
            self._supplies[node] = self._supply(node, frozenset())
        return self._supplies[node]

    def _supply(self, node: Node, above: frozenset[str]) -> Supply:
        """Gather the feeds of a rail; ``above`` are regulators already passed (loops end there)."""
        feeds: list[Feed] = []
        unknown: list[Need] = []
        reached = self.upstream(node)
        for source in reached:
            device = self.setup.devices[source.device]
            if device.name in above:
                continue
            found = self._made_at(source, device, above)
            if isinstance(found, Feed):
                feeds.append(found)
            elif found is not None:
                unknown.append(found)
        if not feeds:
            unknown += self._gaps_on(reached)
        return Supply(tuple(feeds), tuple(unknown))

    def _gaps_on(self, rail: Mapping[Node, None]) -> Iterator[Need]:
        """Yield what is missing where a lead on the rail ends nowhere: it may be what feeds it."""
        for cable in self.gaps:
            known = [end.port for end in (cable.start, cable.end) if end.port is not None]
            if any(node_of(self.setup.devices[port.device], port) in rail for port in known):
                yield Need(cable.place, f"both ends of the lead {cable.title}")

    def _made_at(self, node: Node, device: Fitted, above: frozenset[str]) -> Feed | Need | None:
        """Return the voltage made at ``node``, or what is missing to know it, or None."""
        if isinstance(device.part, Battery):
            return _pack(device, device.part)
        if node.rail != "out" or not is_regulating(device):
            return None
        before = self._supply(Node(device.name, "in"), above | {device.name})
        return _regulated(device) if before.feeds or before.unknown else None


def is_regulating(device: Fitted) -> bool:
    """True for a device that holds an output voltage of its own."""
    return device.kind == "regulator" or offered_output(device) is not None


def offered_output(device: Fitted) -> VoltageRange | None:
    """Return the output voltages that the part of ``device`` can be set to, if it states any."""
    if device.kind not in REGULATING_KINDS:
        return None
    part = device.part
    return part.output if isinstance(part, Regulator | Distribution | EngineController) else None


def node_of(device: Fitted, port: Port) -> Node:
    """Return the node inside ``device`` on which ``port`` stands.

    Receivers, hubs, gyros, splitters and the like join all their ports. A load with a supply port
    of its own does not pass that supply on to its signal ports.
    """
    if port.isolated:
        return Node(device.name, f"port {port.name}")
    if device.kind in THROUGH_KINDS or is_regulating(device):
        return Node(device.name, "in" if port.does == "supply" else "out")
    if device.kind not in _JOINING and port.does != "supply" and _has_supply_port(device):
        return Node(device.name, f"port {port.name}")
    return Node(device.name, "rail")


_JOINING: Final = frozenset({"battery", "splitter", "distribution", "receiver", "hub", "gyro"})


def _has_supply_port(device: Fitted) -> bool:
    return any(port.does == "supply" for port in device.ports.values())


def nodes_of(device: Fitted) -> Iterator[Node]:
    """Yield the nodes from which ``device`` itself takes its power."""
    if device.kind in THROUGH_KINDS or is_regulating(device):
        yield Node(device.name, "in")
    else:
        yield Node(device.name, "rail")


def is_source(setup: Setup, node: Node) -> bool:
    """True where a pack or a regulator's output stands on ``node``."""
    device = setup.devices[node.device]
    return device.kind == "battery" or (is_regulating(device) and node.rail == "out")


def _is_out(joint: Copper, without_cables: AbstractSet[int], without_port: str) -> bool:
    if joint.cable is None:
        return False
    if joint.cable.index in without_cables:
        return True
    return any(port.address == without_port for port in joint.ports)


def _pack(device: Fitted, part: Battery) -> Feed:
    voltage = full_voltage(part.chemistry, part.cells)
    cells, full = f"{part.cells}-cell {part.chemistry}", show_volts(voltage)
    text = f"a {cells} pack is {full} when full"
    words = f"`{device.name}` ({cells}) gives {full} when full"
    return Feed(device.name, voltage, words, Because(device.part_place("cells"), text))


def _regulated(device: Fitted) -> Feed | Need:
    setting = device.device.output
    if setting is not None:
        words = f"`{device.name}` is set to {setting.text}"
        return Feed(
            device.name, setting, words, Because(device.at("output"), f"set to {setting.text}")
        )
    offered = offered_output(device)
    if offered and offered.max is not None and offered.min == offered.max:
        words = f"`{device.name}` gives {offered.max.text}"
        because = Because(device.part_place("output"), f"gives {offered.max.text}")
        return Feed(device.name, offered.max, words, because)
    return Need(device.at(), f"the output voltage that `{device.name}` is set to")


def show_volts(voltage: float) -> str:
    """Return a voltage for messages, to two places at most: ``12.6 V``."""
    text = f"{voltage:.2f}".rstrip("0")
    return f"{text}0 V" if text.endswith(".") else f"{text} V"


def exceeds(value: float, limit: float) -> bool:
    """True where ``value`` is above ``limit`` by more than rounding (one part in a million)."""
    return value > limit * (1 + 1e-6)


def is_servo_lead(cable: Cable) -> bool:
    """True for a lead on three-pin servo plugs: one with a signal port at either end."""
    ends = (cable.start.port, cable.end.port)
    return any(port is not None and not port.takes_power_only for port in ends)
