"""What sign-offs are worth: what voids them and what does not, order, age, changes by hand."""

import copy
import json
import random
import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import networkx as nx
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from holdshort.analysis import Aircraft
from holdshort.analysis.known_tests import KNOWN_TESTS, Chosen, KnownTest
from holdshort.analysis.proof import Change, Evidence, Judged, Standing, fingerprint
from holdshort.analysis.stated import NO_SETTINGS
from holdshort.document import Document, read_document, read_file
from holdshort.setup import Quantity, load

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"

Tree = dict[str, Any]
Path_ = tuple[str | int, ...]


def catalogue(name: str) -> Document:
    return read_file(EXAMPLES / name, name)


def evidence(tree: Tree, today: date | None = None, **more: Any) -> Evidence:
    document = read_document(json.dumps(tree).encode(), "drawn.yaml")
    loaded = load(document, catalogue)
    assert not loaded.setup.broken
    return Aircraft(loaded.setup, today=today, **more).evidence


def unsigned() -> Tree:
    tree: Tree = json.loads(json.dumps(read_file(EXAMPLES / "tarn-swift.yaml").root))
    tree.pop("sign-offs", None)
    return tree


def sign(of: Evidence, name: str, on: str, outcome: str = "passed") -> Tree:
    proved = of.proves(name)
    return {
        "test": name,
        "on": on,
        "by": "A. Builder",
        "outcome": outcome,
        "proved": {subject: dict(facts) for subject, facts in proved.items()},
        "fingerprint": fingerprint(proved),
    }


def all_signed() -> Tree:
    """Return the example, every test signed for in order: one step of the work a day."""
    tree = unsigned()
    of = evidence(tree)
    tree["sign-offs"] = [
        sign(of, name, f"2026-06-{test.step:02}") for name, test in of.tests.items()
    ]
    return tree


SIGNED = all_signed()
SIGN_OFFS = SIGNED["sign-offs"]


def standings(tree: Tree, today: date | None = None, **more: Any) -> dict[str, Judged]:
    return {one.test.name: one for one in evidence(tree, today, **more).standings}


def void(tree: Tree) -> set[str]:
    """Return the tests whose own proof has changed, those that only fall with another left out."""
    of = evidence(tree)
    return {
        name
        for name, test in of.tests.items()
        for one in of.signed(name)
        if of.changes(test, one.sign_off)
    }


def put(tree: Tree, path: str, value: Any) -> Tree:
    changed: Any = copy.deepcopy(tree)
    node = changed
    *steps, last = path.split(".")
    for step in steps:
        node = node[int(step)] if isinstance(node, list) else node[step]
    node[int(last) if isinstance(node, list) else last] = value
    return changed  # type: ignore[no-any-return]


def test_all_is_valid_as_signed() -> None:
    found = standings(SIGNED)
    assert len(found) == len(KNOWN_TESTS)  # a turbine with two of everything: all of them apply
    assert {one.standing for one in found.values()} == {Standing.VALID}
    assert void(SIGNED) == set()


# -- what a change voids, worked out from the trade ----------------------------------------------

FAILSAFES = {"failsafe", "failsafe of each receiver", "failsafe engine running"}
GYRO = {"gyro taught", "gyro correction"}
POWER = {"voltage under load", "each supply alone"}
RANGES = {"range check engine off", "range check engine running"}
RUNS = {"engine run", "both shut-downs"}
ALARMS = {"telemetry alarms"}

