"""Voltages at devices: too high for them, too low for them, and what is lost in the wire."""

import math
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from holdshort.api import (
    SHARE,
    VOLTAGE,
    Aircraft,
    Because,
    Cable,
    Clean,
    Collapsed,
    Feed,
    Finding,
    Fitted,
    Hold,
    LeadLoad,
    Low,
    Minimum,
    Need,
    NotChecked,
    Option,
    Outcome,
    Place,
    Quantity,
    QuantityType,
    Severity,
    Way,
    collapsed,
    counted,
    exceeds,
    gauge_for_drop,
    is_regulating,
    lead_loads,
    listed,
    lowest,
    minimum,
    missing,
    needs_voltage,
    nodes_of,
    nominal_rail,
    plural,
    regulator_facts,
    rule,
    run_words,
    show_volts,
    way,
)
from holdshort_rules.output_settings import lower_output

_LOADS = (
    "receiver",
    "hub",
    "gyro",
    "engine-controller",
    "pump",
    "valve",
    "gear-controller",
    "brake",
    "lights",
    "sensor",
    "load",
)
_CARRIERS = ("distribution", "switch", "fuse", "splitter")


class Lowest(NamedTuple):
    """One device under its minimum: where its voltage is lowest, and how it comes to that."""

    device: Fitted
    limit: Minimum
    low: Low
    way: Way


