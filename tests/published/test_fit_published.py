"""Fit of leads against published wiring rules.

Rows `ac43_slack_half_inch` and `tm1500_bend_radius` of the project's collection of check values.
FOUND: the number was read in a public copy; MEMORY: from memory.
"""

import json
from typing import Any

import pytest

from holdshort.analysis import Aircraft
from holdshort.document import Document, read_document
from holdshort.rulebook import judge, load_rulebook
from holdshort.setup import load

RULEBOOK = load_rulebook()


def no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def finds(rule: str, **lead: Any) -> bool:
    tree = {
        "holdshort": 1,
        "parts": {
            "pack": {"kind": "battery", "chemistry": "lipo", "cells": 2},
            "rx": {"kind": "receiver", "ports": {"supply": "supply"}},
        },
        "devices": {"pack": {"part": "pack"}, "rx": {"part": "rx"}},
        "leads": [
            {"from": "pack", "to": "rx.supply"}
            | {key.replace("_", "-"): value for key, value in lead.items()}
        ],
    }
    loaded = load(read_document(json.dumps(tree).encode(), "drawn.yaml"), no_catalogue)
    assert loaded.faults == ()
    judgement = judge(Aircraft(loaded.setup), RULEBOOK)
    said = {item.rule.id for item in judgement.found}
    judged = said | {one.id for one in judgement.clean}
    assert rule in judged
    return rule in said


# Row tm1500_bend_radius. FOUND: US Army TM 1-1500-204-23-4 paragraph (27), "10 times outside
# diameter". DERIVED from it: 3.0 mm outside, 30.0 mm; 0.125 in, 1.25 in (31.75 mm).
@pytest.mark.parametrize(
    ("diameter", "radius", "too_tight"),
    [
        ("3.0 mm", "30.0 mm", False),
        ("3.0 mm", "29.9 mm", True),
        ("0.125 in", "1.25 in", False),
        ("0.125 in", "31 mm", True),
    ],
)
def test_bends_of_ten_diameters(diameter: str, radius: str, too_tight: bool) -> None:
    assert finds("bend-too-tight", diameter=diameter, bend_radius=radius) is too_tight


# MEMORY: aircraft wiring practice, three times the outside diameter where the wire is held on both
# sides of the bend; no document was read.
@pytest.mark.parametrize(("radius", "too_tight"), [("9.0 mm", False), ("8.9 mm", True)])
def test_supported_bends_of_three_diameters(radius: str, too_tight: bool) -> None:
    found = finds("bend-too-tight", diameter="3 mm", bend_radius=radius, bend_supported=True)
    assert found is too_tight


# Row ac43_slack_half_inch. FOUND: AC 43.13-1B paragraph 11-115, grommets with at least 3/8 in of
# clearance where wires cannot be clamped. 3/8 in is 9.525 mm.
@pytest.mark.parametrize(
    ("gap", "chafes"), [("0.375 in", False), ("9.53 mm", False), ("9.52 mm", True), ("0 mm", True)]
)
def test_three_eighths_of_an_inch_from_an_edge(gap: str, chafes: bool) -> None:
    assert finds("chafe-point", near={"sharp": gap}, protected_by=[]) is chafes


def test_a_grommet_may_touch_the_edge() -> None:
    assert not finds("chafe-point", near={"sharp": "0 mm"}, protected_by=["grommet"])
