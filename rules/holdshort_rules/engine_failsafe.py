"""What the engine does when the link is lost, how soon, and what the followed codes ask."""

from collections.abc import Iterable, Iterator
from typing import Final, NamedTuple

from holdshort.api import (
    Aircraft,
    Because,
    ChannelEnd,
    ChannelEntry,
    Clean,
    Finding,
    Fitted,
    Fix,
    Hold,
    LossTime,
    Need,
    NotChecked,
    Outcome,
    Output,
    Place,
    Quantity,
    Setup,
    Severity,
    Understood,
    is_throttle,
    listed,
    plural,
    rule,
    show_pulse,
)
from holdshort_rules.codes import CODES, Code, Compulsory, EngineAction, TimeLimit
from holdshort_rules.throttle_values import STOP, drives_throttle_alone, set_values

_ENGINES_WITHOUT_FUEL: Final = frozenset({"electric-fan", "electric-propeller", "none"})
_ROUNDING: Final = 1e-9


def followed(setup: Setup) -> tuple[Code, ...]:
    """Return the codes that the owner says apply."""
    return tuple(CODES[word] for word in setup.follows if word in CODES)


def propulsion(setup: Setup) -> str | None:
    """Return what drives the aircraft, where that is declared."""
    return setup.aircraft.propulsion if setup.aircraft else None


def _needs_propulsion(setup: Setup) -> NotChecked:
    place = setup.place("aircraft") if setup.aircraft else setup.place()
    return NotChecked(place, "the `propulsion` of the aircraft, on which the codes depend")


