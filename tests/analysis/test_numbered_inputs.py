"""A gyro with one pulse input for each output: input and output of one number belong together."""

import json
from typing import Any

from holdshort.analysis import Aircraft
from holdshort.document import Document, read_document
from holdshort.setup import load


def _no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def reached(leads: list[dict[str, str]]) -> dict[str, Any]:
    """Return, for each servo, the channels that reach it."""
    tree = {
        "holdshort": 1,
        "parts": {
            "rx": {"kind": "receiver", "ports": {"1..6": "servo", "supply": "supply"}},
            "gyro": {"kind": "gyro", "ports": {"in-1..3": "pulse-in", "1..3": "servo"}},
            "servo": {"kind": "servo"},
        },
        "devices": {
            "rx": {"part": "rx"},
            "gyro": {"part": "gyro"},
            "a": {"part": "servo"},
            "b": {"part": "servo"},
        },
        "leads": leads,
        "radio": {"channels": {"2": {"drives": "elevator"}, "5": {"drives": "rudder"}}},
    }
    loaded = load(read_document(json.dumps(tree).encode(), "drawn.yaml"), _no_catalogue)
    assert loaded.faults == ()
    drives, devices = Aircraft(loaded.setup).drives, loaded.setup.devices
    return {name: drives.reaches(devices[name])[0] for name in ("a", "b")}


def test_each_output_passes_on_the_input_of_its_number() -> None:
    found = reached(
        [
            {"from": "rx.2", "to": "gyro.in-1"},
            {"from": "rx.5", "to": "gyro.in-3"},
            {"from": "gyro.1", "to": "a"},
            {"from": "gyro.3", "to": "b"},
        ]
    )
    assert found["a"].channels == {2}
    assert found["b"].channels == {5}


def test_an_output_whose_input_hears_nothing_is_not_guessed() -> None:
    found = reached(
        [
            {"from": "rx.2", "to": "gyro.in-1"},
            {"from": "rx.5", "to": "gyro.in-3"},
            {"from": "gyro.2", "to": "a"},
            {"from": "gyro.3", "to": "b"},
        ]
    )
    assert not found["a"].channels
    assert found["a"].need is not None
    assert found["b"].channels == {5}
