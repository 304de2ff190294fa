"""Mountings against published tables and against SciPy's rotations.

Sources are named beside each check, with the confidence of the reference row.
"""

import itertools
import math

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from holdshort.analysis.mounting import (
    AXES,
    AxisBelief,
    Direction,
    ImpossibleMountingError,
    Matrix,
    Mounting,
    Sense,
    all_mountings,
    beliefs,
    cross_coupling,
    felt,
    mounting_from_arrows,
    mounting_from_faces,
)

# Body axes: x forward, y right, z down, right-handed. Source (FOUND):
# https://aircraftflightmechanics.com/StaticStability/Angles.html ; ISO 1151 from memory.
BODY = {
    "forward": (1.0, 0.0, 0.0),
    "aft": (-1.0, 0.0, 0.0),
    "right": (0.0, 1.0, 0.0),
    "left": (0.0, -1.0, 0.0),
    "down": (0.0, 0.0, 1.0),
    "up": (0.0, 0.0, -1.0),
}

# Table of the 24 mountings: body direction of the sensor's x, y, z arrows; then body rates
# p, q, r from the sensor's rates (+z: plus the rate about sensor z). Confidence DERIVED:
# reference table by enumeration of 48 signed permutations with determinant +1;
# count of 24 FOUND: https://en.wikipedia.org/wiki/File:Cube_permutation_3_5.svg
TABLE = [
    (1, "forward", "up", "right", "+x", "+z", "-y"),
    (2, "forward", "down", "left", "+x", "-z", "+y"),
    (3, "forward", "right", "down", "+x", "+y", "+z"),
    (4, "forward", "left", "up", "+x", "-y", "-z"),
    (5, "aft", "down", "right", "-x", "+z", "+y"),
    (6, "aft", "up", "left", "-x", "-z", "-y"),
    (7, "aft", "left", "down", "-x", "-y", "+z"),
    (8, "aft", "right", "up", "-x", "+y", "-z"),
    (9, "right", "down", "forward", "+z", "+x", "+y"),
    (10, "right", "up", "aft", "-z", "+x", "-y"),
    (11, "right", "aft", "down", "-y", "+x", "+z"),
    (12, "right", "forward", "up", "+y", "+x", "-z"),
    (13, "left", "up", "forward", "+z", "-x", "-y"),
    (14, "left", "down", "aft", "-z", "-x", "+y"),
    (15, "left", "forward", "down", "+y", "-x", "+z"),
    (16, "left", "aft", "up", "-y", "-x", "-z"),
    (17, "down", "left", "forward", "+z", "-y", "+x"),
    (18, "down", "right", "aft", "-z", "+y", "+x"),
    (19, "down", "forward", "right", "+y", "+z", "+x"),
    (20, "down", "aft", "left", "-y", "-z", "+x"),
    (21, "up", "right", "forward", "+z", "+y", "-x"),
    (22, "up", "left", "aft", "-z", "-y", "-x"),
    (23, "up", "aft", "right", "-y", "+z", "-x"),
    (24, "up", "forward", "left", "+y", "-z", "-x"),
]

OPPOSITE = {
    "forward": "aft",
    "aft": "forward",
    "left": "right",
    "right": "left",
    "up": "down",
    "down": "up",
}


def seen_rate(formula: str, sensor_rate: tuple[int, int, int]) -> int:
    value = sensor_rate["xyz".index(formula[1])]
    return value if formula[0] == "+" else -value


@pytest.mark.parametrize(("row", "x", "y", "z", "p", "q", "r"), TABLE)
def test_the_table_of_24(row: int, x: str, y: str, z: str, p: str, q: str, r: str) -> None:
    mounting = mounting_from_arrows(Direction(x), Direction(y), Direction(z))

    sensor_rate = (2, 3, 5)
    body_rate = np.array(mounting.matrix) @ sensor_rate
    assert body_rate.tolist() == [seen_rate(formula, sensor_rate) for formula in (p, q, r)]
    assert np.array(mounting.matrix).T.tolist() == [list(BODY[arrow]) for arrow in (x, y, z)]


@pytest.mark.parametrize(("row", "x", "y", "z", "p", "q", "r"), TABLE)
def test_the_table_of_24_by_faces(row: int, x: str, y: str, z: str, p: str, q: str, r: str) -> None:
    by_faces = mounting_from_faces(Direction(x), Direction(OPPOSITE[z]))

    assert by_faces == mounting_from_arrows(Direction(x), Direction(y), Direction(z))
    assert (by_faces.plugs, by_faces.right, by_faces.label) == (x, y, OPPOSITE[z])