@rule(
    "throttle-failsafe-not-closed",
    title="The throttle's failsafe does not stop or idle the engine",
    severity=Severity.WARNING,
    hold=Hold.ENGINE_RUN,
    subject="failsafe",
    sources=("F4", "F6", "F9", "F10", "F11", "F12", "F14", "F25", "practice"),
)
def throttle_failsafe_not_closed(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge what the engine makes of each box's throttle value, after reversal and travel."""
    for number, entry in aircraft.setup.channels.items():
        if not is_throttle(entry, aircraft.setup):
            continue
        values = _values(aircraft, entry)
        if not values:
            continue
        ends = aircraft.link_loss.throttle_ends(number)
        if not ends:
            yield NotChecked(
                entry.place, f"the way of channel {number} to the engine: its leads and ports"
            )
        for end in ends:
            yield from _judged(aircraft, end, entry, values)


def _values(aircraft: Aircraft, entry: ChannelEntry) -> dict[str, str]:
    """Return what each box is declared to do with a channel; ``hold`` has a rule of its own."""
    declared = {
        box.name: aircraft.link_loss.declared(box.name, entry)[0] for box in aircraft.deciding_boxes
    }
    return {box: action for box, action in declared.items() if action and action != "hold"}


class _Sent(NamedTuple):
    """What one box sends to one engine, and what the engine makes of it."""

    box: str
    action: str
    output: Output


def _judged(
    aircraft: Aircraft, end: ChannelEnd, entry: ChannelEntry, values: dict[str, str]
) -> Iterator[Outcome]:
    needs: dict[Need, None] = {}
    same: dict[tuple[Understood, object], list[_Sent]] = {}
    for box, action in values.items():
        if not aircraft.link_loss.reaches(box, end):
            continue
        output = aircraft.link_loss.output_of(end, box)
        if isinstance(output.engine, Need):
            needs |= dict.fromkeys(aircraft.link_loss.needs_of(end, output))
        elif output.engine is not None:
            same.setdefault((output.engine, output.pulse), []).append(_Sent(box, action, output))
    for need in needs:
        yield NotChecked(need.place, need.text)
    for (engine, _), sent in same.items():
        yield from _verdict(aircraft, end, entry, engine, sent)


def _verdict(
    aircraft: Aircraft, end: ChannelEnd, entry: ChannelEntry, engine: Understood, sent: list[_Sent]
) -> Iterator[Outcome]:
    setup = aircraft.setup
    if engine.kind in {"power", "hold"}:
        fix = _stop(aircraft, end, entry, sent, enough={"stop", "closed"})
        yield _runs_on(end, entry, engine, sent)._replace(fix=fix)
        return
    if engine.kind == "stop":
        yield Clean(sent[0].output.at)
        return
    drive = propulsion(setup)
    codes = followed(setup)
    if drive is None and any(action.idle != "allowed" for code in codes for action in code.actions):
        yield _needs_propulsion(setup)
        return
    against = [
        (code, action)
        for code in codes
        for action in code.actions
        if drive in action.engines and action.idle != "allowed"
    ]
    if not against:
        yield Clean(sent[0].output.at)
        return
    fix = _stop(aircraft, end, entry, sent, enough={"stop"})
    yield _idles(setup, end, entry, sent, against)._replace(fix=fix)


def _stop(
    aircraft: Aircraft, end: ChannelEnd, entry: ChannelEntry, sent: list[_Sent], enough: set[str]
) -> Fix | None:
    """Return the change to ``stop``, where that reaches the engine as a closed throttle."""
    for item in sent:
        declared = aircraft.setup.failsafe.get(item.box)
        there = declared is not None and entry.number in declared.channels
        engine = aircraft.link_loss.output_of(end, item.box, STOP).engine
        if not there or not isinstance(engine, Understood) or engine.kind not in enough:
            return None
    if not drives_throttle_alone(aircraft, entry):
        return None
    return set_values(aircraft.setup, entry.number, (item.box for item in sent), STOP)


def _runs_on(
    end: ChannelEnd, entry: ChannelEntry, engine: Understood, sent: list[_Sent]
) -> Finding:
    return Finding(
        at=sent[0].output.at,
        message=f"{_sending(entry, sent)} {_taking(end, engine)} The engine would run on with "
        "nobody in control.",
        do=f"Set the failsafe of channel {entry.number} in {_boxes(sent)} again, so that "
        f"`{end.device.name}` gets {_wanted(end)}, and watch it with the transmitter off, the "
        "engine made safe first.",
        because=tuple(_reasons(end, entry, sent)),
    )


def _sending(entry: ChannelEntry, sent: list[_Sent]) -> str:
    pulse = sent[0].output.pulse
    verb = "send" if len(sent) > 1 else "sends"
    declared = listed(dict.fromkeys(f"`{item.action}`" for item in sent))
    what = show_pulse(pulse) if isinstance(pulse, float) else "no pulse"
    return (
        f"{_boxes(sent)} {verb} {what} on channel {entry.number} when the link is lost "
        f"(declared {declared})."
    )


def _taking(end: ChannelEnd, engine: Understood) -> str:
    name = end.device.name
    if engine.kind == "hold":
        return f"`{name}` then keeps the power it had."
    if end.device.kind != "engine-controller":
        return f"`{name}` stands at {engine.words} then."
    learned = end.device.device.learned or {}
    known = listed(f"{show_pulse(pulse)} as {word}" for word, pulse in learned.items())
    return f"`{name}` has learned {known}: it takes this for {engine.words}."


def _wanted(end: ChannelEnd) -> str:
    learned = end.device.device.learned or {}
    if "stop" in learned:
        return f"its stop pulse, {show_pulse(learned['stop'])}"
    return "the pulse on which it stops" if learned else "the pulse of a closed throttle"


def _boxes(sent: Iterable[_Sent]) -> str:
    return listed(f"`{item.box}`" for item in sent)


def _reasons(end: ChannelEnd, entry: ChannelEntry, sent: list[_Sent]) -> Iterator[Because]:
    for item in sent[1:]:
        yield Because(item.output.at, f"`{item.box}` sends the same")
    if entry.channel.reversed:
        place = Place(entry.place.file, (*entry.place.path, "reversed"))
        yield Because(place, f"channel {entry.number} is reversed in the transmitter")
    if end.reversed:
        port = next(port for port in reversed(end.way) if port.does == "servo")
        yield Because(port.set_by, "a box on the way reverses the pulse")
    if end.device.device.learned:
        yield Because(end.device.at("learned"), "what the engine controller has learned")


def _idles(
    setup: Setup,
    end: ChannelEnd,
    entry: ChannelEntry,
    sent: list[_Sent],
    against: list[tuple[Code, EngineAction]],
) -> Finding:
    refused = any(action.idle == "refused" for _, action in against)
    what = "closes the throttle" if end.device.kind == "servo" else "idles"
    asked = "; ".join(f"{code.title}: {action.words} ({action.source})" for code, action in against)
    why = (
        "An engine that only idles still pushes, and still turns when somebody reaches it."
        if refused
        else "What a code allows only in part has to be settled before the engine runs."
    )
    return Finding(
        at=sent[0].output.at,
        message=f"When the link is lost, {_boxes(sent)} {_make(sent)} that `{end.device.name}` "
        f"{what}. {_capital(asked)}. {why}",
        do=_idle_advice(entry, sent, against),
        because=tuple(
            Because(setup.code_places[code.id], f"follows `{code.id}`") for code, _ in against
        ),
        severity=Severity.WARNING if refused else Severity.CAUTION,
    )


def _make(sent: list[_Sent]) -> str:
    return "see to it" if len(sent) > 1 else "sees to it"


def _idle_advice(
    entry: ChannelEntry, sent: list[_Sent], against: list[tuple[Code, EngineAction]]
) -> str:
    stop = f"Set channel {entry.number} of {_boxes(sent)} to engine stop"
    if all(action.idle == "with consent" for _, action in against):
        return f"{stop}, or get the organiser's consent to idle for the day."
    if all(action.idle != "refused" for _, action in against):
        return f"{stop}, or read in the code itself whether idle will do."
    return f"{stop}, and test it with the transmitter off."


@rule(
    "engine-stops-too-late",
    title="The engine acts on loss of signal later than a followed code allows",
    severity=Severity.WARNING,
    hold=Hold.ENGINE_RUN,
    subject="failsafe",
    sources=("F8", "F10", "F11", "F12", "F32"),
)
def engine_stops_too_late(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge the time from loss of signal to action against the limits of the followed codes."""
    setup = aircraft.setup
    codes = followed(setup)
    if not any(code.limits or any(gap.open for gap in code.gaps) for code in codes):
        return
    drive = propulsion(setup)
    if drive is None:
        yield _needs_propulsion(setup)
        return
    if drive == "none":
        return
    for code in codes:
        if any(gap.open and gap.subject == "time" and drive in gap.engines for gap in code.gaps):
            yield _unread(setup, code)
    limits = [(code, limit) for code in codes for limit in code.limits if drive in limit.engines]
    if limits:
        yield from _timed(aircraft, limits)


def _unread(setup: Setup, code: Code) -> NotChecked:
    place = setup.code_places[code.id]
    gap = next(gap for gap in code.gaps if gap.open and gap.subject == "time")
    return NotChecked(place, f"a time limit of {code.title}: {gap.words}")


def _timed(aircraft: Aircraft, limits: list[tuple[Code, TimeLimit]]) -> Iterator[Outcome]:
    loss = aircraft.link_loss
    numbers = [
        number
        for number, entry in aircraft.setup.channels.items()
        if is_throttle(entry, aircraft.setup)
    ]
    ends = [end for number in numbers for end in loss.throttle_ends(number)]
    if not ends:
        place = aircraft.setup.place("radio", "channels")
        yield NotChecked(place, "the way of the throttle channel to the engine")
    hurt = _hurt(aircraft.setup)
    for end in ends:
        outcomes = _late(end, loss.time(end, loss.all_lost), limits)
        yield from (hurt if hurt and isinstance(one, Clean) else one for one in outcomes)


def _hurt(setup: Setup) -> NotChecked | None:
    """Return what cannot be known where a box, a lead or a failsafe has a mistake of form."""
    for section in ("devices", "leads", "failsafe"):
        path = setup.broken_under(section)
        if path is not None:
            return NotChecked(setup.place(*path), "this entry, which has a mistake of form")
    return None


def _taken(time: LossTime, limit: TimeLimit) -> float:
    """Return the seconds that count against ``limit``, by its own start of the clock."""
    return time.since_loss if limit.clock == "loss of signal" else time.since_failsafe


def _late(
    end: ChannelEnd, time: LossTime, limits: list[tuple[Code, TimeLimit]]
) -> Iterator[Outcome]:
    broken = [
        (code, limit) for code, limit in limits if _taken(time, limit) > limit.seconds + _ROUNDING
    ]
    if broken:
        broken.sort(key=lambda pair: pair[1].seconds - _taken(time, pair[1]))
        yield _too_late(end, time, broken)
    elif time.needs:
        for need in time.needs:
            yield NotChecked(need.place, need.text)
    else:
        yield Clean(time.parts[0].place if time.parts else end.device.at())


def _too_late(end: ChannelEnd, time: LossTime, broken: list[tuple[Code, TimeLimit]]) -> Finding:
    code, limit = broken[0]
    from_loss = limit.clock == "loss of signal"
    parts = [part for part in time.parts if from_loss or part.kind != "receiver"]
    longest = max(parts, key=lambda part: part.seconds)
    taken = _taken(time, limit)
    total = f" = {_seconds(taken)}" if len(parts) > 1 else ""
    least = ", and more that is not declared" if time.needs else ""
    counts = "counts" if from_loss else "does not count"
    return Finding(
        at=longest.place,
        message=f"`{end.device.name}` acts too late when the link is lost: "
        f"{' + '.join(part.text for part in parts)}{total}{least}. {_capital(code.title)} allows "
        f"{_seconds(limit.seconds)} from {limit.clock} (the hold of the receiver {counts})."
        f"{_broken_too(broken[1:])} Until then the engine pushes with nobody in control.",
        do=f"Take {_seconds(taken - limit.seconds)} or more off "
        f"{plural(len(parts), 'this time', 'these times')}, and time it with the transmitter off.",
        because=tuple(Because(part.place, part.text) for part in parts if part is not longest),
    )


def _broken_too(others: list[tuple[Code, TimeLimit]]) -> str:
    if not others:
        return ""
    named = listed(
        f"{code.title} ({_seconds(limit.seconds)} from {limit.clock})" for code, limit in others
    )
    return f" It is too late for {named} as well."


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _seconds(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".") + " s"


@rule(
    "failsafe-compulsory",
    title="A failsafe that a followed code makes compulsory is not declared",
    severity=Severity.WARNING,
    hold=Hold.ENGINE_RUN,
    subject="failsafe",
    sources=("F1", "F2", "F11", "F12", "F14", "F17"),
)
def failsafe_compulsory(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether mass or engine makes a failsafe compulsory, and whether every box has one."""
    setup = aircraft.setup
    rules = [(code, entry) for code in followed(setup) for entry in code.compulsory]
    boxes = [
        box for box in aircraft.deciding_boxes if setup.broken_under("failsafe", box.name) is None
    ]
    if not rules or not boxes:
        return
    lacking = [box for box in boxes if not _has_one(setup, box)]
    if not lacking:
        yield Clean(setup.place("failsafe"))
        return
    needs: dict[NotChecked, None] = {}
    applying: list[tuple[Code, Compulsory]] = []
    for code, entry in rules:
        applies = _applies(setup, entry)
        if isinstance(applies, NotChecked):
            needs[applies] = None
        elif applies:
            applying.append((code, entry))
    if applying:
        yield _missing(setup, lacking, applying)
    elif needs:
        yield from needs
    else:
        yield Clean(setup.place("aircraft"))


def _has_one(setup: Setup, box: Fitted) -> bool:
    entry = setup.failsafe.get(box.name)
    return entry is not None and bool(entry.channels)


def _applies(setup: Setup, entry: Compulsory) -> bool | NotChecked:
    if entry.always:
        return True
    if entry.above is not None:
        return _is_above(setup, entry.above)
    drive = propulsion(setup)
    return _needs_propulsion(setup) if drive is None else drive in entry.engines


def _is_above(setup: Setup, limit: float) -> bool | NotChecked:
    """Tell whether the heaviest declared mass is above ``limit`` (kg)."""
    mass = setup.aircraft.mass if setup.aircraft else None
    known = _masses(setup)
    if known and max(known) > limit:
        return True
    complete = mass is not None and mass.ready is not None
    if complete or (known and propulsion(setup) in _ENGINES_WITHOUT_FUEL):
        return False
    place = setup.place("aircraft", "mass") if mass else setup.place("aircraft")
    return NotChecked(
        place if setup.aircraft else setup.place(), "the mass of the aircraft ready to fly"
    )


def _masses(setup: Setup) -> list[Quantity]:
    mass = setup.aircraft.mass if setup.aircraft else None
    return [value for value in (mass.dry, mass.ready) if value is not None] if mass else []


def _missing(
    setup: Setup, lacking: list[Fitted], applying: list[tuple[Code, Compulsory]]
) -> Finding:
    named = listed(f"`{box.name}`" for box in lacking)
    has = "has" if len(lacking) == 1 else "have"
    codes = dict.fromkeys(code for code, _ in applying)
    words = "; ".join(
        f"{code.title} makes one compulsory "
        f"{listed(entry.words for other, entry in applying if other is code)}"
        for code in codes
    )
    first = setup.failsafe.get(lacking[0].name)
    return Finding(
        at=first.place if first else lacking[0].place,
        message=f"{named} {has} no declared failsafe, and {words}.",
        do=f"Set a failsafe for every channel of {named}, declare it under `failsafe:`, and test "
        "it with the transmitter off.",
        because=tuple(_grounds(setup, applying)),
    )


def _grounds(setup: Setup, applying: list[tuple[Code, Compulsory]]) -> Iterator[Because]:
    for code in dict.fromkeys(code for code, _ in applying):
        yield Because(setup.code_places[code.id], f"follows `{code.id}`")
    masses = _masses(setup)
    if masses and any(entry.above is not None for _, entry in applying):
        yield Because(setup.place("aircraft", "mass"), f"{max(masses).text} at its heaviest")
    if any(entry.engines for _, entry in applying):
        yield Because(setup.place("aircraft", "propulsion"), f"{propulsion(setup)}")


RULES = (throttle_failsafe_not_closed, engine_stops_too_late, failsafe_compulsory)
