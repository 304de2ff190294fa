"""The steps of laying out a wiring diagram, each against another way of doing it."""

import random
from itertools import combinations, pairwise, permutations, product
from typing import Any, cast

import networkx as nx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import isotonic_regression

from holdshort.fixlist.diagram_columns import Hop, acyclic, columns, crossings, ordered
from holdshort.fixlist.diagram_rows import GRID, Slot, Tie, tops
from holdshort.fixlist.diagram_tracks import Run, tracks

EDGES = st.lists(st.tuples(st.integers(0, 11), st.integers(0, 11)), max_size=40)


def graph_of(edges: list[tuple[int, int]]) -> Any:
    graph: Any = nx.DiGraph()
    graph.add_nodes_from(range(12))
    graph.add_edges_from((tail, head) for tail, head in edges if tail != head)
    return graph


@given(EDGES, st.lists(st.integers(0, 5), min_size=12, max_size=12))
def test_circles_are_opened_by_turning_edges_round(
    edges: list[tuple[int, int]], ranks: list[int]
) -> None:
    found = acyclic(12, edges, ranks)
    assert nx.is_directed_acyclic_graph(graph_of(found))
    assert [set(edge) for edge in found] == [set(edge) for edge in edges]
    if nx.is_directed_acyclic_graph(graph_of(edges)):
        assert found == edges


@given(EDGES)
def test_columns_are_the_longest_ways_from_the_start(edges: list[tuple[int, int]]) -> None:
    # networkx's topological generations are the longest-path layers of a graph without circles.
    onward = [(min(edge), max(edge)) for edge in edges]
    layers = cast("list[list[int]]", list(nx.topological_generations(graph_of(onward))))
    found = columns(onward, [0] * 12)
    assert {node: at for at, layer in enumerate(layers) for node in layer} == dict(enumerate(found))


@given(EDGES, st.lists(st.integers(0, 5), min_size=12, max_size=12))
def test_every_edge_leads_to_a_column_further_right(
    edges: list[tuple[int, int]], least: list[int]
) -> None:
    onward = [(min(edge), max(edge)) for edge in edges]
    found = columns(onward, least, last=range(12))
    assert all(found[tail] < found[head] for tail, head in onward if tail != head)
    giving = {tail for tail, head in onward if tail != head}
    ends = {found[node] for node in range(12) if node not in giving}
    assert ends == {max(found)}
    assert set(found) == set(range(max(found) + 1))


@st.composite
def layered(draw: st.DrawFn) -> tuple[list[list[int]], list[list[Hop]]]:
    sizes = draw(st.lists(st.integers(1, 6), min_size=2, max_size=4))
    order: list[list[int]] = []
    for size in sizes:
        first = sum(len(column) for column in order)
        order.append(list(range(first, first + size)))
    place = st.sampled_from([0.2, 0.4, 0.6, 0.8])
    hops = [
        draw(
            st.lists(
                st.builds(Hop, st.sampled_from(left), place, st.sampled_from(right), place),
                max_size=12,
            )
        )
        for left, right in pairwise(order)
    ]
    return order, [*hops, []]


def crossings_one_by_one(order: list[list[int]], hops: list[list[Hop]]) -> int:
    seats = {slot: seat for column in order for seat, slot in enumerate(column)}
    found = 0
    for between in hops:
        for one, other in combinations(between, 2):
            left = (seats[one.left] + one.left_place) - (seats[other.left] + other.left_place)
            right = (seats[one.right] + one.right_place) - (seats[other.right] + other.right_place)
            found += left * right < 0
    return found


@given(layered())
def test_ordering_keeps_the_columns_and_never_adds_crossings(
    given_layers: tuple[list[list[int]], list[list[Hop]]],
) -> None:
    order, hops = given_layers
    found = ordered(order, hops)
    assert [sorted(column) for column in found] == order
    assert crossings(order, hops) == crossings_one_by_one(order, hops)
    assert crossings_one_by_one(found, hops) <= crossings_one_by_one(order, hops)


def test_ordering_undoes_what_need_not_cross() -> None:
    hops = [[Hop(0, 0.5, 5, 0.5), Hop(1, 0.5, 4, 0.5), Hop(2, 0.5, 3, 0.5)], []]
    start = [[0, 1, 2], [3, 4, 5]]
    assert crossings(start, hops) == 3
    assert crossings(ordered(start, hops), hops) == 0


