"""The telemetry table as text and as JSON: what it says, and that no name can break it."""

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from jsonschema.protocols import Validator

import holdshort.fixlist
from holdshort.analysis import Aircraft
from holdshort.document import Document, read_document
from holdshort.document.source import forbidden_in
from holdshort.fixlist.paragraphs import WIDTH
from holdshort.fixlist.telemetry_json import json_text
from holdshort.fixlist.telemetry_view import lines
from holdshort.setup import load
from holdshort.setup.base import NAME

SCHEMA: Any = json.loads(
    (Path(holdshort.fixlist.__path__[0]) / "telemetry.schema.json").read_text(encoding="utf-8")
)
VALIDATOR: Validator = Draft202012Validator(SCHEMA)


def no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def bench(**reading: Any) -> dict[str, Any]:
    return {
        "holdshort": 1,
        "aircraft": {"name": "Wren", "fuel": "4.0 l", "flight-time": "8 min"},
        "parts": {
            "rx": {"kind": "receiver", "ports": {"tel": "data", "supply": "supply"}},
            "probe": {"kind": "sensor", "address": 3},
            "pack": {"kind": "battery", "chemistry": "lipo", "cells": 2},
        },
        "devices": {"rx": {"part": "rx"}, "probe": {"part": "probe"}, "pack": {"part": "pack"}},
        "leads": [{"from": "pack", "to": "rx.supply"}, {"from": "probe", "to": "rx.tel"}],
        "telemetry": {"fuel": {"from": "probe", "measures": "fuel", "of": "rx", **reading}},
    }


def opened(tree: Any) -> Aircraft:
    return Aircraft(load(read_document(json.dumps(tree).encode(), "x.yaml"), no_catalogue).setup)


def shown(tree: Any) -> str:
    return " ".join(" ".join(lines(opened(tree))).split())


def test_the_schema_is_a_schema() -> None:
    Draft202012Validator.check_schema(SCHEMA)


# Two minutes of eight from four litres are one litre.
def test_a_reading_is_told_with_its_way_its_alarm_and_the_level_wanted() -> None:
    text = shown(bench(shown=True, alarm={"below": "800 ml", "told-by": ["speech"]}))
    assert "fuel: fuel of `rx`, read by `probe`" in text
    assert "way: probe > rx > transmitter, address 3" in text
    assert "shown; alarm, by speech: below 800 ml; too late: 1000 ml or more is wanted" in text
    assert "No alarm tells of the pack `pack`" in text


def test_a_reading_without_a_way_says_why() -> None:
    tree = bench(shown=True)
    del tree["leads"][1]
    assert "way: none, no lead joins `probe` to a receiver, address 3" in shown(tree)


@pytest.mark.parametrize("section", [{}, None])
def test_a_file_that_says_nothing_says_so(section: Any) -> None:
    tree = bench()
    tree["telemetry"] = section
    assert "No reading is declared." in shown(tree)
    del tree["telemetry"], tree["devices"]["probe"], tree["leads"][1]
    assert "No telemetry is declared." in shown(tree)


def test_what_is_missing_is_told_with_its_line() -> None:
    tree = bench(alarm={"below": "20 %"})
    del tree["aircraft"]["fuel"]
    assert "needs how much fuel it holds (line 1)" in shown(tree)


def test_json_has_the_documented_shape() -> None:
    data = json.loads(json_text(opened(bench(alarm={"below": "800 ml"}))))
    VALIDATOR.validate(data)
    (reading,) = data["readings"]
    assert (reading["way"], reading["address"]) == (["probe", "rx"], 3)
    assert reading["levels"] == [
        {
            "alarms": "below",
            "declared": "800 ml",
            "wanted": "1000 ml",
            "why": "2 min of flight need 1 l, as 4.0 l last 8 min",
            "late": True,
            "complete": True,
        }
    ]


def is_taken(text: str) -> bool:
    """Tell whether a file may hold a text: marks that reorder a line are refused by the reader."""
    return forbidden_in(text) is None


letters = st.characters(max_codepoint=0xFFFD, exclude_categories=["Cc", "Cn", "Cs"])
names = st.text(letters, min_size=1, max_size=60).filter(NAME.fits).filter(is_taken)


@settings(max_examples=60)
@given(names, st.text(letters, max_size=30).filter(is_taken))
def test_no_name_breaks_a_line_or_the_terminal(name: str, aircraft: str) -> None:
    tree = bench(alarm={"below": "800 ml"})
    tree["aircraft"]["name"] = aircraft or "x"
    tree["telemetry"] = {name: tree["telemetry"]["fuel"]}
    for line in lines(opened(tree)):
        assert len(line) <= WIDTH
        assert line.isprintable()
    text = json_text(opened(tree))
    assert text.isascii()
    VALIDATOR.validate(json.loads(text))
