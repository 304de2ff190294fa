"""The balance for a terminal, for programs and as a picture."""

import json
import unicodedata
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import holdshort.fixlist
from holdshort.analysis import Aircraft
from holdshort.document import Document, DocumentError, read_document
from holdshort.fixlist import balance_json, balance_view
from holdshort.fixlist.balance_view import CAUTION
from holdshort.fixlist.paragraphs import WIDTH
from holdshort.setup import load

SCHEMA_TEXT = (Path(holdshort.fixlist.__path__[0]) / "balance.schema.json").read_text("utf-8")
HIDDEN = {"Cc", "Cf", "Cs", "Zl", "Zp"}


def close(schema: dict[str, Any]) -> dict[str, Any]:
    """Let no other key stand in an object, so that an undocumented key shows."""
    return {**schema, "additionalProperties": False} if schema.get("type") == "object" else schema


CLOSED: Any = json.loads(SCHEMA_TEXT, object_hook=close)

# By hand: 10 kg at 400 mm dry; 2 kg of fuel at 300 mm make 383.3 mm; 0.5 l left 396.2 mm.
FILE = """\
holdshort: 1
aircraft: {name: Wren, propulsion: turbine}
balance:
  datum: the nose wheel
  chord: {length: 400 mm, leading-edge: 300 mm}
  range: {from: 370 mm, to: 390 mm}
  accuracy: {load: 5 g, station: 1 mm}
  weighings:
    wheels:
      on: 2026-05-01
      fuel: empty
      points:
        nose: {station: 0 mm, side: 0 mm, load: 2 kg}
        left: {station: 500 mm, side: -300 mm, load: 4.1 kg}
        right: {station: 500 mm, side: 300 mm, load: 3.9 kg}
  tanks: {main: {capacity: 2.5 l, station: 300 mm, side: 0 mm}}
  landing-fuel: 0.5 l
  items: {pack: {mass: 500 g, station: 300 mm}}
  movable: {pack: {}}
"""


def aircraft(text: str = FILE) -> Aircraft:
    def no_catalogue(name: str) -> Document:
        raise AssertionError(name)

    return Aircraft(load(read_document(text.encode(), "wren.yaml"), no_catalogue).setup)


def shown(text: str = FILE) -> str:
    return "\n".join(balance_view.lines(aircraft(text)))


def test_the_table_says_where_it_is_and_how_far_inside() -> None:
    text = shown()
    assert text.startswith(
        "Balance of Wren\nwren.yaml\nStations from the nose wheel, aft positive."
    )
    rows = [" ".join(line.split()) for line in text.splitlines()]
    assert "dry 0.00 10.00 400.0 ± 0.7 25.0 % 370.0 to 390.0 OUT by 10.0, aft" in rows
    assert "landing 0.50 10.40 396.2 ± 0.7 24.0 % 370.0 to 390.0 OUT by 6.2, aft" in rows
    assert "take-off 2.50 12.00 383.3 ± 0.6 20.8 % 370.0 to 390.0 6.7" in rows
    # 0.2 kg at 300 mm of 10 kg; 2 x root((0.36^0.5 x 0.577 mm)^2 + (42.4 mm/kg x 2.89 g)^2) = 0.73
    assert "off the centre line by 6.0 ± 0.7 mm to the left at most (dry)" in text
    assert "the weighing `wheels` of 2026-05-01" in text
    assert "kerosene of 0.80 kg/l (common practice, no source)" in text
    assert " ".join(text.split()).endswith(CAUTION)


def test_what_is_needed_is_advised_and_what_is_missing_is_named() -> None:
    assert "Move `pack` (500 g at 300.0 mm)" in shown()
    text = shown(FILE.replace("  landing-fuel: 0.5 l\n", ""))
    assert "how much fuel is left at landing (balance.landing-fuel): for landing" in text
    rows = [" ".join(line.split()) for line in text.splitlines()]
    assert "landing ? ? ? ? ? ?" in rows
    assert "(balance.accuracy)" in shown(FILE.replace("accuracy:", "note: 1\n  accuracy-not:"))


def test_a_file_in_inches_is_answered_in_inches_too() -> None:
    text = shown(FILE.replace("to: 390 mm", "to: 15.4 in"))
    rows = [" ".join(line.split()) for line in text.splitlines()]
    # 10 kg are 22.05 lb, and 400 mm 15.75 in
    assert "dry 22.05 15.75 14.57 to 15.40 -0.35" in rows


def test_a_file_without_balance_says_what_it_needs() -> None:
    text = shown("holdshort: 1\n")
    assert "The file has no `balance`" in text
    data = json.loads(balance_json.json_text(aircraft("holdshort: 1\n")))
    jsonschema.validate(data, CLOSED)
    assert data["states"] == []


@pytest.mark.parametrize(
    "text",
    [
        FILE,
        FILE.replace("  landing-fuel: 0.5 l\n", ""),
        FILE.replace("accuracy:", "accuracys:"),
        FILE.replace("station: 300 mm, side: 0 mm}}", "side: 0 mm}}"),
        FILE + "  gear: {leg: {mass: 300 g, down: 0 mm, up: -100 mm}}\n",
    ],
)
def test_json_has_the_shape_that_the_schema_tells(text: str) -> None:
    data = json.loads(balance_json.json_text(aircraft(text)))
    jsonschema.validate(data, CLOSED)
    study = aircraft(text).balance
    assert study is not None
    assert [state["state"] for state in data["states"]] == [one.name for one in study.states]


def test_json_figures() -> None:
    data = json.loads(balance_json.json_text(aircraft()))
    dry = data["states"][0]
    assert dry["station_m"]["value"] == pytest.approx(0.4)
    assert dry["inside_m"] == pytest.approx(-0.01)
    assert dry["chord_share"] == pytest.approx(0.25)
    assert data["remedies"][0]["least"] < 0.0


@settings(max_examples=40)
@given(name=st.text(min_size=1, max_size=30), datum=st.text(min_size=1, max_size=200))
def test_any_text_is_shown_plainly(name: str, datum: str) -> None:
    tree = {
        "holdshort": 1,
        "aircraft": {"name": name},
        "balance": {
            "datum": datum,
            "weighings": {
                "w": {"on": "2026-05-01", "points": {"p": {"station": "1 mm", "load": "1 kg"}}}
            },
        },
    }
    text = json.dumps(tree)
    try:
        read_document(text.encode(), "wren.yaml")
    except DocumentError:  # text that no YAML file may hold
        return
    plane = aircraft(text)
    assert plane.setup.balance is not None
    assert plane.setup.broken == frozenset()
    shown = list(balance_view.lines(plane))
    assert len(shown) > 2
    for line in shown:
        assert len(line) <= WIDTH
        assert not any(unicodedata.category(character) in HIDDEN for character in line)
    json.loads(balance_json.json_text(plane))


@pytest.mark.parametrize(("ending", "begins"), [("png", b"\x89PNG"), ("svg", b"<?xml")])
@pytest.mark.parametrize(
    "text", [FILE, FILE.replace("Wren", "'$x^{2}$'"), "holdshort: 1\n",
             FILE.replace("range:", "ranges:")],
)  # fmt: skip
def test_a_picture_is_drawn_alike_each_time(text: str, ending: str, begins: bytes) -> None:
    pytest.importorskip("matplotlib")
    from holdshort.fixlist import balance_picture  # noqa: PLC0415  - needs an optional library

    first = balance_picture.picture(aircraft(text), ending)
    assert first.startswith(begins)
    assert balance_picture.picture(aircraft(text), ending) == first
