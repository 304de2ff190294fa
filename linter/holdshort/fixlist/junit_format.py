"""The fix list as a JUnit report, for CI hosts that show the results of tests.

One suite a file. Its test cases are one for each finding and each other thing told, and one for
each rule that judged and had nothing to say:

- a finding that holds something is a ``failure``;
- a mistake of form and a rule that failed are each an ``error``;
- what was not checked, a deferred finding and a note are ``skipped``, with the reason: none of them
  fails the run, and none may pass for clean;
- a clean rule, and a file without mistakes of form, pass.

So a run has failures or errors exactly where the exit code is not 0. A rule with nothing to judge
has no case; the tally stands in the properties of the suite. The name of a case is the rule and the
document path, so its history survives moved lines.

There is no standard. The shape is what the two schemas in wide use agree on, but that the older of
them knows no ``skipped``: properties, cases, output in this order; no attributes on the root; all
that the stricter one asks of a suite. Times are not measured and given as 0.
"""

from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from itertools import chain, count
from typing import Final, NamedTuple
from xml.etree import ElementTree as ET

from holdshort.fixlist.identity import slashed
from holdshort.fixlist.plain import plain
from holdshort.fixlist.report import (
    CAUTIONS,
    DeferredFinding,
    FailedRule,
    FileReport,
    Mistake,
    PlacedFinding,
    Reason,
    Report,
    Spot,
    Tally,
)
from holdshort.fixlist.text import where

_LONGEST_NAME: Final = 250
_LONGEST_MESSAGE: Final = 1000
_LONGEST_BODY: Final = 20_000


class _Case(NamedTuple):
    """One test case; ``outcome`` is the element that says how it ended, empty where it passed."""

    name: str
    outcome: str = ""
    kind: str = ""
    message: str = ""
    body: tuple[str, ...] = ()


def render_junit(report: Report) -> str:
    """Return the report as XML, in ASCII."""
    root = ET.Element("testsuites")
    for number, file in enumerate(report.files):
        root.append(_suite(file, number, report))
    ET.indent(root)
    text = ET.tostring(root, encoding="us-ascii", xml_declaration=True).decode("ascii")
    return f"{text}\n"


def _suite(file: FileReport, number: int, report: Report) -> ET.Element:
    cases = list(_cases(file))
    name = _short(slashed(file.file), _LONGEST_NAME)
    suite = ET.Element(
        "testsuite",
        name=name,
        package="holdshort",
        id=f"{number}",
        tests=f"{len(cases)}",
        failures=_count(cases, "failure"),
        errors=_count(cases, "error"),
        skipped=_count(cases, "skipped"),
        time="0",
        timestamp=_time(report.made),
        hostname="localhost",
    )
    properties = ET.SubElement(suite, "properties")
    for key, value in _properties(file, report):
        ET.SubElement(properties, "property", name=key, value=_short(value, _LONGEST_MESSAGE))
    for case in cases:
        suite.append(_element(case, name))
    ET.SubElement(suite, "system-out").text = "\n".join(CAUTIONS)
    ET.SubElement(suite, "system-err")
    return suite


def _time(made: datetime | None) -> str:
    """Return a time in UTC without its zone, which the stricter schema forbids.

    It also forbids having none: a report that does not say when it was made gets the first second
    of 1970.
    """
    return (made or datetime.fromtimestamp(0, UTC)).astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S")


def _count(cases: Iterable[_Case], outcome: str) -> str:
    return f"{sum(case.outcome == outcome for case in cases)}"


def _properties(file: FileReport, report: Report) -> Iterator[tuple[str, str]]:
    yield "kind", file.kind
    yield "until", report.until.word
    if file.kind != "aircraft":
        return
    yield "aircraft", file.aircraft
    yield "hangar", file.hangar
    yield from _counted(file.tally)


