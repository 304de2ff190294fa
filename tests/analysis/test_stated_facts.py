"""Stated facts: the same for the same setup however it is written, and none left out."""

import copy
import json
import random
import types
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import BeforeValidator

from holdshort.analysis import Aircraft
from holdshort.analysis.canonical import action_text, bounded, quantity_text
from holdshort.analysis.stated import TOPICS, stated
from holdshort.document import Document, read_document, read_file
from holdshort.setup import load
from holdshort.setup.balance import Balance
from holdshort.setup.base import CHANNEL_RUN, DAY, PORT_RUN, Prose, Section, Whole, Wording
from holdshort.setup.load import SECTIONS
from holdshort.setup.logs import LogColumns
from holdshort.setup.parts import PART_MODELS, Connector
from holdshort.setup.quantities import (
    CHARGE,
    DURATION,
    LENGTH,
    MASS,
    SHARE,
    TORQUE,
    VOLTAGE,
    WIRE,
    QuantityType,
)
from holdshort.setup.sections import (
    Aircraft as AircraftSection,
)
from holdshort.setup.sections import (
    Device,
    DeviceFailsafe,
    Lead,
    LoadCases,
    Radio,
    Surface,
)
from holdshort.setup.telemetry import Reading

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
TARN = EXAMPLES / "tarn-swift.yaml"

Facts = dict[str, dict[str, str]]


def catalogue(name: str) -> Document:
    return read_file(EXAMPLES / name, name)


def facts(tree: dict[str, Any]) -> Facts:
    document = read_document(json.dumps(tree).encode(), "drawn.yaml")
    setup = load(document, catalogue).setup
    assert setup.broken == frozenset()  # what cannot be read would be left out of both sides
    found = stated(Aircraft(setup))
    assert len({subject.name for subject in found}) == len(found)
    assert {subject.topic for subject in found} <= set(TOPICS)
    return {subject.name: dict(aspects) for subject, aspects in found.items()}


def tarn() -> dict[str, Any]:
    tree: dict[str, Any] = json.loads(json.dumps(read_file(TARN).root))
    return tree


# -- what the builder would call things ----------------------------------------------------------


def test_the_builders_own_terms() -> None:
    found = facts(tarn())
    assert found["channel 3"]["travel"] == "90 %"
    assert found["channel 4"]["reversed"] == "yes"
    assert found["channel 7"]["travel"] == "0 % low, 80 % high"
    assert found["device front-rx"]["port 9"] == "bus-out"
    assert found["device gyro-right"]["port 8"] == "servo, channel 7"
    assert found["device regulator-1"]["output"] == "7.4 V"
    assert found["device gyro-left"]["mounting"] == "plugs aft, label up"
    assert found["surface right aileron"]["longer pulse"] == "up"
    assert found["failsafe of rear-rx"]["channel 8"] == "stop"
    assert found["mode landing"]["gains yaw"] == "40 %"
    assert found["link main"]["heard by"] == "front-rx"
    assert found["lead front-rx.9 to gyro-left.bus-1"]["carries"] == "signal"
    assert found["lead pack-1 to regulator-1.in"]["wire"] == "14 AWG"
    assert found["part servo-mini"]["ratings at 7.4 V torque"] == "0.588399 N.m"
    assert found["aircraft"]["propulsion"] == "turbine"
    assert found["radio"]["throttle cut"] == "left shoulder switch, back"


def test_a_device_and_a_surface_of_one_name_are_two_subjects() -> None:
    found = facts(tarn())
    assert found["device rudder"]["kind"] == "servo"
    assert found["surface rudder"]["servo"] == "rudder"


def test_two_like_leads_are_two_subjects() -> None:
    tree = tarn()
    tree["leads"].append(tree["leads"][0])
    assert "lead pack-1 to regulator-1.in (2)" in facts(tree)


# -- equal things said otherwise -----------------------------------------------------------------

