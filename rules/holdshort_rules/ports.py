"""What a plug meets: two leads on one port, and ports that do not speak the same thing."""

from collections.abc import Iterator, Mapping
from typing import Final

from holdshort.api import (
    Aircraft,
    Because,
    Cable,
    Clean,
    Edit,
    Finding,
    Fix,
    Hold,
    LeadEnd,
    Misfit,
    NotChecked,
    Outcome,
    Place,
    Port,
    Severity,
    SignalNet,
    fitting_settings,
    listed,
    misfit,
    only_fitting_settings,
    rule,
)


@rule(
    "port-used-twice",
    title="Two leads end on one port",
    severity=Severity.WARNING,
    hold=Hold.POWER_UP,
    subject="wiring",
    sources=("practice",),
)
def port_used_twice(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether each port takes no more than one lead."""
    on_port: dict[str, list[tuple[Cable, LeadEnd, Port]]] = {}
    for cable in aircraft.setup.cables:
        for end in (cable.start, cable.end):
            if end.port is not None:
                on_port.setdefault(end.port.address, []).append((cable, end, end.port))
    taken = frozenset(on_port)
    for ends in on_port.values():
        if len(ends) == 1:
            yield Clean(ends[0][1].place)
        else:
            yield _crowded(aircraft, ends, taken)


def _crowded(
    aircraft: Aircraft, ends: list[tuple[Cable, LeadEnd, Port]], taken: frozenset[str]
) -> Finding:
    first, last = ends[0], ends[-1]
    port = last[2]
    others = [entry for entry in ends[:-1] if entry[0] is not last[0]]
    if not others:
        return Finding(
            at=last[0].place,
            message=f"This lead begins and ends on the same port, `{port.address}`.",
            do="Correct one of its ends.",
        )
    device = aircraft.setup.devices[port.device]
    free = [
        f"`{other.address}`"
        for other in device.ports.values()
        if other.does == port.does and other.address not in taken
    ]
    move = f"Move one of them to a free port ({listed(free[:3], 'or')})" if free else "Move one"
    return Finding(
        at=last[1].place,
        message=f"{len(ends)} leads end on `{port.address}`, and a port takes one plug: "
        f"{listed(cable.title for cable, _, _ in ends)}.",
        do=f"{move}, or declare the Y-lead between them as a splitter with its own ports.",
        because=(Because(first[1].place, f"the first of them ends on `{port.address}` here"),),
    )


_WHY: Final = {
    Misfit.UNUSED: "A port that is set to do nothing passes no signal on.",
    Misfit.DATA: "A telemetry bus and a servo signal do not understand each other.",
    Misfit.TWO_OUTPUTS: "Both drive the same wire and fight each other.",
    Misfit.TWO_INPUTS: "Both listen and neither speaks: nothing on this lead gets a signal.",
    Misfit.BUS_INTO_PULSE: "What takes a pulse cannot read a bus: it stays dead, or twitches to "
    "one end.",
    Misfit.PULSE_INTO_BUS: "What takes a bus hears nothing in a servo pulse: everything that "
    "hangs on it stays dead.",
}

_GIVES: Final = {
    "servo": "gives one servo pulse",
    "bus-out": "gives a bus",
    "pulse-in": "takes one servo pulse",
    "bus-in": "takes a bus",
    "data": "is a telemetry bus",
    "unused": "is set to do nothing",
}


@rule(
    "port-function-mismatch",
    title="The two ends of a signal lead do not fit each other",
    severity=Severity.WARNING,
    hold=Hold.POWER_UP,
    subject="wiring",
    sources=("practice",),
)
def port_function_mismatch(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether the ports on each signal wire speak the same thing, one giving it."""
    for cable in aircraft.setup.cables:
        port = _without_signal_wire(cable)
        if port is not None:
            yield _no_wire(cable, port)
    for net in aircraft.drives.nets:
        if len(net.ports) > 1:
            yield _judged(aircraft, net)


def _judged(aircraft: Aircraft, net: SignalNet) -> Outcome:
    functions = [port.does for port in net.ports if port.does is not None]
    if len(functions) < len(net.ports):
        unknown = next(port for port in net.ports if port.does is None)
        return NotChecked(unknown.set_by, f"what port `{unknown.address}` is set to do")
    wrong = misfit(functions)
    return Clean(net.cables[0].place) if wrong is None else _misfit(aircraft, net, wrong)


def _misfit(aircraft: Aircraft, net: SignalNet, wrong: Misfit) -> Finding:
    settings = fitting_settings(net.ports)
    ends = [_end_words(port) for port in net.ports]
    defaults = [port for port in net.ports if _as_delivered(port)]
    if settings:
        address = next(iter(settings))
        do = _set_advice(settings)
        at = _setting_place(aircraft, next(port for port in net.ports if port.address == address))
    else:
        do = _move_advice(net, wrong)
        at = net.cables[-1].place
    joint = "and" if wrong in {Misfit.TWO_OUTPUTS, Misfit.TWO_INPUTS} else "but"
    leads = [Because(cable.place, f"the lead {cable.title}") for cable in net.cables]
    return Finding(
        at=at,
        message=f"{listed(ends, joint)}. {_WHY[wrong]}",
        do=do,
        because=(
            *(because for because in leads if because.place != at),
            *(Because(port.set_by, f"delivered as `{port.does}`") for port in defaults),
        ),
        fix=_set_ports(aircraft, net),
    )


def _set_ports(aircraft: Aircraft, net: SignalNet) -> Fix | None:
    """Return the settings to declare, where they are the only ones and no owner's choice.

    A port that somebody has set may be right, and its lead wrong; one as delivered was forgotten.
    """
    settings = only_fitting_settings(net.ports)
    wrong = [port for port in net.ports if settings and port.address in settings]
    if not settings or not all(_as_delivered(port) for port in wrong):
        return None
    edits = [_declaring(aircraft, port, settings[port.address]) for port in wrong]
    known = tuple(edit for edit in edits if edit is not None)
    if len(known) < len(wrong):
        return None
    steps = listed(f"`{port.address}` to `{settings[port.address]}`" for port in wrong)
    return Fix(
        f"Declares {steps} in the file. Set the same in the device itself before power-up: the "
        "file changes nothing there.",
        known,
    )


def _declaring(aircraft: Aircraft, port: Port, does: str) -> Edit | None:
    """Return the edit that declares what a port as delivered is set to; not one of a run."""
    device = aircraft.setup.devices[port.device]
    if port.set_by == device.at("ports", port.name):
        return Edit("add", device.at("ports", port.name, "does"), does)
    if port.set_by.path[: len(device.at("ports").path)] == device.at("ports").path:
        return None
    return Edit("add", device.at("ports", port.name), does)


def _end_words(port: Port) -> str:
    state = f"`{port.address}` {_GIVES[port.does or 'unused']} (`{port.does}`"
    return f"{state}, still as delivered)" if _as_delivered(port) else f"{state})"


def _as_delivered(port: Port) -> bool:
    return not port.is_set and port.delivered is not None and port.does == port.delivered


def _set_advice(settings: Mapping[str, str]) -> str:
    steps = listed(f"`{address}` to `{function}`" for address, function in settings.items())
    return f"Set {steps} in the device itself, then declare it under `ports:` of the device."


def _setting_place(aircraft: Aircraft, port: Port) -> Place:
    device = aircraft.setup.devices[port.device]
    return port.set_by if port.is_set else device.at("ports")


def _move_advice(net: SignalNet, wrong: Misfit) -> str:
    if wrong is Misfit.TWO_OUTPUTS:
        return (
            "If this lead is meant to bring power only, take its signal wire out and declare it "
            "`carries: power`; if not, move one end to an input."
        )
    if wrong is Misfit.TWO_INPUTS:
        return "Move one end to a port that gives the signal."
    wanted = {
        Misfit.BUS_INTO_PULSE: "Move the lead to a port that gives one servo pulse",
        Misfit.PULSE_INTO_BUS: "Move the lead to a port that gives a bus",
        Misfit.DATA: "Move the lead to a telemetry port",
        Misfit.UNUSED: "Move the lead to a port that is in use",
    }[wrong]
    names = listed(f"`{port.address}`" for port in net.ports)
    return f"{wanted}, or correct what the parts of {names} can do."


def _without_signal_wire(cable: Cable) -> Port | None:
    """Return a power-only port on a lead that is declared to carry a signal, or None."""
    if cable.lead.carries not in {"both", "signal", "signal-alone"}:
        return None
    ports = [end.port for end in (cable.start, cable.end) if end.port is not None]
    return next((port for port in ports if port.takes_power_only), None)


def _no_wire(cable: Cable, port: Port) -> Finding:
    return Finding(
        at=cable.place,
        message=f"The lead {cable.title} is declared to carry a signal, and `{port.address}` has "
        f"no signal wire (`{port.does}`): the signal ends there.",
        do="Move that end to a port that takes the signal, or declare the lead `carries: power`.",
        because=(Because(port.set_by, f"`{port.address}` is `{port.does}`"),),
    )


RULES = (port_used_twice, port_function_mismatch)
