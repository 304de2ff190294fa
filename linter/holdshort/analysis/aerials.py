"""How well aerials catch a field of any direction, and how far receivers are from each other.

An aerial is a line: it takes the share |e.a| of the voltage of a field along e, both unit vectors
(polarisation loss factor, Balanis, Antenna Theory, section 2.12, from memory; read on a mailing
list of radio amateurs). Nulls of the pattern along the wire and shading by carbon, metal or fuel
are left out: they make it worse, never better.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations
from typing import Final, NamedTuple

from holdshort.analysis.mounting import Direction
from holdshort.analysis.vectors import cross, dot
from holdshort.setup import Fitted, Place
from holdshort.setup.parts import Receiver
from holdshort.setup.sections import Aerial, Place3

Vector3 = tuple[float, float, float]

_FLAT: Final = 1e-9
"""A triple product of unit vectors below this is none: they lie in one plane."""
_INSIDE: Final = 1e-9
_AXES: Final[tuple[tuple[str, str], ...]] = (
    ("forward", "aft"), ("right", "left"), ("down", "up"),
)  # fmt: skip
_LINES: Final = {
    "forward": "fore and aft", "aft": "fore and aft", "left": "left and right",
    "right": "left and right", "up": "up and down", "down": "up and down",
}  # fmt: skip


class FittedAerial(NamedTuple):
    """One aerial of a receiver: its unit vector in body axes (forward, right, down), and where.

    ``vector`` is None where the directions it is said to lie between cancel out.
    """

    receiver: str
    number: int
    aerial: Aerial
    vector: Vector3 | None
    place: Place

    @property
    def words(self) -> str:
        """The way it points, in words."""
        return " and ".join(self.aerial.points)


class WorstField(NamedTuple):
    """The field that a set of aerials catches least: its direction, and the loss in decibels.

    The loss is infinite for a field that none of them catches.
    """

    vector: Vector3
    loss: float


class Apart(NamedTuple):
    """How far two receivers are apart, in metres: at least, and exactly where that is known."""

    least: float
    exact: float | None


def aerials_of(receivers: Iterable[Fitted]) -> tuple[FittedAerial, ...]:
    """Return every declared aerial of ``receivers``."""
    return tuple(
        FittedAerial(
            receiver.name, index, aerial, direction(aerial.points), receiver.at("aerials", index)
        )
        for receiver in receivers
        for index, aerial in enumerate(receiver.device.aerials or ())
        if isinstance(receiver.part, Receiver)
    )


def direction(points: Sequence[str]) -> Vector3 | None:
    """Return the unit vector half-way between ``points``, or None where they cancel out."""
    vectors = [Direction(point).vector for point in points]
    x, y, z = (float(sum(vector[axis] for vector in vectors)) for axis in range(3))
    length = math.hypot(x, y, z)
    return (x / length, y / length, z / length) if length else None


def angle_between(one: Vector3, other: Vector3) -> float:
    """Return the angle between two lines, in radians, from 0 to a right angle."""
    return math.atan2(math.hypot(*cross(one, other)), abs(dot(one, other)))


def polarisation_loss(angle: float) -> float:
    """Return the loss in decibels between an aerial and a field at ``angle`` (radians) to it.

    -20 log10 |cos a|; infinite at a right angle.
    """
    return _decibels(abs(math.cos(angle)))


def worst_in_plane(angle: float) -> float:
    """Return the worst loss in decibels of two lines at ``angle`` for fields in their plane.

    The worst field is at right angles to the line half-way between them, so it makes the angle
    (pi - angle) / 2 with each: a loss of -20 log10 sin (angle / 2). Radians, 0 to a right angle.
    """
    return _decibels(math.sin(angle / 2))


def worst_field(vectors: Sequence[Vector3]) -> WorstField:
    """Return the field that the best of ``vectors`` (unit, at least one) still catches least.

    max |e.a| is a norm of e. Its unit ball is a polyhedron, and the field of least norm on the
    unit sphere points to the corner farthest from the middle; each corner lies on three faces
    e.a = +-1. With all lines in one plane the field across it is lost.
    """
    blind = _across_all(vectors)
    if blind is not None:
        return WorstField(blind, math.inf)
    corner = max(_corners(vectors), key=lambda found: math.hypot(*found))
    length = math.hypot(*corner)
    return WorstField(_scaled(corner, 1 / length), 20 * math.log10(length))


def axis_words(vector: Vector3) -> str:
    """Return a line in words: ``up and down``, or ``between forward and up``."""
    largest = max(abs(component) for component in vector)
    sign = next(1 if part > 0 else -1 for part in vector if abs(part) > largest / 2)
    named = [
        pair[0] if sign * component > 0 else pair[1]
        for component, pair in zip(vector, _AXES, strict=True)
        if abs(component) > largest / 2
    ]
    if len(named) == 1:
        return _LINES[named[0]]
    return f"between {', '.join(named[:-1])} and {named[-1]}"


def distance(one: Place3 | None, other: Place3 | None) -> Apart:
    """Return how far two places are apart; coordinates that are not declared may be anything."""
    known: list[float] = []
    for axis in ("station", "side", "height"):
        here, there = (getattr(place, axis, None) for place in (one, other))
        if here is not None and there is not None:
            known.append(float(here) - float(there))
    least = math.hypot(*known)
    return Apart(least, least if len(known) == len(_AXES) else None)


def _decibels(share: float) -> float:
    return -20 * math.log10(share) + 0.0 if share > 0 else math.inf


def _across_all(vectors: Sequence[Vector3]) -> Vector3 | None:
    """Return a unit vector at right angles to all of ``vectors``, or None where there is none."""
    for triple in combinations(vectors, 3):
        if abs(dot(triple[0], cross(triple[1], triple[2]))) > _FLAT:
            return None
    crosses = [cross(one, other) for one, other in combinations(vectors, 2)]
    longest = max(crosses, key=lambda found: math.hypot(*found), default=(0.0, 0.0, 0.0))
    if math.hypot(*longest) <= _FLAT:
        x, y, z = vectors[0]
        longest = cross(vectors[0], (0.0, 0.0, 1.0) if abs(z) < max(abs(x), abs(y)) else (1, 0, 0))
    return _scaled(longest, 1 / math.hypot(*longest))


def _corners(vectors: Sequence[Vector3]) -> Iterator[Vector3]:
    """Yield the corners of the polyhedron |e.a| <= 1, one of each opposite pair."""
    for one, two, three in combinations(vectors, 3):
        volume = dot(one, cross(two, three))
        if abs(volume) <= _FLAT:
            continue
        faces = (cross(two, three), cross(three, one), cross(one, two))
        for second in (1.0, -1.0):
            for third in (1.0, -1.0):
                corner = _sum(faces, (1 / volume, second / volume, third / volume))
                if all(abs(dot(corner, vector)) <= 1 + _INSIDE for vector in vectors):
                    yield corner


def _sum(vectors: Sequence[Vector3], weights: Sequence[float]) -> Vector3:
    x, y, z = (
        sum(weight * vector[axis] for weight, vector in zip(weights, vectors, strict=True))
        for axis in range(3)
    )
    return x, y, z


def _scaled(a: Vector3, factor: float) -> Vector3:
    return (a[0] * factor, a[1] * factor, a[2] * factor)
