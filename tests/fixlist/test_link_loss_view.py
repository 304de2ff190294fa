"""The link-loss table as text and JSON."""

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
from holdshort.analysis.link_loss import LossCase
from holdshort.analysis.link_loss_table import (
    CaseRows,
    EngineTime,
    LinkLossTable,
    OutputRow,
    link_loss_table,
)
from holdshort.analysis.missing import Missing
from holdshort.document import Document, read_document, read_file
from holdshort.fixlist import link_loss_json, link_loss_view
from holdshort.fixlist.link_loss_json import render_json
from holdshort.fixlist.link_loss_view import CAUTION, render_text
from holdshort.fixlist.paragraphs import WIDTH
from holdshort.setup import load

ROOT = Path(__file__).resolve().parents[2]
SCHEMA_FILE = Path(holdshort.fixlist.__path__[0]) / "link-loss.schema.json"
HIDDEN = {"Cc", "Cf", "Cs", "Zl", "Zp"}

BENCH = b"""
holdshort: 1
aircraft: {name: Wren}
parts:
  rx: {kind: receiver, ports: {1..4: servo, bus: bus-out, in: bus-in}}
  ecu: {kind: engine-controller, delay: 0.5 s}
  servo: {kind: servo}
devices:
  front: {part: rx}
  rear: {part: rx}
  engine: {part: ecu, learned: {stop: 1100 us, idle: 1200 us, full: 1900 us}}
  ail: {part: servo}
  gear: {part: servo}
leads:
  - {from: rear.bus, to: front.in}
  - {from: front.1, to: ail}
  - {from: front.3, to: engine.throttle}
  - {from: rear.4, to: gear}
radio:
  links: {main: {heard-by: front}, second: {heard-by: rear}}
  pulse: {centre: 1500 us, full: 500 us}
  sense: {throttle: longer}
  channels:
    1: {drives: aileron, travel: 80 %}
    3: {drives: throttle, travel: 80 %}
    4: {drives: gear}
failsafe:
  front: {after: 1.0 s, channels: {1: -25 %, 3: stop, 4: down}}
  rear: {channels: {1: -25 %, 3: stop, 4: hold}}
surfaces:
  aileron: {servo: ail, longer-pulse: up}
"""


def close(schema: dict[str, Any]) -> dict[str, Any]:
    """Let no other key stand in an object, so that an undocumented key shows."""
    return {**schema, "additionalProperties": False} if schema.get("type") == "object" else schema


CLOSED: Any = json.loads(SCHEMA_FILE.read_text(encoding="utf-8"), object_hook=close)


def validated(text: str) -> Any:
    assert text.isascii()
    data = json.loads(text)
    cast("Any", jsonschema.Draft202012Validator(CLOSED)).validate(data)
    return data


def _no_catalogue(name: str) -> Document:
    raise AssertionError(name)


@pytest.fixture
def bench() -> Aircraft:
    loaded = load(read_document(BENCH, "wren.yaml"), _no_catalogue)
    assert loaded.faults == ()
    return Aircraft(loaded.setup)


# Aileron: 1500 - 500 x 0.8 x 0.25 = 1400 us. Throttle: 1500 - 400 = 1100 us, the learned stop.
# The hold of `rear` is not declared, so 1.0 + 0.5 s is the least.
def test_the_text_of_the_case_in_which_all_links_are_lost(bench: Aircraft) -> None:
    blocks = render_text(link_loss_table(bench)).split("\n\n")
    (block,) = [block for block in blocks if block.startswith("All links lost")]
    assert block.splitlines() == [
        "All links lost, or the transmitter off",
        "  ch  drives    at      set in  declared    us  does",
        "   1  aileron   ail     front   -25 %     1400  trailing edge down, 25 % of its travel",
        "   3  throttle  engine  front   stop      1100  stop",
        "   4  gear      gear    rear    hold            stays where it was",
        "  `engine` has acted after 1.0 s hold in `front` + 0.5 s in `engine` = 1.50 s at least,",
        "  as more is not declared.",
    ]


def test_one_link_lost_leaves_joined_receivers_working(bench: Aircraft) -> None:
    text = render_text(link_loss_table(bench))
    assert "Link `main` lost\n  3 devices follow the transmitter as before.\n" in text
    second = text.split("Link `second` lost\n")[1].split("\n\n")[0]
    assert "gear" in second
    assert "throttle" not in second
    assert second.endswith("2 devices more follow the transmitter as before.")


