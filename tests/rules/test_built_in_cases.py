"""Every case of every built-in rule, run by the public test kit."""

import pytest

from holdshort.api import Rule
from holdshort.testkit import coverage_problems, run_cases
from holdshort_rules import pack


@pytest.mark.parametrize("rule", pack.rules, ids=lambda rule: rule.id)
def test_cases(rule: Rule) -> None:
    results = list(run_cases(pack, rule))
    failed = [f"{result.name}: {problem}" for result in results for problem in result.problems]
    assert not failed, "\n".join(failed)


@pytest.mark.parametrize("rule", pack.rules, ids=lambda rule: rule.id)
def test_each_rule_is_proved_all_ways(rule: Rule) -> None:
    assert coverage_problems(pack, rule) == []
