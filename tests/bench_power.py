"""Time the power network of aircraft of growing size, all load cases, in a warm process.

``python tests/bench_power.py`` prints, for each size, the milliseconds for mapping the setup and
solving all five load cases, beside one dense solution of as many linear equations by NumPy.
"""

import json
import statistics
import time
from typing import Any

import numpy as np

from holdshort.analysis import Aircraft
from holdshort.document import Document, read_document
from holdshort.setup import Setup, load

SIZES = (10, 20, 60, 120, 240, 480)
ROUNDS = 7


def aircraft(devices: int) -> Setup:
    """Return a setup with two packs, two regulators and ``devices`` servos on chained boxes."""
    servo = {
        "kind": "servo",
        "idle-current": "20 mA",
        "cruise-current": "200 mA",
        "ratings": [{"at": "7.4 V", "stall-current": "2 A"}],
    }
    parts: dict[str, Any] = {
        "pack": {"kind": "battery", "chemistry": "lipo", "cells": 3, "capacity": "9000 mAh"},
        "reg": {"kind": "regulator", "type": "switching", "output": "7.4 V", "efficiency": "93 %"},
        "box": {
            "kind": "hub",
            "draws": {"rest": "50 mA", "cruise": "60 mA", "peak": "80 mA"},
            "ports": {"1..12": "servo", "in-1..2": {"does": "supply", "isolated": True}},
        },
        "servo": servo,
        "split": {"kind": "splitter", "ports": {"in": "supply", "out-1..60": "feed"}},
    }
    fitted: dict[str, Any] = {}
    leads: list[dict[str, str]] = []
    for side in ("1", "2"):
        fitted |= {f"pack-{side}": {"part": "pack"}, f"reg-{side}": {"part": "reg"}}
        fitted[f"split-{side}"] = {"part": "split"}
        heavy = {"wire": "12 AWG", "length": "20 cm"}
        leads.append({"from": f"pack-{side}", "to": f"reg-{side}.in", **heavy})
        leads.append({"from": f"reg-{side}.out", "to": f"split-{side}.in", **heavy})
    for number in range(devices):
        box = f"box-{number // 12}"
        if number % 12 == 0:
            fitted[box] = {"part": "box"}
            for side in ("1", "2"):
                port = f"split-{side}.out-{number // 12 + 1}"
                wire = {"wire": "16 AWG", "length": "40 cm"}
                leads.append({"from": port, "to": f"{box}.in-{side}", **wire})
        fitted[f"servo-{number}"] = {"part": "servo"}
        leads.append({"from": f"{box}.{number % 12 + 1}", "to": f"servo-{number}"})
    tree = {"holdshort": 1, "parts": parts, "devices": fitted, "leads": leads}
    loaded = load(read_document(json.dumps(tree).encode(), "drawn.yaml"), _no_catalogue)
    assert not loaded.faults, loaded.faults[0].message
    return loaded.setup


def _no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def milliseconds(job: Any) -> float:
    """Return the median time of a job in milliseconds."""
    times: list[float] = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        job()
        times.append(time.perf_counter() - start)
    return statistics.median(times) * 1e3


def main() -> None:
    """Print one row a size."""
    print(f"{'servos':>7}{'devices':>9}{'nodes':>7}{'five cases':>12}{'numpy dense':>13}")
    for size in SIZES:
        setup = aircraft(size)

        def five(setup: Setup = setup) -> None:
            assert all(result.solution for result in Aircraft(setup).power.results)

        five()
        solution = Aircraft(setup).power.result("cruise").solution
        assert solution is not None
        nodes = len(solution.voltages)
        matrix = np.eye(nodes) * 4.0 - np.eye(nodes, k=1) - np.eye(nodes, k=-1)
        right = np.ones(nodes)
        dense = milliseconds(lambda m=matrix, r=right: np.linalg.solve(m, r))
        print(
            f"{size:>7}{len(setup.devices):>9}{nodes:>7}{milliseconds(five):>10.2f}ms{dense:>11.3f}ms"
        )


if __name__ == "__main__":
    main()
