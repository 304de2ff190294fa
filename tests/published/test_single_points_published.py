"""Single points of failure against published dominator trees and fault trees.

A fault tree says how things fail, the dependence how they work: its AND gate needs any, its OR gate
needs all. Only cut sets of one and two events are compared: larger ones are not computed.
"""

from collections.abc import Mapping, Sequence

import networkx as nx
import pytest

from holdshort.analysis.dependence import SOURCE, Dependence, bits

# Cooper, Harvey and Kennedy, A Simple, Fast Dominance Algorithm, figures 2 and 4, as in networkx's
# own tests (test_irreducible). Read.
GRAPHS: Mapping[str, tuple[list[tuple[int, int]], int, dict[int, int]]] = {
    "figure 2": (
        [(1, 2), (2, 1), (3, 2), (4, 1), (5, 3), (5, 4)],
        5,
        {1: 5, 2: 5, 3: 5, 4: 5},
    ),
    "figure 4": (
        [(1, 2), (2, 1), (2, 3), (3, 2), (4, 2), (4, 3), (5, 1), (6, 4), (6, 5)],
        6,
        {1: 6, 2: 6, 3: 6, 4: 6, 5: 6},
    ),
}

Gates = Mapping[str, Sequence[str]]

# SCRAM benchmark suite (rakhimov/scram, input/ and tests/bench_*.cc): read, except where told.
TREES: Mapping[str, tuple[Gates, set[frozenset[str]]]] = {
    # input/Theatre/theatre.xml, bench_theatre_tests.cc
    "theatre": (
        {"top": ("AND", "MAINS", "GEN_OR_RELAY"), "GEN_OR_RELAY": ("OR", "GEN", "RELAY")},
        {frozenset({"GEN", "MAINS"}), frozenset({"MAINS", "RELAY"})},
    ),
    # bench_two_train_tests.cc
    "two trains": (
        {"top": ("AND", "T1", "T2"), "T1": ("OR", "V1", "P1"), "T2": ("OR", "V2", "P2")},
        {frozenset(pair) for pair in (("V1", "V2"), ("V1", "P2"), ("P1", "V2"), ("P1", "P2"))},
    ),
    # bench_ne574_tests.cc; its cut sets of three events are left out
    "ne574": (
        {
            "top": ("AND", "T1", "T2"),
            "T1": ("OR", "F", "G", "B", "C"),
            "T2": ("OR", "C", "D", "HI"),
            "HI": ("AND", "H", "I"),
        },
        {frozenset({"C"}), *(frozenset({"D", event}) for event in "BFG")},
    ),
    # bench_core_tests.cc
    "a or b or c": ({"top": ("OR", "A", "B", "C")}, {frozenset(event) for event in "ABC"}),
    # bench_core_tests.cc
    "a and b or b and c": (
        {"top": ("OR", "AB", "BC"), "AB": ("AND", "A", "B"), "BC": ("AND", "B", "C")},
        {frozenset("AB"), frozenset("BC")},
    ),
    # NUREG-0492 Fault Tree Handbook (1981) ch. VIII, pressure tank: tree and cut sets from memory
    "pressure tank": (
        {
            "top": ("OR", "T", "E3"),
            "E3": ("OR", "K2", "E4"),
            "E4": ("AND", "S", "E5"),
            "E5": ("OR", "S1", "K1", "R"),
        },
        {frozenset({"T"}), frozenset({"K2"}), *(frozenset({"S", e}) for e in ("K1", "R", "S1"))},
    ),
}


@pytest.mark.parametrize("name", GRAPHS)
def test_single_points_are_the_published_dominators(name: str) -> None:
    edges, start, immediate = GRAPHS[name]
    nodes = sorted({node for edge in edges for node in edge})
    dependence = Dependence(len(nodes))
    for node in nodes:
        dependence.item(node, needs_any=True, own=1 << nodes.index(node))
    for before, after in edges:
        dependence.give(dependence_item(dependence, after), dependence_item(dependence, before))
    dependence.give(dependence_item(dependence, start), dependence.source)
    killers = dependence.killers()
    for node, dominator in immediate.items():
        found = {nodes[bit] for bit in bits(killers[dependence_item(dependence, node)])}
        assert found == {node, dominator}
        assert nx.immediate_dominators(nx.DiGraph(edges), start)[node] == dominator


def dependence_item(dependence: Dependence, key: object) -> int:
    found = dependence.find(key)
    assert found is not None
    return found


@pytest.mark.parametrize("name", TREES)
def test_smallest_cut_sets_are_those_of_the_published_fault_tree(name: str) -> None:
    gates, expected = TREES[name]
    events = sorted({word for gate in gates.values() for word in gate[1:] if word not in gates})
    dependence = Dependence(len(events))
    for event in events:
        dependence.item(event, own=1 << events.index(event))
    for gate, (kind, *_) in gates.items():
        dependence.item(gate, needs_any=kind == "AND")
    for gate, (_, *inputs) in gates.items():
        for word in inputs:
            dependence.give(dependence_item(dependence, gate), dependence_item(dependence, word))
    (cuts,) = dependence.cuts([dependence_item(dependence, "top")])
    found = {frozenset({events[one]}) for one in cuts.single}
    found |= {frozenset({events[one], events[other]}) for one, other in cuts.pairs}
    assert found == expected
    assert dependence.find(SOURCE) == dependence.source
