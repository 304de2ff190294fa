"""Currents through plugs and wires against what they carry without getting hot."""

from collections.abc import Iterable, Iterator
from typing import Final

from holdshort.api import (
    CURRENT,
    DURATION,
    SHARE,
    TEMPERATURE,
    Aircraft,
    Because,
    Cable,
    Clean,
    Excess,
    Finding,
    Fitted,
    Fuse,
    FuseLimit,
    Hold,
    Loading,
    Need,
    NotChecked,
    Option,
    Outcome,
    Place,
    Quantity,
    QuantityType,
    Severity,
    WireRating,
    connector_current,
    exceeds,
    fused_leads,
    greatest_fuse,
    is_servo_lead,
    lead_loading,
    rule,
    servo_plug_current,
    short_time_current,
    show_amps,
    wire_area,
    wire_rating,
)

_SHORT_TEXT: Final = "how far a short-time current may go above the continuous one"


def _short_time(rule_id: str) -> Option:
    return Option(rule_id, "short-time", "200 %", QuantityType(SHARE), _SHORT_TEXT)


def _once(outcomes: Iterable[Outcome]) -> Iterator[Outcome]:
    """Yield the outcomes, each missing fact once however many leads wait for it."""
    seen: set[NotChecked] = set()
    for outcome in outcomes:
        if isinstance(outcome, NotChecked):
            if outcome in seen:
                continue
            seen.add(outcome)
        yield outcome


def _flows(over: Excess, cable: Cable) -> str:
    """Return ``21 A flows in the lead `a` to `b` (all servos moving hard)``."""
    return f"{show_amps(over.current)} flows in the lead {cable.title} ({over.case})"


def _severity(over: Excess) -> Severity:
    return Severity.WARNING if over.kind == "steady" else Severity.CAUTION


_CONNECTOR_SHORT: Final = _short_time("connector-overloaded")