VOIDS: list[tuple[str, Any, set[str]]] = [
    # A travel: end points of linkages, of the gyro and of the failsafe.
    ("radio.channels.3.travel", "85 %", {"travels", *GYRO, *FAILSAFES}),
    # The throttle's: what the engine controller has learned, and what engine tests were done with.
    ("radio.channels.8.travel", "95 %", {"travels", "throttle range", *RUNS, *FAILSAFES}),
    # A centre: the gyro's too; it moves the ends as well.
    ("radio.channels.5.centre", "3 %", {"centres", "travels", *GYRO, *FAILSAFES}),
    # A reversal: whatever has a direction.
    ("radio.channels.4.reversed", False, {"directions", "travels", *GYRO, *FAILSAFES}),
    ("surfaces.rudder.longer-pulse", "left", {"directions", "travels", "gyro correction"}),
    # How the gyro sits, or was told.
    ("devices.gyro-left.told.label", "down", GYRO),
    ("devices.gyro-right.directions.yaw", "reversed", GYRO),
    ("radio.modes.gyro off.gyro", "on", {"gyro off"}),
    # Failsafe values.
    ("failsafe.rear-rx.channels.8", "idle", FAILSAFES),
    ("failsafe.front-rx.after", "0.5 s", FAILSAFES),
    # Power.
    ("devices.regulator-1.output", "6.6 V", POWER),
    ("leads.0.length", "35 cm", POWER),
    # A pack that is moved: balance, and what the aerials have about them.
    ("devices.pack-1.at.station", "300 mm", {"balance", *RANGES}),
    ("devices.front-rx.aerials.0.points", "forward", RANGES),
    # Another servo: it is centred, turns its own way, driven, fed and weighed anew.
    (
        "devices.nose.part",
        "servo-standard-hv",
        {"centres", "directions", "travels", "balance", *POWER},
    ),
    # A rod on another hole, or on the other side of the arm: neutral, way and throw.
    ("surfaces.rudder.linkage.arm", "13 mm", {"centres", "travels"}),
    ("surfaces.rudder.linkage.pushes", "left", {"centres", "directions", "travels"}),
    # The gain channel the other way round: many gyros correct the other way then.
    (
        "radio.channels.12.reversed",
        True,
        {"directions", "travels", "gyro correction", "gyro off", *FAILSAFES},
    ),
    ("radio.frame-rate", "50 Hz", RANGES),
    # Brakes that are to hold the running engine.
    ("radio.channels.10.travel", "80 %", {"travels", "engine run", *FAILSAFES}),
    ("radio.throttle-cut", "right shoulder switch", {"throttle range", *RUNS}),
    (
        "radio.transmitter",
        "another handset",
        {*FAILSAFES, *RANGES, *ALARMS, "receiver switch-over", "model memory and full power"},
    ),
    ("aircraft.name", "Tarn Swift 201", {"model memory and full power"}),
    # All that the balance is worked out from and judged by.
    ("balance.range.from", "240 mm", {"balance"}),  # it was 24 % of the chord
    ("balance.tanks.rear.order", 3, {"balance"}),
    ("balance.gear.mains.up", "890 mm", {"balance"}),
    ("balance.changes", {"lead": {"on": "2026-05-10", "mass": "90 g", "in": "1 m"}}, {"balance"}),
    ("devices.pack-1.mass", "200 g", {"balance"}),
    # What is read, by what, and where it alarms.
    ("telemetry.pack 1.alarm.below", "10.6 V", ALARMS),
    ("telemetry.exhaust.of", "engine-pack", ALARMS),
    ("devices.pack-sensor-1.address", 7, ALARMS),
    # What nobody tests by hand.
    ("balance.movable.engine-pack.to", "480 mm", set()),
    ("balance.ballast.nose.most", "600 g", set()),
    ("aircraft.flight-time", "8 min", set()),
    ("radio.modes.landing.gains.roll", "25 %", set()),
    ("devices.regulator-1.measured", "7.38 V", set()),
    ("devices.pack-1.alarm", "10.4 V", set()),
    ("devices.front-rx.note", "behind the bulkhead", set()),
    ("devices.gear.retained-by", ["two screws"], set()),
    ("surfaces.rudder.loads.chord", "61 mm", set()),
    ("surfaces.left flap.loads.speed", "36 m/s", set()),
    # To write down when a thing was last touched, before its tests.
    ("devices.rear-rx.at.changed", "2026-01-01", set()),
    ("devices.rear-rx.aerials.0.at.changed", "2026-01-01", set()),
]


