"""Mountings, and what a device believes when it was told something else."""

import itertools
import math
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdshort.analysis.mounting import (
    AXES,
    AxisBelief,
    Direction,
    ImpossibleMountingError,
    Matrix,
    Mounting,
    Sense,
    Vector,
    all_mountings,
    belief_matrix,
    beliefs,
    cross_coupling,
    felt,
    mounting_from_arrows,
    mounting_from_faces,
)

D = Direction
MOUNTINGS = all_mountings()
PAIRS = list(itertools.product(MOUNTINGS, repeat=2))
AS_BUILT = mounting_from_faces(D.FORWARD, D.UP)

one_mounting = st.sampled_from(MOUNTINGS)


def times(a: Matrix, b: Matrix) -> Matrix:
    """Multiply two matrices by the schoolbook rule, apart from the module's own arithmetic."""

    def row(i: int) -> Vector:
        first, second, third = (sum(a[i][k] * b[k][j] for k in range(3)) for j in range(3))
        return (first, second, third)

    return (row(0), row(1), row(2))


def turned_back(a: Matrix) -> Matrix:
    return (
        (a[0][0], a[1][0], a[2][0]),
        (a[0][1], a[1][1], a[2][1]),
        (a[0][2], a[1][2], a[2][2]),
    )


def senses(mounting: Mounting, told: Mounting) -> list[Sense]:
    return [belief.sense for belief in beliefs(mounting, told)]


# --- senses known at the field -------------------------------------------------------------------


def test_turned_about_reverses_roll_and_pitch_but_not_yaw() -> None:
    # Common practice, no source: a box turned end for end under the same label.
    mounting = mounting_from_faces(D.AFT, D.UP)

    assert senses(mounting, AS_BUILT) == [Sense.REVERSED, Sense.REVERSED, Sense.RIGHT]
    assert felt(mounting, AS_BUILT) == (
        ("roll right", "roll left"),
        ("nose up", "nose down"),
        ("nose right", "nose right"),
    )


def test_hung_upside_down_reverses_pitch_and_yaw_but_not_roll() -> None:
    # Common practice, no source: a box fixed under a shelf, plugs still forward.
    mounting = mounting_from_faces(D.FORWARD, D.DOWN)

    assert felt(mounting, AS_BUILT) == (
        ("roll right", "roll right"),
        ("nose up", "nose down"),
        ("nose right", "nose left"),
    )


def test_plugs_to_the_right_wing_cross_roll_and_pitch() -> None:
    # By hand: the box's nose is the right wing. Right wing down is the box's nose down. Aircraft
    # nose up is a turn that drops the tail, which is the box's right-hand side: roll right.
    mounting = mounting_from_faces(D.RIGHT, D.UP)

    assert felt(mounting, AS_BUILT) == (
        ("roll right", "nose down"),
        ("nose up", "roll right"),
        ("nose right", "nose right"),
    )
    assert beliefs(mounting, AS_BUILT) == (
        AxisBelief("roll", Sense.CROSSED, driven_by="pitch", sign=1),
        AxisBelief("pitch", Sense.CROSSED, driven_by="roll", sign=-1),
        AxisBelief("yaw", Sense.RIGHT, driven_by="yaw", sign=1),
    )


def test_on_its_side_with_the_label_to_the_right_crosses_pitch_and_yaw() -> None:
    # By hand: box rolled right by a quarter turn, so its right-hand side is down and its top is
    # the right wing's side. Nose up swings the box's nose toward its left-hand side: nose left.
    # Nose right swings it toward its top: nose up.
    mounting = mounting_from_faces(D.FORWARD, D.RIGHT)

    assert felt(mounting, AS_BUILT) == (
        ("roll right", "roll right"),
        ("nose up", "nose left"),
        ("nose right", "nose up"),
    )


def test_on_end_can_cross_all_three_and_names_the_driving_axis_not_the_driven_one() -> None:
    # By hand: looking at the label from the right wing tip, plugs up, the aircraft's nose is to the
    # right. Roll right turns about forward, the box's right-hand side: it feels nose up. Nose up
    # turns about the right wing, against the box's downward arrow: nose left. Nose right turns
    # about down, against the way the plugs face: roll left.
    mounting = mounting_from_faces(D.UP, D.RIGHT)

    assert mounting.right == D.FORWARD
    assert felt(mounting, AS_BUILT) == (
        ("roll right", "nose up"),
        ("nose up", "nose left"),
        ("nose right", "roll left"),
    )
    assert beliefs(mounting, AS_BUILT) == (
        AxisBelief("roll", Sense.CROSSED, driven_by="yaw", sign=-1),
        AxisBelief("pitch", Sense.CROSSED, driven_by="roll", sign=1),
        AxisBelief("yaw", Sense.CROSSED, driven_by="pitch", sign=-1),
    )


# --- the 24 --------------------------------------------------------------------------------------


