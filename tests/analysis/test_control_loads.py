"""Loads of surfaces, throws and torques of servos: what must hold of them, whatever the figures."""

import json
import math
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from holdshort.analysis import Aircraft, Need
from holdshort.analysis.control_loads import SurfaceLoads
from holdshort.analysis.facts_document import facts
from holdshort.analysis.linkage import LinkGeometry, advantages, arm_turn, surface_turn, travel
from holdshort.analysis.servo_torque import ServoTorque, servo_torque, torque_at
from holdshort.api import Finding
from holdshort.document import Document, read_document
from holdshort.setup import load
from holdshort.setup.parts import Servo
from holdshort_rules.loads import RULES

SIZE = {"chord": "100 mm", "span": "500 mm", "of-chord": "400 mm"}
LINK = {"arm": "10 mm", "horn": "20 mm"}


def read(tree: dict[str, Any]) -> Aircraft:
    def nothing(name: str) -> Document:
        raise AssertionError(name)

    loaded = load(read_document(json.dumps(tree).encode(), "drawn.yaml"), nothing)
    assert loaded.faults == (), [fault.message for fault in loaded.faults]
    return Aircraft(loaded.setup)


def plane(surface: dict[str, Any] | None = None, **changes: Any) -> dict[str, Any]:
    """Return an elevator on one servo behind a stiff pack of two cells."""
    elevator = {"servo": "elev", "deflection": "20 deg", "loads": SIZE, "linkage": LINK}
    rating = {"at": "6.0 V", "torque": "1 N.m", "stall-current": "1 mA"}
    tree: dict[str, Any] = {
        "holdshort": 1,
        "aircraft": {"name": "Reed", "top-speed": "40 m/s"},
        "parts": {
            "pack": {"kind": "battery", "chemistry": "lipo", "cells": 2, "resistance": "0 mohm"},
            "rx": {
                "kind": "receiver", "ports": {"1..4": "servo", "supply": "supply"},
                "draws": {"rest": "0 A", "cruise": "0 A", "peak": "0 A"},
            },
            "servo": {
                "kind": "servo", "idle-current": "0 A", "cruise-current": "0 A",
                "ratings": [rating],
            },
        },
        "devices": {
            "pack": {"part": "pack"}, "rx": {"part": "rx"}, "elev": {"part": "servo"},
            "twin": {"part": "servo"},
        },
        "leads": [
            {"from": "pack", "to": "rx.supply", "wire": "1 mm2", "length": "10 cm"},
            {"from": "rx.1", "to": "elev", "wire": "1 mm2", "length": "10 cm"},
            {"from": "rx.2", "to": "twin", "wire": "1 mm2", "length": "10 cm"},
        ],
        "surfaces": {"elevator": {**elevator, **(surface or {})}},
        **changes,
    }  # fmt: skip
    return tree


def study(tree: dict[str, Any]) -> SurfaceLoads:
    (found,) = read(tree).control_loads.surfaces
    return found


def needed(surface: dict[str, Any] | None = None, **changes: Any) -> float:
    worst = study(plane(surface, **changes)).worst
    assert worst is not None
    return worst[1].torque


def aircraft(speed: str, **more: Any) -> dict[str, Any]:
    return {"name": "Reed", "top-speed": speed, **more}


# The load


def test_a_surface_worked_out_by_hand() -> None:
    """980 Pa x 0.5 m x 0.01 m2 x 0.943608 x 0.349066 = 1.61396 N m; see the elevator of the cases.

    sin(arm) = 2 sin(20 deg), so the arm is at 43.16 deg and the ratio is 0.388129: 0.62643 N m.
    """
    found = study(plane())
    worst = found.worst
    assert worst is not None
    assert worst[1].moment == pytest.approx(1.61396, rel=1e-4)
    assert math.degrees(worst[1].arm) == pytest.approx(43.16, abs=0.01)
    assert worst[1].torque == pytest.approx(0.62643, rel=1e-4)
    assert found.margin == pytest.approx(1.0 / 0.62643, rel=1e-4)


@settings(max_examples=30, deadline=None)
@given(st.integers(10, 120), st.sampled_from([2, 3, 5]))
def test_the_load_goes_with_the_square_of_the_speed(speed: int, factor: int) -> None:
    slow = needed(aircraft=aircraft(f"{speed} m/s"))
    fast = needed(aircraft=aircraft(f"{speed * factor} m/s"))
    assert fast == pytest.approx(slow * factor**2, rel=1e-9)


