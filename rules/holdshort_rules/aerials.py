"""Which way the aerials point, what is near them, and how far apart the receivers are."""

import math
from collections.abc import Iterator
from itertools import combinations
from typing import Final

from holdshort.api import (
    ANGLE,
    LENGTH,
    Aircraft,
    Because,
    Clean,
    Finding,
    Fitted,
    FittedAerial,
    Hold,
    NotChecked,
    Option,
    Outcome,
    Place,
    QuantityType,
    Severity,
    aerials_of,
    angle_between,
    axis_words,
    distance,
    listed,
    plural,
    rule,
    worst_field,
    worst_in_plane,
)

_ROUNDING: Final = 1e-9
_PAIR: Final = 2
_AXES: Final = 3

LEAST_ANGLE = Option(
    "aerials-parallel",
    "least-angle",
    "60 deg",
    QuantityType(ANGLE),
    "the least angle between two aerials of one receiver (at 60 degrees 6 dB are lost at worst)",
)
CLEARANCE = Option(
    "aerial-near-carbon",
    "clearance",
    "25 mm",
    QuantityType(LENGTH),
    "the least distance from the active end of an aerial to carbon, metal, fuel, batteries and "
    "wiring",
    "N10",
)
APART = Option(
    "receivers-close",
    "distance",
    "100 mm",
    QuantityType(LENGTH),
    "the least distance between two receivers",
    "N11",
)