@pytest.mark.parametrize(("path", "value", "expected"), VOIDS, ids=[path for path, *_ in VOIDS])
def test_a_change_voids_what_it_was_part_of_and_nothing_else(
    path: str, value: Any, expected: set[str]
) -> None:
    assert void(put(SIGNED, path, value)) == expected


@pytest.mark.parametrize(
    ("device", "expected"),
    [
        (
            "rear-rx",
            {"directions", "receiver switch-over", "balance",
             *FAILSAFES, *POWER, *RANGES, *ALARMS},
        ),
        (
            "gyro-left",
            {"directions", "receiver switch-over", "gyro off", "balance",
             *GYRO, *FAILSAFES, *POWER},
        ),
    ],
)  # fmt: skip
def test_another_box_on_the_way_gives_its_outputs_in_its_own_way(
    device: str, expected: set[str]
) -> None:
    tree = copy.deepcopy(SIGNED)
    shelf: Tree = json.loads(json.dumps(read_file(EXAMPLES / "parts" / "shelf.yaml").root))
    tree["parts"] = {"another": shelf["parts"][tree["devices"][device]["part"]]}
    tree["devices"][device]["part"] = "another"
    assert void(tree) == expected


def test_a_fuel_valve_worked_by_a_channel_is_part_of_the_shut_downs() -> None:
    tree = put(unsigned(), "radio.channels.11.drives", "fuel valve")
    of = evidence(tree)
    tree["sign-offs"] = [sign(of, name, "2026-06-10") for name in of.tests]
    changed = void(put(tree, "radio.channels.11.reversed", True))
    assert changed == {"directions", "travels", "fuel valve", "both shut-downs", *FAILSAFES}


def test_a_box_that_gives_power_may_give_signals_as_well() -> None:
    """A power distribution unit that passes signals on can reverse them, as F25 tells."""
    for name in ("directions", "failsafe", "receiver switch-over"):
        assert evidence(TWO_LIKE_SERVOS).proves(name)["device box"] == {"part": "box"}


def test_other_brakes_are_to_hold_the_running_engine_too() -> None:
    tree = put(SIGNED, "devices.brakes.part", "gear-sequencer")
    assert "engine run" in void(tree)


@pytest.mark.parametrize("key", ["centre", "trim"])
def test_the_gain_channel_moves_what_switches_the_gyro_off(key: str) -> None:
    assert "gyro off" in void(put(SIGNED, f"radio.channels.12.{key}", "3 %"))


def test_two_servo_leads_swapped_void_what_goes_along_them() -> None:
    tree = copy.deepcopy(SIGNED)
    one, other = (
        next(lead for lead in tree["leads"] if lead["to"] == name)
        for name in ("ail-left", "elev-left")
    )
    one["from"], other["from"] = other["from"], one["from"]
    expected = {
        "centres", "directions", "travels", "receiver switch-over", *GYRO, *FAILSAFES, *POWER
    }  # fmt: skip
    assert void(tree) == expected


def test_a_change_is_told_in_the_builders_words() -> None:
    found = standings(put(SIGNED, "radio.channels.3.travel", "110 %"))["travels"]
    assert found.standing is Standing.VOID
    assert [change.words for change in found.changes] == ["travel of channel 3 was 90 %, is 110 %"]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (
            Change("channel 3", "slow", now="2 s"),
            "slow of channel 3 is now 2 s, and was not stated",
        ),
        (
            Change("channel 3", "slow", was="2 s"),
            "slow of channel 3 was 2 s, and is no longer stated",
        ),
        (Change("surface canard", "", now="x"), "surface canard was not part of it"),
        (
            Change("surface canard", "", was="x", now="x"),
            "surface canard is no longer part of it",
        ),
        (
            Change("place of rx", "at", was="side 1 mm", now="side 2 mm"),
            "the place of rx was side 1 mm, is side 2 mm",
        ),
        (
            Change("way of channel 3", "to nose", was="rx.1 > nose", now="rx.2 > nose"),
            "the way of channel 3 to nose was rx.1 > nose, is rx.2 > nose",
        ),
        (
            Change("voltages worked out", "lowest at rx", was="6.01 V", now="5.90 V"),
            "the lowest voltage worked out at rx was 6.01 V, is 5.90 V",
        ),
        (
            Change("on link `main` lost", "engine at ecu", was="stop", now="idle"),
            "engine at ecu on link `main` lost was stop, is idle",
        ),
        (Change("surface canard", "", was="x"), "surface canard is gone"),
        (
            Change("channel 3", "travel last changed", touched="2026-07-01"),
            "travel of channel 3 was last changed on 2026-07-01",
        ),
        (
            Change("device gyro", "last taught", touched="2026-07-01"),
            "device gyro was last taught on 2026-07-01",
        ),
    ],
)
def test_every_kind_of_change_has_its_words(change: Change, words: str) -> None:
    assert change.words == words


