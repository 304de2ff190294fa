"""The way of power and of every channel, from packs and links to servos, as a dependence.

Power passes copper both ways, isolated inputs and regulators one way. A receiver gives a channel
while it hears a link of its own, or else while another receiver's bus into it does; a hub or gyro
gives it while any of its inputs that carry it does, the first that speaks. Both are assumptions
about how such boxes change over (common practice, no source).
"""

from collections.abc import Mapping, Sequence
from typing import Final

from holdshort.analysis.channel_ends import ChannelEnd
from holdshort.analysis.dependence import Dependence
from holdshort.analysis.drives import BOXES, Drives
from holdshort.analysis.failure_modes import Failure
from holdshort.analysis.rail_supplies import NEEDS_POWER
from holdshort.analysis.signal_nets import SignalNet
from holdshort.analysis.wiring import Node, Wiring, is_regulating, nodes_of
from holdshort.setup import Cable, Fitted, Port, Setup

ASSUMPTIONS: Final = (
    "a failed box passes neither power nor signal, and a failed pack, regulator or switch is open",
    "a receiver that loses its link takes the signal of the receiver on its bus input",
    "a hub or gyro with several inputs takes the first that brings a signal",
    "a surface with several servos is moved while one of them works",
    "an engine controller without power stops its engine",
)
"""What is taken for granted (common practice, no source)."""


