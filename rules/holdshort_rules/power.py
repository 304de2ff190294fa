"""Voltages against ratings."""

from collections.abc import Iterator

from holdshort.api import (
    Aircraft,
    Because,
    Clean,
    Feed,
    Finding,
    Fitted,
    Hold,
    NotChecked,
    Outcome,
    Quantity,
    Severity,
    counted,
    exceeds,
    listed,
    plural,
    rule,
)
from holdshort_rules.output_settings import lower_output


@rule(
    "regulator-above-servo-rating",
    title="Supply voltage above the rating of a servo",
    severity=Severity.WARNING,
    hold=Hold.POWER_UP,
    subject="power",
    sources=("P33", "C1", "C4", "C8"),
)
def regulator_above_servo_rating(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge the highest voltage of each rail against every servo on it."""
    over: dict[str, tuple[Feed, list[tuple[Fitted, Quantity]]]] = {}
    for servo in aircraft.setup.of_kind("servo"):
        rating = _highest_rating(servo)
        supply = aircraft.supply(servo)
        feed = supply.highest
        if rating is None:
            yield NotChecked(
                servo.part_place("voltage", "max"),
                f"the highest voltage that part `{servo.part_name}` is rated to",
            )
        elif feed is not None and exceeds(feed.voltage, rating):
            over.setdefault(feed.device, (feed, []))[1].append((servo, rating))
        elif supply.unknown:
            yield NotChecked(supply.unknown[0].place, supply.unknown[0].text)
        elif feed is None:
            yield NotChecked(servo.at(), f"a lead that brings power to `{servo.name}`")
        else:
            yield Clean(servo.at())
    for feed, servos in over.values():
        yield _overvoltage(aircraft, feed, servos)


def _highest_rating(servo: Fitted) -> Quantity | None:
    voltage = servo.part.voltage
    return voltage.max if voltage else None


def _overvoltage(aircraft: Aircraft, feed: Feed, servos: list[tuple[Fitted, Quantity]]) -> Finding:
    total = sum(1 for servo in aircraft.setup.of_kind("servo") if _is_on(aircraft, servo, feed))
    named = listed(f"`{servo.name}` ({rating.text})" for servo, rating in servos)
    lowest = min((rating for _, rating in servos), key=float)
    many = plural(len(servos), "is", "are")
    ratings = {
        servo.part_place("voltage", "max"): f"`{servo.part_name}` is rated to {rating.text}"
        for servo, rating in servos
    }
    return Finding(
        at=feed.because.place,
        message=f"{feed.words}, and {len(servos)} of the {counted(total, 'servo')} it feeds "
        f"{many} rated lower: {named}. Over-voltage can burn out a servo in the first second.",
        do=_advice(aircraft, feed, lowest),
        because=tuple(Because(place, text) for place, text in ratings.items()),
        fix=lower_output(aircraft, feed.device, [lowest]),
    )


def _is_on(aircraft: Aircraft, servo: Fitted, feed: Feed) -> bool:
    return any(other.device == feed.device for other in aircraft.supply(servo).feeds)


def _advice(aircraft: Aircraft, feed: Feed, lowest: Quantity) -> str:
    device = aircraft.setup.devices[feed.device]
    if device.kind == "battery":
        return (
            f"Put a regulator set to {lowest.text} or less between `{feed.device}` and these "
            "servos, or fit servos rated for a full pack."
        )
    return f"Set `{feed.device}` to {lowest.text} or less, or fit servos rated for more."


RULES = (regulator_above_servo_rating,)
