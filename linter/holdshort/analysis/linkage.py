"""An arm, a pushrod and a horn: what the servo's turn makes of the surface, through the travel.

All is measured in the plane of the linkage at neutral, with the pushrod along x. The servo's axis
is the origin; the hole of its arm stands at ``a (sin A, cos A)`` with ``A = arm_angle + turn``; the
hole of the horn stands at ``h (sin B, cos B)`` from the hinge, ``B = horn_angle + turn``. Positive
turns push: arm, pushrod and horn move toward the surface. Both angles are from square to the
pushrod. Arm and horn are on the same side of the line through both axes.

With the length p of the pushrod the four bars are exact: the holes stay p apart. Where it is not
known, the pushrod is taken as so long that it stays parallel to itself, so that the holes move
alike along it: ``a (sin A - sin arm_angle) = h (sin B - sin horn_angle)``.

The surface turns ``ratio`` times as fast as the servo: the holes have the same speed along the
pushrod, so ``ratio = a cos(A + l) / (h cos(B + l))`` with l the tilt of the pushrod. By virtual
work a moment H on the surface asks the servo for a torque H times ``ratio``, friction left out.
Where the arm is in line with the pushrod, it moves the surface no further; where the horn is, no
torque of the servo holds it. Both are dead centres. (Derived: plane statics.)
"""

import math
from collections.abc import Callable, Iterator
from functools import lru_cache
from typing import Final, Literal, NamedTuple

STEPS: Final = 30
"""Into how many equal steps a travel is divided."""

_SQUARE: Final = math.pi / 2.0
_HALVINGS: Final = 40
_NEAR: Final = 1e-6
"""An arm or horn this near the line of the pushrod, rad, is in it."""

DeadCentre = Literal["", "arm", "horn"]
Driven = Literal["surface", "arm"]


class LinkGeometry(NamedTuple):
    """A linkage at neutral: radii and pushrod in m, angles from square to the pushrod in rad.

    ``arm_angle`` is positive toward the surface, ``horn_angle`` positive away from the servo.
    ``pushrod`` is None where its length is not known.
    """

    arm: float
    horn: float
    arm_angle: float = 0.0
    horn_angle: float = 0.0
    pushrod: float | None = None


class LinkPosition(NamedTuple):
    """One position of a linkage; angles in rad, turns from neutral with pushing positive.

    ``ratio`` is how much the surface turns for a small turn of the servo. ``arm_off`` and
    ``horn_off`` are how far arm and horn are off square to the pushrod, without sign.
    """

    surface: float
    arm: float
    ratio: float
    arm_off: float
    horn_off: float


class LinkTravel(NamedTuple):
    """A linkage from neutral to the end of its travel, or to where it stops short of it.

    ``dead_centre`` is ``arm`` or ``horn`` where that comes in line with the pushrod on the way;
    ``stop`` is then the turn at which it does, rad, of what is driven. ``positions`` are those
    before it; there is none where the linkage is at a dead centre at neutral.
    """

    positions: tuple[LinkPosition, ...]
    dead_centre: DeadCentre
    stop: float | None


def surface_turn(link: LinkGeometry, arm: float) -> float | None:
    """Return the turn of the surface, rad, for a turn of the servo's arm, rad.

    None where the linkage cannot get there.
    """
    if link.pushrod is None:
        shift = link.arm * (math.sin(link.arm_angle + arm) - math.sin(link.arm_angle))
        return _parallel(link.horn, link.horn_angle, shift)
    hinge = _hinge(link, link.pushrod)
    hole = _hole(link.arm, link.arm_angle + arm)
    rest = _hole(link.arm, link.arm_angle)
    return _meeting(
        link.horn,
        link.horn_angle,
        (hole[0] - hinge[0], hole[1] - hinge[1]),
        (rest[0] - hinge[0], rest[1] - hinge[1]),
        link.pushrod,
    )


def arm_turn(link: LinkGeometry, surface: float) -> float | None:
    """Return the turn of the servo's arm, rad, for a turn of the surface, rad.

    None where the linkage cannot get there.
    """
    if link.pushrod is None:
        shift = link.horn * (math.sin(link.horn_angle + surface) - math.sin(link.horn_angle))
        return _parallel(link.arm, link.arm_angle, shift)
    hinge = _hinge(link, link.pushrod)
    hole = _hole(link.horn, link.horn_angle + surface)
    rest = _hole(link.horn, link.horn_angle)
    return _meeting(
        link.arm,
        link.arm_angle,
        (hinge[0] + hole[0], hinge[1] + hole[1]),
        (hinge[0] + rest[0], hinge[1] + rest[1]),
        link.pushrod,
    )


