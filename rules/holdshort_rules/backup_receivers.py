"""Back-up receivers: whether one is set up as such, and falls with the receiver it is there for."""

from collections.abc import Iterator

from holdshort.api import (
    Aircraft,
    BackUp,
    Because,
    Clean,
    Edit,
    Finding,
    Fitted,
    Fix,
    Hold,
    NotChecked,
    Outcome,
    Severity,
    SharedSupply,
    back_ups,
    bus_between,
    listed,
    power_way,
    rule,
    shared_supply,
)
from holdshort_rules.redundancy import blind


def _pairs_judged(aircraft: Aircraft) -> Iterator[SharedSupply | NotChecked]:
    """Yield what each back-up shares with its main receiver, or why that cannot be told."""
    pairs = back_ups(aircraft.setup, aircraft.signals)
    missing = blind(aircraft) if pairs else None
    if missing is not None:
        yield missing
        return
    for pair in pairs:
        unfed = next(
            (box for box in (pair.main, pair.spare) if not _has_power(aircraft, box.name)), None
        )
        if unfed is not None:
            yield NotChecked(unfed.at(), f"a lead that brings power to `{unfed.name}`")
        else:
            yield shared_supply(aircraft.failures, pair)


def _has_power(aircraft: Aircraft, name: str) -> bool:
    return bool(power_way(aircraft.wiring, aircraft.setup.devices[name]))


def _pair_words(pair: BackUp) -> str:
    return f"`{pair.main.name}` and its back-up `{pair.spare.name}`"


