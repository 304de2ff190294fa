"""Findings that are accepted for now: what counts, what does not, and what is said about it."""

import json
from collections import Counter
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.analysis import Aircraft
from holdshort.document import Document, read_document, show_path
from holdshort.rulebook import (
    API_VERSION,
    Finding,
    Found,
    Hold,
    Judgement,
    NotChecked,
    Outcome,
    Pack,
    Rule,
    Severity,
    Source,
    judge,
    rule,
)
from holdshort.rulebook.deferrals import PACK
from holdshort.setup import Loaded, Place, load

TODAY = date(2026, 6, 1)
PLACES: tuple[tuple[str | int, ...], ...] = (
    ("aircraft",),
    ("aircraft", "name"),
    ("follows", 0),
    ("follows", 1),
)
GOOD = {
    "rule": "tail-is-loose",
    "at": "aircraft.name",
    "reason": "The screw is ordered.",
    "by": "the owner",
    "until": "2026-06-30",
}


def loaded(*deferrals: Any) -> Loaded:
    def read(name: str) -> Document:
        raise AssertionError(name)

    tree = {
        "holdshort": 1,
        "aircraft": {"name": "Plain"},
        "follows": ["uk", "general"],
        "deferrals": list(deferrals),
    }
    return load(read_document(json.dumps(tree).encode(), "plain.yaml"), read)


def find(
    rule_id: str,
    *places: tuple[str | int, ...],
    severity: Severity = Severity.CAUTION,
    hold: Hold = Hold.FLIGHT,
    blind: bool = False,
) -> tuple[Pack, Rule]:
    """Return a rule that finds something at each place, or cannot judge it."""

    @rule(
        rule_id,
        title="t",
        severity=severity,
        hold=hold,
        subject="s",
        sources=("practice",),
    )
    def check(aircraft: Aircraft) -> Iterator[Outcome]:
        for number, path in enumerate(places):
            at = Place(aircraft.setup.file, path)
            yield NotChecked(at, "a number") if blind else Finding(at, f"m{number}", "d")

    sources = {"practice": Source("practice", "practice", "common practice")}
    return Pack("test", API_VERSION, (check,), sources, Path("p"), Path("c")), check


def judged(rules: list[tuple[Pack, Rule]], *deferrals: Any, today: date = TODAY) -> Judgement:
    read = loaded(*deferrals)
    assert read.faults == ()
    return judge(Aircraft(read.setup), rules, today=today)


def said(judgement: Judgement) -> list[tuple[str, str]]:
    return [(found.rule.id, show_path(found.finding.at.path)) for found in judgement.found]


LOOSE = find("tail-is-loose", ("aircraft", "name"))


def test_a_deferred_finding_is_not_held_but_kept_with_who_why_and_until_when() -> None:
    judgement = judged([LOOSE], GOOD)
    assert judgement.found == []
    (item,) = judgement.deferred
    assert item.found.finding.message == "m0"
    assert (item.deferral.reason, item.deferral.by) == ("The screw is ordered.", "the owner")
    assert item.deferral.until == "2026-06-30"
    assert item.place == Place("plain.yaml", ("deferrals", 0))


def test_without_a_day_deferrals_are_left_alone() -> None:
    read = loaded(GOOD)
    judgement = judge(Aircraft(read.setup), [LOOSE])
    assert said(judgement) == [("tail-is-loose", "aircraft.name")]
    assert judgement.deferred == []


@pytest.mark.parametrize(("day", "counts"), [(-1, True), (0, True), (1, False), (400, False)])
def test_a_deferral_counts_up_to_its_last_day_and_no_longer(day: int, *, counts: bool) -> None:
    today = date(2026, 6, 30) + timedelta(days=day)
    judgement = judged([LOOSE], GOOD, today=today)
    assert bool(judgement.deferred) is counts
    told = [("tail-is-loose", "aircraft.name"), ("deferral-expired", "deferrals[0].until")]
    assert said(judgement) == ([] if counts else told)


def test_an_expired_deferral_holds_what_its_finding_holds_and_says_where() -> None:
    rules = [find("tail-is-loose", ("aircraft", "name"), hold=Hold.ENGINE_RUN)]
    judgement = judged(rules, GOOD, today=date(2027, 1, 1))
    expired = next(found for found in judgement.found if found.rule.id == "deferral-expired")
    assert expired.hold is Hold.ENGINE_RUN
    assert "2026-06-30" in expired.finding.message
    assert "the owner" in expired.finding.message
    assert expired.finding.because[0].place.path == ("aircraft", "name")