# International yard and pound agreement of 1959 (1 in = 25.4 mm, 1 lb = 0.45359237 kg), standard
# gravity 9.80665 m/s2 (3rd CGPM, 1901), ASTM B258 for wire gauges (20 AWG: 0.812 mm, 0.518 mm2).
EQUAL = [
    (VOLTAGE, "7.4 V", "7400 mV", "7.4 V"),
    (LENGTH, "1 in", "25.4 mm", "25.4 mm"),
    (LENGTH, "60 cm", "0.6 m", "600 mm"),
    (MASS, "1 lb", "453.59237 g", "0.453592 kg"),
    (CHARGE, "3.3 Ah", "3300 mAh", "3300 mAh"),
    (TORQUE, "10 kg.cm", "0.980665 N.m", "0.980665 N.m"),
    (DURATION, "1 min", "60 s", "60 s"),
    (SHARE, "+12.50%", "12.5 %", "12.5 %"),
    (WIRE, "20 AWG", "20AWG", "20 AWG"),
]


@pytest.mark.parametrize(("dimension", "one", "other", "text"), EQUAL)
def test_equal_quantities_have_equal_text(dimension: Any, one: str, other: str, text: str) -> None:
    kind = QuantityType(dimension, signed=one.startswith("+"))
    written = {quantity_text(kind.read(words), dimension) for words in (one, other)}
    assert written == {text}


@pytest.mark.parametrize(
    ("one", "other"), [("-100 %", "-100.0%"), ("1000 us", "1000.0µs"), ("hold", "hold")]
)
def test_failsafe_actions_are_written_in_one_way(one: str, other: str) -> None:
    assert action_text(one) == action_text(other)
    assert action_text(one) != action_text("-99 %")


def test_long_text_is_cut_and_still_tells_apart() -> None:
    one, other = bounded("x" * 2000), bounded("x" * 1999 + "y")
    assert one != other
    assert len(one) < 500


def test_one_thing_with_a_comma_is_not_two_things() -> None:
    texts = set()
    for held_by in (["strap, tape"], ["strap", "tape"], ["`strap", "tape`"], ["`strap, tape`"]):
        tree = tarn()
        tree["devices"]["gear"]["retained-by"] = held_by
        texts.add(facts(tree)["place of gear"]["retained by"])
    assert len(texts) == 4


def test_the_height_of_a_field_is_told_in_metres_and_a_lead_in_millimetres() -> None:
    assert facts(tarn())["aircraft"]["field height"] == "120 m"
    tree = tarn()
    tree["aircraft"]["field"]["height"] = "0.12 m"
    assert facts(tree)["aircraft"]["field height"] == "120 mm"


SAME: list[tuple[str, Any]] = [
    ("radio.channels.1", {"drives": ["left aileron"], "centre": "0.0%", "travel": {"low": "95 %", "high": "95%"}, "reversed": False, "changed": {"travel": "2026-05-02", "centre": "2026-05-02", "reversed": "2026-05-01"}}),  # noqa: E501
    ("devices.front-rx.ports", {"1": {"channel": 9, "does": "servo"}, "2": {"channel": 10}, "3": {"channel": 11}, "9..10": {"does": "bus-out"}}),  # noqa: E501
    ("surfaces.left aileron", {"function": "aileron", "side": "left", "servo": ["ail-left"], "steadied-in": ["roll"], "longer-pulse": "down", "deflection": {"down": "14.0 deg", "up": "18 deg"}, "loads": {"chord": "4.8 cm", "span": "0.4 m", "of-chord": "23 cm"}, "linkage": {"pushes": "up", "arm": "1.4 cm", "horn": "2 cm", "arm-angle": "0 deg", "horn-angle": "0.0 deg", "pushrod": "8.5 cm"}}),  # noqa: E501
    ("devices.gyro-left.mounting", {"label": "up", "plugs": "aft", "right": "left", "tilt": {"yaw": "0 deg", "roll": "0 deg", "pitch": "1 deg"}, "changed": "2026-04-18"}),  # noqa: E501
    ("failsafe.front-rx.channels", {"1": "neutral", "2..6": "neutral", "7": "up", "8": "stop", "9": "down", "10": "off", "11": "on", "12": "-100.00 %"}),  # noqa: E501
    ("aircraft.mass", {"ready": "17200 g", "dry": "13.90 kg"}),
    ("leads.0", {"from": "pack-1.out", "to": "regulator-1.in", "wire": "14AWG", "length": "0.2 m", "carries": "power"}),  # noqa: E501
    ("radio.links.main.note", "heard well"),
    ("devices.front-rx.note", "behind the bulkhead"),
    ("balance.weighings.wheels on three scales.note", "level by the wing root"),
]  # fmt: skip


