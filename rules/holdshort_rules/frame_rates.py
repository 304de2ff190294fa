"""How often servos get their pulses."""

import math
from collections.abc import Iterable, Iterator
from typing import Final

from holdshort.api import (
    FREQUENCY,
    HIGH,
    LOW,
    NEUTRAL,
    PULSE,
    Aircraft,
    Because,
    ChannelEnd,
    Clean,
    Edit,
    Finding,
    Fix,
    Hold,
    Need,
    NotChecked,
    Option,
    Outcome,
    Quantity,
    QuantityType,
    Rate,
    Severity,
    listed,
    modes_of,
    output_rate,
    plural,
    pulse_at,
    rule,
    show_pulse,
)

_ROUNDING: Final = 1e-9
"""Pulses closer than this, in seconds, and rates closer than this share, are the same."""

ANALOGUE_RATE: Final = Option(
    "frame-rate-too-high",
    "analogue",
    "60 Hz",
    QuantityType(FREQUENCY),
    "the frame rate that an analogue servo takes where its sheet states none",
    "S5",
)
ANY_SERVO_RATE: Final = Option(
    "frame-rate-too-high",
    "any-servo",
    "50 Hz",
    QuantityType(FREQUENCY),
    "the frame rate that every servo takes",
    "S4",
)
PULSE_GAP: Final = Option(
    "frame-rate-too-high",
    "gap",
    "300 us",
    QuantityType(PULSE),
    "how long an output must be quiet between two pulses",
    "S6",
)
LONGEST_PULSE: Final = Option(
    "frame-rate-too-high",
    "longest-pulse",
    "2500 us",
    QuantityType(PULSE),
    "the longest pulse of any servo, taken where the channel's own is not known",
    "S3",
)


