"""Directions of surfaces against the published table, cross products and common practice.

Sources are named beside each check, with the confidence of the reference row.
"""

import json
from typing import get_args

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from holdshort.analysis import Aircraft
from holdshort.analysis.mounting import Axis, all_mountings
from holdshort.analysis.senses import (
    HAND_CARDS,
    STICK_CARDS,
    Verdict,
    actual_movements,
    expected_movements,
)
from holdshort.analysis.surface_motion import (
    STEERED_IN,
    MovingPart,
    following,
    moving_part,
)
from holdshort.document import Document, read_document
from holdshort.setup import Setup, load

# Part B of the project's reference of trade rules, transcribed: the table of what each surface does
# when the airframe is turned by hand. Confidence DERIVED there (work rate of the moment). "still"
# is its 0. The tailerons are its note on the V-tail column, the elevons its notes on ailerons.
TABLE = {
    "left aileron": ["up", "down", "still", "still", "still", "still"],
    "right aileron": ["down", "up", "still", "still", "still", "still"],
    "left elevon": ["up", "down", "down", "up", "still", "still"],
    "right elevon": ["down", "up", "down", "up", "still", "still"],
    "elevator": ["still", "still", "down", "up", "still", "still"],
    "canard": ["still", "still", "up", "down", "still", "still"],
    "rudder": ["still", "still", "still", "still", "left", "right"],
    "left v-tail": ["still", "still", "down", "up", "down", "up"],
    "right v-tail": ["still", "still", "down", "up", "up", "down"],
    "left inverted v-tail": ["still", "still", "down", "up", "up", "down"],
    "right inverted v-tail": ["still", "still", "down", "up", "down", "up"],
    "left taileron": ["up", "down", "down", "up", "still", "still"],
    "right taileron": ["down", "up", "down", "up", "still", "still"],
    "pitch nozzle": ["still", "still", "down", "up", "still", "still"],
    "yaw nozzle": ["still", "still", "still", "still", "left", "right"],
    # "Nosewheel: nose right, wheel front points left." (below the table)
    "nose wheel": ["still", "still", "still", "still", "left", "right"],
    # Rear edge of a steered wheel, as a rudder (the rule's own words).
    "tail wheel": ["still", "still", "still", "still", "left", "right"],
    # Not in the table: a flaperon is an aileron that is also a flap.
    "left flaperon": ["up", "down", "still", "still", "still", "still"],
    "right flaperon": ["down", "up", "still", "still", "still", "still"],
}
OTHER = {"up": "down", "down": "up", "left": "right", "right": "left", "still": "still"}
STEADIED = {
    "canard": ["pitch"],
    "pitch nozzle": ["pitch"],
    "yaw nozzle": ["yaw"],
    "nose wheel": ["yaw"],
    "tail wheel": ["yaw"],
}


def no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def setup_of(tree: dict[str, object]) -> Setup:
    loaded = load(read_document(json.dumps({"holdshort": 1, **tree}).encode(), "t"), no_catalogue)
    assert loaded.faults == ()
    return loaded.setup


def carrying(names: list[str]) -> Setup:
    """Return an aircraft with these surfaces, each with a servo, and a gyro of all axes."""
    devices: dict[str, object] = {f"servo {name}": {"part": "servo"} for name in names}
    surfaces: dict[str, object] = {}
    for name in names:
        surfaces[name] = {"servo": f"servo {name}"}
        if name in STEADIED:
            surfaces[name] = {"servo": f"servo {name}", "steadied-in": STEADIED[name]}
    return setup_of(
        {
            "parts": {
                "servo": {"kind": "servo"},
                "box": {"kind": "gyro", "ports": {"bus": "bus-in", "1..30": "servo"}},
            },
            "devices": {**devices, "gyro": {"part": "box"}},
            "surfaces": surfaces,
        }
    )


@pytest.mark.parametrize("name", TABLE)
def test_the_table_by_hand(name: str) -> None:
    (surface,) = expected_movements(carrying([name]))
    assert [movement.card for movement in surface.hand] == [
        "roll right", "roll left", "nose up", "nose down", "nose right", "nose left",
    ]  # fmt: skip
    assert [movement.way or "still" for movement in surface.hand] == TABLE[name]


@pytest.mark.parametrize("name", TABLE)
def test_a_stick_asks_for_the_opposite_of_what_stops_its_turn(name: str) -> None:
    # A stick makes the turn that the hand test damps: the table the other way round (derived).
    (surface,) = expected_movements(carrying([name]))
    turns = [STICK_CARDS[movement.card] for movement in surface.sticks]
    assert turns == list(HAND_CARDS.values())
    assert [movement.way or "still" for movement in surface.sticks] == [
        OTHER[way] for way in TABLE[name]
    ]


