"""What a voltage in a log is of on this aircraft: its limit, its place, what pairs with it."""

import json
from typing import Any

import pytest

from holdshort.analysis import Aircraft
from holdshort.analysis.alarm_levels import MARGIN, MARGIN_OPTION
from holdshort.analysis.logs.measured import measured_lows, measuring_point
from holdshort.analysis.logs.study import Pair
from holdshort.analysis.logs.subjects import plan_of, voltage_subjects
from holdshort.analysis.wiring import Node
from holdshort.document import read_document
from holdshort.setup import Quantity, load

BENCH: dict[str, Any] = {
    "holdshort": 1,
    "parts": {
        "pack": {
            "kind": "battery", "chemistry": "life", "cells": 2, "resistance": "30 mΩ",
            "capacity": "2000 mAh",
        },
        "reg": {"kind": "regulator", "type": "switching", "output": "5.0 V", "efficiency": "90 %"},
        "rx": {
            "kind": "receiver", "voltage": {"min": "3.5 V"}, "brown-out": "3.3 V",
            "ports": {"1..4": "servo", "supply": "supply"},
        },
        "servo": {"kind": "servo", "voltage": {"min": "4.8 V"}},
    },
    "devices": {
        "pack": {"part": "pack"}, "reg": {"part": "reg"}, "rx": {"part": "rx"},
        "ail": {"part": "servo"},
    },
    "leads": [
        {"from": "pack", "to": "reg.in", "wire": "16 AWG", "length": "20 cm"},
        {"from": "reg.out", "to": "rx.supply", "wire": "16 AWG", "length": "20 cm"},
        {"from": "rx.1", "to": "ail"},
    ],
}  # fmt: skip


def aircraft_with(columns: dict[str, Any], limits: Any = None, **devices: Any) -> Aircraft:
    setup = json.loads(json.dumps(BENCH))
    setup["log"] = {"time": "t", "columns": columns}
    for name, changes in devices.items():
        setup["devices"][name].update(changes)
    document = read_document(json.dumps(setup).encode(), "x.yaml")
    loaded = load(document, lambda _: document)
    assert not loaded.faults, loaded.faults
    return Aircraft(loaded.setup, limits)


def limit_of(at: str, limits: Any = None, **devices: Any) -> tuple[float, str]:
    column = {"measures": "voltage", "at": at}
    limit = voltage_subjects(aircraft_with({"V": column}, limits, **devices))["V"].limit
    assert limit is not None
    return limit.hard.voltage, limit.hard.words


def test_a_receiver_needs_its_brown_out_and_a_margin() -> None:
    voltage, words = limit_of("rx")
    assert voltage == pytest.approx(3.8)
    assert "brown-out at 3.3 V and a margin of 0.5 V" in words


def test_the_owner_may_want_more_margin() -> None:
    assert limit_of("rx", {MARGIN_OPTION: Quantity(1.0, "1.0 V")})[0] == pytest.approx(4.3)


def test_the_margin_is_that_of_the_rule() -> None:
    """What is 0.5 V here and in the rule `rail-below-device-minimum` must stay the same figure."""
    from holdshort_rules.voltages import MARGIN as OF_RULE  # noqa: PLC0415  - the rule pack

    assert (OF_RULE.rule, OF_RULE.name) == MARGIN_OPTION
    assert OF_RULE.kind.read(OF_RULE.default) == MARGIN
    assert OF_RULE.default == MARGIN.text


def test_a_servo_needs_its_rated_minimum() -> None:
    assert limit_of("ail")[0] == pytest.approx(4.8)


def test_a_pack_is_held_to_its_alarm_or_to_where_it_is_landed() -> None:
    """A LiFe cell is landed at 2.8 V under load: row C5, common practice."""
    voltage, words = limit_of("pack")
    assert voltage == pytest.approx(5.6)
    assert words == "where a 2-cell life pack is to be landed"
    assert limit_of("pack", pack={"alarm": "6.2 V"}) == (6.2, "the alarm of `pack`")


def test_a_limit_in_the_file_comes_first() -> None:
    columns = {"V": {"measures": "voltage", "at": "rx", "below": "4.6 V"}}
    limit = voltage_subjects(aircraft_with(columns))["V"].limit
    assert limit is not None
    assert (limit.voltage, limit.need) == (4.6, None)


DRAWS = {"rest": "0.1 A", "cruise": "1 A", "peak": "2 A", "start": "0.1 A"}


