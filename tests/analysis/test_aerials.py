"""The worst field for any set of aerials, against SciPy and by what must always hold."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, differential_evolution
from scipy.spatial import HalfspaceIntersection

from holdshort.analysis.aerials import (
    Vector3,
    angle_between,
    axis_words,
    direction,
    distance,
    worst_field,
    worst_in_plane,
)
from holdshort.setup.sections import Place3

SIDES = (("forward", "aft"), ("left", "right"), ("up", "down"))
POINTS = [
    tuple(side[pick] for side, pick in zip(sides, picks, strict=True))
    for count in (1, 2, 3)
    for sides in itertools.combinations(SIDES, count)
    for picks in itertools.product((0, 1), repeat=count)
]


def unit(points: tuple[str, ...]) -> Vector3:
    found = direction(points)
    assert found is not None
    return found


def share(field: Vector3, lines: list[Vector3]) -> float:
    return float(max(abs(np.dot(field, line)) for line in lines))


declared = st.lists(st.sampled_from(POINTS), min_size=1, max_size=6).map(
    lambda chosen: [unit(points) for points in chosen]
)


def test_there_are_26_ways_to_point() -> None:
    assert len(POINTS) == 26
    assert len({tuple(round(part, 9) for part in unit(points)) for points in POINTS}) == 26


@given(declared)
def test_the_worst_field_has_the_loss_it_is_said_to_have(lines: list[Vector3]) -> None:
    worst = worst_field(lines)
    assert math.hypot(*worst.vector) == pytest.approx(1)
    caught = share(worst.vector, lines)
    assert caught == pytest.approx(10 ** (-worst.loss / 20), abs=1e-9)


@given(declared, st.sampled_from(POINTS))
def test_one_more_aerial_never_makes_it_worse(lines: list[Vector3], more: tuple[str, ...]) -> None:
    assert worst_field([*lines, unit(more)]).loss <= worst_field(lines).loss + 1e-9


@given(declared, st.tuples(*[st.floats(-1, 1)] * 3))
def test_no_other_field_is_caught_less(lines: list[Vector3], field: Vector3) -> None:
    length = math.hypot(*field)
    assume(length > 1e-3)
    other = (field[0] / length, field[1] / length, field[2] / length)
    assert share(other, lines) >= 10 ** (-worst_field(lines).loss / 20) - 1e-9


@settings(max_examples=60)
@given(declared)
def test_blind_means_that_numpy_finds_the_lines_in_one_plane(lines: list[Vector3]) -> None:
    in_one_plane = np.linalg.matrix_rank(np.array(lines), tol=1e-6) < 3
    assert math.isinf(worst_field(lines).loss) == in_one_plane


@settings(max_examples=60, deadline=None)
@given(declared)
def test_against_the_corners_that_scipy_finds(lines: list[Vector3]) -> None:
    assume(np.linalg.matrix_rank(np.array(lines), tol=1e-6) == 3)
    rows = np.array([*lines, *(-np.array(lines))])
    half_spaces = np.hstack([rows, -np.ones((len(rows), 1))])
    corners = HalfspaceIntersection(half_spaces, np.zeros(3)).intersections
    farthest = float(np.max(np.linalg.norm(corners, axis=1)))
    assert worst_field(lines).loss == pytest.approx(20 * math.log10(farthest), abs=1e-6)


@pytest.mark.parametrize("seed", range(6))
def test_against_a_search_by_scipy_over_all_directions(seed: int) -> None:
    source = np.random.default_rng(seed)
    drawn = source.normal(size=(3 + seed % 3, 3))
    lines = [tuple(row / np.linalg.norm(row)) for row in drawn]

    def caught(angles: "np.ndarray[tuple[int], np.dtype[np.float64]]") -> float:
        height, turn = angles
        flat = math.sqrt(1 - height * height)
        return share((flat * math.cos(turn), flat * math.sin(turn), height), lines)

    found = differential_evolution(
        caught,
        Bounds([0.0, 0.0], [1.0, 2 * math.pi]),
        seed=seed,
        tol=1e-10,
        popsize=30,
        polish=False,
    )
    assert 10 ** (-worst_field(lines).loss / 20) == pytest.approx(float(found.fun), abs=2e-5)


@given(st.floats(0.01, math.pi / 2))
def test_two_lines_in_their_plane_against_a_scan_by_numpy(angle: float) -> None:
    turn = np.linspace(0, math.pi, 20001)
    caught = np.maximum(np.abs(np.cos(turn)), np.abs(np.cos(turn - angle)))
    assert 10 ** (-worst_in_plane(angle) / 20) == pytest.approx(float(caught.min()), abs=2e-4)


@given(st.sampled_from(POINTS), st.sampled_from(POINTS))
def test_the_angle_between_lines_against_numpy(
    one: tuple[str, ...], other: tuple[str, ...]
) -> None:
    cosine = min(1.0, abs(float(np.dot(unit(one), unit(other)))))
    assert math.cos(angle_between(unit(one), unit(other))) == pytest.approx(cosine, abs=1e-12)


def test_directions_that_cancel_out_are_none() -> None:
    assert direction(("up", "down")) is None
    assert direction(("up", "down", "left")) == unit(("left",))


@pytest.mark.parametrize(
    ("vector", "words"),
    [
        ((1.0, 0.0, 0.0), "fore and aft"),
        ((0.0, -1.0, 0.0), "left and right"),
        ((0.0, 0.0, 1.0), "up and down"),
        ((0.7, 0.0, -0.7), "between forward and up"),
        ((-0.7, 0.0, 0.7), "between forward and up"),
        ((0.6, 0.6, 0.6), "between forward, right and down"),
    ],
)
def test_a_line_in_words(vector: Vector3, words: str) -> None:
    assert axis_words(vector) == words


def test_distance_by_what_is_declared() -> None:
    front = Place3.read({"station": "300 mm", "side": "-40 mm", "height": "20 mm"})
    rear = Place3.read({"station": "360 mm", "side": "40 mm", "height": "20 mm"})
    assert distance(front, rear).exact == pytest.approx(0.1)  # 60, 80, 0: the 3-4-5 triangle
    half = Place3.read({"station": "360 mm"})
    assert distance(front, half).exact is None
    assert distance(front, half).least == pytest.approx(0.06)
    assert distance(front, None) == (0.0, None)