def test_two_alike_halve_it_and_a_share_is_taken_as_declared() -> None:
    one = needed()
    assert needed({"servo": ["elev", "twin"]}) == pytest.approx(one / 2.0, rel=1e-12)
    uneven = {"servo": ["elev", "twin"], "loads": {**SIZE, "share": "70 %"}}
    assert needed(uneven) == pytest.approx(one * 0.7, rel=1e-12)
    less_than_even = {"servo": ["elev", "twin"], "loads": {**SIZE, "share": "20 %"}}
    assert needed(less_than_even) == pytest.approx(one / 2.0, rel=1e-12), "one takes half at least"


@settings(max_examples=40, deadline=None)
@given(st.floats(0.006, 0.02), st.floats(0.012, 0.03), st.floats(1.01, 2.0), st.floats(0.02, 0.6))
def test_a_longer_horn_never_asks_more_of_the_servo(
    arm: float, horn: float, longer: float, deflection: float
) -> None:
    """Square, with a long pushrod: ratio = (a/h) cos(arm) / cos(surface), and cos(arm) falls."""
    short = travel(LinkGeometry(arm, horn), deflection, "surface")
    long = travel(LinkGeometry(arm, horn * longer), deflection, "surface")
    assume(not short.dead_centre and not long.dead_centre)
    for one, other in zip(short.positions, long.positions, strict=True):
        assert other.ratio <= one.ratio * (1.0 + 1e-12)


@pytest.mark.parametrize(
    "size",
    [
        {"chord": "10 cm", "span": "0.5 m", "of-chord": "40 cm"},
        {"chord": "0.1 m", "span": "500 mm", "of-chord": "0.4 m"},
        {"chord": "3.937007874 in", "span": "1.640419948 ft", "of-chord": "15.748031496 in"},
    ],
)
def test_units_change_nothing(size: dict[str, str]) -> None:
    speed = f"{40 * 3.6} km/h"
    assert needed({"loads": size}, aircraft=aircraft(speed)) == pytest.approx(needed(), rel=1e-8)


lengths = st.sampled_from(["0.001 mm", "9 mm", "20 mm", "45 mm", "1 m", "999999999 m"])
angles = st.sampled_from(["0 deg", "0.001 deg", "18 deg", "45 deg", "90 deg", "400 deg"])
signed = angles | angles.map(lambda angle: f"-{angle}")
ways = st.sampled_from(["up", "down", "left", "right"])
surfaces = st.fixed_dictionaries(
    {"servo": st.sampled_from(["elev", ["elev", "twin"], ["twin", "elev", "elev"]])},
    optional={
        "deflection": angles | st.dictionaries(ways | st.just("each-way"), angles),
        "longer-pulse": ways,
        "mirrored": st.just("elev"),
        "loads": st.fixed_dictionaries(
            {},
            optional={
                "chord": lengths, "span": lengths, "of-chord": lengths, "alpha": angles,
                "speed": st.sampled_from(["0.001 m/s", "40 m/s", "999999999 m/s"]),
                "share": st.sampled_from(["0 %", "60 %", "900 %"]),
                "balance": st.sampled_from(["0 %", "20 %"]),
            },
        ),
        "linkage": st.fixed_dictionaries(
            {},
            optional={
                "arm": lengths, "horn": lengths, "pushrod": lengths, "arm-angle": signed,
                "horn-angle": signed, "pushes": ways, "swing": angles,
            },
        ),
    },
)  # fmt: skip
names = st.sampled_from(
    ["elevator", "rudder", "left flap", "left taileron", "nose wheel", "airbrake"]
)


@settings(max_examples=60, deadline=None)
@given(st.dictionaries(names, surfaces, max_size=3), st.booleans())
def test_whatever_is_declared_every_face_of_it_can_be_shown(
    declared: dict[str, Any], pulses: bool
) -> None:
    tree = with_throw() if pulses else plane()
    tree["surfaces"] = declared
    found = read(tree)
    for one in found.control_loads.surfaces:
        assert 0.0 < one.share <= 1.0
        for loaded in one.loaded:
            assert all(math.isfinite(figure) for point in loaded.points for figure in point)
    document, _ = facts(found)
    json.dumps(document, allow_nan=False)
    for rule in RULES:
        for outcome in rule.check(found):
            assert found.setup.span(outcome.at).line >= 1
            if isinstance(outcome, Finding):
                assert "nan" not in outcome.message + outcome.do
                assert "inf " not in outcome.message + outcome.do


