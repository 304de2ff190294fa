"""Rails, dead devices, grounds and signal nets of drawn wirings, against networkx."""

import json
from collections.abc import Iterable
from typing import Any

import networkx as nx
from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.analysis.grounds import Grounds
from holdshort.analysis.rail_supplies import dead_groups, joining_leads, rail_supplies
from holdshort.analysis.signal_nets import misfit, signal_nets
from holdshort.analysis.wiring import Wiring
from holdshort.document import Document, read_document
from holdshort.setup import Setup, load

PARTS = {
    "pack": {"kind": "battery", "chemistry": "lipo", "cells": 2, "ports": {"1..30": "feed"}},
    "reg": {"kind": "regulator", "output": "6.0 V", "ports": {"in": "supply", "1..30": "feed"}},
    "rx": {"kind": "receiver", "ports": {"1..30": "servo"}},
    "servo": {"kind": "servo", "ports": {"1..30": "pulse-in"}},
    "y": {"kind": "splitter", "ports": {"1..30": "servo"}},
}
KINDS = {"pack": "pack", "reg": "regulator", "rx": "receiver", "servo": "servo", "y": "splitter"}
NAMES = [f"{kind}-{letter}" for kind in PARTS for letter in "ab"]


def _no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def setup_of(leads: Iterable[dict[str, str]]) -> Setup:
    devices = {name: {"part": name.partition("-")[0]} for name in NAMES}
    tree = {"holdshort": 1, "parts": PARTS, "devices": devices, "leads": list(leads)}
    loaded = load(read_document(json.dumps(tree).encode(), "drawn.yaml"), _no_catalogue)
    assert loaded.faults == ()
    return loaded.setup


@st.composite
def wirings(draw: st.DrawFn) -> list[dict[str, str]]:
    """Draw leads between outputs (and the regulators' inputs), each on a port of its own."""
    leads: list[dict[str, str]] = []
    used: dict[str, int] = {}
    for _ in range(draw(st.integers(1, 12))):
        one, other = draw(st.sampled_from(NAMES)), draw(st.sampled_from(NAMES))
        ends: list[str] = []
        for name in (one, other):
            used[name] = used.get(name, 0) + 1
            into = name.startswith("reg") and draw(st.booleans())
            ends.append(f"{name}.in" if into else f"{name}.{used[name]}")
        lead = {"from": ends[0], "to": ends[1]}
        carries = draw(st.sampled_from(["both", "power", "signal", "signal-alone"]))
        leads.append({**lead, "carries": carries})
    return leads


def side(end: str) -> str:
    """Return the rail of a lead's end: a regulator has two, everything else one."""
    name, _, port = end.partition(".")
    if not name.startswith("reg"):
        return name
    return f"{name} in" if port == "in" else f"{name} out"


def power_graph(leads: list[dict[str, str]]) -> "nx.Graph[Any]":
    graph: nx.Graph[Any] = nx.Graph()
    for name in NAMES:
        sides = [f"{name} in", f"{name} out"] if name.startswith("reg") else [name]
        graph.add_nodes_from(sides)
    for lead in leads:
        if lead["carries"] in {"both", "power"}:
            graph.add_edge(side(lead["from"]), side(lead["to"]))
    return graph


@settings(max_examples=100)
@given(wirings())
def test_supplies_on_one_rail_are_those_of_one_connected_component(
    leads: list[dict[str, str]],
) -> None:
    expected: set[frozenset[str]] = set()
    for component in nx.connected_components(power_graph(leads)):
        sources = {
            node.removesuffix(" out")
            for node in component
            if node.startswith("pack") or node.endswith(" out")
        }
        if sources:
            expected.add(frozenset(sources))
    rails = list(rail_supplies(Wiring(setup_of(leads))))
    assert {frozenset(source.name for source in rail.sources) for rail in rails} == expected


@settings(max_examples=100)
@given(wirings())
def test_the_leads_that_join_two_supplies_are_as_few_as_a_shortest_path(
    leads: list[dict[str, str]],
) -> None:
    wiring, graph = Wiring(setup_of(leads)), power_graph(leads)
    for rail in rail_supplies(wiring):
        if len(rail.sources) == 1:
            continue
        ends = [s.name if s.kind == "battery" else f"{s.name} out" for s in rail.sources]
        shortest = min(nx.shortest_path_length(graph, ends[-1], end) for end in ends[:-1])
        assert len(joining_leads(wiring, rail.sources)) == shortest


@settings(max_examples=100)
@given(wirings())
def test_dead_devices_are_those_that_no_pack_reaches(leads: list[dict[str, str]]) -> None:
    flow: nx.DiGraph[Any] = nx.DiGraph(power_graph(leads))
    flow.add_edges_from((f"{name} in", f"{name} out") for name in NAMES if name.startswith("reg"))
    alive: set[str] = set()
    for name in NAMES:
        if name.startswith("pack"):
            alive |= {name, *nx.descendants(flow, name)}
    wired = {lead[end].partition(".")[0] for lead in leads for end in ("from", "to")}
    expected = {
        name
        for name in wired
        if name.startswith(("rx", "servo", "reg"))
        and (f"{name} in" if name.startswith("reg") else name) not in alive
    }
    groups = dead_groups(Wiring(setup_of(leads)))
    told = [device.name for group in groups for device in group.devices]
    assert sorted(told) == sorted(expected)


@settings(max_examples=100)
@given(wirings())
def test_grounds_are_common_where_some_way_of_ground_wires_joins_them(
    leads: list[dict[str, str]],
) -> None:
    graph: nx.Graph[Any] = nx.Graph()
    graph.add_nodes_from(NAMES)
    for lead in leads:
        if lead["carries"] != "signal-alone":
            graph.add_edge(lead["from"].partition(".")[0], lead["to"].partition(".")[0])
    setup = setup_of(leads)
    grounds = Grounds(setup)
    for cable in setup.cables:
        start, end = cable.start.port, cable.end.port
        assert start is not None
        assert end is not None
        assert grounds.have_common(start, end) == nx.has_path(graph, start.device, end.device)


@settings(max_examples=100)
@given(wirings())
def test_a_signal_net_is_a_connected_component_with_its_y_leads_left_out(
    leads: list[dict[str, str]],
) -> None:
    graph: nx.Graph[Any] = nx.Graph()
    for lead in leads:
        ends = [lead["from"], lead["to"]]
        if lead["carries"] == "power" or any(end.startswith(("pack", "reg")) for end in ends):
            continue
        wires = [end.partition(".")[0] if end.startswith("y") else end for end in ends]
        graph.add_edge(*wires)
    expected = {
        frozenset(wire for wire in component if not wire.startswith("y"))
        for component in nx.connected_components(graph)
    }
    nets = signal_nets(setup_of(leads))
    found = {frozenset(port.address for port in net.ports) for net in nets}
    assert found - {frozenset()} == expected - {frozenset()}


@given(
    st.lists(
        st.sampled_from(["servo", "bus-out", "pulse-in", "bus-in", "data", "unused"]),
        min_size=2,
        max_size=5,
    )
)
def test_the_order_of_ports_on_a_wire_does_not_matter(functions: list[str]) -> None:
    assert misfit(functions) is misfit(functions[::-1])


def test_a_wire_fits_where_one_output_meets_inputs_of_its_own_kind() -> None:
    assert misfit(["servo", "pulse-in", "pulse-in"]) is None
    assert misfit(["bus-in", "bus-out"]) is None
    assert misfit(["data", "data"]) is None
