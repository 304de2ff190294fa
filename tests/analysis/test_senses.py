"""Links from stick or turn to trailing edge: drawn reversals, mirror images, boxes in a row."""

import json
import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from holdshort.analysis import Aircraft
from holdshort.analysis.mounting import tilt_angle
from holdshort.analysis.senses import (
    CARD_NAMES,
    ActualMovement,
    Verdict,
    actual_movements,
    expected_movements,
)
from holdshort.document import Document, read_document
from holdshort.setup import Setup, load


def no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def setup_of(tree: dict[str, Any]) -> Setup:
    loaded = load(read_document(json.dumps({"holdshort": 1, **tree}).encode(), "t"), no_catalogue)
    assert loaded.faults == (), loaded.faults
    return loaded.setup


def moved(tree: dict[str, Any]) -> dict[tuple[str, str], ActualMovement]:
    found = actual_movements(Aircraft(setup_of(tree)))
    return {(movement.servo, movement.card): movement for movement in found}


def elevator(**changes: bool) -> dict[str, Any]:
    """Return a receiver, a gyro, a hub behind it and one elevator; each change turns one link.

    As it stands: stick back makes a longer pulse, which moves the trailing edge up.
    """
    pulse = {True: "shorter", False: "longer"}
    flag = {True: "reversed", False: "normal"}
    correction: dict[str, Any] = {"correction": "learned"}
    if changes.get("fixed"):
        correction = {
            "correction": "fixed",
            "normal-gives": {"pitch": pulse[not changes.get("gives")]},
        }
    return {
        "parts": {
            "rx": {"kind": "receiver", "ports": {"3": "servo"}},
            "box": {
                "kind": "gyro",
                "senses": "pitch",
                "ports": {"in": "pulse-in", "out": "servo"},
                **correction,
            },
            "amplifier": {"kind": "hub", "ports": {"in": "pulse-in", "out": "servo"}},
            "servo": {"kind": "servo"},
        },
        "devices": {
            "rx": {"part": "rx", "ports": {"3": {"reversed": bool(changes.get("receiver"))}}},
            "gyro": {
                "part": "box",
                "ports": {"out": {"reversed": bool(changes.get("output"))}},
                "mounting": {"plugs": "aft" if changes.get("turned") else "forward", "label": "up"},
                "told": {"plugs": "forward", "label": "up"},
                "directions": {"pitch": flag[bool(changes.get("flag"))]},
                "taught": "2026-05-10",
            },
            "hub": {
                "part": "amplifier",
                "ports": {"out": {"reversed": bool(changes.get("behind"))}},
            },
            "elev": {"part": "servo"},
        },
        "leads": [
            {"from": "rx.3", "to": "gyro.in"},
            {"from": "gyro.out", "to": "hub.in"},
            {"from": "hub.out", "to": "elev"},
        ],
        "radio": {
            "sense": {"pitch": pulse[bool(changes.get("sense"))]},
            "channels": {"3": {"drives": "elevator", "reversed": bool(changes.get("channel"))}},
        },
        "surfaces": {
            "elevator": {
                "servo": "elev",
                "longer-pulse": "down" if changes.get("linkage") else "up",
                **({"mirrored": "elev"} if changes.get("mirrored") else {}),
            }
        },
    }


STICK = ("sense", "channel", "receiver", "output", "behind", "mirrored", "linkage")
FIXED = ("turned", "gives", "flag", "output", "behind", "mirrored", "linkage")
LEARNED = (*STICK, "turned", "flag")
NAMES = sorted({*STICK, *FIXED, *LEARNED})
drawn = st.fixed_dictionaries({name: st.booleans() for name in NAMES})


def parity(changes: dict[str, bool], names: tuple[str, ...]) -> Verdict:
    odd = sum(changes[name] for name in names) % 2
    return Verdict.REVERSED if odd else Verdict.RIGHT


@settings(max_examples=80, deadline=None)
@given(drawn, st.booleans())
def test_each_reversed_link_turns_the_sense_round_once(
    changes: dict[str, bool], fixed: bool
) -> None:
    """Reversals cancel in pairs (common practice); which links count differs by kind of gyro."""
    found = moved(elevator(fixed=fixed, **changes))
    stick = parity(changes, STICK)
    for card in ("elevator stick back", "elevator stick forward"):
        assert found["elev", card].verdict is stick
    hand = parity(changes, FIXED if fixed else LEARNED)
    for card in ("nose up", "nose down"):
        assert found["elev", card].verdict is hand
        assert found["elev", card].gyro == "gyro"


