"""The owner's own limits in the radio rules, and whether what is advised helps."""

import json
import re
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.analysis import Aircraft
from holdshort.api import Finding, Option, Rule
from holdshort.document import Document, read_document
from holdshort.setup import load
from holdshort_rules import frame_rates, pulses, throttle, travels


def read(tree: dict[str, Any], limits: dict[Option, str] | None = None) -> Aircraft:
    def nothing(name: str) -> Document:
        raise AssertionError(name)

    loaded = load(read_document(json.dumps(tree).encode(), "drawn.yaml"), nothing)
    assert loaded.faults == ()
    own = {(one.rule, one.name): one.kind.read(text) for one, text in (limits or {}).items()}
    return Aircraft(loaded.setup, own)


def found(rule: Rule, aircraft: Aircraft) -> list[Finding]:
    return [outcome for outcome in rule.check(aircraft) if isinstance(outcome, Finding)]


def one_servo(
    channel: dict[str, Any], servo: dict[str, Any], rate: str = "50 Hz"
) -> dict[str, Any]:
    return {
        "holdshort": 1,
        "parts": {
            "rx": {"kind": "receiver", "ports": {"1": "servo"}, "frame-rate": rate},
            "servo": {"kind": "servo", **servo},
        },
        "devices": {"rx": {"part": "rx"}, "tail": {"part": "servo"}},
        "leads": [{"from": "rx.1", "to": "tail"}],
        "radio": {
            "pulse": {"centre": "1520 us", "full": "400 us"},
            "channels": {"1": {"drives": "rudder", **channel}},
        },
    }


@pytest.mark.parametrize(("limit", "held"), [("760 us", 0), ("759 us", 1)])
def test_how_far_neutral_pulses_may_be_apart(limit: str, held: int) -> None:
    # 1520 - 760 = 760 us
    pulse = {"centre": "760 us", "min": "100 us", "max": "2500 us"}
    aircraft = read(one_servo({"travel": "100 %"}, {"pulse": pulse}), {pulses.NEUTRAL_GAP: limit})
    assert len(found(pulses.pulse_out_of_range, aircraft)) == held


def engine(closed: str, full: str) -> dict[str, Any]:
    return {
        "holdshort": 1,
        "parts": {
            "rx": {"kind": "receiver", "ports": {"1": "servo"}},
            "ecu": {"kind": "engine-controller", "pulse": {"min": "900 us", "max": "2100 us"}},
        },
        "devices": {
            "rx": {"part": "rx"},
            "jet": {"part": "ecu", "learned": {"stop": closed, "full": full}},
        },
        "leads": [{"from": "rx.1", "to": "jet.throttle"}],
        "radio": {
            "pulse": {"centre": "1520 us", "full": "400 us"},
            "sense": {"throttle": "longer"},
            "channels": {"1": {"drives": "throttle", "travel": "100 %"}},
        },
    }


@pytest.mark.parametrize(("limit", "held"), [("30 us", 0), ("29 us", 1)])
def test_how_far_the_throttle_may_go_past_what_was_learned(limit: str, held: int) -> None:
    # 1520 + 400 = 1920 us, learned 1890 us
    aircraft = read(engine("1120 us", "1890 us"), {pulses.PAST_LEARNED: limit})
    assert len(found(pulses.pulse_out_of_range, aircraft)) == held


@pytest.mark.parametrize(("limit", "held"), [("30 us", 0), ("29 us", 1)])
def test_how_far_the_closed_throttle_may_stay_from_stop(limit: str, held: int) -> None:
    # 1520 - 400 = 1120 us, learned 1090 us
    aircraft = read(engine("1090 us", "1920 us"), {throttle.ABOVE_STOP: limit})
    assert len(found(throttle.throttle_trim_not_stop, aircraft)) == held


