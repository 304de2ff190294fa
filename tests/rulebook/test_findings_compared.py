"""Findings of two setups side by side: by rule and place, whatever lines and names do."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from holdshort.analysis import Aircraft
from holdshort.analysis.renamed import renames
from holdshort.document import read_document
from holdshort.rulebook import (
    Finding,
    Hold,
    NotChecked,
    Outcome,
    Pack,
    Severity,
    Source,
    judge,
    rule,
)
from holdshort.rulebook.findings_compared import FindingsCompared, findings_compared
from holdshort.setup import load

Tree = dict[str, Any]


@rule("servo-heavy", title="A", severity=Severity.WARNING, hold=Hold.FLIGHT, subject="x",
      sources=("practice",))  # fmt: skip
def heavy(aircraft: Aircraft) -> Iterator[Outcome]:
    """Find every servo over 50 g, ask for the mass of the others, and fault long leads."""
    for servo in aircraft.setup.of_kind("servo"):
        mass = servo.device.mass
        if mass is None:
            yield NotChecked(servo.at("mass"), f"the mass of `{servo.name}`")
        elif mass > 0.05:
            yield Finding(servo.at("mass"), f"`{servo.name}` weighs {mass.text}.", "Fit another.")
    for cable in aircraft.setup.cables:
        if cable.lead.extension is not None:
            yield Finding(cable.place, f"The lead {cable.title} is long.", "Shorten it.")


PACK = Pack("p", 1, (heavy,), {"B": Source("B", "b", "read")}, Path(), Path())


def tree(masses: dict[str, str | None], long: tuple[str, ...] = ()) -> Tree:
    return {
        "holdshort": 1,
        "parts": {
            "rx": {"kind": "receiver", "ports": {"1..9": "servo"}},
            "s": {"kind": "servo"},
        },
        "devices": {
            "rx": {"part": "rx"},
            **{name: {"part": "s", "mass": mass} for name, mass in masses.items()},
        },
        "leads": [
            {"from": f"rx.{port}", "to": name, **({"extension": "9 cm"} if name in long else {})}
            for port, name in enumerate(masses, 1)
        ],
    }


def side_by_side(old: Tree, new: Tree) -> FindingsCompared:
    setups = [
        load(read_document(json.dumps(one).encode(), name), lambda _: _no()).setup
        for one, name in ((old, "old.yaml"), (new, "new.yaml"))
    ]
    sides = [(setup, judge(Aircraft(setup), [(PACK, heavy)])) for setup in setups]
    return findings_compared(sides[0], sides[1], renames(*setups))


def _no() -> Any:
    raise AssertionError


def told(several: Any) -> list[str]:
    return [one.finding.message for one in several]


def test_what_went_stayed_and_came() -> None:
    found = side_by_side(
        tree({"a": "60 g", "b": "70 g", "c": "40 g", "d": None}),
        tree({"a": "60 g", "b": "40 g", "c": "80 g", "d": "20 g"}),
    )
    assert told(found.went) == ["`b` weighs 70 g."]
    assert told(one.now for one in found.stayed) == ["`a` weighs 60 g."]
    assert told(found.came) == ["`c` weighs 80 g."]
    assert [one.not_checked.needs for one in found.answered] == ["the mass of `d`"]
    assert found.asked == ()


def test_a_number_that_changed_leaves_the_finding() -> None:
    found = side_by_side(tree({"a": "60 g"}), tree({"a": "90 g"}))
    assert (found.went, found.came) == ((), ())
    assert [told((one.was, one.now)) for one in found.stayed] == [
        ["`a` weighs 60 g.", "`a` weighs 90 g."]
    ]


def test_a_lead_is_known_by_its_ends_and_a_device_by_its_new_name() -> None:
    old = tree({"a": "60 g", "b": "40 g"}, long=("b",))
    new = tree({"z": "60 g", "b": "40 g"}, long=("b",))
    new["leads"].reverse()
    found = side_by_side(old, new)
    assert (found.went, found.came) == ((), ())
    assert {one.now.finding.message for one in found.stayed} == {
        "`z` weighs 60 g.",
        "The lead `rx.2` to `b` is long.",
    }


def test_mirrored() -> None:
    old, new = tree({"a": "60 g", "b": "40 g"}), tree({"a": "40 g", "b": None}, long=("a",))
    there, back = side_by_side(old, new), side_by_side(new, old)
    assert told(there.came) == told(back.went)
    assert told(there.went) == told(back.came)
    assert [one.not_checked.needs for one in there.asked] == ["the mass of `b`"]
    assert [one.not_checked.needs for one in back.answered] == ["the mass of `b`"]
