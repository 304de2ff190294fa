"""What is left after failures: drawn aircraft by force with networkx, and aircraft by hand."""

import json
from itertools import combinations
from pathlib import Path
from typing import Any

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.analysis import Aircraft
from holdshort.analysis.control_ways import control_ways, power_way
from holdshort.analysis.failure_modes import Failure
from holdshort.analysis.failures import FailureStudy, Outcome
from holdshort.document import Document, read_document, read_file
from holdshort.setup import load

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"

PARTS: dict[str, Any] = {
    "pack": {"kind": "battery", "chemistry": "lipo", "cells": 2, "resistance": "20 mΩ",
             "ports": {"1..9": "feed"}},
    "reg": {"kind": "regulator", "type": "linear", "output": "6.0 V",
            "ports": {"in": "supply", "1..9": "feed"}},
    "rx": {"kind": "receiver", "ports": {"1..9": "servo", "o1..o9": "bus-out", "b1..b9": "bus-in",
                                         "s1..s9": "supply"}},
    "gyro": {"kind": "gyro", "ports": {"1..9": "servo", "b1..b9": "bus-in", "s1..s9": "supply"}},
    "servo": {"kind": "servo"},
}  # fmt: skip
for _part in ("pack", "reg", "rx", "gyro"):
    PARTS[_part]["ports"] = {
        port: does
        for run, does in PARTS[_part]["ports"].items()
        for port in ([f"{run[0]}{n}" for n in range(1, 10)] if run[0] in "obs" else [run])
    }

CHANNEL = {"ail-l": 1, "ail-r": 2, "ele-l": 3, "ele-r": 4}
SURFACE = {"ail-l": "left aileron", "ail-r": "right aileron", "ele-l": "left elevator",
           "ele-r": "right elevator"}  # fmt: skip
SERVES = {"roll": ("ail-l", "ail-r"), "pitch": ("ele-l", "ele-r")}

Wire = tuple[str, str, str]
"""What a drawn lead is (supply, bus or servo), and the devices at its ends."""


def _no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def aircraft_of(tree: dict[str, Any]) -> Aircraft:
    loaded = load(read_document(json.dumps(tree).encode(), "drawn.yaml"), _no_catalogue)
    assert loaded.faults == (), loaded.faults
    return Aircraft(loaded.setup)


def built(wires: list[Wire]) -> Aircraft:
    """Return the aircraft of drawn leads; each lead has ports of its own."""
    kinds = {"p": "pack", "v": "reg", "r": "rx", "g": "gyro", "a": "servo", "e": "servo"}
    names = sorted({name for _, *ends in wires for name in ends} | set(CHANNEL))
    count: dict[tuple[str, str], int] = {}

    def port(device: str, letter: str) -> str:
        count[device, letter] = count.get((device, letter), 0) + 1
        return f"{device}.{letter}{count[device, letter]}"

    leads: list[dict[str, str]] = []
    for does, start, end in wires:
        if does == "supply":
            into = f"{end}.in" if end[0] == "v" else port(end, "s")
            leads.append({"from": port(start, ""), "to": into})
        elif does == "bus":
            leads.append({"from": port(start, "o"), "to": port(end, "b")})
        else:
            leads.append({"from": f"{start}.{CHANNEL[end]}", "to": end})
    receivers = [name for name in names if name[0] == "r"]
    return aircraft_of(
        {
            "holdshort": 1,
            "parts": PARTS,
            "devices": {name: {"part": kinds[name[0]]} for name in names},
            "leads": leads,
            "radio": {
                "links": {f"to {name}": {"heard-by": name} for name in receivers},
                "channels": {str(CHANNEL[name]): {"drives": SURFACE[name]} for name in CHANNEL},
            },
            "surfaces": {SURFACE[name]: {"servo": name} for name in CHANNEL},
        }
    )


