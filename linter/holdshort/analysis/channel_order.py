"""Whether each device is fed by a channel that is meant for it."""

from collections.abc import Iterator
from typing import Final, NamedTuple

from holdshort.analysis.channel_ends import ChannelEnd
from holdshort.analysis.drives import PROVIDES, Drives, moves
from holdshort.analysis.facts import Need
from holdshort.analysis.failsafes import functions_of
from holdshort.setup import Setup
from holdshort.setup.functions import ENGINE, control_function

FLIGHT_CONTROLS: Final = (
    "aileron",
    "elevator",
    "rudder",
    "elevon",
    "taileron",
    "flaperon",
    "ruddervator",
    "v-tail",
    "canard",
    "nozzle",
    "nose steering",
    "nose wheel",
    "tail wheel",
    "steering",
)
"""Functions that steer the aircraft, in the air or on the ground, and have a neutral."""

_CATCH_ALL: Final = ("auxiliary", "sequencer")
"""Words that leave open what a channel does."""


class Feeding(NamedTuple):
    """One device and the channel that comes to it; 0 where that is not known.

    ``moves`` are the surfaces that a servo moves; ``meant`` are the channels that are declared to
    drive that; ``fits`` is True where the channel that comes is among them. ``steers`` is True
    where the device or its channel is a flight control or acts on the engine. ``need`` is what
    is missing to judge.
    """

    end: ChannelEnd
    channel: int
    moves: tuple[str, ...]
    meant: tuple[int, ...]
    fits: bool
    steers: bool
    need: Need | None = None


def feedings(setup: Setup, drives: Drives, ends: tuple[ChannelEnd, ...]) -> Iterator[Feeding]:
    """Yield how each device with a work of its own is fed, in the order of ``ends``.

    Channels that the radio does not declare are left out: what they drive is not known.
    """
    for end in ends:
        if end.channel is None:
            if end.need is not None:
                yield Feeding(end, 0, (), (), fits=False, steers=False, need=end.need)
        elif end.channel in setup.channels:
            yield from _fed(setup, drives, end, end.channel)


def steers(function: str | None) -> bool:
    """True for a function that steers the aircraft or acts on its engine."""
    return function in FLIGHT_CONTROLS or function in ENGINE


def _fed(setup: Setup, drives: Drives, end: ChannelEnd, number: int) -> Iterator[Feeding]:
    if end.device.kind == "servo":
        yield _servo(setup, drives, end, number)
    elif end.device.kind in PROVIDES:
        yield _device(setup, end, number)


def _servo(setup: Setup, drives: Drives, end: ChannelEnd, number: int) -> Feeding:
    name = end.device.name
    moved = tuple(key for key, surface in setup.surfaces.items() if name in surface.servo)
    if not moved:
        if _named_for(setup, name, number):
            return Feeding(end, number, (), (number,), fits=True, steers=False)
        need = Need(end.device.place, f"the surface that `{name}` moves, under `surfaces:`")
        return Feeding(end, number, (), (), fits=False, steers=False, need=need)
    meant = {channel for surface in moved for channel in drives.channels_naming(surface)}
    mixed = any(drives.is_mixed_to(surface) for surface in moved)
    likely = not meant and any(drives.may_move(number, surface) for surface in moved)
    functions = [control_function(setup.surfaces[key].function or key) for key in moved]
    return Feeding(
        end,
        number,
        moved,
        tuple(sorted(meant)),
        fits=number in meant or mixed or likely,
        steers=any(map(steers, (*functions, *functions_of(setup.channels[number], setup)))),
    )


def _named_for(setup: Setup, servo: str, number: int) -> bool:
    """True where a servo is called after what its channel drives, such as ``throttle-servo``."""
    function = control_function(servo.replace("-", " "))
    return any(moves(named, function) for named in functions_of(setup.channels[number], setup))


def _device(setup: Setup, end: ChannelEnd, number: int) -> Feeding:
    works = (*PROVIDES[end.device.kind], *_CATCH_ALL)
    meant = tuple(
        channel
        for channel, entry in setup.channels.items()
        if set(functions_of(entry, setup)) & set(works)
    )
    return Feeding(
        end,
        number,
        (),
        meant,
        fits=number in meant,
        steers=end.device.kind == "engine-controller"
        or any(map(steers, functions_of(setup.channels[number], setup))),
    )