# Common practice, no source: what every builder checks at the field.
PRACTICE = [
    ("roll right", "left aileron", "trailing edge up"),  # left wing lifted by hand
    ("roll left", "right aileron", "trailing edge up"),  # right wing lifted by hand
    ("nose down", "elevator", "trailing edge up"),  # tail lifted by hand
    ("nose left", "rudder", "trailing edge right"),  # tail swung to the right by hand
    ("nose right", "nose wheel", "wheel points left"),
    ("nose up", "pitch nozzle", "nozzle exit down"),
    ("aileron stick right", "right aileron", "trailing edge up"),
    ("aileron stick right", "left aileron", "trailing edge down"),
    ("elevator stick back", "elevator", "trailing edge up"),
    ("elevator stick back", "canard", "trailing edge down"),
    ("rudder stick right", "rudder", "trailing edge right"),
    ("rudder stick right", "nose wheel", "wheel points right"),
]


@pytest.mark.parametrize(("card", "name", "words"), PRACTICE)
def test_what_every_builder_checks(card: str, name: str, words: str) -> None:
    (surface,) = expected_movements(carrying([name]))
    said = {movement.card: movement.words for movement in (*surface.hand, *surface.sticks)}
    assert said[card] == words


def every_part() -> list[tuple[str, MovingPart]]:
    found: list[tuple[str, MovingPart]] = []
    for function in STEERED_IN:
        for side in ("left", "right"):
            part = moving_part(function, side)
            assert part is not None
            found.append((function, part))
    return found


UNIT = {"roll": (1.0, 0.0, 0.0), "pitch": (0.0, 1.0, 0.0), "yaw": (0.0, 0.0, 1.0)}


@pytest.mark.parametrize("axis", get_args(Axis))
@pytest.mark.parametrize(("function", "part"), every_part())
def test_the_trailing_edge_goes_to_the_side_that_the_part_moves_to(
    function: str, part: MovingPart, axis: Axis
) -> None:
    """Against SciPy: turn the part a little and see to which of its sides it went."""
    small = 1e-6
    start = np.array(part.at)
    end = Rotation.from_rotvec(small * np.array(UNIT[axis])).apply(start)
    moved = float(np.dot(end - start, part.normal)) / small
    way = following(part, axis, 1)
    if abs(moved) < 1e-5:
        assert way is None
    else:
        assert way == (part.toward if moved > 0 else OTHER[part.toward])


@pytest.mark.parametrize("axis", get_args(Axis))
@pytest.mark.parametrize(("function", "part"), every_part())
def test_the_force_of_a_correction_takes_work_out_of_the_turn(
    function: str, part: MovingPart, axis: Axis
) -> None:
    """Trailing edge to one side pushes the part to the other: its moment must oppose the turn."""
    way = following(part, axis, 1)
    if way is None:
        return
    force = -np.array(part.normal) if way == part.toward else np.array(part.normal)
    assert float(np.dot(np.cross(part.at, force), UNIT[axis])) < 0


@settings(max_examples=100)
@given(
    st.sampled_from(every_part()),
    st.sampled_from(get_args(Axis)),
    st.tuples(*[st.floats(-3, 3, allow_nan=False)] * 3),
)
def test_a_panel_and_its_turn_seen_in_turned_axes_move_alike(
    named: tuple[str, MovingPart], axis: Axis, vector: tuple[float, float, float]
) -> None:
    """n.(w x r) does not depend on the axes it is written in (SciPy's rotations)."""
    _, part = named
    turned = Rotation.from_rotvec(vector)
    at, normal, turn = turned.apply([part.at, part.normal, UNIT[axis]])
    sign = float(np.dot(normal, np.cross(turn, at)))
    way = following(part, axis, 1)
    if way is None:
        assert abs(sign) < 1e-9
    else:
        assert (sign > 0) == (way == part.toward)


