"""Switches in the supply of radio and servos."""

from collections.abc import Iterator
from typing import Final

from holdshort.api import (
    MASS,
    Aircraft,
    Because,
    Clean,
    Finding,
    Fitted,
    Hold,
    NotChecked,
    Option,
    Outcome,
    QuantityType,
    Severity,
    Switch,
    counted,
    exceeds,
    leads_of,
    listed,
    packs_of,
    rule,
)

CONTROLS: Final = ("receiver", "hub", "gyro", "servo")


def _lost(aircraft: Aircraft, switch: Fitted) -> list[Fitted]:
    """Return the radio devices and servos that are dead when ``switch`` is open."""
    out = leads_of(aircraft.setup, switch.name)
    return [
        device
        for device in aircraft.setup.of_kind(*CONTROLS)
        if packs_of(aircraft.wiring, device)
        and not packs_of(aircraft.wiring, device, without_cables=out)
    ]


def _named(aircraft: Aircraft, lost: list[Fitted]) -> str:
    """Return ``the receiver `front-rx` and all 8 servos``."""
    servos = [device for device in lost if device.kind == "servo"]
    fitted = aircraft.setup.of_kind("servo")
    words = sorted(f"`{device.name}`" for device in lost if device.kind != "servo")
    if servos:
        every = len(servos) == len(fitted) > 1
        words.append(f"all {len(servos)} servos" if every else counted(len(servos), "servo"))
    return listed(words)


def _takes_all(aircraft: Aircraft, lost: list[Fitted], kind: str) -> bool:
    gone = [device for device in lost if device.kind == kind]
    return bool(gone) and len(gone) == len(aircraft.setup.of_kind(kind))


def _fails(switch: Fitted) -> str | None:
    return switch.part.fails if isinstance(switch.part, Switch) else None


def _unknown_lead(aircraft: Aircraft, switch: Fitted) -> NotChecked | None:
    for cable in aircraft.wiring.gaps:
        if switch.name in {cable.start.device, cable.end.device}:
            return NotChecked(cable.place, f"both ends of the lead {cable.title}")
    return None


@rule(
    "switch-fails-off",
    title="A switch whose failure cuts the supply",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="power",
    sources=("P38",),
)
def switch_fails_off(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge what each switch does to radio and servos when it fails."""
    if not aircraft.setup.of_kind(*CONTROLS):
        return
    for switch in aircraft.setup.of_kind("switch"):
        lost = _lost(aircraft, switch)
        fails = _fails(switch)
        place = switch.part_place("fails")
        gap = _unknown_lead(aircraft, switch)
        if lost and fails == "off":
            yield _cuts(aircraft, switch, lost)
        elif gap is not None:
            yield gap
        elif lost and fails is None:
            yield NotChecked(place, f"what the supply does when the switch `{switch.name}` fails")
        else:
            yield Clean(switch.at())


def _cuts(aircraft: Aircraft, switch: Fitted, lost: list[Fitted]) -> Finding:
    whole = _takes_all(aircraft, lost, "receiver") or any(
        device.kind != "receiver" for device in lost
    )
    return Finding(
        at=switch.at(),
        message=f"`{switch.name}` fails off, and no other path feeds {_named(aircraft, lost)}: a "
        "worn contact or a broken wire in it takes them in flight.",
        do="Fit a switch that fails on, or a second supply path that does not pass through it.",
        because=(Because(switch.part_place("fails"), f"`{switch.part_name}` fails off"),),
        severity=None if whole else Severity.CAUTION,
    )


_HEAVY: Final = Option(
    "single-switch",
    "mass",
    "15 kg",
    QuantityType(MASS),
    "the mass above which one switch for all counts as a warning",
)


@rule(
    "single-switch",
    title="One switch in every supply path",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="power",
    sources=("P37", "P38", "practice"),
    options=(_HEAVY,),
)
def single_switch(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether all receivers or all servos hang on one switch."""
    if not aircraft.setup.of_kind("receiver", "servo"):
        return
    for switch in aircraft.setup.of_kind("switch"):
        lost = _lost(aircraft, switch)
        gap = _unknown_lead(aircraft, switch)
        if any(_takes_all(aircraft, lost, kind) for kind in ("receiver", "servo")):
            yield _single(aircraft, switch, lost)
        elif gap is not None:
            yield gap
        elif not _all_fed(aircraft):
            dark = next(d for d in aircraft.setup.of_kind(*CONTROLS) if not _fed(aircraft, d))
            yield NotChecked(dark.at(), f"a lead that brings power to `{dark.name}`")
        else:
            yield Clean(switch.at())


def _fed(aircraft: Aircraft, device: Fitted) -> bool:
    return bool(packs_of(aircraft.wiring, device))


def _all_fed(aircraft: Aircraft) -> bool:
    return all(_fed(aircraft, device) for device in aircraft.setup.of_kind(*CONTROLS))


def _single(aircraft: Aircraft, switch: Fitted, lost: list[Fitted]) -> Outcome:
    heavy = _is_heavy(aircraft)
    stays_on = _fails(switch) == "on"
    if stays_on and heavy is None:
        place = aircraft.setup.place("aircraft")
        return NotChecked(place, "the propulsion and mass of the aircraft")
    if stays_on and not heavy:
        return Clean(switch.at())
    severity = Severity.CAUTION if stays_on or not heavy else Severity.WARNING
    return Finding(
        at=switch.at(),
        message=f"Every supply path to {_named(aircraft, lost)} passes through the one switch "
        f"`{switch.name}`{_grade(aircraft, heavy, stays_on=stays_on)}.",
        do="Fit a second pack with a switch and leads of its own, so that nothing is common to "
        "both paths.",
        severity=severity,
    )


def _grade(aircraft: Aircraft, heavy: bool | None, *, stays_on: bool) -> str:  # noqa: FBT001
    if stays_on:
        return ", which fails on; its two plugs and the lead each side of it are still single"
    if heavy is None:
        limit = _HEAVY.of(aircraft).text
        return (
            ": if it opens, all of them are dead at once. On a turbine or above "
            f"{limit} this counts as a warning; propulsion or mass is not declared"
        )
    return ": if it opens, all of them are dead at once"


def _is_heavy(aircraft: Aircraft) -> bool | None:
    """Return whether it has a turbine or is above the mass; None where that is not declared."""
    declared = aircraft.setup.aircraft
    if declared is None:
        return None
    masses = declared.mass
    mass = (masses.ready or masses.dry) if masses else None
    if declared.propulsion == "turbine" or (mass and exceeds(mass, _HEAVY.of(aircraft))):
        return True
    return None if mass is None or declared.propulsion is None else False


RULES = (switch_fails_off, single_switch)
