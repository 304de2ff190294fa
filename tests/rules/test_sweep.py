"""What must be true of every built-in rule, whatever it judges."""

import re

from holdshort.api import Rule
from holdshort.document import read_file
from holdshort_rules import pack


def test_ids_are_unique_and_plain_words() -> None:
    ids = [rule.id for rule in pack.rules]
    assert len(set(ids)) == len(ids)
    for rule_id in ids:
        assert re.fullmatch(r"[a-z][a-z0-9]*(-[a-z0-9]+)+", rule_id)


def test_every_rule_has_a_page_that_says_what_it_looks_at_and_what_to_do() -> None:
    for rule in pack.rules:
        page = pack.page(rule.id)
        assert page.startswith(f"# {rule.title}\n"), rule.id
        assert "**What it looks at.**" in page, rule.id
        assert "**Why it matters.**" in page, rule.id
        assert "**What to do.**" in page, rule.id


def test_pages_and_cases_belong_to_rules() -> None:
    ids = {rule.id for rule in pack.rules}
    assert {path.stem for path in pack.pages.glob("*.md")} == ids
    assert {path.stem for path in pack.cases.glob("*.yaml")} == ids


def test_every_source_cited_is_known_and_every_known_source_cited() -> None:
    cited = {source for rule in pack.rules for source in rule.sources}
    assert cited == set(pack.sources)


def test_every_source_says_how_it_was_read() -> None:
    marks = {"read", "read second-hand", "from memory", "derived", "common practice"}
    for source_id, source in pack.sources.items():
        assert source.id == source_id
        assert source.confidence in marks


def test_pages_that_can_leave_something_unjudged_say_when() -> None:
    for rule in pack.rules:
        if _can_fail_to_judge(rule):
            assert "**Not checked**" in pack.page(rule.id), rule.id


def _can_fail_to_judge(rule: Rule) -> bool:
    cases = read_file(pack.cases / f"{rule.id}.yaml")
    return "cannot-judge" in str(cases.root)


def test_titles_are_conditions_not_codes() -> None:
    for rule in pack.rules:
        assert not re.search(r"\b[A-Z]{1,3}\d{2,4}\b", rule.title)
