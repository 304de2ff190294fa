"""From a judged setup to a report: what is placed where, and what is counted."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from holdshort.analysis import Aircraft, Because
from holdshort.document import Document, DocumentError, Fault, read_document
from holdshort.fixlist.report import FileReport, Report, Spot, make_report, plain_file_report
from holdshort.rulebook import (
    Clean,
    Finding,
    Hold,
    NotChecked,
    Outcome,
    Pack,
    Rule,
    Severity,
    Source,
    judge,
    rule,
)
from holdshort.setup import load

TEXT = """holdshort: 1
aircraft:
  name: Grey Heron
  mass: {ready: 7 kg}
follows: [uk]
"""


def refuse(name: str) -> Document:
    raise DocumentError(Fault("file-missing", "There is no file.", name, None))


@rule(
    "heron-is-grey",
    title="The heron is grey",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="colour",
    sources=("B1",),
)
def grey(aircraft: Aircraft) -> Iterator[Outcome]:
    setup = aircraft.setup
    because = (Because(setup.place("follows", 0), "it follows"),)
    yield Finding(setup.place("aircraft", "name"), "It is grey.", "Paint it.", because)
    yield Finding(setup.place("aircraft", "fuel"), "No fuel.", "Fill it.", hold=Hold.ENGINE_RUN)
    yield Finding(
        setup.place("aircraft", "mass", "ready"),
        "It is light.",
        "Weigh it.",
        severity=Severity.WARNING,
        hold=Hold.POWER_UP,
    )


def _rule(name: str, *outcomes: type[Clean | NotChecked]) -> Rule:
    def check(aircraft: Aircraft) -> Iterator[Outcome]:
        place = aircraft.setup.place("follows")
        for outcome in outcomes:
            yield Clean(place) if outcome is Clean else NotChecked(place, "a wing")

    declare = rule(
        name,
        title=name,
        severity=Severity.NOTE,
        hold=Hold.FLIGHT,
        subject="test",
        sources=("B1",),
    )
    return declare(check)


def _fails(aircraft: Aircraft) -> Iterator[Outcome]:
    yield Clean(aircraft.setup.place())
    raise RuntimeError("out of paint")


RULES = (
    grey,
    _rule("always-clean", Clean, Clean),
    _rule("nothing-here"),
    _rule("half-blind", NotChecked, Clean, NotChecked),
    Rule("it-fails", "It fails", Severity.NOTE, Hold.FLIGHT, "test", ("B1",), _fails),
)
SOURCES = {"B1": Source("B1", "a bird book", "read")}
PACK = Pack("bench", 1, RULES, SOURCES, Path(), Path())


def report(text: str = TEXT, until: Hold = Hold.FLIGHT) -> FileReport:
    loaded = load(read_document(text.encode(), "heron.yaml"), refuse)
    judgement = judge(Aircraft(loaded.setup), [(PACK, rule) for rule in RULES])
    return make_report(loaded, judgement, until)


def test_findings_come_by_hold_point_with_their_places() -> None:
    found = report().findings
    assert [finding.hold for finding in found] == list(Hold)
    assert [finding.severity for finding in found] == [
        Severity.WARNING,
        Severity.CAUTION,
        Severity.CAUTION,
    ]
    # `name` stands on the third line, in the third column, four letters long.
    assert found[2].at == Spot("heron.yaml", 3, 3, 3, 7, "aircraft.name")
    assert found[2].because[0].at == Spot("heron.yaml", 5, 11, 5, 13, "follows[0]")
    assert found[2].because[0].text == "it follows"
    assert found[2].sources == (SOURCES["B1"],)
    assert (found[2].rule, found[2].pack) == ("heron-is-grey", "bench")


def test_an_absent_value_is_placed_at_what_would_hold_it() -> None:
    fuel = report().findings[1]
    assert fuel.at == Spot("heron.yaml", 2, 1, 2, 9, "aircraft.fuel")


def test_everything_is_counted() -> None:
    tally = report().tally
    assert dict(tally.held) == {
        (Hold.POWER_UP, Severity.WARNING): 1,
        (Hold.ENGINE_RUN, Severity.CAUTION): 1,
        (Hold.FLIGHT, Severity.CAUTION): 1,
    }
    assert tally.held_in_all == 3
    assert (tally.not_checked, tally.clean, tally.nothing_to_judge) == (2, 1, 1)
    assert (tally.deferred, tally.mistakes, tally.crashes) == (0, 0, 1)
    assert dict(tally.later) == {}


@pytest.mark.parametrize(
    ("until", "held", "later"),
    [
        (Hold.POWER_UP, 1, {Hold.ENGINE_RUN: 1, Hold.FLIGHT: 1}),
        (Hold.ENGINE_RUN, 2, {Hold.FLIGHT: 1}),
        (Hold.FLIGHT, 3, {}),
    ],
)
def test_later_findings_are_counted_apart(until: Hold, held: int, later: dict[Hold, int]) -> None:
    found = report(until=until)
    assert len(found.findings) == found.tally.held_in_all == held
    assert dict(found.tally.later) == later
    assert all(finding.hold <= until for finding in found.findings)
    assert len(found.not_checked) == 2


def test_a_failed_rule_is_told_and_the_job_is_not_done() -> None:
    found = report()
    (crash,) = found.crashes
    assert crash.rule == "it-fails"
    assert crash.error.startswith(f"RuntimeError: out of paint ({__file__}, line ")
    assert "out of paint" in found.crashes[0].traceback
    assert not Report(Hold.FLIGHT, (found,)).job_done


def test_mistakes_stand_beside_findings() -> None:
    found = report(TEXT.replace("7 kg", "7 V"))
    assert [mistake.at.path for mistake in found.mistakes] == ["aircraft.mass.ready"]
    assert found.mistakes[0].at.line == 4
    assert found.aircraft == ""
    assert found.tally.mistakes == 1
    assert len(found.findings) == 3


def test_the_sum_over_files() -> None:
    fault = Fault("file-missing", "There is no file.", "nix.yaml", None)
    files = (report(), report(until=Hold.POWER_UP), plain_file_report("nix", "not-read", [fault]))
    tally = Report(Hold.FLIGHT, files).tally
    assert tally.held[Hold.POWER_UP, Severity.WARNING] == 2
    assert tally.held_in_all == 4
    assert tally.later_in_all == 2
    assert (tally.not_checked, tally.clean, tally.nothing_to_judge) == (4, 2, 2)
    assert (tally.mistakes, tally.crashes) == (1, 2)