@pytest.mark.parametrize(("row", "x", "y", "z", "p", "q", "r"), TABLE)
def test_a_sensor_fitted_by_the_table_and_read_as_if_square(
    row: int, x: str, y: str, z: str, p: str, q: str, r: str
) -> None:
    # The table gives the body rate from the sensor's. A device told "x forward, y right, z down"
    # takes the sensor's rates for body rates, so its belief about roll is the sensor's x rate:
    # driven by the one body rate whose formula names x, with that formula's sign.
    told = mounting_from_arrows(Direction.FORWARD, Direction.RIGHT, Direction.DOWN)
    mounting = mounting_from_arrows(Direction(x), Direction(y), Direction(z))

    by_sensor_axis = {
        formula[1]: (axis, 1 if formula[0] == "+" else -1)
        for axis, formula in (("roll", p), ("pitch", q), ("yaw", r))
    }
    assert [(belief.driven_by, belief.sign) for belief in beliefs(mounting, told)] == [
        by_sensor_axis[arrow] for arrow in "xyz"
    ]


def test_axes_are_in_the_order_of_body_x_y_z() -> None:
    assert AXES == ("roll", "pitch", "yaw")


def test_the_table_lists_every_mounting_once() -> None:
    by_arrows = [
        mounting_from_arrows(Direction(x), Direction(y), Direction(z)) for _, x, y, z, *_ in TABLE
    ]

    assert len(by_arrows) == 24
    assert set(by_arrows) == set(all_mountings())


# Source: SciPy 1.17.1 Rotation.create_group('O') (octahedral rotation group, order 24: e, 6 C4,
# 3 C4^2, 8 C3, 6 C2). Confidence DERIVED.
GROUP_OF_24: list[Matrix] = [
    ((-1, 0, 0), (0, -1, 0), (0, 0, 1)),
    ((-1, 0, 0), (0, 0, -1), (0, -1, 0)),
    ((-1, 0, 0), (0, 0, 1), (0, 1, 0)),
    ((-1, 0, 0), (0, 1, 0), (0, 0, -1)),
    ((0, -1, 0), (-1, 0, 0), (0, 0, -1)),
    ((0, -1, 0), (0, 0, -1), (1, 0, 0)),
    ((0, -1, 0), (0, 0, 1), (-1, 0, 0)),
    ((0, -1, 0), (1, 0, 0), (0, 0, 1)),
    ((0, 0, -1), (-1, 0, 0), (0, 1, 0)),
    ((0, 0, -1), (0, -1, 0), (-1, 0, 0)),
    ((0, 0, -1), (0, 1, 0), (1, 0, 0)),
    ((0, 0, -1), (1, 0, 0), (0, -1, 0)),
    ((0, 0, 1), (-1, 0, 0), (0, -1, 0)),
    ((0, 0, 1), (0, -1, 0), (1, 0, 0)),
    ((0, 0, 1), (0, 1, 0), (-1, 0, 0)),
    ((0, 0, 1), (1, 0, 0), (0, 1, 0)),
    ((0, 1, 0), (-1, 0, 0), (0, 0, 1)),
    ((0, 1, 0), (0, 0, -1), (-1, 0, 0)),
    ((0, 1, 0), (0, 0, 1), (1, 0, 0)),
    ((0, 1, 0), (1, 0, 0), (0, 0, -1)),
    ((1, 0, 0), (0, -1, 0), (0, 0, -1)),
    ((1, 0, 0), (0, 0, -1), (0, 1, 0)),
    ((1, 0, 0), (0, 0, 1), (0, -1, 0)),
    ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
]
ANGLE_HISTOGRAM_DEG = {0: 1, 90: 6, 120: 8, 180: 9}
TRACE_HISTOGRAM = {3: 1, 1: 6, 0: 8, -1: 9}


def as_integers(matrix: "np.ndarray[tuple[int, ...], np.dtype[np.float64]]") -> Matrix:
    whole = np.rint(matrix)
    assert np.allclose(matrix, whole, atol=1e-12)
    rows = [(int(a), int(b), int(c)) for a, b, c in whole]
    return (rows[0], rows[1], rows[2])


def test_all_mountings_are_the_recorded_rotation_group() -> None:
    assert {mounting.matrix for mounting in all_mountings()} == set(GROUP_OF_24)


def test_all_mountings_are_the_octahedral_group_of_scipy() -> None:
    group = {as_integers(matrix) for matrix in Rotation.create_group("O").as_matrix()}

    assert len(group) == 24
    assert {mounting.matrix for mounting in all_mountings()} == group


