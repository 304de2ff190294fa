"""Single leads a box depends on, against networkx and brute force on drawn wirings."""

import json

import networkx as nx
from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.analysis.feeds import box_feeds
from holdshort.analysis.wiring import Node, Wiring, is_source
from holdshort.document import Document, read_document
from holdshort.setup import Setup, load

BOXES = ("front", "rear", "gyro", "split-a", "split-b")
PARTS = {
    "pack": {"kind": "battery", "chemistry": "lipo", "cells": 2},
    "reg": {"kind": "regulator", "output": "7.4 V", "ports": {"in": "supply", "out-1..6": "feed"}},
    "rx": {"kind": "receiver", "ports": {"1..30": "servo", "s-1..9": "supply"}},
    "gyro": {"kind": "gyro", "ports": {"1..30": "servo", "s-1..9": "supply"}},
    "split": {"kind": "splitter", "ports": {"in": "supply", "o-1..30": "feed"}},
}
DEVICES = {
    "battery": {"part": "pack"},
    "reg": {"part": "reg"},
    "front": {"part": "rx"},
    "rear": {"part": "rx"},
    "gyro": {"part": "gyro"},
    "split-a": {"part": "split"},
    "split-b": {"part": "split"},
}


def _no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def setup_of(leads: list[dict[str, str]]) -> Setup:
    tree = {"holdshort": 1, "parts": PARTS, "devices": DEVICES, "leads": leads}
    loaded = load(read_document(json.dumps(tree).encode(), "drawn.yaml"), _no_catalogue)
    assert loaded.faults == ()
    return loaded.setup


@st.composite
def wirings(draw: st.DrawFn) -> list[dict[str, str]]:
    """Draw leads between the boxes and the regulator, each on a port of its own."""
    used = dict.fromkeys((*BOXES, "reg"), 0)

    def port(box: str) -> str:
        used[box] += 1
        if box == "reg":
            return f"reg.out-{used[box]}"
        return f"{box}.o-{used[box]}" if box.startswith("split") else f"{box}.{used[box]}"

    leads = [{"from": "battery", "to": "reg.in"}]
    for _ in range(draw(st.integers(1, 10))):
        start = draw(st.sampled_from(("reg", *BOXES) if used["reg"] < 6 else BOXES))
        end = draw(st.sampled_from([box for box in BOXES if box != start]))
        leads.append({"from": port(start), "to": port(end), "carries": "power"})
    return leads


def graph_of(leads: list[dict[str, str]]) -> "nx.MultiGraph[str]":
    """Return the same wiring as a graph of boxes; keys of edges are indices of leads."""
    graph: nx.MultiGraph[str] = nx.MultiGraph()
    graph.add_nodes_from((*BOXES, "reg"))
    for index, lead in enumerate(leads[1:], start=1):
        graph.add_edge(lead["from"].split(".")[0], lead["to"].split(".")[0], key=index)
    return graph


@settings(max_examples=150)
@given(wirings())
def test_powered_agrees_with_networkx(leads: list[dict[str, str]]) -> None:
    setup = setup_of(leads)
    graph = graph_of(leads)
    for box in ("front", "rear", "gyro"):
        feeds = box_feeds(setup, Wiring(setup), setup.devices[box])
        assert feeds.powered == nx.has_path(graph, "reg", box)


@settings(max_examples=150)
@given(wirings())
def test_single_leads_are_the_bridges_between_regulator_and_box(
    leads: list[dict[str, str]],
) -> None:
    """A lead is a single point exactly when networkx finds no way round it.

    Leads between the regulator and the first place where power can branch are apart.
    """
    setup = setup_of(leads)
    graph = graph_of(leads)
    wiring = Wiring(setup)
    for box in ("front", "rear", "gyro"):
        feeds = box_feeds(setup, wiring, setup.devices[box])
        if not feeds.powered:
            continue
        expected = set()
        for start, end, key in list(graph.edges(keys=True)):
            graph.remove_edge(start, end, key)
            if not nx.has_path(graph, "reg", box):
                expected.add(key)
            graph.add_edge(start, end, key)
        ours = {cable.index for cable in feeds.single_leads}
        assert ours <= expected
        for key in expected - ours:
            assert _is_before_branching(graph, key)


def _is_before_branching(graph: "nx.MultiGraph[str]", key: int) -> bool:
    """Walk out from the regulator through splitters while there is just one way on."""
    here, came = "reg", -1
    while True:
        onward = [(end, k) for _, end, k in graph.edges(here, keys=True) if k != came]
        if len(onward) != 1 or not onward[0][0].startswith("split"):
            return False
        here, came = onward[0]
        if came == key:
            return True


@settings(max_examples=100)
@given(wirings(), st.sampled_from(("front", "rear", "split-a")))
def test_a_second_way_never_makes_a_box_depend_on_more_leads(
    leads: list[dict[str, str]], origin: str
) -> None:
    before = setup_of(leads)
    feeds = box_feeds(before, Wiring(before), before.devices["gyro"])
    start = f"{origin}.{'o-30' if origin.startswith('split') else '30'}"
    after = setup_of([*leads, {"from": start, "to": "gyro.30", "carries": "power"}])
    more = box_feeds(after, Wiring(after), after.devices["gyro"])
    if feeds.powered:
        assert {c.index for c in more.single_leads} <= {c.index for c in feeds.single_leads}
    assert more.powered >= feeds.powered


def test_a_regulator_is_a_source_on_its_output_side_only() -> None:
    setup = setup_of([{"from": "battery", "to": "reg.in"}])
    assert is_source(setup, Node("reg", "out"))
    assert not is_source(setup, Node("reg", "in"))
    assert is_source(setup, Node("battery", "rail"))
