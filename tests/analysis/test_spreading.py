"""What is reached from where, against networkx on graphs that were made up."""

from typing import Any

import networkx as nx
from hypothesis import given
from hypothesis import strategies as st

from holdshort.analysis.spreading import spread

THINGS = st.integers(0, 9)


@given(
    ways=st.lists(st.tuples(THINGS, THINGS), max_size=30),
    starts=st.lists(THINGS, min_size=1, max_size=3),
)
def test_all_that_can_be_reached_comes_once_and_nearest_first(
    ways: list[tuple[int, int]], starts: list[int]
) -> None:
    graph: Any = nx.DiGraph(ways)
    graph.add_nodes_from(starts)
    far = nx.multi_source_dijkstra_path_length(graph, set(starts))
    found = list(spread(starts, graph.successors))
    assert len(found) == len(set(found))
    assert set(found) == set(far)
    assert [far[thing] for thing in found] == sorted(far.values())


def test_nothing_is_asked_beyond_what_is_wanted() -> None:
    asked: list[int] = []

    def after(number: int) -> list[int]:
        asked.append(number)
        return [number + 1]

    assert next(number for number in spread((0,), after) if number == 3) == 3
    assert asked == [0, 1, 2]
