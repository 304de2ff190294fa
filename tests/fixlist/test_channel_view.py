"""The channel table for a terminal and for programs."""

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
from holdshort.analysis.channel_table import (
    ChannelRow,
    ChannelTable,
    EndRow,
    ModeRow,
    channel_table,
)
from holdshort.analysis.pulses import ChannelRange
from holdshort.document import Document, read_document
from holdshort.fixlist.channel_json import render_json
from holdshort.fixlist.channel_view import CAUTION, lines, render_text
from holdshort.fixlist.paragraphs import WIDTH
from holdshort.setup import load

SCHEMA_FILE = Path(holdshort.fixlist.__path__[0]) / "channels.schema.json"
SCHEMA_TEXT = SCHEMA_FILE.read_text(encoding="utf-8")
HIDDEN = {"Cc", "Cf", "Cs", "Zl", "Zp"}

AIRCRAFT = """
holdshort: 1
aircraft: {name: Grey Heron}
parts:
  rx: {kind: receiver, frame-rate: 50 Hz, ports: {1..4: servo, x: servo, bus: bus-out}}
  hub: {kind: hub, ports: {bus: bus-in, 1..4: servo}}
  servo: {kind: servo}
devices:
  rx: {part: rx, ports: {2: {channel: 7}}}
  hub: {part: hub, ports: {1: {reversed: true, frame-rate: 333 Hz}}}
  tail: {part: servo}
  flap: {part: servo}
  stray: {part: servo}
  fourth: {part: servo}
leads:
  - {from: rx.bus, to: hub.bus}
  - {from: hub.1, to: tail}
  - {from: rx.2, to: flap}
  - {from: rx.x, to: stray}
  - {from: rx.4, to: fourth}
radio:
  pulse: {centre: 1520 us, full: 400 us}
  frame-rate: 70 Hz
  modes:
    landing: {travel: {1: 60 %}}
    fast: {}
  channels:
    1: {drives: rudder, travel: {low: 95 %, high: 110 %}, reversed: true, centre: -5 %, slow: 1.5 s}
    7: {drives: [left flap, right flap], copied-from: Wren, trim: 2 %}
    9: {drives: gear}
"""


def close(schema: dict[str, Any]) -> dict[str, Any]:
    """Let no other key stand in an object, so that an undocumented key shows."""
    return {**schema, "additionalProperties": False} if schema.get("type") == "object" else schema


SCHEMA = json.loads(SCHEMA_TEXT)
CLOSED = json.loads(SCHEMA_TEXT, object_hook=close)


def check(data: Any, schema: Any) -> None:
    cast("Any", jsonschema.Draft202012Validator(schema)).validate(data)


def aircraft() -> Aircraft:
    def nothing(name: str) -> Document:
        raise AssertionError(name)

    loaded = load(read_document(AIRCRAFT.encode(), "heron.yaml"), nothing)
    assert loaded.faults == ()
    return Aircraft(loaded.setup)


def shown(start: str) -> list[str]:
    """Return the words of the one line that starts so."""
    (found,) = [line for line in lines(aircraft()) if line.strip().startswith(start)]
    return found.split()


def test_each_mode_shows_its_travel_and_pulses() -> None:
    # centre -5 %: 1520 - 20 = 1500. Reversed: low 1500 + 380 = 1880, high 1500 - 440 = 1060;
    # in landing 1500 +- 240
    assert shown("1 ") == ["1", "rudder", "95", "%", "110", "%", "1880", "1500", "1060"]
    assert shown("in landing")[2:] == ["60", "%", "60", "%", "1740", "1500", "1260"]


def test_settings_and_the_way_to_each_device_follow() -> None:
    text = "\n".join(lines(aircraft()))
    assert "reversed, centre -5 %, slow 1.5 s" in text
    assert "to rx.bus > hub.bus > hub.1 > tail # (333 Hz, turned round on the way)" in text
    assert "trim +2 %, copied from Wren" in text
    assert "to rx.2 > flap (50 Hz)" in text
    assert "# no port on the way is declared" in text