@st.composite
def wirings(draw: st.DrawFn) -> list[Wire]:
    packs = [f"p{n}" for n in range(draw(st.integers(1, 2)))]
    regulators = [f"v{n}" for n in range(draw(st.integers(1, 2)))]
    receivers = [f"r{n}" for n in range(draw(st.integers(1, 2)))]
    gyros = [f"g{n}" for n in range(draw(st.integers(0, 2)))]
    wires: list[Wire] = [("supply", draw(st.sampled_from(packs)), name) for name in regulators]
    boxes = [*receivers, *gyros]
    for box in boxes:
        feeds = st.lists(st.sampled_from(regulators), max_size=2, unique=True)
        wires += [("supply", name, box) for name in draw(feeds)]
    for start in receivers:
        others = [name for name in boxes if name != start]
        if others:
            ends = draw(st.lists(st.sampled_from(others), max_size=2, unique=True))
            wires += [("bus", start, end) for end in ends]
    wires += [("servo", draw(st.sampled_from(boxes)), name) for name in CHANNEL]
    return wires


def live_servos(wires: list[Wire], failure: set[object]) -> set[str]:
    """Return the servos that follow the pilot, worked out from the drawn leads with networkx.

    ``failure`` holds device names, indices of leads and names of links that have failed.
    """
    left = [wire for index, wire in enumerate(wires) if not {index, *wire[1:]} & failure]
    names = {name for _, *ends in wires for name in ends} - failure
    powered = nx.descendants(power_graph(left, names), "source") | {"pilot"}
    signal: Any = nx.DiGraph([("pilot", "nobody")])
    signal.add_edges_from((start, end) for does, start, end in left if does != "supply")
    signal.add_edges_from(
        ("pilot", name) for name in names if name[0] == "r" and f"to {name}" not in failure
    )
    alive = signal.subgraph([node for node in signal if node in powered])
    return nx.descendants(alive, "pilot") & set(CHANNEL)


def power_graph(wires: list[Wire], names: set[str]) -> Any:
    """Return which device powers which: leads both ways, regulators from input to output."""
    graph: Any = nx.DiGraph([("source", "nothing")])
    for _, start, end in wires:
        upper = f"{start} out" if start[0] == "v" else start
        lower = f"{end} in" if end[0] == "v" else end
        graph.add_edges_from([(upper, lower), (lower, upper)])
    graph.add_edges_from((f"{name} in", f"{name} out") for name in names if name[0] == "v")
    graph.add_edges_from(("source", name) for name in names if name[0] == "p")
    return graph


def key(failure: Failure) -> set[object]:
    return {*failure.devices, *failure.links, *(cable.index for cable in failure.cables)}


def lost_by_force(wires: list[Wire], failure: set[object]) -> set[str]:
    live = live_servos(wires, failure)
    return {name for name, servos in SERVES.items() if not live & set(servos)}


@settings(max_examples=60)
@given(wirings())
def test_every_single_failure_takes_what_brute_force_says(wires: list[Wire]) -> None:
    study = built(wires).failures
    for failure in study.failures:
        expected = lost_by_force(wires, key(failure))
        assert {name for name in SERVES if study.takes_function(failure, name)} == expected
        outcome = study.connected(failure)
        assert set(outcome.lost) == expected
        live = {end for state in outcome.functions.values() for end in state.moving}
        assert live == {SURFACE[name] for name in live_servos(wires, key(failure))}


@settings(max_examples=25)
@given(wirings())
def test_smallest_sets_of_two_agree_with_brute_force(wires: list[Wire]) -> None:
    study = built(wires).failures
    whole = lost_by_force(wires, set())
    singles = {failure: lost_by_force(wires, key(failure)) for failure in study.failures}
    for name in set(SERVES) - whole:
        expected = {
            frozenset({one.number, other.number})
            for one, other in combinations(study.failures, 2)
            if name in lost_by_force(wires, key(one) | key(other))
            and name not in singles[one] | singles[other]
        }
        cuts = study.cuts(name)
        assert {frozenset(pair) for pair in cuts.pairs} == expected
        assert list(cuts.single) == [
            failure.number for failure in study.failures if name in singles[failure]
        ]


