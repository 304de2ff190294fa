"""Telemetry: ways to the transmitter against networkx, alarm levels, addresses, invariants."""

import json
from collections.abc import Mapping
from typing import Any

import networkx as nx
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from holdshort.analysis import Aircraft
from holdshort.analysis.data_paths import DataPath
from holdshort.analysis.telemetry import LANDING_OPTION, LANDING_TIME, TelemetryStudy, Unwatched
from holdshort.document import Document, read_document
from holdshort.rulebook import judge, load_rulebook
from holdshort.setup import Quantity, load
from holdshort_rules.telemetry import TIME_TO_LAND

RULEBOOK = load_rulebook()


def no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def aircraft_of(tree: Mapping[str, Any], **limits: Quantity) -> Aircraft:
    loaded = load(read_document(json.dumps(tree).encode(), "drawn.yaml"), no_catalogue)
    assert loaded.faults == ()
    return Aircraft(loaded.setup, {LANDING_OPTION: limits["landing"]} if limits else None)


def study_of(tree: Mapping[str, Any], **limits: Quantity) -> TelemetryStudy:
    study = aircraft_of(tree, **limits).telemetry
    assert study is not None
    return study


def found(tree: Mapping[str, Any], *rules: str) -> set[tuple[str, str]]:
    """Return what the rules find: id and the words of the message."""
    judgement = judge(aircraft_of(tree), RULEBOOK)
    assert judgement.crashes == []
    return {
        (item.rule.id, item.finding.message) for item in judgement.found if item.rule.id in rules
    }


# -- ways ----------------------------------------------------------------------------------------

PARTS: dict[str, Any] = {
    "pack": {"kind": "battery", "chemistry": "lipo", "cells": 2, "ports": {"1..20": "feed"}},
    "rx": {"kind": "receiver", "ports": {"1..20": "data", "supply": "supply"}},
    "box": {"kind": "sensor", "measures": ["voltage"], "ports": {"1..20": "data"}},
    "hub": {"kind": "hub", "ports": {"1..20": "data"}},
}
BOXES = [f"{kind}-{letter}" for kind in ("rx", "box", "hub") for letter in "abc"]


def wired(pairs: list[tuple[str, str]]) -> dict[str, Any]:
    """Return an aircraft with a data lead for each pair, and power for every box."""
    used = dict.fromkeys(BOXES, 1)
    leads: list[dict[str, str]] = []
    for one, other in pairs:
        leads.append({"from": f"{one}.{used[one]}", "to": f"{other}.{used[other]}"})
        used[one] += 1
        used[other] += 1
    power = [
        {
            "from": f"pack.{number}",
            "to": f"{name}.supply" if name.startswith("rx") else f"{name}.20",
            "carries": "power",
        }
        for number, name in enumerate(BOXES, 1)
    ]
    return {
        "holdshort": 1,
        "parts": PARTS,
        "devices": {
            "pack": {"part": "pack"},
            **{name: {"part": name.partition("-")[0]} for name in BOXES},
        },
        "leads": [*power, *leads],
        "telemetry": {
            name: {"from": name, "measures": "voltage", "of": "pack", "shown": True}
            for name in BOXES
        },
    }


pairs_of_boxes = st.lists(
    st.tuples(st.sampled_from(BOXES), st.sampled_from(BOXES)).filter(
        lambda pair: pair[0] != pair[1]
    ),
    max_size=12,
)


def graph_of(pairs: list[tuple[str, str]], *, start: str) -> "nx.DiGraph[str]":
    """Return the graph in which receivers are dead ends, but for ``start``."""
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(BOXES)
    for one, other in pairs:
        for here, there in ((one, other), (other, one)):
            if not here.startswith("rx") or here == start:
                graph.add_edge(here, there)
    return graph


@settings(max_examples=60, deadline=None)
@given(pairs_of_boxes)
def test_what_reaches_a_receiver_is_what_networkx_finds(pairs: list[tuple[str, str]]) -> None:
    study = study_of(wired(pairs))
    for one in study.readings:
        graph = graph_of(pairs, start=one.device.name)
        lengths = nx.single_source_shortest_path_length(graph, one.device.name)
        near = [length for name, length in lengths.items() if name.startswith("rx")]
        if isinstance(one.path, DataPath):
            assert len(one.path.devices) - 1 == min(near)
            assert nx.is_path(graph, list(one.path.devices))
        else:
            assert near == []


@settings(max_examples=40, deadline=None)
@given(pairs_of_boxes)
def test_a_bus_is_what_hangs_together_without_passing_a_receiver(
    pairs: list[tuple[str, str]],
) -> None:
    plain: nx.Graph[str] = nx.Graph(pairs)
    receivers = [name for name in plain if name.startswith("rx")]
    expected: set[tuple[str, frozenset[str]]] = set()
    for receiver in receivers:
        cut = plain.copy()
        cut.remove_nodes_from(other for other in receivers if other != receiver)
        found = frozenset(nx.node_connected_component(cut, receiver)) - {receiver}
        expected.add((receiver, found))
    for component in nx.connected_components(plain):
        if not component & set(receivers):
            expected.add(("", frozenset(component)))
    buses = study_of(wired(pairs)).buses
    told = {(bus.receiver or "", frozenset(bus.devices)) for bus in buses}
    assert {one for one in told if one[1]} == {one for one in expected if one[1]}
    assert len(buses) == len(told)


