"""The owner's own limits in the power rules, and whether what is advised helps."""

import json
from typing import Any

import pytest

from holdshort.analysis import Aircraft
from holdshort.api import Finding, Option, Rule
from holdshort.document import Document, read_document
from holdshort.setup import load
from holdshort_rules import regulators, voltages


def read(tree: dict[str, Any], limits: dict[Option, str] | None = None) -> Aircraft:
    def nothing(name: str) -> Document:
        raise AssertionError(name)

    loaded = load(read_document(json.dumps(tree).encode(), "drawn.yaml"), nothing)
    assert loaded.faults == ()
    own = {(one.rule, one.name): one.kind.read(text) for one, text in (limits or {}).items()}
    return Aircraft(loaded.setup, own)


def found(rule: Rule, aircraft: Aircraft) -> list[Finding]:
    return [outcome for outcome in rule.check(aircraft) if isinstance(outcome, Finding)]


def receiver_and_lamp(peak: str, wire: str = "0.1 mm2", reset: str = "3.2 V") -> dict[str, Any]:
    """V(rx) = 7.46 V - I (0.65 + 0.1) ohm in the hard manoeuvre; copper 1/58 ohm mm2/m."""
    nothing = {"rest": "0 A", "cruise": "0 A", "peak": "0 A"}
    return {
        "holdshort": 1,
        "parts": {
            "pack": {
                "kind": "battery", "chemistry": "lipo", "cells": 2, "resistance": "650 mohm",
            },
            "rx": {
                "kind": "receiver", "voltage": {"min": "3.0 V"}, "brown-out": reset,
                "draws": nothing, "ports": {"1": "servo", "supply": "supply"},
            },
            "lamp": {
                "kind": "load", "voltage": {"min": "1.0 V"}, "draws": {**nothing, "peak": peak},
            },
        },
        "devices": {"pack": {"part": "pack"}, "rx": {"part": "rx"}, "lamp": {"part": "lamp"}},
        "leads": [
            {"from": "pack", "to": "rx.supply", "wire": wire, "length": "29 cm"},
            {"from": "rx.1", "to": "lamp", "wire": "1 mm2", "length": "29 cm"},
        ],
    }  # fmt: skip


@pytest.mark.parametrize(("margin", "count"), [("0.3 V", 0), ("0.5 V", 1), ("0 V", 0)])
def test_the_margin_over_a_brown_out(margin: str, count: int) -> None:
    """5.2 A: the receiver has 7.46 - 3.9 = 3.56 V; it needs 3.2 V and the margin."""
    aircraft = read(receiver_and_lamp("5.2 A"), {voltages.MARGIN: margin})
    assert len(found(voltages.rail_below_device_minimum, aircraft)) == count


@pytest.mark.parametrize(("share", "count"), [("7.0 %", 1), ("7.1 %", 0), ("3 %", 1)])
def test_the_share_that_may_be_lost_for_a_short_time(share: str, count: int) -> None:
    """5.2 A through 0.1 ohm are 0.52 V, 7.03 % of 7.4 V."""
    aircraft = read(receiver_and_lamp("5.2 A"), {voltages.INTERMITTENT: share})
    assert len(found(voltages.voltage_drop_high, aircraft)) == count


def test_the_share_that_may_be_lost_in_steady_flight() -> None:
    """2 A through 0.1 ohm are 0.2 V, 2.7 % of 7.4 V."""
    tree = receiver_and_lamp("2 A")
    tree["parts"]["lamp"]["draws"]["cruise"] = "2 A"
    assert not found(voltages.voltage_drop_high, read(tree))
    (finding,) = found(voltages.voltage_drop_high, read(tree, {voltages.CONTINUOUS: "2.6 %"}))
    assert "cruise" in finding.message


def regulated() -> dict[str, Any]:
    """Two servos of 4 A: 4 A by half, 8 A by the whole of their stall currents."""
    servo = {
        "kind": "servo", "idle-current": "0 A", "cruise-current": "0 A",
        "ratings": [{"at": "6.0 V", "stall-current": "4 A"}],
    }  # fmt: skip
    return {
        "holdshort": 1,
        "parts": {
            "pack": {"kind": "battery", "chemistry": "lipo", "cells": 3, "resistance": "9 mohm"},
            "reg": {
                "kind": "regulator", "type": "switching", "output": "6.0 V", "dropout": "0.5 V",
                "continuous-current": "5 A", "peak-current": "7.9 A",
            },
            "servo": servo,
            "bus": {"kind": "splitter"},
        },
        "devices": {
            "pack": {"part": "pack"}, "regulator": {"part": "reg", "measured": "6.3 V"},
            "bus": {"part": "bus"}, "one": {"part": "servo"}, "two": {"part": "servo"},
        },
        "leads": [
            {"from": "pack", "to": "regulator.in", "wire": "1 mm2", "length": "29 cm"},
            {"from": "regulator.out", "to": "bus.in", "wire": "1 mm2", "length": "29 cm"},
            {"from": "bus.out-1", "to": "one"},
            {"from": "bus.out-2", "to": "two"},
        ],
    }  # fmt: skip


@pytest.mark.parametrize(("share", "count"), [("50 %", 0), ("98 %", 0), ("100 %", 1)])
def test_the_share_of_stall_currents(share: str, count: int) -> None:
    aircraft = read(regulated(), {regulators.STALL_SHARE: share})
    assert len(found(regulators.regulator_overloaded, aircraft)) == count


@pytest.mark.parametrize(("allowed", "count"), [("0.1 V", 1), ("0.29 V", 1), ("0.31 V", 0)])
def test_how_far_a_measured_voltage_may_be_off(allowed: str, count: int) -> None:
    aircraft = read(regulated(), {regulators.DIFFERENCE: allowed})
    assert len(found(regulators.measured_differs, aircraft)) == count


@pytest.mark.parametrize("peak", ["5.3 A", "6 A", "7 A", "8.5 A"])
def test_the_wire_that_is_advised_is_enough(peak: str) -> None:
    (finding,) = found(voltages.voltage_drop_high, read(receiver_and_lamp(peak)))
    gauge = finding.do.removeprefix("Use ").split(" or ")[0]
    assert gauge.endswith("AWG")
    assert not found(voltages.voltage_drop_high, read(receiver_and_lamp(peak, wire=gauge)))