# -- any edit ------------------------------------------------------------------------------------

QUANTITY = re.compile(r"([0-9.]+) ([a-zA-Z%]+)")
SETUP_SECTIONS = ("aircraft", "devices", "leads", "radio", "failsafe", "surfaces")


def leaves(value: Any, path: Path_ = ()) -> Iterator[tuple[Path_, Any]]:
    if isinstance(value, dict):
        for key, item in value.items():
            yield from leaves(item, (*path, key))
    elif isinstance(value, list):
        for index, item in enumerate(value):
            yield from leaves(item, (*path, index))
    else:
        yield path, value


EDITABLE = [
    (path, value)
    for section in SETUP_SECTIONS
    for path, value in leaves(SIGNED[section], (section,))
    if isinstance(value, bool) or (isinstance(value, str) and QUANTITY.fullmatch(value))
]


def edited(path: Path_, value: Any) -> Tree:
    tree: Any = copy.deepcopy(SIGNED)
    node = tree
    for step in path[:-1]:
        node = node[step]
    node[path[-1]] = value
    return tree  # type: ignore[no-any-return]


def flat(of: Evidence) -> dict[tuple[str, str], str]:
    return {
        (subject.name, aspect): text
        for subject, aspects in of.facts.items()
        for aspect, text in aspects.items()
        if aspect not in NO_SETTINGS
    }


BEFORE = flat(evidence(SIGNED))


@settings(max_examples=60)
@given(st.sampled_from(EDITABLE), st.integers(1, 30))
def test_any_edit_voids_exactly_what_proved_it_and_names_it(
    leaf: tuple[Path_, Any], number: int
) -> None:
    path, value = leaf
    if isinstance(value, bool):
        new: Any = not value
    else:
        unit = value.rpartition(" ")[2]
        new = f"{number} {unit}"
    assume(new != value)
    of = evidence(edited(path, new))
    after = flat(of)
    changed = {key for key in {*BEFORE, *after} if BEFORE.get(key) != after.get(key)}
    for sign_off in SIGN_OFFS:
        name = sign_off["test"]
        now = {(s, a) for s, facts in of.proves(name).items() for a in facts}
        then = {(s, a) for s, facts in sign_off["proved"].items() for a in facts}
        hit = changed & (now | then)
        found = of.standing(name)
        named = {(change.subject, change.aspect) for change in found.changes}
        assert (found.standing is Standing.VOID) == bool(hit)
        assert named == hit


@settings(max_examples=25)
@given(st.integers(), st.lists(st.sampled_from(["", "# a note: {", "   # - x: 1"]), max_size=4))
def test_order_comments_and_runs_void_nothing(seed: int, comments: list[str]) -> None:
    source = random.Random(seed)  # noqa: S311  - a shuffle for a test
    tree = shuffled(copy.deepcopy(SIGNED), source)
    for entry in tree["failsafe"].values():
        if "channels" in entry:
            run = entry["channels"].pop("1..6")
            entry["channels"] |= {str(number): run for number in range(1, 7)}
    text = "".join(f"{line}\n" for line in (*comments, json.dumps(tree), *comments))
    loaded = load(read_document(text.encode(), "drawn.yaml"), catalogue)
    assert loaded.faults == ()
    found = Aircraft(loaded.setup).evidence.standings
    assert {one.standing for one in found} == {Standing.VALID}


