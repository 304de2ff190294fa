"""The way of signals: which boxes a servo hangs on, and which receivers they hear."""

from typing import Final

from holdshort.setup import Cable, Fitted, Port, Setup

GIVERS: Final = frozenset({"servo", "bus-out"})
TAKERS: Final = frozenset({"pulse-in", "bus-in"})


class Signals:
    """The signal leads of a setup, each from the port that gives to the port that takes."""

    def __init__(self, setup: Setup) -> None:
        """Sort out which end of each lead gives its signal."""
        self.setup = setup
        self.ways: list[tuple[Port, Port, Cable]] = []
        for cable in setup.cables:
            start, end = cable.start.port, cable.end.port
            if start is None or end is None or not cable.carries_signal:
                continue
            if start.does in TAKERS and end.does in GIVERS:
                start, end = end, start
            if start.does in GIVERS and end.does in TAKERS:
                self.ways.append((start, end, cable))

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
        seen = {box}
        queue = [box]
        for name in queue:
            for start, end, _ in self.ways:
                if end.device == name and start.device not in seen:
                    seen.add(start.device)
                    queue.append(start.device)
        return frozenset(name for name in seen if self.setup.devices[name].kind == "receiver")

    def carriers(self) -> tuple[Fitted, ...]:
        """Return the receivers, hubs and gyros with servos plugged straight into them."""
        boxes = self.setup.of_kind("receiver", "hub", "gyro")
        return tuple(box for box in boxes if self.servos_on(box.name))
