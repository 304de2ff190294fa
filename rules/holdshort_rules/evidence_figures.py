"""Figures in sign-offs: how far, how long, how low, and whether they can be at all."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from holdshort.api import (
    DISTANCE,
    HEADINGS,
    VOLTAGE,
    Aircraft,
    Because,
    Clean,
    Finding,
    Fitted,
    Hold,
    NotChecked,
    Option,
    Outcome,
    Place,
    Quantity,
    QuantityType,
    Severity,
    exceeds,
    listed,
    lowest,
    minimum,
    nodes_of,
    plural,
    rule,
    show_volts,
)
from holdshort_rules.codes import TimeLimit
from holdshort_rules.engine_failsafe import followed, propulsion
from holdshort_rules.evidence import HOLDS, OWN_RULE, SECTION, latest, sign_command, standings

if TYPE_CHECKING:
    from holdshort.api import KnownTest, Signed

_BOXES: Final = ("receiver", "hub", "gyro")


LEAST_DISTANCE: Final = Option(
    "range-check-short",
    "least-distance",
    "30 paces",
    QuantityType(DISTANCE),
    "the least distance of a range check in range-test mode; a pace is taken as 0.75 m",
    source="R5",
)
LEAST_HEADINGS: Final = Option(
    "range-check-short",
    "least-headings",
    "4 headings",
    QuantityType(HEADINGS),
    "on how many headings the aircraft is turned in a range check",
    source="R5",
)
_RANGE_CHECKS: Final = ("range check engine off", "range check engine running")


@rule(
    "range-check-short",
    title="A range check from too near, or on too few headings",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="evidence",
    sources=("R3", "R5", "R7", "R8"),
    options=(LEAST_DISTANCE, LEAST_HEADINGS),
)
def range_check_short(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge the distance and the headings of each range check that was passed."""
    for test, signed in latest(aircraft):
        if test.name not in _RANGE_CHECKS or signed.sign_off.outcome != "passed":
            continue
        for name, option in (("distance", LEAST_DISTANCE), ("headings", LEAST_HEADINGS)):
            at = _figure_place(signed, name)
            found = aircraft.evidence.figure(signed, name)
            least = option.of(aircraft)
            if found is None:
                yield NotChecked(at, f"the figure `{name}` of `{test.name}`, with its unit")
            elif exceeds(least, found):
                yield _short(test, at, name, found, least)
            else:
                yield Clean(at)


def _short(test: "KnownTest", at: Place, name: str, found: Quantity, least: Quantity) -> Finding:
    if name == "distance":
        message = (
            f"`{test.name}` was done at {found.text}, and {least.text} is the least. A weak radio "
            "still works close by."
        )
    else:
        message = (
            f"`{test.name}` was done on {found.text}, and {least.text} is the least. On the others "
            "carbon, engine or packs may stand between the aerials and you."
        )
    do = "Do it again in range-test mode, or set the limit to the radio handbook's own figure."
    return Finding(at=at, message=message, do=do, hold=HOLDS[test.before])


