"""Wiring diagrams measured from outside: what may not lie on what, read from the JSON form.

Nothing here uses the layout's own reckoning: boxes, texts and leads are taken as the places that
are drawn, and compared with each other and with what the setup joins.
"""

import json
import random
import re
from collections.abc import Iterator
from itertools import combinations, pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.analysis import Aircraft
from holdshort.analysis.power_rows import Reading
from holdshort.analysis.wiring_plan import (
    EndVolts,
    PlanDevice,
    PlanEnd,
    PlanLead,
    WiringPlan,
    wiring_plan,
)
from holdshort.cli.files import Files
from holdshort.cli.start import LAYOUTS
from holdshort.document import Document, read_document, read_file
from holdshort.fixlist.diagram_json import render_json
from holdshort.fixlist.diagram_layout import layout
from holdshort.setup import load

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
AIRCRAFT_FILES = sorted([
    *EXAMPLES.glob("*.yaml"), *EXAMPLES.glob("studies/*.yaml"), *EXAMPLES.glob("faults/*.yaml"),
    *LAYOUTS.glob("*.yaml"),
])  # fmt: skip
CLOSE = 0.05
"""Less than any difference that can be seen, more than the rounding of the JSON form."""

Box = dict[str, float]
Segment = tuple[str, float, float, float, str]
"""Direction, where it lies, from, to, and the lead."""


def plan_of(file: Path) -> WiringPlan:
    document = read_file(str(file))
    loaded = load(document, Files().catalogue_reader(document.name))
    assert loaded.faults == ()
    return wiring_plan(Aircraft(loaded.setup))


def plan_of_text(text: str) -> WiringPlan:
    def nothing(name: str) -> Document:
        raise AssertionError(name)

    loaded = load(read_document(text.encode(), "albatross.yaml"), nothing)
    return wiring_plan(Aircraft(loaded.setup))


def drawn(plan: WiringPlan) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(render_json(layout(plan)))
    return data


def overlap(one: Box, other: Box, apart: float = 0.0) -> bool:
    return (
        one["left"] < other["right"] + apart - CLOSE
        and other["left"] < one["right"] + apart - CLOSE
        and one["top"] < other["bottom"] + apart - CLOSE
        and other["top"] < one["bottom"] + apart - CLOSE
    )


def segments(data: dict[str, Any]) -> Iterator[Segment]:
    for lead in data["leads"]:
        for (x, y), (to_x, to_y) in pairwise(lead["points"]):
            assert (x == to_x) != (y == to_y), f"{lead['title']} is not at right angles"
            if y == to_y:
                yield "level", y, min(x, to_x), max(x, to_x), lead["id"]
            else:
                yield "upright", x, min(y, to_y), max(y, to_y), lead["id"]


def as_box(segment: Segment) -> Box:
    direction, at, start, end, _ = segment
    if direction == "level":
        return {"left": start, "right": end, "top": at, "bottom": at}
    return {"left": at, "right": at, "top": start, "bottom": end}


def shrunk(area: Box) -> Box:
    return {
        "left": area["left"] + 0.2,
        "right": area["right"] - 0.2,
        "top": area["top"] + 0.2,
        "bottom": area["bottom"] - 0.2,
    }


def check_geometry(data: dict[str, Any]) -> None:
    """Check everything that must hold of every drawing."""
    check_boxes(data)
    check_texts(data)
    check_leads_and_boxes(data)
    check_leads_apart(data)
    check_inside(data)


def check_boxes(data: dict[str, Any]) -> None:
    for one, other in combinations(data["devices"], 2):
        assert not overlap(one["area"], other["area"], 8.0), (one["name"], other["name"])
    for device in data["devices"]:
        for text in device["texts"]:
            area, box = text["area"], device["area"]
            assert box["left"] - CLOSE <= area["left"], text
            assert area["right"] <= box["right"] + CLOSE, text
            assert box["top"] - CLOSE <= area["top"], text
            assert area["bottom"] <= box["bottom"] + CLOSE, text
        for one, other in combinations(device["texts"], 2):
            assert not overlap(one["area"], other["area"], -1.0), (one, other)


def check_texts(data: dict[str, Any]) -> None:
    labels = [text["area"] for lead in data["leads"] for text in lead["texts"]]
    labels += [text["area"] for text in data["texts"]]
    for one, other in combinations(labels, 2):
        assert not overlap(one, other), (one, other)
    for device in data["devices"]:
        for label in labels:
            assert not overlap(device["area"], label), (device["name"], label)


