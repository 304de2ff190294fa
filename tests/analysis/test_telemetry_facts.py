"""The facts of telemetry: what rules in data may pick, and what is missing."""

import json
from pathlib import Path
from typing import Any

from jsonschema import Draft202012Validator
from jsonschema.protocols import Validator

import holdshort.analysis
from holdshort.analysis import Aircraft
from holdshort.analysis.facts_document import facts
from holdshort.document import Document, read_document
from holdshort.setup import load

SCHEMA: Any = json.loads(
    (Path(holdshort.analysis.__path__[0]) / "facts.schema.json").read_text(encoding="utf-8")
)
VALIDATOR: Validator = Draft202012Validator(SCHEMA)
BENCH: dict[str, Any] = {
    "holdshort": 1,
    "aircraft": {"name": "Wren", "fuel": "4.0 l", "flight-time": "8 min"},
    "parts": {
        "rx": {"kind": "receiver", "ports": {"tel": "data", "supply": "supply"}},
        "probe": {"kind": "sensor", "address": 3},
        "pack": {"kind": "battery", "chemistry": "lipo", "cells": 2},
    },
    "devices": {"rx": {"part": "rx"}, "probe": {"part": "probe"}, "pack": {"part": "pack"}},
    "leads": [{"from": "pack", "to": "rx.supply"}, {"from": "probe", "to": "rx.tel"}],
    "telemetry": {
        "fuel": {"from": "probe", "measures": "fuel", "of": "rx", "alarm": {"below": "800 ml"}}
    },
}


def no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def tree_of(bench: dict[str, Any]) -> Any:
    loaded = load(read_document(json.dumps(bench).encode(), "wren.yaml"), no_catalogue)
    assert loaded.faults == ()
    tree, origins = facts(Aircraft(loaded.setup))
    VALIDATOR.validate(tree)
    assert all(loaded.setup.span(place).line >= 1 for place in origins.values())
    return tree


# Two minutes of eight from 4.0 litres are 1.0 litre, 0.001 m3.
def test_a_reading_has_its_way_and_its_levels() -> None:
    found = tree_of(BENCH)["computed"]["telemetry"]
    assert found["readings"]["fuel"] == {
        "from": "probe",
        "measures": "fuel",
        "of": "rx",
        "address": 3,
        "reaches_transmitter": True,
        "way": ["probe", "rx"],
        "alarms": [
            {
                "way": "below",
                "level": "800 ml",
                "level_si": 0.0008,
                "wanted": "1000 ml",
                "wanted_si": 0.001,
                "late": True,
            }
        ],
    }
    assert "the pack `pack`" in found["unwatched"]


def test_a_reading_without_its_lead_reaches_nothing() -> None:
    found = tree_of({**BENCH, "leads": BENCH["leads"][:1]})["computed"]["telemetry"]
    reading = found["readings"]["fuel"]
    assert (reading["reaches_transmitter"], "way" in reading) == (False, False)


def test_what_is_not_known_is_missing() -> None:
    tree = tree_of({**BENCH, "aircraft": {"name": "Wren"}})
    alarm = tree["computed"]["telemetry"]["readings"]["fuel"]["alarms"][0]
    assert ("wanted" in alarm, "late" in alarm) == (False, False)
    gaps = {gap["path"]: gap["needs"] for gap in tree["missing"]}
    path = "$['computed']['telemetry']['readings']['fuel']['alarms'][0]['late']"
    assert gaps[path] == ["how much fuel it holds"]


def test_a_file_without_telemetry_says_what_is_missing() -> None:
    bench = {key: value for key, value in BENCH.items() if key != "telemetry"}
    tree = tree_of(bench)
    assert "telemetry" not in tree["computed"]
    assert "$['computed']['telemetry']" in {gap["path"] for gap in tree["missing"]}
