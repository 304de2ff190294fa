"""Two setups side by side: nothing where nothing differs, mirrored, and the shortest way back."""

import copy
import json
import random
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import Any, cast

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.analysis import Aircraft
from holdshort.analysis.compared import Compared, SubjectChange
from holdshort.analysis.proof import Evidence, Judged, fingerprint
from holdshort.analysis.redo import must_be_done
from holdshort.document import Document, read_document, read_file
from holdshort.setup import load

PAIRS = Path(__file__).parent / "pairs"

Tree = dict[str, Any]


def no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def aircraft(tree: Tree, name: str = "drawn.yaml") -> Aircraft:
    loaded = load(read_document(json.dumps(tree).encode(), name), no_catalogue)
    assert loaded.faults == ()
    return Aircraft(loaded.setup)


def compared(old: Tree, new: Tree, **more: Any) -> Compared:
    return Compared(aircraft(old, "old.yaml"), aircraft(new, "new.yaml"), **more)


@cache
def example(name: str = "radio-before.yaml") -> Tree:
    tree: Tree = json.loads(json.dumps(read_file(PAIRS / name).root))
    tree.pop("sign-offs", None)
    return tree


def put(tree: Tree, path: str, value: Any) -> Tree:
    """Return the tree with one value set; deleted where the value is None."""
    changed: Tree = copy.deepcopy(tree)
    node: Any = changed
    steps = path.split(".")
    for step in steps[:-1]:
        node = node[_key(node, step)]
    last = _key(node, steps[-1])
    if value is None:
        del node[last]
    else:
        node[last] = value
    return changed


def _key(node: Any, step: str) -> Any:
    return int(step) if isinstance(node, list) else step


EDITS: list[tuple[str, Any]] = [
    ("radio.channels.2.travel", "85 %"),
    ("radio.channels.3.travel", "95 %"),
    ("radio.channels.4.centre", "3 %"),
    ("radio.channels.2.reversed", False),
    ("radio.transmitter", "another handset"),
    ("radio.modes.gyro off.gyro", "on"),
    ("surfaces.rudder.longer-pulse", "left"),
    ("devices.box.told.label", "down"),
    ("devices.pack.at.station", "300 mm"),
    ("devices.main-rx.aerials.0.points", "forward"),
    ("devices.rudder.part", "other-servo"),
    ("failsafe.main-rx.channels.3", "stop"),
    ("failsafe.main-rx.after", "0.5 s"),
    ("leads.0.length", "35 cm"),
    ("leads.3.from", "box.6"),
    ("aircraft.flight-time", "8 min"),
    ("radio.channels.6", None),
]
edits = st.lists(st.sampled_from(EDITS), max_size=4, unique_by=lambda one: one[0])


def edited(tree: Tree, several: Iterable[tuple[str, Any]]) -> Tree:
    for path, value in several:
        tree = put(tree, path, value)
    return tree


def shuffled(value: object, draw: random.Random) -> Any:
    """Return the same with its keys in another order; lists keep theirs."""
    if isinstance(value, dict):
        fields = cast("dict[str, object]", value)
        items = [(key, shuffled(item, draw)) for key, item in fields.items()]
        draw.shuffle(items)
        return dict(items)
    if isinstance(value, list):
        return [shuffled(item, draw) for item in cast("list[object]", value)]
    return value


def mirrored(change: SubjectChange) -> SubjectChange:
    aspects = tuple(one._replace(was=one.now, now=one.was) for one in change.aspects)
    return change._replace(aspects=aspects, came=change.went, went=change.came)


def unordered(changes: Iterable[SubjectChange]) -> set[tuple[Any, ...]]:
    return {(one.topic, one.name, frozenset(one.aspects), one.came, one.went) for one in changes}


def everything(of: Compared) -> tuple[Any, ...]:
    return (
        *(of.changes, of.moved_leads, of.leftovers, of.unconfirmed, of.fallen, of.again),
        *(tuple(of.renames.devices), tuple(of.renames.parts), tuple(of.no_longer_asked)),
    )


# -- what always holds ---------------------------------------------------------------------------