def test_traces_and_angles_of_all_mountings() -> None:
    matrices = [np.array(mounting.matrix) for mounting in all_mountings()]
    traces = [int(np.trace(matrix)) for matrix in matrices]
    angles = [
        round(math.degrees(float(Rotation.from_matrix(matrix).magnitude()))) for matrix in matrices
    ]

    assert {trace: traces.count(trace) for trace in set(traces)} == TRACE_HISTOGRAM
    assert {angle: angles.count(angle) for angle in set(angles)} == ANGLE_HISTOGRAM_DEG


def test_of_48_signed_permutations_24_sit_and_24_are_mirrored() -> None:
    # Source: hyperoctahedral group B3, order 48. Confidence DERIVED.
    sits = mirrored = 0
    for order in itertools.permutations(range(3)):
        for signs in itertools.product((1, -1), repeat=3):
            matrix = np.zeros((3, 3))
            matrix[range(3), order] = signs
            if np.linalg.det(matrix) > 0:
                assert Mounting(as_integers(matrix)) in all_mountings()
                sits += 1
                continue
            with pytest.raises(ImpossibleMountingError, match="mirror image"):
                Mounting(as_integers(matrix))
            mirrored += 1

    assert (sits, mirrored) == (24, 24)


def fitted_by_turns(yaw_deg: int, pitch_deg: int, roll_deg: int) -> Matrix:
    turn = Rotation.from_euler("ZYX", [yaw_deg, pitch_deg, roll_deg], degrees=True)
    return as_integers(turn.as_matrix())


def test_64_quarter_turn_triples_give_each_mounting() -> None:
    # Source: enumeration with SciPy from_euler("ZYX"): 64 triples, 24 orientations. DERIVED.
    triples = list(itertools.product((0, 90, 180, 270), repeat=3))
    reached = {Mounting(fitted_by_turns(*triple)) for triple in triples}

    assert len(triples) == 64
    assert len(reached) == 24
    assert reached == set(all_mountings())


# Source: SciPy 1.17.1 Rotation.from_euler, intrinsic ZYX: body = Rz(yaw) Ry(pitch) Rx(roll) sensor.
# Confidence DERIVED. Columns: yaw, pitch, roll in degrees; where the sensor's x, y, z arrows point
# (vectors named by the body axes above); the matrix by rows.
@pytest.mark.parametrize(
    ("turns", "x", "y", "z", "matrix"),
    [
        ((90, 0, 0), "right", "aft", "down", ((0, -1, 0), (1, 0, 0), (0, 0, 1))),
        ((0, 0, 180), "forward", "left", "up", ((1, 0, 0), (0, -1, 0), (0, 0, -1))),
        ((0, 90, 0), "up", "right", "forward", ((0, 0, 1), (0, 1, 0), (-1, 0, 0))),
        ((90, 0, 180), "right", "forward", "up", ((0, 1, 0), (1, 0, 0), (0, 0, -1))),
        ((0, 0, 90), "forward", "down", "left", ((1, 0, 0), (0, 0, -1), (0, 1, 0))),
        ((0, 180, 0), "aft", "right", "up", ((-1, 0, 0), (0, 1, 0), (0, 0, -1))),
    ],
)
def test_recorded_turns(
    turns: tuple[int, int, int], x: str, y: str, z: str, matrix: Matrix
) -> None:
    mounting = mounting_from_arrows(Direction(x), Direction(y), Direction(z))

    assert mounting.matrix == matrix
    assert mounting.matrix == fitted_by_turns(*turns)


def test_two_ways_of_turning_to_the_same_mounting() -> None:
    # Source: SciPy check; pitch 180 equals yaw 180 with roll 180. Confidence DERIVED.
    assert Mounting(fitted_by_turns(0, 180, 0)) == Mounting(fitted_by_turns(180, 0, 180))


# --- the box in the aircraft, simulated ----------------------------------------------------------

# Positive rates: right wing down, nose up, nose right. Source (FOUND):
# http://heli-air.net/2016/02/17/airplane-reference-axes
MOTIONS = {
    "roll right": (1.0, 0.0, 0.0),
    "roll left": (-1.0, 0.0, 0.0),
    "nose up": (0.0, 1.0, 0.0),
    "nose down": (0.0, -1.0, 0.0),
    "nose right": (0.0, 0.0, 1.0),
    "nose left": (0.0, 0.0, -1.0),
}


