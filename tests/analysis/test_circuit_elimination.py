"""Sparse elimination against NumPy's dense solver."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.analysis.circuit_elimination import Pattern, plan

size = st.integers(2, 30)
weight = st.sampled_from([1e-3, 0.5, 1.0, 7.0, 1e3])


@settings(max_examples=200)
@given(
    size,
    st.lists(st.tuples(st.integers(0, 99), st.integers(0, 99), weight, weight), max_size=60),
    st.lists(weight, min_size=31, max_size=31),
)
def test_against_numpy(
    count: int, links: list[tuple[int, int, float, float]], to_ground: list[float]
) -> None:
    """Asymmetric diagonally dominant systems with any pattern; node 0 is ground."""
    pattern = Pattern(count + 1)
    stamps: list[tuple[int, int, float, float]] = []
    dense = np.diag(np.array([1.0, *to_ground[:count]]))
    for one, other, there, back in links:
        a, b = one % (count + 1), other % (count + 1)
        if a == b:
            continue
        stamps.append((*pattern.link(a, b), there, back))
        if a and b:
            dense[a, a] += there
            dense[a, b] -= there
            dense[b, b] += back
            dense[b, a] -= back
    elimination = plan(pattern)
    weights = [0.0] * elimination.weights
    for forth, back_index, there, back in stamps:
        weights[forth] += there
        weights[back_index] += back
    right = [0.0, *np.linspace(-5.0, 7.0, count)]
    expected = np.linalg.solve(dense, np.array(right))
    found = elimination.solve([0.0, *to_ground[:count]], weights, right[:])
    assert found is not None
    assert found == pytest.approx(expected, rel=1e-9, abs=1e-9)


def test_a_tree_is_eliminated_without_fill() -> None:
    pattern = Pattern(1001)
    for node in range(2, 1001):
        pattern.link(node // 2, node)
    elimination = plan(pattern)
    assert elimination.weights == 2 * 999 + 1
    assert len(elimination.leaves) == 999


def test_an_indefinite_system_is_told() -> None:
    pattern = Pattern(3)
    forth, back = pattern.link(1, 2)
    elimination = plan(pattern)
    for ground, solvable in ((1.0, True), (-0.4, True), (-0.6, False)):
        weights = [0.0] * elimination.weights
        weights[forth] = weights[back] = 1.0
        # [[1 + g, -1], [-1, 2]] is positive definite for g > -1/2.
        solved = elimination.solve([0.0, ground, 1.0], weights, [0.0, 1.0, 1.0])
        assert (solved is not None) == solvable
