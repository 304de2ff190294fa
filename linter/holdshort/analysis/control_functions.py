"""Which servos and devices do what for the pilot: pitch, roll, yaw, engine, steering and so on."""

from collections.abc import Iterator, Mapping
from typing import Final, NamedTuple

from holdshort.analysis.channel_ends import ChannelEnd
from holdshort.analysis.failsafes import functions_of
from holdshort.setup import Setup
from holdshort.setup.functions import control_function
from holdshort.setup.sections import Surface

PITCH: Final = "pitch"
ROLL: Final = "roll"
YAW: Final = "yaw"
THROTTLE: Final = "throttle"
SHUT_DOWN: Final = "engine shut-down"
FLIGHT: Final = (PITCH, ROLL)
"""The functions without which no aircraft is under control."""

FUNCTIONS: Final = (
    PITCH, ROLL, YAW, SHUT_DOWN, THROTTLE, "steering", "brake", "gear", "flap", "airbrake",
    "nozzle", "release",
)  # fmt: skip
"""Every control function, in the order of the table."""

SERVES: Final[Mapping[str, tuple[str, ...]]] = {
    "elevator": (PITCH,),
    "canard": (PITCH,),
    "aileron": (ROLL,),
    "elevon": (PITCH, ROLL),
    "taileron": (PITCH, ROLL),
    "flaperon": (ROLL, "flap"),
    "ruddervator": (PITCH, YAW),
    "v-tail": (PITCH, YAW),
    "inverted v-tail": (PITCH, YAW),
    "rudder": (YAW,),
    "throttle": (THROTTLE, SHUT_DOWN),
    "engine stop": (SHUT_DOWN,),
    "ignition": (SHUT_DOWN,),
    "fuel valve": (SHUT_DOWN,),
    "nose steering": ("steering",),
    "nose wheel": ("steering",),
    "tail wheel": ("steering",),
    "steering": ("steering",),
    "brake": ("brake",),
    "brakes": ("brake",),
    "gear": ("gear",),
    "flap": ("flap",),
    "slat": ("flap",),
    "airbrake": ("airbrake",),
    "spoiler": ("airbrake",),
    "nozzle": ("nozzle",),
    "pitch nozzle": ("nozzle",),
    "yaw nozzle": ("nozzle",),
    "tow release": ("release",),
    "drop": ("release",),
}
"""What moving each part of the aircraft is for (the trade's words; common practice, no source).

A nozzle counts apart: it steers only while the engine runs.
"""


class Effector(NamedTuple):
    """One thing that serves control functions: a surface, or a device on a channel.

    ``ends`` are the numbers of the channel ends that move it, any one of which does. ``side`` is
    ``left``, ``right`` or empty.
    """

    name: str
    part: str
    serves: tuple[str, ...]
    side: str
    ends: tuple[int, ...]


def effectors(setup: Setup, ends: tuple[ChannelEnd, ...]) -> tuple[Effector, ...]:
    """Return everything that serves a control function, surfaces first.

    A surface with several servos is moved as long as one of them works. A servo of no surface, and
    any other device, does what its channel drives.
    """
    return (*_surfaces(setup, ends), *_others(setup, ends))


def _surfaces(setup: Setup, ends: tuple[ChannelEnd, ...]) -> Iterator[Effector]:
    for name, surface in setup.surfaces.items():
        function = control_function(surface.function or name) or ""
        mine = tuple(at for at, end in enumerate(ends) if end.device.name in surface.servo)
        if function in SERVES:
            yield Effector(name, function, SERVES[function], _side(name, surface), mine)


def _others(setup: Setup, ends: tuple[ChannelEnd, ...]) -> Iterator[Effector]:
    on_surfaces = {servo for surface in setup.surfaces.values() for servo in surface.servo}
    for at, end in enumerate(ends):
        entry = setup.channels.get(end.channel) if end.channel is not None else None
        if entry is None or end.device.name in on_surfaces:
            continue
        for function in functions_of(entry, setup):
            if function in SERVES and not _serves_surface(end, function):
                sides = {_side_of(words) for words in entry.channel.drives} - {""}
                side = sides.pop() if len(sides) == 1 else ""
                yield Effector(end.device.name, function, SERVES[function], side, (at,))


def _serves_surface(end: ChannelEnd, function: str) -> bool:
    """True where a device other than a servo is on a channel that moves a surface too."""
    moves_surface = SERVES[function][0] in {PITCH, ROLL, YAW}
    return moves_surface and end.device.kind != "servo"


def _side(name: str, surface: Surface) -> str:
    return surface.side or _side_of(name)


def _side_of(words: str) -> str:
    plain = words.lower().replace("-", " ").replace("_", " ").split()
    return next((word for word in plain if word in {"left", "right"}), "")
