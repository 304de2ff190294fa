"""Bench cards: what they ask for, what they leave to be written in, and how results come back."""

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.analysis import Aircraft
from holdshort.analysis.bench_cards import STAY, BenchCard, CardLine, CardSheet, flow_scalar
from holdshort.analysis.cards import card_sheet
from holdshort.analysis.code_words import CodeLine, CodeWords
from holdshort.analysis.senses import CARD_NAMES, HAND_CARDS, STICK_CARDS
from holdshort.document import Document, read_document
from holdshort.setup import Setup, load

TURBINE = frozenset({"turbine"})
CODES = (
    CodeWords(
        "uk",
        "the UK code",
        (
            CodeLine("three seconds", TURBINE, "a code", "read", 3.0, "loss of signal"),
            CodeLine("motor off", frozenset({"electric-fan"}), "a notice", "read second-hand"),
        ),
    ),
)


def no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def setup_of(tree: dict[str, Any]) -> Setup:
    text = json.dumps({"holdshort": 1, **tree})
    loaded = load(read_document(text.encode(), "t"), no_catalogue)
    assert loaded.faults == (), loaded.faults
    return loaded.setup


def sheet_of(tree: dict[str, Any], codes: tuple[CodeWords, ...] = ()) -> CardSheet:
    return card_sheet(Aircraft(setup_of(tree)), codes)


def cards_of(sheet: CardSheet) -> dict[str, BenchCard]:
    return {card.name: card for group in sheet.groups for card in group.cards}


def lines_of(sheet: CardSheet, card: str) -> dict[str, CardLine]:
    return {name: line for line in cards_of(sheet)[card].lines for name in line.subjects}


def surfaces(*names: str, **more: Any) -> dict[str, Any]:
    return {
        "parts": {"servo": {"kind": "servo"}},
        "devices": {f"servo {name}": {"part": "servo"} for name in names},
        "surfaces": {name: {"servo": f"servo {name}"} for name in names},
        **more,
    }


JET: dict[str, Any] = {
    "aircraft": {"name": "Wren", "propulsion": "turbine"},
    "follows": ["uk"],
    "parts": {
        "rx": {"kind": "receiver", "ports": {"1..4": "servo"}},
        "servo": {"kind": "servo"},
        "ecu": {"kind": "engine-controller", "delay": "0.5 s"},
    },
    "devices": {
        "a": {"part": "rx"},
        "b": {"part": "rx"},
        "tail": {"part": "servo"},
        "door": {"part": "servo"},
        "ecu": {
            "part": "ecu",
            "learned": {"stop": "1100 us", "idle": "1200 us", "full": "1900 us"},
        },
    },
    "leads": [
        {"from": "a.1", "to": "tail"},
        {"from": "a.3", "to": "ecu.throttle"},
        {"from": "b.2", "to": "door"},
    ],
    "radio": {
        "pulse": {"centre": "1500 us", "full": "400 us"},
        "sense": {"throttle": "longer"},
        "channels": {
            "1": {"drives": "elevator", "travel": "100 %"},
            "2": {"drives": "gear doors"},
            "3": {"drives": "throttle", "travel": "100 %"},
        },
    },
    "surfaces": {"elevator": {"servo": "tail", "longer-pulse": "up"}},
    "failsafe": {
        "a": {"after": "1 s", "channels": {"1": "-50 %", "3": "stop"}},
        "b": {"after": "1 s", "channels": {"1": "-50 %", "2": "down", "3": "stop"}},
    },
}


def test_the_cards_of_directions_are_those_that_observations_name() -> None:
    tree = surfaces("rudder")
    tree["parts"]["box"] = {"kind": "gyro", "ports": {"1": "servo"}, "senses": "yaw"}
    tree["devices"]["gyro"] = {"part": "box"}
    sheet = sheet_of(tree)
    groups = {group.name: [card.name for card in group.cards] for group in sheet.groups}
    assert groups["hand motions"] == list(HAND_CARDS)
    assert groups["sticks"][: len(STICK_CARDS)] == list(STICK_CARDS)
    assert set(CARD_NAMES) <= set(cards_of(sheet))


def test_without_a_gyro_there_are_no_hand_motions_and_the_sheet_says_so() -> None:
    sheet = sheet_of(surfaces("rudder"))
    assert not set(HAND_CARDS) & set(cards_of(sheet))
    assert "gyro off sticks" not in cards_of(sheet)
    assert ("hand motions", "no gyro is declared") in [
        (item.cards.split(",")[0], item.why) for item in sheet.left_out
    ]