def test_an_angle_of_attack_loads_the_surface_at_neutral_too() -> None:
    (found,) = study(plane({"loads": {**SIZE, "alpha": "5 deg"}})).loaded
    # 4.9 N m x b1 of -0.565347 x 0.0872665
    assert found.points[0].moment == pytest.approx(0.24175, rel=1e-4)


def test_colder_and_lower_fields_load_more() -> None:
    """The gas law: 288.15 K over 268.15 K at sea level; 1.11166 kg/m3 at 1000 m (ISO 2533)."""
    base = needed()
    cold = needed(aircraft=aircraft("40 m/s", field={"temperature": "-5 degC"}))
    assert cold / base == pytest.approx(288.15 / 268.15, rel=1e-9)
    high = needed(aircraft=aircraft("40 m/s", field={"height": "1000 m"}))
    assert high / base == pytest.approx(1.11166 / 1.225, rel=1e-4)


def test_what_was_taken_is_said_and_goes_when_it_is_declared() -> None:
    assumed = " ".join(study(plane()).assumptions)
    for words in ("`aircraft.field`", "`loads.alpha`", "`linkage.pushrod`", "`linkage.arm-angle`"):
        assert words in assumed
    declared = plane(
        {
            "loads": {**SIZE, "alpha": "1 deg"},
            "linkage": {**LINK, "arm-angle": "0 deg", "horn-angle": "0 deg", "pushrod": "9 cm"},
        },
        aircraft=aircraft("40 m/s", field={"height": "50 m", "temperature": "10 degC"}),
    )
    left = study(declared).assumptions
    assert len(left) == 2, "what the theory leaves out stays said: attached flow, no friction"
    assert any("attached flow" in text for text in left)
    assert any("friction" in text for text in left)
    half = plane(aircraft=aircraft("40 m/s", field={"height": "50 m"}))
    assert any("standard temperature (taken)" in text for text in study(half).assumptions)


@pytest.mark.parametrize(
    "field",
    [{"height": "30000 m"}, {"height": "-2500 m"}, {"temperature": "-300 degC"}],
    ids=["above the atmosphere", "below it", "below absolute zero"],
)
def test_a_field_that_cannot_be(field: dict[str, str]) -> None:
    found = study(plane(aircraft=aircraft("40 m/s", field=field)))
    assert found.worst is None
    assert any("field" in need.text for need in found.needs)


def test_the_flap_waits_for_its_own_speed() -> None:
    flap = plane()
    flap["surfaces"] = {"flap": flap["surfaces"]["elevator"]}
    assert any("loads.speed" in gap for gap in study(flap).load_gaps)
    flap["surfaces"]["flap"] = {
        **flap["surfaces"]["flap"], "loads": {**SIZE, "speed": "20 m/s"},
    }  # fmt: skip
    found = study(flap)
    # half as fast as the elevator: a quarter of the load
    assert found.worst is not None
    assert found.worst[1].torque == pytest.approx(needed() / 4.0, rel=1e-9)


def test_a_nose_wheel_with_a_linkage_has_no_load_and_is_shown_without_one() -> None:
    tree = plane()
    tree["surfaces"] = {"nose wheel": {"servo": "elev", "deflection": "30 deg", "linkage": LINK}}
    found = study(tree)
    assert (found.hinged, found.loaded, found.needs, found.load_gaps) == (False, (), (), ())
    assert found.travels


def test_a_surface_of_unknown_servos_says_which() -> None:
    tree = plane({"servo": ["elev", "twin"]})
    del tree["parts"]["servo"]["ratings"]
    found = study(tree)
    assert found.weakest is None
    assert found.margin is None
    assert [need.text for need in found.torque_needs] == [
        "the torque of servo `servo` at a voltage"
    ]


@pytest.mark.parametrize("speed", ["45 m/s", "50 m/s", "55 m/s"])
def test_the_horn_that_is_told_is_the_shortest_that_serves(speed: str) -> None:
    """Written into the file it serves, half a millimetre less does not."""
    tree = plane(aircraft=aircraft(speed))
    weak = read(tree)
    (before,) = weak.control_loads.surfaces
    told = weak.control_loads.longer_horn(before, 1.5, math.radians(15.0))
    assert before.margin is not None
    assert before.margin < 1.5
    assert told is not None
    assert told.link is not None
    for less, serves in ((0.0, True), (0.5e-3, False)):
        horn = f"{(told.link.horn - less) * 1e3:.6f} mm"
        found = study(plane({"linkage": {**LINK, "horn": horn}}, aircraft=aircraft(speed)))
        assert found.margin is not None
        assert (found.margin >= 1.5 - 1e-9) is serves
        assert not found.stopped


