"""An entry with a mistake of form is unknown: what could hang on it is not called a fault."""

import json
from typing import Any

import pytest

from holdshort.analysis import Aircraft
from holdshort.document import Document, read_document
from holdshort.rulebook import Judgement, judge
from holdshort.setup import load
from holdshort_rules import pack

BASE: dict[str, Any] = {
    "holdshort": 1,
    "aircraft": {"name": "Test", "propulsion": "none"},
    "parts": {
        "pack": {"kind": "battery", "chemistry": "life", "cells": 2},
        "rx": {"kind": "receiver", "ports": {"1..4": "servo", "supply": "supply"}},
        "servo": {"kind": "servo"},
    },
    "devices": {"pack": {"part": "pack"}, "rx": {"part": "rx"}, "servo": {"part": "servo"}},
    "leads": [{"from": "pack", "to": "rx.supply"}, {"from": "rx.1", "to": "servo"}],
    "radio": {"channels": {"1": {"drives": "rudder"}, "2": {"drives": "lights"}}},
    "surfaces": {"rudder": {"servo": "servo"}},
}


def _no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def judged(rule_id: str, leads: list[dict[str, str]]) -> Judgement:
    tree = {**BASE, "leads": leads}
    setup = load(read_document(json.dumps(tree).encode(), "plane.yaml"), _no_catalogue).setup
    rules = [(pack, rule) for rule in pack.rules if rule.id == rule_id]
    judgement = judge(Aircraft(setup), rules)
    assert judgement.crashes == []
    return judgement


@pytest.mark.parametrize(
    ("rule_id", "index"),
    [
        ("unpowered-device", 0),
        ("unfitted-part", 0),
        ("unfitted-part", 1),
        ("orphan-channel", 1),
        ("leftover-channel", 1),
    ],
)
def test_a_lead_that_cannot_be_read_is_no_missing_lead(rule_id: str, index: int) -> None:
    whole = BASE["leads"]
    without = [lead for place, lead in enumerate(whole) if place != index]
    unreadable = [
        {**lead, "carries": "water"} if place == index else lead for place, lead in enumerate(whole)
    ]
    if rule_id != "orphan-channel":
        assert judged(rule_id, without).found
    broken = judged(rule_id, unreadable)
    assert broken.found == []
    assert broken.unjudged


def test_a_part_of_a_device_that_cannot_be_read_is_used() -> None:
    tree = {**BASE, "devices": {**BASE["devices"], "rx": {"part": "rx", "mass": "heavy"}}}
    setup = load(read_document(json.dumps(tree).encode(), "plane.yaml"), _no_catalogue).setup
    rules = [(pack, rule) for rule in pack.rules if rule.id == "unfitted-part"]
    assert judge(Aircraft(setup), rules).found == []


@pytest.mark.parametrize("lead", [{}, {"carries": "power"}, {"wire": "20 AWG", "length": "9 cm"}])
def test_a_lead_from_a_box_back_to_itself_stops_no_rule(lead: dict[str, str]) -> None:
    leads = [*BASE["leads"], {"from": "rx.3", "to": "rx.4", **lead}]
    tree = {**BASE, "leads": leads}
    setup = load(read_document(json.dumps(tree).encode(), "plane.yaml"), _no_catalogue).setup
    aircraft = Aircraft(setup)
    assert judge(aircraft, [(pack, rule) for rule in pack.rules]).crashes == []
    assert aircraft.failures.singles()
