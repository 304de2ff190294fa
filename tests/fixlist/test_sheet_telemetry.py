"""Telemetry on the sheet: the ways, the levels, and what stands out."""

from datetime import date

from holdshort.analysis import Aircraft
from holdshort.document import Document, read_document
from holdshort.fixlist.report import make_report
from holdshort.fixlist.sheet_facts import SheetFacts
from holdshort.fixlist.sheet_page import render_page
from holdshort.fixlist.sheet_parts import Cell, Listed, Part, Table, Words
from holdshort.fixlist.sheet_telemetry import telemetry_parts
from holdshort.rulebook import Rulebook, judge
from holdshort.rulebook.settings import Settings
from holdshort.setup import load

DAY = date(2026, 5, 1)

# By hand: two lipo cells are landed at 6.6 V (C2); as 4.0 l last 8 min, two minutes take 1.0 l.
JET = """\
holdshort: 1
aircraft: {name: Wren, propulsion: turbine, fuel: 4.0 l, flight-time: 8 min}
parts:
  pack: {kind: battery, chemistry: lipo, cells: 2, capacity: 100 Ah, resistance: 0 mΩ}
  rx:
    kind: receiver
    voltage: {min: 3.7 V}
    measures: [voltage, link-quality]
    draws: {rest: 1 A, cruise: 1 A, peak: 1 A}
    ports: {tel: data, supply: supply}
  ecu: {kind: engine-controller, measures: [fuel], ports: {supply: supply, data: data}}
devices: {battery: {part: pack}, rx: {part: rx}, engine: {part: ecu}}
leads:
  - {from: battery, to: rx.supply, wire: 10 mm2, length: 1 mm}
telemetry:
  "rail <b>":
    {from: rx, measures: voltage, shown: true, alarm: {below: 6.0 V, delay: 2 s, told-by: [speech]}}
  fuel: {from: engine, measures: fuel, alarm: {below: 1.2 l}}
"""


def facts_of(text: str) -> SheetFacts:
    def nothing(name: str) -> Document:
        raise AssertionError(name)

    loaded = load(read_document(text.encode(), "a.yaml"), nothing)
    assert loaded.faults == (), loaded.faults
    aircraft, book = Aircraft(loaded.setup, today=DAY), Settings(Rulebook(()))
    judgement = judge(aircraft, book.rulebook, today=DAY)
    return SheetFacts(aircraft, judgement, make_report(loaded, judgement), book, DAY)


def rows_of(parts: tuple[Part, ...], caption: str) -> dict[str, tuple[Cell, ...]]:
    found = next(one for one in parts if isinstance(one, Table) and one.caption == caption)
    return {row[0].text: row[1:] for row in found.rows}


def test_a_way_that_is_broken_stands_out_and_says_why() -> None:
    rows = rows_of(telemetry_parts(facts_of(JET)), "Readings")
    assert [cell.text for cell in rows["rail <b>"]] == ["voltage of rx", "rx", "", "yes"]
    way = rows["fuel"][1]
    assert (way.tone, way.sign) == ("outside", "!")
    assert "no lead joins `engine` to a receiver" in way.text
    assert rows["fuel"][3].text == "not said"


def test_a_level_that_comes_too_late_stands_out_beside_what_is_early_enough() -> None:
    rows = rows_of(telemetry_parts(facts_of(JET)), "Alarms")
    declared, wanted, why, after, by = rows["rail <b>"]
    assert (declared.text, declared.tone) == ("below 6.0 V: too late", "outside")
    assert wanted.text.startswith("6.7 V or more")
    assert "before 6.6 V" in why.text
    assert (after.text, by.text) == ("2 s", "speech")
    assert (rows["fuel"][0].text, rows["fuel"][0].tone) == ("below 1.2 l", "")
    assert rows["fuel"][1].text == "1000 ml or more"


def test_what_no_alarm_tells_of_is_listed_and_nothing_that_does_not_arrive_counts() -> None:
    parts = telemetry_parts(facts_of(JET))
    lists = {part.title: part.items for part in parts if isinstance(part, Listed)}
    assert "the radio link" in lists["No alarm tells of"]
    assert "the rail of `rx`" in lists["An alarm tells of"]
    assert "the fuel of the turbine" not in lists["An alarm tells of"]


def test_a_file_without_telemetry_has_no_such_section() -> None:
    assert telemetry_parts(facts_of(JET.partition("telemetry:")[0])) == ()
    nothing = telemetry_parts(facts_of(JET.partition("telemetry:")[0] + "telemetry: {}\n"))
    assert Words("No reading is declared.") in nothing


def test_the_page_escapes_what_the_file_says() -> None:
    page = render_page(facts_of(JET))
    assert "rail <b>" not in page
    assert "rail &lt;b&gt;" in page
