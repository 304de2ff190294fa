"""A club's own tests in its hangar file: read, refused with a place, carried to the aircraft."""

import json
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from holdshort.analysis.known_tests import Chosen
from holdshort.document import Fault, read_document
from holdshort.rulebook.hangar import Hangar, hangar_of, settle
from holdshort.rulebook.hangar_schema import hangar_schema
from holdshort.rulebook.packs import load_rulebook

WHOLE: dict[str, Any] = {
    "title": "Wing bolts tight",
    "proves": ["balance", "place of *", "channel 3"],
    "before": "engine-run",
    "after": ["balance"],
    "figures": {"torque": "2 N.m", "gap": "0.5 mm"},
    "every": 30,
    "second": True,
    "reason": "one came loose",
}
LEAST: dict[str, Any] = {"title": "Wing bolts tight", "proves": ["structure"]}


def hangar(tests: Any) -> Hangar:
    text = json.dumps({"holdshort-hangar": 1, "tests": tests})
    return hangar_of(read_document(text.encode(), "hangar.yaml"))


def fault(tests: Any) -> Fault:
    (found,) = hangar(tests).faults
    assert found.span is not None
    return found


def test_a_whole_one_is_read() -> None:
    found = hangar({"wing bolts": WHOLE})
    assert found.faults == ()
    (test,) = found.tests
    assert (test.name, test.before, test.every, test.second) == (
        "wing bolts",
        "engine-run",
        30,
        True,
    )
    assert test.proves == (
        Chosen(topics=("balance",)),
        Chosen(("place of *",)),
        Chosen(("channel 3",)),
    )
    assert [(figure.name, figure.required) for figure in test.figures] == [
        ("torque", True),
        ("gap", True),
    ]
    assert test.figures[0].kind.dimension.name == "torque"
    assert test.club


def test_the_least_one_is_before_flight_and_ends_with_a_change() -> None:
    (test,) = hangar({"wing bolts": LEAST}).tests
    assert (test.before, test.every, test.after, test.figures) == ("flight", None, (), ())


def test_it_stands_at_the_step_of_what_it_rests_on() -> None:
    late = {**LEAST, "before": "engine-run", "after": ["tail bolts"]}
    found = hangar({"wing bolts": late, "tail bolts": {**LEAST, "after": ["engine run"]}})
    assert {test.name: test.step for test in found.tests} == {"wing bolts": 19, "tail bolts": 21}


@pytest.mark.parametrize(
    ("tests", "kind", "says"),
    [
        ({"Wing bolts": LEAST}, "bad-name", "cannot be the name of a test"),
        ({"directions": LEAST}, "given-twice", "`directions` is a test of the trade"),
        ({"bolts": {"title": "x"}}, "missing-key", "proves"),
        ({"bolts": {**LEAST, "proves": []}}, None, "proves"),
        ({"bolts": {**LEAST, "proves": ["wings"]}}, "unknown-word", "no topic"),
        ({"bolts": {**LEAST, "before": "landing"}}, None, "landing"),
        ({"bolts": {**LEAST, "after": ["balanc"]}}, "unknown-word", "is not a test"),
        ({"bolts": {**LEAST, "after": ["bolts"]}}, "wrong-value", "comes after"),
        ({"bolts": {**LEAST, "figures": {"torque": "tight"}}}, "wrong-quantity", "no quantity"),
        ({"bolts": {**LEAST, "every": 0.5}}, None, "every"),
        ({"bolts": {**LEAST, "evry": 3}}, "unknown-key", "evry"),
        ([LEAST], None, "tests"),
    ],
)
def test_a_mistake_is_told_with_its_place(tests: Any, kind: str | None, says: str) -> None:
    found = fault(tests)
    assert kind in {None, found.kind}
    assert says in f"{found.message} {found.do}"


def test_two_that_rest_on_each_other_are_both_told() -> None:
    found = hangar(
        {
            "one bolt": {**LEAST, "after": ["two bolts"]},
            "two bolts": {**LEAST, "after": ["one bolt"]},
        }
    )
    assert [one.kind for one in found.faults] == ["wrong-value", "wrong-value"]


def test_they_are_part_of_what_applies() -> None:
    rulebook = load_rulebook()
    settings = settle(hangar({"wing bolts": WHOLE}), rulebook)
    assert [test.name for test in settings.tests] == ["wing bolts"]


@pytest.mark.parametrize(
    ("tests", "valid"),
    [
        ({"wing bolts": WHOLE}, True),
        ({"wing bolts": LEAST}, True),
        (None, True),
        ({"Wing": LEAST}, False),
        ({"bolts": {**LEAST, "proves": []}}, False),
        ({"bolts": {**LEAST, "before": "landing"}}, False),
        ({"bolts": {**LEAST, "every": -1}}, False),
        ({"bolts": {"title": "x"}}, False),
    ],
)
def test_the_schema_for_editors_agrees(tests: Any, valid: bool) -> None:
    schema = hangar_schema(load_rulebook())
    Draft202012Validator.check_schema(schema)
    document = {"holdshort-hangar": 1, "tests": tests}
    assert Draft202012Validator(schema).is_valid(document) == valid
    assert (hangar(tests).faults == ()) == valid