@settings(max_examples=12, deadline=None)
@given(edits)
def test_a_setup_does_not_differ_from_itself(several: list[tuple[str, Any]]) -> None:
    tree = edited(signed(), several)
    assert not any(everything(compared(tree, tree)))


@settings(max_examples=12, deadline=None)
@given(edits, edits)
def test_what_came_one_way_went_the_other(
    one: list[tuple[str, Any]], other: list[tuple[str, Any]]
) -> None:
    old, new = edited(example(), one), edited(example(), other)
    there, back = compared(old, new), compared(new, old)
    assert unordered(map(mirrored, there.changes)) == unordered(back.changes)
    assert {(one.stays, one.was, one.now) for one in there.moved_leads} == {
        (one.stays, one.now, one.was) for one in back.moved_leads
    }
    assert {new: old for old, new in there.renames.devices.items()} == back.renames.devices


@settings(max_examples=12, deadline=None)
@given(edits, st.randoms(use_true_random=False))
def test_the_order_of_keys_changes_nothing(
    several: list[tuple[str, Any]], draw: random.Random
) -> None:
    tree = edited(signed(), several)
    assert not any(everything(compared(tree, shuffled(tree, draw))))


def test_comments_and_layout_change_nothing() -> None:
    text = (PAIRS / "radio-before.yaml").read_text(encoding="utf-8")
    plain = "\n".join(line.split(" #")[0] for line in text.splitlines() if line.strip()[:1] != "#")
    old = load(read_document(text.encode(), "old.yaml"), no_catalogue).setup
    new = load(read_document(plain.encode(), "new.yaml"), no_catalogue).setup
    assert plain != text
    assert not any(everything(Compared(Aircraft(old), Aircraft(new))))


@pytest.mark.parametrize(("path", "value"), EDITS)
def test_each_edit_shows(path: str, value: Any) -> None:
    found = compared(example(), put(example(), path, value))
    assert found.changes
    assert all(one.is_setting for one in found.changes)


def test_a_date_is_no_setting() -> None:
    later = put(example(), "radio.channels.2.changed.travel", "2026-05-09")
    (change,) = compared(example(), later).changes
    assert (change.name, change.is_setting) == ("channel 2", False)


# -- names ---------------------------------------------------------------------------------------


def called_otherwise(tree: Tree, names: dict[str, str]) -> Tree:
    """Return the same aircraft with devices under other names."""
    text = json.dumps(tree)
    for old, new in names.items():
        text = text.replace(f'"{old}"', f'"{new}"').replace(f'"{old}.', f'"{new}.')
    changed: Tree = json.loads(text)
    changed["surfaces"] = {
        key: {**surface, "servo": names.get(surface["servo"], surface["servo"])}
        for key, surface in tree["surfaces"].items()
    }
    return changed


@pytest.mark.parametrize(
    "names",
    [
        {"main-rx": "nose-rx"},
        {"ail-left": "wing servo 1", "ail-right": "wing servo 2"},
        # Neighbours of each other, so that the one is known only when the other is.
        {"box": "gyro", "ail-left": "a1", "elev": "a3"},
        {"pack": "upper pack"},
    ],
)
def test_a_new_name_is_no_new_device(names: dict[str, str]) -> None:
    found = compared(example(), called_otherwise(example(), names))
    assert found.renames.devices == names
    assert not found.changes
    assert not found.moved_leads


def test_two_that_could_be_meant_are_not_guessed() -> None:
    tree = copy.deepcopy(example())
    tree["parts"]["lamp"] = {"kind": "lights", "ports": {"in": "pulse-in"}}
    tree["parts"]["rx"]["ports"]["7..8"] = "servo"
    for port, name in (("7", "lamp-a"), ("8", "lamp-b")):
        tree["devices"][name] = {"part": "lamp"}
        tree["leads"].append({"from": f"main-rx.{port}", "to": name})
    new = called_otherwise(tree, {"lamp-a": "lamp-c", "lamp-b": "lamp-d"})
    # Told apart by the ports that they hang on.
    assert compared(tree, new).renames.devices == {"lamp-a": "lamp-c", "lamp-b": "lamp-d"}
    tree["leads"][-1]["from"] = tree["leads"][-2]["from"] = "main-rx.7"
    new["leads"][-1]["from"] = new["leads"][-2]["from"] = "main-rx.7"
    found = compared(tree, new)
    assert not found.renames.devices
    assert {
        (one.name, one.came) for one in found.changes if one.name.startswith("device lamp")
    } == {
        ("device lamp-a", False),
        ("device lamp-b", False),
        ("device lamp-c", True),
        ("device lamp-d", True),
    }