@settings(max_examples=30, deadline=None)
@given(pairs_of_boxes, st.data())
def test_without_its_lead_a_shown_sensor_is_always_found(
    pairs: list[tuple[str, str]], data: st.DataObject
) -> None:
    ways = [
        one.device.name
        for one in study_of(wired(pairs)).readings
        if isinstance(one.path, DataPath) and not one.device.name.startswith("rx")
    ]
    assume(ways)
    sensor = data.draw(st.sampled_from(ways))
    cut = [pair for pair in pairs if sensor not in pair]
    said = found(wired(cut), "sensor-without-data-path")
    assert any(f"read by `{sensor}`" in message for _, message in said)


@settings(max_examples=30, deadline=None)
@given(pairs_of_boxes, st.permutations([1, 2, 2, 3, 4, 5]), st.permutations(range(1, 20)))
def test_other_numbers_for_the_same_addresses_change_no_clash(
    pairs: list[tuple[str, str]], addresses: list[int], numbers: list[int]
) -> None:
    def clashing(shift: Mapping[int, int]) -> set[tuple[str, ...]]:
        tree = wired(pairs)
        boxes = [name for name in BOXES if not name.startswith("rx")]
        for name, address in zip(boxes, addresses, strict=True):
            tree["parts"][f"part-{name}"] = {
                **PARTS[name.partition("-")[0]],
                "address": shift[address],
            }
            tree["devices"][name] = {"part": f"part-{name}"}
        return {clash.devices for clash in study_of(tree).clashes}

    same = {number: number for number in range(1, 20)}
    other = dict(zip(range(1, 20), numbers, strict=True))
    assert clashing(same) == clashing(other)


# -- levels --------------------------------------------------------------------------------------


def bench(alarm: Mapping[str, Any], **pack: Any) -> dict[str, Any]:
    return {
        "holdshort": 1,
        "parts": {
            "pack": {
                "kind": "battery", "chemistry": "lipo", "cells": 3, "capacity": "3000 mAh",
                "resistance": "20 mΩ", **pack,
            },
            "rx": {
                "kind": "receiver", "voltage": {"min": "3.7 V"}, "measures": ["voltage"],
                "draws": {"rest": "2 A", "cruise": "2 A", "peak": "3 A"},
                "ports": {"tel": "data", "supply": "supply"},
            },
        },
        "devices": {"battery": {"part": "pack"}, "rx": {"part": "rx"}},
        "leads": [{"from": "battery", "to": "rx.supply", "wire": "10 mm2", "length": "1 mm"}],
        "telemetry": {
            "pack": {"from": "rx", "measures": "voltage", "of": "battery", "alarm": dict(alarm)}
        },
    }  # fmt: skip


@settings(max_examples=40, deadline=None)
@given(st.integers(80, 130), st.integers(0, 30), st.sampled_from(["lipo", "life", "nimh"]))
def test_a_higher_alarm_is_never_late_where_a_lower_one_is_not(
    tenths: int, more: int, chemistry: str
) -> None:
    def late(level: int) -> set[tuple[str, str]]:
        tree = bench({"below": f"{level / 10:.1f} V"}, chemistry=chemistry)
        return found(tree, "alarm-too-late")

    if not late(tenths):
        assert not late(tenths + more)


@settings(max_examples=25, deadline=None)
@given(st.integers(80, 130), st.integers(500, 6000))
def test_the_level_that_is_named_is_early_enough(tenths: int, capacity: int) -> None:
    study = study_of(bench({"below": f"{tenths / 10:.1f} V"}, capacity=f"{capacity} mAh"))
    (level,) = study.levels
    assume(level.late)
    again = study_of(bench({"below": study.wanted_text(level)}, capacity=f"{capacity} mAh"))
    assert again.levels[0].late == ()


def test_more_time_to_land_never_lowers_the_level() -> None:
    levels: list[float] = []
    for seconds in (0.0, 30.0, 120.0, 600.0):
        tree = bench({"below": "10.0 V"})
        (level,) = study_of(tree, landing=Quantity(seconds, f"{seconds} s")).levels
        assert level.wanted is not None
        levels.append(level.wanted)
    assert levels == sorted(levels)
    assert levels[0] < levels[-1]


def test_the_option_of_the_rule_is_what_the_analysis_takes() -> None:
    assert (TIME_TO_LAND.rule, TIME_TO_LAND.name) == LANDING_OPTION
    assert TIME_TO_LAND.kind.read(TIME_TO_LAND.default) == LANDING_TIME


def test_a_file_without_telemetry_and_sensors_has_no_study() -> None:
    tree = bench({"below": "10.0 V"})
    del tree["telemetry"]
    assert aircraft_of(tree).telemetry is None


@pytest.mark.parametrize(
    ("alarm", "kinds"),
    [
        ({"below": "10.8 V"}, {"link"}),  # without a regulator the pack is the rail
        ({"above": "10.8 V"}, {"pack", "rail", "link"}),
        ({"delay": "2 s"}, {"pack", "rail", "link"}),  # no level at all
    ],
)
def test_what_an_alarm_tells_of(alarm: Mapping[str, Any], kinds: set[str]) -> None:
    unwatched: tuple[Unwatched, ...] = study_of(bench(alarm)).unwatched
    assert {one.kind for one in unwatched} == kinds
