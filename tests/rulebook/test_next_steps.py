"""What to do next: what blocks comes first, tests carry what rules say of them, nothing is lost."""

import json
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from holdshort.analysis import Aircraft
from holdshort.analysis.proof import fingerprint
from holdshort.document import Document, Fault, read_document, read_file
from holdshort.rulebook import (
    Clean,
    Finding,
    Hold,
    NotChecked,
    Outcome,
    Pack,
    Rule,
    Severity,
    Source,
    judge,
    rule,
)
from holdshort.rulebook.next_steps import RUNS_OUT, NextSteps, Step, next_steps
from holdshort.setup import load

FILES = Path(__file__).resolve().parents[1] / "analysis" / "pairs"
TODAY = date(2026, 7, 1)

Tree = dict[str, Any]


def no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def saying(
    rule_id: str, hold: Hold, *outcomes: tuple[str, str], severity: Severity = Severity.WARNING
) -> Rule:
    """Return a rule that finds or asks something at given places of any aircraft."""

    @rule(rule_id, title="A", severity=severity, hold=hold, subject="x", sources=("practice",))
    def check(aircraft: Aircraft) -> Iterator[Outcome]:
        for kind, path in outcomes:
            steps = tuple(int(step) if step.isdecimal() else step for step in path.split("."))
            at = aircraft.setup.place(*steps)
            if kind == "finds":
                yield Finding(at, f"{rule_id} found it.", "Mend it.")
            elif kind == "asks":
                yield NotChecked(at, f"the fact of {rule_id}")
            else:
                yield Clean(at)

    return check


def tree(name: str = "radio-after.yaml") -> Tree:
    return json.loads(json.dumps(read_file(FILES / name).root))  # type: ignore[no-any-return]


def signed(base: Tree) -> Tree:
    """Return an aircraft with all tests signed for in order, those of the day today once more."""
    of = aircraft(base).evidence
    return {
        **base,
        "sign-offs": [
            {
                "test": test.name,
                "on": day,
                "by": "A. Builder",
                "second": "B. Helper",
                "outcome": "passed",
                "proved": of.proves(test.name),
                "fingerprint": fingerprint(of.proves(test.name)),
            }
            for test in of.tests.values()
            for day in (f"2026-06-{test.step:02}", "2026-07-01")
            if test.day_of_flying or day != "2026-07-01"
        ],
    }


def aircraft(base: Tree) -> Aircraft:
    document = read_document(json.dumps(base).encode(), "x.yaml")
    return Aircraft(load(document, no_catalogue).setup, today=TODAY)


def steps_of(base: Tree, *rules: Rule, faults: tuple[Fault, ...] = ()) -> NextSteps:
    source = Source("S1", "a book about servos", "from memory")
    pack = Pack("p", 1, rules, {"S1": source}, Path(), Path())
    of = aircraft(base)
    judgement = judge(of, [(pack, one) for one in rules], today=TODAY)
    return next_steps(of, judgement, faults, (pack,))


def told(steps: NextSteps) -> tuple[list[str], list[str]]:
    def name(step: Step) -> str:
        return step.judged.test.name if step.judged else (step.rules or (step.kind,))[0]

    return [name(step) for step in steps.now], [name(step) for step in steps.then]


POWER = saying("power-thing", Hold.POWER_UP, ("finds", "devices.pack"))
FLIGHT = saying("flight-thing", Hold.FLIGHT, ("finds", "devices.elev"))
RUN = saying("run-thing", Hold.ENGINE_RUN, ("finds", "devices.throttle"))
ASKS = saying("asking-thing", Hold.FLIGHT, ("asks", "devices.elev"))
ASKS_FIRST = saying("power-question", Hold.POWER_UP, ("asks", "devices.pack"))
NOTES = saying("noting-thing", Hold.FLIGHT, ("finds", "devices"), severity=Severity.NOTE)


def test_nothing_is_left_of_an_aircraft_with_every_test_signed() -> None:
    steps = steps_of(signed(tree()), saying("fine-thing", Hold.FLIGHT, ("clean", "devices")))
    assert told(steps) == ([], [])
    assert (steps.notes, steps.deferred, steps.cautions) == (0, 0, ())


def test_what_holds_power_up_comes_before_all_else_and_before_every_test() -> None:
    now, then = told(steps_of(tree(), FLIGHT, ASKS, RUN, POWER))
    assert now == ["power-thing"]
    assert then[:4] == ["run-thing", "flight-thing", "asking-thing", "centres"]


def test_what_else_was_found_comes_before_the_tests() -> None:
    now, then = told(steps_of(tree(), FLIGHT, RUN))
    assert now == ["run-thing", "flight-thing"]
    assert then[0] == "centres"


