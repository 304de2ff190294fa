"""The power table for a terminal, for programs and as a picture."""

import json
import unicodedata
import xml.etree.ElementTree as ET
from pathlib import Path
from typing import Any, cast

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import holdshort.fixlist
from holdshort.analysis import Aircraft
from holdshort.analysis.circuit_elements import Regulation, RegulatorPoint
from holdshort.analysis.load_cases import DEFAULT_CASES
from holdshort.analysis.power_curves import CHARGES, Curve, Minimum, RailCurves
from holdshort.analysis.power_rows import (
    CollapseRow,
    DeviceRow,
    LeadRow,
    PackRow,
    PackUse,
    PowerTable,
    RailRow,
    Rating,
    Reading,
    RegulatorRow,
    Told,
)
from holdshort.document import Document, read_file
from holdshort.fixlist import power_json, power_view
from holdshort.fixlist.paragraphs import WIDTH
from holdshort.fixlist.power_json import render_json
from holdshort.fixlist.power_view import CAUTION, render_text
from holdshort.setup import load

ROOT = Path(__file__).resolve().parents[2]
GOLDEN = Path(__file__).parent / "golden"
SCHEMA_FILE = Path(holdshort.fixlist.__path__[0]) / "power.schema.json"
SCHEMA_TEXT = SCHEMA_FILE.read_text(encoding="utf-8")
HIDDEN = {"Cc", "Cf", "Cs", "Zl", "Zp"}


def close(schema: dict[str, Any]) -> dict[str, Any]:
    """Let no other key stand in an object, so that an undocumented key shows."""
    open_ended = schema.get("type") != "object" or "additionalProperties" in schema
    return schema if open_ended else {**schema, "additionalProperties": False}


CLOSED: Any = json.loads(SCHEMA_TEXT, object_hook=close)


def validate(text: str) -> Any:
    data = json.loads(text)
    cast("Any", jsonschema.Draft202012Validator(CLOSED)).validate(data)
    return data


def example(name: str) -> Aircraft:
    def catalogue(part: str) -> Document:
        return read_file(ROOT / "examples" / part)

    document = Document(f"examples/{name}", read_file(ROOT / "examples" / name).root)
    loaded = load(document, catalogue)
    assert loaded.faults == ()
    return Aircraft(loaded.setup)


CASES = tuple(case.name for case in DEFAULT_CASES)


def every(reading: Reading) -> dict[str, Reading]:
    return dict.fromkeys(CASES, reading)


def crashed_table() -> PowerTable:
    """A table with one of everything that can be wrong."""
    volts = {**every(Reading(7.0, "incomplete")), "hard-manoeuvre": Reading(None, "collapse")}
    rx = DeviceRow(
        "rx", "rx-part", "receiver", volts, volts, Rating(7.5, 8.4, 3.5), ("collapse", "too low")
    )
    lone = DeviceRow(
        "lone", "rx-part", "receiver", every(Reading(None, "no supply")),
        every(Reading(None, "no supply")), Rating(None, None), ("no supply",),
    )  # fmt: skip
    point = RegulatorPoint(Regulation.DROPPED_OUT, 6.2, 5.7, 3.0, 3.0, 1.5)
    regulator = RegulatorRow(
        "reg", "reg-part", 6.0, None, Rating(6.5, 8.4), 2.0, 5.0, 1.0,
        {**dict.fromkeys(CASES, point), "hard-manoeuvre": None},
        {**dict.fromkeys(CASES, "known"), "hard-manoeuvre": "collapse"},
        {**dict.fromkeys(CASES, ("input too low", "above continuous", "too hot")),
         "hard-manoeuvre": ()},
    )  # fmt: skip
    use = PackUse(600.0, 2, Reading(3600.0, "incomplete"), Reading(-0.2, "incomplete"))
    pack = PackRow(
        "pack", "pack-part", "lipo", 2, 3600.0, 1.0, None, volts, volts,
        dict.fromkeys(CASES, ("above continuous",)), use,
    )  # fmt: skip
    lead = LeadRow(
        "pack", "rx.supply", None, False, None, False, None, Reading(None, "not known"),
        Reading(2.0, "incomplete"),
    )  # fmt: skip
    return PowerTable(
        file="-",
        aircraft="",
        cases=DEFAULT_CASES,
        collapses=(CollapseRow("hard-manoeuvre", "no operating point", "rx", 0.5279, ("s1",)),),
        rails=(RailRow(("pack",), volts, volts, (rx,)), RailRow((), {}, {}, (lone,))),
        leads=(lead,),
        regulators=(regulator,),
        packs=(pack,),
        missing=(Told("the current that `x` draws (peak)", "shelf.yaml", 7, ("hard-manoeuvre",)),),
        assumptions=(Told("`switch` has no resistance of its own", "-", 9),),
        unread=("devices.gyro",),
    )