def shuffled(value: Any, source: random.Random) -> Any:
    if isinstance(value, list):
        return [shuffled(item, source) for item in value]
    if not isinstance(value, dict):
        return value
    keys = list(value)
    source.shuffle(keys)
    return {key: shuffled(value[key], source) for key in keys}


# -- dates ---------------------------------------------------------------------------------------


def test_what_was_set_anew_after_the_test_voids_it_and_on_the_day_does_not() -> None:
    on_the_day = put(SIGNED, "radio.channels.3.changed.travel", "2026-06-08")
    assert "travels" not in void(on_the_day)
    later = put(SIGNED, "radio.channels.3.changed.travel", "2026-06-09")
    assert "travels" in void(later)
    assert "directions" not in void(later)  # travels are none of theirs


def test_a_gyro_taught_again_is_to_be_tested_again() -> None:
    tree = put(SIGNED, "devices.gyro-left.taught", "2026-06-30")
    assert void(tree) == GYRO


def test_a_failsafe_set_again_is_to_be_tested_again() -> None:
    assert void(put(SIGNED, "failsafe.front-rx.set-on", "2026-06-30")) == FAILSAFES


def test_an_engine_taught_again_is_to_be_tested_again_whether_its_points_are_known_or_not() -> None:
    expected = {"throttle range", *RUNS, *FAILSAFES}
    assert void(put(SIGNED, "devices.engine.learned-on", "2026-06-30")) == expected
    tree = unsigned()
    del tree["devices"]["engine"]["learned"]
    of = evidence(tree)
    tree["sign-offs"] = [sign(of, name, "2026-06-10") for name in expected]
    assert void(tree) == set()
    assert void(put(tree, "devices.engine.learned-on", "2026-06-30")) == expected


def test_what_was_moved_again_is_to_be_tested_again() -> None:
    moved = put(SIGNED, "devices.rear-rx.at.changed", "2026-06-30")
    assert void(moved) == {"balance", *RANGES}
    found = standings(moved)["balance"].changes
    assert [one.words for one in found] == ["the place of rear-rx was last changed on 2026-06-30"]
    assert void(put(SIGNED, "devices.rear-rx.aerials.0.at.changed", "2026-06-30")) == RANGES


def test_what_leaves_a_test_is_not_said_to_be_gone() -> None:
    tree = copy.deepcopy(SIGNED)
    del tree["surfaces"]["rudder"]["steadied-in"]
    told = {one.words for one in standings(tree)["gyro taught"].changes}
    assert told == {"channel 5 is no longer part of it", "way of channel 5 is no longer part of it"}
    tree = copy.deepcopy(SIGNED)
    del tree["radio"]["channels"]["12"]
    told = {one.words for one in standings(tree)["gyro off"].changes}
    assert told == {"channel 12 is gone"}


def test_writing_down_later_when_a_thing_was_set_voids_nothing() -> None:
    tree = put(SIGNED, "radio.channels.11.changed", {"travel": "2026-05-01"})
    assert void(tree) == set()


# -- order ---------------------------------------------------------------------------------------


def with_sign_offs(*several: Tree) -> Tree:
    return {**SIGNED, "sign-offs": list(several)}


def own(name: str, **changes: Any) -> Tree:
    found = next(one for one in SIGN_OFFS if one["test"] == name)
    return {**copy.deepcopy(found), **changes}


def test_without_the_earlier_one_the_later_one_falls() -> None:
    found = standings(with_sign_offs(own("directions")))
    assert found["directions"].standing is Standing.FALLS
    assert found["directions"].earlier == ("centres",)
    assert found["centres"].standing is Standing.MISSING


