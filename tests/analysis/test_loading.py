"""Currents of leads and packs against limits, and the limits of wire, fuses and contacts."""

import json
import math
from typing import Any

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.analysis import Aircraft
from holdshort.analysis.facts import Need
from holdshort.analysis.loading import (
    Excess,
    connector_current,
    greatest_fuse,
    lead_loading,
    servo_plug_current,
    short_time_current,
    show_amps,
    wire_rating,
)
from holdshort.analysis.supply_paths import beyond, packs_behind
from holdshort.analysis.wire import area_of_gauge
from holdshort.analysis.wiring import Node, Wiring
from holdshort.document import Document, read_document
from holdshort.setup import Setup, load

MM2 = 1e-6


def _no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def setup_of(**sections: Any) -> Setup:
    document = read_document(json.dumps({"holdshort": 1, **sections}).encode(), "drawn.yaml")
    loaded = load(document, _no_catalogue)
    assert loaded.faults == ()
    return loaded.setup


@pytest.mark.parametrize(
    ("gauge", "amperes"), [(24, 2.5), (20, 4.0), (16, 7.0), (14, 10.0), (12, 13.0), (10, 17.0)]
)
def test_wire_in_the_table(gauge: int, amperes: float) -> None:
    """AC 43.13-1B Table 11-9, 105 degrees Celsius column, read."""
    rating = wire_rating(area_of_gauge(gauge), 105.0)
    assert rating is not None
    assert (rating.current, rating.gauge, rating.derived) == (amperes, gauge, False)


def test_hotter_insulation_takes_the_higher_column() -> None:
    """AC 43.13-1B Table 11-9, row 16 AWG: 7, 11 and 14 A at 105, 150 and 200 degrees, read."""
    found = [wire_rating(area_of_gauge(16), degrees) for degrees in (105.0, 149.0, 150.0, 200.0)]
    assert [rating and rating.current for rating in found] == [7.0, 7.0, 11.0, 14.0]
    assert wire_rating(area_of_gauge(16), 80.0) is None


@given(st.floats(0.02, 30.0), st.floats(1.0, 1.5))
def test_thicker_wire_never_carries_less(area: float, more: float) -> None:
    thin, thick = wire_rating(area * MM2, 105.0), wire_rating(area * more * MM2, 105.0)
    assert thin is not None
    assert thick is not None
    assert thin.current <= thick.current * (1 + 1e-9)
    assert servo_plug_current(area * MM2) <= servo_plug_current(area * more * MM2) * (1 + 1e-9)
    assert greatest_fuse(area * MM2).current <= greatest_fuse(area * more * MM2).current


@pytest.mark.parametrize(
    ("gauge", "amperes"), [(22, 5.0), (20, 5.0), (18, 10.0), (16, 10.0), (14, 15.0), (12, 20.0)]
)
def test_the_greatest_fuse_of_a_wire(gauge: int, amperes: float) -> None:
    """AC 43.13-1B Table 11-3, read."""
    assert greatest_fuse(area_of_gauge(gauge)) == (amperes, gauge, True)


def test_the_fuse_of_wire_the_table_does_not_reach_is_only_a_bound() -> None:
    assert greatest_fuse(area_of_gauge(26)) == (5.0, 22, False)


@pytest.mark.parametrize(
    ("start", "end", "factor"), [(70.0, 160.0, 115.0), (30.0, 160.0, 143.0), (90.0, 250.0, 143.0)]
)
def test_heating_in_a_short_time(start: float, end: float, factor: float) -> None:
    """Factors k of IEC 60364-5-54 for copper, A s^0.5/mm2, from memory.

    In PVC from 70 to 160 degrees 115, from 30 to 160 143; in XLPE from 90 to 250 143.
    """
    assert short_time_current(1 * MM2, start, end, 1.0) == pytest.approx(factor, rel=0.005)


def test_heating_agrees_with_the_heat_balance_step_by_step() -> None:
    """Euler steps of dT = I^2 rho(T) dt / (A^2 Q) reach the end temperature (derived)."""
    area, duration, steps = 0.8 * MM2, 10.0, 20_000
    current = short_time_current(area, 70.0, 105.0, duration)
    degrees = 70.0
    for _ in range(steps):
        resistivity = 1.7241e-8 * (234.5 + degrees) / 254.5
        degrees += current**2 * resistivity / area**2 / 3.45e6 * duration / steps
    assert degrees == pytest.approx(105.0, abs=0.01)


@pytest.mark.parametrize(
    ("gauge", "amperes"), [(22, 3.2), (24, 3.0), (26, 2.8), (28, 2.4), (20, 3.2)]
)
def test_a_servo_plug_by_its_wire(gauge: int, amperes: float) -> None:
    """Rows S10 (one circuit: 4.0, 3.75, 3.5, 3.0 A on 22 to 28 AWG, read) and S11 (x 0.8, read)."""
    assert servo_plug_current(area_of_gauge(gauge)) == pytest.approx(amperes)


@pytest.mark.parametrize(("contacts", "amperes"), [(1, 5.0), (2, 8.0), (4, 12.8)])
def test_contacts_side_by_side(contacts: int, amperes: float) -> None:
    """Row S11: a fifth less for each doubling (read); 5 A for one contact."""
    assert connector_current(5.0, contacts) == pytest.approx(amperes)


@pytest.mark.parametrize(
    ("current", "text"), [(0.25, "0.25 A"), (3.0, "3 A"), (10.0, "10 A"), (14.77, "14.8 A")]
)
def test_currents_in_words(current: float, text: str) -> None:
    assert show_amps(current) == text


