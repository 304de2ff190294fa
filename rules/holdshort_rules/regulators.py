"""Regulators: their input, their load, their heat, and what was measured and set on them."""

import math
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from holdshort.api import (
    SHARE,
    VOLTAGE,
    Aircraft,
    Because,
    Bound,
    CaseResult,
    Clean,
    Edit,
    Feed,
    Finding,
    Fitted,
    Fix,
    Hold,
    Low,
    Need,
    Node,
    NotChecked,
    Option,
    Outcome,
    Quantity,
    QuantityType,
    RegulatorFacts,
    RegulatorPoint,
    Severity,
    alarm_bounds,
    alarm_needs,
    bounds_told,
    counted,
    exceeds,
    full_pack_cruise,
    input_field,
    is_regulating,
    listed,
    lowest,
    missing,
    pack_drop,
    pack_stop,
    pack_words,
    plural,
    regulator_facts,
    rule,
    show_volts,
    sounds_when_charged,
    stall_currents,
    watched_packs,
)
from holdshort_rules.output_settings import lower_output
from holdshort_rules.voltages import MARGIN


def _regulators(aircraft: Aircraft) -> Iterator[tuple[Fitted, RegulatorFacts]]:
    """Yield each device that holds an output voltage, in the order of the file."""
    for device in aircraft.setup.devices.values():
        if is_regulating(device):
            yield device, regulator_facts(device)


def _gaps(needs: Iterable[Need]) -> Iterator[NotChecked]:
    """Yield one not-checked outcome for each thing that is missing."""
    for need in dict.fromkeys(needs):
        yield NotChecked(need.place, need.text)


def _setting_need(device: Fitted) -> Need:
    return Need(device.at(), f"the output voltage that `{device.name}` is set to")


def _supply_need(device: Fitted) -> Need:
    return Need(device.at(), f"a lead that brings power to `{device.name}`")


def _part_need(device: Fitted, words: str, *field: str) -> Need:
    return Need(device.part_place(*field), f"{words} of `{device.part_name}`")


