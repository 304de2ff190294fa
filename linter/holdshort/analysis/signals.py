"""The way of signals: which boxes a servo hangs on, and which receivers they hear."""

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Final

from holdshort.analysis.spreading import spread
from holdshort.setup import Cable, Fitted, Port, Setup

if TYPE_CHECKING:
    from holdshort.analysis.signal_nets import SignalNet

GIVERS: Final = frozenset({"servo", "bus-out"})
TAKERS: Final = frozenset({"pulse-in", "bus-in"})


class Signals:
    """The ways of signals of a setup, each from the port that gives to a port that takes."""

    def __init__(self, setup: Setup, nets: Iterable["SignalNet"]) -> None:
        """Take the ways from the signal wires, three-wire Y-leads included."""
        self.setup = setup
        self.ways: list[tuple[Port, Port, Cable]] = [
            (giver, taker, cable)
            for net in nets
            for giver in net.givers
            for taker in net.ports
            if taker.does in TAKERS and (cable := _lead_of(taker, net)) is not None
        ]

    def servos_on(self, box: str) -> tuple[Fitted, ...]:
        """Return the servos plugged straight into ``box``, in the order of the leads."""
        found = {
            end.device: self.setup.devices[end.device]
            for start, end, _ in self.ways
            if start.device == box and self.setup.devices[end.device].kind == "servo"
        }
        return tuple(found.values())

    def receivers_heard(self, box: str) -> frozenset[str]:
        """Return the receivers whose signal reaches ``box``, itself included if it is one."""

        def before(name: str) -> Iterator[str]:
            return (start.device for start, end, _ in self.ways if end.device == name)

        devices = self.setup.devices
        return frozenset(
            name for name in spread((box,), before) if devices[name].kind == "receiver"
        )

    def carriers(self) -> tuple[Fitted, ...]:
        """Return the receivers, hubs and gyros with servos plugged straight into them."""
        boxes = self.setup.of_kind("receiver", "hub", "gyro")
        return tuple(box for box in boxes if self.servos_on(box.name))


def _lead_of(port: Port, net: "SignalNet") -> Cable | None:
    """Return the lead of the net that ends on ``port``."""
    for cable in net.cables:
        if any(
            end.port is not None and end.port.address == port.address
            for end in (cable.start, cable.end)
        ):
            return cable
    return None