def _counted(tally: Tally) -> Iterator[tuple[str, str]]:
    yield "held", f"{tally.held_in_all}"
    yield "held later", f"{tally.later_in_all}"
    yield "notes", f"{tally.notes}"
    yield "deferred", f"{tally.deferred}"
    yield "not checked", f"{tally.not_checked}"
    yield "clean rules", f"{tally.clean}"
    yield "rules with nothing to judge", f"{tally.nothing_to_judge}"


def _element(case: _Case, classname: str) -> ET.Element:
    element = ET.Element("testcase", name=case.name, classname=classname, time="0")
    if case.outcome:
        told = ET.SubElement(
            element, case.outcome, message=_short(case.message, _LONGEST_MESSAGE), type=case.kind
        )
        told.text = _body(case.body)
    return element


def _cases(file: FileReport) -> Iterator[_Case]:
    given: set[str] = set()

    def name(told: str, at: Spot | None = None) -> str:
        whole = _short(f"{told} at {at.path}" if at and at.path else told, _LONGEST_NAME)
        numbered = (f"{whole} ({number})" for number in count(2))
        free = next(one for one in chain((whole,), numbered) if one not in given)
        given.add(free)
        return free

    if not file.mistakes:
        yield _Case(name("form of the file"))
    for mistake in file.mistakes:
        yield _mistake(mistake, name(f"form: {mistake.kind}", mistake.at))
    for crash in file.crashes:
        yield _crash(crash, name(crash.rule))
    for finding in file.findings:
        yield _finding(finding, name(finding.rule, finding.at))
    for item in file.deferred:
        yield _deferred(item, name(item.finding.rule, item.finding.at))
    for question in file.not_checked:
        needs = f"needs {question.needs}"
        body = (needs, f"at {where(question.at)}")
        named_so = name(f"{question.rule} needs {question.needs}", question.at)
        yield _Case(named_so, "skipped", "not checked", f"Not checked: {needs}", body)
    clean = (run.rule.id for run in file.rules if run.outcome == "clean")
    yield from (_Case(name(rule)) for rule in clean)


def _mistake(mistake: Mistake, name: str) -> _Case:
    see = (f"see {where(reason.at)}: {reason.text}" for reason in mistake.related)
    do = (f"do: {mistake.do}",) if mistake.do else ()
    body = (mistake.message, f"at {where(mistake.at)}", *see, *do)
    return _Case(name, "error", plain(mistake.kind), mistake.message, body)


def _crash(crash: FailedRule, name: str) -> _Case:
    message = f"Rule {crash.rule} of pack {crash.pack} failed: {crash.error}"
    return _Case(name, "error", "rule failed", message, tuple(crash.traceback.splitlines()))


def _finding(finding: PlacedFinding, name: str) -> _Case:
    word = finding.severity.word
    if not finding.severity.holds:
        return _Case(name, "skipped", word, f"A note: {finding.message}", _told(finding))
    kind = f"{word} before {finding.hold.word}"
    return _Case(name, "failure", kind, finding.message, _told(finding))


def _deferred(item: DeferredFinding, name: str) -> _Case:
    names = f"{item.by} and {item.second}" if item.second else item.by
    message = f"Deferred by {names} until {item.until}: {item.reason}"
    return _Case(name, "skipped", "deferred", message, _told(item.finding))


def _told(finding: PlacedFinding) -> tuple[str, ...]:
    sources = (f"source: {source.text} ({source.confidence})" for source in finding.sources)
    return (
        f"{finding.severity.word}, {finding.title}",
        finding.message,
        f"at {where(finding.at)}",
        *(_reason(reason) for reason in finding.because),
        f"do: {finding.do}",
        *sources,
    )


def _reason(reason: Reason) -> str:
    return f"because {reason.text} ({where(reason.at)})"


def _body(lines: Iterable[str]) -> str:
    text = "\n".join(plain(line) for line in lines)
    return text if len(text) <= _LONGEST_BODY else f"{text[:_LONGEST_BODY]} ..."


def _short(text: str, longest: int) -> str:
    """Return ``text``, plain and no longer than told: plain text holds no character XML forbids."""
    shown = plain(text)
    return shown if len(shown) <= longest else f"{shown[: longest - 4]} ..."