def test_a_renewed_deferral_is_not_shadowed_by_the_one_past_its_date() -> None:
    judgement = judged([LOOSE], {**GOOD, "until": "2026-05-01"}, GOOD)
    assert len(judgement.deferred) == 1
    assert said(judgement) == [("deferral-unused", "deferrals[0]")]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"at": "follows[1]"}, ["nothing at `follows[1]`", "it does at `aircraft.name`"]),
        ({"rule": "tail-is-lose"}, ["no rule `tail-is-lose`", "Did you mean `tail-is-loose`"]),
        ({"rule": "wing-is-loose"}, ["`wing-is-loose` finds nothing"]),
        ({"rule": "deferral-unused", "at": "deferrals[0]"}, ["cannot be deferred"]),
    ],
)
def test_an_unused_deferral_says_why(change: dict[str, str], words: list[str]) -> None:
    judgement = judged([LOOSE, find("wing-is-loose")], {**GOOD, **change})
    assert said(judgement) == [
        ("tail-is-loose", "aircraft.name"),
        ("deferral-unused", "deferrals[0]"),
    ]
    for word in words:
        assert word in judgement.found[1].finding.message


def test_two_deferrals_of_one_finding_leave_one_unused() -> None:
    judgement = judged([LOOSE], GOOD, {**GOOD, "reason": "Twice."})
    assert [item.deferral.reason for item in judgement.deferred] == ["The screw is ordered."]
    assert said(judgement) == [("deferral-unused", "deferrals[1]")]
    assert "for each deferral before" in judgement.found[0].finding.message


def test_what_could_not_be_judged_there_makes_no_deferral_unused() -> None:
    blind = find("tail-is-loose", ("aircraft", "name"), blind=True)
    assert said(judged([blind], GOOD)) == []
    elsewhere = find("tail-is-loose", ("follows", 0), blind=True)
    assert said(judged([elsewhere], GOOD)) == [("deferral-unused", "deferrals[0]")]


def test_a_rule_that_fails_is_never_deferred() -> None:
    pack, _ = LOOSE

    def fails(_: Aircraft) -> Iterator[Outcome]:
        raise RuntimeError("out of thread")

    broken = Rule("tail-is-loose", "t", Severity.NOTE, Hold.FLIGHT, "s", ("practice",), fails)
    judgement = judged([(pack, broken)], GOOD)
    assert [crash.rule.id for crash in judgement.crashes] == ["tail-is-loose"]
    assert (judgement.deferred, said(judgement)) == ([], [])


HOT = find(
    "tail-is-loose", ("aircraft", "name"), severity=Severity.WARNING, hold=Hold.POWER_UP
)  # fmt: skip


@pytest.mark.parametrize("second", [None, "the owner", "The  Owner"])
def test_a_warning_that_holds_power_up_needs_a_second_name(second: str | None) -> None:
    deferral = GOOD if second is None else {**GOOD, "second": second}
    judgement = judged([HOT], deferral)
    place = "deferrals[0]" if second is None else "deferrals[0].second"
    assert said(judgement) == [
        ("tail-is-loose", "aircraft.name"),
        ("deferral-needs-second-name", place),
    ]
    assert judgement.deferred == []
    about = judgement.found[1]
    assert (about.severity, about.hold) == (Severity.WARNING, Hold.POWER_UP)


def test_with_a_second_name_it_is_deferred() -> None:
    judgement = judged([HOT], {**GOOD, "second": "the instructor"})
    assert (said(judgement), len(judgement.deferred)) == ([], 1)


@pytest.mark.parametrize(
    ("severity", "hold"),
    [
        (Severity.CAUTION, Hold.POWER_UP),
        (Severity.NOTE, Hold.POWER_UP),
        (Severity.WARNING, Hold.ENGINE_RUN),
        (Severity.WARNING, Hold.FLIGHT),
    ],
)
def test_nothing_else_needs_a_second_name(severity: Severity, hold: Hold) -> None:
    rules = [find("tail-is-loose", ("aircraft", "name"), severity=severity, hold=hold)]
    judgement = judged(rules, GOOD)
    assert (said(judgement), len(judgement.deferred)) == ([], 1)


def test_the_rules_about_deferrals_are_counted_where_there_are_deferrals() -> None:
    ids = [own.id for own in PACK.rules]
    assert [own.id for own in judged([LOOSE], GOOD).clean] == ids
    unused = judged([LOOSE], GOOD, GOOD)
    assert [own.id for own in unused.clean] == [own for own in ids if own != "deferral-unused"]
    assert judged([LOOSE]).clean == []


