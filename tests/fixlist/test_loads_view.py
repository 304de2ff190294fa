"""The load table for a terminal, for programs and as a picture."""

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
from holdshort.analysis.load_table import (
    LoadRow,
    LoadTable,
    ThrowRow,
    TravelPoint,
    load_table,
)
from holdshort.document import Document, read_document
from holdshort.fixlist.loads_json import render_json
from holdshort.fixlist.loads_view import CAUTION, lines, render_text
from holdshort.fixlist.paragraphs import WIDTH
from holdshort.setup import load

SCHEMA_FILE = Path(holdshort.fixlist.__path__[0]) / "loads.schema.json"
SCHEMA_TEXT = SCHEMA_FILE.read_text(encoding="utf-8")
HIDDEN = {"Cc", "Cf", "Cs", "Zl", "Zp"}

# The elevator is worked out by hand beside the cases of `servo-too-weak`: 0.62643 N m at 20 deg.
AIRCRAFT = """
holdshort: 1
aircraft: {name: Grey Heron, top-speed: 40 m/s}
parts:
  pack: {kind: battery, chemistry: lipo, cells: 2, resistance: 0 mΩ}
  rx: {kind: receiver, draws: {rest: 0 A, cruise: 0 A, peak: 0 A}, ports: {1..4: servo, supply: supply}}
  servo: {kind: servo, idle-current: 0 A, cruise-current: 0 A, ratings: [{at: 6.0 V, torque: 1 N.m, stall-current: 1 mA}]}
devices: {pack: {part: pack}, rx: {part: rx}, elev: {part: servo}, fin: {part: servo}}
leads:
  - {from: pack, to: rx.supply, wire: 1 mm2, length: 10 cm}
  - {from: rx.1, to: elev, wire: 1 mm2, length: 10 cm}
  - {from: rx.2, to: fin, wire: 1 mm2, length: 10 cm}
surfaces:
  elevator:
    servo: elev
    deflection: {up: 20 deg, down: 15 deg}
    loads: {chord: 100 mm, span: 500 mm, of-chord: 400 mm}
    linkage: {arm: 10 mm, horn: 20 mm}
  rudder: {servo: fin, deflection: 31 deg, linkage: {arm: 10 mm, horn: 20 mm}}
  aileron: {servo: elev, deflection: {up: 9 deg}, linkage: {arm: 10 mm, horn: 20 mm, arm-angle: 8 deg}}
"""  # noqa: E501  - lines as an owner writes them


def close(schema: dict[str, Any]) -> dict[str, Any]:
    """Let no other key stand in an object, so that an undocumented key shows."""
    return {**schema, "additionalProperties": False} if schema.get("type") == "object" else schema


SCHEMA = json.loads(SCHEMA_TEXT)
CLOSED = json.loads(SCHEMA_TEXT, object_hook=close)


def check(data: Any, schema: Any) -> None:
    cast("Any", jsonschema.Draft202012Validator(schema)).validate(data)


def aircraft(text: str = AIRCRAFT) -> Aircraft:
    def nothing(name: str) -> Document:
        raise AssertionError(name)

    loaded = load(read_document(text.encode(), "heron.yaml"), nothing)
    assert loaded.faults == ()
    return Aircraft(loaded.setup)


def test_each_surface_shows_what_it_needs_and_what_its_servo_has() -> None:
    text = "\n".join(lines(aircraft()))
    # 1 N m / 0.62643 N m = 160 %; 1 N m = 10.2 kg.cm
    (row,) = [line for line in lines(aircraft()) if line.startswith("elevator") and "0.63" in line]
    assert row.split() == ["elevator", "20", "deg", "up", "0.63", "1.00", "160", "%"]
    assert "1.61 N.m about the hinge at 40 m/s (0.98 kPa)" in text
    assert "limited by elev, 7.46 V in" in text
    assert "has 10.2 kg.cm, needs 6.39 kg.cm" in text


def test_each_throw_shows_its_linkage() -> None:
    found = lines(aircraft())
    # sin(arm) = 2 sin(20 deg): 43.2 deg; 90 less that is 46.8, 90 less 20 is 70
    (row,) = [line for line in found if line.startswith("elevator") and "43.2" in line]
    assert row.split() == ["elevator", "20", "deg", "up", "43.2", "deg", "100", "%",
                           "46.8", "deg,", "70", "deg"]  # fmt: skip
    text = "\n".join(found)
    assert "DEAD CENTRE: the arm comes in line with the pushrod before the end" in text
    assert text.count("9 deg up?") == 2
    assert "? not said which way the surface goes when the pushrod pushes" in text


def test_what_is_not_known_is_said_and_never_shown_as_a_figure() -> None:
    text = " ".join("\n".join(lines(aircraft())).split())
    assert "rudder: `loads.chord`; `loads.span`; `loads.of-chord`" in text
    assert "`aircraft.field`" in text


def test_a_voltage_that_may_be_lower_has_a_mark() -> None:
    text = "\n".join(
        lines(aircraft(AIRCRAFT.replace("draws: {rest: 0 A, cruise: 0 A, peak: 0 A}, ", "")))
    )
    assert "1.00*" in text
    assert "160 %*" in text
    assert "* at most" in text