@pytest.mark.parametrize(("path", "value"), SAME, ids=[path for path, _ in SAME])
def test_the_same_said_otherwise_states_the_same(path: str, value: Any) -> None:
    tree = tarn()
    steps = path.split(".")
    node: Any = tree
    for step in steps[:-1]:
        node = node[int(step) if isinstance(node, list) else step]
    last: Any = int(steps[-1]) if isinstance(node, list) else steps[-1]
    stands = node[last] if isinstance(node, list) else node.get(last)
    # What the example says besides, such as how a lead is held, stays as it is.
    whole = {**stands, **value} if "leads" in path and isinstance(stands, dict) else value
    put(tree, steps, whole)
    assert tree != tarn()
    assert facts(tree) == facts(tarn())


def put(tree: Any, steps: list[str], value: Any) -> None:
    for step in steps[:-1]:
        tree = tree[int(step)] if isinstance(tree, list) else tree[step]
    last: Any = int(steps[-1]) if isinstance(tree, list) else steps[-1]
    tree[last] = value


@settings(max_examples=30)
@given(st.integers())
def test_the_order_of_keys_states_nothing(seed: int) -> None:
    source = random.Random(seed)  # noqa: S311  - a shuffle for a test

    def shuffled(value: Any) -> Any:
        if isinstance(value, list):
            return [shuffled(item) for item in value]
        if not isinstance(value, dict):
            return value
        keys = list(value)
        source.shuffle(keys)
        return {key: shuffled(value[key]) for key in keys}

    assert facts(shuffled(tarn())) == facts(tarn())


# -- nothing is left out -------------------------------------------------------------------------

# Every leaf of every section, changed by itself, changes what is stated; but for these, which say
# nothing about the aircraft.
NO_FACT = {
    "note": "words for people",
    "title": "words for people about a part",
    "source": "where a maker's figures come from",
    "can-be": "what a port could be set to instead",
    "delivered": "what a port was before it was set to what it does",
}
# Sections that are no setup: the version, where parts are read from, and evidence about the setup.
NO_SECTION = {"holdshort", "catalogues", "observations", "sign-offs", "deferrals"}
WHOLE: dict[str, Any] = {
    "aircraft": AircraftSection,
    "radio": Radio,
    "load-cases": LoadCases,
    "balance": Balance,
    "log": LogColumns,
}
NAMED: dict[str, Any] = {
    "devices": Device,
    "failsafe": DeviceFailsafe,
    "surfaces": Surface,
    "telemetry": Reading,
}


def sample(shape: Any, other: bool, marks: tuple[Any, ...] = ()) -> Any:
    """Return one of two valid values of an annotation, with everything in it that may be there."""
    marked = [found for mark in marks for found in by_mark(shape, mark, other)]
    if marked:
        return marked[0]
    origin, inner = get_origin(shape), get_args(shape)
    if origin is Annotated:
        return sample(inner[0], other, (*inner[1:], *marks))
    if origin in {Union, types.UnionType}:
        return sample(next(part for part in inner if part is not types.NoneType), other)
    if origin is Literal:
        return inner[1] if other and len(inner) > 1 else inner[0]
    if origin is tuple:
        return [sample(inner[0], flag) for flag in ((False, True) if several(marks) else (other,))]
    if origin is dict:
        return {str(sample(inner[0], False)): sample(inner[1], other)}
    return (
        other
        if shape is bool
        else {key: sample(hint, other) for key, hint in fields(shape).items()}
    )


def by_mark(shape: Any, mark: Any, other: bool) -> Iterator[Any]:
    """Yield the value that a marker of an annotation asks for, if it asks for one."""
    if isinstance(mark, QuantityType):
        yield f"{'2.5' if other else '1.5'} {list(mark.dimension.units)[-1]}"
    elif isinstance(mark, Whole):
        yield mark.low + 1 if other else mark.low
    elif isinstance(mark, Wording):
        yield worded(mark, other)
    elif isinstance(mark, Prose):
        yield "other words" if other else "words"
    elif isinstance(mark, BeforeValidator) and get_origin(shape) is tuple:
        yield [sample(get_args(shape)[0], other)]