@rule(
    "battery-outside-regulator-input",
    title="A supply outside what the regulator takes at its input",
    severity=Severity.WARNING,
    hold=Hold.POWER_UP,
    subject="power",
    sources=("P33", "C1", "C2", "C4", "C5", "C7", "C8", "C9"),
)
def battery_outside_regulator_input(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge the highest and the lowest voltage at each regulator's input."""
    over: dict[str, tuple[Feed, list[tuple[Fitted, Quantity]]]] = {}
    needs: list[Need] = []
    for device, facts in _regulators(aircraft):
        high = _too_high(aircraft, device, facts)
        if high is not None:
            over.setdefault(high[0].device, (high[0], []))[1].append((device, high[1]))
            continue
        low = _input_low(aircraft, device)
        finding = low and _too_low(device, facts, low)
        gaps = [*_high_needs(aircraft, device, facts), *_low_needs(aircraft, device, facts)]
        if finding:
            yield finding
        elif not gaps:
            yield Clean(device.at())
        needs += gaps
    for feed, devices in over.values():
        yield _input_over(aircraft, feed, devices)
    yield from _gaps(needs)


def _too_high(
    aircraft: Aircraft, device: Fitted, facts: RegulatorFacts
) -> tuple[Feed, Quantity] | None:
    feed, limit = aircraft.supply(device).highest, facts.input.max if facts.input else None
    return (feed, limit) if feed and limit and exceeds(feed.voltage, limit) else None


def _input_over(aircraft: Aircraft, feed: Feed, devices: list[tuple[Fitted, Quantity]]) -> Finding:
    named = listed(f"`{device.name}` ({limit.text})" for device, limit in devices)
    verb = plural(len(devices), "takes at its input", "take at their inputs")
    return Finding(
        at=feed.because.place,
        message=f"{feed.words}, more than {named} {verb}. A regulator that breaks down can put "
        "the whole pack on the rail.",
        do=_lower_input(aircraft, feed, min((limit for _, limit in devices), key=float)),
        because=tuple(
            Because(
                device.part_place(input_field(device), "max"),
                f"`{device.part_name}` takes at most {limit.text}",
            )
            for device, limit in devices
        ),
        fix=lower_output(aircraft, feed.device, [limit for _, limit in devices]),
    )


def _lower_input(aircraft: Aircraft, feed: Feed, limit: Quantity) -> str:
    if aircraft.setup.devices[feed.device].kind == "battery":
        return "Fit a pack with fewer cells, or a regulator rated for this one when it is full."
    return f"Set `{feed.device}` to {limit.text} or less, or fit a regulator rated for more."


class InputLow(NamedTuple):
    """The lowest input of a regulator: solved, and with the pack at the voltage to land at."""

    solved: Low
    pack: Fitted | None
    stop: float
    at_stop: float

    @property
    def worst(self) -> float:
        """The lower of the two, in volts."""
        return min(self.solved.voltage, self.at_stop)


def _input_low(aircraft: Aircraft, device: Fitted) -> InputLow | None:
    """Return the lowest voltage at a regulator's input, or None where it is not known.

    A second supply of unknown voltage could hold the input up; loads and wires that are not
    declared could only make it lower.
    """
    node, supply = Node(device.name, "in"), aircraft.supply(device)
    solved = lowest(aircraft.power, node)
    if solved is None or supply.unknown:
        return None
    best: InputLow | None = None
    for pack in (aircraft.setup.devices[feed.device] for feed in supply.feeds):
        stop, drop = pack_stop(pack), pack_drop(aircraft.power, pack, node)
        if stop is not None and drop is not None and (best is None or stop - drop > best.at_stop):
            best = InputLow(solved, pack, stop, stop - drop)
    return best or InputLow(solved, None, math.inf, math.inf)


def _too_low(device: Fitted, facts: RegulatorFacts, low: InputLow) -> Finding | None:
    least = facts.input.min if facts.input else None
    if least is not None and exceeds(least, low.worst):
        return Finding(
            at=device.at(),
            message=f"`{device.name}` works from {least.text} at its input. It gets "
            f"{_lows(low)}. A regulator short of input may switch off, and its whole rail with it.",
            do="Fit a pack with more cells, thicker or shorter wire before the regulator, or a "
            "regulator that works from less.",
            because=(
                Because(
                    device.part_place(input_field(device), "min"),
                    f"`{device.part_name}` works from {least.text}",
                ),
                *_pack_says(low),
            ),
            hold=Hold.FLIGHT,
        )
    if facts.setting is not None and exceeds(facts.setting + facts.dropout, low.worst):
        return _out_of_regulation(device, facts, facts.setting, low)
    return None


def _lows(low: InputLow) -> str:
    """Say both numbers: the lowest solved, and the one with the pack where it is to be landed."""
    case = low.solved.case
    words = f"{show_volts(low.solved.voltage)} in the {case.name} case ({case.title})"
    if low.pack is None:
        return words
    return (
        f"{words}, {'but only' if low.at_stop < low.solved.voltage else 'and'} "
        f"{show_volts(low.at_stop)} when `{low.pack.name}` is down to "
        f"{show_volts(low.stop)} under load, where it must be on the ground"
    )


def _pack_says(low: InputLow) -> tuple[Because, ...]:
    if low.pack is None:
        return ()
    text = f"`{low.pack.part_name}` is {pack_words(low.pack)}"
    return (Because(low.pack.part_place("cells"), text),)


def _out_of_regulation(
    device: Fitted, facts: RegulatorFacts, setting: Quantity, low: InputLow
) -> Finding:
    taken = "" if facts.dropout_stated else ", taken from common practice"
    holds = math.floor((low.worst - facts.dropout) * 10 + 1e-6) / 10
    return Finding(
        at=device.at("output") if device.device.output is not None else device.at(),
        message=f"`{device.name}` is set to {setting.text} and needs "
        f"{show_volts(setting + facts.dropout)} at its input for that (dropout "
        f"{show_volts(facts.dropout)}{taken}). It gets {_lows(low)}. Below that the rail "
        "sags with the pack, and servos slow down and weaken as the flight goes on.",
        do=f"Set `{device.name}` to {holds:.1f} V or less, if everything on its rail works with "
        "that, or fit a pack with more cells.",
        because=_pack_says(low),
        severity=Severity.CAUTION,
        hold=Hold.FLIGHT,
    )


def _high_needs(aircraft: Aircraft, device: Fitted, facts: RegulatorFacts) -> Iterator[Need]:
    supply = aircraft.supply(device)
    yield from supply.unknown
    if supply.highest is None and not supply.unknown:
        yield _supply_need(device)
    if device.kind != "engine-controller" and not (facts.input and facts.input.max):
        yield _part_need(device, "the highest input voltage", input_field(device), "max")


def _low_needs(aircraft: Aircraft, device: Fitted, facts: RegulatorFacts) -> Iterator[Need]:
    if facts.setting is None:
        yield _setting_need(device)
    if device.kind != "engine-controller" and not (facts.input and facts.input.min):
        yield _part_need(device, "the lowest input voltage", input_field(device), "min")
    power = aircraft.power
    yield from missing(power, Node(device.name, "in"), power.cases)


STALL_SHARE = Option(
    "regulator-overloaded",
    "stall-share",
    "50 %",
    QuantityType(SHARE, zero=True),
    "the share of the stall currents of all its servos that a regulator must give at its peak",
    "P36",
)


class Load(NamedTuple):
    """What is asked of a regulator, in amperes, and when."""

    current: float
    words: str


@rule(
    "regulator-overloaded",
    title="More current drawn from a regulator than it is rated for",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="power",
    sources=("P36", "practice"),
    options=(STALL_SHARE,),
)
def regulator_overloaded(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge each regulator's continuous rating in cruise and its peak rating in the hard cases."""
    needs: list[Need] = []
    for device, facts in _regulators(aircraft):
        steady, peak = _steady_load(aircraft, device), _peak_load(aircraft, device)
        over = [
            (load, rating, word)
            for load, rating, word in (
                (steady, facts.continuous, "all the time"),
                (peak, facts.peak, "for a short time"),
            )
            if load and rating and exceeds(load.current, rating)
        ]
        gaps = list(_load_needs(aircraft, device, facts, steady, peak))
        if over:
            yield _overloaded(device, over)
        elif not gaps:
            yield Clean(device.at())
        needs += gaps
    yield from _gaps(needs)


def _steady_load(aircraft: Aircraft, device: Fitted) -> Load | None:
    return _solved_load(aircraft.power.result("cruise"), device)


def _peak_load(aircraft: Aircraft, device: Fitted) -> Load | None:
    """Return the highest of the solved short loads and of the share of its servos' stalls."""
    names = ("hard-manoeuvre", "stalled-pair", "engine-start")
    found = [_solved_load(aircraft.power.result(name), device) for name in names]
    share = STALL_SHARE.of(aircraft)
    stalls = sum(stall_currents(aircraft.setup, aircraft.wiring, device))
    words = f"by the rule of {share.text} of the stall currents of all its servos"
    found.append(Load(stalls * share, words))
    return max((load for load in found if load), key=lambda load: load.current, default=None)


def _solved_load(result: CaseResult, device: Fitted) -> Load | None:
    point = result.regulator(device.name)
    if point is None:
        return None
    case = result.case
    return Load(point.output_current, f"in the {case.name} case ({case.title})")


def _overloaded(device: Fitted, over: list[tuple[Load, Quantity, str]]) -> Finding:
    said = listed(
        f"{load.current:.1f} A {load.words}, where it is rated to {rating.text} {word}"
        for load, rating, word in over
    )
    return Finding(
        at=device.at(),
        message=f"`{device.name}` has to give {said}. A regulator that limits or cuts out takes "
        "every servo and receiver on its rail with it.",
        do=f"Fit a larger regulator in place of `{device.name}`, or move part of the servos to a "
        "second one with a rail of its own.",
        because=(Because(device.part_root, f"the ratings of `{device.part_name}`"),),
    )


def _load_needs(
    aircraft: Aircraft,
    device: Fitted,
    facts: RegulatorFacts,
    steady: Load | None,
    peak: Load | None,
) -> Iterator[Need]:
    """Yield what is missing; a peak within the continuous rating needs no peak rating."""
    power = aircraft.power
    field = "output-" if device.kind == "engine-controller" else ""
    if facts.setting is None:
        yield _setting_need(device)
    if facts.continuous is None:
        yield _part_need(device, "the continuous current", f"{field}continuous-current")
    covered = peak and facts.continuous and not exceeds(peak.current, facts.continuous)
    if facts.peak is None and not covered:
        yield _part_need(device, "the peak current", f"{field}peak-current")
    yield from missing(power, Node(device.name, "out"), power.cases)
    if facts.setting is not None and (steady is None or _has_collapsed(aircraft, device)):
        yield _unsolved(aircraft, device)


def _has_collapsed(aircraft: Aircraft, device: Fitted) -> bool:
    return any(result.voltage(Node(device.name, "in")) is None for result in aircraft.power.results)


def _unsolved(aircraft: Aircraft, device: Fitted) -> Need:
    supply = aircraft.supply(device)
    if supply.unknown:
        return supply.unknown[0]
    if supply.feeds:
        return Need(device.at(), f"a supply of `{device.name}` that does not collapse")
    return _supply_need(device)


@rule(
    "regulator-too-hot",
    title="More heat in a regulator than it can get rid of",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="power",
    sources=("P35", "practice"),
)
def regulator_too_hot(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge the heat of each regulator in steady flight on full packs against its limit."""
    needs: list[Need] = []
    for device, facts in _regulators(aircraft):
        point = full_pack_cruise(aircraft.power, device)
        limit = facts.heat_limit
        gaps = list(_heat_needs(aircraft, device, facts))
        if point and limit and facts.is_linear is not None and exceeds(point.heat, limit):
            yield _hot(device, limit, point.heat, _sums(point, facts))
        elif not gaps and point:
            yield Clean(device.at())
        elif not gaps:
            gaps.append(_unsolved(aircraft, device))
        needs += gaps
    yield from _gaps(needs)


def _sums(point: RegulatorPoint, facts: RegulatorFacts) -> str:
    enters, leaves = show_volts(point.input_voltage), show_volts(point.output_voltage)
    if facts.is_linear:
        return f"from {enters} down to {leaves} at {point.output_current:.1f} A"
    taken = "" if facts.efficiency_stated else ", taken from common practice"
    return (
        f"{point.output_current:.1f} A at {leaves} with an efficiency of "
        f"{facts.efficiency * 100:.3g} %{taken}"
    )


def _hot(device: Fitted, limit: Quantity, heat: float, sums: str) -> Finding:
    return Finding(
        at=device.at(),
        message=f"`{device.name}` makes {heat:.2f} W of heat in steady flight on full packs "
        f"({sums}), but can get rid of {limit.text}. A regulator that overheats shuts down or "
        "burns out, and its rail goes with it.",
        do=f"Feed `{device.name}` from fewer cells or set it higher where its rail allows that, "
        "fit a larger or a switching regulator, or give it cooling its sheet rates.",
        because=(Because(device.part_place("heat-limit"), f"heat limit {limit.text}"),),
    )


def _heat_needs(aircraft: Aircraft, device: Fitted, facts: RegulatorFacts) -> Iterator[Need]:
    if facts.setting is None:
        yield _setting_need(device)
    if facts.heat_limit is None:
        yield _part_need(device, "the heat limit", "heat-limit")
    if facts.is_linear is None:
        yield _part_need(device, "whether it is linear or switching: the `type`", "type")
    cruise = [case for case in aircraft.power.cases if case.name == "cruise"]
    yield from missing(aircraft.power, Node(device.name, "out"), cruise)


DIFFERENCE = Option(
    "measured-differs",
    "difference",
    "0.1 V",
    QuantityType(VOLTAGE, zero=True),
    "how far a measured output may be from the declared setting",
)


@rule(
    "measured-differs",
    title="A measured voltage away from the declared setting",
    severity=Severity.CAUTION,
    hold=Hold.POWER_UP,
    subject="power",
    sources=("practice",),
    options=(DIFFERENCE,),
)
def measured_differs(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge each regulator's measured output against what it is declared to be set to."""
    for device, facts in _regulators(aircraft):
        measured = device.device.measured
        if measured is None:
            yield NotChecked(device.at(), f"what a meter shows at the output of `{device.name}`")
        elif facts.setting is None:
            yield NotChecked(*_setting_need(device))
        elif exceeds(abs(measured - facts.setting), DIFFERENCE.of(aircraft)):
            yield _differs(aircraft, device, measured, facts.setting)
        else:
            yield Clean(device.at("measured"))


def _differs(aircraft: Aircraft, device: Fitted, measured: Quantity, setting: Quantity) -> Finding:
    hurt = _rated_under(aircraft, device, measured) if measured > setting else []
    word = "above" if measured > setting else "below"
    over = f" That is above the rating of {listed(hurt)}." if hurt else ""
    allowed = DIFFERENCE.of(aircraft).text
    set_at = (
        device.at("output") if device.device.output is not None else device.part_place("output")
    )
    return Finding(
        at=device.at("measured"),
        message=f"A meter showed {measured.text} at `{device.name}`, "
        f"{show_volts(abs(measured - setting))} {word} the {setting.text} it is declared to give; "
        f"{allowed} is allowed.{over} Every check of this rail was made with the declared figure.",
        do=f"Set `{device.name}` to {setting.text} and measure again with nothing but the meter "
        "plugged in, or declare what it really gives.",
        because=(Because(set_at, f"declared to give {setting.text}"),),
        severity=Severity.WARNING if hurt else None,
    )


def _rated_under(aircraft: Aircraft, device: Fitted, measured: Quantity) -> list[str]:
    """Name what hangs on the output of ``device`` and is rated under the measured voltage."""
    return [
        f"`{other.name}` ({other.part.voltage.max.text})"
        for other in aircraft.setup.devices.values()
        if other.part.voltage
        and other.part.voltage.max is not None
        and exceeds(measured, other.part.voltage.max)
        and any(feed.device == device.name for feed in aircraft.supply(other).feeds)
    ]


@rule(
    "alarm-below-cutoff",
    title="A low-voltage alarm that comes too late",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="power",
    sources=("P24", "P39", "C2", "C5", "C7", "C9", "practice"),
)
def alarm_below_cutoff(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge where each alarm is set against the pack's stop and what hangs on the pack."""
    needs: list[Need] = []
    margin = MARGIN.of(aircraft)
    for device in aircraft.setup.devices.values():
        alarm, cells = device.device.alarm, device.device.alarm_cells
        if alarm is not None:
            bounds = list(alarm_bounds(aircraft, device, margin))
            over = [bound for bound in bounds if exceeds(bound.voltage, alarm)]
            gaps = list(alarm_needs(aircraft, device, bounds, margin))
            if over:
                yield _late(aircraft, device, alarm, over)
            elif not gaps:
                yield Clean(device.at("alarm"))
            needs += [] if over else gaps
        if cells is not None:
            yield from _cells(aircraft, device, cells)
    yield from _gaps(needs)


def _late(aircraft: Aircraft, device: Fitted, alarm: Quantity, over: list[Bound]) -> Finding:
    over.sort(key=lambda bound: -bound.voltage)
    enough = math.ceil(over[0].voltage * 10 - 1e-6) / 10
    return Finding(
        at=device.at("alarm"),
        message=f"The low-voltage alarm of `{device.name}` is set to {alarm.text}, but "
        f"{listed(bounds_told(over))}. When it sounds, what it should warn of has "
        "already happened.",
        do=_set_alarm(watched_packs(aircraft, device), enough),
        because=tuple({bound.because.place: bound.because for bound in over}.values()),
        severity=None if any(bound.grave for bound in over) else Severity.CAUTION,
        fix=_raise_alarm(device, watched_packs(aircraft, device), enough),
    )


def _raise_alarm(device: Fitted, packs: list[Fitted], enough: float) -> Fix | None:
    if sounds_when_charged(packs, enough):
        return None
    value = f"{enough:.1f} V"
    return Fix(
        f"Sets the alarm of `{device.name}` to {value} in the file, the least that is early "
        "enough. Set the alarm itself to the same, and try it on the bench.",
        (Edit("set", device.at("alarm"), value),),
    )


def _set_alarm(packs: list[Fitted], enough: float) -> str:
    if sounds_when_charged(packs, enough):
        return (
            f"Use more cells or a lower regulator setting: an alarm at {enough:.1f} V would sound "
            "on a pack that is still well charged."
        )
    return f"Set the alarm to {enough:.1f} V or more, and try it on the bench."


def _cells(aircraft: Aircraft, device: Fitted, cells: int) -> Iterator[Outcome]:
    packs = watched_packs(aircraft, device)
    wrong = [pack for pack in packs if pack.part.kind == "battery" and pack.part.cells != cells]
    if not packs:
        yield NotChecked(
            device.at("alarm-cells"), f"a pack that the alarm of `{device.name}` watches"
        )
    elif wrong:
        alike = {pack.part.cells for pack in packs if pack.part.kind == "battery"}
        yield _miscounted(device, cells, wrong[0], alike=len(alike) == 1)
    else:
        yield Clean(device.at("alarm-cells"))


def _miscounted(device: Fitted, cells: int, pack: Fitted, *, alike: bool) -> Finding:
    fitted = pack.part.cells if pack.part.kind == "battery" else 0
    stop = pack_stop(pack) or 0.0
    sounds = stop / fitted * cells
    early = cells > fitted
    why = (
        "It sounds all the time, and an alarm that always sounds is soon ignored."
        if early
        else "It stays silent until long after the pack is empty."
    )
    return Finding(
        at=device.at("alarm-cells"),
        message=f"The low-voltage alarm of `{device.name}` is set for {counted(cells, 'cell')}, "
        f"but `{pack.name}` has {fitted}: it sounds at {show_volts(sounds)} where it should at "
        f"{show_volts(stop)}. {why}",
        do=f"Set the alarm to {counted(fitted, 'cell')}.",
        because=(Because(pack.part_place("cells"), f"`{pack.part_name}` is {pack_words(pack)}"),),
        severity=Severity.CAUTION if early else None,
        fix=_count_again(device, fitted) if alike else None,
    )


def _count_again(device: Fitted, fitted: int) -> Fix:
    return Fix(
        f"Sets the alarm of `{device.name}` to {counted(fitted, 'cell')} in the file. Set the "
        "alarm itself to the same, and try it on the bench.",
        (Edit("set", device.at("alarm-cells"), fitted),),
    )


RULES = (
    battery_outside_regulator_input,
    regulator_overloaded,
    regulator_too_hot,
    measured_differs,
    alarm_below_cutoff,
)