def test_the_way_of_a_movement_names_the_links_that_made_it() -> None:
    found = moved(elevator(channel=True, behind=True))
    texts = [link.text for link in found["elev", "elevator stick back"].because]
    assert "channel 3 is reversed" in texts
    assert "`hub.out` is reversed" in texts
    assert found["elev", "elevator stick back"].words == "trailing edge up"


def swapped(tree: Any) -> Any:
    """Return a description with left and right exchanged throughout."""
    text = json.dumps(tree).replace("left", "\0").replace("right", "left").replace("\0", "right")
    return json.loads(text)


MIRROR = {
    "roll right": "roll left",
    "roll left": "roll right",
    "nose right": "nose left",
    "nose left": "nose right",
    "aileron stick right": "aileron stick left",
    "aileron stick left": "aileron stick right",
    "rudder stick right": "rudder stick left",
    "rudder stick left": "rudder stick right",
}
PAIRED = ("aileron", "elevon", "taileron", "flaperon", "v-tail", "inverted v-tail", "canard")
surfaces_drawn = st.lists(
    st.tuples(st.sampled_from(PAIRED), st.sampled_from(["left", "right"])).map(
        lambda pair: f"{pair[1]} {pair[0]}"
    )
    | st.sampled_from(["rudder", "elevator", "nose wheel", "tail wheel", "yaw nozzle"]),
    min_size=1,
    max_size=6,
    unique=True,
)


def expectations(tree: dict[str, Any]) -> dict[tuple[str, str], str]:
    return {
        (surface.name, movement.card): movement.words
        for surface in expected_movements(setup_of(tree))
        for movement in (*surface.hand, *surface.sticks)
    }


@settings(max_examples=60, deadline=None)
@given(surfaces_drawn, st.lists(st.sampled_from(["roll", "pitch", "yaw"]), unique=True))
def test_an_aircraft_seen_in_a_mirror_moves_in_the_mirror(
    names: list[str], senses: list[str]
) -> None:
    box = {"kind": "gyro", "ports": {"1": "servo"}, "senses": senses}
    tree = {
        "parts": {"servo": {"kind": "servo"}, **({"box": box} if senses else {})},
        "devices": {
            **{f"servo {name}": {"part": "servo"} for name in names},
            **({"gyro": {"part": "box"}} if senses else {}),
        },
        "surfaces": {name: {"servo": f"servo {name}"} for name in names},
    }
    seen = expectations(tree)
    mirrored = expectations(swapped(tree))
    assert mirrored == {
        (swapped([name])[0], MIRROR.get(card, card)): swapped([words])[0]
        for (name, card), words in seen.items()
    }
    assert seen


def test_what_no_stick_steers_has_no_card() -> None:
    tree = {
        "parts": {"servo": {"kind": "servo"}},
        "devices": {"a": {"part": "servo"}},
        "surfaces": {"gear doors": {"servo": "a"}, "left flap": {"servo": "a"}},
    }
    assert expected_movements(setup_of(tree)) == ()


def test_a_flap_that_is_steadied_in_roll_moves_as_an_aileron() -> None:
    tree = {
        "parts": {"servo": {"kind": "servo"}},
        "devices": {"a": {"part": "servo"}},
        "surfaces": {"left flap": {"servo": "a", "steadied-in": "roll"}},
    }
    found = expectations(tree)
    assert found["left flap", "roll right"] == "trailing edge up"
    assert found["left flap", "nose up"] == "stays still"


@pytest.mark.parametrize(
    ("surface", "declared", "needs"),
    [
        ("aileron", {}, "`side`"),
        ("v-tail", {}, "`side`"),
        ("nozzle", {}, "pitch or in yaw"),
        ("steering", {}, "`tail wheel`"),
    ],
)
def test_what_a_surface_does_not_say_is_asked_for(
    surface: str, declared: dict[str, str], needs: str
) -> None:
    tree = {
        "parts": {"servo": {"kind": "servo"}},
        "devices": {"a": {"part": "servo"}},
        "surfaces": {surface: {"servo": "a", **declared}},
    }
    (found,) = expected_movements(setup_of(tree))
    assert found.hand == found.sticks == ()
    assert needs in found.needs[0].text


