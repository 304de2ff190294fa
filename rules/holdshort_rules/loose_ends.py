"""What is declared and not used: devices without a lead, servos and channels that do nothing."""

from collections.abc import Iterator
from typing import Final

from holdshort.api import (
    Aircraft,
    Because,
    Cable,
    ChannelEntry,
    Clean,
    Edit,
    Finding,
    Fitted,
    Fix,
    Hold,
    NotChecked,
    Outcome,
    Place,
    Reach,
    Severity,
    functions_of,
    listed,
    plural,
    rule,
    run_numbers,
    spare,
    unused_parts,
)


@rule(
    "unfitted-part",
    title="Declared and not fitted",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="wiring",
    sources=("practice",),
)
def unfitted_part(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether each device has a lead and each part declared in place is used."""
    setup = aircraft.setup
    yield from _devices_without_lead(aircraft)
    unused = unused_parts(setup)
    for name in unused:
        yield Finding(
            at=setup.place("parts", name),
            message=f"Part `{name}` is declared here and no device is one.",
            do="Delete it, move it to a catalogue, or declare the device that it stands for.",
            severity=Severity.NOTE,
            fix=_delete_part(aircraft, name),
        )
    if "parts" in setup.sections and not unused:
        yield Clean(setup.place("parts"))


def _delete_part(aircraft: Aircraft, name: str) -> Fix | None:
    """Return the change that deletes a part; one that another part is like goes after that one."""
    setup = aircraft.setup
    parts = setup.documents[setup.file].root.get("parts")
    every = parts.values() if isinstance(parts, dict) else ()
    if any(isinstance(part, dict) and part.get("like") == name for part in every):
        return None
    return Fix(
        f"Deletes part `{name}` from the file. Nothing is to be done on the aircraft.",
        (Edit("remove", setup.place("parts", name)),),
    )


def _devices_without_lead(aircraft: Aircraft) -> Iterator[Outcome]:
    setup = aircraft.setup
    devices = [device for device in setup.devices.values() if device.kind != "connector"]
    if not devices:
        return
    if "leads" not in setup.sections:
        yield NotChecked(setup.place("leads"), "the leads")
        return
    wired = {end.device for cable in setup.cables for end in (cable.start, cable.end)}
    for device in devices:
        if device.name in wired:
            yield Clean(device.at())
        elif setup.broken_under("leads"):
            yield NotChecked(setup.place("leads"), "the leads that have a mistake of form")
        else:
            yield Finding(
                at=device.at(),
                message=f"`{device.name}` is declared and no lead goes to it. Either it is not "
                "fitted, or nothing that depends on its lead has been judged.",
                do="Declare its lead, or delete the device.",
            )


@rule(
    "orphan-channel",
    title="A servo or a surface that no channel drives",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="radio",
    sources=("practice",),
)
def orphan_channel(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether a declared channel comes to each servo, and one names each surface."""
    setup = aircraft.setup
    hurt = setup.broken_under("leads") or setup.broken_under("devices")
    hurt = hurt or setup.broken_under("radio", "channels")
    if hurt is not None and (setup.of_kind("servo") or setup.surfaces):
        yield NotChecked(setup.place(*hurt), "the entry with a mistake of form")
        return
    if not setup.channels and (setup.of_kind("servo") or setup.surfaces):
        yield NotChecked(setup.place("radio", "channels"), "the channels of the radio")
        return
    blamed: set[str] = set()
    for outcome, servos in _servos(aircraft):
        yield outcome
        blamed.update(servos)
    yield from _surfaces(aircraft, blamed)


def _servos(aircraft: Aircraft) -> Iterator[tuple[Outcome, tuple[str, ...]]]:
    """Yield an outcome for each servo with a lead, and the servos that it tells a fault of."""
    silent: dict[str, list[str]] = {}
    absent: dict[int, list[tuple[Fitted, Reach]]] = {}
    wired = [servo for servo in aircraft.setup.of_kind("servo") if _leads_of(aircraft, servo.name)]
    for servo in wired:
        leads = _leads_of(aircraft, servo.name)
        reach = next(iter(aircraft.drives.reaches(servo)), None)
        missing = _missing(servo, leads, reach)
        if missing is not None:
            yield missing, ()
        elif reach is None or reach.giver is None:
            yield _no_signal(aircraft, servo, leads), (servo.name,)
        elif reach.silent:
            silent.setdefault(reach.silent, []).append(servo.name)
        elif reach.channels & set(aircraft.setup.channels):
            yield Clean(servo.at()), ()
        else:
            absent.setdefault(min(reach.channels), []).append((servo, reach))
    for box, names in silent.items():
        yield _silent_box(aircraft, box, names), tuple(names)
    for number, servos in absent.items():
        yield _absent(aircraft, number, servos), tuple(servo.name for servo, _ in servos)


def _leads_of(aircraft: Aircraft, name: str) -> list[Cable]:
    return [
        cable for cable in aircraft.setup.cables if name in {cable.start.device, cable.end.device}
    ]


def _missing(servo: Fitted, leads: list[Cable], reach: Reach | None) -> NotChecked | None:
    """Return what is missing to know the channel of a servo, or None."""
    for lead in leads:
        if lead.start.port is None or lead.end.port is None:
            return NotChecked(lead.place, f"both ends of the lead {lead.title}")
    for port in servo.ports.values():
        if reach is None and port.does is None:
            return NotChecked(port.set_by, f"what port `{port.address}` is set to do")
    if reach is not None and reach.need is not None:
        return NotChecked(reach.need.place, reach.need.text)
    return None


def _surfaces_of(aircraft: Aircraft, *servos: str) -> list[str]:
    return [
        name
        for name, surface in aircraft.setup.surfaces.items()
        if set(surface.servo) & set(servos)
    ]


def _moving(aircraft: Aircraft, *servos: str) -> str:
    """Return " (`left flap`)" for the surfaces that the servos move; empty where none is named."""
    names = _surfaces_of(aircraft, *servos)
    return f" ({listed(f'`{name}`' for name in names)})" if names else ""


def _no_signal(aircraft: Aircraft, servo: Fitted, leads: list[Cable]) -> Finding:
    return Finding(
        at=servo.at(),
        message=f"No signal comes to `{servo.name}`{_moving(aircraft, servo.name)}: no lead joins "
        "its signal wire to an output, so no channel moves it.",
        do=f"Plug `{servo.name}` into the output of its channel. If a Y-lead stands between, "
        "declare its ports as `pulse-in` and `servo`.",
        because=tuple(Because(lead.place, f"the lead {lead.title}") for lead in leads),
    )


def _silent_box(aircraft: Aircraft, box: str, servos: list[str]) -> Outcome:
    for lead in _leads_of(aircraft, box):
        if lead.start.port is None or lead.end.port is None:
            return NotChecked(lead.place, f"both ends of the lead {lead.title}")
    for port in aircraft.setup.devices[box].ports.values():
        if port.does is None:
            return NotChecked(port.set_by, f"what port `{port.address}` is set to do")
    names = listed(f"`{name}`" for name in servos)
    return Finding(
        at=aircraft.setup.devices[box].at(),
        message=f"`{box}` hears no receiver, so no channel drives what hangs on it: {names}.",
        do=f"Lead the signal of a receiver to an input of `{box}`.",
    )


def _absent(aircraft: Aircraft, number: int, servos: list[tuple[Fitted, Reach]]) -> Finding:
    setup = aircraft.setup
    names = [servo.name for servo, _ in servos]
    outputs = listed(
        dict.fromkeys(f"`{reach.giver.address}`" for _, reach in servos if reach.giver)
    )
    hang = plural(len(names), "hangs", "hang")
    named = {
        surface: aircraft.drives.channels_naming(surface)
        for surface in _surfaces_of(aircraft, *names)
    }
    meant = sorted({channel for channels in named.values() for channel in channels})
    do = f"Declare channel {number}, or plug into the output of the channel that is meant."
    if meant:
        do = (
            f"Plug into the output that gives channel {listed(map(str, meant), 'or')}, or declare "
            f"which channel {outputs} really gives with `channel:`."
        )
    return Finding(
        at=_first_lead(aircraft, servos[0][0]),
        message=f"{listed(f'`{name}`' for name in names)}{_moving(aircraft, *names)} {hang} on "
        f"{outputs}, which gives channel {number}, and the radio declares no such channel.",
        do=do,
        because=tuple(
            Because(setup.channels[channel].place, f"channel {channel} drives `{surface}`")
            for surface, channels in named.items()
            for channel in channels
        ),
    )


def _first_lead(aircraft: Aircraft, servo: Fitted) -> Place:
    leads = _leads_of(aircraft, servo.name)
    return next((lead.place for lead in leads if lead.carries_signal), leads[0].place)


def _surfaces(aircraft: Aircraft, blamed: set[str]) -> Iterator[Outcome]:
    """Yield an outcome for each surface but those whose servo is already told of."""
    setup, drives = aircraft.setup, aircraft.drives
    for name, surface in setup.surfaces.items():
        if blamed & set(surface.servo):
            continue
        if drives.channels_naming(name) or drives.is_mixed_to(name):
            yield Clean(setup.place("surfaces", name))
            continue
        coming = drives.channels_at(surface.servo)
        if any(drives.may_move(number, name) for number in coming):
            yield Clean(setup.place("surfaces", name))
        else:
            yield _undriven(aircraft, name, coming)


def _undriven(aircraft: Aircraft, name: str, coming: tuple[int, ...]) -> Finding:
    channels = aircraft.setup.channels
    other = [
        f"channel {number} ({listed(f'`{words}`' for words in channels[number].channel.drives)})"
        for number in coming
    ]
    instead = f"; its servo gets {listed(other)}" if other else ""
    return Finding(
        at=aircraft.setup.place("surfaces", name),
        message=f"No channel drives `{name}`{instead}.",
        do=f"Name `{name}` in the `drives` of its channel, or correct the lead of its servo.",
        because=tuple(Because(channels[number].place, "what comes instead") for number in coming),
    )


@rule(
    "leftover-channel",
    title="A channel that drives nothing fitted",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="radio",
    sources=("practice",),
)
def leftover_channel(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether each channel reaches a device, or has something fitted that it is for."""
    drives = aircraft.drives
    for entry in aircraft.setup.channels.values():
        fitted = any(drives.fitted_for(words) for words in entry.channel.drives)
        if spare(entry) or fitted or drives.reached_by(entry.number):
            yield Clean(entry.place)
            continue
        need = drives.lacking(entry)
        if need is not None:
            yield NotChecked(need.place, need.text)
        else:
            yield _leftover(entry)._replace(fix=_delete_channel(aircraft, entry))


def _leftover(entry: ChannelEntry) -> Finding:
    words = listed(f"`{words}`" for words in entry.channel.drives)
    origin = entry.channel.copied_from
    copied = f" It was copied from {origin}." if origin else ""
    return Finding(
        at=entry.place,
        message=f"Channel {entry.number} drives {words}, and nothing of the kind is fitted: no "
        f"surface, no device, and no lead on an output that gives channel {entry.number}.{copied} "
        "What is left over from another aircraft can mix into, or hide, what this one needs.",
        do="Delete the channel in the transmitter and here, or declare what it drives; a channel "
        "kept free on purpose drives `spare`.",
    )


def _delete_channel(aircraft: Aircraft, entry: ChannelEntry) -> Fix | None:
    """Return the change that deletes a channel, where it says itself that it is a copied one.

    Any other may well be meant, and what it drives not yet declared; an engine's always may.
    """
    setup, number = aircraft.setup, entry.number
    if entry.channel.copied_from is None or set(functions_of(entry, setup)) & _ENGINE:
        return None
    places = [setup.place("radio", "channels", str(number))]
    for box, failsafe in setup.failsafe.items():
        if number in failsafe.channels:
            places.append(setup.place("failsafe", box, "channels", str(number)))
    for name, mode in setup.modes.items():
        if any(number in run_numbers(run) for run in mode.travel or {}):
            places.append(setup.place("radio", "modes", name, "travel", str(number)))
    return Fix(
        f"Deletes channel {number} from the file, its failsafe and its travel in modes with it. "
        "Delete it in the transmitter as well, then move every control and look that nothing "
        "else has changed.",
        tuple(Edit("remove", place) for place in places),
    )


_ENGINE: Final = frozenset({"throttle", "engine stop", "ignition", "fuel valve", "choke"})

RULES = (unfitted_part, orphan_channel, leftover_channel)