def test_boxes_that_may_decide_share_a_row_where_they_send_the_same() -> None:
    text = BENCH.replace(b"front.in}", b"hub.in-1}\n  - {from: front.bus, to: hub.in-2}")
    text = text.replace(b"{from: front.1, to: ail}", b"{from: hub.1, to: ail}")
    text = text.replace(
        b"  servo: {kind",
        b"  hub: {kind: hub, ports: {in-1..2: bus-in, 1..4: servo}}\n  servo: {kind",
    ).replace(b"  ail: {part", b"  hub: {part: hub}\n  ail: {part")
    text = text.replace(b"failsafe:\n", b"failsafe:\n  hub: {passes-on: true}\n")

    def rows(data: bytes) -> list[list[str]]:
        loaded = load(read_document(data, "wren.yaml"), _no_catalogue)
        assert loaded.faults == ()
        table = link_loss_table(Aircraft(loaded.setup))
        case = next(case for case in table.cases if case.case.id == "all links")
        return [list(row.decided_by) for row in case.rows if row.device == "ail"]

    assert [sorted(boxes) for boxes in rows(text)] == [["front", "rear"]]
    apart = text.replace(b"rear: {channels: {1: -25 %", b"rear: {channels: {1: 25 %")
    assert sorted(rows(apart)) == [["front"], ["rear"]]


def test_what_is_missing_is_told_with_its_line(bench: Aircraft) -> None:
    text = render_text(link_loss_table(bench))
    line = BENCH.decode().splitlines().index("  rear: {channels: {1: -25 %, 3: stop, 4: hold}}") + 1
    assert f"needs how long `rear` holds before it acts (`after`) (line {line})" in text
    assert text.endswith(f"{' '.join(CAUTION.split()[-6:])}\n")


def test_the_json_says_the_same(bench: Aircraft) -> None:
    data = validated(link_loss_json.json_text(bench))
    everything = next(case for case in data["cases"] if case["case"] == "all links")
    assert everything["deaf_receivers"] == ["front", "rear"]
    assert [row["pulse_microseconds"] for row in everything["outputs"]] == [1400.0, 1100.0, None]
    assert everything["engines"][0]["since_loss_seconds"] == 1.5
    assert everything["engines"][0]["complete"] is False
    assert data["missing"][0]["needs"].startswith("how long `rear` holds")


@pytest.mark.parametrize("path", sorted((ROOT / "examples").glob("*.yaml")), ids=lambda p: p.stem)
def test_every_example_has_a_table(path: Path) -> None:
    loaded = load(read_file(path), lambda name: read_file(path.parent / name, name))
    text = "\n".join(link_loss_view.lines(Aircraft(loaded.setup)))
    assert all(len(line) <= WIDTH for line in text.splitlines())
    data = validated(link_loss_json.json_text(Aircraft(loaded.setup)))
    assert data["cases"]


words = st.text(max_size=120)
rows = st.builds(
    OutputRow, st.integers(1, 99), words, words,
    st.lists(st.text(min_size=1, max_size=90), min_size=1, max_size=2).map(tuple),
    st.none() | words, st.none() | st.floats(5e-4, 3e-3), words,
)  # fmt: skip
tables = st.builds(
    LinkLossTable,
    words,
    st.none() | words,
    st.lists(
        st.builds(
            CaseRows,
            st.builds(LossCase, words, st.text(min_size=1, max_size=90), st.just(frozenset[str]())),
            st.lists(rows, max_size=3).map(tuple),
            st.lists(
                st.builds(
                    EngineTime, words, st.lists(words, max_size=2).map(tuple), st.floats(0, 99),
                    st.floats(0, 99), st.booleans(),
                ),
                max_size=1,
            ).map(tuple),
            st.integers(0, 9),
        ),
        max_size=2,
    ).map(tuple),
    st.lists(st.builds(Missing, words, words, st.none() | st.integers(1, 999)), max_size=2),
    st.lists(words, max_size=2).map(tuple),
    st.booleans(),
)  # fmt: skip


@settings(max_examples=60)
@given(tables)
def test_whatever_names_hold_the_text_stays_visible_and_narrow(table: LinkLossTable) -> None:
    for line in render_text(table).splitlines():
        assert len(line) <= WIDTH
        assert not any(unicodedata.category(character) in HIDDEN for character in line)
    validated(render_json(table))