def several(marks: tuple[Any, ...]) -> bool:
    """Tell whether a list needs two items or more."""
    bounds = [bound for mark in marks for bound in (mark, *getattr(mark, "metadata", ()))]
    return max([getattr(bound, "min_length", 0) or 0 for bound in bounds], default=0) > 1


def worded(mark: Wording, other: bool) -> str:
    if mark is DAY:
        return "2026-05-02" if other else "2026-05-01"
    if mark in {PORT_RUN, CHANNEL_RUN}:
        return "1"
    if len(mark.examples) > 1:
        return mark.examples[1 if other else 0]
    return f"{mark.examples[0]}{'x' if other else ''}"


def fields(model: type[Section]) -> dict[str, Any]:
    assert issubclass(model, Section), model
    hints = get_type_hints(model, include_extras=True)
    return {info.alias or name: hints[name] for name, info in model.model_fields.items()}


def leaves(value: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    if isinstance(value, dict):
        for key, item in value.items():
            yield from leaves(item, (*path, key))
    elif isinstance(value, list):
        for index, item in enumerate(value):
            yield from leaves(item, (*path, index))
    else:
        yield path


def at(value: Any, path: tuple[str | int, ...]) -> Any:
    for step in path:
        value = value[step]
    return value


def replaced(value: Any, path: tuple[str | int, ...], new: Any) -> Any:
    changed = copy.deepcopy(value)
    holder = at(changed, path[:-1])
    holder[path[-1]] = new
    return changed


BOX = {"kind": "gyro", "ports": {"1": {"can-be": ["servo", "pulse-in"]}, "2": "servo"}}


def home(section: str, value: Any) -> dict[str, Any]:
    """Return a setup file with one entry of a section in it."""
    tree: dict[str, Any] = {"holdshort": 1, "parts": {"box": BOX}, "devices": {}}
    if section in WHOLE:
        tree[section] = value
    elif section == "leads":
        tree["leads"] = [value]
    elif section == "parts":
        tree["parts"] = {"box": value, "other": BOX}
        tree["devices"] = {"one": {"part": "box"}, "two": {"part": "other"}}
        tree["leads"] = [{"from": "one.1", "to": "two.1", "connectors": ["box"]}]
    elif section == "devices":
        tree["devices"] = {"one": {**value, "part": "box"}}
    else:
        tree[section] = {"one": value}
    return tree


def models() -> Iterator[tuple[str, Any]]:
    yield from WHOLE.items()
    yield from NAMED.items()
    yield "leads", Lead
    for model in dict.fromkeys(PART_MODELS.values()):
        yield "parts", model


def test_every_section_is_covered_or_argued_away() -> None:
    covered = {"leads", "parts", "follows", *WHOLE, *NAMED}
    assert covered | NO_SECTION == set(SECTIONS)


@pytest.mark.parametrize(
    ("section", "model"), list(models()), ids=lambda item: getattr(item, "__name__", item)
)
def test_every_field_of_every_model_is_stated(section: str, model: Any) -> None:
    one, other = sample(model, False), sample(model, True)
    before = facts(home(section, one))
    missed = []
    for path in leaves(one):
        keys = {str(step) for step in path}
        if keys & set(NO_FACT) or path in {("kind",), ("part",)}:
            continue  # which part, and of what kind, are changed below
        if facts(home(section, replaced(one, path, at(other, path)))) == before:
            missed.append(path)
    assert missed == []


def test_what_says_nothing_changes_nothing() -> None:
    device = sample(Device, False)
    for path, value in ((("note",), "other words"),):
        assert facts(home("devices", replaced(device, path, value))) == facts(
            home("devices", device)
        )


def test_the_part_of_a_device_its_kind_and_the_codes_are_stated() -> None:
    for path, value in (
        ("devices.flap-left.part", "servo-mini"),
        ("follows", ["uk", "canada"]),
        ("leads.3.to", "rear-rx.supply"),
    ):
        tree = tarn()
        put(tree, path.split("."), value)
        assert facts(tree) != facts(tarn())


def test_ratings_of_a_connector_in_a_lead_are_stated() -> None:
    plug = {"kind": "connector", "contact-current": "3 A"}
    assert facts(home("parts", plug))["part box"]["contact current"] == "3 A"
    assert Connector in PART_MODELS.values()
