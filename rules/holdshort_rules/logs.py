"""Measured logs: what their figures, kept in sign-offs and under `log`, say of the voltages.

No rule reads a log: `holdshort log` does, and prints the figures to keep.
"""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from holdshort.api import (
    VOLTAGE,
    Aircraft,
    Because,
    Clean,
    Finding,
    Fitted,
    Hold,
    Low,
    MeasuredLow,
    Minimum,
    Node,
    NotChecked,
    Option,
    Outcome,
    Quantity,
    QuantityType,
    Severity,
    exceeds,
    is_regulating,
    lowest,
    measured_lows,
    measuring_point,
    minimum,
    missing,
    nodes_of,
    pack_stop,
    rule,
    show_volts,
)
from holdshort_rules.voltages import MARGIN


class Reading(NamedTuple):
    """One measured lowest voltage, and where on the aircraft it was measured."""

    low: MeasuredLow
    volts: Quantity
    device: Fitted
    node: Node


@rule(
    "log-shows-dip",
    title="A log shows a voltage under what the device needs",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="evidence",
    sources=("P39", "practice"),
)
def log_shows_dip(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge the newest lowest voltage that was measured at each place."""
    lows = measured_lows(aircraft.setup)
    if not lows:
        yield from _nothing_kept(aircraft)
    for low in _own(lows):
        readings = tuple(_readings(aircraft, low))
        if low.voltage is None:
            yield NotChecked(low.place, f"a voltage such as `6.9 V`, not `{low.written}`")
        elif not readings:
            yield NotChecked(low.place, _where(low))
        else:
            yield from _judged(aircraft, readings)


def _own(lows: Iterable[MeasuredLow]) -> list[MeasuredLow]:
    """Return the figures that no other rule judges, each fact once.

    The overall figure of a load test that was passed is for `signed-voltage-too-low`, and speaks
    for the receivers named beside it. Where places are named, the overall figure says no more.
    """
    own = [low for low in lows if not low.signed_overall]
    named = {low.on for low in own if low.at}
    return [low for low in own if low.at or low.on not in named]


def _nothing_kept(aircraft: Aircraft) -> Iterator[NotChecked]:
    log = aircraft.setup.log
    if log is None or not any(one.measures == "voltage" for one in (log.columns or {}).values()):
        return
    needs = "a lowest voltage in a sign-off or under `log: results:` (`holdshort log` prints it)"
    yield NotChecked(aircraft.setup.place("log"), needs)


def _where(low: MeasuredLow) -> str:
    return f"a fitted device that is called `{low.at}`" if low.at else "a fitted receiver"


def _readings(aircraft: Aircraft, low: MeasuredLow) -> Iterator[Reading]:
    """Yield where a lowest voltage was measured: any receiver may be meant where none is named."""
    if low.voltage is None:
        return
    if not low.at:
        for device in aircraft.setup.of_kind("receiver"):
            yield Reading(low, low.voltage, device, next(nodes_of(device)))
        return
    point = measuring_point(aircraft.setup, low.at)
    if point is not None:
        yield Reading(low, low.voltage, *point)


def _judged(aircraft: Aircraft, readings: Iterable[Reading]) -> Iterator[Outcome]:
    """Judge one measured voltage: the device that needs most is told."""
    limits: list[tuple[Minimum, Reading]] = []
    for reading in readings:
        limit = _needed(aircraft, reading.device)
        if limit is not None:
            limits.append((limit, reading))
        elif not is_regulating(reading.device):
            yield NotChecked(
                reading.device.part_place("voltage", "min"),
                f"the lowest voltage that part `{reading.device.part_name}` is rated to",
            )
    if not limits:
        return
    limit, reading = max(limits, key=lambda item: item[0].voltage)
    if exceeds(limit.voltage, reading.volts):
        yield _dip(aircraft, reading, limit)
    else:
        yield Clean(reading.low.place)


def _needed(aircraft: Aircraft, device: Fitted) -> Minimum | None:
    """Return what a device needs: for a pack its alarm, or where it is to be landed."""
    stop = pack_stop(device)
    if stop is None:
        return minimum(device, MARGIN.of(aircraft))
    alarm = device.device.alarm
    if alarm is not None:
        return Minimum(alarm, "its alarm", device.at("alarm"))
    return Minimum(stop, "the voltage under load at which it is to be landed", device.at())


def _dip(aircraft: Aircraft, reading: Reading, limit: Minimum) -> Finding:
    low, name = reading.low, reading.device.name
    lasted = f" for {low.dip.text}" if low.dip else ""
    computed = _computed(aircraft, reading)
    given = (
        f" Computed from what is declared, it stays at {show_volts(computed.voltage)} or more."
        if computed is not None and exceeds(computed.voltage, limit.voltage)
        else ""
    )
    return Finding(
        at=low.place,
        message=f"{_first_up(low.what)} of {low.on} shows `{name}` down to {reading.volts.text}"
        f"{lasted}, but it needs {show_volts(limit.voltage)} ({limit.words}).{given} "
        f"{_danger(reading.device)}",
        do="Find what let the voltage fall (a plug, switch, lead, regulator, or a pack that is "
        "cold, old or empty), cure it, and log the same run again. Figures of a later day count.",
        because=(Because(limit.place, f"`{name}` needs {show_volts(limit.voltage)}"),),
    )


def _first_up(words: str) -> str:
    return words[0].upper() + words[1:]


def _danger(device: Fitted) -> str:
    if device.kind in {"receiver", "hub", "gyro"}:
        return "A box that resets in flight takes all that hangs on it until it is back."
    if device.kind == "battery":
        return "A pack that sags like that has little left, and takes its rail with it."
    return "What is short of voltage is weak or stops just when it is needed."


def _computed(aircraft: Aircraft, reading: Reading) -> Low | None:
    """Return the lowest that the network gives there, where all is known for it."""
    if missing(aircraft.power, reading.node, aircraft.power.cases):
        return None
    return lowest(aircraft.power, reading.node)


SHORT = Option(
    "measured-below-computed",
    "difference",
    "0.3 V",
    QuantityType(VOLTAGE, zero=True),
    "how far a lowest voltage that was measured may be under the lowest that is computed",
)


@rule(
    "measured-below-computed",
    title="A measured voltage lower than the declared wiring can explain",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="evidence",
    sources=("practice",),
    options=(SHORT,),
)
def measured_below_computed(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge the newest lowest voltage measured at each device against the solved network.

    Packs are left out: how full they were is not known. So is what `log-shows-dip` finds.
    """
    for low in _own(measured_lows(aircraft.setup)):
        for reading in _readings(aircraft, low) if low.at else ():
            if reading.device.kind == "battery":
                continue
            limit = _needed(aircraft, reading.device)
            if limit is None or not exceeds(limit.voltage, reading.volts):
                yield from _against_network(aircraft, reading)


def _against_network(aircraft: Aircraft, reading: Reading) -> Iterator[Outcome]:
    needs = missing(aircraft.power, reading.node, aircraft.power.cases)
    computed = lowest(aircraft.power, reading.node)
    if needs:
        yield NotChecked(needs[0].place, needs[0].text)
    elif computed is None:
        yield NotChecked(
            reading.device.at(), f"a lead that brings power to `{reading.device.name}`"
        )
    elif exceeds(computed.voltage - reading.volts, SHORT.of(aircraft)):
        yield _unexplained(reading, computed, SHORT.of(aircraft))
    else:
        yield Clean(reading.low.place)


def _unexplained(reading: Reading, computed: Low, allowed: Quantity) -> Finding:
    low, case = reading.low, computed.case
    short = computed.voltage - reading.volts
    return Finding(
        at=low.place,
        message=f"{_first_up(low.what)} of {low.on} shows `{low.at}` down to {reading.volts.text}. "
        f"With everything as declared it is {show_volts(computed.voltage)} at its lowest, in the "
        f"{case.name} case ({case.title}): {show_volts(short)} is not explained, {allowed.text} is "
        "allowed. Something loses or draws more than is declared, and all that was computed of "
        "this rail is too kind.",
        do="Look for a plug that makes poor contact, thinner or longer wire than declared, a servo "
        "that is stiff, or loads that are not declared; put the declaration right or cure it, and "
        "log again.",
    )


RULES = (log_shows_dip, measured_below_computed)
