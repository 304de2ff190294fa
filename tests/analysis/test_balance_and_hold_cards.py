"""The cards of balance and of held surfaces: what they tell, and what is left to be written in."""

import json
from typing import Any

import pytest

from holdshort.analysis import Aircraft
from holdshort.analysis.bench_cards import BenchCard, CardSheet
from holdshort.analysis.cards import card_sheet
from holdshort.document import Document, read_document
from holdshort.setup import load

# By hand: 2 kg at 0 and 8 kg at 500 mm are 10 kg at 400 mm; 2.5 l of 0.8 kg/l at 300 mm with it are
# 12 kg at 4600/12 = 383.3 mm. A leg of 500 g that swings 200 mm forward takes 10 mm of 10 kg.
BALANCED: dict[str, Any] = {
    "aircraft": {"name": "Wren", "propulsion": "turbine", "top-speed": "40 m/s"},
    "balance": {
        "datum": "the nose wheel",
        "range": {"from": "370 mm", "to": "395 mm"},
        "accuracy": {"load": "5 g", "station": "1 mm"},
        "weighings": {
            "wheels": {
                "on": "2026-05-01",
                "fuel": "empty",
                "points": {
                    "nose": {"station": "0 mm", "load": "2 kg"},
                    "mains": {"station": "500 mm", "load": "8 kg"},
                },
            }
        },
        "tanks": {"main": {"capacity": "2.5 l", "station": "300 mm"}},
        "landing-fuel": "0 l",
        "gear": {"leg": {"mass": "500 g", "down": "0 mm", "up": "-200 mm"}},
    },
}

# By hand, for the elevator of the cases of `servo-too-weak`: 1.61396 N m about the hinge, which at
# 100 mm of chord is 16.1396 N.
ELEVATOR: dict[str, Any] = {
    "servo": "elev",
    "deflection": {"up": "20 deg", "down": "12 deg"},
    "loads": {"chord": "100 mm", "span": "500 mm", "of-chord": "400 mm"},
    "linkage": {"arm": "10 mm", "horn": "20 mm"},
}
HELD: dict[str, Any] = {
    "aircraft": {"name": "Wren", "propulsion": "none", "top-speed": "40 m/s"},
    "parts": {"servo": {"kind": "servo"}},
    "devices": {"elev": {"part": "servo"}},
    "surfaces": {"elevator": ELEVATOR},
}


def sheet_of(tree: dict[str, Any]) -> CardSheet:
    def nothing(name: str) -> Document:
        raise AssertionError(name)

    loaded = load(read_document(json.dumps({"holdshort": 1, **tree}).encode(), "t"), nothing)
    assert loaded.faults == (), loaded.faults
    return card_sheet(Aircraft(loaded.setup))


def card_of(tree: dict[str, Any], name: str) -> BenchCard:
    return next(c for group in sheet_of(tree).groups for c in group.cards if c.name == name)


def test_it_must_hang_level_where_the_moments_say() -> None:
    card = card_of(BALANCED, "weigh and balance")
    told = {line.subjects[0]: line for line in card.lines}
    assert told["mass with only the fuel that cannot be used"].must == "10.00 ± 0.01 kg"
    assert told["dry, gear down"].must.startswith("hangs level at 400.0 ± 1.0 mm")
    assert told["dry, gear up"].must.startswith("hangs level at 390.0 ± ")
    assert told["take-off, gear down"].must.startswith("hangs level at 383.3 ± ")
    assert told["take-off, gear down"].note == "main 2.50 l; allowed: 370 to 395 mm"
    assert told["dry, gear down"].note.endswith("That is outside: put it right first")
    assert "the nose wheel" in card.do[0]
    assert "no flame" in card.cautions[0]


def test_what_is_not_known_of_the_balance_is_left_to_be_written_in() -> None:
    tree = json.loads(json.dumps(BALANCED))
    del tree["balance"]["landing-fuel"]
    told = {line.subjects[0]: line for line in card_of(tree, "weigh and balance").lines}
    landing = told["landing, gear down"]
    assert (landing.must, landing.lacks) == ("", "how much fuel is left at landing")
    del tree["balance"]["weighings"]
    card = card_of(tree, "weigh and balance")
    assert all(line.must == "" and line.lacks for line in card.lines)


def test_a_force_at_the_trailing_edge_is_the_moment_over_the_chord() -> None:
    (line,) = card_of(HELD, "surfaces held by hand").lines
    assert line.subjects == ("elevator",)
    assert line.must == "at 20 deg up does not give to 16.1 N (1.6 kg)"
    assert line.note == ""


def test_a_load_beyond_the_servo_is_said() -> None:
    tree = json.loads(json.dumps(HELD))
    tree["parts"] = {
        "servo": {
            "kind": "servo", "idle-current": "0 A", "cruise-current": "0 A",
            "ratings": [{"at": "6 V", "torque": "0.5 N.m", "stall-current": "1 mA"}],
        },
        "pack": {"kind": "battery", "chemistry": "lipo", "cells": 2, "resistance": "0 mohm"},
        "rx": {
            "kind": "receiver", "ports": {"1..4": "servo", "supply": "supply"},
            "draws": {"rest": "0 A", "cruise": "0 A", "peak": "0 A"},
        },
    }  # fmt: skip
    tree["devices"] |= {"pack": {"part": "pack"}, "rx": {"part": "rx"}}
    tree["leads"] = [
        {"from": "pack", "to": "rx.supply", "wire": "1 mm2", "length": "10 cm"},
        {"from": "rx.1", "to": "elev", "wire": "1 mm2", "length": "10 cm"},
    ]
    (line,) = card_of(tree, "surfaces held by hand").lines
    assert "more than its servo has" in line.note


@pytest.mark.parametrize(
    ("change", "lacks"),
    [
        ({"linkage": None}, "`linkage.arm`; `linkage.horn`"),
        ({"deflection": "31 deg"}, "a linkage that goes through its whole throw"),
        ({"loads": {"chord": "100 mm"}}, "`loads.span`; `loads.of-chord`"),
    ],
)
def test_what_is_not_known_of_a_load_is_left_to_be_written_in(
    change: dict[str, Any], lacks: str
) -> None:
    tree = {**HELD, "surfaces": {"elevator": {**ELEVATOR, **change}}}
    (line,) = card_of(tree, "surfaces held by hand").lines
    assert (line.must, line.lacks) == ("", lacks)


def test_a_sheet_without_them_says_why() -> None:
    tree = {**HELD, "surfaces": {"elevator": {**ELEVATOR, "loads": None}}}
    left_out = {item.cards: item.why for item in sheet_of(tree).left_out}
    assert left_out["surfaces held by hand"] == "no `loads` of a surface are declared"
    assert left_out["weigh and balance"] == "no `balance` is declared"
