"""The pulses that reach servos and the engine controller."""

from collections.abc import Iterator, Mapping
from typing import Final, NamedTuple

from holdshort.api import (
    HIGH,
    LOW,
    NEUTRAL,
    PULSE,
    Aircraft,
    Because,
    ChannelEnd,
    ChannelEntry,
    ChannelTravel,
    Clean,
    Edit,
    Finding,
    Fitted,
    Fix,
    Hold,
    Need,
    NotChecked,
    Option,
    Outcome,
    Place,
    PulseRange,
    Quantity,
    QuantityType,
    Setup,
    Severity,
    channel_travel,
    listed,
    modes_of,
    plural,
    pulse_at,
    rule,
    show_pulse,
    show_share,
    travel_place,
    undeclared_pulse,
)

_ROUNDING: Final = 1e-9
"""Pulses closer than this, in seconds, are the same."""

NEUTRAL_GAP: Final = Option(
    "pulse-out-of-range",
    "neutral-gap",
    "200 us",
    QuantityType(PULSE),
    "how far the radio's neutral pulse may be from the one that a servo is made for",
)
PAST_LEARNED: Final = Option(
    "pulse-out-of-range",
    "past-learned",
    "10 us",
    QuantityType(PULSE),
    "how far the throttle may go past the pulse that the engine controller learned as full",
)


class _Limit(NamedTuple):
    """The longest (``side`` 1) or shortest (``side`` -1) pulse that a device takes, in seconds."""

    side: int
    value: float
    place: Place
    words: str
    severity: Severity


class _Overrun(NamedTuple):
    """One device that gets a pulse past one of its limits."""

    end: ChannelEnd
    limit: _Limit
    mode: str | None
    command: float
    pulse: float