def test_the_example_reads_as_agreed() -> None:
    expected = (GOLDEN / "power-tarn-swift.txt").read_text(encoding="utf-8")
    assert "\n".join(power_view.lines(example("tarn-swift.yaml"))) + "\n" == expected


def test_what_is_outside_is_said_in_words() -> None:
    text = " ".join(render_text(crashed_table()).split())
    for words in (
        "Power of an aircraft without a name standard input",
        "COLLAPSE in hard-manoeuvre: no operating point. It gives way at `rx`; 52.7 % of",
        "could be carried. `s1` falls with it.",
        "rx collapse hard-manoeuvre 7.00* rest 7.5 to 8.4 COLLAPSE, TOO LOW",
        "lone NO SUPPLY",
        "dropped out 6.20 3.00 5.70 3.00 1.50 INPUT UNDER 6.5 V, OVER 2 A, OVER 1 W",
        "at least 1000 mAh: EMPTY before the end of 2 flights",
        "pack to rx.supply not declared 2.00* ?",
        "Incomplete needs the current that `x` draws (peak) (shelf.yaml line 7, for",
        "`switch` has no resistance of its own (line 9; common practice)",
        "Left out, as they have mistakes of form: devices.gyro.",
    ):
        assert words in text


def test_nothing_reads_as_safe() -> None:
    for table in (crashed_table(), crashed_table()._replace(collapses=(), rails=())):
        text = " ".join(render_text(table).split())
        assert CAUTION in text
        assert "safe" not in text.lower()


def test_a_share_that_can_be_carried_is_never_rounded_up() -> None:
    row = CollapseRow("cruise", "no operating point", "rx", 0.99999, ())
    assert "99.9 % of the load" in render_text(crashed_table()._replace(collapses=(row,)))


nasty = st.text(
    alphabet=st.one_of(
        st.sampled_from("ab `\\\n\r\t\x1b[31m\x9b\x7f\u202e\u2066\u200f\u061c\u2028\udc80"),
        st.characters(),
    ),
    max_size=120,
)
numbers = st.one_of(st.none(), st.floats(0, 1e9))
readings = st.builds(
    Reading, numbers, st.sampled_from(["known", "incomplete", "collapse", "no supply", "not known"])
)
by_case = st.fixed_dictionaries(dict.fromkeys(CASES, readings))
ratings = st.builds(Rating, numbers, numbers, numbers)
told = st.builds(Told, nasty, nasty, st.integers(1, 10**6), st.just(CASES[:2]))
devices = st.builds(
    DeviceRow, nasty, nasty, st.just("servo"), by_case, by_case, ratings,
    st.sampled_from([("within",), ("collapse", "too high"), ("no supply",)]),
)  # fmt: skip
points = st.builds(
    RegulatorPoint, st.sampled_from(Regulation), *[st.floats(0, 1e9)] * 5
)  # fmt: skip
marks = st.sampled_from([(), ("input too high", "above peak", "too hot")])
regulators = st.builds(
    RegulatorRow, nasty, nasty, numbers, numbers, ratings, numbers, numbers, numbers,
    st.fixed_dictionaries(dict.fromkeys(CASES, st.one_of(st.none(), points))),
    st.fixed_dictionaries(dict.fromkeys(CASES, st.sampled_from(["incomplete", "collapse"]))),
    st.fixed_dictionaries(dict.fromkeys(CASES, marks)),
)  # fmt: skip
packs = st.builds(
    PackRow, nasty, nasty, st.just("lipo"), st.integers(1, 40), numbers, numbers, numbers, by_case,
    by_case, st.fixed_dictionaries(dict.fromkeys(CASES, st.just(("above peak",)))),
    st.builds(PackUse, numbers, st.integers(1, 50), readings, readings),
)  # fmt: skip
leads = st.builds(
    LeadRow, nasty, nasty, st.one_of(st.none(), st.just("0.123456789 mm2")), st.booleans(), numbers,
    st.booleans(), st.one_of(st.none(), st.sampled_from(CASES)), readings, readings,
)  # fmt: skip
tables = st.builds(
    PowerTable, nasty, nasty, st.just(DEFAULT_CASES),
    st.tuples(st.builds(CollapseRow, st.sampled_from(CASES), st.just("no voltage left"), nasty,
                        st.floats(0, 1), st.tuples(nasty))),
    st.tuples(st.builds(RailRow, st.tuples(nasty), by_case, by_case, st.tuples(devices))),
    st.tuples(leads), st.tuples(regulators), st.tuples(packs), st.tuples(told), st.tuples(told),
    st.tuples(nasty),
)  # fmt: skip


