"""The fix list as lines that CI hosts turn into notes beside the files of a change.

Each is a workflow command, ``::error file=...,line=...,title=...::message``, as hosts that read
such lines document it: in the message ``%``, carriage return and line feed are written ``%25``,
``%0D``, ``%0A``, and in a property ``:`` and ``,`` also, as ``%3A`` and ``%2C``. (Public
documentation of that format, from memory.) Everything from a file is made plain first, so no text
of a file can end a line and begin a command of its own.

Warnings are errors, cautions are warnings, and notes, deferred findings and what was not checked
are notices; mistakes of form and failed rules are errors. Hosts show only the first few of a kind:
the worst come first. The column is given where a place lies on one line, as hosts take it only
there; whether they take an end column as inclusive is not documented, so there is none.

After the commands come the cautions of every fix list, as plain lines of the log.
"""

from collections.abc import Iterator
from typing import Final, NamedTuple

from holdshort.fixlist.identity import STANDARD_INPUT, slashed
from holdshort.fixlist.plain import plain
from holdshort.fixlist.report import (
    CAUTIONS,
    DeferredFinding,
    FailedRule,
    FileReport,
    Mistake,
    PlacedFinding,
    Report,
    Spot,
)
from holdshort.fixlist.text import by_needs, hold_point
from holdshort.rulebook import Hold, Severity

_LEVELS: Final = {Severity.WARNING: "error", Severity.CAUTION: "warning", Severity.NOTE: "notice"}
_MOST_REASONS: Final = 12


class _Line(NamedTuple):
    """One command. ``text`` has a line for each part of the message."""

    level: str
    at: Spot
    title: str
    text: tuple[str, ...]


def render_annotations(report: Report) -> str:
    """Return the report as workflow commands, the worst first, and the cautions after them."""
    lines = [_command(line) for line in _lines(report)]
    return "".join(f"{line}\n" for line in (*lines, *CAUTIONS))


def _lines(report: Report) -> Iterator[_Line]:
    files = report.files
    yield from (_mistake(mistake) for file in files for mistake in file.mistakes)
    yield from (_crash(crash, file) for file in files for crash in file.crashes)
    findings = [finding for file in files for finding in file.findings]
    for finding in sorted(findings, key=_order):
        yield _finding(finding)
    yield from (_deferred(item) for file in files for item in file.deferred)
    for file in files:
        yield from _not_checked(file)


def _order(finding: PlacedFinding) -> tuple[Hold, Severity]:
    return finding.hold, finding.severity


def _mistake(mistake: Mistake) -> _Line:
    related = tuple(f"See {_place(reason.at)}: {reason.text}" for reason in mistake.related)
    text = (mistake.message, *related, mistake.do)
    return _Line("error", mistake.at, "Mistake of form", text)


def _crash(crash: FailedRule, file: FileReport) -> _Line:
    text = (
        f"Rule {crash.rule} of pack {crash.pack} failed: {crash.error}",
        "Tell whoever keeps the pack; nothing this rule looks for was judged.",
    )
    return _Line("error", Spot(file.file, 0, 0, 0, 0, ""), "A rule failed", text)


def _finding(finding: PlacedFinding) -> _Line:
    holds = f" before {hold_point(finding.hold)}" if finding.severity.holds else ""
    title = f"{finding.severity.word.capitalize()}{holds}: {finding.rule}"
    return _Line(_LEVELS[finding.severity], finding.at, title, _told(finding))


def _told(finding: PlacedFinding) -> tuple[str, ...]:
    reasons = [
        f"Because {reason.text} ({_place(reason.at)})" for reason in finding.because[:_MOST_REASONS]
    ]
    unsaid = len(finding.because) - _MOST_REASONS
    if unsaid > 0:
        reasons.append(f"Because of {unsaid} more, which the JSON report lists")
    return finding.message, *reasons, finding.do


def _deferred(item: DeferredFinding) -> _Line:
    names = f"{item.by} and {item.second}" if item.second else item.by
    why = f"Accepted by {names} until {item.until}: {item.reason}"
    title = f"Deferred {item.finding.severity.word}: {item.finding.rule}"
    return _Line("notice", item.finding.at, title, (item.finding.message, why))


def _not_checked(file: FileReport) -> Iterator[_Line]:
    """Yield one line for each missing fact, at the first place that it is missing at."""
    for needs, items in by_needs(file.not_checked).items():
        rules = ", ".join(dict.fromkeys(item.rule for item in items))
        yield _Line("notice", items[0].at, "Not checked", (f"Needs {needs}, for {rules}",))


def _place(at: Spot) -> str:
    file = "standard input" if at.file == STANDARD_INPUT else slashed(at.file)
    return f"{file}:{at.line}" if at.line else file


def _command(line: _Line) -> str:
    properties = {"title": line.title}
    if line.at.file != STANDARD_INPUT:
        properties = {"file": slashed(line.at.file), **_numbers(line.at), **properties}
    shown = ",".join(f"{name}={_property(text)}" for name, text in properties.items())
    message = "%0A".join(_data(text) for text in line.text if text)
    return f"::{line.level} {shown}::{message}"


def _numbers(at: Spot) -> dict[str, str]:
    if not at.line:
        return {}
    numbers = {"line": f"{at.line}", "endLine": f"{at.end_line}"}
    if at.line == at.end_line:
        numbers["col"] = f"{at.column}"
    return numbers


def _data(text: str) -> str:
    return plain(text).replace("%", "%25")


def _property(text: str) -> str:
    return _data(text).replace(":", "%3A").replace(",", "%2C")
