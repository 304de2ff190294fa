"""What each box is declared to do with each channel when it hears nothing."""

from collections.abc import Iterator
from typing import NamedTuple

from holdshort.analysis.signals import GIVERS, TAKERS
from holdshort.setup import ChannelEntry, Fitted, Place, Setup
from holdshort.setup.functions import ENGINE, MOVING, control_function


class ChannelFailsafe(NamedTuple):
    """What one box does with one channel: ``action`` is None where that is not declared."""

    box: Fitted
    channel: ChannelEntry
    action: str | None
    at: Place


def deciding_boxes(setup: Setup) -> Iterator[Fitted]:
    """Yield every box that decides what a servo does on loss of signal.

    Those are the receivers, and the hubs and gyros that take a signal and give servo pulses,
    unless declared to pass on what they are sent.
    """
    for box in setup.of_kind("receiver", "hub", "gyro"):
        entry = setup.failsafe.get(box.name)
        if entry is not None and entry.declared.passes_on:
            continue
        if box.kind == "receiver" or _stands_between(box):
            yield box


def _stands_between(box: Fitted) -> bool:
    offered = [{*port.can_be, port.does} for port in box.ports.values()]
    takes = any(TAKERS & functions for functions in offered)
    gives = any(GIVERS & functions for functions in offered)
    return takes and gives


def box_failsafe(setup: Setup, box: Fitted) -> Iterator[ChannelFailsafe]:
    """Yield what ``box`` does with every declared channel, in order of channels."""
    entry = setup.failsafe.get(box.name)
    for number, channel in setup.channels.items():
        if entry is None:
            yield ChannelFailsafe(box, channel, None, box.place)
        elif number in entry.channels:
            action, place = entry.channels[number]
            yield ChannelFailsafe(box, channel, action, place)
        else:
            yield ChannelFailsafe(box, channel, None, entry.place)


def functions_of(channel: ChannelEntry, setup: Setup) -> tuple[str, ...]:
    """Return the control functions that a channel drives; a surface may name its own."""
    found: list[str] = []
    for words in channel.channel.drives:
        surface = setup.surfaces.get(words)
        named = (surface.function if surface else None) or words
        function = control_function(named)
        if function and function not in found:
            found.append(function)
    return tuple(found)


def is_throttle(channel: ChannelEntry, setup: Setup) -> bool:
    """True for a channel that drives the throttle."""
    return "throttle" in functions_of(channel, setup)


def moves_something(channel: ChannelEntry, setup: Setup) -> bool:
    """True for a channel that moves a surface, the undercarriage or the engine."""
    functions = functions_of(channel, setup)
    return any(function in MOVING or function in ENGINE for function in functions)