def check_leads_and_boxes(data: dict[str, Any]) -> None:
    found = list(segments(data))
    for device in data["devices"]:
        inside = shrunk(device["area"])
        for segment in found:
            assert not overlap(as_box(segment), inside), (device["name"], segment)


def check_leads_apart(data: dict[str, Any]) -> None:
    """Leads may cross; no two may lie on each other, or run side by side as one."""
    by_line: dict[tuple[str, float], list[Segment]] = {}
    for segment in segments(data):
        by_line.setdefault((segment[0], round(segment[1], 1)), []).append(segment)
    for line in by_line.values():
        line.sort(key=lambda segment: segment[2])
        for one, other in pairwise(line):
            assert other[2] >= one[3] + CLOSE or (one[4] == other[4] and other[2] >= one[3]), (
                one,
                other,
            )
    uprights = sorted(at for direction, at in by_line if direction == "upright")
    for left, right in pairwise(uprights):
        assert right - left > 5.0


def check_inside(data: dict[str, Any]) -> None:
    page = {"left": 0.0, "top": 0.0, "right": data["width"], "bottom": data["height"]}
    areas = [device["area"] for device in data["devices"]]
    areas += [text["area"] for text in data["texts"]]
    areas += [text["area"] for lead in data["leads"] for text in lead["texts"]]
    areas += [as_box(segment) for segment in segments(data)]
    for area in areas:
        assert page["left"] <= area["left"] <= area["right"] <= page["right"], area
        assert page["top"] <= area["top"] <= area["bottom"] <= page["bottom"], area


def check_connections(data: dict[str, Any], plan: WiringPlan) -> None:
    """Each lead begins and ends at pins of its own, at the devices and ports of the plan."""
    pins: dict[str, list[tuple[str, dict[str, Any], Box]]] = {}
    for device in data["devices"]:
        for pin in device["pins"]:
            pins.setdefault(pin["lead"], []).append((device["name"], pin, device["area"]))
    assert [lead["index"] for lead in data["leads"]] == [lead.index for lead in plan.leads]
    assert [device["name"] for device in data["devices"]] == [each.name for each in plan.devices]
    for lead, planned in zip(data["leads"], plan.leads, strict=True):
        own = pins.pop(lead["id"])
        wanted = sorted(
            (plan.devices[end.device].name, end.port) for end in (planned.start, planned.end)
        )
        assert sorted((name, pin["port"]) for name, pin, _ in own) == wanted
        at_pins = sorted([pin["x"], pin["y"]] for _, pin, _ in own)
        assert at_pins == sorted([lead["points"][0], lead["points"][-1]])
        for _, pin, area in own:
            assert pin["x"] == pytest.approx(area[pin["side"]], abs=CLOSE)
            assert area["top"] < pin["y"] < area["bottom"]
    assert not pins


def check_pin_order(data: dict[str, Any]) -> None:
    """Numbered ports stand in the order of their numbers, from the top."""
    for device in data["devices"]:
        for side in ("left", "right"):
            own = [pin for pin in device["pins"] if pin["side"] == side and pin["known"]]
            own.sort(key=lambda pin: pin["y"])
            numbers = [int(pin["port"]) for pin in own if pin["port"].isdecimal()]
            assert numbers == sorted(numbers), device["name"]


@pytest.mark.parametrize("file", AIRCRAFT_FILES, ids=lambda file: file.stem)
def test_every_example_and_every_starting_layout_is_drawn_cleanly(file: Path) -> None:
    plan = plan_of(file)
    data = drawn(plan)
    check_geometry(data)
    check_connections(data, plan)
    check_pin_order(data)


