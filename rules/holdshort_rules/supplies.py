"""Supplies as wired: devices that none reaches, grounds that never meet, rails with two."""

from collections.abc import Iterator

from holdshort.api import (
    Aircraft,
    Because,
    Cable,
    Clean,
    DeadGroup,
    Finding,
    Fitted,
    Hold,
    NotChecked,
    Outcome,
    Port,
    RailSupplies,
    Severity,
    dead_groups,
    is_supplied,
    joining_leads,
    listed,
    plural,
    rail_supplies,
    rule,
    wired_loads,
)


@rule(
    "unpowered-device",
    title="A device that no supply reaches",
    severity=Severity.WARNING,
    hold=Hold.POWER_UP,
    subject="wiring",
    sources=("practice",),
)
def unpowered_device(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether power reaches each device that needs it and has a lead."""
    setup, wiring = aircraft.setup, aircraft.wiring
    for device in wired_loads(wiring):
        if is_supplied(wiring, device):
            yield Clean(device.at())
    if "leads" not in setup.sections and setup.devices:
        yield NotChecked(setup.place("leads"), "the leads")
    for group in dead_groups(wiring):
        hurt = setup.broken_under("leads") or setup.broken_under("devices")
        if hurt is not None:
            yield NotChecked(setup.place(*hurt), "the entry with a mistake of form")
        elif group.gap is not None:
            yield NotChecked(group.gap.place, f"both ends of the lead {group.gap.title}")
        elif group.untold is not None:
            port = f"{group.untold.device}.{group.untold.rail.removeprefix('port ')}"
            yield NotChecked(group.head.at(), f"whether `{port}` gives power to what hangs on it")
        else:
            yield _dead(aircraft, group)


def _dead(aircraft: Aircraft, group: DeadGroup) -> Finding:
    names = listed(f"`{device.name}`" for device in group.devices)
    get = plural(len(group.devices), "gets", "get")
    they = plural(len(group.devices), "it is", "they are")
    victims = {device.name for device in group.devices}
    without = [
        cable
        for cable in aircraft.setup.cables
        if not cable.carries_power and victims & {cable.start.device, cable.end.device}
    ]
    return Finding(
        at=group.head.at(),
        message=f"{names} {get} no power: no lead joins {plural(len(group.devices), 'it', 'them')}"
        f" to a pack or to a regulator that has one, so {they} dead as wired.",
        do=_bring_power(aircraft, group.head),
        because=tuple(
            Because(cable.place, f"the lead {cable.title} brings no supply") for cable in without
        ),
    )


def _bring_power(aircraft: Aircraft, head: Fitted) -> str:
    taken = {
        end.port.address
        for cable in aircraft.setup.cables
        for end in (cable.start, cable.end)
        if end.port is not None
    }
    supply = [port for port in head.ports.values() if port.does == "supply"]
    free = [port for port in supply if port.address not in taken]
    port = next(iter(free or supply), None)
    if port is None:
        return f"Bring power to `{head.name}`: give a lead to it its supply wire back, or fit one."
    return f"Fit the lead that brings power to `{port.address}`, or declare it."


@rule(
    "no-common-ground",
    title="A signal between devices whose grounds are not joined",
    severity=Severity.WARNING,
    hold=Hold.POWER_UP,
    subject="wiring",
    sources=("S15",),
)
def no_common_ground(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether the two ends of each signal lead stand on one ground."""
    for cable in aircraft.setup.cables:
        start, end = cable.start.port, cable.end.port
        if start is None or end is None or not cable.carries_signal:
            continue
        if cable.carries_ground or aircraft.grounds.have_common(start, end):
            yield Clean(cable.place)
            continue
        gap = aircraft.grounds.gap_beside(start, end)
        if gap is not None:
            yield NotChecked(gap.place, f"both ends of the lead {gap.title}")
        elif aircraft.setup.broken_under("leads"):
            yield NotChecked(aircraft.setup.place("leads"), "the leads with a mistake of form")
        else:
            yield _no_ground(cable, start, end)


def _no_ground(cable: Cable, start: Port, end: Port) -> Finding:
    optical = next((port for port in (start, end) if port.optical), None)
    where = f"`{start.device}` and `{end.device}`"
    because = [Because(cable.place, "declared `carries: signal-alone`")]
    if optical is not None:
        where = f"`{optical.address}`, behind its opto-coupler, and the other end"
        because.append(Because(optical.set_by, f"`{optical.address}` is optical"))
    return Finding(
        at=cable.place,
        message=f"The lead {cable.title} carries the signal wire alone, and nothing else joins the "
        f"grounds of {where}. A signal is a voltage against ground: without one `{end.device}` "
        "hears noise, or nothing.",
        do="Put the ground wire back into this lead and declare it `carries: signal` (signal and "
        "ground, supply wire out).",
        because=tuple(because),
    )


@rule(
    "two-regulators-one-rail",
    title="Two supplies on one rail with nothing that isolates them",
    severity=Severity.WARNING,
    hold=Hold.POWER_UP,
    subject="power",
    sources=("practice",),
)
def two_regulators_one_rail(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether each rail has one supply, or supplies kept apart by isolated inputs."""
    for rail in rail_supplies(aircraft.wiring):
        if len(rail.sources) > 1:
            yield _fed_twice(aircraft, rail)
            continue
        here = {node.device for node in rail.nodes}
        gap = next(
            (lead for lead in aircraft.wiring.gaps if {lead.start.device, lead.end.device} & here),
            None,
        )
        if gap is not None and gap.lead.carries in {None, "both", "power"}:
            yield NotChecked(gap.place, f"both ends of the lead {gap.title}")
        else:
            yield from (Clean(source.at()) for source in rail.sources)


def _fed_twice(aircraft: Aircraft, rail: RailSupplies) -> Finding:
    leads = joining_leads(aircraft.wiring, rail.sources)
    names = listed(_source_words(source) for source in rail.sources)
    packs = [source for source in rail.sources if source.kind == "battery"]
    alike = len({source.part_name for source in rail.sources}) == 1
    parallel = len(packs) == len(rail.sources) and alike
    why = (
        "The fuller one charges the other through the leads the moment they are plugged together, "
        "and they share the load unequally."
        if parallel
        else "The one that is a little higher carries all of the load and feeds back into the "
        "other, and a fault in one pulls down both."
    )
    return Finding(
        at=leads[0].place if leads else rail.sources[-1].at(),
        message=f"{names} feed one rail with nothing that isolates them. {why}",
        do=_part_them(leads, parallel=parallel),
        because=tuple(
            Because(lead.place, f"the lead {lead.title} joins them") for lead in leads[1:]
        ),
        severity=Severity.CAUTION if parallel else None,
    )


def _source_words(source: Fitted) -> str:
    setting = source.device.output
    if source.kind == "battery":
        return f"`{source.name}` (a pack)"
    return f"`{source.name}` (set to {setting.text})" if setting else f"`{source.name}`"


def _part_them(leads: tuple[Cable, ...], *, parallel: bool) -> str:
    signal = next((lead for lead in leads if lead.carries_signal), None)
    if signal is not None:
        return (
            f"Take the supply wire out of {signal.title} and declare it `carries: signal`, or "
            "bring both supplies to one box with isolated inputs."
        )
    if parallel:
        return (
            "Bring each pack to an isolated input of its own, or charge both full, compare their "
            "voltages before they are joined, and defer this."
        )
    return (
        "Bring each supply to an isolated input of its own (declare `isolated: true` on the ports "
        "of a box that has them), or take one of them off this rail."
    )


RULES = (unpowered_device, no_common_ground, two_regulators_one_rail)