def test_the_earlier_one_must_have_been_passed_by_the_day_of_the_later() -> None:
    late = standings(with_sign_offs(own("centres", on="2026-06-08"), own("directions")))
    assert late["directions"].standing is Standing.OUT_OF_ORDER
    assert late["directions"].earlier == ("centres",)
    same_day = standings(with_sign_offs(own("centres", on="2026-06-07"), own("directions")))
    assert same_day["directions"].standing is Standing.VALID


def test_an_earlier_one_done_again_the_same_leaves_the_later_in_order() -> None:
    again = with_sign_offs(own("centres"), own("directions"), own("centres", on="2026-07-01"))
    assert standings(again)["directions"].standing is Standing.VALID


def test_an_earlier_one_done_again_after_a_change_puts_the_later_out_of_order() -> None:
    tree = put(SIGNED, "radio.channels.6.trim", "4 %")  # a trim is part of the centres
    fresh = sign(evidence(tree), "centres", "2026-07-01")
    tree["sign-offs"] = [*SIGN_OFFS, fresh]
    found = standings(tree)
    assert found["centres"].standing is Standing.VALID
    assert found["directions"].standing is Standing.OUT_OF_ORDER
    assert found["travels"].standing is Standing.FALLS


def test_a_test_done_while_an_earlier_one_stood_as_failed_is_out_of_order() -> None:
    """Passed, failed, then the later one, then passed again: the later one had no ground."""
    centres = [
        own("centres"),
        own("centres", on="2026-06-06", outcome="failed"),
        own("centres", on="2026-06-09"),
    ]
    found = standings(with_sign_offs(*centres, own("directions")))  # of 2026-06-07
    assert found["centres"].standing is Standing.VALID
    assert found["directions"].standing is Standing.OUT_OF_ORDER
    again = standings(with_sign_offs(*centres, own("directions", on="2026-06-09")))
    assert again["directions"].standing is Standing.VALID
    of_the_day = with_sign_offs(*centres[:2], own("centres", on="2026-06-07"), own("directions"))
    assert standings(of_the_day)["directions"].standing is Standing.VALID
    unknown_order = [
        own("centres", on="2026-06-07"),
        own("centres", on="2026-06-07", outcome="failed"),
        own("centres", on="2026-06-09"),
    ]
    found = standings(with_sign_offs(*unknown_order, own("directions")))
    assert found["directions"].standing is Standing.VALID


def test_a_failed_test_takes_those_after_it_down() -> None:
    tree = with_sign_offs(*SIGN_OFFS, own("centres", on="2026-07-01", outcome="failed"))
    found = standings(tree)
    assert found["centres"].standing is Standing.FAILED
    assert found["directions"].standing is Standing.FALLS


def test_the_latest_counts_and_of_one_day_the_last_in_the_file() -> None:
    passed, failed = own("balance"), own("balance", outcome="failed")
    assert standings(with_sign_offs(passed, failed))["balance"].standing is Standing.FAILED
    assert standings(with_sign_offs(failed, passed))["balance"].standing is Standing.VALID


def test_what_falls_with_a_test_is_what_can_be_reached_from_it() -> None:
    of = evidence(SIGNED)
    graph = nx.DiGraph((earlier, name) for name, test in of.tests.items() for earlier in test.after)
    for name in of.tests:
        reached = nx.descendants(graph, name) if name in graph else set()
        assert set(of.resting_on(name)) == reached
    assert nx.is_directed_acyclic_graph(graph)


# -- today ---------------------------------------------------------------------------------------


def test_a_test_of_the_day_of_flying_is_good_for_that_day() -> None:
    fresh = [own(name, on="2026-08-01") for name in ("failsafe",)]
    tree = with_sign_offs(*SIGN_OFFS, *fresh)
    assert standings(tree, date(2026, 8, 1))["failsafe"].standing is Standing.VALID
    old = standings(tree, date(2026, 8, 2))["failsafe"]
    assert (old.standing, old.age) == (Standing.OLD, 1)
    assert standings(tree)["failsafe"].standing is Standing.VALID  # no day is known