@rule(
    "failsafe-test-engine-running",
    title="No failsafe test with the engine running, or one in which it acted too late",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="evidence",
    sources=("F24", "F25", "F8", "F11"),
)
def failsafe_test_engine_running(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether the failsafe was tested with the engine running, and the time it took."""
    judged = next((one for one in standings(aircraft) if one.test.name == OWN_RULE), None)
    if judged is None or aircraft.setup.broken_under(SECTION):
        return
    if judged.signed is None:
        yield _never_run(aircraft, judged.test)
    elif judged.signed.sign_off.outcome == "passed":
        yield from _run_time(aircraft, judged.test, judged.signed)


def _never_run(aircraft: Aircraft, test: "KnownTest") -> Finding:
    boxes = [f"`{box.name}`" for box in aircraft.setup.of_kind("distribution", "hub", "gyro")]
    return Finding(
        at=aircraft.setup.place(SECTION, test.name),
        message=f"The failsafe was never tested with the engine running, and {listed(boxes)} "
        f"{plural(len(boxes), 'stands', 'stand')} in the aircraft. Such a unit can reverse the "
        "throttle in failsafe, and with a stopped engine nobody sees it.",
        do="Hold the aircraft back, run the engine a little above idle, switch the transmitter off "
        f"and time it; sign with {sign_command(test)} and the `time`.",
    )


def _run_time(aircraft: Aircraft, test: "KnownTest", signed: "Signed") -> Iterator[Outcome]:
    at = _figure_place(signed, "time")
    took = aircraft.evidence.figure(signed, "time")
    limit = _shortest_limit(aircraft)
    if took is None:
        yield NotChecked(at, f"the figure `time` of `{test.name}`, such as `1.5 s`")
    elif limit is not None and exceeds(took, limit.seconds):
        yield Finding(
            at=at,
            message=f"With the engine running it took {took.text} from switching off until the "
            f"engine acted, and {limit.seconds:g} s from {limit.clock} is the limit that is "
            "followed. Until then it pulls with nobody flying it.",
            do="Shorten the hold time of the receivers or the boxes behind them, and test again.",
        )
    else:
        yield Clean(at)


def _shortest_limit(aircraft: Aircraft) -> TimeLimit | None:
    """Return the shortest followed limit that counts from loss of signal, as the test does."""
    drive = propulsion(aircraft.setup)
    limits = [
        limit
        for code in followed(aircraft.setup)
        for limit in code.limits
        if drive in limit.engines and limit.clock == "loss of signal"
    ]
    return min(limits, key=_seconds, default=None)


def _seconds(limit: TimeLimit) -> float:
    return limit.seconds


@rule(
    "figures-impossible",
    title="A figure in a sign-off that cannot be",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="evidence",
    sources=("practice",),
)
def figures_impossible(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether the figures of each latest sign-off can be read, and can be at all."""
    for test, signed in latest(aircraft):
        for bad in aircraft.evidence.bad_figures(signed):
            yield Finding(
                at=_figure_place(signed, bad.name),
                message=f"The figure `{bad.name}` of `{test.name}` is `{bad.text}`, {bad.problem}.",
                do=bad.do or "Write what was measured, with its unit.",
                hold=HOLDS[test.before],
            )
        if signed.sign_off.figures and not aircraft.evidence.bad_figures(signed):
            yield Clean(signed.at)


MARGIN: Final = Option(
    "signed-voltage-too-low",
    "margin",
    "0.5 V",
    QuantityType(VOLTAGE, zero=True),
    "what a measured voltage must stay above a reset voltage",
    source="P39",
)
UNDER: Final = Option(
    "signed-voltage-too-low",
    "under",
    "0.3 V",
    QuantityType(VOLTAGE, zero=True),
    "how far a measured voltage may be under the lowest one worked out",
)
_LOAD_TESTS: Final = ("voltage under load", "each supply alone")


@rule(
    "signed-voltage-too-low",
    title="A voltage measured under load that is too low",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="evidence",
    sources=("P39", "P21", "practice"),
    options=(MARGIN, UNDER),
)
def signed_voltage_too_low(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge the lowest voltage that a test showed against what boxes need and what was expected."""
    for test, signed in latest(aircraft):
        if test.name not in _LOAD_TESTS or signed.sign_off.outcome != "passed":
            continue
        at = _figure_place(signed, "lowest voltage")
        measured = aircraft.evidence.figure(signed, "lowest voltage")
        if measured is not None:
            yield from _measured(aircraft, test, at, measured)
        elif test.name == _LOAD_TESTS[0]:
            yield NotChecked(at, f"the figure `lowest voltage` of `{test.name}`")


def _measured(
    aircraft: Aircraft, test: "KnownTest", at: Place, measured: Quantity
) -> Iterator[Outcome]:
    boxes = aircraft.setup.of_kind(*_BOXES)
    needs = [(box, need) for box in boxes if (need := minimum(box, MARGIN.of(aircraft)))]
    hurt = [(box, need) for box, need in needs if exceeds(need.voltage, measured)]
    expected = _expected(aircraft, boxes)
    under = UNDER.of(aircraft)
    if hurt:
        words = [f"`{box.name}` {show_volts(need.voltage)} ({need.words})" for box, need in hurt]
        yield Finding(
            at=at,
            message=f"`{test.name}` showed {measured.text} at the lowest, and these need more: "
            f"{listed(words)}. A box that resets in flight takes its controls with it.",
            do="Find where the voltage is lost (pack, regulator, plugs, leads), put it right, and "
            f"test again: {sign_command(test)}.",
            because=tuple(Because(need.place, need.words) for _, need in hurt),
        )
    elif expected is not None and exceeds(expected - measured, under):
        yield Finding(
            at=at,
            message=f"`{test.name}` showed {measured.text} at the lowest, "
            f"{show_volts(expected - measured)} under the {show_volts(expected)} worked out for "
            "the worst case; a pack, a plug or a lead is worse than this file says.",
            do="Measure pack, regulator and leads one by one, and declare what they really are.",
            severity=Severity.CAUTION,
        )
    elif not needs and expected is None:
        yield NotChecked(at, "the minimum or reset voltage of a receiver, hub or gyro")
    else:
        yield Clean(at)


def _expected(aircraft: Aircraft, boxes: tuple[Fitted, ...]) -> float | None:
    """Return the lowest voltage worked out at any of the boxes, or None where none is known."""
    found = [lowest(aircraft.power, next(nodes_of(box))) for box in boxes]
    return min((low.voltage for low in found if low is not None), default=None)


def _figure_place(signed: "Signed", name: str) -> Place:
    return Place(signed.at.file, (*signed.at.path, "figures", name))


RULES = (
    range_check_short,
    failsafe_test_engine_running,
    figures_impossible,
    signed_voltage_too_low,
)