def test_what_is_not_known_is_said_and_never_shown_as_a_figure() -> None:
    assert shown("7 ") == ["7", "left", "flap,", "right", "flap", *"-----"]
    text = " ".join("\n".join(lines(aircraft())).split())
    assert "the travel of channel 7; the travel of channel 9; the channel that `rx.x` gives" in text
    assert "to no device of its own" in text
    assert "rx.x > stray (50 Hz): channel not known" in text
    assert "rx.4 > fourth # (50 Hz): channel 4" in text


def test_it_never_reads_as_a_word_of_approval() -> None:
    text = " ".join(" ".join(lines(aircraft())).split())
    assert CAUTION in text
    assert "safe" not in text


def test_a_file_without_channels_says_so() -> None:
    table = channel_table(aircraft())._replace(channels=())
    assert "No channel is declared." in render_text(table)


def test_the_schema_is_one_and_the_table_fits_it_key_for_key() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    found = json.loads(render_json(channel_table(aircraft())))
    check(found, CLOSED)
    first = found["channels"][0]
    assert first["modes"][0]["high_us"] == pytest.approx(1060)
    assert first["ends"][0]["way"] == ["rx.bus", "hub.bus", "hub.1", "tail.lead"]
    assert [end["channel"] for end in found["strays"]] == [None, 4]


def test_the_schema_refuses_a_table_without_its_version() -> None:
    found = json.loads(render_json(channel_table(aircraft())))
    del found["version"]
    with pytest.raises(jsonschema.ValidationError):
        check(found, SCHEMA)


any_text = st.text(
    alphabet=st.one_of(
        st.sampled_from("ab `>\\\n\r\t\x1b[31m\x9b\x7f\u202e\u2066\u200f\u2028\udc80"),
        st.characters(),
    ),
    min_size=1,
    max_size=50,
)
words = st.lists(st.text("abcdefg -", min_size=1, max_size=12), min_size=1, max_size=8).map(
    " ".join
)
maybe = st.none() | st.floats(0, 9, allow_nan=False)


def tables(text: st.SearchStrategy[str]) -> st.SearchStrategy[ChannelTable]:
    ends = st.builds(
        EndRow, st.none() | st.integers(1, 99), text, text, st.lists(text, min_size=2).map(tuple),
        text, st.booleans(), st.booleans(), st.none() | st.integers(1, 999).map(float),
    )  # fmt: skip
    pulses = st.builds(ChannelRange, *[st.integers(0, 9999).map(lambda us: us * 1e-6)] * 3)
    share = st.none() | st.integers(0, 3000).map(lambda tenths: tenths / 1000)
    modes = st.builds(ModeRow, st.none() | text, share, share, st.none() | pulses)
    channels = st.builds(
        ChannelRow, st.integers(1, 99), st.lists(text, min_size=1, max_size=3).map(tuple),
        st.booleans(), maybe, maybe, maybe, st.none() | text,
        st.lists(modes, min_size=1, max_size=3).map(tuple), st.lists(ends, max_size=2).map(tuple),
    )  # fmt: skip
    return st.builds(
        ChannelTable, text, text, maybe, maybe, st.none() | st.integers(1, 99).map(float),
        st.lists(channels, max_size=2).map(tuple), st.lists(ends, max_size=2).map(tuple),
        st.lists(text, max_size=2).map(tuple), st.lists(text, max_size=2).map(tuple),
    )  # fmt: skip


@settings(max_examples=50)
@given(tables(any_text))
def test_whatever_names_hold_nothing_steers_the_terminal(table: ChannelTable) -> None:
    text = render_text(table)
    assert not {c for c in text if c != "\n" and unicodedata.category(c) in HIDDEN}
    data = render_json(table)
    assert not {c for c in data if c != "\n" and not " " <= c <= "~"}
    check(json.loads(data), CLOSED)


@settings(max_examples=50)
@given(tables(words))
def test_lines_keep_to_the_width(table: ChannelTable) -> None:
    assert max(len(line) for line in render_text(table).splitlines()) <= WIDTH
