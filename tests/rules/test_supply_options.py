"""The owner's own limits of the rules on currents, packs and switches."""

import json

import pytest

from holdshort.analysis import Aircraft
from holdshort.api import Finding, Option, Rule
from holdshort.document import Document, read_document
from holdshort.setup import load
from holdshort_rules import pack


def _no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def flown(limits: dict[tuple[str, str], str]) -> Aircraft:
    """Return one aircraft with a 16 AWG supply of 3.2 A and one switch, with the given limits."""
    tree = {
        "holdshort": 1,
        "aircraft": {
            "name": "Test", "propulsion": "piston", "mass": {"ready": "12 kg"},
            "flight-time": "10 min", "flights-per-charge": 4,
        },
        "parts": {
            "pack": {
                "kind": "battery", "chemistry": "lipo", "cells": 2, "capacity": "5000 mAh",
                "resistance": "10 mΩ",
            },
            "switch": {"kind": "switch", "resistance": "5 mΩ"},
            "plug": {"kind": "connector", "contacts": 1, "contact-current": "10 A"},
            "rx": {
                "kind": "receiver", "ports": {"1": "servo", "supply": "supply"},
                "draws": {"rest": "0.1 A", "cruise": "0.2 A", "peak": "0.2 A"},
            },
            "lamp": {"kind": "lights", "draws": {"rest": "0 A", "cruise": "3 A", "peak": "12 A"}},
        },
        "devices": {name: {"part": name} for name in ("pack", "switch", "rx", "lamp")},
        "leads": [
            {"from": "pack", "to": "switch.in", "wire": "16 AWG", "length": "20 cm",
             "connectors": ["plug"]},
            {"from": "switch.out", "to": "rx.supply", "wire": "16 AWG", "length": "20 cm"},
            {"from": "rx.1", "to": "lamp", "length": "20 cm", "wire": "20 AWG"},
        ],
    }  # fmt: skip
    loaded = load(read_document(json.dumps(tree).encode(), "drawn.yaml"), _no_catalogue)
    assert loaded.faults == ()
    own = {key: option(*key).kind.read(text) for key, text in limits.items()}
    return Aircraft(loaded.setup, own)


def rule_of(rule_id: str) -> Rule:
    return next(rule for rule in pack.rules if rule.id == rule_id)


def option(rule_id: str, name: str) -> Option:
    return next(option for option in rule_of(rule_id).options if option.name == name)


def found(rule_id: str, limits: dict[tuple[str, str], str]) -> list[str]:
    """Return the severity of each finding of a rule, or its own, in words."""
    rule = rule_of(rule_id)
    outcomes = rule.check(flown(limits))
    findings = [outcome for outcome in outcomes if isinstance(outcome, Finding)]
    return [
        (rule.severity if finding.severity is None else finding.severity).word
        for finding in findings
    ]


@pytest.mark.parametrize(
    ("rule_id", "name", "kept", "broken", "severity"),
    [
        # 12.2 A for a short time through a plug of 10 A: kept at twice, broken at 1.2 times
        ("connector-overloaded", "short-time", "123 %", "121 %", "caution"),
        # 3 A all the time and 12 A for a short time through the lamp's plug
        ("plug-feeds-too-much", "short-time", "401 %", "399 %", "caution"),
        # 20 AWG at 3 A: 4 A by the table at 105 degrees; 12 A from 70 to 105 degrees:
        # (74.4 x 0.518 / 12)^2 = 10.3 s
        ("wire-overloaded", "burst", "10 s", "11 s", "caution"),
        # 3.2 A x 40 min = 2.133 Ah of 5 Ah: 57.3 % left
        ("battery-too-small", "reserve", "57 %", "58 %", "warning"),
        # 0.8 x 5 Ah / 3.2 A = 75 min
        ("battery-too-small", "endurance", "74 min", "76 min", "caution"),
        # the aircraft is 12 kg, and one switch is a caution on a light one
        ("single-switch", "mass", "12 kg", "11.9 kg", "warning"),
    ],
)
def test_the_owners_limit_counts(
    rule_id: str, name: str, kept: str, broken: str, severity: str
) -> None:
    lenient = {("plug-feeds-too-much", "short-time"): "900 %"} if name != "short-time" else {}
    if rule_id == "battery-too-small" and name == "reserve":
        lenient[("battery-too-small", "endurance")] = "1 min"
    assert severity not in found(rule_id, lenient | {(rule_id, name): kept})
    assert severity in found(rule_id, lenient | {(rule_id, name): broken})


def test_a_servo_plug_may_be_allowed_less_but_never_more_than_its_contact() -> None:
    """3 A flow; the contact carries 3.2 A on thick wire (rows S10 and S11)."""
    lenient = {("plug-feeds-too-much", "short-time"): "900 %"}
    current = ("plug-feeds-too-much", "current")
    assert found("plug-feeds-too-much", lenient | {current: "2.9 A"}) == ["warning"]
    assert found("plug-feeds-too-much", lenient | {current: "9 A"}) == []


def test_hotter_insulation_carries_more() -> None:
    """20 AWG: 12 A for 10 s is under 12.2 A from 70 to 105 degrees, and far under to 200."""
    burst = {("wire-overloaded", "burst"): "30 s"}
    assert found("wire-overloaded", burst) == ["caution"]
    assert found("wire-overloaded", burst | {("wire-overloaded", "insulation"): "200 degC"}) == []
