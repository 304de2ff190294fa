"""The card of telemetry alarms: a line an alarm, one a sensor, and what stands in its way."""

import json
from typing import Any

from holdshort.analysis import Aircraft
from holdshort.analysis.bench_cards import BenchCard, CardSheet
from holdshort.analysis.cards import card_sheet
from holdshort.document import Document, read_document
from holdshort.setup import load

CARD = "telemetry alarms"


def tree(**telemetry: Any) -> dict[str, Any]:
    probe = {"kind": "sensor", "measures": ["voltage", "temperature"], "voltage": {"min": "3 V"}}
    draws = dict.fromkeys(("rest", "cruise", "peak"), "1 A")
    return {
        "holdshort": 1,
        "parts": {
            "pack": {"kind": "battery", "chemistry": "lipo", "cells": 2, "capacity": "2000 mAh"},
            "rx": {
                "kind": "receiver", "voltage": {"min": "3.7 V"}, "draws": draws,
                "measures": ["voltage", "link-quality"],
                "ports": {"tel": "data", "supply": "supply"},
            },
            "probe": {**probe, "draws": dict.fromkeys(draws, "0 A")},
        },
        "devices": {
            "battery": {"part": "pack"},
            "rx": {"part": "rx"},
            "probe": {"part": "probe", "senses": "battery"},
            "loose": {"part": "probe", "senses": "battery"},
        },
        "leads": [
            {"from": "battery", "to": "rx.supply", "wire": "10 mm2", "length": "1 mm"},
            {"from": "probe", "to": "rx.tel", "wire": "1 mm2", "length": "1 mm"},
        ],
        "telemetry": telemetry,
    }  # fmt: skip


def sheet_of(setup: dict[str, Any]) -> CardSheet:
    def nothing(name: str) -> Document:
        raise AssertionError(name)

    loaded = load(read_document(json.dumps(setup).encode(), "t"), nothing)
    assert loaded.faults == (), loaded.faults
    return card_sheet(Aircraft(loaded.setup))


def card_of(setup: dict[str, Any]) -> BenchCard:
    return next(c for group in sheet_of(setup).groups for c in group.cards if c.name == CARD)


def test_each_alarm_has_a_line_with_how_it_is_told_and_its_level() -> None:
    pack = {"below": "7.2 V", "told-by": ["speech", "vibration"]}
    card = card_of(
        tree(
            pack={"from": "probe", "measures": "voltage", "alarm": pack},
            link={"from": "rx", "measures": "link-quality", "alarm": {"below": "40 %"}},
            rail={"from": "rx", "measures": "voltage", "shown": True},
        )
    )
    first, link, plug = card.lines
    assert first.subjects == ("pack",)
    assert first.must == "sounds, by speech and vibration; set back to below 7.2 V"
    assert first.note == ""
    assert link.must == "sounds; set back to below 40 %"
    assert "range check" in link.note
    assert plug.subjects == ("plug of probe off",)
    assert "no supply" in card.cautions[0]


def test_a_level_that_comes_too_late_is_not_told_to_be_set() -> None:
    # Two lipo cells must be landed at 6.6 V (C2): 6.0 V is after that.
    late = {"from": "probe", "measures": "voltage", "alarm": {"below": "6.0 V"}}
    line = card_of(tree(pack=late)).lines[0]
    assert line.must == "sounds"
    assert line.note == "below 6.0 V comes too late: put that right first"


def test_what_does_not_reach_the_transmitter_is_told_first() -> None:
    alarm = {"from": "loose", "measures": "temperature", "alarm": {"above": "60 degC"}}
    line, plug = card_of(tree(warm=alarm)).lines
    assert line.note == "nothing brings it to the transmitter: put that right first"
    assert plug.subjects == ("plug of loose off",)


def test_receivers_alone_have_no_plug_to_pull() -> None:
    link = {"from": "rx", "measures": "link-quality", "alarm": {"below": "40 %"}}
    card = card_of(tree(link=link))
    assert len(card.lines) == 1
    assert card.cautions == ()
    assert not any("plug" in line for line in card.do)


def test_without_an_alarm_the_card_is_left_out_and_says_why() -> None:
    sheet = sheet_of(tree(rail={"from": "rx", "measures": "voltage", "shown": True}))
    assert all(card.name != CARD for group in sheet.groups for card in group.cards)
    why = {one.cards: one.why for one in sheet.left_out}
    assert why[CARD] == "no alarm under `telemetry` is declared"