@pytest.mark.parametrize(
    ("motion", "part", "goes"),
    [
        ("roll right", "right", "down"),
        ("roll left", "left", "down"),
        ("nose up", "forward", "up"),
        ("nose down", "forward", "down"),
        ("nose right", "forward", "right"),
        ("nose left", "forward", "left"),
    ],
)
def test_the_motions_move_the_part_they_name(motion: str, part: str, goes: str) -> None:
    moved = Rotation.from_rotvec(0.1 * np.array(MOTIONS[motion])).apply(BODY[part])

    assert float(np.dot(moved, BODY[goes])) == pytest.approx(math.sin(0.1))


def attitude_of_box(mounting: Mounting) -> Rotation:
    """Find the box's attitude from its two named faces alone, not from the mounting's matrix."""
    faces_in_body = [BODY[mounting.plugs], BODY[mounting.label]]
    faces_on_box = [(1.0, 0.0, 0.0), (0.0, 0.0, -1.0)]
    return Rotation.align_vectors(faces_in_body, faces_on_box)[0]


def motion_of(rate: "np.ndarray[tuple[int, ...], np.dtype[np.float64]]") -> str:
    (name,) = [motion for motion, axis in MOTIONS.items() if np.allclose(rate, axis, atol=1e-9)]
    return name


def test_turning_an_aircraft_with_the_box_inside_agrees_for_all_576_pairs() -> None:
    # The aircraft starts in an arbitrary attitude and is turned by 0.1 rad about its own axis. The
    # box carries its sensor from one attitude to the next; the turn it measures, in its own axes,
    # is read as the told box would sit.
    aircraft = Rotation.from_euler("ZYX", [40, -25, 70], degrees=True)
    attitudes = {mounting: attitude_of_box(mounting) for mounting in all_mountings()}
    pairs = list(itertools.product(all_mountings(), repeat=2))
    assert len(pairs) == 576

    measured = {
        (mounting, motion): (
            (aircraft * attitude).inv()
            * (aircraft * Rotation.from_rotvec(0.1 * np.array(MOTIONS[motion])) * attitude)
        ).as_rotvec()
        / 0.1
        for mounting, attitude in attitudes.items()
        for motion in ("roll right", "nose up", "nose right")
    }
    for mounting, told in pairs:
        simulated = tuple(
            (motion, motion_of(attitudes[told].apply(measured[mounting, motion])))
            for motion in ("roll right", "nose up", "nose right")
        )
        assert felt(mounting, told) == simulated


def simulated_belief(axis: int, believed_from_true: Rotation) -> AxisBelief:
    row = believed_from_true.as_matrix()[axis]
    source = int(np.argmax(np.abs(row)))
    sign = int(np.rint(row[source]))
    if source != axis:
        return AxisBelief(AXES[axis], Sense.CROSSED, AXES[source], sign)
    sense = Sense.RIGHT if sign == 1 else Sense.REVERSED
    return AxisBelief(AXES[axis], sense, AXES[source], sign)


def test_beliefs_agree_with_scipy_for_all_576_pairs() -> None:
    attitudes = {mounting: attitude_of_box(mounting) for mounting in all_mountings()}
    for mounting, told in itertools.product(all_mountings(), repeat=2):
        believed_from_true = attitudes[told] * attitudes[mounting].inv()
        assert beliefs(mounting, told) == tuple(
            simulated_belief(axis, believed_from_true) for axis in range(3)
        )


# --- tilt ----------------------------------------------------------------------------------------


# Source: cross-coupling = sin of the tilt, reference row in per cent to one decimal. DERIVED.
@pytest.mark.parametrize(("tilt_deg", "per_cent"), [(2, 3.5), (5, 8.7), (10, 17.4)])
def test_recorded_cross_coupling(tilt_deg: float, per_cent: float) -> None:
    assert 100 * cross_coupling(math.radians(tilt_deg)) == pytest.approx(per_cent, abs=0.05)


@pytest.mark.parametrize("tilt_deg", [0.5, 2, 5, 10, 30, 60, 90])
def test_no_tilted_box_leaks_more_than_the_cross_coupling_and_some_leak_as_much(
    tilt_deg: float,
) -> None:
    # SciPy turns a box about 500 lines, the body axes among them; leak: what one unit rate shows
    # across its own axis.
    random = np.random.default_rng(20240229)
    lines = np.vstack([np.eye(3), random.normal(size=(497, 3))])
    lines /= np.linalg.norm(lines, axis=1, keepdims=True)
    matrices = Rotation.from_rotvec(np.radians(tilt_deg) * lines).as_matrix()
    across = matrices * (1 - np.eye(3))
    leaks = np.linalg.norm(across, axis=1)

    assert float(leaks.max()) == pytest.approx(cross_coupling(math.radians(tilt_deg)), abs=1e-12)
