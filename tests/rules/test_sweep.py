"""What must be true of every built-in rule, whatever it judges: what the test kit asks of packs."""

from holdshort.testkit import sweep
from holdshort_rules import pack


def test_the_sweep_finds_nothing() -> None:
    assert [str(flaw) for flaw in sweep(pack)] == []


def test_every_source_is_cited_by_a_rule_and_not_by_a_limit_alone() -> None:
    cited = {source for rule in pack.rules for source in rule.sources}
    assert cited == set(pack.sources)
