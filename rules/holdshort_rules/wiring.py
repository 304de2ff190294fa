"""Wiring that cannot be: leads that end at no device or at no port."""

from collections.abc import Iterator

from holdshort.api import (
    Aircraft,
    Cable,
    Clean,
    Finding,
    Hold,
    LeadEnd,
    NotChecked,
    Outcome,
    Severity,
    listed,
    rule,
)


def _ends(aircraft: Aircraft) -> Iterator[tuple[Cable, LeadEnd]]:
    for cable in aircraft.setup.cables:
        yield cable, cable.start
        yield cable, cable.end


def _meant(end: LeadEnd, otherwise: str) -> str:
    if not end.near:
        return otherwise
    names = listed((f"`{name}`" for name in end.near), "or")
    return f"Did you mean {names}? Correct the lead, or declare the device."


@rule(
    "lead-to-nowhere",
    title="A lead ends at a device that is not fitted",
    severity=Severity.WARNING,
    hold=Hold.POWER_UP,
    subject="wiring",
    sources=("practice",),
)
def lead_to_nowhere(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether both ends of each lead are at fitted devices."""
    for _, end in _ends(aircraft):
        if end.trouble == "no-device":
            yield Finding(
                at=end.place,
                message=f"A lead ends at `{end.device}`, and no such device is fitted. "
                "What hangs on that lead cannot be judged.",
                do=_meant(end, f"Declare `{end.device}` under `devices:`, or correct the lead."),
            )
        elif end.trouble == "unreadable-device":
            yield NotChecked(end.place, f"`{end.device}`, whose declaration has a mistake")
        else:
            yield Clean(end.place)


@rule(
    "unknown-port",
    title="A lead ends at a port that the device does not have",
    severity=Severity.WARNING,
    hold=Hold.POWER_UP,
    subject="wiring",
    sources=("practice",),
)
def unknown_port(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether both ends of each lead are at ports that their devices have."""
    for _, end in _ends(aircraft):
        if end.trouble == "no-port":
            port = end.written.partition(".")[2]
            yield Finding(
                at=end.place,
                message=f"A lead ends at port `{port}` of `{end.device}`, "
                "and that device has no such port.",
                do=_port_advice(aircraft, end),
            )
        elif end.trouble == "which-port":
            yield Finding(
                at=end.place,
                message=f"A lead ends at `{end.device}` without naming a port, "
                f"and that device has {len(end.near) or 'no'} ports.",
                do=_port_advice(aircraft, end),
            )
        elif end.port is not None:
            yield Clean(end.place)


def _port_advice(aircraft: Aircraft, end: LeadEnd) -> str:
    device = aircraft.setup.devices[end.device]
    if not device.ports:
        return f"Give part `{device.part_name}` its `ports:`."
    names = listed(f"`{device.name}.{port}`" for port in device.ports)
    return f"Name one of its ports: {names}."


RULES = (lead_to_nowhere, unknown_port)