def albatross() -> str:
    """Return an invented aircraft with forty devices and fifty leads, three of them astray."""
    servos = [
        f"{part}-{side}"
        for part in ("aileron-in", "aileron-out", "flap", "elevator", "gear", "door", "brake")
        for side in ("left", "right")
    ] + ["rudder-upper", "rudder-lower", "nose-steer", "gear-nose", "airbrake", "smoke-pump-servo"]
    kinds = {
        "pack-1": "pack", "pack-2": "pack", "engine-pack": "pack", "spare-pack": "pack",
        "switch-1": "sw", "switch-2": "sw", "regulator-1": "reg", "regulator-2": "reg",
        "power-box": "box", "front-rx": "rx", "rear-rx": "rx", "gyro-wing": "gyro",
        "gyro-tail": "gyro", "engine-left": "ecu", "engine-right": "ecu", "lamp-1": "lamp",
        "lamp-2": "lamp", "probe": "sens", "flap-split": "y", "brake-split": "y",
        **dict.fromkeys(servos, "servo"),
    }  # fmt: skip
    leads = """
    pack-1 switch-1.in; pack-2 switch-2.in; switch-1.out regulator-1.in
    switch-2.out regulator-2.in; regulator-1.out-1 power-box.in-1; regulator-2.out-1 power-box.in-2
    power-box.out-1 front-rx.supply; power-box.out-2 rear-rx.supply; power-box.out-3 gyro-wing.in-1
    power-box.out-4 gyro-tail.in-1; regulator-1.out-2 gyro-wing.in-2
    regulator-2.out-2 gyro-tail.in-2; front-rx.bus-a gyro-wing.bus-1 signal
    front-rx.bus-b gyro-tail.bus-1 signal; rear-rx.bus-a gyro-wing.bus-2 signal
    rear-rx.bus-b gyro-tail.bus-2 signal; engine-pack engine-left.supply
    engine-pack engine-right.supply; front-rx.1 engine-left.throttle signal
    rear-rx.1 engine-right.throttle signal-alone; front-rx.2 lamp-1; rear-rx.2 lamp-2
    front-rx.3 gear-nose; front-rx.4 gear-left; front-rx.5 gear-right; rear-rx.5 door-left
    rear-rx.6 door-right; rear-rx.7 brake-split.in; brake-split.out-1 brake-left
    brake-split.out-2 brake-right; rear-rx.8 smoke-pump-servo; front-rx.9 airbrake
    gyro-wing.1 aileron-in-left; gyro-wing.2 aileron-out-left; gyro-wing.3 aileron-in-right
    gyro-wing.4 aileron-out-right; gyro-wing.5 flap-split.in; flap-split.out-1 flap-left
    flap-split.out-2 flap-right; gyro-tail.1 elevator-left; gyro-tail.2 elevator-right
    gyro-tail.3 rudder-upper; gyro-tail.4 rudder-lower; gyro-tail.5 nose-steer
    front-rx.16 gyro-wing.12 power; rear-rx.16 no-such-box.3; gyro-tail.99 airbrake
    front-rx.15 front-rx.14 signal; gyro-wing.11 front-rx.10 signal; front-rx.10 gyro-wing.10 signal
    """
    entries = [entry.split() for entry in re.split(r"[;\n]", leads) if entry.strip()]
    assert len(kinds) == 40
    fitted = [
        f"  {name}: {{part: {kind}{', output: 7.4 V' if kind == 'reg' else ''}}}"
        for name, kind in kinds.items()
    ]
    wired = [
        f"  - {{from: {start}, to: {end}{f', carries: {carries[0]}' if carries else ''}}}"
        for start, end, *carries in entries
    ]
    return "\n".join([ALBATROSS_PARTS, "devices:", *fitted, "leads:", *wired])


ALBATROSS_PARTS = """\
holdshort: 1
aircraft: {name: Heath Albatross 400}
parts:
  pack: {kind: battery, chemistry: lipo, cells: 2, capacity: 5000 mAh}
  sw: {kind: switch, resistance: 8 mΩ}
  reg:
    kind: regulator
    output: {min: 5 V, max: 8.4 V}
    ports: {in: supply, out-1..2: feed}
  box:
    kind: distribution
    ports: {in-1..2: {does: supply, isolated: true}, out-1..6: feed}
  rx:
    kind: receiver
    ports: {1..16: servo, bus-a: bus-out, bus-b: bus-out, supply: supply}
  gyro:
    kind: gyro
    ports: {1..12: servo, bus-1: bus-in, bus-2: bus-in, in-1: supply, in-2: supply}
  servo: {kind: servo, ratings: [{at: 7.4 V, stall-current: 3 A}]}
  ecu: {kind: engine-controller}
  lamp: {kind: lights}
  sens: {kind: sensor}
  y: {kind: splitter, ports: {in: pulse-in, out-1..2: servo}}
"""