@given(
    st.lists(
        st.tuples(st.integers(2, 12), st.integers(1, 2), st.integers(-40, 40)),
        min_size=1,
        max_size=12,
    )
)
def test_heights_are_the_least_squares_fit_that_does_not_overlap(
    boxes: list[tuple[int, int, int]],
) -> None:
    # One box on the right, whose pins pull each box of the left column, which is fitted last.
    # SciPy's isotonic regression solves the same fit; heights are then rounded to the grid.
    slots = [Slot(10, 0, 1.0), *(Slot(size * GRID, gap * GRID, 1.0) for size, gap, _ in boxes)]
    ties = [Tie(at, 0, 0, wish * GRID) for at, (_, _, wish) in enumerate(boxes, 1)]
    column = list(range(1, len(slots)))
    found = tops([column, [0]], slots, ties)
    offsets = [0]
    for before, after in pairwise(boxes):
        offsets.append(offsets[-1] + (before[0] + max(before[1], after[1])) * GRID)
    wishes = [
        found[0] + wish * GRID - offset for (_, _, wish), offset in zip(boxes, offsets, strict=True)
    ]
    fit = isotonic_regression(np.array(wishes, dtype=float)).x
    for at, offset, level in zip(column, offsets, fit, strict=True):
        assert abs(found[at] - offset - level) <= GRID / 2 + 1e-6
        assert found[at] % GRID == 0
    for one, other in pairwise(column):
        gap = max(slots[one].margin, slots[other].margin)
        assert found[other] >= found[one] + slots[one].size + gap


HEIGHTS = st.lists(st.integers(0, 24), unique=True, min_size=1, max_size=16)


@settings(max_examples=200)
@given(HEIGHTS, HEIGHTS)
def test_no_two_leads_between_columns_lie_on_each_other(starts: list[int], ends: list[int]) -> None:
    runs = [Run(start * 10, end * 10) for start, end in zip(starts, ends, strict=False)]
    corners, count = tracks(runs)
    covered: dict[tuple[str, int], list[tuple[int, int, int]]] = {}
    for number, (run, turns) in enumerate(zip(runs, corners, strict=True)):
        x, y = -1, run.start
        for track, height in [*turns, (count, run.end)]:
            if height == y:
                covered.setdefault(("level", y), []).append((min(x, track), max(x, track), number))
            else:
                assert track == x, "a lead turns only at right angles"
                covered.setdefault(("upright", x), []).append(
                    (min(y, height), max(y, height), number)
                )
            x, y = track, height
        assert (x, y) == (count, run.end)
    for pieces in covered.values():
        pieces.sort()
        for one, other in pairwise(pieces):
            assert one[1] < other[0] or (one[2] == other[2] and one[1] <= other[0])


def test_leads_that_change_places_need_a_dogleg() -> None:
    corners, count = tracks([Run(10, 30), Run(30, 10)])
    assert sorted(len(each) for each in corners) == [2, 4]
    assert count >= 3  # two uprights, one of them in two halves


@pytest.mark.parametrize("runs", [[Run(10, 10), Run(40, 40)], []])
def test_leads_that_go_straight_on_need_no_track(runs: list[Run]) -> None:
    assert tracks(runs) == ([()] * len(runs), 0)


def test_leads_that_do_not_touch_share_a_track() -> None:
    assert tracks([Run(10, 30), Run(50, 90)])[1] == 1
    assert tracks([Run(10, 60), Run(50, 90)])[1] == 2


def test_ordering_comes_close_to_the_best_of_all_orders() -> None:
    """Three columns of four are small enough to try every order of each."""
    ours = best = 0
    for seed in range(12):
        lots = random.Random(seed)  # noqa: S311  - a lot, not a secret
        columns_of_four = [[0, 1, 2, 3], [4, 5, 6, 7], [8, 9, 10, 11]]
        hops = [
            [
                Hop(lots.choice(left), lots.random(), lots.choice(right), lots.random())
                for _ in range(7)
            ]
            for left, right in pairwise(columns_of_four)
        ]
        every = product(*(permutations(column) for column in columns_of_four))
        best += min(crossings([list(column) for column in order], hops) for order in every)
        ours += crossings(ordered(columns_of_four, [*hops, []]), hops)
    assert 0 < best <= ours <= 1.1 * best