@rule(
    "rail-above-device-rating",
    title="Supply voltage above the rating of a device",
    severity=Severity.WARNING,
    hold=Hold.POWER_UP,
    subject="power",
    sources=("P33", "C1", "C4", "C8"),
)
def rail_above_device_rating(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge the highest voltage of each rail against every device on it but servos."""
    over: dict[str, tuple[Feed, list[tuple[Fitted, Quantity]]]] = {}
    unrated: set[Place] = set()
    for device in _rated_devices(aircraft):
        rating = device.part.voltage.max if device.part.voltage else None
        supply = aircraft.supply(device)
        feed = supply.highest
        if rating is None:
            if device.part_root not in unrated:
                unrated.add(device.part_root)
                yield _no_rating(device, "max", "highest")
        elif feed is not None and exceeds(feed.voltage, rating):
            over.setdefault(feed.device, (feed, []))[1].append((device, rating))
        elif supply.unknown:
            yield NotChecked(supply.unknown[0].place, supply.unknown[0].text)
        elif feed is None:
            yield _unfed(device)
        else:
            yield Clean(device.at())
    for feed, devices in over.values():
        yield _overvoltage(aircraft, feed, devices)


def _rated_devices(aircraft: Aircraft) -> Iterator[Fitted]:
    """Yield what draws current, and what carries it where its sheet states a voltage."""
    for device in aircraft.setup.of_kind(*_LOADS, *_CARRIERS):
        if device.kind in _LOADS or (device.part.voltage and not is_regulating(device)):
            yield device


def _no_rating(device: Fitted, field: str, word: str) -> NotChecked:
    return NotChecked(
        device.part_place("voltage", field),
        f"the {word} voltage that part `{device.part_name}` is rated to",
    )


def _unfed(device: Fitted) -> NotChecked:
    return NotChecked(device.at(), f"a lead that brings power to `{device.name}`")


def _overvoltage(aircraft: Aircraft, feed: Feed, devices: list[tuple[Fitted, Quantity]]) -> Finding:
    named = listed(f"`{device.name}` ({rating.text})" for device, rating in devices)
    lowest_rating = min((rating for _, rating in devices), key=float)
    ratings = {
        device.part_place("voltage", "max"): f"`{device.part_name}` is rated to {rating.text}"
        for device, rating in devices
    }
    count = counted(len(devices), "device")
    return Finding(
        at=feed.because.place,
        message=f"{feed.words}, and {count} it feeds {plural(len(devices), 'is', 'are')} rated "
        f"lower: {named}. Over-voltage can burn out electronics at the first power-up, or leave "
        "them to fail in the air.",
        do=_lower(aircraft, feed, lowest_rating),
        because=tuple(Because(place, text) for place, text in ratings.items()),
        fix=lower_output(aircraft, feed.device, [lowest_rating]),
    )


def _lower(aircraft: Aircraft, feed: Feed, rating: Quantity) -> str:
    device = aircraft.setup.devices[feed.device]
    if device.kind == "battery":
        return (
            f"Fit a pack that gives {rating.text} or less when full, put a regulator set to "
            f"{rating.text} or less before these devices, or fit devices rated for more."
        )
    return f"Set `{feed.device}` to {rating.text} or less, or fit devices rated for more."


MARGIN = Option(
    "rail-below-device-minimum",
    "margin",
    "0.5 V",
    QuantityType(VOLTAGE, zero=True),
    "how far a receiver, hub or gyro must stay above the voltage at which it resets",
    "P39",
)


@rule(
    "rail-below-device-minimum",
    title="Supply voltage under what a device needs",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="power",
    sources=("P39", "practice"),
    options=(MARGIN,),
)
def rail_below_device_minimum(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge the lowest voltage at each device, over all load cases, against what it needs."""
    broken = collapsed(aircraft.power)
    yield from (_collapse(aircraft, collapse) for collapse in broken)
    dead = {node for collapse in broken for node in collapse.nodes}
    causes: dict[Place, list[Lowest]] = {}
    gaps: dict[Need, None] = {}
    for device in aircraft.setup.devices.values():
        if not needs_voltage(device) or next(nodes_of(device)) in dead:
            continue
        found = _judged_low(aircraft, device)
        if isinstance(found, Lowest):
            causes.setdefault(_cause(aircraft, found), []).append(found)
        elif isinstance(found, Clean):
            yield found
        else:
            gaps.update(dict.fromkeys(found))
    yield from (_too_low(aircraft, place, victims) for place, victims in causes.items())
    yield from (NotChecked(need.place, need.text) for need in gaps)


def _judged_low(aircraft: Aircraft, device: Fitted) -> Lowest | Clean | tuple[Need, ...]:
    """Judge one device; a tuple holds what is missing.

    Missing loads and wires only make its voltage lower, so a voltage that is already too low
    needs none of them. A missing second feed could make it higher.
    """
    limit = minimum(device, MARGIN.of(aircraft))
    if limit is None:
        gap = _no_rating(device, "min", "lowest")
        return (Need(gap.at, gap.needs),)
    node, unknown = next(nodes_of(device)), aircraft.supply(device).unknown
    low = lowest(aircraft.power, node)
    if not unknown and low is not None and exceeds(limit.voltage, low.voltage):
        return Lowest(device, limit, low, way(aircraft.power, low.case, node))
    needs = unknown or missing(aircraft.power, node, aircraft.power.cases)
    if needs:
        return needs
    if low is None:
        gap = _unfed(device)
        return (Need(gap.at, gap.needs),)
    return Clean(device.at())


def _cause(aircraft: Aircraft, lowest: Lowest) -> Place:
    """Return the declaration to change: a lead, where that lead alone makes the difference."""
    lead = lowest.way.largest
    if lead and not exceeds(lowest.limit.voltage, lowest.low.voltage + lead.volts):
        return lead.cable.place
    source = aircraft.setup.devices[lowest.way.source.device]
    return source.at("output") if source.device.output is not None else source.at()


def _too_low(aircraft: Aircraft, place: Place, victims: list[Lowest]) -> Finding:
    victims.sort(key=lambda one: (one.low.voltage - one.limit.voltage, one.device.name))
    worst, others = victims[0], victims[1:]
    case, limit = worst.low.case, worst.limit
    also = listed(
        f"`{one.device.name}` ({show_volts(one.low.voltage)}, "
        f"needs {show_volts(one.limit.voltage)})"
        for one in others
    )
    source = aircraft.setup.devices[worst.way.source.device]
    return Finding(
        at=place,
        message=f"`{worst.device.name}` is down to {show_volts(worst.low.voltage)} in the "
        f"{case.name} case ({case.title}), but it needs {_needed(limit)}."
        f"{_lost(worst.way)}{f' Too low as well: {also}.' if also else ''} "
        f"{_danger([one.device for one in victims])}",
        do=_raise_it(source, place, worst),
        because=(
            *_source_says(source),
            *(Because(one, text) for one, text in _reasons(victims).items()),
        ),
    )


def _needed(limit: Minimum) -> str:
    return f"{show_volts(limit.voltage)} ({limit.words})"


def _lost(found: Way) -> str:
    lead = found.largest
    if lead is None or lead.volts < 0.005:  # noqa: PLR2004  - would print as 0.00 V
        return ""
    return (
        f" On the way {show_volts(lead.volts)} is lost in the {run_words(lead.cable)} from "
        f"{lead.cable.title}, at {lead.current:.1f} A."
    )


def _danger(devices: list[Fitted]) -> str:
    kinds = {device.kind for device in devices}
    if kinds & {"receiver", "hub", "gyro"}:
        return "A box that resets in flight takes all that hangs on it until it is back."
    if "servo" in kinds:
        return "A servo short of voltage is weak and slow just when it is needed, or stops."
    return "Below its minimum nobody promises that it works."


def _reasons(victims: list[Lowest]) -> dict[Place, str]:
    return {
        one.limit.place: f"`{one.device.part_name}` needs {show_volts(one.limit.voltage)}: "
        f"{one.limit.words}"
        for one in victims
    }


def _source_says(source: Fitted) -> tuple[Because, ...]:
    setting = source.device.output
    if setting is None:
        return ()
    return (Because(source.at("output"), f"`{source.name}` is set to {setting.text}"),)


def _raise_it(source: Fitted, place: Place, worst: Lowest) -> str:
    lead = worst.way.largest
    if lead is not None and place == lead.cable.place:
        return (
            f"Use thicker or shorter wire from {lead.cable.title}, or lay a second power lead "
            "beside it."
        )
    setting = regulator_facts(source).setting
    if source.kind != "battery" and setting is not None:
        short = worst.limit.voltage - worst.low.voltage
        enough = math.ceil((setting + short) * 10 - 1e-6) / 10
        return (
            f"Set `{source.name}` to {enough:.1f} V or more, if everything on its rail is rated "
            "for that, or use thicker wire."
        )
    return (
        f"Fit a pack with more cells, more capacity or less internal resistance than "
        f"`{source.name}`, or feed part of the load from a second pack."
    )


def _collapse(aircraft: Aircraft, found: Collapsed) -> Finding:
    share = math.floor(found.place.share * 100)
    return Finding(
        at=aircraft.setup.devices[found.device].at(),
        message=f"The supply collapses at `{found.device}` in the {found.case.name} case "
        f"({found.case.title}): only {share} % of the load could be carried. There is no voltage "
        "at which everything on this supply gets what it asks for; all of it would go down "
        "together.",
        do=f"Feed `{found.device}` through thicker or shorter wire and from a pack with less "
        "internal resistance, or take load off this supply.",
    )


CONTINUOUS = Option(
    "voltage-drop-high",
    "continuous-share",
    "3.6 %",
    QuantityType(SHARE),
    "the share of its rail's voltage that a lead may lose in steady flight",
    "P32",
)
INTERMITTENT = Option(
    "voltage-drop-high",
    "intermittent-share",
    "7.1 %",
    QuantityType(SHARE),
    "the share of its rail's voltage that a lead may lose for a short time",
    "drop-intermittent",
)
_STEADY = ("cruise",)
_SHORT = ("hard-manoeuvre", "engine-start")


class Loss(NamedTuple):
    """What one lead loses, against what it may lose, in volts."""

    load: LeadLoad
    limit: Quantity
    rail: float

    @property
    def allowed(self) -> float:
        """Volts that the lead may lose."""
        return self.limit * self.rail


@rule(
    "voltage-drop-high",
    title="Too much voltage lost in a lead",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="power",
    sources=("P30", "P32", "drop-intermittent"),
    options=(CONTINUOUS, INTERMITTENT),
)
def voltage_drop_high(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge what each lead loses, in steady flight and for a short time, against its share."""
    power = aircraft.power
    cases = [case for case in power.cases if case.name in (*_STEADY, *_SHORT)]
    gaps: dict[Need, None] = {}
    for joint in aircraft.wiring.copper:
        if joint.cable is None:
            continue
        rail = nominal_rail(aircraft.setup, aircraft.wiring, joint.start)
        loads = lead_loads(power, joint.cable, cases)
        losses = [Loss(load, _limit(aircraft, load), rail) for load in loads if rail]
        worst = max(losses, key=lambda loss: loss.load.volts / loss.allowed, default=None)
        needs = missing(power, joint.start, cases)
        if worst and exceeds(worst.load.volts, worst.allowed):
            yield _lossy(joint.cable, worst)
        elif worst and not needs and len(loads) == len(cases):
            yield Clean(joint.cable.place)
        gaps.update(dict.fromkeys(needs or _unsolved(joint.cable, loads, len(cases))))
    yield from (NotChecked(need.place, need.text) for need in gaps)


def _limit(aircraft: Aircraft, load: LeadLoad) -> Quantity:
    return (CONTINUOUS if load.case.name in _STEADY else INTERMITTENT).of(aircraft)


def _unsolved(cable: Cable, loads: list[LeadLoad], cases: int) -> Iterable[Need]:
    if not loads:
        yield Need(cable.place, f"a supply on the lead {cable.title}")
    elif len(loads) < cases:
        yield Need(cable.place, "a supply that does not collapse under its load")


def _lossy(cable: Cable, loss: Loss) -> Finding:
    load, allowed = loss.load, loss.allowed
    return Finding(
        at=cable.place,
        message=f"The {run_words(cable)} from {cable.title} loses {show_volts(load.volts)} at "
        f"{load.current:.1f} A in the {load.case.name} case ({load.case.title}): "
        f"{load.volts / loss.rail * 100:.3g} % of its {show_volts(loss.rail)} rail, where "
        f"{loss.limit.text} ({show_volts(allowed)}) is allowed. What the wire loses is missing at "
        "the far end as torque, speed and margin.",
        do=_thicker(cable, loss),
    )


def _thicker(cable: Cable, loss: Loss) -> str:
    gauge = gauge_for_drop(cable, loss.load, loss.allowed, loss.rail)
    if gauge is None:
        return f"Shorten the lead from {cable.title}, or share its load between two leads."
    return f"Use {gauge} AWG or thicker from {cable.title}, or make it shorter."


RULES = (rail_above_device_rating, rail_below_device_minimum, voltage_drop_high)