def test_the_rules_about_deferrals_have_pages_and_cannot_be_graded() -> None:
    for own in PACK.rules:
        page = PACK.page(own.id)
        assert page.startswith(f"# {own.title}\n")
        for words in ("What it looks at", "Why it matters", "What to do", "What it cannot see"):
            assert f"**{words}.**" in page
        assert own.fixed
        assert set(own.sources) <= set(PACK.sources)


@pytest.mark.parametrize(
    ("change", "words", "path"),
    [
        ({"reason": None}, "`reason` wants text", "deferrals[0].reason"),
        ({"reason": ""}, "`reason` wants some text", "deferrals[0].reason"),
        ({"reason": " \t "}, "`reason` wants some words", "deferrals[0].reason"),
        ({"by": "  "}, "`by` wants some words", "deferrals[0].by"),
        ({"second": "  "}, "`second` wants some words", "deferrals[0].second"),
        ({"until": "2026-02-30"}, "not a day of the calendar", "deferrals[0].until"),
        ({"until": "soon"}, "not a date", "deferrals[0].until"),
        ({"rule": "X100"}, "not the id of a rule", "deferrals[0].rule"),
        ({"resaon": "x"}, "`resaon` is not a key here", "deferrals[0].resaon"),
    ],
)
def test_a_mistake_in_a_deferral_is_a_mistake_of_form(
    change: dict[str, Any], words: str, path: str
) -> None:
    read = loaded({**GOOD, **change})
    assert [show_path(fault.path) for fault in read.faults] == [path]
    assert words in read.faults[0].message
    assert read.setup.deferrals == ()


@pytest.mark.parametrize("key", ["rule", "at", "reason", "by", "until"])
def test_what_every_deferral_says(key: str) -> None:
    read = loaded({name: value for name, value in GOOD.items() if name != key})
    assert [fault.kind for fault in read.faults] == ["missing-key"]
    assert read.faults[0].message == f"This deferral does not say its `{key}`."


def test_an_ill_formed_deferral_takes_nothing_out_and_hides_no_other() -> None:
    read = loaded({**GOOD, "reason": " "}, {**GOOD, "at": "follows[0]"})
    rules = [find("tail-is-loose", ("aircraft", "name"), ("follows", 0))]
    judgement = judge(Aircraft(read.setup), rules, today=TODAY)
    assert said(judgement) == [("tail-is-loose", "aircraft.name")]
    assert [show_path(item.place.path) for item in judgement.deferred] == ["deferrals[1]"]


names = st.sampled_from(["tail-is-loose", "wing-is-bent", "nose-is-long"])
spread = st.dictionaries(names, st.lists(st.sampled_from(PLACES), max_size=5), min_size=1)


@settings(max_examples=150, deadline=None)
@given(spread, st.data())
def test_a_deferral_removes_exactly_one_finding_and_changes_no_other(
    places: dict[str, list[tuple[str | int, ...]]], data: st.DataObject
) -> None:
    rules = [find(name, *paths) for name, paths in places.items()]
    before = judged(rules).found
    if not before:
        return
    chosen = data.draw(st.sampled_from(before))
    at = show_path(chosen.finding.at.path)
    after = judged(rules, {**GOOD, "rule": chosen.rule.id, "at": at})
    (item,) = after.deferred
    assert (item.found.rule.id, show_path(item.found.finding.at.path)) == (chosen.rule.id, at)
    assert _counted(after.found) + _counted([item.found]) == _counted(before)
    kept = [found.finding for found in before if found.finding != item.found.finding]
    assert [found.finding for found in after.found if found.finding in kept] == kept


@settings(max_examples=100, deadline=None)
@given(spread, st.lists(st.tuples(names, st.sampled_from(PLACES)), max_size=5))
def test_no_number_of_deferrals_loses_a_finding(
    places: dict[str, list[tuple[str | int, ...]]],
    named: list[tuple[str, tuple[str | int, ...]]],
) -> None:
    rules = [find(name, *paths) for name, paths in places.items()]
    before = judged(rules).found
    deferrals = [{**GOOD, "rule": name, "at": show_path(path)} for name, path in named]
    after = judged(rules, *deferrals)
    own = [found for found in after.found if found.pack is PACK]
    others = [found for found in after.found if found.pack is not PACK]
    assert _counted(others) + _counted([item.found for item in after.deferred]) == _counted(before)
    assert len(after.deferred) + len(own) == len(deferrals)


def _counted(several: list[Found]) -> "Counter[tuple[str, Finding, Severity, Hold]]":
    return Counter((one.rule.id, one.finding, one.severity, one.hold) for one in several)
