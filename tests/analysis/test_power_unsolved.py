"""What is known when the solver fails: nothing, and that is said."""

import json
from typing import Any

import pytest

from holdshort.analysis import Aircraft
from holdshort.analysis import power as power_module
from holdshort.analysis.circuit import ConvergenceError
from holdshort.analysis.wiring import Node
from holdshort.document import Document, read_document
from holdshort.setup import load

TREE: dict[str, Any] = {
    "holdshort": 1,
    "parts": {
        "pack": {"kind": "battery", "chemistry": "lipo", "cells": 2, "capacity": "5000 mAh"},
        "rx": {"kind": "receiver", "ports": {"1..4": "servo", "supply": "supply"}},
    },
    "devices": {"pack": {"part": "pack"}, "rx": {"part": "rx"}},
    "leads": [{"from": "pack", "to": "rx.supply", "wire": "20 AWG", "length": "20 cm"}],
}


def _no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def aircraft() -> Aircraft:
    loaded = load(read_document(json.dumps(TREE).encode(), "drawn.yaml"), _no_catalogue)
    assert loaded.faults == ()
    return Aircraft(loaded.setup)


def test_a_solver_that_fails_leaves_everything_unknown(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(elements: object) -> None:
        raise ConvergenceError("no point and no limit")

    monkeypatch.setattr(power_module, "solve", fail)
    power = aircraft().power
    result = power.result("cruise")
    assert result.solution is None
    assert result.collapse is None
    assert result.voltage(Node("rx", "rail")) is None
    needs = power.needs(result.case, Node("rx", "rail"))
    assert any("can be solved" in need.text for need in needs)


def test_a_solver_that_does_not_fail_asks_for_nothing_of_the_kind() -> None:
    power = aircraft().power
    result = power.result("cruise")
    assert result.voltage(Node("rx", "rail")) == pytest.approx(7.66, abs=0.01)  # 2 x 3.83 V at half
    needs = power.needs(result.case, Node("rx", "rail"))
    assert not any("can be solved" in need.text for need in needs)


def test_a_stall_current_past_belief_leaves_no_voltage() -> None:
    servo = {"kind": "servo", "ratings": [{"at": "6 V", "stall-current": "999999999 A"}]}
    tree = {
        **TREE,
        "parts": {**TREE["parts"], "servo": servo},
        "devices": {**TREE["devices"], "servo": {"part": "servo"}},
        "leads": [*TREE["leads"], {"from": "rx.1", "to": "servo"}],
    }
    loaded = load(read_document(json.dumps(tree).encode(), "drawn.yaml"), _no_catalogue)
    assert loaded.faults == ()
    power = Aircraft(loaded.setup).power
    stalled = next(result for result in power.results if result.case.servos == "stalled pair")
    # Two cells at 3.7 V or more behind 30 cm of 22 AWG, out and back: 32 mohm, against the load's.
    volts = stalled.voltage(Node("servo", "rail"))
    assert volts is not None
    assert 0.0 < volts < 8.4 * 1e-5 / 32e-3
