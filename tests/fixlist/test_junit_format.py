"""The fix list as a JUnit report: what readers and the schemas in use ask of one."""

import re
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import junitparser
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.fixlist.junit_format import render_junit
from holdshort.fixlist.report import CAUTIONS, FileReport, Report, Tally
from holdshort.rulebook import Hold

GOLDEN = Path(__file__).parent / "golden" / "one-of-everything.junit.xml"

# What two XML schemas of JUnit reports ask, and the stricter where they differ (both read): the one
# of Apache Ant's report task, and "junit-10.xsd" of the plug-in of a CI server, which alone knows
# `skipped`.
SUITE = (
    "name", "package", "id", "tests", "failures", "errors", "skipped", "time", "timestamp",
    "hostname",
)  # fmt: skip
TIME = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}")
# XML 1.0 (fifth edition), production 2.
CHARACTER = re.compile("[\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]*")


def checked(text: str) -> ET.Element:
    """Return the root of a report that both schemas let pass."""
    assert text.isascii()
    root = ET.fromstring(text)  # noqa: S314  - our own
    assert (root.tag, root.attrib) == ("testsuites", {})
    for number, suite in enumerate(root):
        assert suite.tag == "testsuite"
        assert suite.get("id") == f"{number}"
        check_suite(suite)
    for element in root.iter():
        for shown in (element.text or "", *element.attrib.values()):
            assert CHARACTER.fullmatch(shown)
    return root


def check_suite(suite: ET.Element) -> None:
    assert tuple(suite.attrib) == SUITE
    assert suite.get("name")
    assert TIME.fullmatch(suite.get("timestamp", ""))
    assert suite.get("hostname") == "localhost"
    first, *cases, out, err = suite
    assert (first.tag, out.tag, err.tag) == ("properties", "system-out", "system-err")
    for entry in first:
        assert (entry.tag, tuple(entry.attrib)) == ("property", ("name", "value"))
        assert entry.get("name")
    for case in cases:
        check_case(case)
    assert suite.get("tests") == f"{len(cases)}"
    for key, outcome in (("failures", "failure"), ("errors", "error"), ("skipped", "skipped")):
        assert suite.get(key) == f"{len(suite.findall(f'testcase/{outcome}'))}"
    names = [case.get("name") for case in cases]
    assert len(set(names)) == len(names)


def check_case(case: ET.Element) -> None:
    assert (case.tag, tuple(case.attrib)) == ("testcase", ("name", "classname", "time"))
    assert case.get("name")
    assert len(case) <= 1
    for told in case:
        assert told.tag in {"failure", "error", "skipped"}
        assert tuple(told.attrib) == ("message", "type")
        assert len(told) == 0


def outcomes(suite: ET.Element) -> list[tuple[str, str]]:
    """Return the cases of a suite by name, with how each ended."""
    return [
        (case.get("name", ""), case[0].tag if len(case) else "")
        for case in suite.findall("testcase")
    ]


def test_each_thing_told_is_a_case(judged_report: Report) -> None:
    heron, missing, wren = checked(render_junit(judged_report))
    assert outcomes(heron) == [
        ("form: given-twice at radio.channels.3", "error"),
        ("rail-overload", "error"),
        ("too-much-voltage at devices.regulator.output", "failure"),
        ('lamp-too-dim at devices."front lamp"', "skipped"),
        ("plug-not-secured at leads[4]", "skipped"),
        ("rail-overload needs the stall current of `servo-mini` at devices.nose", "skipped"),
        ("thin-lead needs the stall current of `servo-mini` at leads[3]", "skipped"),
        ("thin-lead needs the stall current of `servo-mini` at leads[3] (2)", "skipped"),
        ("thin-lead needs the length of this lead at parts.servo-mini", "skipped"),
        ("loose-plug", ""),
    ]
    assert outcomes(missing) == [("form: file-missing", "error")]
    assert outcomes(wren) == [("form of the file", ""), ("loose-plug", "")]
    assert heron.get("timestamp") == "2026-05-17T09:30:05"


