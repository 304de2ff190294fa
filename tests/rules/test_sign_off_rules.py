"""The rules of evidence from outside: deferrals, limits of a club, drafts, broken sections."""

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from holdshort.analysis import Aircraft
from holdshort.document import read_document, read_file, show_path
from holdshort.rulebook import Judgement, judge, load_rulebook
from holdshort.rulebook.hangar import hangar_of, settle
from holdshort.setup import load
from holdshort_rules import evidence, evidence_figures, pack

BASE = Path(evidence.__file__).parent / "cases" / "bases" / "all-tests-signed.yaml"
RULES = [(pack, rule) for rule in (*evidence.RULES, *evidence_figures.RULES)]
LAST_DAY = date(2026, 5, 7)


def base(**changes: Any) -> dict[str, Any]:
    tree: dict[str, Any] = json.loads(json.dumps(read_file(BASE).root))
    return {**tree, **changes}


def judged(tree: dict[str, Any], today: date | None = None, **more: Any) -> Judgement:
    document = read_document(json.dumps(tree).encode(), "plane.yaml")
    setup = load(document, read_file).setup
    aircraft = Aircraft(setup, more.get("limits"), today, more.get("tests", ()))
    return judge(aircraft, RULES, today=today)


def found(judgement: Judgement) -> list[tuple[str, str]]:
    assert judgement.crashes == []
    return [(item.rule.id, show_path(item.finding.at.path)) for item in judgement.found]


def test_a_draft_is_told_once_and_not_punished() -> None:
    tree = base()
    del tree["sign-offs"]
    judgement = judged(tree)
    assert found(judgement) == []
    (gap,) = judgement.unjudged
    assert (gap.rule.id, "`sign-offs`" in gap.not_checked.needs) == ("sign-off-missing", True)


def test_the_empty_section_begins_the_counting() -> None:
    rules = {rule for rule, _ in found(judged(base(**{"sign-offs": []})))}
    assert rules == {"sign-off-missing"}


@pytest.mark.parametrize("section", [{"centres": "yes"}, "yes", [{"test": "centres"}], [7]])
def test_a_section_with_mistakes_of_form_is_not_judged_as_if_it_were_empty(section: Any) -> None:
    judgement = judged(base(**{"sign-offs": section}))
    assert "sign-off-missing" not in {rule for rule, _ in found(judgement)}
    assert "sign-off-missing" in {item.rule.id for item in judgement.unjudged}


def test_a_sign_off_that_cannot_be_read_may_be_the_one_that_is_missed() -> None:
    several = read_file(BASE).root["sign-offs"]
    assert isinstance(several, list)
    judgement = judged(base(**{"sign-offs": [{"test": "centres"}, *several[1:]]}))
    assert found(judgement) == []
    assert {item.rule.id for item in judgement.unjudged} == {
        "sign-off-missing",
        "sign-off-out-of-order",
    }


def test_one_deferral_takes_out_one_missing_test() -> None:
    deferral = {
        "rule": "sign-off-missing",
        "at": 'sign-offs."both shut-downs"',
        "reason": "the valve comes next week",
        "by": "A. Builder",
        "until": "2026-06-01",
    }
    tree = base(**{"sign-offs": []})
    before = found(judged(tree, LAST_DAY))
    after = judged({**tree, "deferrals": [deferral]}, LAST_DAY)
    assert len(after.deferred) == 1
    assert len([rule for rule, _ in found(after) if rule == "sign-off-missing"]) == len(before) - 1
    assert "deferral-unused" not in {rule for rule, _ in found(after)}


def test_each_missing_test_has_a_place_of_its_own() -> None:
    places = [place for _, place in found(judged(base(**{"sign-offs": []})))]
    assert len(places) == len(set(places))


def test_a_clubs_limit_and_test_come_from_its_hangar_file() -> None:
    text = """
holdshort-hangar: 1
limits: {sign-off-expired: {day-of-flying: 10 days}}
tests: {wing bolts: {title: Wing bolts tight, proves: [structure]}}
"""
    settings = settle(hangar_of(read_document(text.encode(), "hangar.yaml")), load_rulebook())
    assert settings.faults == ()
    own = judged(base(), LAST_DAY, limits=settings.quantities, tests=settings.tests)
    assert found(own) == [("sign-off-missing", 'sign-offs."wing bolts"')]
    without = judged(base(), LAST_DAY)
    assert {rule for rule, _ in found(without)} == {"sign-off-expired"}


def test_what_falls_holds_from_the_first_point_that_it_unlocked() -> None:
    tree = base()
    tree["radio"]["channels"]["2"]["centre"] = "4 %"
    item = next(one for one in judged(tree).found if one.rule.id == "sign-off-void")
    # Centres themselves hold flight; the failsafe that rests on them holds the engine run.
    assert show_path(item.finding.at.path) == "sign-offs[0]"
    assert item.hold.word == "engine-run"
    for name in ("directions", "travels", "failsafe", "model memory and full power"):
        assert f"`{name}`" in item.finding.message
    assert "`balance`" not in item.finding.message


def test_a_sign_off_is_judged_whatever_stands_in_it() -> None:
    odd = {"test": "balance", "on": "2026-05-05", "by": "x", "outcome": "passed"}
    for extra in (
        {"proved": {}, "fingerprint": "0" * 16},
        {"proved": {"a" * 600: {"b": "c"}}},
        {"figures": {"a ' b: c": "1 V", "distance": "9" * 300}},
    ):
        judgement = judged(base(**{"sign-offs": [{**odd, **extra}]}), LAST_DAY)
        assert judgement.crashes == []
