"""The reference of the built-in rules is what the rules say."""

from pathlib import Path

import pytest

from holdshort.fixlist.rules_reference import looks_at, markdown
from holdshort.rulebook import Rule, Rulebook
from holdshort_rules import pack

REFERENCE = Path(__file__).resolve().parents[2] / "rules" / "README.md"


def test_the_reference_is_current() -> None:
    written = REFERENCE.read_text(encoding="utf-8")
    assert written == markdown(Rulebook((pack,))), (
        "run: holdshort rules --format markdown > rules/README.md"
    )


@pytest.mark.parametrize("rule", pack.rules, ids=lambda rule: rule.id)
def test_every_rule_stands_in_it_with_its_limits_and_sources(rule: Rule) -> None:
    section = REFERENCE.read_text(encoding="utf-8").partition(f"\n### {rule.id}\n")[2]
    section = section.partition("\n##")[0]
    assert f"**{rule.title}.** A {rule.severity.word} that holds {rule.hold.word}." in section
    assert looks_at(pack, rule)
    for option in rule.options:
        assert f"| `{option.name}` | {option.default} |" in section
    for source in rule.sources:
        assert f"- {source}: " in section
        assert f"*({pack.sources[source].confidence})*" in section
