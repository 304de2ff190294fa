"""Single points of failure of drawn graphs against networkx, and of drawn structures by force."""

from itertools import combinations

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.analysis.dependence import Dependence, bits

Edges = list[tuple[int, int]]

SIZE = 8
EDGES = st.lists(
    st.tuples(st.integers(0, SIZE - 1), st.integers(0, SIZE - 1)), max_size=20, unique=True
)


def graph(edges: Edges, sources: set[int]) -> Dependence:
    dependence = Dependence(SIZE)
    items = [dependence.item(node, needs_any=True, own=1 << node) for node in range(SIZE)]
    for before, after in edges:
        dependence.give(items[after], items[before])
    for node in sources:
        dependence.give(items[node], dependence.source)
    return dependence


def item(dependence: Dependence, key: object) -> int:
    found = dependence.find(key)
    assert found is not None
    return found


@given(EDGES, st.sets(st.integers(0, SIZE - 1), min_size=1, max_size=3))
def test_single_points_are_the_dominators_from_a_super_source(
    edges: Edges, sources: set[int]
) -> None:
    dependence = graph(edges, sources)
    drawn = nx.DiGraph([*edges, *(("super source", node) for node in sources)])
    immediate = nx.immediate_dominators(drawn, "super source")
    killers = dependence.killers()
    for node in range(SIZE):
        mask = killers[item(dependence, node)]
        if node not in immediate:
            assert mask & dependence.never
            continue
        chain = [node]
        while immediate[chain[-1]] != "super source":
            chain.append(immediate[chain[-1]])
        assert set(bits(mask)) == set(chain)


@st.composite
def structures(draw: st.DrawFn) -> tuple[Dependence, list[int]]:
    """Draw items that need all or any of each other, loops included, with failures on the ways."""
    dependence = Dependence(5)
    masks = st.sampled_from([0, 0, 1, 2, 4, 8, 16, 3])
    items = [
        dependence.item(number, needs_any=draw(st.booleans()), own=draw(masks))
        for number in range(6)
    ]
    for _ in range(draw(st.integers(0, 14))):
        other = draw(st.sampled_from([*items, dependence.source, dependence.source]))
        dependence.give(draw(st.sampled_from(items)), other, draw(masks))
    return dependence, items


def works_by_rounds(dependence: Dependence, failed: int) -> list[bool]:
    """Let items start to work round by round, as plainly as it can be said."""
    works = [False] * len(dependence._own)
    for _ in works:
        for number, inputs in enumerate(dependence._inputs):
            served = [works[other] and not by & failed for other, by in inputs]
            enough = any(served) if dependence._any[number] else all(served)
            works[number] = enough and not dependence._own[number] & failed
    return works


@given(structures())
def test_both_ways_of_working_it_out_agree_with_brute_force(
    drawn: tuple[Dependence, list[int]],
) -> None:
    dependence, items = drawn
    killers = dependence.killers()
    for failed in range(5):
        expected = works_by_rounds(dependence, 1 << failed)
        assert dependence.working(1 << failed) == expected
        for number in items:
            assert bool(killers[number] >> failed & 1) != expected[number]
    for number in items:
        assert bool(killers[number] & dependence.never) != works_by_rounds(dependence, 0)[number]


@given(structures())
def test_smallest_cut_sets_of_two_agree_with_brute_force(
    drawn: tuple[Dependence, list[int]],
) -> None:
    dependence, items = drawn
    whole = works_by_rounds(dependence, 0)
    for number, cuts in zip(items, dependence.cuts(items), strict=True):
        alone = [bit for bit in range(5) if not works_by_rounds(dependence, 1 << bit)[number]]
        pairs = [
            pair
            for pair in combinations(range(5), 2)
            if not works_by_rounds(dependence, 1 << pair[0] | 1 << pair[1])[number]
            and not set(pair) & set(alone)
        ]
        assert list(cuts.single) == (alone if whole[number] else [])
        assert sorted(cuts.pairs) == (pairs if whole[number] else [])


@settings(max_examples=50)
@given(structures(), st.integers(0, 5), st.integers(0, 5))
def test_an_item_that_is_stopped_stops_what_needs_it_and_nothing_starts(
    drawn: tuple[Dependence, list[int]], first: int, failed: int
) -> None:
    dependence, items = drawn
    before = dependence.working(failed)
    after = dependence.working(failed, [items[first]])
    assert not after[items[first]]
    assert all(old or not new for old, new in zip(before, after, strict=True))


def test_progress_is_told_for_each_failure() -> None:
    dependence = graph([(0, 1)], {0})
    told: list[tuple[int, int]] = []
    dependence.cuts([item(dependence, 1)], lambda done, total: told.append((done, total)))
    assert told == [(number, SIZE) for number in range(1, SIZE + 1)]


def test_a_key_is_used_once() -> None:
    dependence = Dependence(1)
    dependence.item("servo")
    with pytest.raises(ValueError, match="servo"):
        dependence.item("servo")