@pytest.mark.parametrize(
    ("surface", "card", "lacks"),
    [
        ("aileron", "aileron stick right", "`side`"),
        ("v-tail", "rudder stick left", "`side`"),
        ("nozzle", "elevator stick back", "pitch or in yaw"),
        ("steering", "rudder stick right", "`nose wheel`"),
    ],
)
def test_a_missing_fact_is_left_to_be_written_in(surface: str, card: str, lacks: str) -> None:
    line = lines_of(sheet_of(surfaces(surface)), card)[surface]
    assert line.must == ""
    assert lacks in line.lacks


def test_a_missing_side_is_not_asked_for_where_the_stick_moves_nothing_there() -> None:
    assert lines_of(sheet_of(surfaces("aileron")), "rudder stick right")["aileron"].must == STAY


def test_by_hand_a_missing_side_is_asked_for_only_where_the_gyro_steadies() -> None:
    tree = surfaces("aileron")
    tree["parts"]["box"] = {"kind": "gyro", "ports": {"1": "servo"}, "senses": ["roll", "pitch"]}
    tree["devices"]["gyro"] = {"part": "box"}
    sheet = sheet_of(tree)
    assert "`side`" in lines_of(sheet, "roll right")["aileron"].lacks
    assert lines_of(sheet, "nose up")["aileron"] == CardLine(("aileron",), STAY)


def test_a_surface_that_only_a_channel_names_is_left_to_be_written_in() -> None:
    tree = surfaces("rudder", radio={"channels": {"1..2": {"drives": "left aileron"}}})
    tree["radio"]["channels"] = {"1": {"drives": "left aileron"}, "2": {"drives": "rudder"}}
    sheet = sheet_of(tree)
    line = lines_of(sheet, "aileron stick right")["left aileron"]
    assert (line.must, "`left aileron` under `surfaces`" in line.lacks) == ("", True)
    assert "left aileron" not in lines_of(sheet, "rudder stick right")
    assert lines_of(sheet, "rudder stick right")["rudder"].must == "trailing edge right"


def test_what_a_mix_moves_beside_its_own_work_is_left_to_be_written_in() -> None:
    mix = {"from": "elevator", "to": "left flap", "share": "20 %"}
    tree = surfaces("left flap", "elevator", radio={"mixes": [mix]})
    sheet = sheet_of(tree)
    assert lines_of(sheet, "elevator stick back")["left flap"].must == ""
    assert "mix" in lines_of(sheet, "elevator stick back")["left flap"].lacks
    assert lines_of(sheet, "rudder stick right")["left flap"].must == STAY


def test_surfaces_that_no_gyro_steadies_must_not_move_in_the_hand() -> None:
    tree = surfaces("rudder", "elevator", "left flap")
    tree["parts"]["box"] = {"kind": "gyro", "ports": {"1": "servo"}, "senses": "yaw"}
    tree["devices"]["gyro"] = {"part": "box"}
    sheet = sheet_of(tree)
    assert {line.must for line in lines_of(sheet, "nose up").values()} == {STAY}
    found = lines_of(sheet, "nose right")
    assert {name for name, line in found.items() if line.must == STAY} == {"elevator", "left flap"}
    assert found["rudder"].must == "trailing edge left"
    before = next(group.before for group in sheet.groups if group.name == "hand motions")
    assert "common practice" in before[-1]
    assert "`steadied-in` of `rudder`." in before[-1]
    off = cards_of(sheet)["gyro off by hand"].lines
    assert [line.subjects[0] for line in off] == list(HAND_CARDS)
    assert {line.must for line in off} == {"no surface moves"}


def test_the_throttle_cards_give_the_learned_pulses_and_the_declared_one() -> None:
    """1500 us - 400 us * 100 % = 1100 us with the stick closed, 1900 us with it open."""
    sheet = sheet_of(JET)
    back = lines_of(sheet, "throttle stick back")["pulse at ecu"]
    assert back.must == "stop at 1100 us, or idle at 1200 us"
    assert "1100 us, taken for stop" in back.note
    forward = lines_of(sheet, "throttle stick forward")["pulse at ecu"]
    assert forward.must == "full at 1900 us"
    assert "1900 us" in forward.note


def test_a_controller_that_has_learned_nothing_leaves_the_pulse_to_be_written_in() -> None:
    tree = json.loads(json.dumps(JET))
    del tree["devices"]["ecu"]["learned"]
    line = lines_of(sheet_of(tree), "throttle stick back")["pulse at ecu"]
    assert (line.must, "`learned`" in line.lacks) == ("", True)
    engine = lines_of(sheet_of(tree), "transmitter off")["engine (ecu)"]
    assert (engine.must, "`learned`" in engine.lacks) == ("stop or idle", True)