@settings(max_examples=60)
@given(wirings())
def test_what_a_box_lives_by_are_its_dominators(wires: list[Wire]) -> None:
    """Power alone: leads are nodes too, and a super-source feeds the packs."""
    names = {name for _, *ends in wires for name in ends}
    graph: Any = nx.DiGraph()
    for one, other in power_graph([], names).edges:
        graph.add_edge(one, other)
    for index, wire in enumerate(wires):
        for one, other in power_graph([wire], set()).edges:
            if one != "source":
                graph.add_edges_from([(one, f"lead {index}"), (f"lead {index}", other)])
    immediate = nx.immediate_dominators(graph, "source")
    study = built(wires).failures
    for device in study.setup.of_kind("receiver", "gyro", "servo"):
        if device.name not in immediate:
            continue
        chain = [device.name]
        while immediate[chain[-1]] != "source":
            chain.append(immediate[chain[-1]])
        named = {name.removesuffix(" in").removesuffix(" out") for name in chain}
        found = {
            f"lead {failure.cables[0].index}" if failure.kind == "lead" else failure.name
            for failure in study.stops_device(device)
        }
        assert found | {device.name} == named


def lost(study: FailureStudy) -> dict[str, set[str]]:
    """Return what is lost, with nothing failed and with each failure, by label."""
    found = {failure.label: set(study.connected(failure).lost) for failure in study.failures}
    return {**found, "": set(study.intact.lost)}


@settings(max_examples=40)
@given(wirings(), st.data())
def test_taking_a_lead_away_never_gives_a_function_back(
    wires: list[Wire], data: st.DataObject
) -> None:
    gone = data.draw(st.integers(0, len(wires) - 1))
    rest = [wire for index, wire in enumerate(wires) if index != gone]
    richer, poorer = lost(built(wires).failures), lost(built(rest).failures)
    for label in richer.keys() & poorer.keys():
        if not label.startswith("lead"):  # a lead of the same name may now be another one
            assert richer[label] <= poorer[label]


@settings(max_examples=40)
@given(wirings(), st.data())
def test_a_second_path_never_takes_a_function_away(wires: list[Wire], data: st.DataObject) -> None:
    boxes = sorted({end for _, *ends in wires for end in ends if end[0] in "rg"})
    box = data.draw(st.sampled_from(boxes))
    poorer, richer = (
        lost(built(wires).failures),
        lost(built([*wires, ("supply", "p8", "v8"), ("supply", "v8", box)]).failures),
    )
    for label, before in poorer.items():
        assert richer[label] <= before


@pytest.fixture(scope="module")
def faulty() -> Aircraft:
    path = EXAMPLES / "faults" / "backup-receiver-without-power-only-feed.yaml"
    loaded = load(read_file(path), lambda name: read_file(path.parent / name, name))
    assert loaded.faults == ()
    return Aircraft(loaded.setup)


def test_the_lead_without_which_a_box_is_dead_is_a_single_point_of_its_power(
    faulty: Aircraft,
) -> None:
    """The rule about power-only feeds is a special case: it and the study name the same lead."""
    study = faulty.failures
    seen = 0
    for box in faulty.shared_carriers:
        single = {cable.index for cable in faulty.feeds(box).single_leads}
        stops = {
            failure.cables[0].index for failure in study.stops_device(box) if failure.kind == "lead"
        }
        assert single <= stops
        seen += len(single)
    assert seen


TWO_PACKS: dict[str, Any] = {
    "holdshort": 1,
    "aircraft": {"name": "Test", "propulsion": "piston"},
    "parts": {
        "pack": {"kind": "battery", "chemistry": "lipo", "cells": 2, "resistance": "20 mΩ"},
        "weak": {"kind": "battery", "chemistry": "lipo", "cells": 2, "resistance": "2000 mΩ"},
        "box": {"kind": "distribution", "ports": {
            "in-1..2": {"does": "supply", "isolated": True, "drop": "0 V"}, "out": "feed"}},
        "rx": {"kind": "receiver", "brown-out": "3.5 V", "ports": {"1..8": "servo",
               "supply": "supply"}, "draws": {"rest": "0.1 A", "cruise": "2 A", "peak": "2 A"}},
        "servo": {"kind": "servo", "cruise-current": "0 A", "idle-current": "0 A",
                  "ratings": [{"at": "7.4 V", "stall-current": "0.01 A"}]},
        "controller": {"kind": "engine-controller", "on-signal-loss": "stop"},
    },
    "devices": {"p1": {"part": "pack"}, "p2": {"part": "weak"}, "p3": {"part": "pack"},
                "box": {"part": "box"}, "rx": {"part": "rx"}, "elevator": {"part": "servo"},
                "throttle": {"part": "servo"}},
    "leads": [
        {"from": "p1", "to": "box.in-1", "wire": "8 AWG", "length": "1 mm"},
        {"from": "p2", "to": "box.in-2", "wire": "8 AWG", "length": "1 mm"},
        {"from": "box.out", "to": "rx.supply", "wire": "8 AWG", "length": "1 mm"},
        {"from": "rx.1", "to": "elevator"},
        {"from": "rx.2", "to": "throttle"},
    ],
    "radio": {"links": {"main": {"heard-by": "rx"}},
              "channels": {"1": {"drives": "elevator"}, "2": {"drives": "throttle"}}},
    "failsafe": {"rx": {"channels": {"1": "neutral", "2": "hold"}}},
}  # fmt: skip


