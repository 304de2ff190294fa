"""The facts that rules in data pick from: their shape, their figures, their places, their gaps."""

import json
import math
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

import holdshort.analysis
import holdshort.cli
from holdshort.analysis import Aircraft
from holdshort.analysis.fact_book import normalised_path, path_of
from holdshort.analysis.facts_document import facts
from holdshort.document import Document, read_document, read_file, show_path
from holdshort.setup import Loaded, load

ROOT = Path(__file__).resolve().parents[2]
SCHEMA = json.loads(
    (Path(holdshort.analysis.__path__[0]) / "facts.schema.json").read_text(encoding="utf-8")
)
FILES = [
    *sorted(path for path in (ROOT / "examples").rglob("*.yaml") if path.parent.name != "parts"),
    *sorted((Path(holdshort.cli.__path__[0]) / "layouts").glob("*.yaml")),
]
AIRCRAFT_FILES = [
    path for path in FILES if re.search(r"^holdshort: 1", path.read_text("utf-8"), re.MULTILINE)
]
WHOLE_FILES = [path for path in AIRCRAFT_FILES if path.parent.name != "club"]
"""Those that need no parts from a hangar file."""

PLANE = """\
holdshort: 1
aircraft: {name: Wren, flight-time: 6 min, flights-per-charge: 2}
parts:
  pack: {kind: battery, chemistry: lipo, cells: 2, capacity: 2000 mAh, resistance: 10 mΩ}
  rx: {kind: receiver, voltage: {min: 4 V, max: 9 V}, ports: {1..2: servo, supply: supply},
       draws: {rest: 0.1 A, cruise: 0.1 A, peak: 0.1 A, start: 0.1 A}}
  servo: {kind: servo, idle-current: 10 mA, cruise-current: 200 mA,
          ratings: [{at: 8.4 V, torque: 25 kg.cm, stall-current: 2 A}]}
  big-servo: {like: servo, mass: 65 g}
  box: {kind: gyro, ports: {bus: bus-in, 1..2: servo}}
devices:
  main: {part: pack}
  rx: {part: rx}
  ail: {part: big-servo}
  box: {part: box, mounting: {plugs: forward, label: up}, told: {plugs: aft, label: up}}
leads:
  - {from: main, to: rx.supply, wire: 20 AWG, length: 350 mm}
  - {from: rx.1, to: ail, wire: 22 AWG, length: 30 cm}
radio:
  pulse: {centre: 1520 us, full: 400 us}
  channels: {1: {drives: aileron, travel: 125 %, trim: -5 %}, 2: {drives: lights}}
failsafe: {rx: {after: 1 s, channels: {1: neutral}}}
"""


def read(text: str = PLANE) -> Loaded:
    def no_catalogue(name: str) -> Document:
        raise AssertionError(name)

    return load(read_document(text.encode(), "wren.yaml"), no_catalogue)


def facts_of(text: str = PLANE) -> tuple[Any, Any]:
    loaded = read(text)
    assert loaded.faults == ()
    return facts(Aircraft(loaded.setup))


def opened(path: Path) -> Aircraft:
    def catalogue(name: str) -> Document:
        return read_file(path.parent / name)

    return Aircraft(load(read_file(path), catalogue).setup)


def nodes(node: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[tuple[Any, ...], Any]]:
    yield path, node
    items: Any = node.items() if isinstance(node, dict) else ()
    for key, item in enumerate(node) if isinstance(node, list) else items:
        yield from nodes(item, (*path, key))


def at(tree: Any, path: tuple[Any, ...]) -> Any:
    for step in path:
        tree = tree[step]
    return tree


# The shape


def test_there_are_files_to_try() -> None:
    assert len(AIRCRAFT_FILES) > 8