class FailureGraph:
    """What every device, channel and channel end needs to work; failures by number.

    ``devices``, ``cables``, ``links`` and ``outputs`` give the mask of the failures that take a
    device, a lead, a link or the supply that an engine controller gives.
    """

    def __init__(
        self,
        setup: Setup,
        wiring: Wiring,
        drives: Drives,
        ends: tuple[ChannelEnd, ...],
        failures: Sequence[Failure],
    ) -> None:
        """Build the dependence of every device and every channel end."""
        self.setup = setup
        self.wiring = wiring
        self.drives = drives
        self.devices: dict[str, int] = {}
        self.cables: dict[int, int] = {}
        self.links: dict[str, int] = {}
        self.outputs: dict[str, int] = {}
        for number, failure in enumerate(failures):
            for masks, names in (
                (self.devices, failure.devices),
                (self.links, failure.links),
                (self.outputs, failure.outputs),
            ):
                for name in names:
                    masks[name] = masks.get(name, 0) | 1 << number
            for cable in failure.cables:
                self.cables[cable.index] = self.cables.get(cable.index, 0) | 1 << number
        self.dependence = Dependence(len(failures))
        self._nets: Mapping[str, SignalNet] = {
            port.address: net for net in drives.nets for port in net.ports
        }
        self._power()
        self.ends = tuple(self._end(at, end) for at, end in enumerate(ends))

    def _power(self) -> None:
        setup, wiring = self.setup, self.wiring
        for joint in wiring.copper:
            by = self.cables.get(joint.cable.index, 0) if joint.cable else 0
            self._feed(joint.start, joint.end, by)
            self._feed(joint.end, joint.start, by)
        for way in wiring.one_way:
            self._feed(way.start, way.end)
        for device in setup.devices.values():
            if device.kind == "battery":
                node = self._node(Node(device.name, "rail"))
                self.dependence.give(node, self.dependence.source)
            elif is_regulating(device):
                by = self.outputs.get(device.name, 0)
                self._feed(Node(device.name, "in"), Node(device.name, "out"), by)

    def _node(self, node: Node) -> int:
        found = self.dependence.find(node)
        if found is None:
            own = self.devices.get(node.device, 0)
            found = self.dependence.item(node, needs_any=True, own=own)
        return found

    def _feed(self, start: Node, end: Node, by: int = 0) -> None:
        self.dependence.give(self._node(end), self._node(start), by)

    def alive(self, device: Fitted) -> int:
        """Return the item of a device that has power and has not failed."""
        key = ("alive", device.name)
        found = self.dependence.find(key)
        if found is not None:
            return found
        item = self.dependence.item(key, own=self.devices.get(device.name, 0))
        if device.kind in NEEDS_POWER:
            for node in nodes_of(device):
                self.dependence.give(item, self._node(node))
        return item

    def sent(self, box: str, channel: int | None) -> int:
        """Return the item of ``box`` giving ``channel`` as the pilot commands it."""
        key = ("sent", box, channel)
        found = self.dependence.find(key)
        if found is not None:
            return found
        device = self.setup.devices[box]
        item = self.dependence.item(key)
        heard = self.dependence.item(("heard", box, channel), needs_any=True)
        self.dependence.give(item, self.alive(device))
        self.dependence.give(item, heard)
        if device.kind == "receiver":
            self._hear_links(heard, box)
        for taker, giver in self.inputs(device, channel):
            self.dependence.give(heard, self._arrives(taker, giver, channel))
        return item

    def hears(self, box: str) -> tuple[str, ...]:
        """Return the links that a receiver is declared to hear."""
        return tuple(name for name, link in self.setup.links.items() if box in link.heard_by)

    def _hear_links(self, heard: int, box: str) -> None:
        """Let a receiver hear its links; one of which none is declared hears one of its own."""
        for name in self.hears(box) or ("",):
            self.dependence.give(heard, self.dependence.source, self.links.get(name, 0))

    def inputs(self, box: Fitted, channel: int | None) -> list[tuple[Port, Port]]:
        """Return the inputs of ``box`` that bring it ``channel``, each with the port that gives."""
        if box.kind not in BOXES:
            return []
        found: list[tuple[Port, Port]] = []
        for reach in self.drives.reaches(box):
            taker = reach.taker
            if reach.giver is None or reach.giver.device == box.name:
                continue
            carries = taker.does == "bus-in" or channel is None or not reach.channels
            if carries or channel in reach.channels:
                found.append((taker, reach.giver))
        return found

    def _arrives(self, taker: Port, giver: Port, channel: int | None) -> int:
        """Return the item of ``channel`` coming to ``taker`` as the pilot commands it."""
        key = ("arrives", taker.address, channel)
        found = self.dependence.find(key)
        if found is not None:
            return found
        item = self.dependence.item(key)
        self.dependence.give(item, self.whole(taker, giver))
        if self.setup.devices[giver.device].kind in BOXES:
            self.dependence.give(item, self.sent(giver.device, channel))
        else:
            self.dependence.give(item, self.alive(self.setup.devices[giver.device]))
        return item

    def whole(self, taker: Port, giver: Port) -> int:
        """Return the item of the signal wire between two ports of one net, Y-leads included."""
        key = ("whole", taker.address)
        found = self.dependence.find(key)
        if found is not None:
            return found
        net = self._nets[taker.address]
        item = self.dependence.item(key)
        if len(net.cables) == 1:
            by = self.cables.get(net.cables[0].index, 0)
            self.dependence.give(item, self.dependence.source, by)
        else:
            self.dependence.give(item, self._wire(taker, net, giver))
        return item

    def _wire(self, port: Port, net: SignalNet, giver: Port) -> int:
        """Return the item of one port, or one Y-lead, being joined to the port that gives."""
        stations = {address.address for address in net.ports}
        start = ("wire", giver.address, giver.address)
        if self.dependence.find(start) is None:
            self.dependence.give(self.dependence.item(start), self.dependence.source)
            for cable in net.cables:
                self._wire_lead(cable, stations, giver)
        found = self.dependence.find(("wire", giver.address, port.address))
        assert found is not None  # noqa: S101  - every port of a net is on one of its leads
        return found

    def _wire_lead(self, cable: Cable, stations: set[str], giver: Port) -> None:
        first, second = (
            self._station(end.port, stations, giver) for end in (cable.start, cable.end)
        )
        start = self.dependence.find(("wire", giver.address, giver.address))
        by = self.cables.get(cable.index, 0)
        for one, other in ((first, second), (second, first)):
            if one is not None and other is not None and one not in {other, start}:
                self.dependence.give(one, other, by)

    def _station(self, port: Port | None, stations: set[str], giver: Port) -> int | None:
        if port is None:
            return None
        if port.address == giver.address:
            return self.dependence.find(("wire", giver.address, giver.address))
        name = port.address if port.address in stations else port.device
        key = ("wire", giver.address, name)
        found = self.dependence.find(key)
        if found is None:
            own = 0 if port.address in stations else self.devices.get(port.device, 0)
            found = self.dependence.item(key, needs_any=True, own=own)
        return found

    def _end(self, at: int, end: ChannelEnd) -> int:
        """Return the item of one channel end: the device has power and follows the pilot."""
        item = self.dependence.item(("end", at))
        self.dependence.give(item, self.alive(end.device))
        self.dependence.give(item, self._arrives(end.taker, end.giver, end.channel))
        return item