def test_far_under_what_the_network_gives_is_a_dip_too() -> None:
    """Of 5.0 V and 2 A, 20 cm of 16 AWG (13 mOhm a metre, out and back) lose about 0.01 V."""
    setup = json.loads(json.dumps(BENCH))
    setup["parts"]["rx"]["draws"] = DRAWS
    del setup["devices"]["ail"], setup["leads"][2]
    setup["parts"]["reg"]["dropout"] = "0.3 V"
    setup["log"] = {"columns": {"V": {"measures": "voltage", "at": "rx"}}}
    document = read_document(json.dumps(setup).encode(), "x.yaml")
    subject = voltage_subjects(Aircraft(load(document, lambda _: document).setup))["V"]
    assert subject.computed.lowest is not None
    assert subject.computed.lowest.state == "known"
    assert subject.limit is not None
    assert subject.limit.voltage == pytest.approx(4.69, abs=0.005)
    assert subject.limit.hard.voltage == pytest.approx(3.8)


def test_what_the_network_does_not_know_is_no_limit() -> None:
    """What the receiver draws is not declared: its lowest voltage could be anything below."""
    columns = {"V": {"measures": "voltage", "at": "rx"}}
    subject = voltage_subjects(aircraft_with(columns))["V"]
    assert subject.computed.lowest is not None
    assert subject.computed.lowest.state == "incomplete"
    assert subject.limit is not None
    assert subject.limit.need is None


@pytest.mark.parametrize(
    ("written", "node"),
    [
        ("pack", Node("pack", "rail")),
        ("reg", Node("reg", "out")),
        ("reg.in", Node("reg", "in")),
        ("rx", Node("rx", "rail")),
        ("rx.3", Node("rx", "rail")),
    ],
)
def test_where_a_voltage_is_measured(written: str, node: Node) -> None:
    found = measuring_point(aircraft_with({}).setup, written)
    assert found is not None
    assert found[1] == node


@pytest.mark.parametrize("written", ["nix", "rx.99", "nix.1", ""])
def test_no_such_place(written: str) -> None:
    assert measuring_point(aircraft_with({}).setup, written) is None


def test_a_voltage_pairs_with_the_source_on_its_own_side_of_a_regulator() -> None:
    columns = {
        "Pack V": {"measures": "voltage", "at": "pack"},
        "In V": {"measures": "voltage", "at": "reg.in"},
        "Rx V": {"measures": "voltage", "at": "rx"},
        "Pack A": {"measures": "current", "of": "pack"},
        "Reg A": {"measures": "current", "of": "reg"},
        "Ail A": {"measures": "current", "of": "ail"},
    }
    plan = plan_of(aircraft_with(columns), curves=False)
    assert set(plan.fits) == {
        Pair("Pack V", "Pack A"),
        Pair("In V", "Pack A"),
        Pair("Rx V", "Reg A"),
    }
    assert set(plan.energies) == {Pair("Pack V", "Pack A")}


def lows(sign_offs: list[dict[str, Any]], results: list[dict[str, Any]]) -> dict[str, Any]:
    setup = {**BENCH, "sign-offs": sign_offs, "log": {"results": results}}
    document = read_document(json.dumps(setup).encode(), "x.yaml")
    loaded = load(document, lambda _: document)
    assert not loaded.faults, loaded.faults
    return {low.at: low for low in measured_lows(loaded.setup)}


def signed(day: str, test: str = "engine run", **figures: str) -> dict[str, Any]:
    named = {name.replace("_", " "): text for name, text in figures.items()}
    return {"test": test, "on": day, "by": "A. B.", "outcome": "passed", "figures": named}


def test_the_newest_figure_of_each_place_counts() -> None:
    found = lows(
        [signed("2026-05-01", lowest_voltage_at_rx="4.0 V", lowest_voltage_at_ail="5.0 V")],
        [{"on": "2026-05-02", "figures": {"lowest voltage at rx": "6.0 V"}}],
    )
    assert {at: low.voltage for at, low in found.items()} == {"rx": 6.0, "ail": 5.0}


def test_on_one_day_the_lowest_counts() -> None:
    day = [{"on": "2026-05-02", "figures": {"lowest voltage at rx": f"{v} V"}} for v in (6, 4, 5)]
    assert lows([], day)["rx"].voltage == 4.0


def test_a_figure_that_is_no_voltage_is_not_passed_over() -> None:
    day = [
        {"on": "2026-05-02", "figures": {"lowest voltage at rx": text}} for text in ("4 V", "low")
    ]
    assert lows([], day)["rx"].written == "low"