def test_a_horn_that_takes_the_arm_too_near_its_dead_centre_is_no_remedy() -> None:
    """sin(arm) = h / 10 mm x sin(20 deg): with 28.24 mm 15 deg are left, and less with more.

    At 59.5 m/s 1.5 times the load is 1 N m with some 28.3 mm (tried on a grid of NumPy).
    """
    weak = read(plane(aircraft=aircraft("59.5 m/s")))
    (before,) = weak.control_loads.surfaces
    told = weak.control_loads.longer_horn(before, 1.5, 0.0)
    assert told is not None
    assert told.link is not None
    assert told.link.horn > 28.24e-3
    assert weak.control_loads.longer_horn(before, 1.5, math.radians(15.0)) is None


# How far it goes


def throws_of(surface: dict[str, Any], **changes: Any) -> list[tuple[str, float, bool | None]]:
    found = study(plane(surface, **changes))
    return [
        (link.throw.way, round(math.degrees(link.throw.turn), 6), link.pushing)
        for link in found.travels
    ]


def test_a_square_linkage_needs_no_word_on_which_way_pushes() -> None:
    assert throws_of({"deflection": {"up": "20 deg", "down": "12 deg"}}) == [
        ("up", 20.0, None),
        ("down", 12.0, None),
    ]
    found = study(plane({"deflection": {"up": "20 deg", "down": "12 deg"}}))
    assert not any("pushes" in text for text in found.assumptions)


def test_both_ways_round_are_tried_where_it_is_not_said() -> None:
    leaning = {**LINK, "arm-angle": "10 deg"}
    up = {"deflection": {"up": "20 deg"}}
    assert throws_of({**up, "linkage": leaning}) == [("up", 20.0, None), ("up", 20.0, None)]
    assert any("pushes" in text for text in study(plane({**up, "linkage": leaning})).assumptions)
    assert throws_of({**up, "linkage": {**leaning, "pushes": "down"}}) == [("up", 20.0, False)]
    assert throws_of({"deflection": "20 deg", "linkage": {**leaning, "pushes": "down"}}) == [
        ("down", 20.0, True),
        ("up", 20.0, False),
    ]
    # a word for another axis is no word
    assert throws_of({**up, "linkage": {**leaning, "pushes": "left"}})[0][2] is None


PULSE = {"centre": "1500 us", "full": "400 us"}
RADIO = {"pulse": PULSE, "channels": {"1": {"drives": "elevator", "travel": "100 %"}}}


def with_throw(**radio: Any) -> dict[str, Any]:
    tree = plane({"deflection": None, "longer-pulse": "up"}, radio={**RADIO, **radio})
    tree["parts"]["servo"]["throw"] = {"pulse": "400 us", "angle": "25 deg"}
    return tree


def turns(tree: dict[str, Any]) -> list[tuple[str, float]]:
    return [
        (link.throw.way, round(math.degrees(link.throw.turn), 6)) for link in study(tree).travels
    ]


def test_the_travel_of_the_channel_gives_the_throw_of_the_arm() -> None:
    assert turns(with_throw()) == [("up", 25.0), ("down", 25.0)]
    lopsided = {"1": {"drives": "elevator", "travel": {"low": "40 %", "high": "80 %"}}}
    assert turns(with_throw(channels=lopsided)) == [("up", 20.0), ("down", 10.0)]
    back = {
        "1": {"drives": "elevator", "reversed": True, "travel": {"low": "40 %", "high": "80 %"}}
    }
    assert turns(with_throw(channels=back)) == [("up", 10.0), ("down", 20.0)]
    # a trimmed centre is where neutral is: it takes nothing from either side
    trimmed = {"1": {"drives": "elevator", "centre": "10 %", "travel": "100 %"}}
    assert turns(with_throw(channels=trimmed)) == [("up", 25.0), ("down", 25.0)]