@pytest.mark.parametrize("path", AIRCRAFT_FILES, ids=lambda path: path.stem)
def test_every_example_and_layout_has_the_documented_shape(path: Path) -> None:
    aircraft = opened(path)
    tree, origins = facts(aircraft)
    assert json.loads(json.dumps(tree, allow_nan=False)) == tree
    Draft202012Validator(SCHEMA).validate(tree)
    check_places(aircraft, tree, origins)
    check_gaps(tree)


def check_places(aircraft: Aircraft, tree: Any, origins: Any) -> None:
    """Every node has a place, and every place is in a file of the setup."""
    for path, _ in nodes(tree):
        place = origins[normalised_path(path)]
        assert aircraft.setup.span(place).line >= 1
        if path[:1] == ("setup",):
            assert (place.file, place.path) == (aircraft.setup.file, path[1:])


def check_gaps(tree: Any) -> None:
    """What is missing is absent, and what it would stand in is there."""
    paths = [path_of(gap["path"]) for gap in tree["missing"]]
    assert len(set(paths)) == len(paths)
    for path in paths:
        assert path[-1] not in at(tree, path[:-1]), path


def test_the_schema_is_a_schema_and_closed() -> None:
    Draft202012Validator.check_schema(SCHEMA)
    for path, node in nodes(SCHEMA):
        if isinstance(node, dict) and node.get("type") == "object":
            assert "additionalProperties" in node, path


def test_every_figure_in_the_schema_says_its_unit() -> None:
    units = ("(V)", "(A)", "(Ah)", "(W)", "(s)", "(us)", "(Hz)", "parts of 1", "in volts",
             "in amperes", "in ampere-hours", "without unit", "No unit", "in the unit that",
             "counted from 1", "from 0", "(N.m)", "(deg)",
             "(m/s)", "(kg)", "(m)", "(l)")  # fmt: skip
    figures = [
        (path, node)
        for path, node in nodes(SCHEMA)
        if isinstance(node, dict) and node.get("type") in ("number", "integer")
    ]
    assert len(figures) > 30
    for path, node in figures:
        assert any(unit in node["description"] for unit in units), path


@pytest.mark.parametrize("path", WHOLE_FILES, ids=lambda path: path.stem)
def test_the_setup_stands_as_declared_with_quantities_spelt_out(path: Path) -> None:
    document = read_file(path)
    tree, _ = facts(opened(path))
    assert as_written(tree["setup"]) == document.root


def as_written(node: Any) -> Any:
    if isinstance(node, dict):
        if node.keys() == {"text", "si", "unit"}:
            return node["text"]
        return {key: as_written(item) for key, item in node.items()}
    return [as_written(item) for item in node] if isinstance(node, list) else node


# The figures


def test_quantities_are_in_si() -> None:
    tree, _ = facts_of()
    parts, leads = tree["setup"]["parts"], tree["setup"]["leads"]
    # 2000 mAh = 2 A x 3600 s
    assert parts["pack"]["capacity"] == {"text": "2000 mAh", "si": 7200.0, "unit": "C"}
    assert parts["pack"]["resistance"] == {"text": "10 mΩ", "si": 0.01, "unit": "ohm"}
    # 25 kg.cm x 9.80665 m/s2 x 0.01 m/cm
    torque = parts["servo"]["ratings"][0]["torque"]
    assert torque == {"text": "25 kg.cm", "si": 2.4516625, "unit": "N.m"}
    assert parts["big-servo"]["mass"] == {"text": "65 g", "si": 0.065, "unit": "kg"}
    assert leads[0]["length"] == {"text": "350 mm", "si": 0.35, "unit": "m"}
    # ASTM B258 (from memory): 20 AWG is 0.8118 mm across
    assert leads[0]["wire"]["unit"] == "m2"
    assert leads[0]["wire"]["si"] == pytest.approx(math.pi / 4 * 0.8118e-3**2, rel=1e-3)
    channel = tree["setup"]["radio"]["channels"]["1"]
    assert channel["travel"] == {"text": "125 %", "si": 1.25, "unit": "1"}
    assert channel["trim"] == {"text": "-5 %", "si": -0.05, "unit": "1"}
    assert tree["setup"]["radio"]["pulse"]["centre"]["si"] == 0.00152


