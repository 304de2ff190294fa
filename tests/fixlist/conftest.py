"""A report with one of everything."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import strategies as st

from holdshort.analysis import Aircraft
from holdshort.fixlist.report import (
    DeferredFinding,
    FailedRule,
    FileReport,
    Kind,
    Mistake,
    OpenQuestion,
    Outcome,
    PlacedFinding,
    Reason,
    Report,
    RuleRun,
    Spot,
    Tally,
)
from holdshort.rulebook import Edit, Fix, Hold, Pack, Rule, Severity, Source
from holdshort.rulebook import Outcome as RuleOutcome
from holdshort.setup import Place

FILE = "hangar/heron.yaml"
SHELF = "hangar/shelf.yaml"


def at(line: int, path: str, file: str = FILE) -> Spot:
    return Spot(file, line, 5, line, 12, path)


def questions() -> tuple[OpenQuestion, ...]:
    stall = "the stall current of `servo-mini`"
    return (
        OpenQuestion("rail-overload", "Rail overloaded", "bench", stall, at(41, "devices.nose")),
        OpenQuestion("thin-lead", "Lead too thin", "bench", stall, at(60, "leads[3]")),
        OpenQuestion("thin-lead", "Lead too thin", "bench", stall, at(60, "leads[3]")),
        OpenQuestion(
            "thin-lead",
            "Lead too thin",
            "bench",
            "the length of this lead",
            at(9, "parts.servo-mini", SHELF),
        ),
    )


def findings() -> tuple[PlacedFinding, ...]:
    source = Source("C1", "Ohm's law", "derived")
    over = PlacedFinding(
        rule="too-much-voltage",
        title="More voltage than a servo takes",
        pack="bench",
        severity=Severity.WARNING,
        hold=Hold.POWER_UP,
        message="`regulator` gives 8.4 V, and `nose` is rated to 7.4 V at most. Over-voltage can "
        "burn out a servo in the first second.",
        at=at(21, "devices.regulator.output"),
        because=(
            Reason(at(21, "devices.regulator.output"), "8.4 V is set here"),
            Reason(at(90, "parts.servo-mini.voltage.max", SHELF), "rated to 7.4 V"),
        ),
        do="Set `regulator` to 7.4 V or less, or fit a servo rated for more.",
        sources=(source,),
        fix=Fix(
            "Sets `regulator` to 7.4 V in the file. Set the regulator itself to the same.",
            (Edit("set", Place(FILE, ("devices", "regulator", "output")), "7.4 V"),),
        ),
    )
    dim = PlacedFinding(
        rule="lamp-too-dim",
        title="A lamp that cannot be seen",
        pack="bench",
        severity=Severity.NOTE,
        hold=Hold.FLIGHT,
        message="`lamp` draws 20 mA.",
        at=at(70, 'devices."front lamp"'),
        because=(),
        do="Fit a brighter one.",
        sources=(),
    )
    return over, dim


def deferred() -> tuple[DeferredFinding, ...]:
    loose = PlacedFinding(
        rule="plug-not-secured",
        title="A plug that can come off",
        pack="bench",
        severity=Severity.CAUTION,
        hold=Hold.FLIGHT,
        message="The plug at `nose` is not secured.",
        at=at(63, "leads[4]"),
        because=(),
        do="Secure it.",
        sources=(),
    )
    reason = "The clip is ordered; taped until then."
    place = at(80, "deferrals[0]")
    return (DeferredFinding(loose, reason, "the owner", "2026-05-31", "the instructor", place),)


@pytest.fixture
def aircraft_report() -> FileReport:
    mistake = Mistake(
        kind="given-twice",
        message="`3` is given twice under radio.channels: also in `1..6`.",
        at=at(54, "radio.channels.3"),
        do="Give each number once.",
        related=(Reason(at(52, ""), "`1..6` stands here"),),
    )
    crash = FailedRule(
        "rail-overload",
        "bench",
        "ZeroDivisionError: division by zero",
        'Traceback (most recent call last):\n  File "bench.py", line 12, in rail_overload\n'
        "    return power / 0\nZeroDivisionError: division by zero\n",
    )
    return FileReport(
        file=FILE,
        kind="aircraft",
        aircraft="Grey Heron",
        mistakes=(mistake,),
        findings=findings(),
        not_checked=questions(),
        crashes=(crash,),
        tally=Tally(
            held={(Hold.POWER_UP, Severity.WARNING): 1, (Hold.FLIGHT, Severity.NOTE): 1},
            deferred=1,
            not_checked=4,
            clean=1,
            nothing_to_judge=2,
            mistakes=1,
            crashes=1,
        ),
        deferred=deferred(),
        hangar="hangar/hangar.yaml",
    )


@pytest.fixture
def missing_report() -> FileReport:
    mistake = Mistake(
        "file-missing",
        "There is no file hangar/nix.yaml.",
        Spot("hangar/nix.yaml", 0, 0, 0, 0, ""),
        "Check the path.",
        (),
    )
    return FileReport("hangar/nix.yaml", "not-read", mistakes=(mistake,), tally=Tally(mistakes=1))


@pytest.fixture
def full_report(aircraft_report: FileReport, missing_report: FileReport) -> Report:
    quiet = FileReport(
        "hangar/wren.yaml", "aircraft", "Wren", tally=Tally(clean=3, nothing_to_judge=1)
    )
    return Report(Hold.FLIGHT, (aircraft_report, missing_report, quiet))


@pytest.fixture
def early_report(aircraft_report: FileReport) -> Report:
    """Only power-up was asked about; one finding holds a later point."""
    file = FileReport(
        FILE,
        "aircraft",
        "Grey Heron",
        findings=aircraft_report.findings[:1],
        tally=Tally(
            held={(Hold.POWER_UP, Severity.WARNING): 1},
            later={Hold.ENGINE_RUN: 2, Hold.FLIGHT: 1},
            clean=1,
        ),
    )
    return Report(Hold.POWER_UP, (file,))


def nothing(_: Aircraft) -> Iterator[RuleOutcome]:
    return iter(())


def bench_pack(pages: Path) -> Pack:
    """A pack with a page for one of its rules."""
    sources = {"B1": Source("B1", "a book about birds", "from memory")}
    rules = (
        Rule(
            "too-much-voltage",
            "More voltage than a servo takes",
            Severity.WARNING,
            Hold.POWER_UP,
            "power",
            ("B1",),
            nothing,
        ),
        Rule(
            "loose-plug", "A loose plug", Severity.CAUTION, Hold.FLIGHT, "wiring", ("B1",), nothing
        ),
    )
    return Pack("bench", 1, rules, sources, pages, pages)


@pytest.fixture(scope="session")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Pack:
    pages = tmp_path_factory.mktemp("pages")
    page = (
        "# More voltage than a servo takes\n\n**What it looks at.** Each rail,\nand each servo on "
        "it (`ports: {1: {channel: 9}}`).\n\n**Why it matters.** See [a page](https://x.test).\n"
    )
    (pages / "too-much-voltage.md").write_text(page, encoding="utf-8")
    return bench_pack(pages)


@pytest.fixture
def judged_report(full_report: Report, bench: Pack) -> Report:
    """One of everything, with the rules that were run and the time."""
    over, loose = bench.rules
    runs = (RuleRun(bench, over, "spoke"), RuleRun(bench, loose, "clean"))
    first, *rest = full_report.files
    quiet = rest[-1]._replace(rules=(RuleRun(bench, loose, "clean"),))
    files = (first._replace(rules=runs), *rest[:-1], quiet)
    return Report(Hold.FLIGHT, files, datetime(2026, 5, 17, 9, 30, 5, tzinfo=UTC))


HOSTILE = (
    "<script>alert(1)</script>",
    "]]>&amp;&#0;",
    "left\u202eright",
    "a\n::error file=x,line=1::b",
    "\r::stop-commands::x",
    "100%0A,col=3:",
    "[a link](https://x.test) {0} {1}",
    "x" * 5000,
    "\ufffe\uffff\udc80\x1b[2J",
    "##[error]",
    "",
)


@st.composite
def any_texts(draw: st.DrawFn) -> str:
    text = st.text(alphabet=st.characters(), max_size=20)
    return draw(st.one_of(st.sampled_from(HOSTILE), text, st.just("plain")))


@st.composite
def any_files(draw: st.DrawFn) -> str:
    usual = st.sampled_from(("-", "a.yaml", "./in/b.yaml", "/club/c.yaml"))
    return draw(st.one_of(usual, any_texts()))


@st.composite
def any_spots(draw: st.DrawFn) -> Spot:
    file, line, path = draw(any_files()), draw(st.integers(0, 9)), draw(any_texts())
    if not line:
        return Spot(file, 0, 0, 0, 0, path)
    column, more = draw(st.integers(1, 9)), draw(st.integers(0, 2))
    return Spot(file, line, column, line + more, column + 2, path)


@pytest.fixture(scope="session")
def any_reports(bench: Pack) -> st.SearchStrategy[Report]:
    """Reports of any content, with the worst of names."""
    texts, files, spots = any_texts(), any_files(), any_spots()
    reasons = st.lists(st.builds(Reason, spots, texts), max_size=3).map(tuple)
    rules = st.sampled_from(("too-much-voltage", "loose-plug", "not-described"))
    packs = st.sampled_from(("bench", "club"))
    sources = st.lists(st.builds(Source, texts, texts, texts), max_size=2).map(tuple)
    findings = st.builds(
        PlacedFinding,
        rules,
        texts,
        packs,
        st.sampled_from(Severity),
        st.sampled_from(Hold),
        texts.filter(bool),
        spots,
        reasons,
        texts.filter(bool),
        sources,
        st.none(),
    )
    deferrals = st.builds(
        DeferredFinding, findings, texts, texts, st.just("2026-05-31"), texts, spots
    )
    outcomes = st.sampled_from(list[Outcome](["clean", "nothing-to-judge", "spoke"]))
    runs = st.builds(RuleRun, st.just(bench), st.sampled_from(bench.rules), outcomes)
    reports = st.builds(
        FileReport,
        files,
        st.sampled_from(list[Kind](["aircraft", "parts", "hangar", "not-read"])),
        texts,
        st.lists(st.builds(Mistake, texts, texts, spots, texts, reasons), max_size=2).map(tuple),
        st.lists(findings, max_size=3).map(tuple),
        st.lists(st.builds(OpenQuestion, rules, texts, packs, texts, spots), max_size=2).map(tuple),
        st.lists(st.builds(FailedRule, rules, packs, texts, texts), max_size=1).map(tuple),
        st.just(Tally()),
        st.lists(deferrals, max_size=2).map(tuple),
        texts,
        st.lists(runs, max_size=2).map(tuple),
    )
    made = st.one_of(st.none(), st.just(datetime(2026, 5, 17, 9, 30, 5, tzinfo=UTC)))
    return st.builds(Report, st.sampled_from(Hold), st.lists(reports, max_size=3).map(tuple), made)