def test_there_are_24_different_mountings_each_made_by_its_own_faces() -> None:
    assert len(MOUNTINGS) == len(set(MOUNTINGS)) == 24
    for mounting in MOUNTINGS:
        assert mounting_from_faces(mounting.plugs, mounting.label) == mounting
        assert mounting_from_faces(mounting.plugs, mounting.label, mounting.right) == mounting


def test_plugs_forward_label_up_is_the_identity() -> None:
    assert AS_BUILT.matrix == ((1, 0, 0), (0, 1, 0), (0, 0, 1))
    assert (AS_BUILT.plugs, AS_BUILT.label, AS_BUILT.right) == (D.FORWARD, D.UP, D.RIGHT)


@pytest.mark.parametrize("told", MOUNTINGS, ids=lambda m: f"plugs-{m.plugs}-label-{m.label}")
def test_told_the_truth_every_axis_is_right(told: Mounting) -> None:
    assert beliefs(told, told) == tuple(AxisBelief(axis, Sense.RIGHT, axis, 1) for axis in AXES)
    assert all(true == believed for true, believed in felt(told, told))


def test_only_the_truth_makes_every_axis_right() -> None:
    for mounting, told in PAIRS:
        all_right = senses(mounting, told) == [Sense.RIGHT] * 3
        assert all_right == (mounting == told)


# --- signs ---------------------------------------------------------------------------------------

HALF_TURNS: dict[str, Matrix] = {
    "roll": ((1, 0, 0), (0, -1, 0), (0, 0, -1)),
    "pitch": ((-1, 0, 0), (0, 1, 0), (0, 0, -1)),
    "yaw": ((-1, 0, 0), (0, -1, 0), (0, 0, 1)),
}


@pytest.mark.parametrize("about", HALF_TURNS)
@pytest.mark.parametrize("told", MOUNTINGS, ids=lambda m: f"plugs-{m.plugs}-label-{m.label}")
def test_half_a_turn_about_one_axis_reverses_exactly_the_other_two(
    told: Mounting, about: str
) -> None:
    mounting = Mounting(times(HALF_TURNS[about], told.matrix))

    for belief in beliefs(mounting, told):
        assert belief.sense == (Sense.RIGHT if belief.axis == about else Sense.REVERSED)


def test_without_crossing_never_one_and_never_three_are_reversed() -> None:
    reversed_counts = [
        senses(mounting, told).count(Sense.REVERSED)
        for mounting, told in PAIRS
        if Sense.CROSSED not in senses(mounting, told)
    ]

    # For each told mounting: itself, and half a turn about each of three axes.
    assert sorted(reversed_counts) == [0] * 24 + [2] * 72


def test_how_many_axes_cross_follows_from_the_permutations_of_three_axes() -> None:
    # From memory: the group of 24 maps onto the 6 permutations of three axes, 4 to 1; of those,
    # 1 moves nothing, 3 swap two axes, 2 move all three.
    crossed = [senses(mounting, told).count(Sense.CROSSED) for mounting, told in PAIRS]

    assert {n: crossed.count(n) for n in range(4)} == {
        0: 24 * 4 * 1,
        1: 0,
        2: 24 * 4 * 3,
        3: 24 * 4 * 2,
    }


# --- invariants ----------------------------------------------------------------------------------


@given(mounting=one_mounting, told=one_mounting, turn=one_mounting)
def test_turning_both_in_the_aircraft_only_conjugates_the_belief(
    mounting: Mounting, told: Mounting, turn: Mounting
) -> None:
    q = turn.matrix
    turned = belief_matrix(Mounting(times(q, mounting.matrix)), Mounting(times(q, told.matrix)))

    assert turned == times(times(q, belief_matrix(mounting, told)), turned_back(q))


@given(mounting=one_mounting, told=one_mounting, turn=one_mounting)
def test_turning_both_in_the_aircraft_keeps_how_many_axes_are_right_reversed_and_crossed(
    mounting: Mounting, told: Mounting, turn: Mounting
) -> None:
    q = turn.matrix
    turned = senses(Mounting(times(q, mounting.matrix)), Mounting(times(q, told.matrix)))

    assert sorted(turned) == sorted(senses(mounting, told))


@given(mounting=one_mounting, told=one_mounting, inside=one_mounting)
def test_how_the_sensor_sits_inside_its_box_does_not_matter(
    mounting: Mounting, told: Mounting, inside: Mounting
) -> None:
    sensor_mounting = Mounting(times(mounting.matrix, inside.matrix))
    sensor_told = Mounting(times(told.matrix, inside.matrix))

    assert beliefs(sensor_mounting, sensor_told) == beliefs(mounting, told)


@given(mounting=one_mounting, told=one_mounting)
def test_swapping_mounting_and_told_turns_the_belief_round(
    mounting: Mounting, told: Mounting
) -> None:
    assert belief_matrix(told, mounting) == turned_back(belief_matrix(mounting, told))


