"""Time the study of failures on an aircraft of 60 devices.

Run: python tests/bench_failures.py. Not a test: it prints medians and judges nothing.

- `study`: dependence of every function, and what every single failure stops, by wiring alone.
- `rules`: the six rules about redundancy, the study included.
- `singles`: every single failure with the power network solved again in cruise and hard manoeuvre.
- `pairs`: every pair of failures, solved in the same way.
- `cuts`: smallest sets of one and two failures for every function, by wiring alone.
"""

import json
import statistics
import time
from collections.abc import Callable
from typing import Any

from holdshort.analysis import Aircraft
from holdshort.analysis.failures import FailureStudy
from holdshort.document import Document, read_document
from holdshort.rulebook import judge
from holdshort.setup import load
from holdshort_rules import pack

SIDES = ("left", "right")
SURFACES = (
    "aileron", "outer aileron", "elevator", "outer elevator", "flap", "outer flap", "slat",
    "spoiler", "airbrake", "rudder",
)  # fmt: skip

PARTS: dict[str, Any] = {
    "pack": {"kind": "battery", "chemistry": "lipo", "cells": 2, "capacity": "5000 mAh"},
    "switch": {"kind": "switch", "fails": "off", "resistance": "5 mΩ"},
    "reg": {"kind": "regulator", "type": "linear", "output": "6.0 V",
            "ports": {"in": "supply", "out-1..8": "feed"}},
    "rx": {"kind": "receiver", "brown-out": "3.5 V",
           "draws": {"rest": "0.1 A", "cruise": "0.1 A", "peak": "0.2 A"},
           "ports": {"1..6": "servo", "bus-1..6": "bus-out", "in": "bus-in", "supply": "supply"}},
    "hub": {"kind": "hub", "brown-out": "3.5 V",
            "draws": {"rest": "0.1 A", "cruise": "0.1 A", "peak": "0.2 A"},
            "ports": {"in-1..2": "bus-in", "1..8": "servo",
                      "supply-1..2": {"does": "supply", "isolated": True, "drop": "0 V"}}},
    "servo": {"kind": "servo", "idle-current": "20 mA", "cruise-current": "250 mA",
              "ratings": [{"at": "7.4 V", "stall-current": "3 A"}]},
    "engine": {"kind": "engine-controller", "on-signal-loss": "stop",
               "draws": {"rest": "0.1 A", "cruise": "3 A", "peak": "5 A", "start": "9 A"}},
}  # fmt: skip


def tree() -> dict[str, Any]:
    """Return an aircraft of 60 devices: four hubs, two receivers, two supplies, 40 servos."""
    devices: dict[str, Any] = {"engine": {"part": "engine"}, "engine-pack": {"part": "pack"}}
    leads: list[dict[str, str]] = [{"from": "engine-pack", "to": "engine.supply"}]
    for n in (1, 2):
        devices |= {f"pack-{n}": {"part": "pack"}, f"switch-{n}": {"part": "switch"},
                    f"reg-{n}": {"part": "reg"}, f"rx-{n}": {"part": "rx"}}  # fmt: skip
        leads += [
            {"from": f"pack-{n}", "to": f"switch-{n}.in", "wire": "14 AWG", "length": "20 cm"},
            {"from": f"switch-{n}.out", "to": f"reg-{n}.in", "wire": "14 AWG", "length": "20 cm"},
            {"from": f"reg-{n}.out-8", "to": f"rx-{n}.supply", "wire": "16 AWG", "length": "30 cm"},
        ]
    for hub in range(1, 6):
        devices[f"hub-{hub}"] = {"part": "hub"}
        for n in (1, 2):
            leads.append({"from": f"reg-{n}.out-{hub}", "to": f"hub-{hub}.supply-{n}",
                          "wire": "16 AWG", "length": "60 cm"})  # fmt: skip
            leads.append({"from": f"rx-{n}.bus-{hub}", "to": f"hub-{hub}.in-{n}",
                          "carries": "signal"})  # fmt: skip
    leads.append({"from": "rx-1.6", "to": "engine.throttle", "carries": "signal"})
    surfaces: dict[str, Any] = {}
    channels: dict[str, Any] = {"6": {"drives": "throttle"}}
    number = 0
    for surface in SURFACES:
        for side in SIDES:
            servos = [f"servo-{number + extra}" for extra in range(2)]
            for servo in servos:
                hub, port = number % 5 + 1, number // 5 % 8 + 1
                devices[servo] = {"part": "servo"}
                leads.append({"from": f"hub-{hub}.{port}", "to": servo, "length": "60 cm"})
                number += 1
            surfaces[f"{side} {surface}"] = {"servo": servos, "function": surface}
    for channel in range(1, 9):
        channels.setdefault(str(channel), {"drives": "auxiliary"})
    devices |= {f"lamp-{n}": {"part": "servo"} for n in range(60 - len(devices))}
    leads += [{"from": f"rx-1.{n + 1}", "to": f"lamp-{n}"} for n in range(5)
              if f"lamp-{n}" in devices]  # fmt: skip
    return {
        "holdshort": 1,
        "aircraft": {"name": "Bench", "propulsion": "turbine"},
        "parts": PARTS,
        "devices": devices,
        "leads": leads,
        "radio": {"links": {"one": {"heard-by": "rx-1"}, "two": {"heard-by": "rx-2"}},
                  "channels": channels},
        "surfaces": surfaces,
        "failsafe": {f"rx-{n}": {"channels": {"1..8": "hold"}} for n in (1, 2)},
    }  # fmt: skip


def _no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def aircraft() -> Aircraft:
    """Return the aircraft with the power of its two cases known, nothing of failures yet."""
    loaded = load(read_document(json.dumps(tree()).encode(), "bench.yaml"), _no_catalogue)
    assert not loaded.faults, loaded.faults
    built = Aircraft(loaded.setup)
    for case in built.power.cases:
        built.power.result(case.name)
    assert built.channel_ends
    assert built.signals
    return built


def milliseconds(job: Callable[[Aircraft], object], runs: int = 9) -> float:
    taken: list[float] = []
    for _ in range(runs):
        ready = aircraft()
        begin = time.perf_counter()
        job(ready)
        taken.append(time.perf_counter() - begin)
    return 1000.0 * statistics.median(taken)


def _cuts(study: FailureStudy) -> None:
    for name in study.functions:
        study.cuts(name)


def main() -> None:
    """Print one line a job."""
    ready = aircraft()
    count = len(ready.failures.failures)
    print(f"{len(ready.setup.devices)} devices, {len(ready.setup.cables)} leads, {count} failures,")
    print(
        f"{count * (count - 1) // 2} pairs; lost with nothing failed: {ready.failures.intact.lost}"
    )
    rules = [(pack, rule) for rule in pack.rules if rule.subject == "redundancy"]
    print(f"study   {milliseconds(lambda one: one.failures.killers):9.1f} ms")
    print(f"rules   {milliseconds(lambda one: judge(one, rules)):9.1f} ms")
    print(f"singles {milliseconds(lambda one: one.failures.singles()):9.1f} ms")
    print(f"cuts    {milliseconds(lambda one: _cuts(one.failures), 3):9.1f} ms")
    print(f"pairs   {milliseconds(lambda one: one.failures.pairs(), 1):9.1f} ms")


if __name__ == "__main__":
    main()