def test_it_never_reads_as_a_word_of_approval() -> None:
    text = " ".join(" ".join(lines(aircraft())).split())
    assert CAUTION in text
    assert "safe" not in text


def test_a_file_without_surfaces_says_so() -> None:
    bare = aircraft("holdshort: 1\n")
    text = render_text(load_table(bare))
    assert "Of no surface is enough declared" in text
    check(json.loads(render_json(load_table(bare))), CLOSED)


def test_the_schema_is_one_and_the_table_fits_it_key_for_key() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    found = json.loads(render_json(load_table(aircraft())))
    check(found, CLOSED)
    elevator, rudder, _ = found["surfaces"]
    assert elevator["worst"]["needs_newton_metres"] == pytest.approx(0.62643, rel=1e-4)
    assert elevator["servo"]["name"] == "elev"
    assert elevator["throws"][0]["points"][-1]["surface_degrees"] == pytest.approx(20.0)
    assert rudder["worst"] is None
    assert [throw["dead_centre"] for throw in rudder["throws"]] == ["arm"]


def test_the_schema_refuses_a_table_without_its_version() -> None:
    found = json.loads(render_json(load_table(aircraft())))
    del found["version"]
    with pytest.raises(jsonschema.ValidationError):
        check(found, SCHEMA)


any_text = st.text(
    alphabet=st.one_of(
        st.sampled_from("ab `>\\\n\r\t\x1b[31m\x9b\x7f\u202e\u2066\u200f\u2028\udc80"),
        st.characters(),
    ),
    min_size=1,
    max_size=40,
)
words = st.lists(st.text("abcdefg -", min_size=1, max_size=12), min_size=1, max_size=8).map(
    " ".join
)
figure = st.none() | st.floats(0, 999, allow_nan=False)
turn = st.floats(0, 3)


def tables(text: st.SearchStrategy[str]) -> st.SearchStrategy[LoadTable]:
    points = st.lists(st.builds(TravelPoint, turn, st.floats(0, 99)), max_size=3).map(tuple)
    throws = st.builds(
        ThrowRow, st.sampled_from(["up", "down", "left", "right", "each way"]),
        st.sampled_from(["deflection", "swing", "travel"]), turn, figure, figure, figure, figure,
        st.sampled_from(["", "arm", "horn"]), st.none() | st.booleans(), st.booleans(), points,
    )  # fmt: skip
    rows = st.builds(
        LoadRow, text, text, st.lists(text, min_size=1, max_size=2).map(tuple), st.floats(0.1, 1),
        st.sampled_from(["known", "at most", "not known"]), st.sampled_from(["up", "each way"]),
        figure, figure, figure, figure, figure, text, figure, figure, text,
        st.sampled_from(["stated", "between", "above", "below"]), figure,
        st.lists(throws, max_size=2).map(tuple), st.lists(text, max_size=2).map(tuple),
    )  # fmt: skip
    assumed = st.tuples(text, st.lists(text, min_size=1, max_size=2).map(tuple))
    return st.builds(
        LoadTable, text, text, text, figure, st.lists(rows, max_size=3).map(tuple),
        st.lists(assumed, max_size=2).map(tuple), st.lists(text, max_size=2).map(tuple),
    )  # fmt: skip


@settings(max_examples=50, deadline=None)
@given(tables(any_text))
def test_whatever_names_hold_nothing_steers_the_terminal(table: LoadTable) -> None:
    text = render_text(table)
    assert not {c for c in text if c != "\n" and unicodedata.category(c) in HIDDEN}
    data = render_json(table)
    assert not {c for c in data if c != "\n" and not " " <= c <= "~"}
    check(json.loads(data), CLOSED)


@settings(max_examples=50, deadline=None)
@given(tables(words))
def test_lines_keep_to_the_width(table: LoadTable) -> None:
    assert max(len(line) for line in render_text(table).splitlines()) <= WIDTH


@pytest.mark.parametrize(("ending", "begins"), [("png", b"\x89PNG\r\n"), ("svg", b"<?xml")])
def test_the_picture_is_drawn_and_is_the_same_each_time(ending: str, begins: bytes) -> None:
    pytest.importorskip("matplotlib")
    from holdshort.fixlist.loads_picture import picture  # noqa: PLC0415  - needs the extra

    first = picture(aircraft(), ending)
    assert first.startswith(begins)
    assert picture(aircraft(), ending) == first


def test_the_picture_shows_a_panel_for_each_load_that_is_known() -> None:
    pytest.importorskip("matplotlib")
    from holdshort.fixlist.loads_picture import draw, picture  # noqa: PLC0415  - as above

    drawn = picture(aircraft(), "svg").decode()
    assert "elevator" in drawn
    assert "rudder" not in drawn
    assert "has 1.00 N.m" in drawn
    named = load_table(aircraft())._replace(aircraft="a $x^2$ <b>\x1b[31m heron")
    assert b"\x1b" not in draw(named, "svg")
    assert b"of no surface is enough declared" in draw(
        load_table(aircraft("holdshort: 1\n")), "svg"
    )