def test_facts_block_nothing_and_the_first_test_that_others_rest_on_does() -> None:
    steps = steps_of(tree(), ASKS, ASKS_FIRST)
    now, then = told(steps)
    assert now == ["power-question", "asking-thing", "centres"]
    assert then[0] == "directions"
    assert steps.now[-1].opens == ("directions",)
    assert steps.now[-1].source == Source("S1", "a book about servos", "from memory")
    assert any("hands" in words for words in steps.cautions)


def test_a_mistake_of_form_and_a_failed_rule_come_first() -> None:
    @rule("bad-rule", title="A", severity=Severity.NOTE, hold=Hold.FLIGHT, subject="x",
          sources=("practice",))  # fmt: skip
    def bad(aircraft: Aircraft) -> Iterator[Outcome]:
        if aircraft.setup.devices:
            raise RuntimeError("no")
        yield Clean(aircraft.setup.place())

    fault = Fault("wrong-value", "That is wrong.", "x.yaml", None, "Mend it.", path=("devices",))
    now, then = told(steps_of(tree(), POWER, bad, FLIGHT, faults=(fault,)))
    assert now == ["mistake", "bad-rule", "power-thing"]
    assert then[0] == "flight-thing"


def test_a_note_is_counted_and_is_nothing_to_do() -> None:
    steps = steps_of(signed(tree()), NOTES)
    assert (told(steps), steps.notes) == (([], []), 1)


def test_what_a_rule_says_of_a_sign_off_is_told_with_its_test() -> None:
    base = signed(tree())
    at = next(index for index, one in enumerate(base["sign-offs"]) if one["test"] == "travels")
    steps = steps_of(base, saying("travel-thing", Hold.FLIGHT, ("finds", f"sign-offs.{at}.by")))
    (step,) = (*steps.now, *steps.then)
    assert step.judged is not None
    assert (step.judged.test.name, step.rules, step.also) == (
        "travels",
        ("travel-thing",),
        ("travel-thing found it.",),
    )


def test_what_rules_say_of_lacking_sign_offs_is_not_said_twice() -> None:
    missing = saying("lack-thing", Hold.FLIGHT, ("finds", "sign-offs.centres"))
    asked = saying("none-signed", Hold.FLIGHT, ("asks", "sign-offs"))
    plain, both = steps_of(tree()), steps_of(tree(), missing, asked)
    assert told(plain) == told(both)
    assert both.now[0].rules == ("lack-thing",)


def test_what_a_log_of_the_tests_will_say_waits_for_them() -> None:
    asks = saying("log-thing", Hold.FLIGHT, ("asks", "log"))
    with_log = {**tree(), "log": {"time": "t"}}
    assert told(steps_of(with_log)) == told(steps_of(with_log, asks))
    assert told(steps_of(signed(with_log), asks)) == (["log-thing"], [])


def test_a_sign_off_of_no_test_is_a_finding_like_others() -> None:
    base = signed(tree())
    base["sign-offs"].append({**base["sign-offs"][0], "test": "rain dance"})
    at = len(base["sign-offs"]) - 1
    steps = steps_of(base, saying("odd-thing", Hold.FLIGHT, ("finds", f"sign-offs.{at}.test")))
    assert told(steps) == (["odd-thing"], [])


@pytest.mark.parametrize(("days", "shown"), [(0, True), (RUNS_OUT, True), (RUNS_OUT + 1, False)])
def test_a_deferral_shows_before_it_runs_out(days: int, shown: bool) -> None:
    until = date.fromordinal(TODAY.toordinal() + days).isoformat()
    deferral = {"rule": "flight-thing", "at": "devices.elev", "reason": "on order", "by": "A. B."}
    base = {**signed(tree()), "deferrals": [{**deferral, "until": until}]}
    steps = steps_of(base, FLIGHT)
    assert steps.deferred == 1
    assert [step.kind for step in steps.now] == (["deferral"] if shown else [])


def test_a_test_whose_lack_is_accepted_for_now_is_not_asked_for() -> None:
    base = tree()
    deferral = {"rule": "lack-thing", "at": "sign-offs.centres", "until": "2026-12-01"}
    base["deferrals"] = [{**deferral, "reason": "jig on order", "by": "A. B."}]
    missing = saying("lack-thing", Hold.FLIGHT, ("finds", "sign-offs.centres"))
    now, then = told(steps_of(base, missing))
    assert "centres" not in (*now, *then)


def test_tests_too_old_are_due_and_the_others_stay() -> None:
    base = signed(tree())
    today = [one for one in base["sign-offs"] if one["on"] == "2026-07-01"]
    base["sign-offs"].remove(next(one for one in today if one["test"] == "failsafe"))
    now, then = told(steps_of(base))
    assert (now, then) == (["failsafe"], [])