def flying(
    mounting: object = None, told: object = None, *, correction: str = "fixed"
) -> dict[str, object]:
    """Return a whole aircraft in which every direction is right where mounting and told agree."""
    level = {"plugs": "forward", "label": "up"}
    changed: dict[str, object] = {"correction": correction}
    if correction == "fixed":
        changed["normal-gives"] = {"roll": "shorter", "pitch": "shorter", "yaw": "shorter"}
    return {
        "parts": {
            "rx": {"kind": "receiver", "ports": {"bus": "bus-out"}},
            "box": {"kind": "gyro", "ports": {"bus": "bus-in", "1..4": "servo"}, **changed},
            "servo": {"kind": "servo"},
        },
        "devices": {
            "rx": {"part": "rx"},
            "gyro": {
                "part": "box",
                "mounting": mounting or level,
                "told": told or level,
                "directions": {"roll": "normal", "pitch": "normal", "yaw": "normal"},
                "taught": "2026-05-10",
            },
            **{name: {"part": "servo"} for name in ("a", "b", "c", "d")},
        },
        "leads": [
            {"from": "rx.bus", "to": "gyro.bus"},
            *({"from": f"gyro.{n}", "to": name} for n, name in enumerate("abcd", start=1)),
        ],
        "radio": {
            "sense": {"roll": "longer", "pitch": "longer", "yaw": "longer"},
            "channels": {
                "1": {"drives": "left aileron"},
                "2": {"drives": "right aileron"},
                "3": {"drives": "elevator"},
                "4": {"drives": "rudder"},
            },
        },
        "surfaces": {
            "left aileron": {"servo": "a", "longer-pulse": "down"},
            "right aileron": {"servo": "b", "longer-pulse": "up"},
            "elevator": {"servo": "c", "longer-pulse": "up"},
            "rudder": {"servo": "d", "longer-pulse": "right"},
        },
    }


def verdicts(tree: dict[str, object]) -> dict[tuple[str, str], Verdict]:
    found = actual_movements(Aircraft(setup_of(tree)))
    return {(m.surface, m.card): m.verdict for m in found if m.card in HAND_CARDS}


@pytest.mark.parametrize("correction", ["fixed", "learned"])
def test_plugs_aft_with_the_label_up_reverses_roll_and_pitch_alone(correction: str) -> None:
    # Common practice, no source; the mathematics is row 7 of the table of 24 mountings.
    found = verdicts(flying({"plugs": "aft", "label": "up"}, correction=correction))
    for (surface, card), verdict in found.items():
        assert verdict is (Verdict.RIGHT if surface == "rudder" else Verdict.REVERSED), card
    assert len(found) == 8  # two ailerons, elevator, rudder; both ways


BODY = {
    "forward": (1.0, 0.0, 0.0),
    "aft": (-1.0, 0.0, 0.0),
    "right": (0.0, 1.0, 0.0),
    "left": (0.0, -1.0, 0.0),
    "down": (0.0, 0.0, 1.0),
    "up": (0.0, 0.0, -1.0),
}
STEERS = {"left aileron": 0, "right aileron": 0, "elevator": 1, "rudder": 2}


@pytest.mark.parametrize("mounting", all_mountings(), ids=lambda m: f"{m.plugs}-{m.label}")
@pytest.mark.parametrize("correction", ["fixed", "learned"])
def test_what_a_box_in_each_of_the_24_ways_makes_of_each_turn(
    mounting: object, correction: str
) -> None:
    """Against SciPy: what a box that was told plugs forward and label up believes of each turn."""
    plugs, label = str(mounting.plugs), str(mounting.label)  # type: ignore[attr-defined]
    x, z = np.array(BODY[plugs]), -np.array(BODY[label])
    sits = Rotation.from_matrix(np.column_stack([x, np.cross(z, x), z]))
    found = verdicts(flying({"plugs": plugs, "label": label}, correction=correction))
    for card, (axis, sign) in HAND_CARDS.items():
        turn = sign * np.array(UNIT[axis])
        believed = sits.inv().apply(turn)
        for surface, own in STEERS.items():
            felt = round(float(believed[own]))
            wanted = round(float(turn[own]))
            if wanted == 0:
                crossed = found.get((surface, card)) is Verdict.CROSSED
                assert crossed == (felt != 0)
                continue
            right = {wanted: Verdict.RIGHT, -wanted: Verdict.REVERSED, 0: Verdict.CROSSED}[felt]
            assert found[surface, card] is right


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(all_mountings()),
    st.sampled_from(all_mountings()),
    st.sampled_from(all_mountings()),
    st.sampled_from(["fixed", "learned"]),
)
def test_turning_a_box_and_telling_it_so_changes_nothing(
    sits: object, told: object, turn: object, correction: str
) -> None:
    """Re-cutting the device axes by any rotation, for how it sits and for what it was told."""

    def faces(mounting: object) -> dict[str, str]:
        return {"plugs": str(mounting.plugs), "label": str(mounting.label)}  # type: ignore[attr-defined]

    def turned(mounting: object) -> dict[str, str]:
        matrix = np.array(mounting.matrix) @ np.array(turn.matrix)  # type: ignore[attr-defined]
        named = {tuple(vector): name for name, vector in BODY.items()}
        return {
            "plugs": named[tuple(matrix[:, 0].astype(float))],
            "label": named[tuple(-matrix[:, 2].astype(float) + 0.0)],
        }

    before = verdicts(flying(faces(sits), faces(told), correction=correction))
    after = verdicts(flying(turned(sits), turned(told), correction=correction))
    assert before == after
