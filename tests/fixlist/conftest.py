"""A report with one of everything."""

import pytest

from holdshort.fixlist.report import (
    DeferredFinding,
    FailedRule,
    FileReport,
    Mistake,
    OpenQuestion,
    PlacedFinding,
    Reason,
    Report,
    Spot,
    Tally,
)
from holdshort.rulebook import Hold, Severity, Source

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
