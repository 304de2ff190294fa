"""What can be measured on board, and the levels at which alarms are set, each with its units."""

import re
from collections.abc import Mapping
from functools import lru_cache
from typing import Annotated, Final, Literal, get_args

from pydantic import BeforeValidator, Field

from holdshort.setup.base import Wording
from holdshort.setup.quantities import (
    CHARGE,
    CURRENT,
    LENGTH,
    SHARE,
    SPEED,
    TEMPERATURE,
    VOLTAGE,
    VOLUME,
    Dimension,
    Quantity,
    QuantityType,
)

ROTATION: Final = Dimension("speed of rotation", {"rpm": 1.0 / 60.0}, "110000 rpm")
STRENGTH: Final = Dimension("signal strength", {"dBm": 1.0}, "-90 dBm")
FRAMES: Final = Dimension("number of frames", {"frames": 1.0, "frame": 1.0}, "50 frames")
PRESSURE: Final = Dimension("pressure", {"bar": 1e5, "kPa": 1e3}, "1.5 bar")

Measured = Literal[
    "voltage", "current", "charge", "temperature", "speed", "fuel", "pump", "link-quality",
    "signal-strength", "lost-frames", "airspeed", "height", "pressure", "position",
]  # fmt: skip
"""What a sensor, a receiver or an engine controller can measure.

``charge`` is what was drawn from a pack, or in per cent what is left in it; ``speed`` is that of an
engine's rotor or shaft.
"""
MEASURES: Final[tuple[str, ...]] = get_args(Measured)


def _listed(value: object) -> object:
    """Let a single word stand where a list may."""
    return (value,) if isinstance(value, str) else value


Measures = Annotated[
    tuple[Measured, ...],
    Field(strict=False),
    BeforeValidator(_listed, json_schema_input_type=Measured | list[Measured]),
]
"""One thing that is measured, or a list of them."""

DIMENSIONS_OF: Final[Mapping[str, tuple[Dimension, ...]]] = {
    "voltage": (VOLTAGE,),
    "current": (CURRENT,),
    "charge": (CHARGE, SHARE),
    "temperature": (TEMPERATURE,),
    "speed": (ROTATION,),
    "fuel": (VOLUME, SHARE),
    "pump": (VOLTAGE, SHARE),
    "link-quality": (SHARE,),
    "signal-strength": (STRENGTH,),
    "lost-frames": (FRAMES,),
    "airspeed": (SPEED,),
    "height": (LENGTH,),
    "pressure": (PRESSURE,),
    "position": (),
}
"""In what each of them is told; a position has no level."""

_UNITS: Final = tuple(
    dict.fromkeys(unit for kinds in DIMENSIONS_OF.values() for kind in kinds for unit in kind.units)
)
_NUMBER: Final = r"[0-9]{1,9}(?:\.[0-9]{1,9})?"

LEVEL: Final = Wording(
    "a level",
    "A number with the unit of what is measured, such as `10.2 V`, `650 degC` or `20 %`.",
    rf"[+-]?{_NUMBER} ?(?:{'|'.join(re.escape(unit) for unit in _UNITS)})",
    ("10.2 V", "650 degC", "110000 rpm", "20 %"),
)
Level = Annotated[str, LEVEL]


@lru_cache(maxsize=1024)  # asked for again and again by a process that stays
def level(text: str, measures: str) -> Quantity | None:
    """Return a level in SI, or None where its unit is none of what is measured.

    ``text`` is of the form :data:`LEVEL`. Rotation is in turns per second, signal strength in dBm,
    and frames are counted.
    """
    unit = text.lstrip("+-.0123456789").strip()
    for dimension in DIMENSIONS_OF[measures]:
        if unit in dimension.units:
            return QuantityType(dimension, signed=True).read(text)
    return None


def is_share(text: str) -> bool:
    """True for a level in per cent."""
    return text.endswith("%")
