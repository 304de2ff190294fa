"""Packs: whether they give the current, last the flights, and serve the radio alone."""

from collections.abc import Iterator
from typing import Final

from holdshort.api import (
    DURATION,
    SHARE,
    Aircraft,
    Battery,
    Because,
    Clean,
    Dip,
    Excess,
    Finding,
    Fitted,
    Hold,
    Need,
    NotChecked,
    Option,
    Outcome,
    PackEnergy,
    QuantityType,
    Severity,
    StartDip,
    drives_motor,
    exceeds,
    flights_between_charges,
    listed,
    pack_loading,
    packs_of,
    plural,
    rule,
    show_amps,
    show_volts,
    start_dip,
)

AMPERE_HOUR: Final = 3600.0
MINUTE: Final = 60.0
RADIO: Final = ("receiver", "hub", "gyro")


@rule(
    "battery-overdrawn",
    title="More current from a pack than it is rated to give",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="power",
    sources=("practice",),
)
def battery_overdrawn(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge each pack's current in steady flight and at its highest against its ratings."""
    for pack in aircraft.setup.of_kind("battery"):
        if isinstance(pack.part, Battery):
            yield _drawn(aircraft, pack, pack.part)


def _drawn(aircraft: Aircraft, pack: Fitted, part: Battery) -> Outcome:
    steady, peak = part.continuous_current, part.peak_current
    loading = pack_loading(aircraft.power, pack)
    found = loading.against(steady, peak)
    if isinstance(found, Excess):
        return _overdrawn(pack, part, found)
    if isinstance(found, Need):
        return NotChecked(found.place, found.text)
    if steady is None:
        place = pack.part_place("continuous-current")
        return NotChecked(place, f"the current that `{pack.part_name}` is rated to give")
    if peak is not None:
        return Clean(pack.at())
    kept = loading.against(None, steady)
    if isinstance(kept, Need):
        return NotChecked(kept.place, kept.text)
    if kept is None:
        return Clean(pack.at())
    return NotChecked(
        pack.part_place("peak-current"),
        f"the current that `{pack.part_name}` is rated to give for a short time: "
        f"{show_amps(kept.current)} flows with {kept.case}, above its continuous rating",
    )


def _overdrawn(pack: Fitted, part: Battery, over: Excess) -> Finding:
    steady = over.kind == "steady"
    rated = part.continuous_current if steady else part.peak_current
    field = "continuous-current" if steady else "peak-current"
    limit = rated.text if rated is not None else show_amps(over.limit)
    return Finding(
        at=pack.at(),
        message=f"`{pack.name}` has to give {show_amps(over.current)} ({over.case}) and is rated "
        f"to give {limit} {'all the time' if steady else 'for a short time'}. Over its rating a "
        "pack sags, heats and ages fast, and sags further each flight.",
        do=f"Fit a pack rated for {show_amps(over.current)} or more, or take load off this one.",
        because=(Because(pack.part_place(field), f"`{pack.part_name}` is rated to {limit}"),),
    )


_RESERVE: Final = Option(
    "battery-too-small",
    "reserve",
    "20 %",
    QuantityType(SHARE, zero=True),
    "what must be left in a pack after the planned flights",
    "P41",
)
_ENDURANCE: Final = Option(
    "battery-too-small",
    "endurance",
    "1 h",
    QuantityType(DURATION),
    "how long the radio's packs should last between charges",
    "P2",
)

CAPACITY_BY_MASS: Final = (
    (20.0, 1000.0),
    (30.0, 1200.0),
    (40.0, 1800.0),
    (float("inf"), 2000.0),
)
"""Mass up to (lb) and least capacity of a receiver's packs (mAh): source P1."""
POUND: Final = 0.45359237


@rule(
    "battery-too-small",
    title="A pack too small for the flights planned on it",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="power",
    sources=("P1", "P2", "P41"),
    options=(_RESERVE, _ENDURANCE),
)
def battery_too_small(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge the charge of each pack against the flights between charges, and against advice."""
    for pack in aircraft.setup.of_kind("battery"):
        energy = aircraft.energy(pack)
        planned = _planned(aircraft, energy)
        advised = None if isinstance(planned, Finding) else _advised(aircraft, energy)
        said = [outcome for outcome in (planned, advised) if outcome is not None]
        needs = dict.fromkeys(NotChecked(n.place, n.text) for n in said if isinstance(n, Need))
        yield from (outcome for outcome in said if isinstance(outcome, Finding))
        yield from needs
        if not said:
            yield Clean(pack.at())


def _planned(aircraft: Aircraft, energy: PackEnergy) -> Finding | Need | None:
    """Judge the planned flights and what is left after them."""
    pack = energy.pack
    declared = aircraft.setup.aircraft
    if energy.current is None:
        return Need(pack.at(), "a supply that does not collapse in steady flight")
    if energy.capacity is None:
        return Need(pack.part_place("capacity"), f"the capacity of `{pack.part_name}`")
    if declared is None or declared.flight_time is None:
        return energy.first_gap or _aircraft_need(
            aircraft, "flight-time", "how long a flight lasts"
        )
    flights = flights_between_charges(aircraft.setup, aircraft.wiring, pack)
    left = energy.remaining(declared.flight_time * (flights or 1))
    if left is not None and exceeds(_RESERVE.of(aircraft), left):
        return _used_up(aircraft, energy, declared.flight_time, flights or 1)
    if energy.missing:
        return energy.first_gap
    if flights is None:
        text = "how many flights are flown between charges"
        return _aircraft_need(aircraft, "flights-per-charge", text)
    return None


def _aircraft_need(aircraft: Aircraft, field: str, text: str) -> Need:
    return Need(aircraft.setup.place("aircraft", field), text)


def _used_up(aircraft: Aircraft, energy: PackEnergy, flight: float, flights: int) -> Finding:
    pack, reserve = energy.pack, _RESERVE.of(aircraft)
    used, capacity = energy.used(flight * flights) or 0.0, energy.capacity or 0.0
    lasts = energy.lasts(reserve) or 0.0
    left = max(0.0, 1.0 - used / capacity)
    minutes = f"{flight / MINUTE:.3g} min"
    plan = f"{flights} flights of {minutes} need" if flights > 1 else f"A flight of {minutes} needs"
    rest = f"{left:.0%} is left" if used <= capacity else "it is empty before the last landing"
    return Finding(
        at=pack.at(),
        message=f"{plan} {_mah(used)} ({show_amps(energy.current or 0.0)} in steady flight), and "
        f"`{pack.name}` holds {_mah(capacity)}: {rest}, and {reserve.text} is to be kept. "
        "A pack that runs flat takes everything on it, and the last minutes go fastest.",
        do=f"Charge before {lasts / MINUTE:.0f} minutes of flight, or fit a larger pack.",
        because=(
            Because(pack.part_place("capacity"), f"`{pack.part_name}` holds {_mah(capacity)}"),
            Because(aircraft.setup.place("aircraft", "flight-time"), f"a flight is {minutes}"),
        ),
    )


def _advised(aircraft: Aircraft, energy: PackEnergy) -> Finding | Need | None:
    """Judge the packs that a receiver lives by against the advice of the giant-scale code."""
    receivers = [
        receiver
        for receiver in aircraft.setup.of_kind("receiver")
        if energy.pack.name in packs_of(aircraft.wiring, receiver)
    ]
    if (
        not receivers
        or energy.capacity is None
        or drives_motor(aircraft.setup, aircraft.wiring, energy.pack)
    ):
        return None
    small = _small_for_mass(aircraft, receivers)
    short = _short_lived(aircraft, energy)
    said = [text for text in (small, short) if isinstance(text, str)]
    if said:
        return Finding(
            at=energy.pack.at(),
            message=" ".join(said) + " This is a general recommendation of a giant-scale "
            "association's code, read second-hand, and no rule.",
            do="Fit a larger pack, or charge after every flight and log what goes back in.",
            severity=Severity.CAUTION,
        )
    return next((need for need in (small, short) if isinstance(need, Need)), None)


def _small_for_mass(aircraft: Aircraft, receivers: list[Fitted]) -> str | Need | None:
    """Compare the packs of the worst-off receiver with the least for the aircraft's mass (P1)."""
    total, receiver = min(
        ((_capacity_behind(aircraft, receiver), receiver) for receiver in receivers),
        key=lambda pair: (pair[0] or 0.0, pair[1].name),
    )
    if total is None:
        return None
    mass = _mass(aircraft)
    if mass is None and total >= CAPACITY_BY_MASS[-1][1]:
        return None
    if mass is None and total >= CAPACITY_BY_MASS[0][1]:
        return _aircraft_need(aircraft, "mass", "the mass of the aircraft")
    pounds = (mass or 0.0) / POUND
    least = next(least for upper, least in CAPACITY_BY_MASS if not exceeds(pounds, upper))
    if not exceeds(least, total):
        return None
    weight = f"{mass:.3g} kg" if mass is not None else "any mass"
    return (
        f"`{receiver.name}` lives by {total:.0f} mAh; for {weight} at least {least:.0f} mAh are "
        "recommended."
    )


def _capacity_behind(aircraft: Aircraft, receiver: Fitted) -> float | None:
    """Return the capacity of all packs that a receiver lives by, in mAh; None where not known."""
    total = 0.0
    for name in packs_of(aircraft.wiring, receiver):
        part = aircraft.setup.devices[name].part
        capacity = part.capacity if isinstance(part, Battery) else None
        if capacity is None:
            return None
        total += capacity / AMPERE_HOUR * 1000.0
    return total


def _mass(aircraft: Aircraft) -> float | None:
    declared = aircraft.setup.aircraft.mass if aircraft.setup.aircraft else None
    return (declared.ready or declared.dry) if declared else None


def _short_lived(aircraft: Aircraft, energy: PackEnergy) -> str | Need | None:
    """Compare the time until the reserve with the least between charges (P2)."""
    reserve, least = _RESERVE.of(aircraft), _ENDURANCE.of(aircraft)
    lasts = energy.lasts(reserve)
    if lasts is not None and exceeds(least, lasts):
        return (
            f"`{energy.pack.name}` lasts {lasts / MINUTE:.0f} minutes of steady flight at "
            f"{show_amps(energy.current or 0.0)} until {reserve.text} is left; {least.text} "
            "between charges is recommended."
        )
    return energy.first_gap


def _mah(charge: float) -> str:
    return f"{charge / AMPERE_HOUR * 1000.0:.0f} mAh"


@rule(
    "engine-shares-receiver-battery",
    title="One pack feeds the engine and the radio",
    severity=Severity.CAUTION,
    hold=Hold.ENGINE_RUN,
    subject="power",
    sources=("P40", "T10"),
)
def engine_shares_receiver_battery(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether any pack feeds an engine controller and a receiver, and what a start does."""
    receivers = aircraft.setup.of_kind("receiver")
    packs = {receiver.name: packs_of(aircraft.wiring, receiver) for receiver in receivers}
    of_radio = {pack for found in packs.values() for pack in found}
    shared: dict[tuple[str, ...], list[Fitted]] = {}
    if not receivers:
        return
    for engine in aircraft.setup.of_kind("engine-controller"):
        behind = packs_of(aircraft.wiring, engine)
        common = tuple(sorted(pack for pack in behind if pack in of_radio))
        dark = next((r for r in (engine, *receivers) if not packs.get(r.name, behind)), None)
        if common:
            shared.setdefault(common, []).append(engine)
        elif dark is not None:
            yield NotChecked(dark.at(), f"a lead that brings power to `{dark.name}`")
        else:
            yield Clean(engine.at())
    for common, engines in shared.items():
        yield from _shared(aircraft, common, engines)


def _shared(
    aircraft: Aircraft, common: tuple[str, ...], engines: list[Fitted]
) -> Iterator[Outcome]:
    packs = [aircraft.setup.devices[name] for name in common]
    radio = [
        device
        for device in aircraft.setup.of_kind(*RADIO)
        if set(common) & set(packs_of(aircraft.wiring, device))
    ]
    dip = start_dip(aircraft.power, packs, radio)
    lost = dip.worst is not None and not dip.missing and _is_lost(dip.worst)
    names = listed(f"`{name}`" for name in common)
    fed = listed(f"`{name}`" for name in (*_sorted_names(engines), *_sorted_names(radio)))
    yield Finding(
        at=packs[0].at(),
        message=f"{names} {plural(len(packs), 'feeds', 'feed')} both engine and radio: {fed}. "
        f"{_dips(dip)} {_together(aircraft, common, radio)}",
        do="Give the engine's controller a pack of its own, with no lead or connector in common "
        "with the radio's.",
        because=tuple(
            Because(engine.at(), f"`{engine.name}` takes its power from {names}")
            for engine in engines
        ),
        severity=Severity.WARNING if lost else None,
    )
    if dip.missing:
        yield NotChecked(dip.missing[0].place, dip.missing[0].text)


def _sorted_names(devices: list[Fitted]) -> list[str]:
    """Return the names in order, so that the order of the file changes no message."""
    return sorted(device.name for device in devices)


def _is_lost(dip: Dip) -> bool:
    return dip.during is None or (dip.left is not None and dip.left < 0.0)


def _dips(dip: StartDip) -> str:
    """Say what the start of the engine does to the pack and to the radio's rail."""
    worst = dip.worst
    if dip.missing or worst is None:
        return "How far the voltage falls when the engine starts is not known."
    if worst.during is None or worst.before is None:
        return "When the engine starts, the voltage collapses, and the radio with it."
    packs = listed(f"`{pack.device.name}` {_step(pack)}" for pack in dip.packs if pack.during)
    return (
        f"When the engine starts on a nearly empty pack, {packs}, and the radio, at "
        f"`{worst.device.name}`, {_step(worst)}{_left(worst)}."
    )


def _step(dip: Dip) -> str:
    """Return ``goes from 11.19 V to 11.08 V``, or ``stays at 7.4 V``."""
    before, during = show_volts(dip.before or 0.0), show_volts(dip.during or 0.0)
    return f"stays at {during}" if before == during else f"goes from {before} to {during}"


def _left(dip: Dip) -> str:
    if dip.left is None or dip.minimum is None:
        return "; its minimum is not declared"
    if dip.left < 0.0:
        return f": {show_volts(-dip.left)} under the {dip.minimum.text} it needs"
    return f": {show_volts(dip.left)} above the {dip.minimum.text} it needs"


def _together(aircraft: Aircraft, common: tuple[str, ...], radio: list[Fitted]) -> str:
    """Say what goes when what they share goes."""
    others = {name for device in radio for name in packs_of(aircraft.wiring, device)} - set(common)
    if others:
        named = listed(f"`{name}`" for name in sorted(others))
        return f"If it fails, the engine stops and the radio is left with {named}."
    if len(common) > 1:
        return "A short circuit on the engine's side pulls all of the radio's packs down."
    return "If that pack or its plug fails, engine and controls go together."


RULES = (battery_overdrawn, battery_too_small, engine_shares_receiver_battery)
