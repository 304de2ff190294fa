"""The way of a channel from the stick to what it moves, and the way of power to a device."""

from collections.abc import Iterator
from typing import NamedTuple

from holdshort.analysis.channel_ends import ChannelEnd
from holdshort.analysis.control_functions import Effector
from holdshort.analysis.failures import FailureStudy
from holdshort.analysis.wiring import Node, Wiring, is_regulating, nodes_of
from holdshort.setup import Fitted


class ControlWay(NamedTuple):
    """One way from the stick to one surface or device.

    ``channel`` is None where it is not known; ``links`` are those that the first receiver on the
    way is declared to hear.
    """

    channel: int | None
    links: tuple[str, ...]
    end: ChannelEnd
    effector: Effector

    @property
    def shown(self) -> str:
        """The way in one line: ``channel 3 > link main > rx.3 > elevator servo > elevator``."""
        steps = [f"channel {self.channel}" if self.channel is not None else "channel not known"]
        if self.links:
            steps.append(f"link {' or '.join(self.links)}")
        steps.append(self.end.shown)
        if self.effector.name != self.end.device.name:
            steps.append(self.effector.name)
        return " > ".join(steps)


def control_ways(study: FailureStudy) -> tuple[ControlWay, ...]:
    """Return the way of every servo and device that serves a control function."""
    return tuple(way for effector in study.effectors for way in ways_of(study, effector))


def ways_of(study: FailureStudy, effector: Effector) -> Iterator[ControlWay]:
    """Yield the ways on which one surface or device is moved."""
    for at in effector.ends:
        end = study.aircraft.channel_ends[at]
        links = study.graph.hears(end.way[0].device)
        yield ControlWay(end.channel, links, end, effector)


def signal_passes(study: FailureStudy, box: str, end: ChannelEnd) -> bool:
    """True where every signal that comes to a device passes through ``box``, whatever has power."""
    queue = [end.giver.device]
    seen = {box}
    for name in queue:
        if name in seen:
            continue
        seen.add(name)
        device = study.setup.devices[name]
        if device.kind == "receiver":
            return False
        queue += [giver.device for _, giver in study.graph.inputs(device, end.channel)]
    return True


def power_way(wiring: Wiring, device: Fitted) -> tuple[str, ...]:
    """Return the devices from the nearest pack to ``device``; empty where no pack feeds it."""
    start = next(nodes_of(device))
    came: dict[Node, Node | None] = {start: None}
    queue = [start]
    for node in queue:
        if wiring.setup.devices[node.device].kind == "battery":
            return _back(came, node)
        for other in _before(wiring, node):
            if other not in came:
                came[other] = node
                queue.append(other)
    return ()


def _before(wiring: Wiring, node: Node) -> Iterator[Node]:
    """Yield the nodes from which power can come to ``node``."""
    for other, _ in wiring.joints(node):
        yield other
    for way in wiring.one_way:
        if way.end == node:
            yield way.start
    if node.rail == "out" and is_regulating(wiring.setup.devices[node.device]):
        yield Node(node.device, "in")


def _back(came: dict[Node, Node | None], node: Node) -> tuple[str, ...]:
    names: dict[str, None] = {}
    step: Node | None = node
    while step is not None:
        names[step.device] = None
        step = came[step]
    return tuple(names)