def test_forty_devices_with_leads_astray_are_drawn_cleanly() -> None:
    plan = plan_of_text(albatross())
    assert len(plan.devices) == 41  # forty, and one that a lead names and nobody fitted
    data = drawn(plan)
    check_geometry(data)
    check_connections(data, plan)
    check_pin_order(data)
    stranger = next(each for each in data["devices"] if each["role"] == "unknown")
    assert (stranger["name"], stranger["told"]) == ("no-such-box", "no such device")
    astray = next(pin for each in data["devices"] for pin in each["pins"] if pin["port"] == "99")
    assert not astray["known"]
    loose = [each["name"] for each in data["devices"] if each["column"] == -1]
    assert sorted(loose) == ["probe", "spare-pack"]


def test_what_is_fed_stands_right_of_what_feeds_it() -> None:
    data = drawn(plan_of_text(albatross()))
    at = {each["name"]: each["column"] for each in data["devices"]}
    ways = (
        "pack-1 switch-1 regulator-1 power-box front-rx gyro-wing aileron-in-left",
        "pack-2 switch-2 regulator-2 power-box rear-rx brake-split brake-left",
        "engine-pack engine-left",
    )
    for way in ways:
        columns = [at[name] for name in way.split()]
        assert columns == sorted(set(columns)), way
    assert {at[name] for name in ("pack-1", "pack-2", "engine-pack")} == {0}
    assert at["front-rx"] == at["rear-rx"]
    loads = {at[each["name"]] for each in data["devices"] if each["role"] == "load"}
    assert loads == {max(at.values()), -1}


def test_a_column_has_one_left_and_one_right_side() -> None:
    data = drawn(plan_of_text(albatross()))
    sides: dict[int, set[tuple[float, float]]] = {}
    for device in data["devices"]:
        if device["column"] >= 0:
            area = device["area"]
            sides.setdefault(device["column"], set()).add((area["left"], area["right"]))
    assert all(len(found) == 1 for found in sides.values())


@pytest.mark.parametrize(
    "text",
    [
        "holdshort: 1\n",
        "holdshort: 1\nleads: [{from: nowhere, to: neverland.3}]\n",
        "holdshort: 1\nparts: {p: {kind: servo}}\ndevices: {a: {part: p}, b: {part: p}}\n",
    ],
    ids=["nothing", "strangers only", "no leads"],
)
def test_little_or_nothing_is_drawn_too(text: str) -> None:
    plan = plan_of_text(text)
    data = drawn(plan)
    check_geometry(data)
    check_connections(data, plan)


ROLES = ("source", "switch", "regulator", "distribution", "receiver", "box", "load", "joint")
CARRIES = ("power", "power and signal", "signal", "power only", "signal only", "signal alone")
STATES = ("known", "incomplete", "collapse", "no supply", "not known")
NAMES = st.text(st.characters(codec="utf-8"), min_size=1, max_size=80)


@st.composite
def readings(draw: st.DrawFn) -> Reading:
    state = draw(st.sampled_from(STATES))
    value = draw(st.floats(0.0, 60.0)) if state in {"known", "incomplete"} else None
    return Reading(value, state)  # type: ignore[arg-type]


@st.composite
def plans(draw: st.DrawFn) -> WiringPlan:
    """Any wiring: circles, leads to the same device, many leads at one port, strangers."""
    size = draw(st.integers(1, 60))
    roles = draw(st.lists(st.sampled_from(ROLES), min_size=size, max_size=size))
    names = draw(st.lists(NAMES, min_size=size, max_size=size, unique=True))
    devices = tuple(
        PlanDevice(name, role, "kind", "part", name[::-1], 1 if role == "load" else 9)  # type: ignore[arg-type]
        for name, role in zip(names, roles, strict=True)
    )
    ends = st.builds(
        lambda device, port, known, volts: PlanEnd(
            device, str(port), known, (0 if known else 2, port), volts
        ),
        st.integers(0, size - 1),
        st.integers(1, 12),
        st.sampled_from([True, True, True, False]),
        st.none() | st.builds(EndVolts, readings(), readings(), st.just("hard-manoeuvre")),
    )
    pairs = draw(st.lists(st.tuples(ends, ends, st.sampled_from(CARRIES)), max_size=90))
    leads = tuple(
        PlanLead(index, start, end, carries, "a lead")  # type: ignore[arg-type]
        for index, (start, end, carries) in enumerate(pairs)
    )
    return WiringPlan("any.yaml", draw(NAMES), devices, leads, ())


