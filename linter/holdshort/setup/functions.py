"""Control functions: what a channel drives, read from the owner's own words."""

from functools import lru_cache
from typing import Final

MOVING: Final = (
    "aileron",
    "elevator",
    "rudder",
    "elevon",
    "taileron",
    "flaperon",
    "ruddervator",
    "v-tail",
    "inverted v-tail",
    "canard",
    "flap",
    "slat",
    "airbrake",
    "spoiler",
    "nozzle",
    "pitch nozzle",
    "yaw nozzle",
    "nose steering",
    "nose wheel",
    "tail wheel",
    "steering",
    "gear",
    "gear doors",
    "doors",
    "brake",
    "brakes",
    "canopy",
    "tow release",
    "drop",
)
"""Functions that move part of the aircraft."""

ENGINE: Final = ("throttle", "engine stop", "ignition", "fuel valve", "choke", "mixture")
"""Functions that act on the engine."""

QUIET: Final = (
    "lights",
    "smoke",
    "gyro gain",
    "gyro mode",
    "gyro",
    "sound",
    "camera",
    "sequencer",
    "auxiliary",
    "spare",
)
"""Functions that neither move a surface nor act on the engine."""

ALL: Final = (*MOVING, *ENGINE, *QUIET)


@lru_cache(maxsize=4096)
def control_function(words: str) -> str | None:
    """Return the control function that ``words`` names, or None.

    ``left aileron`` is the function ``aileron``: the longest known function that stands in the
    words counts, singular or plural.
    """
    plain = f" {words.lower().replace('_', ' ')} "
    found = [name for name in ALL if f" {name} " in plain or f" {name}s " in plain]
    return max(found, key=len) if found else None
