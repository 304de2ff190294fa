"""Alarm levels against the trade's cell voltages, and the time they leave against SciPy.

Rows C2, C5, C7 and C9 of the project's collection of trade rules: PRACTICE, no published source.
"""

import json
from typing import Any

import pytest
from scipy.integrate import solve_ivp

from holdshort.analysis import Aircraft
from holdshort.analysis.cells import CELL_TYPES, Chemistry
from holdshort.analysis.telemetry import Drain, LevelStudy
from holdshort.document import Document, read_document
from holdshort.setup import load
from holdshort.setup.parts import Battery

numpy = pytest.importorskip("numpy")


def no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def level_of(chemistry: str, cells: int, alarm: str, capacity: str = "100 Ah") -> LevelStudy:
    """Return the alarm of a pack so large that two minutes take next to nothing from it."""
    tree: dict[str, Any] = {
        "holdshort": 1,
        "parts": {
            "pack": {
                "kind": "battery", "chemistry": chemistry, "cells": cells, "capacity": capacity,
                "resistance": "0 mΩ",
            },
            "rx": {
                "kind": "receiver", "voltage": {"min": "1.0 V"}, "measures": ["voltage"],
                "draws": {"rest": "0.1 A", "cruise": "0.1 A", "peak": "0.1 A"},
                "ports": {"supply": "supply"},
            },
        },
        "devices": {"pack": {"part": "pack"}, "rx": {"part": "rx"}},
        "leads": [{"from": "pack", "to": "rx.supply", "wire": "10 mm2", "length": "1 mm"}],
        "telemetry": {
            "pack": {"from": "rx", "measures": "voltage", "of": "pack", "alarm": {"below": alarm}}
        },
    }  # fmt: skip
    loaded = load(read_document(json.dumps(tree).encode(), "drawn.yaml"), no_catalogue)
    assert loaded.faults == ()
    study = Aircraft(loaded.setup).telemetry
    assert study is not None
    (level,) = study.levels
    return level


# C2: lipo control power warns at 3.3 to 3.5 V a cell. C5: iron phosphate stops at 2.8 V. C7:
# cobalt lithium-ion 3.0 V. C9: NiMH 1.1 V, so 4.8 V packs at 4.4 V and 6.0 V packs at 5.5 V.
@pytest.mark.parametrize(
    ("chemistry", "cells", "just_under", "just_over"),
    [
        ("lipo", 2, "6.5 V", "6.7 V"),
        ("lipo", 3, "9.8 V", "10.0 V"),
        ("life", 2, "5.5 V", "5.7 V"),
        ("li-ion", 2, "5.9 V", "6.1 V"),
        ("nimh", 4, "4.3 V", "4.5 V"),
        ("nimh", 5, "5.4 V", "5.6 V"),
    ],
)
def test_the_cell_voltages_of_the_trade(
    chemistry: str, cells: int, just_under: str, just_over: str
) -> None:
    assert any(bound.grave for bound in level_of(chemistry, cells, just_under).late)
    assert level_of(chemistry, cells, just_over).late == ()


# C2 again: the low end of the range is where a lipo pack must be on the ground. With a pack that
# gives all its charge in 20 minutes, two minutes before that must not be above the 3.8 V at which
# a rested cell still has 40 % (the curve, common practice), and must be above the low end.
def test_a_flight_pack_warns_between_the_stop_and_half_full() -> None:
    level = level_of("lipo", 1, "3.3 V", capacity="34 mAh")
    assert level.wanted is not None
    assert 3.3 < level.wanted < 3.8


def battery(chemistry: str, cells: int) -> Battery:
    return Battery.read({"kind": "battery", "chemistry": chemistry, "cells": cells})


# DERIVED: ds/dt = -I / C integrated by SciPy's LSODA until the terminal voltage, by numpy's own
# interpolation of the curve, falls to the stop; the level that is asked for must then be that many
# seconds back.
@pytest.mark.parametrize("chemistry", sorted(CELL_TYPES))
@pytest.mark.parametrize("seconds", [30.0, 120.0, 300.0])
def test_the_time_that_a_level_leaves(chemistry: Chemistry, seconds: float) -> None:
    cell = CELL_TYPES[chemistry]
    drain = Drain(battery(chemistry, 3), 3600.0 * 2.2, 4.0, 0.030)
    stop = 3 * cell.loaded_stop.value
    start = drain.voltage_before(stop, seconds)
    assert start is not None
    charges, volts = zip(*cell.open_circuit, strict=True)

    def terminal(charge: float) -> float:
        emf = float(numpy.interp(charge, charges, volts))
        return 3 * emf - drain.current * drain.resistance

    def reached(_: float, state: Any) -> float:
        return terminal(float(state[0])) - stop

    reached.terminal = True  # type: ignore[attr-defined]
    first = float(numpy.interp((start + drain.current * drain.resistance) / 3, volts, charges))
    done = solve_ivp(
        lambda _, __: [-drain.current / drain.capacity],
        (0.0, 10.0 * seconds),
        [first],
        method="LSODA",
        events=reached,
        max_step=1.0,
        rtol=1e-9,
    )
    assert done.t_events is not None
    assert done.t_events[0][0] == pytest.approx(seconds, rel=1e-6)
    assert drain.seconds_between(start, stop) == pytest.approx(seconds, rel=1e-9)
