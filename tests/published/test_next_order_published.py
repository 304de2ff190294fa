"""The order of what to do next against the order of the work as the trade tells it.

Source: the order of work for re-equipping a large jet with a new radio system, compiled from
association codes and trade guidance (common practice, no single published source). Each row is a
step of that list and the tests of ours that do what it says.
"""

import json
from pathlib import Path
from typing import Any, Final

from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.analysis import Aircraft
from holdshort.analysis.proof import fingerprint
from holdshort.document import Document, read_document, read_file
from holdshort.rulebook import judge
from holdshort.rulebook.next_steps import next_steps
from holdshort.setup import load

FILES = Path(__file__).resolve().parents[1] / "analysis" / "pairs"

STEPS: Final = {
    5: ("set neutral by mechanics", ("centres",)),
    7: ("directions: stick to surface, by a second person", ("directions",)),
    8: ("travels to the design values, no bind", ("travels",)),
    9: ("throttle: range, trim, kill", ("throttle range",)),
    10: ("learn travels and centres now, after step 8", ("gyro taught",)),
    11: ("gyro direction test by hand; then gyro off", ("gyro correction", "gyro off")),
    14: (
        "failsafe bench test: one receiver off, other off, both off, transmitter off",
        ("failsafe", "failsafe of each receiver", "receiver switch-over"),
    ),
    15: ("power test: each pack alone", ("voltage under load", "each supply alone")),
    16: ("weigh and balance", ("balance",)),
    17: ("range test 1, engine off", ("range check engine off",)),
    18: ("ready: extinguishers, fuel valve proved", ("fuel valve", "extinguisher ready")),
    19: ("engine run, restrained; both shut-downs proved", ("engine run", "both shut-downs")),
    20: (
        "range test 2 with engine running; failsafe test with engine running",
        ("range check engine running", "failsafe engine running"),
    ),
    21: ("leave range-test mode; right model memory", ("model memory and full power",)),
}
STEP_OF: Final = {test: step for step, (_, tests) in STEPS.items() for test in tests}

Tree = dict[str, Any]


def no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def aircraft(tree: Tree) -> Aircraft:
    return Aircraft(load(read_document(json.dumps(tree).encode(), "x.yaml"), no_catalogue).setup)


TREES: Final[list[Tree]] = [
    json.loads(json.dumps(read_file(FILES / name).root))
    for name in ("radio-before.yaml", "radio-after.yaml")
]
TURBINE: Final[Tree] = json.loads(json.dumps(TREES[0]).replace("piston", "turbine"))


def order(of: Aircraft) -> tuple[str, ...]:
    steps = next_steps(of, judge(of, ()), (), ())
    return tuple(step.judged.test.name for step in (*steps.now, *steps.then) if step.judged)


@settings(max_examples=25, deadline=None)
@given(st.sampled_from([*TREES, TURBINE]), st.data())
def test_what_is_due_stands_in_the_order_of_the_work(tree: Tree, data: st.DataObject) -> None:
    of = aircraft(tree).evidence
    signed = data.draw(st.lists(st.sampled_from(sorted(of.tests)), unique=True))
    days = [f"2026-06-{data.draw(st.integers(1, 28)):02}" for _ in signed]
    signs = [
        {
            "test": name,
            "on": day,
            "by": "A. Builder",
            "outcome": data.draw(st.sampled_from(["passed", "failed"])),
            "proved": of.proves(name),
            "fingerprint": fingerprint(of.proves(name)),
        }
        for name, day in zip(signed, days, strict=True)
    ]
    due = order(aircraft({**tree, "sign-offs": signs}))
    assert set(due) >= set(of.tests) - set(signed)
    steps = [STEP_OF[name] for name in due]
    assert steps == sorted(steps)


def test_the_table_has_every_test_that_is_asked() -> None:
    asked = {name for tree in (*TREES, TURBINE) for name in aircraft(tree).evidence.tests}
    assert asked <= set(STEP_OF)
    assert set(order(aircraft(TREES[0]))) == set(aircraft(TREES[0]).evidence.tests)
