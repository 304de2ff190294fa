"""The fix list for a terminal."""

import re
import unicodedata
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.fixlist.report import (
    CAUTIONS,
    FailedRule,
    FileReport,
    Kind,
    Mistake,
    OpenQuestion,
    PlacedFinding,
    Reason,
    Report,
    Spot,
    Tally,
)
from holdshort.fixlist.text import NARROWEST, PLAIN_WIDTH, WIDEST, render_text
from holdshort.rulebook import Hold, Severity

GOLDEN = Path(__file__).parent / "golden"
COLOUR = re.compile(r"\x1b\[[0-9;]*m")


def test_one_of_everything_reads_as_agreed(full_report: Report) -> None:
    expected = (GOLDEN / "one-of-everything.txt").read_text(encoding="utf-8")
    assert render_text(full_report) == expected


def test_an_early_hold_point_reads_as_agreed(early_report: Report) -> None:
    expected = (GOLDEN / "up-to-power-up.txt").read_text(encoding="utf-8")
    assert render_text(early_report) == expected


def test_the_order_is_mistakes_then_findings_then_the_rest(full_report: Report) -> None:
    text = render_text(full_report)
    order = [
        "Mistakes of form",
        "Before power-up",
        "Before flight",
        "Deferred (",
        "Not checked (",
        "A rule failed",
        "Held ",
        "Deferred  ",
        "Clean",
        *CAUTIONS[1:],
    ]
    places = [text.index(words) for words in order]
    assert places == sorted(places)


def test_the_same_need_is_told_once(full_report: Report) -> None:
    text = render_text(full_report)
    assert text.count("the stall current of `servo-mini`") == 1
    assert "lines 41, 60" in text


def test_nothing_held_never_reads_as_safe() -> None:
    quiet = FileReport("wren.yaml", "aircraft", "Wren", tally=Tally(clean=3))
    text = " ".join(render_text(Report(Hold.FLIGHT, (quiet,))).split())
    for caution in CAUTIONS:
        assert caution in text
    assert "safe" not in text.replace("not that the aircraft is safe", "")


def test_a_good_file_of_parts_is_silent_beside_an_aircraft(aircraft_report: FileReport) -> None:
    parts = FileReport("shelf.yaml", "parts")
    beside = render_text(Report(Hold.FLIGHT, (aircraft_report, parts)))
    assert beside == render_text(Report(Hold.FLIGHT, (aircraft_report,)))
    alone = render_text(Report(Hold.FLIGHT, (parts,)))
    assert alone.startswith("shelf.yaml is a file of parts")


def test_standard_input_is_named() -> None:
    file = FileReport("-", "aircraft", "Wren")
    assert "\nstandard input\n" in render_text(Report(Hold.FLIGHT, (file,)))


def test_a_long_list_of_reasons_is_cut_and_says_so(aircraft_report: FileReport) -> None:
    first = aircraft_report.findings[0]
    reason = Reason(first.at, "one more")
    long = PlacedFinding(
        first.rule, first.title, first.pack, first.severity, first.hold, first.message, first.at,
        (reason,) * 15, first.do, (),
    )  # fmt: skip
    text = render_text(Report(Hold.FLIGHT, (FileReport("a", "aircraft", findings=(long,)),)))
    assert text.count("one more") == 12
    assert "and 3 more" in text


@pytest.mark.parametrize("width", [1, NARROWEST, 80, PLAIN_WIDTH, WIDEST, 400])
def test_lines_keep_to_the_width(full_report: Report, width: int) -> None:
    kept = max(NARROWEST, min(width, WIDEST))
    longest = max(len(line) for line in render_text(full_report, width).splitlines())
    assert kept - 15 < longest <= kept


def test_colour_is_never_the_only_sign(full_report: Report) -> None:
    coloured = render_text(full_report, colour=True)
    assert "\x1b[1;31mWARNING\x1b[0m" in coloured
    assert COLOUR.sub("", coloured) == render_text(full_report)


any_text = st.text(
    alphabet=st.one_of(
        st.sampled_from("ab `\\\n\r\t\x1b[31m\x9b\x7f\u202e\u2066\u200f\u061c\u2028\udc80"),
        st.characters(),
    ),
    max_size=30,
)
spots = st.builds(
    Spot, any_text, st.integers(0, 9), st.integers(1, 9), st.just(1), st.just(1), any_text
)
reasons = st.lists(st.builds(Reason, spots, any_text), max_size=2).map(tuple)
findings = st.builds(
    PlacedFinding,
    any_text,
    any_text,
    any_text,
    st.sampled_from(Severity),
    st.sampled_from(Hold),
    any_text,
    spots,
    reasons,
    any_text,
    st.just(()),
)
files = st.builds(
    FileReport,
    any_text,
    st.sampled_from(list[Kind](["aircraft", "parts", "not-read"])),
    any_text,
    st.lists(st.builds(Mistake, any_text, any_text, spots, any_text, reasons), max_size=1).map(
        tuple
    ),
    st.lists(findings, max_size=2).map(tuple),
    st.lists(
        st.builds(OpenQuestion, any_text, any_text, any_text, any_text, spots), max_size=2
    ).map(tuple),
    st.lists(st.builds(FailedRule, any_text, any_text, any_text, any_text), max_size=1).map(tuple),
    rules=st.just(()),
)


@settings(max_examples=60, deadline=None)
@given(st.lists(files, min_size=1, max_size=2))
def test_whatever_names_hold_nothing_steers_the_terminal(made: list[FileReport]) -> None:
    report = Report(Hold.FLIGHT, tuple(made))
    text = render_text(report)
    hidden = {"Cc", "Cf", "Cs", "Zl", "Zp"}
    assert not {c for c in text if c != "\n" and unicodedata.category(c) in hidden}
    assert COLOUR.sub("", render_text(report, colour=True)) == text
