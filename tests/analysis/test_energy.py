"""What a pack gives: reference figures of coulomb counting, shares of several packs, gaps."""

import json
import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdshort.analysis import Aircraft
from holdshort.analysis.energy import PackEnergy
from holdshort.document import Document, read_document
from holdshort.setup import load

HOUR = 3600.0
BOX = {
    "kind": "distribution",
    "ports": {"in-1..2": {"does": "supply", "isolated": True, "drop": "0 V"}, "out": "feed"},
}


def _no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def aircraft(**sections: Any) -> Aircraft:
    document = read_document(json.dumps({"holdshort": 1, **sections}).encode(), "drawn.yaml")
    loaded = load(document, _no_catalogue)
    assert loaded.faults == ()
    return Aircraft(loaded.setup)


def one_pack(capacity: str = "5000 mAh", current: str = "3 A") -> PackEnergy:
    flown = aircraft(
        parts={
            "pack": _pack(capacity),
            "pump": {"kind": "load", "draws": {"cruise": current}},
        },
        devices={"pack": {"part": "pack"}, "pump": {"part": "pump"}},
        leads=[{"from": "pack", "to": "pump", "wire": "12 AWG", "length": "20 cm"}],
    )
    return flown.energy(flown.setup.devices["pack"])


def two_packs(first: str, second: str, current: str = "3 A") -> tuple[PackEnergy, PackEnergy]:
    wire = {"wire": "12 AWG", "length": "20 cm"}
    flown = aircraft(
        parts={
            "first": _pack(first),
            "second": _pack(second),
            "box": BOX,
            "pump": {"kind": "load", "draws": {"cruise": current}},
        },
        devices={name: {"part": name} for name in ("first", "second", "box", "pump")},
        leads=[
            {"from": "first", "to": "box.in-1", **wire},
            {"from": "second", "to": "box.in-2", **wire},
            {"from": "box.out", "to": "pump", **wire},
        ],
    )
    return flown.energy(flown.setup.devices["first"]), flown.energy(flown.setup.devices["second"])


def _pack(capacity: str, cells: int = 2) -> dict[str, Any]:
    return {
        "kind": "battery", "chemistry": "lipo", "cells": cells, "capacity": capacity,
        "resistance": "10 mΩ",
    }  # fmt: skip


def test_use_of_a_flight_and_time_to_the_reserve() -> None:
    """Row battery_reserve_fraction (derived: SoC = 1 - integral(I dt) / C).

    5 Ah, 3 A, 12 min, floor 0.2: 0.6 Ah used, 0.88 left, 80 min to the floor.
    """
    energy = one_pack()
    assert energy.used(12 * 60) == pytest.approx(0.6 * HOUR)
    assert energy.remaining(12 * 60) == pytest.approx(0.88)
    assert energy.lasts(0.2) == pytest.approx(80 * 60)


def test_two_packs_and_one_of_them_lost() -> None:
    """Row battery_parallel_reserve_single_failure (derived: coulomb counting).

    Two of 2.5 Ah, 3 A, floor 0.2: 80 min on both, 40 min on one.
    """
    for energy in two_packs("2500 mAh", "2500 mAh"):
        assert energy.share == pytest.approx(0.5)
        assert energy.lasts(0.2) == pytest.approx(80 * 60, rel=1e-6)
        assert energy.lasts_alone(0.2) == pytest.approx(40 * 60, rel=1e-6)


def test_charge_goes_by_the_mean_current_not_by_its_rms_value() -> None:
    """Row stat_rms_heating (derived): 8 A for a quarter of the time has a mean of 2 A, RMS 4 A.

    In an hour that is 2 Ah: 0.6 of 5 Ah is left, and not 0.2.
    """
    mean = 8.0 * 0.25
    assert one_pack(current=f"{mean:g} A").remaining(HOUR) == pytest.approx(0.6)


def test_a_pack_held_off_by_a_stronger_one_gives_nothing() -> None:
    wire = {"wire": "12 AWG", "length": "20 cm"}
    flown = aircraft(
        parts={
            "main": _pack("2500 mAh", cells=3),
            "stand-by": _pack("2500 mAh", cells=2),
            "box": BOX,
            "pump": {"kind": "load", "draws": {"cruise": "3 A"}},
        },
        devices={name: {"part": name} for name in ("main", "stand-by", "box", "pump")},
        leads=[
            {"from": "main", "to": "box.in-1", **wire},
            {"from": "stand-by", "to": "box.in-2", **wire},
            {"from": "box.out", "to": "pump", **wire},
        ],
    )
    idle = flown.energy(flown.setup.devices["stand-by"])
    assert (idle.current, idle.share) == (0.0, 0.0)
    assert idle.lasts(0.2) == math.inf
    assert idle.lasts_alone(0.2) == pytest.approx(40 * 60)
    assert flown.energy(flown.setup.devices["main"]).share == 1.0


def test_what_is_not_known_is_named_and_gives_no_figure() -> None:
    flown = aircraft(
        parts={
            "pack": {"kind": "battery", "chemistry": "lipo", "cells": 2},
            "pump": {"kind": "load", "draws": {"start": "1 A"}},
        },
        devices={"pack": {"part": "pack"}, "pump": {"part": "pump"}},
        leads=[{"from": "pack", "to": "pump", "wire": "12 AWG", "length": "20 cm"}],
    )
    energy = flown.energy(flown.setup.devices["pack"])
    assert energy.capacity is None
    assert energy.lasts(0.2) is None
    assert energy.first_gap is not None
    assert "draws (cruise)" in energy.first_gap.text


def test_a_collapse_in_steady_flight_gives_no_figure() -> None:
    energy = one_pack(current="900 A")  # 7.66 V behind 10 mOhm and the lead: under 766 A
    assert energy.current is None
    assert energy.used(60) is None
    assert energy.lasts(0.2) is None


@given(st.integers(1000, 9000), st.integers(1000, 9000), st.integers(1, 200), st.floats(0.0, 0.9))
def test_shares_make_the_whole_and_a_pack_alone_never_lasts_longer(
    first: int, second: int, tenths: int, reserve: float
) -> None:
    packs = two_packs(f"{first} mAh", f"{second} mAh", f"{tenths / 10:g} A")
    assert sum(energy.current or 0.0 for energy in packs) == pytest.approx(tenths / 10, rel=1e-6)
    assert sum(energy.share or 0.0 for energy in packs) == pytest.approx(1.0)
    for energy in packs:
        both, alone = energy.lasts(reserve), energy.lasts_alone(reserve)
        assert both is not None
        assert alone is not None
        assert alone <= both * (1 + 1e-9)
