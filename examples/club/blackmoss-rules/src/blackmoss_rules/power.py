"""What is left in the packs."""

from collections.abc import Iterator

from holdshort.api import (
    SHARE,
    Aircraft,
    Clean,
    Finding,
    Fitted,
    Hold,
    NotChecked,
    Option,
    Outcome,
    QuantityType,
    Severity,
    flights_between_charges,
    rule,
)

LEAST_LEFT = Option(
    rule="little-left-after-last-flight",
    name="least-left",
    default="30 %",
    kind=QuantityType(SHARE),
    text="the least charge that a pack must have left after the last flight before charging",
    source="committee",
)


@rule(
    "little-left-after-last-flight",
    title="Less charge left after the last flight than the club asks for",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="club",
    sources=("committee", "coulombs"),
    options=(LEAST_LEFT,),
)
def little_left_after_last_flight(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge what each pack has left when it is charged next."""
    for pack in aircraft.setup.of_kind("battery"):
        yield _judged(aircraft, pack)


def _judged(aircraft: Aircraft, pack: Fitted) -> Outcome:
    flights = flights_between_charges(aircraft.setup, aircraft.wiring, pack)
    duration = aircraft.setup.aircraft.flight_time if aircraft.setup.aircraft else None
    if flights is None or duration is None:
        return NotChecked(pack.at(), "`flight-time` and `flights-per-charge` of the aircraft")
    energy = aircraft.energy(pack)
    if energy.capacity is None:
        return NotChecked(pack.at(), f"the capacity of `{pack.name}`")
    left = energy.remaining(flights * duration)
    least = LEAST_LEFT.of(aircraft)
    if left is not None and left < least:
        return Finding(
            at=pack.at(),
            message=f"`{pack.name}` has {left:.0%} left after {flights} flights of "
            f"{duration.text}, and the club asks for {least.text}.",
            do="Charge it sooner, or fit a larger pack.",
        )
    gap = energy.first_gap  # what is not known can only draw more
    if left is None or gap is not None:
        return NotChecked(pack.at(), gap.text if gap else f"what draws on `{pack.name}`")
    return Clean(pack.at())


RULES = (little_left_after_last_flight,)
