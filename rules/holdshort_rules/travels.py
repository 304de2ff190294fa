"""Travels and trims: whether they are even, and whether they do the work of the linkage."""

from collections.abc import Iterator
from typing import Final

from holdshort.api import (
    FLIGHT_CONTROLS,
    SHARE,
    Aircraft,
    Because,
    ChannelEntry,
    Clean,
    Finding,
    Hold,
    NotChecked,
    Option,
    Outcome,
    Place,
    QuantityType,
    Severity,
    channel_travel,
    functions_of,
    listed,
    modes_of,
    plural,
    rule,
    show_share,
)

_ROUNDING: Final = 1e-9
"""Shares closer than this are the same."""

MOST_TRIM: Final = Option(
    "trim-used-as-centre",
    "most",
    "15 %",
    QuantityType(SHARE),
    "how far a centre may be trimmed before the arm or the linkage should be set again",
)


@rule(
    "trim-used-as-centre",
    title="Trim does the work of the linkage",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="radio",
    sources=("S1", "practice"),
    options=(MOST_TRIM,),
)
def trim_used_as_centre(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge the centre and the trim of each channel that steers."""
    setup = aircraft.setup
    missing: list[int] = []
    for entry in _steering(aircraft):
        channel = entry.channel
        if channel.centre is None and channel.trim is None:
            missing.append(entry.number)
            continue
        over = [
            _over_trimmed(aircraft, entry, key, value)
            for key, value in (("centre", channel.centre), ("trim", channel.trim))
            if value is not None and abs(value) > MOST_TRIM.of(aircraft) + _ROUNDING
        ]
        yield from over
        if not over:
            yield Clean(entry.place)
    if missing:
        place = setup.place("radio", "channels")
        word = plural(len(missing), "channel")
        numbers = listed(str(number) for number in missing)
        yield NotChecked(place, f"the `centre` of {word} {numbers} (`0 %` where it has no trim)")


def _over_trimmed(aircraft: Aircraft, entry: ChannelEntry, key: str, value: float) -> Finding:
    what = "The centre" if key == "centre" else "The trim in use"
    number = entry.number
    return Finding(
        at=_in(entry.place, key),
        message=f"{what} of channel {number} ({_drives(entry)}) is {_signed(value)}, more than "
        f"{MOST_TRIM.of(aircraft).text}. It eats travel on one side, and a change of model memory "
        "or a gyro taught afterwards shifts the neutral of the surface.",
        do="Set it to zero, put the arm back on its splines as square as they allow, and set the "
        "rest at the linkage. Then teach the gyro and set the failsafe again."
        if key == "centre"
        else "Set the surface at its linkage to where the trim has put it, and the trim to zero. "
        "Then teach the gyro and set the failsafe again.",
    )


def _signed(share: float) -> str:
    return f"{'-' if share < 0 else '+'}{show_share(abs(share))}"


def _in(place: Place, *keys: str) -> Place:
    return Place(place.file, (*place.path, *keys))


def _steering(aircraft: Aircraft) -> Iterator[ChannelEntry]:
    """Yield the channels that move a flight control, which has a neutral."""
    for entry in aircraft.setup.channels.values():
        if set(functions_of(entry, aircraft.setup)) & set(FLIGHT_CONTROLS):
            yield entry


LOPSIDED: Final = Option(
    "travel-lopsided",
    "sides",
    "20 %",
    QuantityType(SHARE),
    "how far the two sides of an even surface may differ, in per cent of travel",
)
PAIR: Final = Option(
    "travel-lopsided",
    "pair",
    "20 %",
    QuantityType(SHARE),
    "how far a left and a right surface may differ, in per cent of travel",
)
_EVEN: Final = frozenset(
    {"elevator", "rudder", "v-tail", "ruddervator", "canard", "nose steering", "nose wheel",
     "tail wheel", "steering"}
)  # fmt: skip
"""Functions that ought to go as far to one side as to the other; ailerons may have differential."""
_SAME_SIDE: Final = frozenset({"elevator", "canard", "flap", "airbrake", "spoiler"})
"""Functions whose left and right halves answer the same command with the same side."""


@rule(
    "travel-lopsided",
    title="Travel is uneven between sides or between left and right",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="radio",
    sources=("practice",),
    options=(LOPSIDED, PAIR),
)
def travel_lopsided(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge the travel of each even surface, and of each left and right pair, in every mode."""
    pairs = list(_pairs(aircraft))
    judged = {entry.number: entry for entry in aircraft.setup.channels.values()}
    paired = {entry.number for pair in pairs for entry in pair}
    missing: list[int] = []
    for number, entry in judged.items():
        even = bool(set(functions_of(entry, aircraft.setup)) & _EVEN)
        if not even and number not in paired:
            continue
        unknown = any(
            channel_travel(aircraft.setup, number, mode) is None
            for mode in modes_of(aircraft.setup, number)
        )
        if unknown:
            missing.append(number)
        elif even:
            yield from _sides(aircraft, entry)
    for pair in pairs:
        if not {entry.number for entry in pair} & set(missing):
            yield from _pair(aircraft, *pair)
    if missing:
        word = plural(len(missing), "channel")
        text = f"the travel of {word} {listed(str(number) for number in missing)}"
        yield NotChecked(aircraft.setup.place("radio", "channels"), text)


def _sides(aircraft: Aircraft, entry: ChannelEntry) -> Iterator[Outcome]:
    """Judge the two sides of one even surface in each mode."""
    most = LOPSIDED.of(aircraft)
    for mode in modes_of(aircraft.setup, entry.number):
        found = channel_travel(aircraft.setup, entry.number, mode)
        if found is None:
            continue
        low, high = found.travel.low, found.travel.high
        if abs(low - high) <= most + _ROUNDING:
            yield Clean(found.place)
            continue
        yield Finding(
            at=found.place,
            message=f"Channel {entry.number} ({_drives(entry)}){_in_mode(mode)} goes "
            f"{show_share(low)} to its low side and {show_share(high)} to its high side: "
            f"{show_share(abs(low - high))} apart. Travel that has to be lopsided to give even "
            "throw hides an arm off its square, and a surface that really moves unevenly answers "
            "better one way than the other.",
            do="Measure the throw both ways. Set the arm square at neutral, then give both sides "
            "the same travel.",
        )


def _in_mode(mode: str | None) -> str:
    return f" in mode `{mode}`" if mode is not None else ""


def _pairs(aircraft: Aircraft) -> Iterator[tuple[ChannelEntry, ChannelEntry]]:
    """Yield the channels of a left surface and of the right one like it."""
    sides: dict[tuple[str, str], list[ChannelEntry]] = {}
    for entry in aircraft.setup.channels.values():
        for words in entry.channel.drives:
            side = next((word for word in _words(words) if word in {"left", "right"}), None)
            if side and len(entry.channel.drives) == 1:
                other = " ".join(word for word in _words(words) if word != side)
                sides.setdefault((side, other), []).append(entry)
    for (side, other), left in sides.items():
        right = sides.get(("right", other), [])
        if side == "left" and len(left) == len(right) == 1:
            yield left[0], right[0]


def _words(text: str) -> list[str]:
    return text.lower().replace("_", " ").replace("-", " ").split()


def _pair(aircraft: Aircraft, left: ChannelEntry, right: ChannelEntry) -> Iterator[Outcome]:
    """Judge the travels of one left and one right surface against each other in each mode."""
    setup, most = aircraft.setup, PAIR.of(aircraft)
    modes = dict.fromkeys((*modes_of(setup, left.number), *modes_of(setup, right.number)))
    for mode in modes:
        one = channel_travel(setup, left.number, mode)
        other = channel_travel(setup, right.number, mode)
        if one is None or other is None:
            continue
        first = _compared(aircraft, left, one.travel.low, one.travel.high)
        second = _compared(aircraft, right, other.travel.low, other.travel.high)
        gap = max(abs(a - b) for a, b in zip(first, second, strict=True))
        if gap <= most + _ROUNDING:
            yield Clean(one.place)
            continue
        yield Finding(
            at=other.place,
            message=f"{_sentence_start(left)} goes {_both(one.travel.low, one.travel.high)} and "
            f"{_name(right)} {_both(other.travel.low, other.travel.high)}{_in_mode(mode)}: "
            f"{show_share(gap)} apart. Left and right that do not move alike turn the aircraft "
            "where it was only meant to be moved one way.",
            do="Measure the throw of both. Match the arms and linkages first, then the travels.",
            because=(
                Because(one.place, f"{_drives(left)}: {_both(one.travel.low, one.travel.high)}"),
            ),
        )


def _compared(
    aircraft: Aircraft, entry: ChannelEntry, low: float, high: float
) -> tuple[float, float]:
    """Return the travels in the order in which left and right are comparable."""
    functions = set(functions_of(entry, aircraft.setup))
    return (low, high) if functions <= _SAME_SIDE else (min(low, high), max(low, high))


def _name(entry: ChannelEntry) -> str:
    return f"channel {entry.number} ({_drives(entry)})"


def _sentence_start(entry: ChannelEntry) -> str:
    return f"Channel {entry.number} ({_drives(entry)})"


def _both(low: float, high: float) -> str:
    if show_share(low) == show_share(high):
        return show_share(low)
    return f"{show_share(low)} low and {show_share(high)} high"


def _drives(entry: ChannelEntry) -> str:
    return listed(entry.channel.drives)


RULES = (trim_used_as_centre, travel_lopsided)