NAMES = ("pack", "second", "reg", "a", "b", "c", "d")


@st.composite
def wired(draw: st.DrawFn) -> list[dict[str, str]]:
    """Draw power leads between two packs, a regulator and four terminal blocks."""
    used: dict[str, int] = dict.fromkeys(NAMES, 0)

    def port(name: str) -> str:
        used[name] += 1
        if name in {"pack", "second"}:
            return f"{name}.out-{used[name]}"
        side = draw(st.sampled_from(("in", "out"))) if name == "reg" else "o"
        return f"{name}.{side}-{used[name]}"

    pairs = draw(
        st.lists(st.tuples(st.sampled_from(NAMES), st.sampled_from(NAMES)), min_size=1, max_size=9)
    )
    leads = [(port(one), port(other)) for one, other in pairs if one != other]
    return [{"from": start, "to": end, "carries": "power"} for start, end in leads]


def drawn(leads: list[dict[str, str]]) -> Setup:
    return setup_of(
        parts={
            "pack": {
                "kind": "battery", "chemistry": "lipo", "cells": 2, "ports": {"out-1..20": "feed"},
            },
            "reg": {
                "kind": "regulator", "output": "6 V",
                "ports": {"in-1..20": "supply", "out-1..20": "feed"},
            },
            "block": {"kind": "splitter", "ports": {"o-1..20": "feed"}},
        },
        devices={
            "pack": {"part": "pack"},
            "second": {"part": "pack"},
            "reg": {"part": "reg"},
            **{name: {"part": "block"} for name in "abcd"},
        },
        leads=leads,
    )  # fmt: skip


def graph_of(wiring: Wiring) -> "nx.MultiGraph[Node]":
    graph: nx.MultiGraph[Node] = nx.MultiGraph()
    graph.add_edge(Node("reg", "in"), Node("reg", "out"), key=-1)
    for joint in wiring.copper:
        if joint.cable is not None:
            graph.add_edge(joint.start, joint.end, key=joint.cable.index)
    return graph


@settings(max_examples=150)
@given(wired())
def test_what_hangs_on_one_lead_alone_agrees_with_networkx(leads: list[dict[str, str]]) -> None:
    setup = drawn(leads)
    wiring = Wiring(setup)
    packs = {"pack", "second"}
    for joint in wiring.copper:
        assert joint.cable is not None
        graph = graph_of(wiring)
        graph.remove_edge(joint.start, joint.end, key=joint.cable.index)
        sides = [nx.node_connected_component(graph, node) for node in (joint.end, joint.start)]
        free = [side for side in sides if packs.isdisjoint(node.device for node in side)]
        expected = free[0] if sides[0] != sides[1] and free else None
        assert beyond(wiring, joint.cable) == expected


@settings(max_examples=150)
@given(wired())
def test_packs_behind_a_node_agree_with_networkx(leads: list[dict[str, str]]) -> None:
    wiring = Wiring(drawn(leads))
    graph: nx.DiGraph[Node] = nx.DiGraph([(Node("reg", "in"), Node("reg", "out"))])
    graph.add_nodes_from(Node(name, "rail") for name in NAMES if name != "reg")
    for joint in wiring.copper:
        graph.add_edges_from([(joint.start, joint.end), (joint.end, joint.start)])
    for node in list(graph):
        above = [other for other in graph if nx.has_path(graph, other, node)]
        expected = {found.device for found in above} & {"pack", "second"}
        assert set(packs_behind(wiring, node)) == expected


def loaded_lead(**lead: str) -> Aircraft:
    return Aircraft(
        setup_of(
            parts={
                "pack": {
                    "kind": "battery", "chemistry": "lipo", "cells": 2, "resistance": "10 mΩ",
                },
                "pump": {"kind": "load", "draws": {"rest": "0 A", "cruise": "5 A", "peak": "9 A"}},
            },
            devices={"pack": {"part": "pack"}, "pump": {"part": "pump"}},
            leads=[{"from": "pack", "to": "pump", **lead}],
        )
    )  # fmt: skip


def test_steady_excess_holds_without_the_wire_and_a_short_one_does_not() -> None:
    """A resistance left out can only make the short-time current of straining servos too high."""
    flown = loaded_lead()
    loading = lead_loading(flown.power, flown.setup.cables[0])
    assert loading is not None
    over = loading.against(4.0, 20.0)
    assert isinstance(over, Excess)
    assert (over.kind, over.limit, over.case) == ("steady", 4.0, "half-full packs, steady flight")
    assert over.current == pytest.approx(5.0)
    unsure = loading.against(6.0, 8.0)
    assert isinstance(unsure, Need)
    assert "wire size and length" in unsure.text
    assert loading.against(6.0, 9.0) is None


def test_a_lead_without_a_pack_has_no_current() -> None:
    flown = Aircraft(
        setup_of(
            parts={"pump": {"kind": "load"}, "split": {"kind": "splitter"}},
            devices={"pump": {"part": "pump"}, "split": {"part": "split"}},
            leads=[{"from": "split.out-1", "to": "pump"}],
        )
    )
    assert lead_loading(flown.power, flown.setup.cables[0]) is None


def test_the_derived_rating_of_thin_wire_meets_the_table_at_its_thinnest_row() -> None:
    just, below = wire_rating(area_of_gauge(24), 105.0), wire_rating(area_of_gauge(28), 105.0)
    assert just is not None
    assert below is not None
    assert below.derived
    ratio = math.pow(92.0, -8.0 / 39.0)  # (d28 / d24)^2 by ASTM B258
    assert below.current == pytest.approx(just.current * ratio)
