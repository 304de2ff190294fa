"""Which way a control surface must move, from where it sits: the follow rule.

Let the airframe turn at rate w. A part at r from the centre of gravity whose upper side faces n
moves at v = w x r. Its trailing edge toward the lower side makes a force +k n, so a moment r x kn,
whose work rate on the turn is k w.(r x n) = k n.(w x r) = k n.v. A correction must take work out
of the turn: where n.v < 0 the trailing edge goes toward the lower side, where n.v > 0 toward the
upper side. In short, **the trailing edge follows the motion of the part that carries it** (derived;
it leaves out drag, coupling and lag). A stick that asks for a turn wants the opposite movement.

The same holds for rudders (either side may be called upper), the exit of a vectored nozzle and the
rear edge of a steered wheel. Body axes: x forward, y right, z down (ISO 1151, from memory).
Positions are nominal and only their signs count.
"""

from collections.abc import Mapping
from typing import Final, Literal, NamedTuple

from holdshort.analysis.mounting import Axis
from holdshort.analysis.vectors import Vector, cross, dot

Side = Literal["left", "right"]
Way = Literal["up", "down", "left", "right"]

TURN: Final[Mapping[Axis, Vector]] = {
    "roll": (1.0, 0.0, 0.0),
    "pitch": (0.0, 1.0, 0.0),
    "yaw": (0.0, 0.0, 1.0),
}
"""The positive turns in body axes: roll right, nose up, nose right."""

OPPOSITE: Final[Mapping[Way, Way]] = {
    "up": "down",
    "down": "up",
    "left": "right",
    "right": "left",
}

_SPANNING: Final = ("aileron", "elevon", "taileron", "flaperon", "flap")
_V_TAILS: Final = ("v-tail", "ruddervator", "inverted v-tail")
_ALONG_THE_WING: Final = {"aileron": 0.0, "flaperon": 0.0, "flap": 0.0, "elevon": -0.5}

STEERED_IN: Final[Mapping[str, tuple[Axis, ...]]] = {
    "aileron": ("roll",),
    "flaperon": ("roll",),
    "elevator": ("pitch",),
    "canard": ("pitch",),
    "rudder": ("yaw",),
    "elevon": ("roll", "pitch"),
    "taileron": ("roll", "pitch"),
    "v-tail": ("pitch", "yaw"),
    "ruddervator": ("pitch", "yaw"),
    "inverted v-tail": ("pitch", "yaw"),
    "nose wheel": ("yaw",),
    "nose steering": ("yaw",),
    "tail wheel": ("yaw",),
    "pitch nozzle": ("pitch",),
    "yaw nozzle": ("yaw",),
    "flap": (),
}
"""The turns for which the pilot moves a surface of each function. Others have no direction here."""


class MovingPart(NamedTuple):
    """A part that moves: where it sits from the centre of gravity, and its sides.

    ``at`` and ``normal`` are in body axes; ``normal`` is the unit vector out of its upper side.
    ``toward`` is the word for the movement in which the trailing edge goes to the upper side;
    ``phrase`` takes that word, or its opposite.
    """

    at: Vector
    normal: Vector
    toward: Way
    phrase: str

    @property
    def ways(self) -> tuple[Way, Way]:
        """The two words for its movements."""
        return self.toward, OPPOSITE[self.toward]


def moving_part(function: str, side: Side | None) -> MovingPart | None:
    """Return the part of a control function on one side, or None for a function without one.

    ``side`` counts for wings and tails that have two halves; None stands for the middle.
    """
    lateral = {"left": -1.0, "right": 1.0, None: 0.0}[side]
    if function in _SPANNING:
        along = _ALONG_THE_WING.get(function, -1.0)
        return _flat(along, lateral)
    if function in _V_TAILS:
        return _slanted(lateral, rising=function != "inverted v-tail")
    if function == "elevator":
        return _flat(-1.0, lateral / 2)
    if function == "canard":
        return _flat(1.0, lateral / 2)
    return _MIDDLE.get(function)


def following(part: MovingPart, axis: Axis, sign: int) -> Way | None:
    """Return the way of a part that corrects a turn: +1 is roll right, nose up or nose right.

    None where the part does not act on a turn about that axis.
    """
    toward_upper = sign * dot(part.normal, cross(TURN[axis], part.at))
    if toward_upper == 0:
        return None
    return part.toward if toward_upper > 0 else OPPOSITE[part.toward]


def commanding(part: MovingPart, axis: Axis, sign: int) -> Way | None:
    """Return the way of a part that makes the turn which a stick asks for."""
    return following(part, axis, -sign)


def needs_side(function: str, axes: tuple[Axis, ...]) -> bool:
    """True where the way of a surface depends on the side it is on."""
    if function in _V_TAILS:
        return True
    return function in (*_SPANNING, "elevator", "canard") and "roll" in axes


def _flat(along: float, lateral: float) -> MovingPart:
    return MovingPart((along, lateral, 0.0), (0.0, 0.0, -1.0), "up", "trailing edge {}")


def _slanted(lateral: float, *, rising: bool) -> MovingPart:
    """Return one panel of a V-tail, whose upper side faces inward where the panels rise outward."""
    height = -0.6 if rising else 0.6
    normal = (0.0, lateral * height, -0.8)
    return MovingPart((-1.0, 0.8 * lateral, height), normal, "up", "trailing edge {}")


_LEFT: Final = (0.0, -1.0, 0.0)
_UP: Final = (0.0, 0.0, -1.0)
_NOSE: Final = (1.0, 0.0, 0.0)
_TAIL: Final = (-1.0, 0.0, 0.0)
# A nose wheel points right when its rear edge goes left.
_NOSE_WHEEL: Final = MovingPart(_NOSE, _LEFT, "right", "wheel points {}")
_MIDDLE: Final[Mapping[str, MovingPart]] = {
    "rudder": MovingPart(_TAIL, _LEFT, "left", "trailing edge {}"),
    "nose wheel": _NOSE_WHEEL,
    "nose steering": _NOSE_WHEEL,
    "tail wheel": MovingPart(_TAIL, _LEFT, "left", "rear of the wheel {}"),
    "pitch nozzle": MovingPart(_TAIL, _UP, "up", "nozzle exit {}"),
    "yaw nozzle": MovingPart(_TAIL, _LEFT, "left", "nozzle exit {}"),
}