def test_a_part_of_equal_ratings_under_a_new_name_is_no_new_part() -> None:
    new = json.loads(json.dumps(example()).replace('"servo-9"', '"wing servo"'))
    found = compared(example(), new)
    assert found.renames.parts == {"servo-9": "wing servo"}
    assert not found.changes


def test_what_a_log_says_of_a_device_follows_its_name() -> None:
    log = {"columns": {"Rx V": {"measures": "voltage", "at": "main-rx"}}}
    old = {**example(), "log": log}
    assert not compared(old, called_otherwise(old, {"main-rx": "nose-rx"})).changes


# -- leads and channels --------------------------------------------------------------------------


def test_two_servos_that_swap_ports_are_two_leads_to_move() -> None:
    tree = put(put(example(), "leads.3.from", "box.2"), "leads.4.from", "box.1")
    moved = {(one.stays, one.was, one.now) for one in compared(example(), tree).moved_leads}
    assert [lead["to"] for lead in example()["leads"][3:5]] == ["ail-left", "elev"]
    assert moved == {("ail-left", "box.1", "box.2"), ("elev", "box.2", "box.1")}


def test_another_device_in_the_same_port_is_the_other_end_of_the_lead() -> None:
    tree = put(example(), "leads.3.to", "smoke")
    tree["devices"]["smoke"] = {"part": "other-servo"}
    moved = [(one.stays, one.was, one.now) for one in compared(example(), tree).moved_leads]
    assert moved == [("box.1", "ail-left", "smoke")]


def test_a_channel_layout_that_was_copied_leaves_channels_over() -> None:
    old, new = example("layout-giver.yaml"), example("layout-taker.yaml")
    found = compared(old, new, same_aircraft=False)
    # By the files: the taker has no retracts; its brake channel was set anew; 1 to 4 move servos.
    assert [(one.number, one.drives) for one in found.leftovers] == [(6, ("gear",))]
    assert [(one.number, one.origin) for one in found.unconfirmed] == [(2, "Fell Wren")]
    confirmed = put(new, "radio.channels.2.confirmed", "2026-06-01")
    assert not compared(old, confirmed, same_aircraft=False).unconfirmed


def test_a_change_of_the_whole_radio_system_is_told_lead_by_lead() -> None:
    """By the two files: two pulse receivers in place of one with a bus, the gyro taken out."""
    found = compared(example("radio-before.yaml"), example("radio-after.yaml"))
    moved = {(one.stays, one.was, one.now) for one in found.moved_leads}
    assert moved == {
        ("ail-left", "box.1", "left-rx.1"),
        ("ail-right", "box.5", "right-rx.1"),
        ("elev", "box.2", "left-rx.2"),
        ("rudder", "box.4", "right-rx.4"),
        ("throttle", "main-rx.3", "left-rx.3"),
        ("pack", "main-rx.supply", "left-rx.supply"),
    }
    gone = {one.name for one in found.changes if one.went and one.name.startswith("device")}
    come = {one.name for one in found.changes if one.came and one.name.startswith("device")}
    assert gone == {"device main-rx", "device box"}
    assert come == {"device left-rx", "device right-rx", "device pack-2"}
    assert not found.renames.devices


# -- sign-offs -----------------------------------------------------------------------------------


def sign(of: Evidence, name: str, on: str) -> Tree:
    proved = of.proves(name)
    return {
        "test": name,
        "on": on,
        "by": "A. Builder",
        "outcome": "passed",
        "proved": {subject: dict(facts) for subject, facts in proved.items()},
        "fingerprint": fingerprint(proved),
    }


@cache
def signed(name: str = "radio-before.yaml") -> Tree:
    """Return the example with every test signed for in order: one step of the work a day."""
    of = aircraft(example(name)).evidence
    signs = [sign(of, test.name, f"2026-06-{test.step:02}") for test in of.tests.values()]
    return {**copy.deepcopy(example(name)), "sign-offs": signs}


