"""How a gyro box sits, what it was told about it, and what it therefore believes it feels.

Body axes: x forward, y right, z down, right-handed (ISO 1151, from memory). Positive rates:
roll p right wing down, pitch q nose up, yaw r nose right.

Device axes, fixed to the box: x points the way the plugs face, z points away from the label,
y = z cross x. So plugs forward with label up is the identity, and y is the right-hand side seen
by someone who looks down on the label with the plugs pointing away from them.

A box fitted square to the aircraft sits in one of 24 ways: 6 faces times 4 turns. The other 24 of
the 48 signed permutation matrices are mirror images (determinant -1), which no fitting can give.
"""

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Final, Literal, NamedTuple

Vector = tuple[int, int, int]
Matrix = tuple[Vector, Vector, Vector]
Axis = Literal["roll", "pitch", "yaw"]
Motion = Literal["roll right", "roll left", "nose up", "nose down", "nose right", "nose left"]

AXES: Final[tuple[Axis, Axis, Axis]] = ("roll", "pitch", "yaw")
_POSITIVE: Final[tuple[Motion, Motion, Motion]] = ("roll right", "nose up", "nose right")
_NEGATIVE: Final[tuple[Motion, Motion, Motion]] = ("roll left", "nose down", "nose left")


class Direction(StrEnum):
    """A direction in the aircraft, along one of its body axes."""

    FORWARD = "forward"
    AFT = "aft"
    LEFT = "left"
    RIGHT = "right"
    UP = "up"
    DOWN = "down"

    @property
    def vector(self) -> Vector:
        """Return the unit vector in body axes (forward, right, down)."""
        return _VECTOR_OF[self]

    @property
    def opposite(self) -> "Direction":
        """Return the direction that points the other way."""
        return _DIRECTION_OF[_negated(self.vector)]


class ImpossibleMountingError(ValueError):
    """No box can sit as described: faces not at right angles, or a mirror image."""


class Sense(StrEnum):
    """How the device takes a turn about one axis."""

    RIGHT = "right"
    REVERSED = "reversed"
    CROSSED = "crossed"


@dataclass(frozen=True, slots=True)
class Mounting:
    """How a box sits: the proper rotation from device axes to body axes.

    `matrix` is given by rows; its columns are the body directions of the device's x, y and z, so
    body rate = matrix * device rate. Raises `ImpossibleMountingError` for any other matrix.
    """

    matrix: Matrix

    def __post_init__(self) -> None:
        x, y, z = _transposed(self.matrix)
        if not {x, y, z} <= _DIRECTION_OF.keys():
            raise ImpossibleMountingError(
                "The x, y and z arrows do not each lie along one body axis: only a box fitted "
                "square to the aircraft can be described this way."
            )
        arrows = {"x": _DIRECTION_OF[x], "y": _DIRECTION_OF[y], "z": _DIRECTION_OF[z]}
        for first, second in (("x", "y"), ("x", "z"), ("y", "z")):
            _refuse_parallel(
                f"{first} arrow", arrows[first], f"{second} arrow", arrows[second], verb="point"
            )
        if z != _cross(x, y):
            raise ImpossibleMountingError(
                f"Arrows with x {arrows['x']}, y {arrows['y']} and z {arrows['z']} are a mirror "
                f"image: with x {arrows['x']} and y {arrows['y']}, z must point "
                f"{arrows['z'].opposite}. One direction is mistyped, or hides a reversed axis."
            )

    @property
    def plugs(self) -> Direction:
        """Return the way the plugs face (device x)."""
        return _DIRECTION_OF[_transposed(self.matrix)[0]]

    @property
    def right(self) -> Direction:
        """Return the way the right-hand side faces (device y).

        Right-hand as seen looking down on the label with the plugs pointing away.
        """
        return _DIRECTION_OF[_transposed(self.matrix)[1]]

    @property
    def label(self) -> Direction:
        """Return the way the label faces (against device z)."""
        return _DIRECTION_OF[_transposed(self.matrix)[2]].opposite


class AxisBelief(NamedTuple):
    """Where the device's belief about one axis, and so its correction there, comes from.

    Believed rate about `axis` = `sign` (+1 or -1) * true rate about `driven_by`.
    """

    axis: Axis
    sense: Sense
    driven_by: Axis
    sign: int


def mounting_from_faces(
    plugs: Direction, label: Direction, right: Direction | None = None
) -> Mounting:
    """Return the mounting of a box whose plugs and label face these ways.

    `right` may add the way its right-hand side faces (see `Mounting.right`) as a cross-check.
    Raises `ImpossibleMountingError` when two faces lie along one line, or all three make a mirror
    image.
    """
    _refuse_parallel("plugs", plugs, "label", label, verb="face")
    x, z = plugs.vector, label.opposite.vector
    mounting = Mounting(_transposed((x, _cross(z, x), z)))
    if right is None or right == mounting.right:
        return mounting
    _refuse_parallel("plugs", plugs, "right-hand side", right, verb="face")
    _refuse_parallel("label", label, "right-hand side", right, verb="face")
    raise ImpossibleMountingError(
        f"Plugs {plugs}, label {label} and right-hand side {right} are a mirror image of the box: "
        f"with plugs {plugs} and label {label} its right-hand side faces {mounting.right}. "
        "One face is mistyped."
    )


def mounting_from_arrows(x: Direction, y: Direction, z: Direction) -> Mounting:
    """Return the mounting of a sensor whose printed x, y and z arrows point these ways.

    The arrows are taken as the device axes. Raises `ImpossibleMountingError` when two arrows lie
    along one line, or when the three are left-handed (determinant -1).
    """
    return Mounting(_transposed((x.vector, y.vector, z.vector)))


