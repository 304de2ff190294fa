"""The table of failures for a terminal and for programs."""

import json
import unicodedata
from pathlib import Path
from typing import Any, cast

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import holdshort.fixlist
from holdshort.analysis import Aircraft
from holdshort.analysis.failure_table import failure_table, severity
from holdshort.document import Document, read_document, read_file
from holdshort.fixlist import failures_json, failures_view
from holdshort.fixlist.failures_view import CAUTION
from holdshort.fixlist.paragraphs import WIDTH
from holdshort.setup import load

ROOT = Path(__file__).resolve().parents[2]
SCHEMA_TEXT = (Path(holdshort.fixlist.__path__[0]) / "failures.schema.json").read_text("utf-8")
FILES = sorted(
    [*(ROOT / "examples").glob("*.yaml"), *(ROOT / "linter/holdshort/cli/layouts").glob("*.yaml")]
)
HIDDEN = {"Cc", "Cf", "Cs", "Zl", "Zp"}


def close(schema: dict[str, Any]) -> dict[str, Any]:
    """Let no other key stand in an object, so that an undocumented key shows."""
    open_ended = schema.get("type") != "object" or "additionalProperties" in schema
    return schema if open_ended else {**schema, "additionalProperties": False}


CLOSED: Any = json.loads(SCHEMA_TEXT, object_hook=close)


def quiet(done: int, total: int) -> None:
    assert done <= total


def read(path: Path) -> Aircraft:
    def catalogue(name: str) -> Document:
        return read_file(path.parent / name, name)

    loaded = load(read_file(path), catalogue)
    assert loaded.faults == ()
    return Aircraft(loaded.setup)


def _no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def small(name: str = "Wren", servo: str = "elevator servo") -> Aircraft:
    """A pack, a receiver and one elevator servo, which is slow to write down by hand."""
    tree = {
        "holdshort": 1,
        "aircraft": {"name": name},
        "parts": {
            "pack": {"kind": "battery", "chemistry": "lipo", "cells": 2, "resistance": "20 mΩ"},
            "rx": {"kind": "receiver", "ports": {"1..2": "servo", "supply": "supply"},
                   "draws": {"cruise": "1 A", "peak": "1 A"}},
            "servo": {"kind": "servo", "cruise-current": "0 A",
                      "ratings": [{"at": "7.4 V", "stall-current": "1 A"}]},
        },
        "devices": {"pack": {"part": "pack"}, "rx": {"part": "rx"}, servo: {"part": "servo"},
                    "second": {"part": "servo"}},
        "leads": [
            {"from": "pack", "to": "rx.supply", "wire": "14 AWG", "length": "20 cm"},
            {"from": "rx.1", "to": servo},
            {"from": "rx.2", "to": "second"},
        ],
        "radio": {"links": {"main": {"heard-by": "rx"}},
                  "channels": {"1": {"drives": "left elevator"},
                               "2": {"drives": "right elevator"}}},
        "surfaces": {"left elevator": {"servo": servo}, "right elevator": {"servo": "second"}},
        "failsafe": {"rx": {"channels": {"1..2": "neutral"}}},
    }  # fmt: skip
    loaded = load(read_document(json.dumps(tree).encode(), "wren.yaml"), _no_catalogue)
    assert loaded.faults == ()
    return Aircraft(loaded.setup)


def left(text: str, label: str) -> str:
    """Return the first cell of the row under a label."""
    lines = text.splitlines()
    at = lines.index(f"  {label}")
    while not lines[at].startswith("    "):
        at += 1
    return lines[at].split()[0]


def test_each_failure_stands_over_what_it_leaves() -> None:
    text = "\n".join(failures_view.lines(small()))
    assert text.startswith("What is left of Wren when something fails\nwren.yaml\n")
    assert left(text, "pack pack") == "LOST"
    assert left(text, "receiver rx") == "LOST"
    assert left(text, "lead pack to rx.supply") == "LOST"
    assert left(text, "link main") == "set"
    assert left(text, "lead rx.1 to elevator servo") == "half"
    assert "channel 1 > link main > rx.1 > elevator servo > left elevator" in text


def test_failures_that_leave_the_same_are_told_together_and_the_worst_first() -> None:
    table = failure_table(small())
    ranks = [severity(outcome) for outcome in table.singles]
    assert ranks == sorted(ranks)
    assert table.singles[0].failures[0].label == "pack pack"
    assert table.singles[-1].functions["pitch"].state == "half"