def test_ratings_that_a_part_has_from_another_one_point_there() -> None:
    tree, origins = facts_of()
    device = tree["computed"]["devices"]["ail"]
    assert (device["part"], device["kind"]) == ("big-servo", "servo")
    assert device["ratings"]["mass"]["si"] == 0.065
    assert device["ratings"]["ratings"][0]["stall-current"]["si"] == 2.0
    here = "$['computed']['devices']['ail']['ratings']['mass']['si']"
    assert origins[here].path == ("parts", "big-servo", "mass", "si")
    there = "$['computed']['devices']['ail']['ratings']['idle-current']"
    assert origins[there].path == ("parts", "servo", "idle-current")


def test_a_full_pack_that_gives_nothing_stands_at_its_full_voltage() -> None:
    tree, origins = facts_of()
    rail = tree["computed"]["rails"]["rx"]
    # two lithium-polymer cells of 4.2 V, nothing drawing
    assert rail["highest_volts"] == {"state": "known", "value": 8.4, "case": "rest"}
    assert rail["rated_max_volts"] == 9.0
    assert origins["$['computed']['rails']['rx']['rated_max_volts']"].path == (
        "parts", "rx", "voltage", "max",
    )  # fmt: skip
    assert origins["$['computed']['rails']['rx']['lowest_volts']"].path == ("devices", "rx")
    lowest = rail["lowest_volts"]
    assert lowest["value"] == min(case["value"] for case in rail["volts"].values())


def test_steady_flight_draws_what_the_devices_draw() -> None:
    tree, _ = facts_of()
    # 0.1 A of the receiver and 0.2 A of the servo, by way of one lead from one pack
    pack, lead = tree["computed"]["packs"]["main"], tree["computed"]["leads"][0]
    assert pack["amperes"]["cruise"]["value"] == pytest.approx(0.3)
    assert lead["amperes"]["cruise"]["value"] == pytest.approx(0.3)
    assert tree["computed"]["leads"][1]["amperes"]["cruise"]["value"] == pytest.approx(0.2)
    # 0.3 A for 6 min is 0.03 A h; two flights are 0.06 A h of 2 A h, so 97 % is left
    assert pack["use"]["per_flight_ampere_hours"]["value"] == pytest.approx(0.03)
    assert pack["use"]["left_share"]["value"] == pytest.approx(0.97)


def test_pulses_follow_the_radio() -> None:
    tree, origins = facts_of()
    channel = tree["computed"]["channels"]["1"]
    # 1520 us -+ 125 % of 400 us
    [pulses] = channel["pulses"]
    assert [pulses[f"{key}_microseconds"] for key in ("low", "centre", "high")] == [
        pytest.approx(1020.0),
        pytest.approx(1520.0),
        pytest.approx(2020.0),
    ]
    assert (channel["functions"], channel["ends"][0]["device"]) == (["aileron"], "ail")
    place = origins["$['computed']['channels']['1']['pulses'][0]['low_microseconds']"]
    assert show_path(place.path).startswith("radio.channels.1")


def test_failsafe_and_loss_of_link() -> None:
    tree, origins = facts_of()
    box = tree["computed"]["failsafe"]["rx"]
    assert (box["after_seconds"], box["channels"]["1"]["action"]) == (1.0, "neutral")
    assert "action" not in box["channels"]["2"]
    place = origins["$['computed']['failsafe']['rx']['channels']['1']['action']"]
    assert place.path == ("failsafe", "rx", "channels", "1")
    [output] = tree["computed"]["link_loss"]["all links"]["outputs"]
    assert (output["device"], output["decided_by"], output["action"]) == ("ail", "rx", "neutral")
    assert output["pulse_microseconds"] == pytest.approx(1520.0)


