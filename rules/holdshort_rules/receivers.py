"""Two receivers: whether the second one really keeps the aircraft alive."""

from collections.abc import Iterator

from holdshort.api import (
    Aircraft,
    Because,
    BoxFeeds,
    Cable,
    Clean,
    Finding,
    Hold,
    NotChecked,
    Outcome,
    Place,
    Severity,
    counted,
    listed,
    rule,
)


@rule(
    "backup-receiver-without-power-only-feed",
    title="The box that all servos hang on lives by a single lead",
    severity=Severity.WARNING,
    hold=Hold.POWER_UP,
    subject="receivers",
    sources=("P20", "P37", "practice"),
)
def backup_receiver_without_power_only_feed(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether each shared box keeps its power when any one lead or plug comes out."""
    if len(aircraft.setup.of_kind("receiver")) < 2:  # noqa: PLR2004  - two make a pair
        return
    if aircraft.setup.broken_under("leads"):
        yield NotChecked(aircraft.setup.place("leads"), "the leads that have a mistake of form")
        return
    for box in aircraft.shared_carriers:
        feeds = aircraft.feeds(box)
        gap = _gap_at(aircraft, box.name)
        if gap is not None:
            yield NotChecked(gap.place, f"both ends of the lead {gap.title}")
        elif not feeds.powered:
            yield NotChecked(box.at(), f"a lead that brings power to `{box.name}`")
        else:
            yield _judged(aircraft, feeds)


def _gap_at(aircraft: Aircraft, name: str) -> Cable | None:
    for cable in aircraft.wiring.gaps:
        if name in {cable.start.device, cable.end.device}:
            return cable
    return None


def _judged(aircraft: Aircraft, feeds: BoxFeeds) -> Outcome:
    if feeds.fighting:
        return _carries_signal(feeds)
    if len(feeds.leads) == 1:
        return _one_lead(aircraft, feeds)
    if feeds.single_ports:
        return _one_plug(aircraft, feeds)
    if feeds.single_leads:
        return _one_lead_upstream(aircraft, feeds)
    neighbour = feeds.one_neighbour
    if neighbour and aircraft.setup.devices[neighbour].kind in {"receiver", "hub", "gyro"}:
        return _one_rail(aircraft, feeds, neighbour)
    return Clean(feeds.box.at())


def _load(aircraft: Aircraft, feeds: BoxFeeds) -> str:
    """Return ``All 8 servos hang on `gyro` ``."""
    here = len(aircraft.signals.servos_on(feeds.box.name))
    fitted = len(aircraft.setup.of_kind("servo"))
    share = (
        f"All {fitted} servos hang"
        if here == fitted
        else f"{counted(here, 'servo')} of {fitted} {'hangs' if here == 1 else 'hang'}"
    )
    return f"{share} on `{feeds.box.name}`"


def _second_feed(aircraft: Aircraft, feeds: BoxFeeds) -> str:
    """Return the advice to fit a second, power-only lead, with real names."""
    taken = feeds.one_neighbour
    others = [
        device.name
        for device in aircraft.setup.of_kind("receiver", "regulator", "distribution")
        if device.name not in {feeds.box.name, taken}
    ]
    origin = listed((f"`{name}`" for name in others), "or") or "the regulator"
    port = f"`{feeds.free_ports[0]}`" if feeds.free_ports else "a port of its own"
    return (
        f"Fit a second, power-only lead (signal wire taken out) from {origin} to {port}, "
        "and unplug each feed in turn to prove that the other one carries the box."
    )


def _one_lead(aircraft: Aircraft, feeds: BoxFeeds) -> Finding:
    lead = feeds.leads[0]
    useless = tuple(
        Because(cable.place, f"the lead {cable.title} carries signal only")
        for cable in feeds.signal_only
    )
    return Finding(
        at=lead.place,
        message=f"{_load(aircraft, feeds)}, and it takes its power through one lead only, "
        f"{lead.title}. If that plug comes out, those servos are dead, although both receivers "
        "still hear you.",
        do=_second_feed(aircraft, feeds),
        because=useless,
    )


def _one_plug(aircraft: Aircraft, feeds: BoxFeeds) -> Finding:
    port = feeds.single_ports[0]
    sharing = [
        cable
        for cable in aircraft.setup.cables
        if port.address
        in {end.port.address for end in (cable.start, cable.end) if end.port is not None}
    ]
    return Finding(
        at=sharing[0].place,
        message=f"{_load(aircraft, feeds)}. It has {len(feeds.leads)} power leads, but both pass "
        f"through one connector, `{port.address}`: if that comes out, all of its power is gone.",
        do="Take the second feed from a connector of its own.",
        because=tuple(
            Because(cable.place, f"the lead {cable.title} ends on `{port.address}`")
            for cable in sharing
        ),
    )


def _one_lead_upstream(aircraft: Aircraft, feeds: BoxFeeds) -> Finding:
    lead = feeds.single_leads[0]
    return Finding(
        at=lead.place,
        message=f"{_load(aircraft, feeds)}. It has {len(feeds.leads)} power leads, but all of "
        f"them get their power through one lead, {lead.title}: if that comes out, all of its "
        "power is gone, although both receivers are fitted.",
        do="Take one of the feeds from the regulator or from the other receiver, so that no lead "
        "is common to both.",
        because=_leads_in(feeds),
    )


def _one_rail(aircraft: Aircraft, feeds: BoxFeeds, neighbour: str) -> Finding:
    return Finding(
        at=feeds.leads[-1].place,
        message=f"{_load(aircraft, feeds)}. It has {len(feeds.leads)} power leads, but they all "
        f"come from the rail of `{neighbour}`: if that box fails, all of its power is gone.",
        do=_second_feed(aircraft, feeds),
        because=_leads_in(feeds),
    )


def _carries_signal(feeds: BoxFeeds) -> Finding:
    lead = feeds.fighting[0]
    start, end = lead.start.written, lead.end.written
    return Finding(
        at=Place(lead.place.file, lead.place.path),
        message=f"The lead {lead.title} feeds `{feeds.box.name}`, but its signal wire joins two "
        f"outputs, `{start}` and `{end}`, which then fight each other.",
        do="Take the signal wire out of that lead, and declare it `carries: power`.",
        because=_leads_in(feeds),
    )


def _leads_in(feeds: BoxFeeds) -> tuple[Because, ...]:
    return tuple(
        Because(lead.place, f"the lead {lead.title} brings power to `{feeds.box.name}`")
        for lead in feeds.leads
    )


RULES = (backup_receiver_without_power_only_feed,)
