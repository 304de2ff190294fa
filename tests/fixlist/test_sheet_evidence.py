"""The tests and the record on an aircraft sheet."""

import json
from datetime import date
from pathlib import Path
from typing import Any

from holdshort.analysis import Aircraft
from holdshort.analysis.proof import fingerprint
from holdshort.document import Document, read_document, read_file
from holdshort.fixlist.report import make_report
from holdshort.fixlist.sheet_evidence import evidence_parts, record_parts
from holdshort.fixlist.sheet_facts import SheetFacts
from holdshort.fixlist.sheet_page import render_page
from holdshort.fixlist.sheet_parts import Table, Words
from holdshort.rulebook import Rulebook, judge
from holdshort.rulebook.settings import Settings
from holdshort.setup import load

FILES = Path(__file__).resolve().parents[1] / "analysis" / "pairs"
DAY = date(2026, 7, 1)
Tree = dict[str, Any]


def no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def tree() -> Tree:
    return json.loads(json.dumps(read_file(FILES / "radio-after.yaml").root))  # type: ignore[no-any-return]


def facts(base: Tree) -> SheetFacts:
    loaded = load(read_document(json.dumps(base).encode(), "wren.yaml"), no_catalogue)
    assert not loaded.faults
    aircraft = Aircraft(loaded.setup, today=DAY)
    judgement = judge(aircraft, ())
    report = make_report(loaded, judgement)
    return SheetFacts(aircraft, judgement, report, Settings(Rulebook(())), DAY)


def with_centres_signed() -> Tree:
    base = tree()
    proved = Aircraft(facts(base).setup).evidence.proves("centres")
    sign_off = {
        "test": "centres",
        "on": "2026-06-05",
        "by": "<b>A. Builder</b>",
        "second": "C. Helper",
        "outcome": "passed",
        "proved": proved,
        "fingerprint": fingerprint(proved),
    }
    return {**base, "sign-offs": [sign_off, {**sign_off, "test": "rain dance"}]}


def test_a_file_that_signs_for_nothing_has_no_such_section() -> None:
    assert evidence_parts(facts(tree())) == ()
    assert "Tests and sign-offs" not in render_page(facts(tree()))


def test_each_test_stands_once_with_what_it_is_worth() -> None:
    found = facts(with_centres_signed())
    (shown,) = [part for part in evidence_parts(found) if isinstance(part, Table)]
    rows = {row[0].text: row for row in shown.rows}
    assert list(rows) == list(found.aircraft.evidence.tests)
    assert rows["centres"][1].text.startswith("valid, 2026-06-05")
    assert rows["centres"][1].tone == ""
    assert rows["directions"][1] == ("not signed", "outside", "")
    assert rows["centres"][3].text == "<b>A. Builder</b> and C. Helper"


def test_what_a_file_says_is_escaped_and_unknown_tests_are_told() -> None:
    page = render_page(facts(with_centres_signed()))
    assert "<b>A. Builder</b>" not in page
    assert "&lt;b&gt;A. Builder&lt;/b&gt; and C. Helper" in page
    assert "rain dance" in page


def test_the_record_says_first_what_holds() -> None:
    first, *_ = record_parts(facts(with_centres_signed()))
    assert isinstance(first, Words)
    assert first.text.startswith("Record of an aircraft on which nothing that was judged is held")
    assert "1 of 15 tests counts" in first.text
