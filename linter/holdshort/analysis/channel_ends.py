"""Where each channel ends: the devices it reaches, port by port, and how often it is sent.

Which channel comes to an input is worked out in :mod:`holdshort.analysis.drives`; here it is
followed back to the receiver, with whatever reverses it and sets its frame rate on the way.
"""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from holdshort.analysis.drives import BOXES, Drives, Reach
from holdshort.analysis.facts import Need
from holdshort.analysis.failsafes import is_throttle
from holdshort.analysis.pulses import channel_pulse, mirrored
from holdshort.analysis.signals import GIVERS, TAKERS
from holdshort.setup import Fitted, Place, Port, Quantity, Setup
from holdshort.setup.sections import PortSetting


class ChannelEnd(NamedTuple):
    """One device that a channel reaches.

    ``channel`` is None where it is not known, and ``need`` then says what is missing. ``way`` is
    every port that the signal passes, from the receiver's to the device's own. ``reversed`` is True
    where boxes on the way turn the pulse round, ``presumed`` where the channel is taken from the
    number printed on a port, because the port is not declared to give another.
    """

    device: Fitted
    taker: Port
    giver: Port
    channel: int | None
    need: Need | None
    way: tuple[Port, ...]
    reversed: bool
    presumed: bool

    @property
    def shown(self) -> str:
        """The way in one line: ``front-rx.9 > gyro.bus > gyro.1 > ail-left``."""
        last = self.way[-1]
        name = last.device if len(self.device.ports) == 1 else last.address
        return " > ".join([*(port.address for port in self.way[:-1]), name])


class Rate(NamedTuple):
    """A frame rate in hertz, and the place that declares it."""

    hertz: Quantity
    place: Place


def channel_ends(setup: Setup, drives: Drives | None = None) -> tuple[ChannelEnd, ...]:
    """Return every device that a channel ends at, in the order of the file.

    Receivers, hubs and gyros hand channels on and are no ends.
    """
    found = drives or Drives(setup)
    givers = {port.address: net.givers[0] for net in found.nets if net.givers for port in net.ports}
    ends: list[ChannelEnd] = []
    for device in setup.devices.values():
        if device.kind not in BOXES:
            for reach in found.reaches(device):
                ends += _ends(setup, device, reach, givers)
    return tuple(ends)


def ends_of(ends: tuple[ChannelEnd, ...], number: int) -> tuple[ChannelEnd, ...]:
    """Return the ends of one channel."""
    return tuple(end for end in ends if end.channel == number)


def pulse_at(setup: Setup, end: ChannelEnd, command: float, mode: str | None) -> float | Need:
    """Return the pulse that comes to a device for a command of its channel, in seconds.

    ``command`` goes from -1 (low) to +1 (high), before any reversal.
    """
    if end.channel is None:
        return end.need or Need(end.taker.set_by, f"the channel of `{end.taker.address}`")
    pulse = channel_pulse(setup, end.channel, command, mode)
    if isinstance(pulse, Need) or not end.reversed:
        return pulse
    return mirrored(setup, pulse)


def output_rate(setup: Setup, port: Port) -> Rate | None:
    """Return how often ``port`` sends its pulse, or None where nothing says so.

    The port's own setting counts first, then the device's, the part's and the radio's.
    """
    setting = port_setting(setup, port)
    if setting is not None and setting.frame_rate is not None:
        return Rate(setting.frame_rate, Place(setup.file, (*port.set_by.path, "frame-rate")))
    device = setup.devices[port.device]
    if device.device.frame_rate is not None:
        return Rate(device.device.frame_rate, device.at("frame-rate"))
    part = device.part
    if part.kind in {"receiver", "hub", "gyro"}:
        stated: Quantity | None = getattr(part, "frame_rate", None)
        if stated is not None:
            return Rate(stated, device.part_place("frame-rate"))
    if setup.radio.frame_rate is not None:
        return Rate(setup.radio.frame_rate, setup.place("radio", "frame-rate"))
    return None


def port_setting(setup: Setup, port: Port) -> PortSetting | None:
    """Return what the fitted device is declared to have set its port to, or None."""
    path = port.set_by.path
    if port.set_by.file != setup.file or path[:3] != ("devices", port.device, "ports"):
        return None
    settings = setup.devices[port.device].device.ports or {}
    return settings.get(str(path[3]))


def _ends(
    setup: Setup, device: Fitted, reach: Reach, givers: Mapping[str, Port]
) -> Iterator[ChannelEnd]:
    if reach.giver is None or reach.silent:
        return
    way = (*_way_to(setup, reach.giver, givers), reach.taker)
    turned = [_is_reversed(setup, port) for port in way if port.does == "servo"]
    for channel in _numbers(setup, device, reach):
        yield ChannelEnd(
            device=device,
            taker=reach.taker,
            giver=reach.giver,
            channel=channel,
            need=reach.need,
            way=way,
            reversed=sum(turned) % 2 == 1,
            presumed=channel is not None and _nothing_says(way, reach),
        )


def _numbers(setup: Setup, device: Fitted, reach: Reach) -> tuple[int | None, ...]:
    """Return the channels of an input; an engine controller on a bus takes the throttle."""
    if not reach.every:
        return tuple(sorted(reach.channels)) or (None,)
    if device.kind != "engine-controller":
        return (None,)
    throttles = [number for number, entry in setup.channels.items() if is_throttle(entry, setup)]
    return tuple(throttles) or (None,)


def _nothing_says(way: tuple[Port, ...], reach: Reach) -> bool:
    """True where the channel is not declared at any port on the way, nor taken from a bus."""
    return not reach.every and all(port.channel is None for port in way)


def _way_to(setup: Setup, giver: Port, givers: Mapping[str, Port]) -> tuple[Port, ...]:
    """Return the ports from the nearest receiver to ``giver``, which is last."""
    queue: list[tuple[Port, ...]] = [(giver,)]
    seen = {giver.device}
    for way in queue:
        box = setup.devices[way[0].device]
        if box.kind == "receiver":
            return way
        for taker in box.ports.values():
            before = givers.get(taker.address) if taker.does in TAKERS else None
            if before is not None and before.device not in seen and before.does in GIVERS:
                seen.add(before.device)
                queue.append((before, taker, *way))
    return (giver,)


def _is_reversed(setup: Setup, port: Port) -> bool:
    setting = port_setting(setup, port)
    return setting is not None and setting.reversed