def test_a_glider_has_no_engine_cards() -> None:
    sheet = sheet_of({**JET, "aircraft": {"name": "Wren", "propulsion": "none"}})
    assert not [name for name in cards_of(sheet) if "engine running" in name or "throttle" in name]
    assert not any("made safe" in caution for caution in sheet.cautions)


@pytest.mark.parametrize(
    ("propulsion", "says"),
    [
        ("turbine", "pump and engine controller unpowered"),
        ("electric-propeller", "motor pack disconnected or propeller off"),
        ("piston", "propeller off"),
        (None, "not declared: the `propulsion`"),
    ],
)
def test_the_engine_is_made_safe_before_anything_else(propulsion: str | None, says: str) -> None:
    declared = {"propulsion": propulsion} if propulsion else {}
    sheet = sheet_of(surfaces("rudder", aircraft={"name": "Wren", **declared}))
    assert says in sheet.cautions[0]
    assert any("out loud" in caution for caution in sheet.cautions)


def test_with_the_transmitter_off_each_channel_goes_where_it_is_declared_to() -> None:
    """-50 % of a channel that is not reversed is a shorter pulse: the trailing edge goes down."""
    found = lines_of(sheet_of(JET, CODES), "transmitter off")
    assert found["1 elevator (tail)"].must == "trailing edge down, 50 % of its travel"
    assert found["2 gear doors (door)"].must == "down"
    assert found["engine (ecu)"].must == "stop"
    time = found["time until ecu has acted"]
    assert time.must == "within 3 s from loss of signal (the UK code)"
    assert "1 s hold in `a` + 0.5 s in `ecu`" in time.note
    assert found["transmitter on again"].must == "control is back in a few seconds"


def test_without_a_time_from_a_code_the_time_is_written_in() -> None:
    sheet = sheet_of(JET)
    line = lines_of(sheet, "transmitter off")["time until ecu has acted"]
    assert (line.must, "code" in line.lacks) == ("", True)
    before = next(group.before for group in sheet.groups if group.name == "failsafe")
    assert any("What `uk` asks is not known" in text for text in before)


def test_codes_are_told_for_the_engine_at_hand() -> None:
    before = next(group.before for group in sheet_of(JET, CODES).groups if group.name == "failsafe")
    assert "The UK code: three seconds. Source: a code (read)." in before
    assert not any("motor off" in text for text in before)
    tree = {**JET, "aircraft": {"name": "Wren"}}
    before = next(
        group.before for group in sheet_of(tree, CODES).groups if group.name == "failsafe"
    )
    assert any("motor off" in text for text in before)


@pytest.mark.parametrize("action", ["hold", "50 %"])
def test_an_engine_that_is_declared_to_run_on_must_still_stop_or_idle(action: str) -> None:
    tree = json.loads(json.dumps(JET))
    tree["failsafe"]["a"]["channels"]["3"] = action
    line = lines_of(sheet_of(tree), "transmitter off")["engine (ecu)"]
    assert line.must == "stop or idle"
    assert "Put that right first" in line.note


def test_an_undeclared_failsafe_is_left_to_be_written_in() -> None:
    tree = json.loads(json.dumps(JET))
    del tree["failsafe"]["b"]["channels"]["2"]
    line = lines_of(sheet_of(tree), "transmitter off")["2 gear doors (door)"]
    assert (line.must, line.lacks) == ("", "what `b` does with channel 2")


def test_a_throttle_that_no_lead_brings_anywhere_must_stop_or_idle_whatever_is_declared() -> None:
    tree = json.loads(json.dumps(JET))
    del tree["leads"][1]
    for box in ("a", "b"):
        tree["failsafe"][box]["channels"]["3"] = "hold"
    found = lines_of(sheet_of(tree), "transmitter off")
    assert found["3 throttle"].must == "stop or idle"
    assert "no declared lead" in found["3 throttle"].note
    assert found["time until the engine has acted"].must == ""


def test_without_surfaces_every_card_still_has_something_to_write_in() -> None:
    tree = {
        "parts": {"box": {"kind": "gyro", "ports": {"1": "servo"}, "senses": "roll"}},
        "devices": {"gyro": {"part": "box"}},
    }
    cards = cards_of(sheet_of(tree))
    assert all(card.lines for card in cards.values())
    for name in CARD_NAMES:
        assert [line.subjects for line in cards[name].lines] == [("every surface",)]
        assert (cards[name].lines[0].must, cards[name].lines[0].lacks != "") == ("", True)