def after(aircraft: Aircraft, *labels: str) -> Outcome:
    study = aircraft.failures
    named = {failure.label: failure for failure in study.failures}
    return study.after([named[label] for label in labels])


def changed(**changes: Any) -> Aircraft:
    tree = json.loads(json.dumps(TWO_PACKS))
    for path, value in changes.items():
        *way, last = path.split("__")
        place: Any = tree
        for step in way:
            place = place[step.replace("_", "-")]
        place[last.replace("_", "-")] = value
    return aircraft_of(tree)


def test_the_pack_that_is_left_may_not_carry_the_load() -> None:
    """2 A through 2 Ω leaves the cell's open voltage less 4 V, under the 3.5 V of the receiver.

    Half-full lithium cells stand between 3.6 and 4.0 V (common practice), two of them at most 8 V:
    at most 4 V is left; through 20 mΩ all but 0.04 V is.
    """
    strong = after(changed(), "pack p2")
    assert (strong.functions["pitch"].state, strong.rails[0].state) == ("works", "known")
    assert strong.rails[0].volts is not None
    open_voltage = strong.rails[0].volts + 2 * 0.02
    weak = after(changed(parts__rx__brown_out="4.2 V"), "pack p1")
    assert weak.rails[0].volts == pytest.approx(open_voltage - 2 * 2.0, abs=0.02)
    assert weak.rails[0].starved == ("rx",)
    assert weak.functions["pitch"].state == "dead"
    carried = after(changed(parts__rx__brown_out="3.2 V"), "pack p1")
    assert carried.functions["pitch"].state == "works"


def test_a_load_past_the_limit_has_no_voltage() -> None:
    """5 A through 2 Ω would take 10 V, more than two cells have."""
    draws = {"rest": "0.1 A", "cruise": "5 A", "peak": "5 A"}
    found = after(changed(parts__rx__draws=draws), "pack p1")
    assert (found.rails[0].state, found.rails[0].volts) == ("collapse", None)
    assert found.functions["pitch"].state == "dead"


def test_the_receiver_decides_when_its_link_is_lost() -> None:
    found = after(changed(), "link main")
    assert (found.functions["pitch"].state, found.functions["pitch"].words) == (
        "failsafe",
        "goes neutral",
    )
    assert found.functions["throttle"].words == "hold"
    assert found.functions["engine shut-down"].state == "dead"
    assert "engine shut-down" in found.lost


@pytest.mark.parametrize(
    ("action", "state"), [("stop", "stops"), ("idle", "failsafe"), ("hold", "dead")]
)
def test_the_failsafe_of_the_throttle_says_what_the_engine_does(action: str, state: str) -> None:
    found = after(changed(failsafe__rx__channels={"1": "neutral", "2": action}), "link main")
    assert found.functions["engine shut-down"].state == state


def test_a_failsafe_that_is_not_declared_is_not_made_up() -> None:
    found = after(changed(failsafe={}), "link main")
    assert found.functions["pitch"].state == "undeclared"
    assert found.functions["engine shut-down"].state == "undeclared"


def test_a_throttle_servo_without_power_lets_the_engine_run_on() -> None:
    found = after(changed(), "distribution box box")
    assert found.functions["engine shut-down"].words == "runs on"
    assert found.rails[0].state == "dead"


