"""What alarms must stay above is told once for all that share it, in plain English."""

import json

import pytest

from holdshort.analysis import Aircraft
from holdshort.analysis.alarm_levels import alarm_bounds, bounds_told, pack_words
from holdshort.document import Document, read_document
from holdshort.setup import Fitted, Quantity, load


def no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def aircraft(cells: int) -> Aircraft:
    ports = {"1..4": "servo", "in": "supply"}
    parts = {"pack": "pack", "rx": "rx", "servo1": "servo", "servo2": "servo", "servo3": "servo"}
    tree = {
        "holdshort": 1,
        "parts": {
            "pack": {"kind": "battery", "chemistry": "lipo", "cells": cells},
            "rx": {"kind": "receiver", "voltage": {"min": "3.6 V"}, "ports": ports},
            "servo": {"kind": "servo", "voltage": {"min": "4.8 V"}},
        },
        "devices": {name: {"part": part} for name, part in parts.items()},
        "leads": [
            {"from": "pack", "to": "rx.in"},
            *({"from": f"rx.{number}", "to": f"servo{number}"} for number in (1, 2, 3)),
        ],
    }
    document = read_document(json.dumps(tree).encode(), "x.yaml")
    return Aircraft(load(document, no_catalogue).setup)


def pack_of(of: Aircraft) -> Fitted:
    return of.setup.devices["pack"]


def test_devices_that_get_too_little_alike_are_told_together() -> None:
    of = aircraft(2)
    bounds = [
        bound._replace(words="below 4.8 V") if bound.starved.startswith("servo") else bound
        for bound in alarm_bounds(of, pack_of(of), Quantity(0.0, "0 V"))
    ]
    told = bounds_told(bounds)
    assert "below 4.8 V `servo1`, `servo2` and `servo3` get too little" in told
    assert sum("`rx` gets too little" in words for words in told) == 1
    assert len([words for words in told if "too little" in words]) == 2
    assert [words for words in told if "on the ground" in words]


# English: "an" stands before a vowel sound; of the numbers from 1 to 40 only eight, eleven and
# eighteen begin with one.
@pytest.mark.parametrize(
    ("cells", "words"),
    [
        (1, "a 1-cell lipo pack"),
        (7, "a 7-cell lipo pack"),
        (8, "an 8-cell lipo pack"),
        (11, "an 11-cell lipo pack"),
        (12, "a 12-cell lipo pack"),
        (18, "an 18-cell lipo pack"),
    ],
)
def test_a_pack_has_the_right_article(cells: int, words: str) -> None:
    assert pack_words(pack_of(aircraft(cells))) == words
