"""The pulses that the transmitter's channels give, from per cent to seconds.

A channel that is not reversed gives a longer pulse for more command:

    pulse = centre + full * trim + sign * full * travel * command

``centre`` and ``full`` are the transmitter's own (``radio.pulse``), ``trim`` is how far the
channel's centre is trimmed, ``sign`` is -1 where the channel is reversed, ``travel`` is that of the
side to which the command goes, and ``command`` is -1 at the low end, 0 at neutral, +1 at the high
end. Common practice of transmitters, no published source; a centre of 1.5 ms and a range of 1.0 to
2.0 ms are those of an ordinary servo.

A centre that is not declared is not trimmed. All pulses are in seconds.
"""

from typing import Final, NamedTuple

from holdshort.analysis.facts import Need
from holdshort.setup import ChannelEntry, Place, Quantity, Setup
from holdshort.setup.runs import expand_run
from holdshort.setup.sections import RadioPulse, Travel

LOW: Final = -1.0
NEUTRAL: Final = 0.0
HIGH: Final = 1.0


class ChannelTravel(NamedTuple):
    """The travel of a channel to each side, as shares, and where it is declared."""

    travel: Travel
    place: Place


class ChannelRange(NamedTuple):
    """The pulses of a channel at low command, neutral and high command, in seconds.

    ``low`` is the longest of the three where the channel is reversed.
    """

    low: float
    centre: float
    high: float

    @property
    def shortest(self) -> float:
        """The shortest pulse, in seconds."""
        return min(self)

    @property
    def longest(self) -> float:
        """The longest pulse, in seconds."""
        return max(self)


def channel_pulse(
    setup: Setup, number: int, command: float, mode: str | None = None
) -> float | Need:
    """Return the pulse of a channel in seconds, or what is missing to know it.

    ``command`` goes from -1 (low) to +1 (high), before reversal; ``mode`` is a flight mode, or None
    for the channel's own travel. The trim in use is left out.
    """
    pulse, entry = setup.radio.pulse, setup.channels.get(number)
    if pulse is None:
        return undeclared_pulse(setup)
    if entry is None:
        return Need(setup.place("radio", "channels"), f"channel {number} of the radio")
    if command == NEUTRAL:
        return _at(pulse, entry, 0.0)
    found = channel_travel(setup, number, mode)
    if found is None:
        return Need(entry.place, f"the travel of channel {number}")
    travel = found.travel.low if command < NEUTRAL else found.travel.high
    return _at(pulse, entry, travel * command)


def undeclared_pulse(setup: Setup) -> Need:
    """Return what is missing where the transmitter's own pulse is not declared."""
    text = "the `pulse` of the radio: its centre, and how much 100 % adds"
    return Need(setup.place("radio", "pulse"), text)


def channel_range(setup: Setup, number: int, mode: str | None = None) -> ChannelRange | Need:
    """Return the end and centre pulses of a channel in one mode, or what is missing."""
    pulses: list[float] = []
    for command in (LOW, NEUTRAL, HIGH):
        pulse = channel_pulse(setup, number, command, mode)
        if isinstance(pulse, Need):
            return pulse
        pulses.append(pulse)
    return ChannelRange(*pulses)


def channel_travel(setup: Setup, number: int, mode: str | None = None) -> ChannelTravel | None:
    """Return the travel of a channel in one mode: the mode's own, or else the channel's."""
    chosen = setup.modes.get(mode) if mode is not None else None
    for run, travel in (chosen.travel if chosen and chosen.travel else {}).items():
        if number in run_numbers(run):
            return ChannelTravel(travel, setup.place("radio", "modes", str(mode), "travel", run))
    entry = setup.channels.get(number)
    if entry is None or entry.channel.travel is None:
        return None
    place = Place(entry.place.file, (*entry.place.path, "travel"))
    return ChannelTravel(entry.channel.travel, place)


def travel_place(setup: Setup, number: int, mode: str | None = None) -> Place:
    """Return where the travel of a declared channel in one mode stands, or where it would."""
    found = channel_travel(setup, number, mode)
    return found.place if found else setup.channels[number].place


def modes_of(setup: Setup, number: int) -> tuple[str | None, ...]:
    """Return the modes to look at for one channel: None for its own travel, and any that differ.

    Where every mode has a travel of its own for the channel, its own is never in use and is left
    out.
    """
    differing = [
        name
        for name, mode in setup.modes.items()
        if any(number in run_numbers(run) for run in mode.travel or {})
    ]
    if differing and len(differing) == len(setup.modes) and not _modes_broken(setup):
        return tuple(differing)
    return (None, *differing)


def run_numbers(run: str) -> tuple[int, ...]:
    """Return the channels of a run such as `1..6`; none of a run that cannot be read."""
    try:
        return tuple(int(number) for number in expand_run(run))
    except ValueError:
        return ()


def slow(setup: Setup, number: int) -> Quantity | None:
    """Return how long a slowed channel takes from end to end, in seconds, or None."""
    entry = setup.channels.get(number)
    return entry.channel.slow if entry else None


def trim_shift(setup: Setup, number: int) -> float:
    """Return what the trim in use adds to the pulses of a channel, in seconds.

    The trim lever works as the stick does, so a reversed channel reverses it. Zero where nothing is
    declared.
    """
    pulse, entry = setup.radio.pulse, setup.channels.get(number)
    if pulse is None or entry is None or entry.channel.trim is None:
        return 0.0
    return pulse.full * entry.channel.trim * (-1.0 if entry.channel.reversed else 1.0)


def mirrored(setup: Setup, pulse: float) -> float:
    """Return ``pulse`` as a box that reverses its output gives it, in seconds.

    A box reverses about the neutral pulse of the transmitter; common practice, no published source.
    """
    neutral = setup.radio.pulse.centre if setup.radio.pulse else pulse
    return 2 * neutral - pulse


def show_pulse(pulse: float) -> str:
    """Return a pulse for messages, in microseconds, to a tenth at most: ``1520 us``."""
    text = f"{pulse * 1e6:.1f}"
    return f"{text.removesuffix('.0')} us"


def show_share(share: float) -> str:
    """Return a share for messages, to a tenth of a per cent at most: ``92 %``."""
    text = f"{share * 100:.1f}"
    return f"{text.removesuffix('.0')} %"


def _at(pulse: RadioPulse, entry: ChannelEntry, share: float) -> float:
    sign = -1.0 if entry.channel.reversed else 1.0
    trim = entry.channel.centre or 0.0
    return pulse.centre + pulse.full * (trim + sign * share)


def _modes_broken(setup: Setup) -> bool:
    return setup.broken_under("radio", "modes") is not None