# --- refusals ------------------------------------------------------------------------------------

OPPOSITES = {
    D.FORWARD: D.AFT,
    D.AFT: D.FORWARD,
    D.LEFT: D.RIGHT,
    D.RIGHT: D.LEFT,
    D.UP: D.DOWN,
    D.DOWN: D.UP,
}


def test_opposites() -> None:
    assert {way: way.opposite for way in D} == OPPOSITES


@pytest.mark.parametrize("way", D)
def test_plugs_and_label_facing_the_same_way_are_refused(way: Direction) -> None:
    with pytest.raises(ImpossibleMountingError) as refusal:
        mounting_from_faces(way, way)

    assert str(refusal.value) == (
        f"The plugs ({way}) and the label ({way}) cannot face the same way: "
        "they are at right angles to each other on the box."
    )


@pytest.mark.parametrize(("plugs", "label"), OPPOSITES.items())
def test_plugs_and_label_facing_opposite_ways_are_refused(
    plugs: Direction, label: Direction
) -> None:
    with pytest.raises(ImpossibleMountingError) as refusal:
        mounting_from_faces(plugs, label)

    assert str(refusal.value) == (
        f"The plugs ({plugs}) and the label ({label}) cannot face opposite ways: "
        "they are at right angles to each other on the box."
    )


def test_of_all_216_triples_of_faces_24_are_accepted_and_24_are_mirrored() -> None:
    refusals: list[str] = []
    accepted: set[Mounting] = set()
    for plugs, label, right in itertools.product(D, repeat=3):
        try:
            accepted.add(mounting_from_faces(plugs, label, right))
        except ImpossibleMountingError as refusal:
            refusals.append(str(refusal))

    assert accepted == set(MOUNTINGS)
    assert sum("mirror image" in text for text in refusals) == 24
    assert sum("right angles" in text for text in refusals) == 216 - 48


def test_a_mirrored_third_face_is_told_which_way_it_must_face() -> None:
    with pytest.raises(ImpossibleMountingError, match="right-hand side left are a mirror") as left:
        mounting_from_faces(D.FORWARD, D.UP, D.LEFT)

    assert "its right-hand side faces right." in str(left.value)


@pytest.mark.parametrize(
    ("right", "words"),
    [
        (D.FORWARD, r"plugs \(forward\) and the right-hand side \(forward\) .* the same way"),
        (D.AFT, r"plugs \(forward\) and the right-hand side \(aft\) .* opposite ways"),
        (D.UP, r"label \(up\) and the right-hand side \(up\) .* the same way"),
        (D.DOWN, r"label \(up\) and the right-hand side \(down\) .* opposite ways"),
    ],
)
def test_a_third_face_along_the_line_of_another_is_refused(right: Direction, words: str) -> None:
    with pytest.raises(ImpossibleMountingError, match=words):
        mounting_from_faces(D.FORWARD, D.UP, right)


def test_mirrored_arrows_are_told_which_way_z_must_point() -> None:
    with pytest.raises(ImpossibleMountingError, match="mirror image") as refusal:
        mounting_from_arrows(D.FORWARD, D.RIGHT, D.UP)

    assert "z must point down" in str(refusal.value)


def test_parallel_arrows_are_refused() -> None:
    with pytest.raises(ImpossibleMountingError, match=r"y arrow \(up\) and the z arrow \(down\)"):
        mounting_from_arrows(D.FORWARD, D.UP, D.DOWN)


@pytest.mark.parametrize(
    "matrix",
    [
        ((2, 0, 0), (0, 1, 0), (0, 0, 1)),
        ((0, 0, 0), (0, 1, 0), (0, 0, 1)),
        ((1, 0, 1), (0, 1, 0), (0, 0, 1)),
    ],
)
def test_a_matrix_that_turns_no_box_is_refused(matrix: Matrix) -> None:
    with pytest.raises(ImpossibleMountingError, match="along one body axis"):
        Mounting(matrix)


# --- tilt ----------------------------------------------------------------------------------------


def test_a_tilt_either_way_counts_the_same() -> None:
    assert cross_coupling(math.radians(-5)) == cross_coupling(math.radians(5))
    assert cross_coupling(0.0) == 0.0


@given(st.floats(min_value=0, max_value=10), st.floats(min_value=0, max_value=10))
def test_more_tilt_never_looks_like_less(one: float, other: float) -> None:
    small, large = sorted((one, other))

    assert 0 <= cross_coupling(small) <= cross_coupling(large) <= 1


# --- cost ----------------------------------------------------------------------------------------


def test_importing_it_brings_in_nothing_heavy() -> None:
    script = (
        "import sys, dataclasses, enum, typing, math, holdshort.analysis; "
        "before = set(sys.modules); import holdshort.analysis.mounting; "
        "print(*sorted(set(sys.modules) - before))"
    )
    run = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)

    assert run.stdout.split() == ["holdshort.analysis.mounting"]