@rule(
    "connector-overloaded",
    title="More current through a connector than its contacts carry",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="power",
    sources=("S9", "S11", "practice"),
    options=(_CONNECTOR_SHORT,),
)
def connector_overloaded(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge the current of each lead against the connectors in line in it."""
    yield from _once(_connectors(aircraft))


def _connectors(aircraft: Aircraft) -> Iterator[Outcome]:
    for cable in aircraft.setup.cables:
        named = cable.lead.connectors or ()
        loading = lead_loading(aircraft.power, cable) if named else None
        if loading is None:
            continue
        for index, name in enumerate(named):
            place = Place(cable.place.file, (*cable.place.path, "connectors", index))
            yield _connector(aircraft, cable, loading, place, name)


def _connector(
    aircraft: Aircraft, cable: Cable, loading: Loading, place: Place, name: str
) -> Outcome:
    part = aircraft.setup.connectors.get(name)
    if part is None or part.contact_current is None:
        return NotChecked(place, f"the current that one contact of `{name}` is rated to")
    contacts = part.contacts or 1
    limit = connector_current(part.contact_current, contacts)
    over = loading.against(limit, limit * _CONNECTOR_SHORT.of(aircraft))
    if isinstance(over, Need):
        return NotChecked(over.place, over.text)
    if over is None:
        return Clean(place)
    if part.contacts is None:
        return NotChecked(place, f"how many contacts of `{name}` carry each pole")
    return Finding(
        at=place,
        message=f"{_flows(over, cable)}, and `{name}` in it carries {show_amps(limit)} all the "
        f"time{_contacts(contacts, part.contact_current.text)}{_short_limit(over)}. A hot contact "
        "loses its spring, then its grip, then the supply.",
        do=f"Fit a connector rated for {show_amps(over.current)}, or split the load over two.",
        severity=_severity(over),
    )


def _contacts(contacts: int, rated: str) -> str:
    if contacts == 1:
        return ""
    return f" ({contacts} contacts of {rated} side by side, each taken at less for its neighbours)"


def _short_limit(over: Excess) -> str:
    return "" if over.kind == "steady" else f", {show_amps(over.limit)} for a short time"


_PLUG_CURRENT: Final = Option(
    "plug-feeds-too-much",
    "current",
    "3 A",
    QuantityType(CURRENT),
    "what one three-pin servo plug may carry all the time",
    "S9",
)
_PLUG_SHORT: Final = _short_time("plug-feeds-too-much")

SERVO_SIZE: Final = 0.33e-6
"""The thickest wire that passes for servo lead, m2: 22 AWG is 0.326 mm2."""


@rule(
    "plug-feeds-too-much",
    title="One servo plug feeds more than it carries",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="power",
    sources=("S9", "S10", "S11", "S12", "practice"),
    options=(_PLUG_CURRENT, _PLUG_SHORT),
)
def plug_feeds_too_much(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge the current through every lead that ends in three-pin servo plugs."""
    yield from _once(_plugs(aircraft))


def _plugs(aircraft: Aircraft) -> Iterator[Outcome]:
    for cable in aircraft.setup.cables:
        plugged = _has_servo_plugs(aircraft, cable)
        loading = None if plugged is False else lead_loading(aircraft.power, cable)
        if loading is not None:
            yield _plug(aircraft, cable, loading, sure=plugged is True)


def _has_servo_plugs(aircraft: Aircraft, cable: Cable) -> bool | None:
    """Return whether a lead has servo plugs; None where its wire would have to be known."""
    if is_servo_lead(cable):
        return True
    ends = (cable.start.device, cable.end.device)
    kinds = {aircraft.setup.devices[name].kind for name in ends if name in aircraft.setup.devices}
    if cable.lead.connectors or not kinds & {"receiver", "hub", "gyro"}:
        return False
    return None if cable.lead.wire is None else cable.lead.wire <= SERVO_SIZE


def _plug(aircraft: Aircraft, cable: Cable, loading: Loading, *, sure: bool) -> Outcome:
    limit = min(_PLUG_CURRENT.of(aircraft), servo_plug_current(cable.lead.wire))
    over = loading.against(limit, limit * _PLUG_SHORT.of(aircraft))
    if isinstance(over, Need):
        return NotChecked(over.place, over.text)
    if over is None:
        return Clean(cable.place)
    if not sure:
        return NotChecked(
            cable.place,
            f"the wire size of the lead {cable.title}, which tells whether it ends in servo plugs",
        )
    wire = f" on {cable.lead.wire.text} wire" if cable.lead.wire else ""
    return Finding(
        at=cable.place,
        message=f"{_flows(over, cable)}, and a three-pin servo plug{wire} carries "
        f"{show_amps(limit)} all the time{_short_limit(over)}. Its contact heats and lets go, and "
        "everything behind it goes with it.",
        do="Feed what hangs on it by a second lead, or through a connector and wire made for the "
        "current.",
        severity=_severity(over),
    )


_INSULATION: Final = Option(
    "wire-overloaded",
    "insulation",
    "105 degC",
    QuantityType(TEMPERATURE),
    "the temperature that the insulation of your wire is rated to (105, 150 or 200 degC)",
)
_BURST: Final = Option(
    "wire-overloaded",
    "burst",
    "10 s",
    QuantityType(DURATION),
    "how long all servos may work hard, or two may be stalled",
)
_START: Final = Option(
    "wire-overloaded",
    "start",
    "60 s",
    QuantityType(DURATION),
    "how long an engine start may take",
)
SURROUNDINGS: Final = 70.0
"""Temperature of the air for which the table of wire currents holds, degrees Celsius."""


@rule(
    "wire-overloaded",
    title="Wire too thin for its current or its fuse",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="power",
    sources=("table-11-9", "table-11-3", "adiabatic", "practice"),
    options=(_INSULATION, _BURST, _START),
)
def wire_overloaded(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge the current of each lead against its wire, and each fuse against the wire behind it."""
    yield from _once(_wires(aircraft))


def _wires(aircraft: Aircraft) -> Iterator[Outcome]:
    for cable in aircraft.setup.cables:
        loading = lead_loading(aircraft.power, cable)
        area = wire_area(cable)
        if loading is None:
            continue
        if area is None:
            yield NotChecked(cable.place, f"the wire size of the lead {cable.title}")
        else:
            yield _wire(aircraft, cable, loading, area)
    for fuse in aircraft.setup.of_kind("fuse"):
        yield from _fuse(aircraft, fuse)


def _wire(aircraft: Aircraft, cable: Cable, loading: Loading, area: float) -> Outcome:
    insulation = _INSULATION.of(aircraft)
    rating = wire_rating(area, insulation)
    if rating is None:
        return NotChecked(cable.place, f"a published current for wire rated to {insulation.text}")
    brief = [
        short_time_current(area, SURROUNDINGS, rating.degrees, option.of(aircraft))
        for option in (_BURST, _START)
    ]
    over = loading.against(rating.current, *brief)
    if isinstance(over, Need):
        return NotChecked(over.place, over.text)
    if over is None:
        return Clean(cable.place)
    size = cable.lead.wire.text if cable.lead.wire else "22 AWG, taken since none is declared"
    return Finding(
        at=cable.place,
        message=f"{_flows(over, cable)}. Its wire ({size}) {_carries(over, rating)}. Hot "
        "insulation softens, chafes and in the end shorts.",
        do="Fit thicker wire, or a second lead beside it.",
        because=(Because(cable.place, _row(rating)),) if over.kind == "steady" else (),
        severity=_severity(over),
    )


def _carries(over: Excess, rating: WireRating) -> str:
    if over.kind == "steady":
        return f"carries {show_amps(rating.current)} all the time in a bundle in air of 70 °C"
    return (
        f"goes from 70 °C past the {rating.degrees} °C of its insulation before that is over, "
        f"above {show_amps(over.limit)}"
    )


def _row(rating: WireRating) -> str:
    if rating.derived:
        return (
            "AC 43.13-1B Table 11-9 ends at 24 AWG; thinner wire is taken in proportion to its "
            "metal area"
        )
    return f"AC 43.13-1B Table 11-9, row {rating.gauge} AWG"


def _fuse(aircraft: Aircraft, fuse: Fitted) -> Iterator[Outcome]:
    """Judge a fuse against the thinnest wire it protects."""
    areas = [(wire_area(cable), cable) for cable in fused_leads(aircraft.wiring, fuse)]
    known = [(area, cable) for area, cable in areas if area is not None]
    if not known:
        return
    area, cable = min(known, key=lambda pair: pair[0])
    rating = fuse.part.rating if isinstance(fuse.part, Fuse) else None
    limit = greatest_fuse(area)
    if rating is None:
        yield NotChecked(fuse.part_place("rating"), f"the current printed on `{fuse.part_name}`")
    elif exceeds(rating, limit.current):
        yield _fuse_too_large(fuse, rating, cable, limit)
    elif limit.exact:
        yield Clean(fuse.at())
    else:
        yield NotChecked(cable.place, "a published fuse for wire thinner than 22 AWG")


def _fuse_too_large(fuse: Fitted, rating: Quantity, cable: Cable, limit: FuseLimit) -> Finding:
    size = cable.lead.wire.text if cable.lead.wire else "22 AWG, taken since none is declared"
    return Finding(
        at=fuse.part_place("rating"),
        message=f"`{fuse.name}` is a {rating.text} fuse, and the lead {cable.title} behind it is "
        f"{size}. The greatest fuse for {limit.gauge} AWG is {show_amps(limit.current)}: an "
        "overload that this fuse lets through for long can overheat the wire.",
        do=f"Fit a fuse of {show_amps(limit.current)} or less, or thicker wire behind it.",
        because=(Because(cable.place, f"AC 43.13-1B Table 11-3, row {limit.gauge} AWG"),),
        severity=Severity.CAUTION,
    )


RULES = (connector_overloaded, plug_feeds_too_much, wire_overloaded)