@lru_cache(maxsize=256)  # both halves of a pair are alike, and so are many aircraft
def travel(link: LinkGeometry, end: float, driven: Driven) -> LinkTravel:
    """Return the linkage from neutral until what is ``driven`` has turned by ``end``, rad."""
    found: list[LinkPosition] = []
    for step in range(STEPS + 1):
        turn = end * step / STEPS
        position = _position(link, turn, driven)
        dead = _dead(position)
        if position is None or dead:
            return _stopped(link, driven, found, (end * max(step - 1, 0) / STEPS, turn))
        found.append(position)
    return LinkTravel(tuple(found), "", None)


def _stopped(
    link: LinkGeometry, driven: Driven, found: list[LinkPosition], between: tuple[float, float]
) -> LinkTravel:
    """Return a travel that ends at a dead centre between two turns, the first within it."""
    near, far = between
    for _ in range(_HALVINGS if found else 0):
        middle = (near + far) / 2.0
        position = _position(link, middle, driven)
        if position is None or _dead(position):
            far = middle
        else:
            near = middle
    last = _position(link, near, driven)
    if last is None:
        return LinkTravel(tuple(found), "arm", near)
    return LinkTravel(tuple(found), "arm" if last.arm_off >= last.horn_off else "horn", near)


def _position(link: LinkGeometry, turn: float, driven: Driven) -> LinkPosition | None:
    """Return the position in which what is driven has turned by ``turn``, or None."""
    other: Callable[[LinkGeometry, float], float | None]
    other = surface_turn if driven == "arm" else arm_turn
    found = other(link, turn)
    if found is None:
        return None
    arm, surface = (turn, found) if driven == "arm" else (found, turn)
    tilt = _tilt(link, arm, surface)
    at_arm = _wrapped(link.arm_angle + arm + tilt)
    at_horn = _wrapped(link.horn_angle + surface + tilt)
    across = link.horn * math.cos(at_horn)
    ratio = link.arm * math.cos(at_arm) / across if across else math.inf
    return LinkPosition(surface, arm, ratio, abs(at_arm), abs(at_horn))


def _dead(position: LinkPosition | None) -> bool:
    return position is not None and max(position.arm_off, position.horn_off) >= _SQUARE - _NEAR


def _tilt(link: LinkGeometry, arm: float, surface: float) -> float:
    """Return how far the pushrod has tilted from neutral, rad; zero where it is taken as long."""
    if link.pushrod is None:
        return 0.0
    hinge = _hinge(link, link.pushrod)
    one = _hole(link.arm, link.arm_angle + arm)
    other = _hole(link.horn, link.horn_angle + surface)
    return math.atan2(hinge[1] + other[1] - one[1], hinge[0] + other[0] - one[0])


def _hole(radius: float, angle: float) -> tuple[float, float]:
    return radius * math.sin(angle), radius * math.cos(angle)


def _hinge(link: LinkGeometry, pushrod: float) -> tuple[float, float]:
    """Return where the hinge is: at neutral the pushrod joins the holes along x."""
    one, other = _hole(link.arm, link.arm_angle), _hole(link.horn, link.horn_angle)
    return one[0] + pushrod - other[0], one[1] - other[1]


def _parallel(radius: float, angle: float, shift: float) -> float | None:
    """Return how far a hole turns that moves by ``shift`` along a pushrod that does not tilt."""
    sine = math.sin(angle) + shift / radius
    return math.asin(sine) - angle if abs(sine) <= 1.0 else None


def _meeting(
    radius: float,
    angle: float,
    to: tuple[float, float],
    at_rest: tuple[float, float],
    pushrod: float,
) -> float | None:
    """Return how far a hole turns to stay a pushrod's length from a point.

    ``to`` is where that point is from the axis of the hole, ``at_rest`` where it was at neutral:
    of the two places that are right by their distance, the hole is on the side that it was on.
    """
    inside = _between(radius, to, pushrod)
    if inside is None:
        return None
    side = 1.0 if _wrapped(angle - _bearing(at_rest)) >= 0.0 else -1.0
    return _wrapped(_bearing(to) + side * inside - angle)


def _between(radius: float, to: tuple[float, float], pushrod: float) -> float | None:
    """Return the angle between a hole and a point that is a pushrod's length away: cosine rule."""
    distance = math.hypot(*to)
    if distance == 0.0:
        return None
    cosine = (radius * radius + distance * distance - pushrod * pushrod) / (2.0 * radius * distance)
    return math.acos(cosine) if abs(cosine) <= 1.0 else None


def _bearing(to: tuple[float, float]) -> float:
    return math.atan2(to[0], to[1])


def _wrapped(angle: float) -> float:
    """Return an angle between -pi and pi."""
    return math.remainder(angle, 2.0 * math.pi)


def advantages(positions: tuple[LinkPosition, ...]) -> Iterator[float]:
    """Yield the mechanical advantage in each position over that at neutral."""
    rest = positions[0].ratio
    for position in positions:
        yield rest / position.ratio