def test_pairs_are_shown_when_they_are_asked_for() -> None:
    without = "\n".join(failures_view.lines(small()))
    text = "\n".join(failures_view.lines(small(), quiet))
    assert "Two failures" not in without
    assert "  lead rx.1 to elevator servo and lead rx.2 to second\n    LOST" in text


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_examples_fit_the_width_and_the_schema(path: Path) -> None:
    aircraft = read(path)
    lines = failures_view.lines(aircraft, quiet)
    assert max(map(len, lines)) <= WIDTH
    assert CAUTION.split(":")[0] in " ".join(lines)
    data = json.loads(failures_json.json_text(aircraft, quiet))
    cast("Any", jsonschema.Draft202012Validator(CLOSED)).validate(data)
    assert [failure["label"] for failure in data["failures"]] == [
        failure.label for failure in aircraft.failures.failures
    ]
    assert sorted(row["failed"] for row in data["singles"]) == [
        [number] for number in range(len(data["failures"]))
    ]


def test_json_says_null_where_pairs_were_not_asked_for() -> None:
    data = json.loads(failures_json.json_text(small()))
    assert data["pairs"] is None
    pack = next(row for row in data["singles"] if row["failed"] == [0])
    assert pack["functions"]["pitch"] == {
        "state": "dead",
        "words": "dead",
        "moving": [],
        "still": ["left elevator", "right elevator"],
    }
    assert pack["lost"] == ["pitch"]
    assert pack["rails"][0] == {
        "case": "cruise", "state": "dead", "device": None, "lowest_volts": None, "starved": [],
    }  # fmt: skip


def test_every_function_at_once_fits_the_width() -> None:
    moved = [
        "left aileron", "right aileron", "left elevator", "right elevator", "rudder", "throttle",
        "nose steering", "brakes", "gear", "left flap", "right flap", "airbrake", "nozzle",
        "tow release",
    ]  # fmt: skip
    numbers = range(1, len(moved) + 1)
    tree = {
        "holdshort": 1,
        "parts": {
            "pack": {"kind": "battery", "chemistry": "lipo", "cells": 3, "resistance": "20 mΩ"},
            "rx": {"kind": "receiver", "ports": {"1..14": "servo", "supply": "supply"}},
            "servo": {"kind": "servo"},
        },
        "devices": {"pack": {"part": "pack"}, "rx": {"part": "rx"},
                    **{f"servo-{number}": {"part": "servo"} for number in numbers}},
        "leads": [{"from": "pack", "to": "rx.supply"},
                  *({"from": f"rx.{number}", "to": f"servo-{number}"} for number in numbers)],
        "radio": {"channels": {
            str(number): {"drives": words} for number, words in zip(numbers, moved, strict=True)}},
    }  # fmt: skip
    loaded = load(read_document(json.dumps(tree).encode(), "wide.yaml"), _no_catalogue)
    assert loaded.faults == ()
    lines = failures_view.lines(Aircraft(loaded.setup), quiet)
    assert max(map(len, lines)) <= WIDTH
    head = next(line for line in lines if line.lstrip().startswith("pitch"))
    assert head.split() == [
        "pitch", "roll", "yaw", "stop", "throt", "steer", "brake", "gear", "flap", "airbr", "nozz",
        "drop", "cruise", "V", "hard", "V",
    ]  # fmt: skip
    under = lines[lines.index("  pack pack") + 1 :]
    row = next(line for line in under if line.startswith("    "))
    assert row.split()[:3] == ["LOST"] * 3
    assert row.index("none") == head.index("cruise")


def test_an_aircraft_of_which_nothing_is_declared_is_shown() -> None:
    loaded = load(read_document(b"holdshort: 1\naircraft: {name: Bare}\n", "b.yaml"), _no_catalogue)
    text = "\n".join(failures_view.lines(Aircraft(loaded.setup), quiet))
    assert "No channel is declared to reach anything" in text
    data = json.loads(failures_json.json_text(Aircraft(loaded.setup)))
    cast("Any", jsonschema.Draft202012Validator(CLOSED)).validate(data)


TABLE = failure_table(small())


@settings(max_examples=60)
@given(st.text(min_size=1, max_size=120), st.text("abc .\u202e\u0301äß\n", max_size=120))
def test_names_cannot_break_the_table(name: str, device: str) -> None:
    renamed = tuple(
        outcome._replace(
            failures=tuple(failure._replace(name=device) for failure in outcome.failures),
            rails=tuple(rail._replace(device=device, starved=(device,)) for rail in outcome.rails),
        )
        for outcome in TABLE.singles
    )
    table = TABLE._replace(
        aircraft=name, file=name, singles=renamed, pairs=renamed, assumptions=(device,),
        unread=(device,),
    )  # fmt: skip
    lines = failures_view.render_text(table).split("\n")
    assert max(map(len, lines)) <= WIDTH
    assert not any(unicodedata.category(letter) in HIDDEN for line in lines for letter in line)
    text = failures_json.render_json(table)
    assert all(" " <= letter <= "~" or letter == "\n" for letter in text)
