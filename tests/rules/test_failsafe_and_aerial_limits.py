"""The owner's own limits in the failsafe and aerial rules, and mistakes of form beside them."""

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.analysis import Aircraft
from holdshort.api import Clean, Finding, NotChecked, Option, Outcome, Rule
from holdshort.document import Document, read_document
from holdshort.setup import load
from holdshort_rules import aerials, engine_failsafe, failsafe_values


def read(
    tree: dict[str, Any], limits: dict[Option, str] | None = None, *, mistakes: bool = False
) -> Aircraft:
    def nothing(name: str) -> Document:
        raise AssertionError(name)

    loaded = load(read_document(json.dumps(tree).encode(), "drawn.yaml"), nothing)
    assert bool(loaded.faults) == mistakes
    own = {(one.rule, one.name): one.kind.read(text) for one, text in (limits or {}).items()}
    return Aircraft(loaded.setup, own)


def outcomes(rule: Rule, aircraft: Aircraft) -> list[Outcome]:
    return list(rule.check(aircraft))


def findings(rule: Rule, aircraft: Aircraft) -> list[Finding]:
    return [one for one in outcomes(rule, aircraft) if isinstance(one, Finding)]


def pair(**front: Any) -> dict[str, Any]:
    return {
        "holdshort": 1,
        "parts": {"rx": {"kind": "receiver", "ports": {"1..4": "servo"}}},
        "devices": {
            "front": {"part": "rx", **front},
            "rear": {"part": "rx", "at": {"station": "0 mm", "side": "0 mm", "height": "0 mm"}},
        },
    }


@pytest.mark.parametrize(("limit", "count"), [("150 mm", 0), ("151 mm", 1)])
def test_the_distance_between_receivers_is_the_owners(limit: str, count: int) -> None:
    tree = pair(at={"station": "150 mm", "side": "0 mm", "height": "0 mm"})
    aircraft = read(tree, {aerials.APART: limit})
    assert len(findings(aerials.receivers_close, aircraft)) == count


@pytest.mark.parametrize(("limit", "count"), [("40 mm", 0), ("41 mm", 1)])
def test_the_clearance_of_an_aerial_is_the_owners(limit: str, count: int) -> None:
    tree = pair(aerials=[{"points": "up", "near": {"metal": "40 mm"}}])
    aircraft = read(tree, {aerials.CLEARANCE: limit})
    assert len(findings(aerials.aerial_near_carbon, aircraft)) == count


@pytest.mark.parametrize(("limit", "count"), [("45 deg", 0), ("46 deg", 1)])
def test_the_angle_between_aerials_is_the_owners(limit: str, count: int) -> None:
    tree = pair(aerials=[{"points": "up"}, {"points": ["up", "left"]}])
    aircraft = read(tree, {aerials.LEAST_ANGLE: limit})
    assert len(findings(aerials.aerials_parallel, aircraft)) == count


@pytest.mark.parametrize(("limit", "count"), [("30 %", 0), ("29 %", 1)])
def test_what_is_a_gentle_turn_is_the_owners(limit: str, count: int) -> None:
    tree = pair()
    tree["radio"] = {"channels": {"1": {"drives": "rudder"}}}
    tree["failsafe"] = {"front": {"channels": {"1": "30 %"}}}
    aircraft = read(tree, {failsafe_values.GENTLE: limit})
    assert len(findings(failsafe_values.surface_failsafe_unsafe, aircraft)) == count


def turbine(after: str, delay: str, follows: list[str]) -> dict[str, Any]:
    return {
        "holdshort": 1,
        "aircraft": {"name": "bench", "propulsion": "turbine"},
        "follows": follows,
        "parts": {
            "rx": {"kind": "receiver", "ports": {"1..4": "servo"}},
            "ecu": {"kind": "engine-controller", "delay": delay},
        },
        "devices": {"front": {"part": "rx"}, "engine": {"part": "ecu"}},
        "leads": [{"from": "front.3", "to": "engine.throttle"}],
        "radio": {"channels": {"3": {"drives": "throttle"}}},
        "failsafe": {"front": {"after": after, "channels": {"3": "stop"}}},
    }


@settings(max_examples=60)
@given(st.integers(0, 40), st.integers(0, 40))
def test_late_is_the_sum_over_the_limit_by_each_clock(after: int, delay: int) -> None:
    def late(code: str) -> bool:
        tree = turbine(f"{after / 10} s", f"{delay / 10} s", [code])
        return bool(findings(engine_failsafe.engine_stops_too_late, read(tree)))

    assert late("uk") == (after + delay > 30)
    assert late("canada") == (after + delay > 20)
    assert late("us") == (delay > 20)


def test_a_box_with_a_mistake_of_form_is_not_taken_for_a_quick_one() -> None:
    tree = turbine("1.0 s", "1.0 s", ["uk"])
    tree["failsafe"]["engine"] = {"after": "2.5"}  # no unit
    rule = engine_failsafe.engine_stops_too_late
    (found,) = outcomes(rule, read(tree, mistakes=True))
    assert isinstance(found, NotChecked)
    assert "mistake of form" in found.needs
    tree["failsafe"]["engine"] = {"after": "1.5 s"}
    assert [type(one) for one in outcomes(rule, read(tree))] == [Clean]


def test_a_receiver_whose_failsafe_has_a_mistake_of_form_is_not_compared() -> None:
    tree = pair()
    tree["radio"] = {"channels": {"1": {"drives": "rudder"}}}
    tree["failsafe"] = {
        "front": {"channels": {"1": "neutral"}},
        "rear": {"channels": {"1": "netural"}},
    }
    (found,) = outcomes(failsafe_values.receivers_disagree, read(tree, mistakes=True))
    assert isinstance(found, NotChecked)
    assert "`rear`" in found.needs