def test_the_widest_mode_counts() -> None:
    modes = {"fast": {"travel": {"1": "60 %"}}, "slow": {"travel": {"1": "120 %"}}}
    assert turns(with_throw(modes=modes)) == [("up", 30.0), ("down", 30.0)]


def test_a_mirrored_servo_goes_the_other_way() -> None:
    tree = with_throw(
        channels={"1": {"drives": "elevator", "travel": {"low": "0 %", "high": "80 %"}}}
    )
    tree["surfaces"]["elevator"]["mirrored"] = "elev"
    assert turns(tree) == [("down", 20.0)]


def test_a_measured_swing_counts_before_the_travel_and_a_deflection_before_both() -> None:
    tree = with_throw()
    tree["surfaces"]["elevator"]["linkage"] = {**LINK, "swing": "33 deg"}
    assert turns(tree) == [("each way", 33.0)]
    tree["surfaces"]["elevator"]["deflection"] = {"down": "11 deg"}
    assert turns(tree) == [("down", 11.0)]


def test_without_any_of_these_the_throw_is_missing() -> None:
    found = study(plane({"deflection": None}))
    assert found.gaps == ("`deflection`",)
    assert found.travels == ()


# The linkage


def test_where_a_linkage_stops() -> None:
    """Arm 10, horn 20 mm, square, long: sin(30 deg) = 1/2, so the arm is in line at 30 deg."""
    end = travel(LinkGeometry(0.01, 0.02), math.radians(40.0), "surface")
    assert end.dead_centre == "arm"
    assert end.stop == pytest.approx(math.radians(30.0), abs=1e-5)
    horn = travel(LinkGeometry(0.02, 0.01), -math.radians(40.0), "arm")
    assert horn.dead_centre == "horn"
    assert horn.stop == pytest.approx(-math.radians(30.0), abs=1e-5)


@settings(max_examples=200, deadline=None)
@given(
    st.floats(1e-4, 1.0), st.floats(1e-4, 1.0), st.floats(-7.0, 7.0), st.floats(-7.0, 7.0),
    st.none() | st.floats(1e-4, 10.0), st.floats(-9.0, 9.0), st.sampled_from(["arm", "surface"]),
)  # fmt: skip
def test_whatever_is_declared_a_travel_ends_with_figures(
    arm: float, horn: float, lean: float, back: float, rod: float | None, end: float, driven: Any
) -> None:
    found = travel(LinkGeometry(arm, horn, lean, back, rod), end, driven)
    assert bool(found.dead_centre) == (found.stop is not None)
    for position in found.positions:
        assert all(math.isfinite(figure) for figure in position)
        assert max(position.arm_off, position.horn_off) < math.pi / 2.0
        assert position.ratio > 0.0
    if found.positions:
        assert all(math.isfinite(share) for share in advantages(found.positions))


def test_turns_that_no_linkage_makes() -> None:
    assert surface_turn(LinkGeometry(0.02, 0.01), math.radians(31.0)) is None
    assert arm_turn(LinkGeometry(0.01, 0.02), math.radians(31.0)) is None
    # a short pushrod that is pulled straight: 10 mm of rod, both radii 30 mm
    assert arm_turn(LinkGeometry(0.03, 0.01, 0.0, 0.0, 0.005), 2.5) is None


# The torque


def rated(*pairs: tuple[float, float]) -> Servo:
    ratings = [{"at": f"{volts:.6f} V", "torque": f"{torque:.6f} N.m"} for volts, torque in pairs]
    return Servo.read({"kind": "servo", "ratings": ratings})


@pytest.mark.parametrize(
    ("volts", "torque", "basis"),
    [
        (3.0, 1.0, "below"),  # half of 6 V, half of 2 N m
        (6.0, 2.0, "stated"),
        (6.7, 2.5, "between"),
        (7.4, 3.0, "stated"),
        (8.4, 3.0, "above"),
        (0.0, 0.0, "below"),
    ],
)
def test_torque_at_a_voltage(volts: float, torque: float, basis: str) -> None:
    found = torque_at(rated((7.4, 3.0), (6.0, 2.0)), volts)
    assert found is not None
    assert found.newton_metres == pytest.approx(torque, abs=1e-9)
    assert found.basis == basis


def test_the_weaker_of_two_figures_at_one_voltage_counts() -> None:
    found = torque_at(rated((6.0, 2.0), (6.0, 1.5)), 6.0)
    assert found is not None
    assert found.newton_metres == pytest.approx(1.5)