@settings(max_examples=80, deadline=None)
@given(tables)
def test_whatever_names_hold_lines_are_plain_and_narrow(table: PowerTable) -> None:
    text = render_text(table)
    assert not {c for c in text if c != "\n" and unicodedata.category(c) in HIDDEN}
    assert max(len(line) for line in text.splitlines()) <= WIDTH
    assert all(line == line.rstrip() for line in text.splitlines())


@settings(max_examples=60, deadline=None)
@given(tables)
def test_any_table_fits_the_schema_key_for_key(table: PowerTable) -> None:
    text = render_json(table)
    assert {c for c in text if not " " <= c <= "~"} <= {"\n"}
    data = validate(text)
    assert (data["format"], data["version"]) == ("holdshort-power", 1)
    assert data["rails"][0]["devices"][0]["device"] == table.rails[0].devices[0].device


def test_the_schema_is_one_and_every_example_fits_it() -> None:
    jsonschema.Draft202012Validator.check_schema(json.loads(SCHEMA_TEXT))
    for file in sorted((ROOT / "examples").glob("*.yaml")):
        validate(power_json.json_text(example(file.name)))
    validate(render_json(crashed_table()))


def test_text_and_json_tell_the_same() -> None:
    aircraft = example("tarn-swift.yaml")
    data = json.loads(power_json.json_text(aircraft))
    rows = [line.split() for line in power_view.lines(aircraft)]
    for rail in data["rails"]:
        for device in rail["devices"]:
            low, high = device["lowest_volts"], device["highest_volts"]
            told = [device["device"], f"{low['value']:.2f}", low["case"], f"{high['value']:.2f}"]
            assert told in [row[:4] for row in rows]


def curves(name: str) -> tuple[RailCurves, ...]:
    falling = tuple(8.0 * charge if charge > 0.5 else None for charge in CHARGES)
    level = (7.0,) * len(CHARGES)
    lines = (Curve("rest", level, incomplete=False), Curve("x", falling, incomplete=True))
    return (RailCurves(name, Minimum(name, 4.8), lines),)


@pytest.mark.parametrize("name", ["pack", "a$b$_{", "<&>--\x1b[31m", "x" * 80, "\u4e2d"])
def test_a_picture_is_drawn_of_any_name(name: str) -> None:
    picture = pytest.importorskip("holdshort.fixlist.power_picture")
    assert picture.draw(name, curves(name), "png").startswith(b"\x89PNG\r\n\x1a\n")
    assert ET.fromstring(picture.draw(name, curves(name), "svg")).tag.endswith("svg")  # noqa: S314
    assert picture.draw(name, (), "svg")


def test_the_picture_of_one_file_is_always_the_same() -> None:
    picture = pytest.importorskip("holdshort.fixlist.power_picture")
    assert picture.draw("Wren", curves("a"), "svg") == picture.draw("Wren", curves("a"), "svg")


def test_a_picture_names_axes_cases_and_the_minimum() -> None:
    picture = pytest.importorskip("holdshort.fixlist.power_picture")
    # Text is drawn as outlines; the library keeps the words as comments beside them.
    drawn = picture.draw("Wren", curves("pack"), "svg").decode()
    for words in (
        "state of charge of all packs, %", "voltage, V", "minimum of pack, 4.8 V", "rest",
        "x*: collapse", "from 50 % down", "* incomplete: at most this",
    ):  # fmt: skip
        assert f"<!-- {words} -->" in drawn, words