@rule(
    "frame-rate-too-high",
    title="Pulses come faster than the servo takes",
    severity=Severity.WARNING,
    hold=Hold.POWER_UP,
    subject="radio",
    sources=("S3", "S4", "S5", "S6"),
    options=(ANALOGUE_RATE, ANY_SERVO_RATE, PULSE_GAP, LONGEST_PULSE),
)
def frame_rate_too_high(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge the frame rate of each output against its servo and its longest pulse."""
    ends = [end for end in aircraft.channel_ends if end.taker.does == "pulse-in"]
    by_rate: dict[Rate, list[ChannelEnd]] = {}
    silent: dict[str, None] = {}
    for end in ends:
        rate = output_rate(aircraft.setup, end.giver)
        if rate is None and end.device.kind == "servo":
            silent[end.giver.device] = None
        elif rate is not None:
            by_rate.setdefault(rate, []).append(end)
    for box in silent:
        place = aircraft.setup.devices[box].at()
        yield NotChecked(place, f"the frame rate of the outputs of `{box}`")
    for rate, fed in by_rate.items():
        yield from _too_fast(aircraft, rate, fed)
        yield from _too_long(aircraft, rate, fed)


def _too_fast(aircraft: Aircraft, rate: Rate, ends: list[ChannelEnd]) -> Iterator[Outcome]:
    """Judge one frame rate against what each servo on it takes."""
    over: list[tuple[ChannelEnd, str]] = []
    rates: list[Quantity] = []
    open_parts: dict[str, ChannelEnd] = {}
    for end in ends:
        if end.device.part.kind != "servo":
            continue
        most, words = _most(aircraft, end)
        if most is None:
            open_parts.setdefault(end.device.part_name, end)
        elif rate.hertz > most * (1 + _ROUNDING):
            over.append((end, f"`{end.device.name}` takes {most.text} at most ({words})"))
            rates.append(most)
        else:
            yield Clean(end.device.at())
    for name, end in open_parts.items():
        if rate.hertz <= ANY_SERVO_RATE.of(aircraft) * (1 + _ROUNDING):
            yield Clean(end.device.at())
            continue
        need = f"the highest frame rate that part `{name}` takes"
        yield NotChecked(end.device.part_place("frame-rate"), need)
    if over:
        lowest = min(rates, key=float).text
        yield _fast(rate, over)._replace(fix=_slow_down(aircraft, rate, lowest))


def _slow_down(aircraft: Aircraft, rate: Rate, to: str) -> Fix | None:
    """Return the change of a frame rate that the setup file sets; a part's own is no setting."""
    place = rate.place
    if place.file != aircraft.setup.file or place.path[0] not in {"devices", "radio"}:
        return None
    return Fix(
        f"Sets this frame rate to {to} in the file, the most that everything on it takes. Set the "
        "box itself to the same, or to its next lower step, before power-up.",
        (Edit("set", place, to),),
    )


def _most(aircraft: Aircraft, end: ChannelEnd) -> tuple[Quantity | None, str]:
    """Return the highest frame rate that a servo takes, and what says so."""
    part = end.device.part
    if part.kind != "servo":
        return None, ""
    if part.frame_rate is None and part.type == "analogue":
        return ANALOGUE_RATE.of(aircraft), "analogue, and its sheet states no rate"
    return part.frame_rate, "its sheet"


def _fast(rate: Rate, over: list[tuple[ChannelEnd, str]]) -> Finding:
    boxes = dict.fromkeys(f"`{end.giver.device}`" for end, _ in over)
    parts = [end.device.part for end, _ in over]
    analogue = any(part.kind == "servo" and part.type == "analogue" for part in parts)
    danger = (
        "Too many pulses a second make an analogue servo run hot, buzz and lose its place."
        if analogue
        else "A servo driven faster than it is rated for runs hot and may stop following."
    )
    because = dict.fromkeys(
        Because(end.device.part_place("frame-rate"), text) for end, text in over
    )
    return Finding(
        at=rate.place,
        message=f"{listed(boxes)} {plural(len(boxes), 'sends', 'send')} {rate.hertz.text}, and "
        f"{listed(dict.fromkeys(text for _, text in over))}. {danger}",
        do="Lower the frame rate of these outputs, or fit servos that take it.",
        because=tuple(because),
        severity=Severity.WARNING if analogue else Severity.CAUTION,
    )


def _too_long(aircraft: Aircraft, rate: Rate, ends: list[ChannelEnd]) -> Iterator[Outcome]:
    """Judge whether the longest pulse and a gap go into one frame."""
    period, gap = 1 / rate.hertz, PULSE_GAP.of(aircraft)
    if period + _ROUNDING >= LONGEST_PULSE.of(aircraft) + gap:
        yield Clean(rate.place)
        return
    needs: dict[Need, None] = {}
    long: list[tuple[ChannelEnd, float]] = []
    for end in ends:
        pulses = list(_pulses(aircraft, end))
        known = [pulse for pulse in pulses if not isinstance(pulse, Need)]
        longest = max(known, default=0.0)
        if longest + gap > period + _ROUNDING:
            long.append((end, longest))
        elif len(known) < len(pulses):
            needs.update((pulse, None) for pulse in pulses if isinstance(pulse, Need))
        else:
            yield Clean(end.device.at())
    for need in needs:
        yield NotChecked(need.place, need.text)
    if long:
        fits = math.floor(1 / (max(pulse for _, pulse in long) + gap) + _ROUNDING)
        slower = _slow_down(aircraft, rate, f"{fits} Hz")
        yield _crowded(rate, period, gap, long)._replace(fix=slower)


def _pulses(aircraft: Aircraft, end: ChannelEnd) -> Iterator[float | Need]:
    modes: Iterable[str | None] = (None,)
    if end.channel is not None:
        modes = modes_of(aircraft.setup, end.channel)
    for mode in modes:
        for command in (LOW, NEUTRAL, HIGH):
            yield pulse_at(aircraft.setup, end, command, mode)


def _crowded(
    rate: Rate, period: float, gap: float, long: list[tuple[ChannelEnd, float]]
) -> Finding:
    said = listed(
        dict.fromkeys(
            f"channel {end.channel} (`{end.device.name}`) gives up to {show_pulse(pulse)}"
            for end, pulse in long
        )
    )
    return Finding(
        at=rate.place,
        message=f"At {rate.hertz.text} a frame lasts {show_pulse(period)}. {said[0].upper()}"
        f"{said[1:]}, and between two pulses {show_pulse(gap)} must be quiet: the pulses do not "
        "fit, and the servo gets none that it can read.",
        do="Lower the frame rate of these outputs, or the travel of their channels.",
        severity=Severity.WARNING,
    )


RULES = (frame_rate_too_high,)
