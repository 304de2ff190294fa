"""How the transmitter is set: channels, modes and copies."""

from collections.abc import Iterator
from typing import Final

from holdshort.api import (
    Aircraft,
    Because,
    ChannelEntry,
    Clean,
    Feeding,
    Finding,
    Hold,
    NotChecked,
    Outcome,
    Place,
    Severity,
    control_function,
    feedings,
    listed,
    plural,
    rule,
    run_numbers,
)


@rule(
    "channel-order-differs",
    title="A channel comes to a device that another channel is meant for",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="radio",
    sources=("practice",),
)
def channel_order_differs(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether each device is fed by the channel that drives it."""
    setup = aircraft.setup
    hurt = setup.broken_under("radio", "channels") or setup.broken_under("surfaces")
    if hurt is not None and aircraft.channel_ends:
        yield NotChecked(setup.place(*hurt), "the entry with a mistake of form")
        return
    wrong: dict[str, list[Feeding]] = {}
    for feeding in feedings(setup, aircraft.drives, aircraft.channel_ends):
        if feeding.need is not None:
            yield NotChecked(feeding.need.place, feeding.need.text)
        elif feeding.fits:
            yield Clean(feeding.end.device.at())
        elif feeding.meant or not feeding.moves:
            wrong.setdefault(feeding.end.giver.device, []).append(feeding)
    for box, found in wrong.items():
        yield _crossed(aircraft, box, found)


def _crossed(aircraft: Aircraft, box: str, found: list[Feeding]) -> Finding:
    """Say of one box which of its outputs bring a channel that is meant for something else."""
    setup, device = aircraft.setup, aircraft.setup.devices[box]
    presumed = [feeding for feeding in found if feeding.end.presumed]
    told = ""
    if presumed:
        told = (
            f" ({plural(len(presumed), 'Its port is', 'Its ports are')} not declared to give "
            "another channel, so the number on the port counts.)"
        )
    brought = "; ".join(_brought(aircraft, feeding) for feeding in found)
    grave = any(feeding.steers for feeding in found)
    numbers = [number for feeding in found for number in (feeding.channel, *feeding.meant)]
    because = [
        Because(entry.place, f"channel {entry.number}: {_drives(entry)}")
        for entry in setup.channels.values()
        if entry.number in numbers
    ]
    return Finding(
        at=device.at("ports") if device.device.ports else device.at(),
        message=f"{_sentence(brought)}{told} {_STEERING if grave else _OTHER}",
        do=f"Move the plugs to the outputs of their channels. If `{box}` is set to give other "
        f"channels than the numbers on its ports, declare them: {_setting(found)}.",
        because=tuple(because),
        severity=Severity.WARNING if grave else Severity.CAUTION,
    )


_STEERING: Final = "The stick moves something else than it is meant to."
_OTHER: Final = "A switch works something else than it is meant to."


def _drives(entry: ChannelEntry) -> str:
    return listed(entry.channel.drives)


def _sentence(text: str) -> str:
    return f"{text[0].upper()}{text[1:]}."


def _brought(aircraft: Aircraft, feeding: Feeding) -> str:
    end = feeding.end
    number = feeding.channel
    does = [f"moves {listed(feeding.moves)}"] if feeding.moves else []
    meant = listed((str(other) for other in feeding.meant), "or")
    does.append(f"is meant for channel {meant}" if meant else "no channel is meant for")
    return (
        f"`{end.giver.address}` brings channel {number} "
        f"({_drives(aircraft.setup.channels[number])}) to `{end.device.name}`, which "
        f"{listed(does)}"
    )


def _setting(found: list[Feeding]) -> str:
    """Return how the ports would be declared: ``ports: {1: {channel: 9}}``."""
    settings = [
        f"{feeding.end.giver.name}: {{channel: {feeding.meant[0]}}}"
        for feeding in found
        if feeding.meant
    ]
    return f"`ports: {{{', '.join(dict.fromkeys(settings)) or '1: {channel: 9}'}}}`"


@rule(
    "mode-without-channel",
    title="A flight mode sets a channel that is not there",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="radio",
    sources=("practice",),
)
def mode_without_channel(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether every channel that a mode sets is declared, gyro gain among them."""
    setup = aircraft.setup
    if not setup.modes:
        return
    hurt = setup.broken_under("radio", "channels")
    if hurt is not None or not setup.channels:
        place = setup.place(*(hurt or ("radio", "channels")))
        yield NotChecked(place, "the channels of the radio")
        return
    for name, mode in setup.modes.items():
        place = setup.place("radio", "modes", name)
        absent = [
            (run, number)
            for run in mode.travel or {}
            for number in run_numbers(run)
            if number not in setup.channels
        ]
        if not absent:
            yield Clean(place)
            continue
        numbers = listed(str(number) for _, number in absent)
        word = plural(len(absent), "channel")
        yield Finding(
            at=_in(place, "travel", absent[0][0]),
            message=f"Mode `{name}` sets the travel of {word} {numbers}, which the radio does not "
            "declare. Either the mode belongs to another aircraft, or a channel is missing here.",
            do=f"Declare {word} {numbers}, or take the travel out of the mode.",
        )
    yield from _gains(aircraft)


def _gains(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether a channel carries what the modes set in the gyro."""
    setup = aircraft.setup
    setting = [name for name, mode in setup.modes.items() if mode.gains or mode.gyro is not None]
    if not setting:
        return
    for entry in setup.channels.values():
        if any(
            (control_function(words) or "").startswith("gyro") for words in entry.channel.drives
        ):
            yield Clean(entry.place)
            return
    modes = listed(f"`{name}`" for name in setting)
    yield Finding(
        at=setup.place("radio", "modes", setting[0]),
        message=f"{plural(len(setting), 'Mode')} {modes} {plural(len(setting), 'sets', 'set')} the "
        "gyro, and no channel carries its gain. The gyro then stays as it is in every mode, and it "
        "cannot be switched off in flight.",
        do="Declare the channel that drives `gyro gain`, or take the gyro settings out of the "
        "modes.",
    )


@rule(
    "frozen-copy",
    title="Values copied from another aircraft and never confirmed",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="radio",
    sources=("practice",),
)
def frozen_copy(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether copied channels were confirmed on this aircraft, after their last change."""
    never: dict[str, list[ChannelEntry]] = {}
    stale: dict[str, list[ChannelEntry]] = {}
    for entry in aircraft.setup.channels.values():
        channel = entry.channel
        if channel.copied_from is None:
            continue
        last = _last_change(entry)
        if channel.confirmed is None:
            never.setdefault(channel.copied_from, []).append(entry)
        elif last is not None and channel.confirmed < last[1]:
            stale.setdefault(channel.copied_from, []).append(entry)
        else:
            yield Clean(_in(entry.place, "confirmed"))
    for origin, entries in never.items():
        yield _unconfirmed(origin, entries)
    for origin, entries in stale.items():
        yield _changed_since(origin, entries)


def _last_change(entry: ChannelEntry) -> tuple[str, str] | None:
    """Return the value of a channel that was changed last, and the day."""
    changed = entry.channel.changed or {}
    return max(changed.items(), key=lambda item: item[1], default=None)


def _unconfirmed(origin: str, entries: list[ChannelEntry]) -> Finding:
    word = plural(len(entries), "Channel")
    named = listed(f"{entry.number} ({_drives(entry)})" for entry in entries)
    return Finding(
        at=_in(entries[0].place, "copied-from"),
        message=f"{word} {named} {plural(len(entries), 'was', 'were')} copied from {origin} and "
        "never confirmed on this aircraft. Centre, travel and direction belong to the linkages of "
        "the aircraft that they were set on.",
        do="Check centre, travel and direction of each at the surface, and declare the day as "
        "`confirmed`.",
        because=_others(entries, "copied-from", f"copied from {origin}"),
    )


def _changed_since(origin: str, entries: list[ChannelEntry]) -> Finding:
    said: list[str] = []
    for entry in entries:
        last = _last_change(entry)
        if last is not None:
            said.append(
                f"channel {entry.number} ({_drives(entry)}) on {entry.channel.confirmed}, and its "
                f"{last[0]} was changed on {last[1]}"
            )
    return Finding(
        at=_in(entries[0].place, "confirmed"),
        message=f"Values copied from {origin} were confirmed before they were last changed: "
        f"{'; '.join(said)}. What was confirmed is not what is set now.",
        do="Check centre, travel and direction of each at the surface again, and declare the new "
        "day as `confirmed`.",
        because=_others(entries, "confirmed", "confirmed before the last change"),
    )


def _others(entries: list[ChannelEntry], key: str, text: str) -> tuple[Because, ...]:
    return tuple(
        Because(_in(entry.place, key), f"channel {entry.number}: {text}") for entry in entries[1:]
    )


def _in(place: Place, *keys: str) -> Place:
    return Place(place.file, (*place.path, *keys))


RULES = (channel_order_differs, mode_without_channel, frozen_copy)