def test_a_gyro_told_that_it_faces_aft_has_roll_and_pitch_reversed() -> None:
    # half a turn about the vertical reverses the other two axes and not its own
    tree, origins = facts_of()
    gyro = tree["computed"]["gyros"]["box"]
    senses = {axis: belief["sense"] for axis, belief in gyro["beliefs"].items()}
    assert senses == {"roll": "reversed", "pitch": "reversed", "yaw": "right"}
    assert gyro["mounting"] == {"plugs": "forward", "label": "up", "right": "right"}
    told = origins["$['computed']['gyros']['box']['told']['plugs']"]
    assert told.path == ("devices", "box", "told")


def test_a_failed_pack_leaves_nothing() -> None:
    tree, _ = facts_of()
    [failure] = [item for item in tree["computed"]["failures"] if item["kind"] == "battery"]
    assert (failure["name"], failure["lost"]) == ("main", ["roll"])
    assert failure["rails"]["cruise"]["state"] == "dead"


# The gaps


def needs_at(tree: Any, path: str) -> list[str]:
    return [need for gap in tree["missing"] if gap["path"] == path for need in gap["needs"]]


def test_a_load_that_is_not_declared_makes_voltages_bounds() -> None:
    tree, _ = facts_of(PLANE.replace("cruise-current: 200 mA,", ""))
    volts = tree["computed"]["rails"]["rx"]["volts"]
    assert volts["rest"]["state"] == "known"
    assert volts["cruise"].keys() == {"state", "at_most"}
    assert tree["computed"]["packs"]["main"]["amperes"]["cruise"].keys() == {"state", "at_least"}
    path = "$['computed']['rails']['rx']['volts']['cruise']['value']"
    assert needs_at(tree, path) == ["the cruise current of servo `big-servo`"]
    lowest = "$['computed']['rails']['rx']['lowest_volts']['value']"
    assert "the cruise current of servo `big-servo`" in needs_at(tree, lowest)
    assert tree["computed"]["rails"]["rx"]["highest_volts"]["value"] == 8.4


@pytest.mark.parametrize(
    ("old", "new", "path", "need"),
    [
        (
            "capacity: 2000 mAh, ", "", "$['computed']['packs']['main']['capacity_ampere_hours']",
            "the capacity of `pack`",
        ),
        (
            "flight-time: 6 min, ", "",
            "$['computed']['packs']['main']['use']['left_share']['value']",
            "how long a flight is meant to last",
        ),
        (
            "  pulse: {centre: 1520 us, full: 400 us}\n", "",
            "$['computed']['channels']['1']['pulses'][0]['low_microseconds']", "`pulse`",
        ),
        (
            "after: 1 s, ", "", "$['computed']['failsafe']['rx']['after_seconds']", "`after`",
        ),
        (
            "", "", "$['computed']['failsafe']['rx']['channels']['2']['action']",
            "what `rx` does with channel 2",
        ),
        (
            ", told: {plugs: aft, label: up}", "", "$['computed']['gyros']['box']['beliefs']",
            "told",
        ),
        (
            "told: {plugs: aft, label: up}", "told: {plugs: aft, label: forward}",
            "$['computed']['gyros']['box']['beliefs']", "faces",
        ),
    ],
)  # fmt: skip
def test_what_is_not_known_says_what_is_needed(old: str, new: str, path: str, need: str) -> None:
    tree, origins = facts_of(PLANE.replace(old, new) if old else PLANE)
    assert any(need in text for text in needs_at(tree, path))
    assert origins[path].file == "wren.yaml"
    Draft202012Validator(SCHEMA).validate(tree)
    check_gaps(tree)


