"""The fix list of an aircraft sheet: what was found, deferred and not checked, and the rules."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any, Final

from holdshort.fixlist.report import DeferredFinding, FileReport, Mistake, PlacedFinding, Reason
from holdshort.fixlist.rule_pages import page_blocks
from holdshort.fixlist.sheet_facts import SheetFacts
from holdshort.fixlist.text import by_needs, hold_point, line_told, lines_told, where
from holdshort.rulebook import Hold, Pack, Rule, Severity, Source
from holdshort.rulebook.wording import listed

MOST_REASONS: Final = 40
"""More reasons than this to one finding are counted, not listed; the JSON report has them."""

_WORDS: Final = {Severity.WARNING: "Warning", Severity.CAUTION: "Caution", Severity.NOTE: "Note"}


def finding_target(number: int) -> str:
    """Return the id that the finding with this number, from 1, has in the page."""
    return f"finding-{number}"


def fix_list(facts: SheetFacts) -> dict[str, Any]:
    """Return the findings by hold point, numbered in the order of the report."""
    report = facts.report
    links = facts.drawing.links if facts.drawing else {}
    rules = rule_targets(facts)
    shown = [
        _finding(report, rules, number, finding, links.get(str(number), ()))
        for number, finding in enumerate(report.findings, 1)
    ]
    return {
        "count": len(shown),
        "severities": _used(item["severity"] for item in shown),
        "holds": _used(item["hold"] for item in shown),
        "groups": [
            {
                "hold": hold.word,
                "title": f"Before {hold_point(hold)}",
                "findings": [item for item in shown if item["hold"] == hold.word],
            }
            for hold in Hold
            if any(item["hold"] == hold.word for item in shown)
        ],
        "mistakes": [_mistake(report, mistake) for mistake in report.mistakes],
        "crashes": [
            {"rule": crash.rule, "pack": crash.pack, "error": crash.error}
            for crash in report.crashes
        ],
    }


def _used(words: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(words))


def _finding(
    report: FileReport,
    rules: dict[str, str],
    number: int,
    finding: PlacedFinding,
    links: Sequence[tuple[str, str]],
) -> dict[str, Any]:
    unsaid = len(finding.because) - MOST_REASONS
    more = [f"and {unsaid} more, which the JSON report lists"] if unsaid > 0 else []
    return {
        **_told(finding, rules),
        "number": number,
        "target": finding_target(number),
        "because": [_reason(report, item) for item in finding.because[:MOST_REASONS]] + more,
        "fix": finding.fix.text if finding.fix else "",
        "links": links,
    }


def _told(finding: PlacedFinding, rules: dict[str, str]) -> dict[str, Any]:
    return {
        "severity": finding.severity.word,
        "severity_word": _WORDS[finding.severity],
        "hold": finding.hold.word,
        "title": finding.title,
        "message": finding.message,
        "do": finding.do,
        "at": where(finding.at),
        "rule": finding.rule,
        "rule_target": rules.get(finding.rule, ""),
        "read": listed(dict.fromkeys(source.confidence for source in finding.sources)),
    }


def _reason(report: FileReport, reason: Reason) -> str:
    return f"{reason.text} ({line_told(reason.at, report.file)})"


def _mistake(report: FileReport, mistake: Mistake) -> dict[str, Any]:
    return {
        "message": mistake.message,
        "at": where(mistake.at),
        "do": mistake.do,
        "related": [
            f"{line_told(item.at, mistake.at.file or report.file)}: {item.text}"
            for item in mistake.related
        ],
    }


def deferred(facts: SheetFacts) -> list[dict[str, Any]]:
    """Return the findings that are accepted for now: why, by whom and until when."""
    rules = rule_targets(facts)
    return [_deferred(facts.report, rules, item) for item in facts.report.deferred]


def _deferred(report: FileReport, rules: dict[str, str], item: DeferredFinding) -> dict[str, Any]:
    return {
        **_told(item.finding, rules),
        "holds": hold_point(item.finding.hold),
        "reason": f"{item.reason} ({line_told(item.at, report.file)})",
        "by": f"{item.by} and {item.second}" if item.second else item.by,
        "until": item.until,
    }


def not_checked(facts: SheetFacts) -> list[dict[str, Any]]:
    """Return what could not be judged, by the fact that is missing."""
    report, rules = facts.report, rule_targets(facts)
    return [
        {
            "needs": needs,
            "places": lines_told([item.at for item in items], report.file),
            "rules": [
                (rule, rules.get(rule, "")) for rule in dict.fromkeys(item.rule for item in items)
            ],
        }
        for needs, items in by_needs(report.not_checked).items()
    ]


def rule_targets(facts: SheetFacts) -> dict[str, str]:
    """Return the id in the page of every rule that found something, by the id of the rule."""
    return {
        rule.id: f"rule-{number}" for number, (_, rule) in enumerate(_rules_that_found(facts), 1)
    }


def rules_told(facts: SheetFacts) -> list[dict[str, Any]]:
    """Return the pages of the rules that found something, each once, in the order they did."""
    targets = rule_targets(facts)
    return [
        {
            "target": targets[rule.id],
            "id": rule.id,
            "title": rule.title,
            "pack": pack.name,
            "severity": rule.severity.word,
            "hold": hold_point(rule.hold),
            "page": page_blocks(pack, rule),
            "sources": [_source(pack.sources[name]) for name in rule.sources],
            "findings": _numbers(facts, rule),
        }
        for pack, rule in _rules_that_found(facts)
    ]


def _source(source: Source) -> str:
    """Return a source with how it was read, unless its text says so."""
    told = source.confidence in source.text
    return source.text if told else f"{source.text} ({source.confidence})"


def _rules_that_found(facts: SheetFacts) -> Iterator[tuple[Pack, Rule]]:
    found = (*facts.judgement.found, *(item.found for item in facts.judgement.deferred))
    rules: dict[str, tuple[Pack, Rule]] = {}
    for item in found:
        rules.setdefault(item.rule.id, (item.pack, item.rule))
    yield from rules.values()


def _numbers(facts: SheetFacts, rule: Rule) -> list[int]:
    return [
        number for number, finding in enumerate(facts.report.findings, 1) if finding.rule == rule.id
    ]