def counting(tree: Tree) -> set[str]:
    return {one.test.name for one in aircraft(tree).evidence.standings if one.standing.counts}


def signed_again(tree: Tree, names: Iterable[str]) -> Tree:
    of = aircraft(tree).evidence
    return {**tree, "sign-offs": [*tree["sign-offs"], *(sign(of, n, "2026-07-01") for n in names)]}


def names_of(tests: Iterable[Judged]) -> list[str]:
    return [one.test.name for one in tests]


def check_shortest(old: Tree, new: Tree) -> None:
    found = compared(old, new)
    fallen = {one.now.test.name for one in found.fallen}
    again = names_of(found.again)
    assert fallen == counting(old) & set(found.carried.tests) - counting(new)
    assert fallen <= counting(signed_again(new, again))
    every = names_of(aircraft(new).evidence.standings)
    for left_out in again:  # whatever else is signed for, without this one something stays fallen
        others = [name for name in every if name != left_out]
        assert not fallen <= counting(signed_again(new, others)), left_out


@pytest.mark.parametrize(
    ("several", "again"),
    [
        # Worked out by hand from what each test proves and rests on.
        ([("aircraft.flight-time", "8 min")], []),
        ([("radio.modes.gyro off.gyro", "on")], ["gyro off", "failsafe"]),
        ([("leads.0.length", "35 cm")], ["voltage under load", "range check engine off"]),
        ([("aircraft.name", "Fell Wren II")], ["model memory and full power"]),
    ],
)
def test_the_list_to_do_again(several: list[tuple[str, Any]], again: list[str]) -> None:
    old, new = signed(), edited(signed(), several)
    assert names_of(compared(old, new).again) == again
    check_shortest(old, new)


@settings(max_examples=5, deadline=None)
@given(edits)
def test_no_shorter_list_brings_back_what_fell(several: list[tuple[str, Any]]) -> None:
    check_shortest(signed(), edited(signed(), several))


def test_a_test_newly_asked_is_on_the_list_where_one_that_fell_rests_on_it() -> None:
    """Without a gyro `gyro off` is not asked; with one the failsafe test rests on it."""
    old = signed("radio-after.yaml")
    new = {**copy.deepcopy(example()), "sign-offs": old["sign-offs"]}
    found = compared(old, new)
    assert "gyro off" in aircraft(old).evidence.left_out
    assert "gyro off" in names_of(found.again)
    assert "gyro off" not in {one.now.test.name for one in found.fallen}
    check_shortest(old, new)
    back = compared(signed(), {**old, "sign-offs": []})
    assert {"gyro taught", "gyro correction", "gyro off"} <= set(back.no_longer_asked)


def test_what_was_signed_again_in_the_second_file_is_not_on_the_list() -> None:
    new = put(signed(), "radio.modes.gyro off.gyro", "on")
    done = signed_again(new, ["gyro off", "failsafe"])
    assert names_of(compared(signed(), new).again) == ["gyro off", "failsafe"]
    found = compared(signed(), done)
    assert "gyro off" in {one.now.test.name for one in found.fallen}
    assert names_of(found.again) == []


def test_no_sign_off_of_one_aircraft_counts_for_another() -> None:
    other = put(example(), "aircraft.name", "Fell Wren II")
    found = compared(signed(), other, same_aircraft=False)
    assert (found.fallen, found.no_longer_asked) == ((), {})
    assert names_of(found.again) == list(aircraft(other).evidence.tests)


def test_a_sign_off_that_falls_by_a_name_alone_says_so() -> None:
    new = called_otherwise({**signed(), "sign-offs": []}, {"elev": "tail"})
    new["sign-offs"] = signed()["sign-offs"]
    found = {one.now.test.name: one for one in compared(signed(), new).fallen}
    assert found["centres"].by_name_only
    turned = put(new, "radio.channels.4.centre", "3 %")
    found = {one.now.test.name: one for one in compared(signed(), turned).fallen}
    assert not found["centres"].by_name_only


def test_after_a_full_round_nothing_must_be_done() -> None:
    assert must_be_done(aircraft(signed()).evidence) == ()
