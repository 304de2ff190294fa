"""The fix list as workflow commands and as a code-quality report."""

import json
import re
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.fixlist.annotations import render_annotations
from holdshort.fixlist.code_quality import render_code_quality
from holdshort.fixlist.plain import plain
from holdshort.fixlist.report import CAUTIONS, FileReport, Report
from holdshort.rulebook import Hold, Severity

GOLDEN = Path(__file__).parent / "golden"
COMMAND = re.compile(r"::(error|warning|notice) ([^:]*)::(.*)")
SEVERITIES = {"info", "minor", "major", "critical", "blocker"}


def commands(text: str) -> list[tuple[str, dict[str, str], str]]:
    """Read commands as a host does (public documentation of the format, from memory).

    A command is a line that begins with ``::``; properties end at the next ``::`` and are parted by
    commas; what was escaped is put back, ``%25`` last.
    """
    lines = text.split("\n")
    assert lines[-3:-1] == list(CAUTIONS)
    assert lines[-1] == ""
    found: list[tuple[str, dict[str, str], str]] = []
    for line in lines[:-3]:
        match = COMMAND.fullmatch(line)
        assert match is not None, line
        pairs = (pair.partition("=") for pair in match[2].split(","))
        properties = {name: unescaped(value, inside=True) for name, _, value in pairs}
        found.append((match[1], properties, unescaped(match[3], inside=False)))
    return found


def unescaped(text: str, *, inside: bool) -> str:
    codes = {"%0D": "\r", "%0A": "\n"} | ({"%3A": ":", "%2C": ","} if inside else {})
    for code, character in codes.items():
        text = text.replace(code, character)
    return text.replace("%25", "%")


def test_the_worst_comes_first_and_everything_comes(full_report: Report) -> None:
    told = [(level, properties["title"]) for level, properties, _ in commands(
        render_annotations(full_report)
    )]  # fmt: skip
    assert told == [
        ("error", "Mistake of form"),
        ("error", "Mistake of form"),
        ("error", "A rule failed"),
        ("error", "Warning before power-up: too-much-voltage"),
        ("notice", "Note: lamp-too-dim"),
        ("notice", "Deferred caution: plug-not-secured"),
        ("notice", "Not checked"),
        ("notice", "Not checked"),
    ]


def test_a_finding_of_a_later_file_comes_before_a_milder_one(full_report: Report) -> None:
    over, dim = full_report.files[0].findings
    mild = over._replace(severity=Severity.CAUTION, hold=Hold.ENGINE_RUN)
    files = (
        FileReport("a.yaml", "aircraft", findings=(mild, dim)),
        FileReport("b.yaml", "aircraft", findings=(over,)),
    )
    levels = [level for level, _, _ in commands(render_annotations(Report(Hold.FLIGHT, files)))]
    assert levels == ["error", "warning", "notice"]


def test_a_finding_reads_as_written(full_report: Report) -> None:
    line = render_annotations(full_report).split("\n")[3]
    assert line == (
        "::error file=hangar/heron.yaml,line=21,endLine=21,col=5,"
        "title=Warning before power-up%3A too-much-voltage::"
        "`regulator` gives 8.4 V, and `nose` is rated to 7.4 V at most. Over-voltage can burn out "
        "a servo in the first second."
        "%0ABecause 8.4 V is set here (hangar/heron.yaml:21)"
        "%0ABecause rated to 7.4 V (hangar/shelf.yaml:90)"
        "%0ASet `regulator` to 7.4 V or less, or fit a servo rated for more."
    )


def test_a_place_over_several_lines_has_no_column(full_report: Report) -> None:
    over = full_report.files[0].findings[0]
    tall = over._replace(at=over.at._replace(end_line=24))
    report = Report(Hold.FLIGHT, (FileReport("a.yaml", "aircraft", findings=(tall,)),))
    ((_, properties, _),) = commands(render_annotations(report))
    assert (properties["line"], properties["endLine"]) == ("21", "24")
    assert "col" not in properties


def test_standard_input_has_no_file(full_report: Report) -> None:
    over = full_report.files[0].findings[0]
    piped = over._replace(at=over.at._replace(file="-"))
    report = Report(Hold.FLIGHT, (FileReport("-", "aircraft", findings=(piped,)),))
    ((_, properties, _),) = commands(render_annotations(report))
    assert list(properties) == ["title"]


