"""The throttle: whether it can be closed and cut."""

from collections.abc import Iterator
from typing import Final, Literal

from holdshort.api import (
    HIGH,
    LOW,
    PULSE,
    Aircraft,
    Because,
    ChannelEnd,
    ChannelEntry,
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
    QuantityType,
    Severity,
    functions_of,
    is_throttle,
    listed,
    modes_of,
    plural,
    pulse_at,
    rule,
    show_pulse,
    travel_place,
    trim_shift,
)

_ROUNDING: Final = 1e-9
"""Pulses closer than this, in seconds, are the same."""

_STOPS: Final = ("engine stop", "ignition", "fuel valve")
"""Functions that stop an engine by themselves."""

ABOVE_STOP: Final = Option(
    "throttle-trim-not-stop",
    "slack",
    "10 us",
    QuantityType(PULSE),
    "how far the closed throttle may stay from the pulse that the engine controller learned",
)


@rule(
    "throttle-trim-not-stop",
    title="The closed throttle does not stop the engine",
    severity=Severity.WARNING,
    hold=Hold.ENGINE_RUN,
    subject="radio",
    sources=("practice",),
    options=(ABOVE_STOP,),
)
def throttle_trim_not_stop(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether the closed throttle is at the learned stop, in every mode."""
    setup = aircraft.setup
    for engine in setup.of_kind("engine-controller"):
        ends = [
            end
            for end in aircraft.channel_ends
            if end.device is engine and _is_throttle(aircraft, end)
        ]
        learned = engine.device.learned or {}
        if not ends and _is_ignition(aircraft, engine):
            continue
        if not ends:
            yield NotChecked(engine.at(), f"the throttle channel that comes to `{engine.name}`")
        elif "stop" not in learned and "idle" not in learned:
            yield NotChecked(engine.at(), f"the pulse that `{engine.name}` has `learned` as stop")
        for end in ends if "stop" in learned or "idle" in learned else ():
            yield from _closed(aircraft, end)


def _is_ignition(aircraft: Aircraft, engine: Fitted) -> bool:
    """True for a box that a channel stops and none throttles, such as an ignition unit."""
    channels = aircraft.setup.channels
    return any(
        set(functions_of(channels[end.channel], aircraft.setup)) & set(_STOPS)
        for end in aircraft.channel_ends
        if end.device is engine and end.channel is not None and end.channel in channels
    )


def _is_throttle(aircraft: Aircraft, end: ChannelEnd) -> bool:
    entry = aircraft.setup.channels.get(end.channel or 0)
    return entry is not None and is_throttle(entry, aircraft.setup)


def _closed(aircraft: Aircraft, end: ChannelEnd) -> Iterator[Outcome]:
    """Judge one throttle channel in all of its modes."""
    setup, number = aircraft.setup, end.channel or 0
    learned = end.device.device.learned or {}
    key: Literal["stop", "idle"] = "stop" if "stop" in learned else "idle"
    if setup.radio.throttle_cut is not None and "idle" in learned:
        key = "idle"
    floor, full = learned[key], learned.get("full")
    sign = -1 if full is not None and full < floor else 1
    left_on: list[tuple[str | None, float]] = []
    for mode in modes_of(setup, number):
        pulse = _closed_pulse(aircraft, end, mode, sign)
        if isinstance(pulse, Need):
            yield NotChecked(pulse.place, pulse.text)
            return
        if sign * (pulse - floor) > ABOVE_STOP.of(aircraft) + _ROUNDING:
            left_on.append((mode, pulse))
    if not left_on:
        yield Clean(end.device.at("learned"))
        return
    mode, pulse = max(left_on, key=lambda item: sign * item[1])
    turned = full is not None and sign * (pulse - (floor + full) / 2) > 0
    yield Finding(
        at=travel_place(setup, number, mode),
        message=f"With the stick closed, channel {number} still gives {show_pulse(pulse)}"
        f"{_in_modes(left_on)}, and `{end.device.name}` has learned {floor.text} as {key}."
        f"{_TURNED if turned else ''} The engine cannot be {_done(key)} with the stick, and it may "
        "start to run when it is armed.",
        do=_close(number, turned=turned),
        because=(Because(end.device.at("learned", key), f"{floor.text} learned as {key}"),),
        fix=_no_trim(aircraft, end, sign * (pulse - floor), sign),
    )


def _no_trim(aircraft: Aircraft, end: ChannelEnd, excess: float, sign: int) -> Fix | None:
    """Return the change of the trim to nothing, where that alone leaves the throttle open.

    ``excess`` is how far the worst mode is on the open side of what was learned, in seconds.
    """
    setup, number = aircraft.setup, end.channel or 0
    entry = setup.channels[number]
    trim = trim_shift(setup, number) * (-1 if end.reversed else 1)
    if not trim or excess - sign * trim > ABOVE_STOP.of(aircraft) + _ROUNDING:
        return None
    if entry.place.path[-1] != str(number):
        return None  # one of a run of channels, which share the trim
    return Fix(
        f"Sets the trim of channel {number} to 0 % in the file. Set it so in the transmitter, look "
        "that the engine controller shows stop, and set the failsafe of that channel again.",
        (Edit("set", Place(entry.place.file, (*entry.place.path, "trim")), "0 %"),),
    )


_TURNED: Final = " That is nearer to full throttle than to closed: the channel is the wrong way."


def _done(key: str) -> str:
    return "stopped" if key == "stop" else "brought to idle"


def _close(number: int, *, turned: bool) -> str:
    if turned:
        return (
            f"Turn channel {number} round in the transmitter, then teach the engine controller "
            "again and set the failsafe again."
        )
    return (
        f"Bring the closed end of channel {number} down, with trim and travel, or teach the engine "
        "controller again. Then set the failsafe of that channel again."
    )


def _in_modes(left_on: list[tuple[str | None, float]]) -> str:
    named = [f"`{mode}`" for mode, _ in left_on if mode is not None]
    return f" in {plural(len(named), 'mode')} {listed(named)}" if named else ""


def _closed_pulse(aircraft: Aircraft, end: ChannelEnd, mode: str | None, sign: int) -> float | Need:
    """Return the pulse with the stick closed and the trim as it is.

    Where the radio does not say which end that is, the end nearer to stop counts.
    """
    setup = aircraft.setup
    sense = (setup.radio.sense or {}).get("throttle")
    commands = {"longer": (LOW,), "shorter": (HIGH,)}.get(sense or "", (LOW, HIGH))
    trim = trim_shift(setup, end.channel or 0) * (-1 if end.reversed else 1)
    found: list[float] = []
    for command in commands:
        pulse = pulse_at(setup, end, command, mode)
        if isinstance(pulse, Need):
            return pulse
        found.append(pulse + trim)
    return min(found, key=lambda pulse: sign * pulse)


@rule(
    "no-throttle-cut",
    title="No switch cuts the throttle",
    severity=Severity.WARNING,
    hold=Hold.ENGINE_RUN,
    subject="radio",
    sources=("T6", "T7"),
)
def no_throttle_cut(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether the transmitter of an aircraft with an engine has a throttle cut."""
    setup = aircraft.setup
    throttle = [entry for entry in setup.channels.values() if is_throttle(entry, setup)]
    if not _has_engine(aircraft) or "radio" not in setup.sections:
        return
    place = setup.place("radio", "throttle-cut")
    if setup.broken_under("radio", "throttle-cut"):
        yield NotChecked(place, "the `throttle-cut`, which has a mistake of form")
    elif setup.radio.throttle_cut is not None:
        yield Clean(place)
    elif cut := _cut_channel(aircraft):
        yield Clean(cut.place)
    elif not _is_programmed(aircraft):
        yield NotChecked(place, "the switch that cuts the throttle, as `throttle-cut` of the radio")
    else:
        yield Finding(
            at=throttle[0].place if throttle else setup.place("radio"),
            message="The transmitter's settings are declared, and no switch among them cuts the "
            "throttle. A stick that is knocked, or a trim that is up, then stands between the "
            "propeller or turbine and the hands of whoever is near it.",
            do="Set a switch to cut the throttle, wherever the stick and trim stand, try it with "
            "the engine made safe, and declare it as `throttle-cut` under `radio:`.",
        )


def _has_engine(aircraft: Aircraft) -> bool:
    setup = aircraft.setup
    propulsion = setup.aircraft.propulsion if setup.aircraft else None
    if propulsion is not None:
        return propulsion != "none"
    drives_throttle = any(is_throttle(entry, setup) for entry in setup.channels.values())
    return drives_throttle or bool(setup.of_kind("engine-controller"))


def _cut_channel(aircraft: Aircraft) -> ChannelEntry | None:
    """Return a channel whose work is to stop the engine."""
    for entry in aircraft.setup.channels.values():
        functions = set(functions_of(entry, aircraft.setup))
        if functions & set(_STOPS):
            return entry
    return None


def _is_programmed(aircraft: Aircraft) -> bool:
    """True where the transmitter's own settings are declared, not only its channels."""
    radio = aircraft.setup.radio
    return bool(radio.pulse or radio.sense or radio.mixes or aircraft.setup.modes)


RULES = (throttle_trim_not_stop, no_throttle_cut)