def test_the_owners_limit_counts_for_tests_of_the_day() -> None:
    limits = {("sign-off-expired", "day-of-flying"): Quantity(7.0, "7 days")}
    found = standings(SIGNED, date(2026, 6, 21), limits=limits)
    assert found["failsafe"].standing is Standing.VALID  # the 14th: seven days
    later = standings(SIGNED, date(2026, 6, 22), limits=limits)
    assert later["failsafe"].standing is Standing.OLD


def test_old_is_old_and_takes_nothing_down() -> None:
    found = standings(SIGNED, date(2027, 1, 1))
    assert found["failsafe"].standing is Standing.OLD
    assert found["engine run"].standing is Standing.VALID


def test_a_day_still_to_come_does_not_count() -> None:
    found = standings(SIGNED, date(2026, 6, 4))
    assert found["centres"].standing is Standing.FUTURE
    assert found["directions"].standing is Standing.FUTURE


# -- changes by hand -----------------------------------------------------------------------------


@settings(max_examples=40)
@given(st.data())
def test_any_change_of_a_proof_by_hand_shows(data: st.DataObject) -> None:
    tree = copy.deepcopy(SIGNED)
    sign_off = data.draw(st.sampled_from([one for one in tree["sign-offs"] if one["proved"]]))
    subject = data.draw(st.sampled_from(sorted(sign_off["proved"])))
    how = data.draw(st.sampled_from(["text", "aspect", "subject", "fingerprint"]))
    if how == "text":
        aspect = data.draw(st.sampled_from(sorted(sign_off["proved"][subject])))
        sign_off["proved"][subject][aspect] += data.draw(st.sampled_from(["x", " ", "0"]))
    elif how == "aspect":
        sign_off["proved"][subject]["added"] = "x"
    elif how == "subject":
        del sign_off["proved"][subject]
    else:
        digits = sign_off["fingerprint"]
        sign_off["fingerprint"] = digits[1:] + ("1" if digits[0] != "1" else "0")
    assume(sign_off["fingerprint"] != fingerprint(sign_off["proved"]))
    found = standings(tree)[sign_off["test"]]
    assert found.standing is Standing.HAND_EDITED


@pytest.mark.parametrize("lost", ["proved", "fingerprint"])
def test_half_a_proof_is_none(lost: str) -> None:
    half = own("balance")
    del half[lost]
    assert standings(with_sign_offs(half))["balance"].standing is Standing.HAND_EDITED


def test_a_proof_is_kept_once_and_found_by_its_fingerprint() -> None:
    short = own("balance", on="2026-07-01")
    del short["proved"]
    kept = with_sign_offs(own("balance"), short)
    found = standings(kept)["balance"]
    assert (found.standing, found.signed and found.signed.sign_off.on) == (
        Standing.VALID,
        "2026-07-01",
    )
    moved = put(kept, "devices.pack-1.at.station", "300 mm")
    assert standings(moved)["balance"].standing is Standing.VOID


def test_a_fingerprint_of_another_test_holds_no_proof() -> None:
    other = own("centres")
    short = own("balance", fingerprint=other["fingerprint"])
    del short["proved"]
    found = standings(with_sign_offs(other, short))
    assert found["balance"].standing is Standing.HAND_EDITED


# -- other tests ---------------------------------------------------------------------------------


def club_test(**changes: Any) -> KnownTest:
    test = KnownTest(
        "wing bolts", "Wing bolts tight", 16, "flight", "the club asks", "hangar file",
        (Chosen(topics=("balance",)), Chosen(("place of *",))), every=30, club=True,
    )  # fmt: skip
    return test._replace(**changes)