@pytest.mark.parametrize(
    ("declared", "card", "words"),
    [
        ({"longer-pulse": "up"}, "elevator stick back", "nozzle exit up"),
        ({"longer-pulse": "left"}, "rudder stick right", "nozzle exit right"),
        ({"steadied-in": "yaw"}, "nose right", "nozzle exit left"),
    ],
)
def test_a_nozzle_says_by_its_ways_or_axes_in_which_plane_it_moves(
    declared: dict[str, str], card: str, words: str
) -> None:
    tree = {
        "parts": {"servo": {"kind": "servo"}},
        "devices": {"a": {"part": "servo"}},
        "surfaces": {"vectored nozzle": {"servo": "a", **declared}},
    }
    assert expectations(tree)["vectored nozzle", card] == words


def elevons(share: str, left: str, right: str) -> dict[str, Any]:
    """Return two elevons that a gyro of fixed correction mixes from plain channels."""
    return {
        "parts": {
            "rx": {"kind": "receiver", "ports": {"bus": "bus-out"}},
            "box": {
                "kind": "gyro",
                "senses": ["roll", "pitch"],
                "correction": "fixed",
                "normal-gives": {"roll": "shorter", "pitch": "shorter"},
                "ports": {"bus": "bus-in", "1..2": "servo"},
            },
            "servo": {"kind": "servo"},
        },
        "devices": {
            "rx": {"part": "rx"},
            "gyro": {
                "part": "box",
                "mounting": {"plugs": "forward", "label": "up"},
                "told": {"plugs": "forward", "label": "up"},
                "directions": {"roll": "normal", "pitch": "normal"},
                "mixes": [
                    {"from": "aileron", "to": ["left elevon", "right elevon"], "share": "50 %"},
                    {"from": "elevator", "to": "left elevon", "share": share},
                    {"from": "elevator", "to": "right elevon", "share": "50 %"},
                ],
            },
            "a": {"part": "servo"},
            "b": {"part": "servo"},
        },
        "leads": [
            {"from": "rx.bus", "to": "gyro.bus"},
            {"from": "gyro.1", "to": "a"},
            {"from": "gyro.2", "to": "b"},
        ],
        "radio": {
            "sense": {"roll": "longer", "pitch": "longer"},
            "channels": {"1": {"drives": "aileron"}, "2": {"drives": "elevator"}},
        },
        "surfaces": {
            "left elevon": {"servo": "a", "longer-pulse": left},
            "right elevon": {"servo": "b", "longer-pulse": right},
        },
    }


def test_elevons_mixed_in_the_gyro_follow_stick_and_turn_in_both_axes() -> None:
    # Roll right: left down (longer), right up (longer). Nose up: both up, so shorter on the left.
    found = moved(elevons("-50 %", "down", "up"))
    assert len(found) == 16  # two servos, two sticks and two turns, both ways
    assert {movement.verdict for movement in found.values()} == {Verdict.RIGHT}
    assert found["a", "elevator stick back"].channel == 2
    assert found["b", "aileron stick right"].channel == 1


def test_elevons_mixed_with_the_wrong_sign_are_wrong_on_that_side_and_axis_alone() -> None:
    found = moved(elevons("50 %", "down", "up"))
    wrong = {key for key, movement in found.items() if movement.verdict is Verdict.REVERSED}
    assert wrong == {
        ("a", "elevator stick back"),
        ("a", "elevator stick forward"),
        ("a", "nose up"),
        ("a", "nose down"),
    }


def test_a_servo_that_is_not_behind_the_gyro_does_not_move_by_hand() -> None:
    tree = elevator(fixed=True)
    tree["leads"] = [{"from": "rx.3", "to": "elev"}]
    found = moved(tree)
    assert found["elev", "nose up"].verdict is Verdict.NOTHING
    assert found["elev", "elevator stick back"].verdict is Verdict.RIGHT


def test_a_mix_beside_its_own_work_takes_a_card_from_a_surface() -> None:
    tree = elevator()
    tree["radio"]["mixes"] = [{"from": "aileron", "to": "elevator", "share": "5 %"}]
    (surface,) = expected_movements(setup_of(tree))
    cards = {movement.card for movement in surface.sticks}
    assert not cards & {"aileron stick right", "aileron stick left"}
    assert {"rudder stick right", "elevator stick back"} <= cards


def test_the_cards_are_six_turns_and_six_stick_movements() -> None:
    assert len(CARD_NAMES) == len(set(CARD_NAMES)) == 12


@settings(max_examples=200)
@given(st.tuples(*[st.floats(-math.pi, math.pi)] * 3))
def test_three_tilts_make_the_turn_that_scipy_makes(tilts: tuple[float, float, float]) -> None:
    roll, pitch, yaw = tilts
    expected = Rotation.from_euler("ZYX", [yaw, pitch, roll]).magnitude()
    assert tilt_angle(roll, pitch, yaw) == pytest.approx(expected, abs=1e-9)
