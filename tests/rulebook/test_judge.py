"""Running rules: order, outcomes, crashes, and what may not change a finding."""

import random
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdshort.analysis import Aircraft
from holdshort.document import Document, read_document
from holdshort.rulebook import (
    API_VERSION,
    Clean,
    Finding,
    Hold,
    NotChecked,
    Outcome,
    Pack,
    Rule,
    Severity,
    Source,
    checked_rulebook,
    judge,
    rule,
)
from holdshort.setup import Place, load

TEXT = b"holdshort: 1\naircraft: {name: Plain}\nfollows: [uk]\n"


def aircraft() -> Aircraft:
    def read(name: str) -> Document:
        raise AssertionError(name)

    return Aircraft(load(read_document(TEXT, "plain.yaml"), read).setup)


def at(*path: str) -> Place:
    return Place("plain.yaml", path)


def make(rule_id: str, *outcomes: Outcome, hold: Hold = Hold.FLIGHT) -> Rule:
    @rule(
        rule_id,
        title="t",
        severity=Severity.CAUTION,
        hold=hold,
        subject="s",
        sources=("practice",),
    )
    def check(_: Aircraft) -> Iterator[Outcome]:
        yield from outcomes

    return check


def pack_of(*rules: Rule, name: str = "test") -> Pack:
    sources = {"practice": Source("practice", "practice", "common practice")}
    return Pack(name, API_VERSION, rules, sources, Path("pages"), Path("cases"))


def test_findings_stand_in_order_of_hold_point_then_severity_then_place() -> None:
    rules = (
        make("late-one", Finding(at("aircraft"), "late", "do")),
        make("first-one", Finding(at("follows"), "below", "do"), hold=Hold.POWER_UP),
        make(
            "both-ways",
            Finding(at("follows"), "warned", "do", severity=Severity.WARNING, hold=Hold.POWER_UP),
            Finding(at("aircraft"), "above", "do", hold=Hold.POWER_UP),
        ),
    )
    found = judge(aircraft(), checked_rulebook([pack_of(*rules)])).found
    assert [item.finding.message for item in found] == ["warned", "above", "below", "late"]


def test_the_four_ways_a_rule_can_come_out() -> None:
    rules = (
        make("finds-it", Finding(at("aircraft"), "m", "d"), Clean(at("follows"))),
        make("cannot-say", NotChecked(at("aircraft"), "a number"), Clean(at("follows"))),
        make("clean-one", Clean(at("aircraft"))),
        make("idle-one"),
    )
    judgement = judge(aircraft(), checked_rulebook([pack_of(*rules)]))
    assert [item.rule.id for item in judgement.found] == ["finds-it"]
    assert [item.rule.id for item in judgement.unjudged] == ["cannot-say"]
    assert [item.id for item in judgement.clean] == ["clean-one"]
    assert [item.id for item in judgement.idle] == ["idle-one"]


def crashing(problem: object) -> Rule:
    @rule(
        "breaks-down",
        title="t",
        severity=Severity.NOTE,
        hold=Hold.FLIGHT,
        subject="s",
        sources=("practice",),
    )
    def check(_: Aircraft) -> Iterator[Outcome]:
        yield Finding(at("aircraft"), "said before the crash", "d")
        if isinstance(problem, BaseException):
            raise problem
        yield problem  # type: ignore[misc]

    return check


@pytest.mark.parametrize(
    ("problem", "words"),
    [
        (ZeroDivisionError("by zero"), "ZeroDivisionError: by zero"),
        (RecursionError("deep"), "RecursionError: deep"),
        (SystemExit(0), "SystemExit"),
        (7, "not int"),
        (Finding(at("aircraft"), "", "do it"), "`message`"),
        (Finding(at("aircraft"), "wrong", None), "`do`"),  # type: ignore[arg-type]
        (NotChecked(at("aircraft"), 7), "`needs`"),  # type: ignore[arg-type]
        (Clean(Place("elsewhere.yaml", ())), "elsewhere.yaml"),
    ],
)
def test_a_rule_that_fails_is_reported_and_the_others_still_run(
    problem: object, words: str
) -> None:
    rules = (crashing(problem), make("other-one", Clean(at("aircraft"))))
    judgement = judge(aircraft(), checked_rulebook([pack_of(*rules)]))
    assert [crash.rule.id for crash in judgement.crashes] == ["breaks-down"]
    assert words in judgement.crashes[0].error
    assert "Traceback" in judgement.crashes[0].traceback
    assert judgement.found == []
    assert [item.id for item in judgement.clean] == ["other-one"]


@given(st.integers())
def test_the_order_of_rules_and_packs_changes_nothing(seed: int) -> None:
    rules = [
        make(f"rule-{n}", Finding(at("aircraft"), f"m{n}", "d"), hold=Hold(n % 3)) for n in range(6)
    ]
    straight = judge(aircraft(), checked_rulebook([pack_of(*rules)])).found
    random.Random(seed).shuffle(rules)  # noqa: S311  - a shuffle for a test
    packs = [pack_of(*rules[:3], name="one"), pack_of(*rules[3:], name="two")]
    shuffled = judge(aircraft(), checked_rulebook(packs)).found
    assert [item.finding for item in shuffled] == [item.finding for item in straight]


@pytest.mark.parametrize("bad", ["X100", "one", "Capital-id", "a_b-c", "", "a--b", "-a-b"])
def test_a_malformed_id_is_refused_when_it_is_declared(bad: str) -> None:
    with pytest.raises(ValueError, match="rule id"):
        make(bad)


def test_a_rule_without_a_source_is_refused() -> None:
    with pytest.raises(ValueError, match="cites no source"):
        rule(
            "no-source",
            title="t",
            severity=Severity.NOTE,
            hold=Hold.FLIGHT,
            subject="s",
            sources=(),
        )