def test_without_a_torque_there_is_none() -> None:
    assert torque_at(Servo.read({"kind": "servo"}), 6.0) is None


@settings(max_examples=100, deadline=None)
@given(
    st.lists(st.floats(3.0, 12.0), min_size=1, max_size=4, unique_by=lambda volts: round(volts, 3)),
    st.lists(st.floats(0.1, 9.0), min_size=4, max_size=4),
    st.floats(0.0, 14.0),
    st.floats(0.0, 14.0),
)
def test_less_voltage_never_gives_more_torque(
    volts: list[float], torques: list[float], one: float, other: float
) -> None:
    """Of a sheet whose torque does not fall as the voltage grows."""
    part = rated(*zip(sorted(volts), sorted(torques), strict=False))
    low, high = torque_at(part, min(one, other)), torque_at(part, max(one, other))
    assert low is not None
    assert high is not None
    assert low.newton_metres <= high.newton_metres + 1e-9


def test_the_lowest_voltage_in_the_air_counts() -> None:
    """Two cells at 20 % of their charge: 2 x 3.73 V (common practice), in the hard manoeuvre."""
    found = study(plane()).weakest
    assert found is not None
    assert found.volts == pytest.approx(7.46, abs=0.01)
    assert found.case.name in {"hard-manoeuvre", "stalled-pair"}
    assert found.needs == ()


def test_a_start_of_the_engine_is_on_the_ground() -> None:
    """A start draws 20 A through 1 ohm of pack: in the air nothing of that is left."""
    tree = plane()
    tree["parts"]["pack"]["resistance"] = "100 mohm"
    tree["parts"]["rx"]["draws"] = {"rest": "0 A", "cruise": "0 A", "peak": "0 A", "start": "20 A"}
    found = study(tree).weakest
    assert found is not None
    assert found.volts > 7.4


def test_a_servo_without_a_supply_says_so() -> None:
    tree = plane()
    tree["leads"] = tree["leads"][:1]
    aircraft_ = read(tree)
    found = servo_torque(aircraft_.power, aircraft_.setup.devices["elev"])
    assert isinstance(found, tuple)
    assert not isinstance(found, ServoTorque)
    assert [need.text for need in found] == ["a lead that brings power to `elev`"]


def test_a_collapse_leaves_no_torque_to_speak_of() -> None:
    """20 A at 7.46 V through 1 ohm: no operating point."""
    tree = plane()
    tree["parts"]["pack"]["resistance"] = "1000 mohm"
    tree["parts"]["rx"]["draws"] = {"rest": "0 A", "cruise": "0 A", "peak": "60 A"}
    found = study(tree)
    assert found.weakest is None
    assert any("collapse" in need.text for need in found.torque_needs)


# The facts


def test_facts_of_a_known_load() -> None:
    tree, origins = facts(read(plane()))
    found = tree["computed"]["loads"]["elevator"]
    assert found["needs_newton_metres"] == pytest.approx(0.62643, rel=1e-4)
    assert found["has_newton_metres"] == pytest.approx(1.0)
    assert found["has_over_needs_share"] == pytest.approx(1.0 / 0.62643, rel=1e-4)
    assert found["throws"][0]["arm_degrees"] == pytest.approx(43.16, abs=0.01)
    assert "has_newton_metres_at_most" not in found
    place = origins["$['computed']['loads']['elevator']"]
    assert place.path == ("surfaces", "elevator")


def test_facts_that_are_missing_are_named_and_absent() -> None:
    tree = plane({"loads": None, "linkage": None})
    tree["parts"]["rx"]["draws"] = None
    document, _ = facts(read(tree))
    found = document["computed"]["loads"]["elevator"]
    gaps = {gap["path"]: gap["needs"] for gap in document["missing"] if "'loads'" in gap["path"]}
    base = "$['computed']['loads']['elevator']"
    for key in ("throws", "needs_newton_metres", "has_newton_metres", "has_over_needs_share"):
        assert key not in found
        assert gaps[f"{base}['{key}']"]
    assert "`loads.chord` of `elevator`" in gaps[f"{base}['needs_newton_metres']"]
    assert found["has_newton_metres_at_most"] == pytest.approx(1.0)


def test_needs_are_needs() -> None:
    found = study(plane(aircraft={"name": "Reed"}))
    assert all(isinstance(need, Need) for need in found.needs)
    assert [need.text for need in found.needs] == ["the `top-speed` of the aircraft"]
