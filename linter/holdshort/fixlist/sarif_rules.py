"""The rules and kinds of mistakes that a SARIF log describes, each once and by its index.

Source: SARIF 2.1.0 (OASIS), sections 3.49 (reportingDescriptor) and 3.52 (references to one).
"""

from typing import Any, Final

from holdshort.fixlist.plain import plain
from holdshort.fixlist.report import FileReport, PlacedFinding, Report
from holdshort.fixlist.rules_reference import looks_at
from holdshort.rulebook import Hold, Pack, Rule, Severity, Source

LEVELS: Final = {Severity.WARNING: "error", Severity.CAUTION: "warning", Severity.NOTE: "note"}
"""What SARIF calls our severities: its ``error`` is what may injure someone."""

FAILED: Final = "rule-failed"
"""The id of the notification about a rule that failed."""


def words(text: str) -> str:
    """Return ``text`` as one line of a SARIF message: nothing in it is a placeholder or a link.

    Braces are doubled (section 3.11.5); where ``[text](target)`` would become a link (3.11.6), the
    two brackets are set apart.
    """
    return plain(text).replace("{", "{{").replace("}", "}}").replace("](", "] (")


class Descriptors:
    """The rules that were run or have something to say, in the order they come."""

    def __init__(self, report: Report) -> None:
        """Describe all rules of ``report``."""
        self._indices: dict[tuple[str, str], int] = {}
        self.rules: list[dict[str, Any]] = []
        for file in report.files:
            self._add_runs(file)
        for file in report.files:
            self._add_told(file)

    def _add_runs(self, file: FileReport) -> None:
        for run in file.rules:
            if self._is_new(run.pack.name, run.rule.id):
                self.rules.append(_of(run.pack, run.rule))

    def _add_told(self, file: FileReport) -> None:
        """Describe rules that have something to say and that no run is told of."""
        for finding in (*file.findings, *(item.finding for item in file.deferred)):
            if self._is_new(finding.pack, finding.rule):
                self.rules.append(_of_finding(finding))
        for question in file.not_checked:
            if self._is_new(question.pack, question.rule):
                self.rules.append(_named(question.pack, question.rule, question.title))
        for crash in file.crashes:
            if self._is_new(crash.pack, crash.rule):
                self.rules.append(_named(crash.pack, crash.rule, crash.rule))

    def _is_new(self, pack: str, rule: str) -> bool:
        """Tell whether a rule is to be described, as the next; from now on it is not."""
        count = len(self._indices)
        return self._indices.setdefault((pack, rule), count) == count

    def index(self, pack: str, rule: str) -> int:
        """Return where a rule stands in :attr:`rules`."""
        return self._indices[pack, rule]


def _of(pack: Pack, rule: Rule) -> dict[str, Any]:
    sources = tuple(pack.sources[name] for name in rule.sources if name in pack.sources)
    found = _described(rule.id, rule.title, pack.name, rule.severity, rule.hold, sources)
    looks = looks_at(pack, rule)
    if looks:
        found["fullDescription"] = {"text": words(_unmarked(looks))}
    page = _page(pack, rule)
    if page:
        found["help"] = {"text": _lines(_unmarked(page)), "markdown": _lines(page)}
    found["properties"]["subject"] = plain(rule.subject)
    return found


def _of_finding(finding: PlacedFinding) -> dict[str, Any]:
    return _described(
        finding.rule, finding.title, finding.pack, finding.severity, finding.hold, finding.sources
    )


def _named(pack: str, rule: str, title: str) -> dict[str, Any]:
    return {
        "id": plain(rule),
        "shortDescription": {"text": words(title)},
        "help": {"text": words(title)},
        "properties": {"pack": plain(pack)},
    }


def _described(
    rule: str, title: str, pack: str, severity: Severity, hold: Hold, sources: tuple[Source, ...]
) -> dict[str, Any]:
    return {
        "id": plain(rule),
        "shortDescription": {"text": words(title)},
        "fullDescription": {"text": words(f"{title}. {_weight(severity, hold)}")},
        "help": {"text": words(title)},
        "defaultConfiguration": {"level": LEVELS[severity]},
        "properties": {
            "pack": plain(pack),
            "severity": severity.word,
            "hold": hold.word,
            "sources": [
                {
                    "id": plain(source.id),
                    "text": plain(source.text),
                    "confidence": plain(source.confidence),
                }
                for source in sources
            ],
        },
    }


def _weight(severity: Severity, hold: Hold) -> str:
    if not severity.holds:
        return f"A {severity.word}, which holds nothing."
    return f"A {severity.word} that holds {hold.word}."


def _page(pack: Pack, rule: Rule) -> str:
    try:
        return pack.page(rule.id)
    except (OSError, ValueError):
        return ""


def _unmarked(text: str) -> str:
    return text.replace("**", "")


def _lines(text: str) -> str:
    return "\n".join(words(line) for line in text.splitlines())