@pytest.mark.parametrize(
    ("option", "limit", "held"),
    [
        (frame_rates.ANALOGUE_RATE, "70 Hz", 0),
        (frame_rates.ANALOGUE_RATE, "69 Hz", 1),
    ],
)
def test_the_rate_of_an_analogue_servo(option: Option, limit: str, held: int) -> None:
    tree = one_servo({"travel": "100 %"}, {"type": "analogue"}, "70 Hz")
    aircraft = read(tree, {option: limit})
    assert len(found(frame_rates.frame_rate_too_high, aircraft)) == held


@pytest.mark.parametrize(("limit", "held"), [("580 us", 0), ("581 us", 1)])
def test_how_long_an_output_must_be_quiet(limit: str, held: int) -> None:
    # 400 Hz: 2500 us; 1520 + 400 = 1920 us, which leaves 580 us
    tree = one_servo({"travel": "100 %"}, {"frame-rate": "560 Hz"}, "400 Hz")
    aircraft = read(tree, {frame_rates.PULSE_GAP: limit})
    assert len(found(frame_rates.frame_rate_too_high, aircraft)) == held


@pytest.mark.parametrize(("limit", "held"), [("5 %", 0), ("4.9 %", 1)])
def test_how_far_a_centre_may_be_trimmed(limit: str, held: int) -> None:
    aircraft = read(one_servo({"centre": "5 %"}, {}), {travels.MOST_TRIM: limit})
    assert len(found(travels.trim_used_as_centre, aircraft)) == held


@pytest.mark.parametrize(("limit", "held"), [("10 %", 0), ("9.9 %", 1)])
def test_how_far_two_sides_may_differ(limit: str, held: int) -> None:
    tree = one_servo({"travel": {"low": "90 %", "high": "100 %"}}, {})
    assert len(found(travels.travel_lopsided, read(tree, {travels.LOPSIDED: limit}))) == held


@pytest.mark.parametrize(("limit", "held"), [("10 %", 0), ("9.9 %", 1)])
def test_how_far_left_and_right_may_differ(limit: str, held: int) -> None:
    tree = one_servo({}, {})
    tree["radio"]["channels"] = {
        "1": {"drives": "left aileron", "travel": "90 %"},
        "2": {"drives": "right aileron", "travel": "100 %"},
    }
    assert len(found(travels.travel_lopsided, read(tree, {travels.PAIR: limit}))) == held


@settings(max_examples=40)
@given(st.integers(101, 200), st.integers(-40, 40), st.booleans(), st.sampled_from(["low", "high"]))
def test_the_travel_advised_is_in_order_and_one_per_cent_more_is_not(
    too_much: int, centre: int, is_reversed: bool, side: str
) -> None:
    """Servo from 1100 to 1940 us, so that 105 % is the most on either side at centre."""
    servo = {"pulse": {"min": "1100 us", "centre": "1520 us", "max": "1940 us"}}
    other = "high" if side == "low" else "low"

    def judged(share: int) -> list[Finding]:
        channel = {
            "centre": f"{centre} %",
            "reversed": is_reversed,
            "travel": {side: f"{share} %", other: "0 %"},
        }
        return found(pulses.pulse_out_of_range, read(one_servo(channel, servo)))

    # Either side leaves 420 us of 400 us at 100 % from the centre of 1520 us; a shifted centre eats
    # 4 us a per cent of it on one side and gives it on the other.
    outward = 1 if (side == "high") != is_reversed else -1
    end = 1520 + 4 * centre + outward * 4 * too_much
    off = 1520 + 4 * centre  # the other side has no travel: its end is the centre itself
    must_find = not (1100 <= end <= 1940 and 1100 <= off <= 1940)
    assert bool(judged(too_much)) == must_find
    for finding in judged(too_much):
        advised = re.search(rf"the {side} travel of channel 1 down to (\d+) %", finding.do)
        assert advised, finding.do
        most = int(advised.group(1))
        assert judged(most) == []
        assert judged(most + 1)