@pytest.mark.parametrize(
    ("message", "told"),
    [
        ("a\n::error::b", "a\\n::error::b"),
        ("a\r\n::stop-commands::x", "a\\r\\n::stop-commands::x"),
        ("100 %0A::warning::", "100 %0A::warning::"),
        ("::add-mask::secret", "::add-mask::secret"),
        ("a\u202eb", "a\\u202eb"),
        ("%250A", "%250A"),
    ],
)
def test_a_text_begins_no_command_of_its_own(full_report: Report, message: str, told: str) -> None:
    over = full_report.files[0].findings[0]
    named = over._replace(message=message, because=(), do="", rule=message)
    report = Report(Hold.FLIGHT, (FileReport("a.yaml", "aircraft", findings=(named,)),))
    ((_, properties, text),) = commands(render_annotations(report))
    assert text == told
    assert properties["title"] == f"Warning before power-up: {told}"


def test_one_of_everything_reads_as_agreed(judged_report: Report) -> None:
    agreed = (GOLDEN / "one-of-everything.annotations.txt").read_text(encoding="utf-8")
    assert render_annotations(judged_report) == agreed
    agreed = (GOLDEN / "one-of-everything.codequality.json").read_text(encoding="utf-8")
    assert render_code_quality(judged_report) == agreed


@settings(max_examples=50)
@given(st.data())
def test_any_report_is_one_command_for_each_thing(any_reports: Any, data: st.DataObject) -> None:
    report: Report = data.draw(any_reports)
    told = commands(render_annotations(report))
    expected = [
        *(mistake.at.file for file in report.files for mistake in file.mistakes),
        *(file.file for file in report.files for _ in file.crashes),
    ]
    errors = [properties for level, properties, _ in told if level == "error"]
    warnings = sum(
        finding.severity is Severity.WARNING for file in report.files for finding in file.findings
    )
    assert len(errors) == len(expected) + warnings
    assert [("file" in properties) for properties in errors[: len(expected)]] == [
        file != "-" for file in expected
    ]
    texts = [
        plain(finding.message) for file in report.files for finding in file.findings
        if finding.severity is Severity.NOTE
    ]  # fmt: skip
    notices = [text for level, _, text in told if level == "notice"]
    assert all(any(text in notice for notice in notices) for text in texts)


def quality(text: str) -> list[Any]:
    """Read a code-quality report (public documentation of the format, from memory)."""
    assert {c for c in text if not " " <= c <= "~"} <= {"\n"}
    entries: list[Any] = json.loads(text)
    for entry in entries:
        assert set(entry) == {"description", "check_name", "fingerprint", "severity", "location"}
        assert entry["severity"] in SEVERITIES
        lines = entry["location"]["lines"]
        assert 1 <= lines["begin"] <= lines["end"]
        assert not entry["location"]["path"].startswith("./")
    assert len({entry["fingerprint"] for entry in entries}) == len(entries)
    return entries


def test_everything_stands_in_a_code_quality_report(full_report: Report) -> None:
    told = [(one["check_name"], one["severity"], one["location"]["lines"]["begin"])
            for one in quality(render_code_quality(full_report))]  # fmt: skip
    assert told == [
        ("given-twice", "critical", 54),
        ("rail-overload", "critical", 1),
        ("too-much-voltage", "blocker", 21),
        ("lamp-too-dim", "info", 70),
        ("plug-not-secured", "info", 63),
        ("rail-overload", "minor", 41),
        ("thin-lead", "minor", 60),
        ("thin-lead", "minor", 60),
        ("thin-lead", "minor", 9),
        ("file-missing", "critical", 1),
    ]


@pytest.mark.parametrize(
    ("severity", "hold", "told"),
    [
        (Severity.WARNING, Hold.POWER_UP, "blocker"),
        (Severity.WARNING, Hold.ENGINE_RUN, "critical"),
        (Severity.CAUTION, Hold.POWER_UP, "major"),
        (Severity.NOTE, Hold.POWER_UP, "info"),
    ],
)
def test_severities(full_report: Report, severity: Severity, hold: Hold, told: str) -> None:
    one = full_report.files[0].findings[0]._replace(severity=severity, hold=hold)
    report = Report(Hold.FLIGHT, (FileReport("./a.yaml", "aircraft", findings=(one,)),))
    assert [entry["severity"] for entry in quality(render_code_quality(report))] == [told]


def test_nothing_told_is_an_empty_array() -> None:
    assert quality(render_code_quality(Report(Hold.FLIGHT, ()))) == []


@settings(max_examples=40)
@given(st.data())
def test_any_report_has_an_entry_for_each_thing(any_reports: Any, data: st.DataObject) -> None:
    report: Report = data.draw(any_reports)
    count = sum(
        len(part)
        for file in report.files
        for part in (file.mistakes, file.crashes, file.findings, file.deferred, file.not_checked)
    )
    assert len(quality(render_code_quality(report))) == count