def test_no_supply_is_known_and_no_figure() -> None:
    loose = PLANE.replace("  - {from: main, to: rx.supply, wire: 20 AWG, length: 350 mm}\n", "")
    tree, _ = facts_of(loose)
    assert tree["computed"]["rails"]["rx"]["sources"] == []
    assert tree["computed"]["rails"]["rx"]["volts"]["cruise"] == {"state": "no supply"}
    Draft202012Validator(SCHEMA).validate(tree)


def test_entries_with_mistakes_are_left_out_and_named() -> None:
    loaded = read(PLANE.replace("{part: big-servo}", "{part: big-servo, nix: 1}"))
    assert loaded.faults
    tree, _ = facts(Aircraft(loaded.setup))
    assert "ail" not in tree["setup"]["devices"]
    assert tree["unread"] == ["devices.ail"]
    Draft202012Validator(SCHEMA).validate(tree)


def test_a_lead_with_mistakes_leaves_the_others_in_their_places() -> None:
    text = PLANE.replace("- {from: main, to: rx.supply, ", "- {from: main, nix: 1, ")
    tree, _ = facts(Aircraft(read(text).setup))
    assert tree["setup"]["leads"][0] is None
    assert tree["setup"]["leads"][1]["to"] == "ail"
    assert tree["computed"]["leads"][0]["lead"] == 1


def test_an_aircraft_with_nothing_in_it_has_the_shape() -> None:
    tree, _ = facts_of("holdshort: 1\n")
    Draft202012Validator(SCHEMA).validate(tree)
    assert tree["missing"] == []


BALANCE = """\
holdshort: 1
aircraft: {name: Wren, propulsion: none}
balance:
  range: {from: 370 mm, to: 395 mm}
  weighings:
    wheels:
      on: 2026-05-01
      points: {nose: {station: 0 mm, load: 2 kg}, mains: {station: 500 mm, load: 8 kg}}
"""


def test_the_balance_stands_with_its_places_and_what_it_lacks() -> None:
    """By hand: 8 kg of 10 at 500 mm are 400 mm, 5 mm behind the limit."""
    tree, places = facts_of(BALANCE)
    Draft202012Validator(SCHEMA).validate(tree)
    balance = tree["computed"]["balance"]
    assert balance["weighings"] == {"wheels": {"on": "2026-05-01"}}
    state = balance["states"]["ready to fly"]
    assert (state["mass_kg"], state["station_m"], state["inside_m"]) == (10.0, 0.4, -0.005)
    path = ("computed", "balance", "states", "ready to fly")
    assert show_path(places[normalised_path(path)].path) == "balance.weighings.wheels"
    tree, _ = facts_of(BALANCE.replace("station: 500 mm, ", ""))
    Draft202012Validator(SCHEMA).validate(tree)
    gaps = {gap["path"]: gap["needs"] for gap in tree["missing"]}
    lacking = gaps[normalised_path((*path, "station_m"))]
    assert lacking == ["the station of mains of the weighing `wheels`"]
    check_gaps(tree)


# Paths


@given(st.lists(st.text() | st.integers(0, 10**6)).map(tuple))
def test_paths_are_written_and_read_back(path: tuple[Any, ...]) -> None:
    assert path_of(normalised_path(path)) == path


# The examples of RFC 9535 section 2.7, table 19 (from memory).
@pytest.mark.parametrize(
    ("path", "written"),
    [
        (("a",), "$['a']"),
        ((1,), "$[1]"),
        (("a", "b", 1), "$['a']['b'][1]"),
        (("\x0b",), r"$['\u000b']"),
        (("it's",), r"$['it\'s']"),
    ],
)
def test_paths_are_normalised_as_the_rfc_says(path: tuple[Any, ...], written: str) -> None:
    assert normalised_path(path) == written
    assert path_of(written) == path


@pytest.mark.parametrize("text", ["", "a", "$.a", "$['a'", "$[-1]", "$['a']x"])
def test_other_texts_are_no_normalised_paths(text: str) -> None:
    with pytest.raises(ValueError, match=f"^{re.escape(text)}$"):
        path_of(text)