def test_a_clubs_own_test_is_judged_as_any_other() -> None:
    tests = (club_test(after=("balance",)),)
    assert standings(SIGNED, tests=tests)["wing bolts"].standing is Standing.MISSING
    of = evidence(SIGNED, tests=tests)
    tree = with_sign_offs(*SIGN_OFFS, sign(of, "wing bolts", "2026-06-16"))
    assert standings(tree, date(2026, 7, 16), tests=tests)["wing bolts"].standing is Standing.VALID
    assert standings(tree, date(2026, 7, 17), tests=tests)["wing bolts"].standing is Standing.OLD
    moved = put(tree, "devices.pack-2.at.station", "300 mm")
    assert standings(moved, tests=tests)["wing bolts"].standing is Standing.VOID


def test_tests_that_rest_on_each_other_end() -> None:
    tests = (
        club_test(after=("tail bolts",)),
        club_test(name="tail bolts", after=("wing bolts",)),
    )
    of = evidence(SIGNED, tests=tests)
    signed = [sign(of, name, "2026-06-16") for name in ("wing bolts", "tail bolts")]
    found = standings(with_sign_offs(*SIGN_OFFS, *signed), tests=tests)
    assert found["wing bolts"].standing is Standing.VALID


def test_a_sign_off_of_an_unknown_test_is_told_and_one_not_for_it_is_not() -> None:
    unknown = own("balance", test="wing bolts")
    of = evidence(with_sign_offs(unknown))
    assert [one.sign_off.test for one in of.unknown] == ["wing bolts"]
    glider = put(SIGNED, "aircraft.propulsion", "none")
    of = evidence(glider)
    assert of.unknown == ()
    assert of.left_out["engine run"] == "it has no engine"


# -- voltages worked out -------------------------------------------------------------------------

TWO_LIKE_SERVOS = {
    "holdshort": 1,
    "aircraft": {"name": "Sample"},
    "parts": {
        "rx": {"kind": "receiver", "ports": {"1..2": "servo", "power": "supply"}},
        "box": {
            "kind": "distribution",
            "ports": {
                "in-1": {"does": "supply", "isolated": True, "drop": "0.3 V"},
                "in-2": {"does": "supply", "isolated": True, "drop": "0.4 V"},
                "out": "feed",
            },
        },
        "pack": {"kind": "battery", "chemistry": "life", "cells": 2, "resistance": "60 mohm"},
        "servo": {
            "kind": "servo",
            "ratings": [{"at": "6.6 V", "stall-current": "4 A"}],
            "idle-current": "10 mA",
            "cruise-current": "200 mA",
        },
    },
    "devices": {
        "pack-1": {"part": "pack"},
        "pack-2": {"part": "pack"},
        "box": {"part": "box"},
        "rx": {"part": "rx"},
        "rx-2": {"part": "rx"},
        **{f"servo-{number}": {"part": "servo"} for number in range(1, 5)},
    },
    "leads": [
        {"from": "pack-1", "to": "box.in-1", "wire": "20 AWG", "length": "20 cm"},
        {"from": "pack-2", "to": "rx-2.power", "wire": "20 AWG", "length": "90 cm"},
        {"from": "box.out", "to": "rx.power", "wire": "22 AWG", "length": "60 cm"},
        {"from": "rx.1", "to": "servo-1"},
        {"from": "rx.2", "to": "servo-2"},
        {"from": "rx-2.1", "to": "servo-3"},
        {"from": "rx-2.2", "to": "servo-4"},
    ],
}


@pytest.mark.parametrize("seed", range(8))
def test_voltages_do_not_hang_on_the_order_of_like_servos_or_of_ports(seed: int) -> None:
    """Four servos as strong as each other on two supplies, and a box with two unlike inputs."""
    of = evidence(TWO_LIKE_SERVOS)
    (stated,) = [facts for subject, facts in of.facts.items() if "worked out" in subject.name]
    assert set(stated) == {"lowest at rx", "lowest at rx-2"}
    drawn = evidence(shuffled(copy.deepcopy(TWO_LIKE_SERVOS), random.Random(seed)))  # noqa: S311
    (again,) = [facts for subject, facts in drawn.facts.items() if "worked out" in subject.name]
    assert dict(again) == dict(stated)