@rule(
    "aerials-parallel",
    title="Two aerials of one receiver that point nearly the same way",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="aerials",
    sources=("N1", "N2", "N4", "practice"),
    options=(LEAST_ANGLE,),
)
def aerials_parallel(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge the angle between every two aerials of each receiver."""
    for receiver in aircraft.setup.of_kind("receiver"):
        if receiver.device.aerials is None:
            yield _undeclared(receiver)
            continue
        aerials = aerials_of([receiver])
        yield from _contradictions(aerials)
        pointing = [aerial for aerial in aerials if aerial.vector is not None]
        for one, other in combinations(pointing, _PAIR):
            yield _angle_judged(aircraft, one, other)


def _undeclared(receiver: Fitted) -> NotChecked:
    return NotChecked(receiver.at(), f"which way the `aerials` of `{receiver.name}` point")


def _contradictions(aerials: tuple[FittedAerial, ...]) -> Iterator[NotChecked]:
    for aerial in aerials:
        if aerial.vector is None:
            yield NotChecked(
                Place(aerial.place.file, (*aerial.place.path, "points")),
                f"which way this aerial points: {aerial.words} is no direction",
            )


def _angle_judged(aircraft: Aircraft, one: FittedAerial, other: FittedAerial) -> Outcome:
    assert one.vector is not None  # noqa: S101  - for the type checkers
    assert other.vector is not None  # noqa: S101
    angle = angle_between(one.vector, other.vector)
    least = LEAST_ANGLE.of(aircraft)
    if angle >= least - _ROUNDING:
        return Clean(other.place)
    lost = worst_in_plane(angle)
    loss = "these two catch nothing" if math.isinf(lost) else f"these two lose {lost:.1f} dB"
    return Finding(
        at=other.place,
        message=f"Two aerials of `{one.receiver}` point {one.words} and {other.words}, "
        f"{math.degrees(angle):.0f} degrees apart, and {least.text} is the least that is usual. "
        f"For a field in their plane {loss} at worst; at a right angle it is 3.0 dB (6 dB are "
        "half the range).",
        do=f"Turn one aerial of `{one.receiver}` to a right angle with the other.",
        because=(Because(one.place, f"points {one.words}"),),
    )


@rule(
    "aerials-blind-axis",
    title="The aerials leave one direction uncovered",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="aerials",
    sources=("N1", "N4", "N5", "N6"),
)
def aerials_blind_axis(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether three aerials or more, of all receivers together, span three axes."""
    receivers = aircraft.setup.of_kind("receiver")
    undeclared = [receiver for receiver in receivers if receiver.device.aerials is None]
    aerials = aerials_of(receivers)
    vectors = [aerial.vector for aerial in aerials if aerial.vector is not None]
    worst = worst_field(vectors) if vectors else None
    if worst is not None and not math.isinf(worst.loss):
        yield Clean(aerials[-1].place)
    elif undeclared:
        yield from (_undeclared(receiver) for receiver in undeclared)
    elif any(aerial.vector is None for aerial in aerials):
        yield from _contradictions(aerials)
    elif worst is not None and len(vectors) >= _AXES:
        yield _blind(aerials, axis_words(worst.vector))


def _blind(aerials: tuple[FittedAerial, ...], axis: str) -> Finding:
    last = aerials[-1]
    told = listed(f"`{aerial.receiver}` {aerial.words}" for aerial in aerials)
    return Finding(
        at=last.place,
        message=f"None of the {len(aerials)} aerials catches a field that lies {axis}: {told}. In "
        "the attitude where the transmitter's field lies so, reflections are all that is left to "
        "hear; three aerials at right angles lose 4.8 dB at worst.",
        do=f"Turn one aerial so that it points {axis}.",
        because=tuple(Because(aerial.place, f"points {aerial.words}") for aerial in aerials[:-1]),
    )


@rule(
    "aerial-near-carbon",
    title="An aerial close to carbon, metal, fuel, a battery or wiring",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="aerials",
    sources=("N7", "N8", "N9", "N10"),
    options=(CLEARANCE,),
)
def aerial_near_carbon(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge how far the active end of each aerial is from things that shade it."""
    for receiver in aircraft.setup.of_kind("receiver"):
        aerials = aerials_of([receiver])
        if receiver.device.aerials is None:
            yield NotChecked(
                receiver.at(), f"the `aerials` of `{receiver.name}`, what is `near` them"
            )
        unknown = [aerial for aerial in aerials if aerial.aerial.near is None]
        if unknown:
            yield NotChecked(
                unknown[0].place,
                f"what is `near` {plural(len(unknown), 'this aerial', 'the aerials')} of "
                f"`{receiver.name}`: carbon, metal, fuel, battery, wiring",
            )
        for aerial in aerials:
            yield from _near(aircraft, aerial)


def _near(aircraft: Aircraft, aerial: FittedAerial) -> Iterator[Outcome]:
    declared = aerial.aerial.near
    if declared is None:
        return
    least = CLEARANCE.of(aircraft)
    close = {what: away for what, away in declared.items() if away < least - _ROUNDING}
    if not close:
        yield Clean(aerial.place)
        return
    nearest = min(close, key=lambda what: close[what])
    told = listed(f"{away.text} from {what}" for what, away in close.items())
    yield Finding(
        at=Place(aerial.place.file, (*aerial.place.path, "near", nearest)),
        message=f"An aerial of `{aerial.receiver}` (points {aerial.words}) has its active end "
        f"{told}; {least.text} or more is usual (common practice; a quarter wave at 2.4 GHz is "
        "31 mm). What is that close takes range, and carbon round it nearly all.",
        do=f"Lead the active end {least.text} or more clear"
        f"{', outside the carbon shell' if 'carbon' in close else ''}, and test the range from "
        "several angles.",
    )


@rule(
    "receivers-close",
    title="Two receivers close together",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="aerials",
    sources=("N6", "N11"),
    options=(APART,),
)
def receivers_close(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge the distance between every two receivers."""
    unknown: dict[str, Fitted] = {}
    for one, other in combinations(aircraft.setup.of_kind("receiver"), _PAIR):
        apart = distance(one.device.at, other.device.at)
        least = APART.of(aircraft)
        if apart.least >= least - _ROUNDING:
            yield Clean(other.at())
        elif apart.exact is None:
            unknown |= {box.name: box for box in (one, other) if _is_unplaced(box)}
        else:
            yield _close(one, other, apart.exact, least.text)
    for box in unknown.values():
        yield NotChecked(
            box.at("at") if box.device.at else box.at(),
            f"where `{box.name}` sits (`at`: station, side and height)",
        )


def _is_unplaced(box: Fitted) -> bool:
    at = box.device.at
    return at is None or None in {at.station, at.side, at.height}


def _close(one: Fitted, other: Fitted, apart: float, least: str) -> Finding:
    return Finding(
        at=other.at("at"),
        message=f"`{one.name}` and `{other.name}` are {apart * 1000:.0f} mm apart; {least} or more "
        "is usual (common practice). What shades, burns or shakes one then takes the other too, "
        "and the back-up falls with the main receiver.",
        do=f"Move one of them {least} or more away, in another bay and on the other side of the "
        "fuselage if there is room.",
        because=(Because(one.at("at"), f"where `{one.name}` sits"),),
    )


RULES = (aerials_parallel, aerials_blind_axis, aerial_near_carbon, receivers_close)