def all_mountings() -> tuple[Mounting, ...]:
    """Return the 24 ways a box can sit square to the aircraft, by plugs and then label."""
    return tuple(
        mounting_from_faces(plugs, label)
        for plugs in Direction
        for label in Direction
        if label not in (plugs, plugs.opposite)
    )


def belief_matrix(mounting: Mounting, told: Mounting) -> Matrix:
    """Return the matrix (rows: believed; columns: true) from true to believed body rates.

    The device senses mounting^-1 * true rate in its own axes and turns it into body rates by what
    it was told: believed = told * mounting^-1 * true. A rotation's inverse is its transpose.
    """
    row_roll, row_pitch, row_yaw = told.matrix
    return (
        _applied(mounting.matrix, row_roll),
        _applied(mounting.matrix, row_pitch),
        _applied(mounting.matrix, row_yaw),
    )


def beliefs(mounting: Mounting, told: Mounting) -> tuple[AxisBelief, AxisBelief, AxisBelief]:
    """Return for roll, pitch and yaw which true turn drives what the device believes there."""
    row_roll, row_pitch, row_yaw = belief_matrix(mounting, told)
    return _belief("roll", row_roll), _belief("pitch", row_pitch), _belief("yaw", row_yaw)


def felt(mounting: Mounting, told: Mounting) -> tuple[tuple[Motion, Motion], ...]:
    """Return what the device believes happens when the aircraft is turned by hand.

    Three pairs (true motion, believed motion), for roll right, nose up and nose right in turn.
    """
    columns = _transposed(belief_matrix(mounting, told))
    return tuple(
        (true_motion, _motion(believed))
        for true_motion, believed in zip(_POSITIVE, columns, strict=True)
    )


def cross_coupling(angle_rad: float) -> float:
    """Return the largest share (0 to 1) of one axis's rate that a tilted device feels elsewhere.

    A tilt by angle e (rad, either way, about any line) turns no axis by more than e, so no more
    than sin e of a rate leaks into the other axes; a tilt about a body axis reaches it. From a
    right angle on the share is 1: it never falls again, as a bare sine would.
    """
    return math.sin(min(abs(angle_rad), math.pi / 2))


def tilt_angle(roll_rad: float, pitch_rad: float, yaw_rad: float) -> float:
    """Return the angle (rad, 0 to pi) of the one turn that three tilts make together.

    The tilts are taken as yaw, then pitch, then roll, each about the turned box. Half the angle
    comes from the unit quaternion of the three half turns (derived: product of the quaternions);
    taken from its sine and cosine, for an inverse cosine alone is coarse at small angles.
    """
    cr, sr = math.cos(roll_rad / 2), math.sin(roll_rad / 2)
    cp, sp = math.cos(pitch_rad / 2), math.sin(pitch_rad / 2)
    cy, sy = math.cos(yaw_rad / 2), math.sin(yaw_rad / 2)
    real = cr * cp * cy + sr * sp * sy
    along = (
        sr * cp * cy - cr * sp * sy,
        cr * sp * cy + sr * cp * sy,
        cr * cp * sy - sr * sp * cy,
    )
    return 2 * math.atan2(math.hypot(*along), abs(real))


def _belief(axis: Axis, row: Vector) -> AxisBelief:
    source, sign = _only_entry(row)
    driven_by = AXES[source]
    if driven_by != axis:
        return AxisBelief(axis, Sense.CROSSED, driven_by, sign)
    return AxisBelief(axis, Sense.RIGHT if sign > 0 else Sense.REVERSED, driven_by, sign)


def _motion(rate: Vector) -> Motion:
    index, sign = _only_entry(rate)
    return _POSITIVE[index] if sign > 0 else _NEGATIVE[index]


def _only_entry(vector: Vector) -> tuple[int, int]:
    return next((index, entry) for index, entry in enumerate(vector) if entry)


def _refuse_parallel(
    first: str, first_way: Direction, second: str, second_way: Direction, *, verb: str
) -> None:
    if first_way not in (second_way, second_way.opposite):
        return
    relation = "the same way" if first_way == second_way else "opposite ways"
    raise ImpossibleMountingError(
        f"The {first} ({first_way}) and the {second} ({second_way}) cannot {verb} "
        f"{relation}: they are at right angles to each other on the box."
    )


def _applied(matrix: Matrix, vector: Vector) -> Vector:
    a, b, c = vector
    (xx, xy, xz), (yx, yy, yz), (zx, zy, zz) = matrix
    return (
        xx * a + xy * b + xz * c,
        yx * a + yy * b + yz * c,
        zx * a + zy * b + zz * c,
    )


def _transposed(matrix: Matrix) -> Matrix:
    (xx, xy, xz), (yx, yy, yz), (zx, zy, zz) = matrix
    return ((xx, yx, zx), (xy, yy, zy), (xz, yz, zz))


def _cross(a: Vector, b: Vector) -> Vector:
    return (
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    )


def _negated(vector: Vector) -> Vector:
    return (-vector[0], -vector[1], -vector[2])


_VECTOR_OF: Final[dict[Direction, Vector]] = {
    Direction.FORWARD: (1, 0, 0),
    Direction.AFT: (-1, 0, 0),
    Direction.RIGHT: (0, 1, 0),
    Direction.LEFT: (0, -1, 0),
    Direction.DOWN: (0, 0, 1),
    Direction.UP: (0, 0, -1),
}
_DIRECTION_OF: Final[dict[Vector, Direction]] = {
    vector: direction for direction, vector in _VECTOR_OF.items()
}