@pytest.mark.parametrize(
    ("does", "state"), [("stop", "stops"), ("idle", "failsafe"), ("hold", "dead")]
)
def test_an_engine_controller_without_signal_does_what_its_part_says(does: str, state: str) -> None:
    aircraft = changed(
        parts__controller={"kind": "engine-controller", "on-signal-loss": does},
        devices__engine={"part": "controller"},
        leads=[
            *TWO_PACKS["leads"][:4],
            {"from": "p3", "to": "engine.supply"},
            {"from": "rx.2", "to": "engine.throttle", "carries": "signal"},
        ],
    )
    found = after(aircraft, "lead rx.2 to engine.throttle")
    assert found.functions["throttle"].state == "dead"
    assert found.functions["engine shut-down"].state == state
    assert after(aircraft, "pack p3").functions["engine shut-down"].state == "stops"


def test_pairs_are_those_that_take_more_than_their_two_do() -> None:
    """Either pack alone carries 0.1 A; both gone, or one gone and the other's lead out, all is."""
    draws = {"rest": "0.1 A", "cruise": "0.1 A", "peak": "0.1 A"}
    study = changed(parts__rx__draws=draws).failures
    told: list[tuple[int, int]] = []
    found = study.pairs(lambda done, total: told.append((done, total)))
    first = {"pack p1", "lead p1 to box.in-1"}
    second = {"pack p2", "lead p2 to box.in-2"}
    assert {frozenset(failure.label for failure in one.failures) for one in found} == {
        frozenset({one, other}) for one in first for other in second
    }
    count = len(study.failures)
    assert told[-1] == (count * (count - 1) // 2,) * 2


@pytest.mark.parametrize(("fails", "is_one"), [("on", False), ("off", True), (None, True)])
def test_a_switch_that_fails_on_is_no_failure(fails: str | None, is_one: bool) -> None:
    switch = {"kind": "switch"} | ({"fails": fails} if fails else {})
    aircraft = changed(
        parts__switch=switch,
        devices__switch={"part": "switch"},
        leads=[
            {"from": "p1", "to": "switch.in"},
            {"from": "switch.out", "to": "rx.supply"},
            *TWO_PACKS["leads"][3:],
        ],
    )
    failures = {failure.name: failure for failure in aircraft.failures.failures}
    assert ("switch" in failures) is is_one
    if is_one:
        assert bool(failures["switch"].assumed) is (fails is None)


def test_a_splitter_in_a_servo_lead_takes_all_that_hangs_on_it() -> None:
    aircraft = changed(
        parts__y={"kind": "splitter", "ports": {"a": "servo", "b": "servo", "c": "servo"}},
        devices__y={"part": "y"},
        devices__second={"part": "servo"},
        surfaces={"left elevator": {"servo": "elevator"}, "right elevator": {"servo": "second"}},
        leads=[
            *TWO_PACKS["leads"][:3],
            {"from": "rx.1", "to": "y.a"},
            {"from": "y.b", "to": "elevator"},
            {"from": "y.c", "to": "second"},
        ],
    )
    assert after(aircraft, "splitter y").functions["pitch"].state == "dead"
    assert after(aircraft, "lead rx.1 to y.a").functions["pitch"].state == "dead"
    assert after(aircraft, "lead y.b to elevator").functions["pitch"].state == "half"


def test_ways_are_shown_from_stick_to_surface_and_from_pack_to_servo() -> None:
    aircraft = changed(surfaces={"elevator": {"servo": "elevator"}})
    shown = [way.shown for way in control_ways(aircraft.failures)]
    assert shown[0] == "channel 1 > link main > rx.1 > elevator"
    servo = aircraft.setup.devices["elevator"]
    assert power_way(aircraft.wiring, servo) == ("p1", "box", "rx", "elevator")


def test_leads_that_say_what_is_near_share_a_plug() -> None:
    near = {"hot": "200 mm"}
    aircraft = aircraft_of({
        "holdshort": 1,
        "aircraft": {"name": "Drawn", "propulsion": "none"},
        "parts": {"pack": PARTS["pack"], "rx": PARTS["rx"]},
        "devices": {"pack": {"part": "pack"}, "rx": {"part": "rx"}, "rx-2": {"part": "rx"}},
        "leads": [
            {"from": "pack.1", "to": "rx.s1", "near": near},
            {"from": "pack.1", "to": "rx-2.s1", "near": near},
        ],
    })  # fmt: skip
    (plug,) = (failure for failure in aircraft.failures.failures if failure.kind == "plug")
    assert plug.name == "pack.1"
    assert [cable.index for cable in plug.cables] == [0, 1]
