"""What the solved network says about a rail: which wire is thick enough, what hangs together."""

import json
from pathlib import Path
from typing import Any

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdshort.analysis import Aircraft
from holdshort.analysis.load_cases import CRUISE
from holdshort.analysis.rails import (
    LeadLoad,
    collapsed,
    gauge_for_drop,
    lowest,
    run_length,
    run_words,
    stall_currents,
)
from holdshort.analysis.wire import area_of_gauge, resistance_per_metre, run_resistance
from holdshort.analysis.wiring import Node, is_regulating
from holdshort.document import Document, read_document, read_file
from holdshort.setup import Cable, load

ROOT = Path(__file__).resolve().parents[2]


def built(tree: dict[str, Any]) -> Aircraft:
    loaded = load(read_document(json.dumps(tree).encode(), "drawn.yaml"), _no_catalogue)
    assert loaded.faults == ()
    return Aircraft(loaded.setup)


def _no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def lamp_on_a_lead(lead: dict[str, str], amperes: float = 3.0) -> Aircraft:
    draws = dict.fromkeys(("rest", "cruise", "peak"), f"{amperes:.3f} A")
    return built(
        {
            "holdshort": 1,
            "parts": {
                "pack": {
                    "kind": "battery", "chemistry": "lipo", "cells": 2, "resistance": "20 mohm",
                },
                "lamp": {"kind": "load", "draws": draws},
            },
            "devices": {"pack": {"part": "pack"}, "lamp": {"part": "lamp"}},
            "leads": [{"from": "pack", "to": "lamp", **lead}],
        }
    )  # fmt: skip


def the_lead(aircraft: Aircraft) -> Cable:
    return aircraft.setup.cables[0]


@pytest.mark.parametrize(
    ("allowed", "gauge"), [(0.81, 26), (0.79, 24), (0.325, 22), (0.31, 20), (0.205, 20)]
)
def test_the_wire_that_keeps_a_drop_small(allowed: float, gauge: int) -> None:
    """Row S14 of the trade rules (computed): 1 m at 3 A loses 0.20, 0.32, 0.80 V in 20, 22, 26 AWG.

    A supply of a million volts takes nothing off the far end's share.
    """
    cable = the_lead(lamp_on_a_lead({"wire": "26 AWG", "length": "1 m"}))
    loses = LeadLoad(CRUISE, 3.0, 0.80)
    assert gauge_for_drop(cable, loses, allowed, 1e6) == gauge


@given(
    awg=st.integers(18, 30),
    centimetres=st.integers(10, 300),
    amperes=st.floats(0.5, 8.0),
    share=st.floats(0.2, 0.9),
)
def test_the_gauge_named_is_thick_enough_and_the_next_is_not(
    awg: int, centimetres: int, amperes: float, share: float
) -> None:
    cable = the_lead(lamp_on_a_lead({"wire": f"{awg} AWG", "length": f"{centimetres} cm"}))

    def drop(gauge: int) -> float:
        per_metre = resistance_per_metre(area_of_gauge(gauge))
        return amperes * run_resistance(centimetres / 100, per_metre)

    allowed = share * drop(awg)
    gauge = gauge_for_drop(cable, LeadLoad(CRUISE, amperes, drop(awg)), allowed, 1e9)
    if gauge is None:
        assert drop(0) > allowed * (1 - 1e-6)
        return
    assert gauge % 2 == 0
    assert drop(gauge) <= allowed * (1 + 1e-6)
    assert drop(gauge + 2) > allowed * (1 - 1e-6)


def test_a_lead_is_told_by_its_whole_length() -> None:
    extended = the_lead(
        lamp_on_a_lead({"wire": "0.5 mm2", "length": "30 cm", "extension": "90 cm"})
    )
    assert run_length(extended) == pytest.approx(1.2)
    assert run_words(extended) == "1.2 m of 0.5 mm2"
    unknown = the_lead(lamp_on_a_lead({}))
    assert run_words(unknown) == "30 cm of wire (taken as 22 AWG)"


def test_the_lowest_voltage_is_that_of_the_emptiest_pack() -> None:
    """E = 2 x 3.73 V at 20 % charge (common practice), less 3 A through the pack's 20 mohm."""
    low = lowest(lamp_on_a_lead({"wire": "1 mm2", "length": "1 m"}).power, Node("pack", "rail"))
    assert low is not None
    assert low.case.charge == 0.2
    assert low.voltage == pytest.approx(7.46 - 3.0 * 0.02)


def test_a_collapse_is_told_once_in_its_worst_case() -> None:
    """29 A through 0.02 ohm and 23.2 m of 1 mm2 (0.8 ohm): 0.82 ohm carries 7.46 / 0.82 A."""
    (found,) = collapsed(lamp_on_a_lead({"wire": "1 mm2", "length": "23.2 m"}, 29.0).power)
    assert found.device == "lamp"
    assert found.place.share == pytest.approx(7.46 / 0.82 / 29.0, abs=1e-4)
    assert found.nodes == {Node("pack", "rail"), Node("lamp", "rail")}


def shipped(path: Path) -> Aircraft:
    loaded = load(read_file(path), lambda name: read_file(path.parent / name, name))
    return Aircraft(loaded.setup)


SHIPPED = [
    *sorted((ROOT / "examples").glob("*.yaml")),
    *sorted((ROOT / "linter" / "holdshort" / "cli" / "layouts").glob("*.yaml")),
]


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_networks_are_the_connected_components(path: Path) -> None:
    """Against networkx, with regulators and isolated inputs as edges."""
    wiring = shipped(path).wiring
    graph: nx.Graph[Node] = nx.Graph()
    graph.add_edges_from((joint.start, joint.end) for joint in wiring.copper)
    graph.add_edges_from((way.start, way.end) for way in wiring.one_way)
    graph.add_edges_from(
        (Node(device.name, "in"), Node(device.name, "out"))
        for device in wiring.setup.devices.values()
        if is_regulating(device)
    )
    for component in nx.connected_components(graph):
        assert all(wiring.network(node) == component for node in component)


def test_the_stall_currents_on_a_regulator() -> None:
    """The shelf of the examples: seven servos of 4.0 A and a small one of 1.6 A at 7.4 V."""
    flown = shipped(ROOT / "examples" / "studies" / "one-pack-jet.yaml")
    regulator = flown.setup.devices["regulator"]
    found = stall_currents(flown.setup, flown.wiring, regulator)
    assert sorted(found) == [1.6, *[4.0] * 7]