@rule(
    "pulse-out-of-range",
    title="A pulse that the servo or engine controller does not take",
    severity=Severity.WARNING,
    hold=Hold.POWER_UP,
    subject="radio",
    sources=("S1", "S2", "S7", "practice"),
    options=(NEUTRAL_GAP, PAST_LEARNED),
)
def pulse_out_of_range(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge the end pulses of each channel in each mode against what each device takes."""
    setup = aircraft.setup
    ends = [
        end for end in aircraft.channel_ends if end.device.kind in {"servo", "engine-controller"}
    ]
    if ends and setup.radio.pulse is None:
        need = undeclared_pulse(setup)
        yield NotChecked(need.place, need.text)
        return
    misfits = [end for end in ends if _is_misfit(aircraft, end)]
    yield from _misfits(aircraft, misfits)
    rest = [end for end in ends if end not in misfits]
    needs: dict[Need, None] = {}
    for number in sorted({end.channel for end in rest if end.channel is not None}):
        fed = [end for end in rest if end.channel == number]
        yield from _channel(aircraft, number, fed, needs)
    needs.update((end.need, None) for end in rest if end.channel is None and end.need)
    for need in needs:
        yield NotChecked(need.place, need.text)


def _is_misfit(aircraft: Aircraft, end: ChannelEnd) -> bool:
    """True for a servo that is made for another neutral pulse than the radio gives."""
    pulse = aircraft.setup.radio.pulse
    part = end.device.part
    if part.kind != "servo" or part.pulse is None or part.pulse.centre is None or pulse is None:
        return False
    return abs(pulse.centre - part.pulse.centre) > NEUTRAL_GAP.of(aircraft) + _ROUNDING


def _misfits(aircraft: Aircraft, ends: list[ChannelEnd]) -> Iterator[Outcome]:
    setup, pulse = aircraft.setup, aircraft.setup.radio.pulse
    for part_name in dict.fromkeys(end.device.part_name for end in ends):
        alike = [end.device for end in ends if end.device.part_name == part_name]
        one = alike[0]
        takes = one.part.pulse.centre if one.part.kind == "servo" and one.part.pulse else None
        if takes is None or pulse is None:
            continue
        names = listed(f"`{name}`" for name in dict.fromkeys(device.name for device in alike))
        verb = plural(len({device.name for device in alike}), "is", "are")
        place = one.part_place("pulse", "centre")
        yield Finding(
            at=one.at("part"),
            message=f"{names} (part `{part_name}`) {verb} made for a neutral pulse of "
            f"{takes.text}, and the radio gives {pulse.centre.text}. "
            f"{_misfit_danger(one, pulse.centre)}",
            do="Unplug it before power-up. Fit a servo for the pulse that its output gives, or "
            "plug it into a box whose output is set to the servo's own pulse.",
            because=(
                Because(place, f"neutral at {takes.text}"),
                Because(setup.place("radio", "pulse", "centre"), f"{pulse.centre.text} at centre"),
            ),
            severity=Severity.WARNING,
        )


def _misfit_danger(servo: Fitted, neutral: float) -> str:
    """Say what a neutral pulse that is not the servo's own does to it."""
    range_ = servo.part.pulse if servo.part.kind == "servo" else None
    inside = (
        range_ is not None
        and range_.min is not None
        and range_.max is not None
        and range_.min <= neutral <= range_.max
    )
    if inside:
        return "It stands off its neutral, and loses travel on one side."
    return "A servo made for another pulse runs to its end stop at once and stalls there."


def _channel(
    aircraft: Aircraft, number: int, ends: list[ChannelEnd], needs: dict[Need, None]
) -> Iterator[Outcome]:
    """Judge all devices on one channel; what is missing goes to ``needs``."""
    past: dict[Place, list[_Overrun]] = {}
    for end in ends:
        limits, gap = _limits(aircraft, end)
        overruns, missing = _overruns(aircraft, number, end, limits)
        if missing is not None:
            needs[missing] = None
        elif gap is not None:
            needs[gap] = None
        elif not overruns:
            yield Clean(end.device.at())
        for overrun in overruns:
            past.setdefault(travel_place(aircraft.setup, number, overrun.mode), []).append(overrun)
    for place, overruns in past.items():
        yield _past_the_end(aircraft, number, place, overruns)


def _limits(aircraft: Aircraft, end: ChannelEnd) -> tuple[list[_Limit], Need | None]:
    """Return the pulses between which a device works, and what its part leaves open."""
    device, part = end.device, end.device.part
    is_engine = part.kind == "engine-controller"
    severity = Severity.WARNING if is_engine else Severity.CAUTION
    limits: list[_Limit] = []
    open_ends: list[str] = []
    for key, side, word in (("min", -1, "less"), ("max", 1, "more")):
        value: Quantity | None = getattr(_takes(end), key, None)
        if value is None:
            open_ends.append({"min": "shortest", "max": "longest"}[key])
            continue
        words = f"`{device.name}` takes no {word} than {value.text}"
        limits.append(_Limit(side, value, device.part_place("pulse", key), words, severity))
    limits += _learned(aircraft, end)
    if not open_ends:
        return limits, None
    text = f"the {listed(open_ends)} pulse that part `{device.part_name}` takes"
    return limits, Need(device.part_place("pulse"), text)


def _takes(end: ChannelEnd) -> PulseRange | None:
    """Return the pulses that a servo or engine controller is declared to take."""
    part = end.device.part
    if part.kind == "servo":
        return part.pulse
    return part.pulse if part.kind == "engine-controller" else None


def _learned(aircraft: Aircraft, end: ChannelEnd) -> Iterator[_Limit]:
    """Yield the pulse that an engine controller has learned as full throttle, as a limit."""
    learned = end.device.device.learned or {}
    full, closed = learned.get("full"), learned.get("stop") or learned.get("idle")
    if full is None or closed is None:
        return
    side = 1 if full > closed else -1
    slack = PAST_LEARNED.of(aircraft)
    words = f"`{end.device.name}` has learned {full.text} as full throttle"
    place = end.device.at("learned", "full")
    yield _Limit(side, full + side * slack, place, words, Severity.CAUTION)


def _overruns(
    aircraft: Aircraft, number: int, end: ChannelEnd, limits: list[_Limit]
) -> tuple[list[_Overrun], Need | None]:
    found: list[_Overrun] = []
    missing: Need | None = None
    for mode in modes_of(aircraft.setup, number):
        for command in (LOW, HIGH):
            pulse = pulse_at(aircraft.setup, end, command, mode)
            if isinstance(pulse, Need):
                missing = missing or pulse
                continue
            past = [limit for limit in limits if limit.side * (pulse - limit.value) > _ROUNDING]
            found += [_Overrun(end, limit, mode, command, pulse) for limit in past[:1]]
    return found, missing


def _past_the_end(
    aircraft: Aircraft, number: int, place: Place, overruns: list[_Overrun]
) -> Finding:
    entry = aircraft.setup.channels[number]
    drives = listed(entry.channel.drives)
    said = listed(_said(aircraft, number, overruns))
    mode = overruns[0].mode
    where = f" in mode `{mode}`" if mode is not None else ""
    is_engine = any(overrun.end.device.kind == "engine-controller" for overrun in overruns)
    advice = dict.fromkeys(_advice(aircraft, number, overrun) for overrun in overruns)
    return Finding(
        at=place,
        message=f"Channel {number} ({drives}){where} gives {said}. "
        f"{_ENGINE_DANGER if is_engine else _SERVO_DANGER}",
        do=f"{' '.join(advice)} Then look at the full throw of what it drives.",
        because=tuple(
            dict.fromkeys(Because(item.limit.place, item.limit.words) for item in overruns)
        ),
        severity=min(overrun.limit.severity for overrun in overruns),
        fix=None if is_engine else _less_travel(aircraft, number, place, overruns),
    )


def _less_travel(
    aircraft: Aircraft, number: int, place: Place, overruns: list[_Overrun]
) -> Fix | None:
    """Return the change to the most travel that every servo on the channel takes.

    Not where the centre is past the pulse already, nor where several channels share the travel.
    """
    entry = aircraft.setup.channels[number]
    mode = overruns[0].mode
    found = channel_travel(aircraft.setup, number, mode)
    sides: dict[str, int] = {}
    for overrun in overruns:
        most = _most(aircraft, overrun)
        if most is None or most <= 0:
            return None
        side = _side(overrun.command)
        sides[side] = min(most, sides.get(side, most))
    if found is None or str(number) not in {entry.place.path[-1], place.path[-1]}:
        return None
    edits = [*_travel_edits(aircraft, place, found, sides), *_undated(aircraft, entry, mode)]
    told = listed(f"{side} travel of channel {number} to {most} %" for side, most in sides.items())
    again = " The day of its last change is taken out: give the new one." if len(edits) > 1 else ""
    return Fix(
        f"Sets the {told} in the file.{again} Set the transmitter to the same, look at the full "
        "throw, then teach the gyro and set the failsafe again.",
        tuple(edits),
    )


def _travel_edits(
    aircraft: Aircraft, place: Place, found: ChannelTravel, sides: Mapping[str, int]
) -> Iterator[Edit]:
    """Yield the edits of the sides that change; a short form that holds both is written out."""
    written = aircraft.setup.documents[place.file].node_at(place.path)
    if isinstance(written, dict):
        for side, most in sides.items():
            yield Edit("set", Place(place.file, (*place.path, side)), f"{most} %")
        return
    old = {"low": found.travel.low.text, "high": found.travel.high.text}
    new = old | {side: f"{most} %" for side, most in sides.items()}
    yield Edit("set", place, new["low"] if new["low"] == new["high"] else new)


def _undated(aircraft: Aircraft, entry: ChannelEntry, mode: str | None) -> Iterator[Edit]:
    """Yield the edit that takes out when the travel was last changed, which is true no more.

    Not where that day is after all that was learned or set from it: all that is to be done again.
    """
    changed = entry.channel.changed or {}
    if mode is None and "travel" in changed and not _is_last(aircraft.setup, changed["travel"]):
        keys = ("changed", "travel") if len(changed) > 1 else ("changed",)
        yield Edit("remove", Place(entry.place.file, (*entry.place.path, *keys)))


def _is_last(setup: Setup, day: str) -> bool:
    taught = [gyro.device.taught for gyro in setup.of_kind("gyro")]
    failsafes = [entry.declared.set_on for entry in setup.failsafe.values()]
    days = [other for other in (*taught, *failsafes) if other is not None]
    return bool(days) and max(days) < day


_SERVO_DANGER: Final = (
    "A servo sent past what it takes stops following, or runs into its own stop and stalls there."
)
_ENGINE_DANGER: Final = (
    "An engine controller may take such a pulse for a fault, or for a throttle that it never "
    "learned."
)


def _said(aircraft: Aircraft, number: int, overruns: list[_Overrun]) -> Iterator[str]:
    """Yield each pulse with its end and its percentage, and the devices that do not take it."""
    victims: dict[tuple[str, str], dict[str, None]] = {}
    for overrun in overruns:
        found = channel_travel(aircraft.setup, number, overrun.mode)
        share = 0.0
        if found:
            share = found.travel.low if overrun.command == LOW else found.travel.high
        turned = ", turned round on the way" if overrun.end.reversed else ""
        end = f"{_side(overrun.command)} end ({show_share(share)} travel{turned})"
        victims.setdefault((show_pulse(overrun.pulse), end), {})[overrun.limit.words] = None
    for (pulse, end), limits in victims.items():
        yield f"{pulse} at its {end}, where {listed(limits)}"


def _side(command: float) -> str:
    return "low" if command == LOW else "high"


def _advice(aircraft: Aircraft, number: int, overrun: _Overrun) -> str:
    """Say to what the travel must come down, or that the centre is out as well."""
    most = _most(aircraft, overrun)
    if most is None:
        return f"Bring the centre of channel {number} back, for it is past that pulse already."
    side = _side(overrun.command)
    return f"Bring the {side} travel of channel {number} down to {most} % or less."


def _most(aircraft: Aircraft, overrun: _Overrun) -> int | None:
    """Return the most travel that keeps to the limit, in per cent, or None where none does."""
    setup, pulse = aircraft.setup, aircraft.setup.radio.pulse
    centre = pulse_at(setup, overrun.end, NEUTRAL, overrun.mode)
    limit = overrun.limit
    if pulse is None or isinstance(centre, Need) or limit.side * (limit.value - centre) <= 0:
        return None
    return int((limit.side * (limit.value - centre) / pulse.full + _ROUNDING) * 100)


RULES = (pulse_out_of_range,)