def test_each_receiver_alone_takes_only_its_own_devices_with_it() -> None:
    sheet = sheet_of(JET)
    alone = lines_of(sheet, "receiver b deaf")
    assert alone["2 gear doors (door)"].must == "down"
    assert alone["tail"].must == alone["ecu"].must == "follow the transmitter as before"
    tree = json.loads(json.dumps(JET))
    del tree["devices"]["b"], tree["failsafe"]["b"], tree["leads"][2]
    assert not [name for name in cards_of(sheet_of(tree)) if "deaf" in name]


def test_the_range_check_names_headings_and_a_figure_with_how_it_was_read() -> None:
    sheet = sheet_of(JET)
    for card in ("range check engine off", "range check engine running"):
        subjects = " ".join(lines_of(sheet, card))
        assert all(word in subjects for word in ("nose", "right side", "tail", "left side"))
    group = sheet.groups[-1]
    assert group.cards[-1].name == "range test mode left"
    paces = [source for source in group.sources if "30 paces" in source.text]
    assert {source.confidence for source in paces} == {"read second-hand", "common practice"}


def swapped(tree: Any) -> Any:
    """Return a description with left and right exchanged throughout."""
    text = json.dumps(tree).replace("left", "\0").replace("right", "left").replace("\0", "right")
    return json.loads(text)


PAIRED = ("aileron", "elevon", "taileron", "v-tail", "canard", "flap")
drawn = st.lists(
    st.tuples(st.sampled_from(["left", "right"]), st.sampled_from(PAIRED)).map(" ".join)
    | st.sampled_from(["rudder", "elevator", "nose wheel", "yaw nozzle", "aileron", "gear doors"]),
    min_size=1,
    max_size=6,
    unique=True,
)


@settings(max_examples=40, deadline=None)
@given(drawn, st.booleans())
def test_left_and_right_exchanged_exchange_the_words_of_the_cards(
    names: list[str], with_gyro: bool
) -> None:
    tree = surfaces(*names)
    if with_gyro:
        tree["parts"]["box"] = {
            "kind": "gyro",
            "ports": {"1": "servo"},
            "senses": ["roll", "pitch", "yaw"],
        }
        tree["devices"]["gyro"] = {"part": "box"}

    def words(sheet: CardSheet) -> dict[str, dict[str, tuple[str, str]]]:
        # Gathering and order of subjects are the file's; what each must do is compared.
        return {
            card: {name: (line.must, line.lacks) for name, line in lines_of(sheet, card).items()}
            for card in CARD_NAMES
            if card in cards_of(sheet)
        }

    plain, mirrored = words(sheet_of(tree)), words(sheet_of(swapped(tree)))
    assert {card: dict(sorted(found.items())) for card, found in mirrored.items()} == {
        card: dict(sorted(found.items())) for card, found in swapped_words(plain).items()
    }


def swapped_words(words: dict[str, Any]) -> dict[str, dict[str, tuple[str, str]]]:
    return {
        card: {name: tuple(values) for name, values in found.items()}
        for card, found in swapped(words).items()
    }


ODD_NAMES = ["rx one", "null: yes", 'say "hi"', "back\\slash", "a#b", "1", "ärger", "x" * 80]


@pytest.mark.parametrize("name", ODD_NAMES)
def test_the_line_to_add_reads_back_as_an_observation(name: str) -> None:
    tree = {
        "parts": {"rx": {"kind": "receiver", "ports": {"1": "servo"}}},
        "devices": {name: {"part": "rx"}, "other": {"part": "rx"}},
    }
    sheet = sheet_of(tree)
    entries = [card.observation for card in cards_of(sheet).values()]
    text = "holdshort: 1\nobservations:\n" + "".join(f"  {entry}\n" for entry in entries)
    unfilled = load(read_document(text.encode(), "t"), no_catalogue)
    assert len(unfilled.faults) == len(entries)
    dated = text.replace("YYYY-MM-DD", "2026-05-02")
    loaded = load(read_document(dated.encode(), "t"), no_catalogue)
    assert loaded.faults == ()
    found = [observation.card for _, observation in loaded.setup.observations]
    assert found == [card.name for card in cards_of(sheet).values()]
    assert f"receiver {name} deaf" in found
    assert {observation.seen for _, observation in loaded.setup.observations} == {"as it must"}


@settings(max_examples=100, deadline=None)
@given(st.text(min_size=1, max_size=30).filter(str.isprintable))
def test_any_name_reads_back_from_a_mapping_in_braces(name: str) -> None:
    entry = f"{{card: {flow_scalar(name)}, seen: nothing, on: 2026-05-02}}"
    text = f"holdshort: 1\nobservations: [{entry}]"
    loaded = load(read_document(text.encode(), "t"), no_catalogue)
    assert [observation.card for _, observation in loaded.setup.observations] == [name]