def thick_wiring(dice: random.Random) -> WiringPlan:
    """Return 10 to 60 devices with up to two leads each, drawn by lot: hypothesis stays small."""
    size = dice.randint(10, 60)
    devices = tuple(
        PlanDevice(f"device {at} of {size}", dice.choice(ROLES), "kind", "part", "told", 9)  # type: ignore[arg-type]
        for at in range(size)
    )

    def end() -> PlanEnd:
        port = dice.randint(1, 12)
        volts = EndVolts(Reading(7.4, "known"), Reading(dice.choice([7.4, 6.9]), "known"), "rest")
        return PlanEnd(dice.randrange(size), str(port), known=True, order=(0, port), volts=volts)

    leads = tuple(
        PlanLead(index, end(), end(), dice.choice(CARRIES), "a lead")  # type: ignore[arg-type]
        for index in range(dice.randint(size // 2, 2 * size))
    )
    return WiringPlan("thick.yaml", "Thick", devices, leads, ())


@pytest.mark.parametrize("seed", range(40))
def test_much_wiring_is_drawn_cleanly(seed: int) -> None:
    plan = thick_wiring(random.Random(seed))  # noqa: S311  - a lot, not a secret
    data = drawn(plan)
    check_geometry(data)
    check_connections(data, plan)
    check_pin_order(data)


@settings(max_examples=60, deadline=None)
@given(plans())
def test_any_wiring_is_drawn_cleanly(plan: WiringPlan) -> None:
    data = drawn(plan)
    check_geometry(data)
    check_connections(data, plan)
    check_pin_order(data)


@settings(max_examples=10, deadline=None)
@given(plans())
def test_the_same_wiring_is_drawn_the_same(plan: WiringPlan) -> None:
    assert render_json(layout(plan)) == render_json(layout(plan))


def test_two_hundred_devices_are_drawn_cleanly() -> None:
    devices = [PlanDevice("pack", "source", "battery", "pack", "", 1)]
    devices += [PlanDevice(f"rx-{at}", "receiver", "receiver", "rx", "", 25) for at in range(9)]
    leads: list[PlanLead] = []

    def join(start: tuple[int, str], end: tuple[int, str]) -> None:
        ends = [
            PlanEnd(device, port, known=True, order=(0, int(port))) for device, port in (start, end)
        ]
        leads.append(PlanLead(len(leads), ends[0], ends[1], "power and signal", ""))

    for receiver in range(1, 10):
        join((0, "1"), (receiver, "25"))
        for port in range(1, 22):
            devices.append(PlanDevice(f"s-{receiver}-{port}", "load", "servo", "servo", "", 1))
            join((receiver, str(port)), (len(devices) - 1, "1"))
    assert len(devices) == 199
    plan = WiringPlan("large.yaml", "Large", tuple(devices), tuple(leads), ())
    data = drawn(plan)
    check_geometry(data)
    check_connections(data, plan)


@pytest.mark.parametrize("name", ["tarn-swift", "brisk-heron", "studies/one-lead-six-surfaces"])
def test_nothing_of_ordinary_length_is_cut(name: str) -> None:
    data = drawn(plan_of(EXAMPLES / f"{name}.yaml"))
    texts = [text for each in (*data["devices"], *data["leads"], data) for text in each["texts"]]
    assert len(texts) > 30
    assert not [text for text in texts if "\N{HORIZONTAL ELLIPSIS}" in text["text"]]


def test_a_long_name_is_broken_and_cut_and_kept_whole_beside() -> None:
    name = "left-hand-inner-aileron-servo-of-the-second-set-behind-the-spar-with-a-long-name"
    text = f"holdshort: 1\nparts: {{p: {{kind: servo}}}}\ndevices: {{{name}: {{part: p}}}}\n"
    (device,) = drawn(plan_of_text(text))["devices"]
    first, second = [each for each in device["texts"] if each["style"] == "name"]
    assert first["text"] == "left-hand-inner-"
    assert second["text"].startswith("aileron-")
    assert second["text"].endswith("\N{HORIZONTAL ELLIPSIS}")
    assert first["whole"] == second["whole"] == device["name"] == name
