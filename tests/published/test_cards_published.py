"""Bench cards against the transcribed table of hand motions, and against the rule for sticks.

The expected words are those of the reference of trade rules, Part B: the table of what each surface
does when the airframe is turned by hand (confidence there: derived, from the work rate of the
correcting moment). A stick that asks for a turn wants the opposite (G25 to G27 read backwards; the
same confidence). Written out by hand for four layouts; what is not listed stays still.
"""

import json

import pytest

from holdshort.analysis import Aircraft
from holdshort.analysis.bench_cards import STAY
from holdshort.analysis.cards import card_sheet
from holdshort.document import Document, read_document
from holdshort.fixlist.cards_text import render_text
from holdshort.setup import load

LAYOUTS: dict[str, dict[str, dict[str, str]]] = {
    "plain jet": {
        "left aileron": {}, "right aileron": {}, "elevator": {}, "rudder": {},
        "nose wheel": {"steadied-in": "yaw"}, "left flap": {}, "airbrake": {},
    },
    "v-tail": {"left aileron": {}, "right aileron": {}, "left v-tail": {}, "right v-tail": {}},
    "elevons": {"left elevon": {}, "right elevon": {}, "rudder": {}},
    "canard": {"left aileron": {}, "canard": {"steadied-in": "pitch"}, "rudder": {}},
}  # fmt: skip

UP, DOWN = "trailing edge up", "trailing edge down"
LEFT, RIGHT = "trailing edge left", "trailing edge right"

TABLE: dict[str, dict[str, dict[str, str]]] = {
    "plain jet": {
        "roll right": {"left aileron": UP, "right aileron": DOWN},
        "roll left": {"left aileron": DOWN, "right aileron": UP},
        "nose up": {"elevator": DOWN},
        "nose down": {"elevator": UP},
        "nose right": {"rudder": LEFT, "nose wheel": "wheel points left"},
        "nose left": {"rudder": RIGHT, "nose wheel": "wheel points right"},
        "aileron stick right": {"left aileron": DOWN, "right aileron": UP},
        "aileron stick left": {"left aileron": UP, "right aileron": DOWN},
        "elevator stick back": {"elevator": UP},
        "elevator stick forward": {"elevator": DOWN},
        "rudder stick right": {"rudder": RIGHT, "nose wheel": "wheel points right"},
        "rudder stick left": {"rudder": LEFT, "nose wheel": "wheel points left"},
    },
    "v-tail": {
        "roll right": {"left aileron": UP, "right aileron": DOWN},
        "nose up": {"left v-tail": DOWN, "right v-tail": DOWN},
        "nose right": {"left v-tail": DOWN, "right v-tail": UP},
        "nose left": {"left v-tail": UP, "right v-tail": DOWN},
        "elevator stick back": {"left v-tail": UP, "right v-tail": UP},
        "rudder stick right": {"left v-tail": UP, "right v-tail": DOWN},
    },
    "elevons": {
        "roll right": {"left elevon": UP, "right elevon": DOWN},
        "nose up": {"left elevon": DOWN, "right elevon": DOWN},
        "nose down": {"left elevon": UP, "right elevon": UP},
        "aileron stick left": {"left elevon": UP, "right elevon": DOWN},
        "elevator stick back": {"left elevon": UP, "right elevon": UP},
    },
    "canard": {
        "nose up": {"canard": UP},
        "nose down": {"canard": DOWN},
        "elevator stick back": {"canard": DOWN},
        "elevator stick forward": {"canard": UP},
        "nose right": {"rudder": LEFT},
    },
}


def no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def aircraft_of(layout: str) -> Aircraft:
    surfaces = LAYOUTS[layout]
    tree = {
        "holdshort": 1,
        "parts": {
            "servo": {"kind": "servo"},
            "box": {"kind": "gyro", "ports": {"1": "servo"}, "senses": ["roll", "pitch", "yaw"]},
        },
        "devices": {
            "gyro": {"part": "box"},
            **{f"servo {name}": {"part": "servo"} for name in surfaces},
        },
        "surfaces": {name: {"servo": f"servo {name}", **more} for name, more in surfaces.items()},
    }
    loaded = load(read_document(json.dumps(tree).encode(), "t"), no_catalogue)
    assert loaded.faults == ()
    return Aircraft(loaded.setup)


ROWS = [(layout, card) for layout, cards in TABLE.items() for card in cards]


@pytest.mark.parametrize(("layout", "card"), ROWS)
def test_a_card_says_what_the_table_says(layout: str, card: str) -> None:
    sheet = card_sheet(aircraft_of(layout))
    found = next(each for group in sheet.groups for each in group.cards if each.name == card)
    said = {name: line.must for line in found.lines for name in line.subjects}
    assert said == dict.fromkeys(LAYOUTS[layout], STAY) | TABLE[layout][card]


@pytest.mark.parametrize(
    ("layout", "lines"),
    [
        ("plain jet", ["Roll right", "  [ ] left aileron: trailing edge up"]),
        ("v-tail", ["Nose right", "  [ ] left v-tail: trailing edge down"]),
        ("elevons", ["Elevator stick back", "  [ ] left elevon: trailing edge up"]),
        ("canard", ["Nose up", "  [ ] canard: trailing edge up"]),
    ],
)
def test_the_words_stand_on_the_printed_card(layout: str, lines: list[str]) -> None:
    text = render_text(card_sheet(aircraft_of(layout)))
    title, line = lines
    card = text.split(f"\n{title}\n")[1].split("\n\n")[0]
    assert line in card.splitlines()