def test_a_failure_tells_everything(judged_report: Report) -> None:
    failure = checked(render_junit(judged_report))[0].find("testcase/failure")
    assert failure is not None
    assert failure.get("type") == "warning before power-up"
    assert "8.4 V" in failure.get("message", "")
    lines = (failure.text or "").split("\n")
    assert "at hangar/heron.yaml:21:5, devices.regulator.output" in lines
    assert "because rated to 7.4 V (hangar/shelf.yaml:90:5, parts.servo-mini.voltage.max)" in lines
    assert "do: Set `regulator` to 7.4 V or less, or fit a servo rated for more." in lines
    assert "source: Ohm's law (derived)" in lines


def test_skipped_cases_say_why(judged_report: Report) -> None:
    skipped = checked(render_junit(judged_report))[0].findall("testcase/skipped")
    assert [one.get("type") for one in skipped] == ["note", "deferred", *["not checked"] * 4]
    deferred = skipped[1].get("message", "")
    for said in ("the owner and the instructor", "2026-05-31", "The clip is ordered"):
        assert said in deferred


def test_the_tally_and_the_cautions_stand_in_the_suite(judged_report: Report) -> None:
    suite = checked(render_junit(judged_report))[0]
    told = {entry.get("name"): entry.get("value") for entry in suite.findall("properties/property")}
    assert (told["aircraft"], told["held"], told["not checked"]) == ("Grey Heron", "1", "4")
    assert (suite.findtext("system-out") or "").split("\n") == list(CAUTIONS)


def test_a_reader_that_others_wrote_finds_the_same(judged_report: Report) -> None:
    read = junitparser.JUnitXml.fromstring(render_junit(judged_report).encode())
    heron, missing, wren = (suite for suite in read if isinstance(suite, junitparser.TestSuite))
    assert (heron.tests, heron.failures, heron.errors, heron.skipped) == (10, 1, 2, 6)
    assert (missing.tests, missing.errors) == (1, 1)
    assert (wren.tests, wren.failures, wren.errors, wren.skipped) == (2, 0, 0, 0)
    failed = [case for case in heron if case.is_failure]
    assert [case.name for case in failed] == ["too-much-voltage at devices.regulator.output"]
    assert all(case.is_passed for case in wren)


def test_failures_and_errors_are_there_exactly_where_something_is_wrong() -> None:
    quiet = Report(Hold.FLIGHT, (FileReport("a.yaml", "aircraft", tally=Tally(clean=1)),))
    (suite,) = checked(render_junit(quiet))
    assert (suite.get("failures"), suite.get("errors")) == ("0", "0")


def test_long_texts_are_cut(full_report: Report) -> None:
    first = full_report.files[0]
    long = first.findings[0]._replace(
        rule="x" * 5000, message="m" * 5000, because=(first.findings[0].because[0],) * 2000
    )
    report = Report(Hold.FLIGHT, (FileReport("a.yaml", "aircraft", findings=(long,)),))
    case = checked(render_junit(report))[0].findall("testcase")[1]
    assert len(case.get("name", "")) == 250
    assert len(case[0].get("message", "")) == 1000
    assert len(case[0].text or "") <= 20_010


def test_one_of_everything_reads_as_agreed(judged_report: Report) -> None:
    assert render_junit(judged_report) == GOLDEN.read_text(encoding="utf-8")


@settings(max_examples=50)
@given(st.data())
def test_any_report_is_well_formed_and_counted(any_reports: Any, data: st.DataObject) -> None:
    report: Report = data.draw(any_reports)
    root = checked(render_junit(report))
    assert len(root) == len(report.files)
    for suite, file in zip(root, report.files, strict=True):
        held = sum(finding.severity.holds for finding in file.findings)
        assert suite.get("failures") == f"{held}"
        assert suite.get("errors") == f"{len(file.mistakes) + len(file.crashes)}"


def test_the_check_itself_refuses_a_wrong_count(judged_report: Report) -> None:
    text = render_junit(judged_report)
    assert 'failures="1"' in text
    with pytest.raises(AssertionError):
        checked(text.replace('failures="1"', 'failures="2"'))