@rule(
    "backup-shares-supply",
    title="The back-up receiver lives by the supply of the main one",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="redundancy",
    sources=("P37", "P16"),
)
def backup_shares_supply(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether main receiver and back-up have supplies of their own, where there are two."""
    for found in _pairs_judged(aircraft):
        if isinstance(found, NotChecked):
            yield found
        elif found.supplies:
            yield _one_supply(found)
        elif found.through_main:
            yield _through_main(found)
        else:
            yield Clean(found.pair.spare.at())


def _one_supply(found: SharedSupply) -> Finding:
    names = listed(failure.words for failure in found.supplies)
    return Finding(
        at=found.pair.spare.at(),
        message=f"{_pair_words(found.pair)} both live by {names}, although the aircraft has "
        "another supply. When that fails, the back-up falls with the receiver that it is there "
        "for.",
        do=f"Move the supply of `{found.pair.spare.name}` to the other one, with a lead of its "
        "own.",
        because=tuple(Because(failure.place, failure.words) for failure in found.supplies),
    )


def _through_main(found: SharedSupply) -> Finding:
    main, spare = found.pair.main.name, found.pair.spare.name
    bus = found.pair.bus
    by = f", by the lead {bus.title}" if bus is not None and bus.carries_power else ""
    return Finding(
        at=found.pair.spare.at(),
        message=f"The back-up `{spare}` takes all its power through the main receiver "
        f"`{main}`{by}. When that one fails, or its rail is shorted, the back-up is dead too.",
        do=f"Bring `{spare}` a supply lead of its own from a regulator or pack that does not pass "
        f"through `{main}`.",
        because=() if bus is None else (Because(bus.place, f"the lead {bus.title}"),),
    )


@rule(
    "backup-shares-lead",
    title="One lead or plug feeds the main receiver and its back-up",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="redundancy",
    sources=("P37",),
)
def backup_shares_lead(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether any one lead, plug or switch behind the supply feeds both receivers."""
    for found in _pairs_judged(aircraft):
        if isinstance(found, NotChecked):
            yield found
        elif found.leads:
            first = found.leads[0]
            common = listed(failure.words for failure in found.leads)
            yield Finding(
                at=first.place,
                message=f"{_pair_words(found.pair)} both get their power through "
                f"{common}. If one plug comes out there, both are dead.",
                do=f"Take the feed of `{found.pair.spare.name}` from a connector of its own at the "
                "regulator or pack.",
                because=tuple(Because(other.place, other.words) for other in found.leads[1:]),
            )
        else:
            yield Clean(found.pair.spare.at())


@rule(
    "backup-shares-link",
    title="The main receiver and its back-up hear the same link only",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="redundancy",
    sources=("P37", "F30"),
)
def backup_shares_link(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether the loss of one radio link silences both receivers."""
    for pair in back_ups(aircraft.setup, aircraft.signals):
        deaf = next(
            (box for box in (pair.main, pair.spare) if not aircraft.failures.graph.hears(box.name)),
            None,
        )
        found = shared_supply(aircraft.failures, pair)
        if deaf is not None:
            place = aircraft.setup.place("radio", "links")
            yield NotChecked(place, f"the link that `{deaf.name}` hears (`heard-by`)")
        elif found.links:
            link = found.links[0]
            yield Finding(
                at=link.place,
                message=f"{_pair_words(pair)} both hear the link `{link.name}` and no other. When "
                "that link is jammed, or what sends it fails, the back-up is deaf with the main "
                "one; it helps against a shaded aerial only.",
                do=f"Give `{pair.spare.name}` a link of its own, on a second band or sender.",
            )
        else:
            yield Clean(pair.spare.at())


@rule(
    "backup-not-declared-to-main",
    title="A back-up receiver that is not set up as one",
    severity=Severity.WARNING,
    hold=Hold.POWER_UP,
    subject="redundancy",
    sources=("practice",),
)
def backup_not_declared_to_main(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether each back-up is told what it backs up, and its bus goes there."""
    for pair in back_ups(aircraft.setup, aircraft.signals):
        gap = _gap_at_pair(aircraft, pair)
        if gap is not None:
            yield gap
        elif not pair.declared:
            yield _undeclared(pair)
        else:
            yield _declared(aircraft, pair)


def _gap_at_pair(aircraft: Aircraft, pair: BackUp) -> NotChecked | None:
    for cable in aircraft.wiring.gaps:
        if {pair.main.name, pair.spare.name} & {cable.start.device, cable.end.device}:
            return NotChecked(cable.place, f"both ends of the lead {cable.title}")
    return None


def _undeclared(pair: BackUp) -> Outcome:
    """Judge a pair that is only wired: two that meet in a hub need no setting of their own."""
    if pair.bus is None:
        return Clean(pair.spare.at())
    return NotChecked(
        pair.spare.at(), f"which receiver `{pair.spare.name}` is set to back up (`backs-up`)"
    )


def _declared(aircraft: Aircraft, pair: BackUp) -> Outcome:
    main, spare = pair.main, pair.spare
    at = spare.at("backs-up")
    wrong = bus_between(aircraft.signals, main, spare)
    if main.device.backs_up == spare.name:
        return Finding(
            at=at,
            message=f"`{spare.name}` is set to back up `{main.name}`, and `{main.name}` to back up "
            f"`{spare.name}`: neither is the main one, and each can wait for the other.",
            do="Take the setting out of the receiver that gives the servos their signal.",
            fix=_untell(
                main, spare, backwards=pair.bus is None, known=(pair.bus or wrong) is not None
            ),
        )
    if pair.bus is None and wrong is not None:
        return Finding(
            at=at,
            message=f"`{spare.name}` is set to back up `{main.name}`, but the lead {wrong.title} "
            f"takes the bus of `{main.name}` to `{spare.name}`: the wrong way round, so the main "
            "receiver never hears its back-up.",
            do=f"Set the bus output on `{spare.name}` and the bus input on `{main.name}`.",
            because=(Because(wrong.place, f"the lead {wrong.title}"),),
        )
    if pair.bus is not None or pair.meeting is not None or _joined(aircraft, pair):
        return Clean(spare.at())
    return _no_bus(aircraft, pair)


def _untell(main: Fitted, spare: Fitted, *, backwards: bool, known: bool) -> Fix | None:
    """Return the change of the receiver that takes the other one's bus, where one lead says so."""
    if not known:
        return None
    box = spare if backwards else main
    return Fix(
        f"Takes `backs-up` out of `{box.name}` in the file: it takes the bus of the other "
        f"receiver. Take the setting out of `{box.name}` itself, and test each receiver with the "
        "other one unplugged.",
        (Edit("remove", box.at("backs-up")),),
    )


def _joined(aircraft: Aircraft, pair: BackUp) -> bool:
    """True where a signal lead joins them: whether its ports fit is told by another rule."""
    names = {pair.main.name, pair.spare.name}
    return any(
        {cable.start.device, cable.end.device} == names and cable.carries_signal
        for cable in aircraft.setup.cables
    )


def _no_bus(aircraft: Aircraft, pair: BackUp) -> Finding:
    main, spare = pair.main.name, pair.spare.name
    elsewhere = [
        (end.device, cable)
        for start, end, cable in aircraft.signals.ways
        if start.device == spare and start.does == "bus-out"
    ]
    if elsewhere:
        other, cable = elsewhere[0]
        text = f"its bus goes to `{other}`, by the lead {cable.title}"
    else:
        text = "no lead takes its bus there"
    return Finding(
        at=pair.spare.at("backs-up"),
        message=f"`{spare}` is set to back up `{main}`, but {text}: when `{main}` loses its link, "
        "it does not hear its back-up.",
        do=f"Join a bus output of `{spare}` to a bus input of `{main}`, and set both ports so.",
    )


RULES = (
    backup_shares_supply,
    backup_shares_lead,
    backup_shares_link,
    backup_not_declared_to_main,
)
