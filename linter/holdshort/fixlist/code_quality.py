"""The fix list as a code-quality report: a JSON array that CI hosts show beside a change.

Each entry has ``description``, ``check_name``, ``fingerprint``, ``severity`` (``blocker``,
``critical``, ``major``, ``minor``, ``info``) and ``location`` (``path``, ``lines`` with ``begin``
and ``end``), which is what hosts that read such reports document. (Public documentation of that
format, from memory.)

A warning that holds power-up is a blocker, any other is critical, a caution is major and a note is
info. Mistakes of form and failed rules are critical: something was not judged. What was not checked
is minor, for it is no finding, but a report without it would look cleaner than the aircraft is. A
deferred finding is info. A fingerprint is given once, for hosts drop an entry that repeats one.
Where a whole file is meant, its first line stands for it.
"""

from collections.abc import Iterator
from typing import Any, Final

from holdshort.fixlist.identity import Fingerprints, slashed
from holdshort.fixlist.json_format import dump
from holdshort.fixlist.plain import plain
from holdshort.fixlist.report import FileReport, PlacedFinding, Report, Spot
from holdshort.fixlist.text import hold_point
from holdshort.rulebook import Hold, Severity

_SEVERITIES: Final = {
    Severity.WARNING: "critical",
    Severity.CAUTION: "major",
    Severity.NOTE: "info",
}


def render_code_quality(report: Report) -> str:
    """Return the report as a code-quality array."""
    fingerprints = Fingerprints()
    return dump([entry for file in report.files for entry in _entries(file, fingerprints)])


def _entries(file: FileReport, fingerprints: Fingerprints) -> Iterator[dict[str, Any]]:
    def entry(told: str, at: Spot, severity: str, text: str, name: str = "") -> dict[str, Any]:
        return {
            "description": plain(text),
            "check_name": plain(name or told),
            "fingerprint": fingerprints.of(told, at),
            "severity": severity,
            "location": {"path": plain(slashed(at.file)), "lines": _lines(at)},
        }

    for mistake in file.mistakes:
        yield entry(mistake.kind, mistake.at, "critical", f"{mistake.message} {mistake.do}".strip())
    for crash in file.crashes:
        text = f"Rule {crash.rule} of pack {crash.pack} failed: {crash.error}"
        whole = Spot(file.file, 0, 0, 0, 0, "")
        yield entry(f"{crash.rule} failed", whole, "critical", text, crash.rule)
    for finding in file.findings:
        yield entry(finding.rule, finding.at, _severity(finding), _text(finding))
    for item in file.deferred:
        names = f"{item.by} and {item.second}" if item.second else item.by
        text = f"Deferred by {names} until {item.until} ({item.reason}): {item.finding.message}"
        yield entry(item.finding.rule, item.finding.at, "info", text)
    for question in file.not_checked:
        text = f"Not checked: needs {question.needs}."
        told = f"{question.rule} needs {question.needs}"
        yield entry(told, question.at, "minor", text, question.rule)


def _severity(finding: PlacedFinding) -> str:
    if finding.severity is Severity.WARNING and finding.hold is Hold.POWER_UP:
        return "blocker"
    return _SEVERITIES[finding.severity]


def _text(finding: PlacedFinding) -> str:
    holds = f" before {hold_point(finding.hold)}" if finding.severity.holds else ""
    head = f"{finding.severity.word.capitalize()}{holds}"
    return f"{head}: {finding.message} {finding.do}".strip()


def _lines(at: Spot) -> dict[str, int]:
    return {"begin": at.line or 1, "end": max(at.end_line, at.line) or 1}
