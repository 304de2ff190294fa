"""The channel table of one aircraft: every channel with its pulses and the devices it ends at.

Pulses in seconds, travels and trims as shares, frame rates in hertz.
"""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from holdshort.analysis.aircraft import Aircraft
from holdshort.analysis.channel_ends import ChannelEnd, ends_of, output_rate
from holdshort.analysis.facts import Need
from holdshort.analysis.pulses import ChannelRange, channel_range, channel_travel, modes_of
from holdshort.document import show_path
from holdshort.setup import ChannelEntry, Setup


class ModeRow(NamedTuple):
    """Travel and pulses of a channel in one mode, None for its own travel.

    ``low`` and ``high`` are None where the travel is not declared, ``pulses`` where it or the
    radio's pulse is not.
    """

    mode: str | None
    low: float | None
    high: float | None
    pulses: ChannelRange | None


class EndRow(NamedTuple):
    """One device that a channel ends at.

    ``way`` are the ports that it passes, from the receiver's to the device's. ``channel`` is None
    where it is not known which channel comes. ``presumed`` is True where the number printed on a
    port says which it is.
    """

    channel: int | None
    device: str
    kind: str
    way: tuple[str, ...]
    shown: str
    reversed: bool
    presumed: bool
    frame_rate: float | None


class ChannelRow(NamedTuple):
    """One channel of the transmitter. ``centre`` and ``trim`` are None where not declared."""

    number: int
    drives: tuple[str, ...]
    reversed: bool
    centre: float | None
    trim: float | None
    slow: float | None
    copied_from: str | None
    modes: tuple[ModeRow, ...]
    ends: tuple[EndRow, ...]


class ChannelTable(NamedTuple):
    """Everything there is to show of the channels of one aircraft.

    ``neutral`` and ``full`` are the radio's own pulse and what 100 % adds. ``strays`` are devices
    that get a channel which is not declared, or not known. ``missing`` is what would have to be
    declared to know more, ``unread`` the entries with mistakes of form, which are left out.
    """

    file: str
    aircraft: str
    neutral: float | None
    full: float | None
    frame_rate: float | None
    channels: tuple[ChannelRow, ...]
    strays: tuple[EndRow, ...]
    missing: tuple[str, ...]
    unread: tuple[str, ...]


def channel_table(aircraft: Aircraft) -> ChannelTable:
    """Return the channel table of an aircraft."""
    setup, ends = aircraft.setup, aircraft.channel_ends
    strays = [end for end in ends if end.channel not in setup.channels]
    pulse = setup.radio.pulse
    return ChannelTable(
        file=setup.file,
        aircraft=setup.name,
        neutral=pulse.centre if pulse else None,
        full=pulse.full if pulse else None,
        frame_rate=setup.radio.frame_rate,
        channels=tuple(_channel(setup, entry, ends) for entry in setup.channels.values()),
        strays=tuple(_end(setup, end) for end in strays),
        missing=tuple(dict.fromkeys(_missing(setup, ends))),
        unread=tuple(sorted(show_path(path) for path in setup.broken)),
    )


def _channel(setup: Setup, entry: ChannelEntry, ends: tuple[ChannelEnd, ...]) -> ChannelRow:
    channel = entry.channel
    return ChannelRow(
        number=entry.number,
        drives=channel.drives,
        reversed=channel.reversed,
        centre=channel.centre,
        trim=channel.trim,
        slow=channel.slow,
        copied_from=channel.copied_from,
        modes=tuple(_mode(setup, entry.number, mode) for mode in modes_of(setup, entry.number)),
        ends=tuple(_end(setup, end) for end in ends_of(ends, entry.number)),
    )


def _mode(setup: Setup, number: int, mode: str | None) -> ModeRow:
    found = channel_travel(setup, number, mode)
    pulses = channel_range(setup, number, mode)
    return ModeRow(
        mode,
        found.travel.low if found else None,
        found.travel.high if found else None,
        None if isinstance(pulses, Need) else pulses,
    )


def _end(setup: Setup, end: ChannelEnd) -> EndRow:
    rate = output_rate(setup, end.giver)
    return EndRow(
        channel=end.channel,
        device=end.device.name,
        kind=end.device.kind,
        way=tuple(port.address for port in end.way),
        shown=end.shown,
        reversed=end.reversed,
        presumed=end.presumed,
        frame_rate=rate.hertz if rate else None,
    )


def _missing(setup: Setup, ends: Iterable[ChannelEnd]) -> Iterator[str]:
    for number in setup.channels:
        for mode in modes_of(setup, number):
            found = channel_range(setup, number, mode)
            if isinstance(found, Need):
                yield found.text
    for end in ends:
        if end.need is not None:
            yield end.need.text
