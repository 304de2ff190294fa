"""What is left when one thing fails: control, and both halves of a pair of surfaces."""

from collections.abc import Iterator
from typing import Final

from holdshort.api import (
    MASS,
    SHUT_DOWN,
    Aircraft,
    Because,
    Cause,
    Clean,
    Failure,
    FailureStudy,
    Finding,
    Hold,
    NotChecked,
    Option,
    Outcome,
    QuantityType,
    Severity,
    SharedHalves,
    SharedSupply,
    back_ups,
    counted,
    exceeds,
    listed,
    power_way,
    rule,
    shared_halves,
    shared_supply,
    show_volts,
    signal_passes,
    single_points,
    ways_of,
)

_TWO: Final = 2
_SUPPLIES: Final = frozenset({"battery", "regulator", "distribution", "switch", "fuse", "output"})

_BOXES: Final = frozenset({"receiver", "hub", "gyro"})

_HEAVY: Final = Option(
    "single-failure-loses-control",
    "mass",
    "15 kg",
    QuantityType(MASS),
    "the mass above which a single point of failure counts as a warning",
)


def blind(aircraft: Aircraft) -> NotChecked | None:
    """Return what is missing before anything can be said of what hangs on what."""
    setup = aircraft.setup
    for section in ("devices", "leads"):
        broken = setup.broken_under(section)
        if broken is not None:
            place = setup.place(*broken)
            return NotChecked(place, f"the entry in `{section}` that has a mistake of form")
    for cable in aircraft.wiring.gaps:
        return NotChecked(cable.place, f"both ends of the lead {cable.title}")
    return None


def _weighs_much(aircraft: Aircraft) -> bool | None:
    """Tell whether a single point of failure counts as a warning; None where not declared."""
    if len(aircraft.setup.of_kind("receiver")) >= _TWO:
        return True
    declared = aircraft.setup.aircraft
    masses = declared.mass if declared else None
    mass = (masses.ready or masses.dry) if masses else None
    if declared and declared.propulsion == "turbine":
        return True
    if mass is not None and exceeds(mass, _HEAVY.of(aircraft)):
        return True
    return None if mass is None or declared is None or declared.propulsion is None else False


def _told_elsewhere(aircraft: Aircraft) -> frozenset[Failure]:
    """Return the failures that the other rules of this subject tell."""
    study = aircraft.failures
    told: set[Failure] = set()
    for shared in _shared(aircraft):
        told.update((*shared.supplies, *shared.leads, *shared.links))
    for halves in shared_halves(study):
        told.update(halves.cause.failures)
    return frozenset(told)


def _shared(aircraft: Aircraft) -> list[SharedSupply]:
    pairs = back_ups(aircraft.setup, aircraft.signals)
    return [shared_supply(aircraft.failures, pair) for pair in pairs]


@rule(
    "single-failure-loses-control",
    title="One failure takes pitch, roll or the engine's shut-down",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="redundancy",
    sources=("P13", "P16", "P17", "P18", "P19", "P20", "practice"),
    options=(_HEAVY,),
)
def single_failure_loses_control(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge what each single failure leaves of pitch, roll and engine shut-down."""
    if not aircraft.setup.of_kind("receiver", "servo"):
        return
    missing = blind(aircraft)
    if missing is not None:
        yield missing
        return
    study = aircraft.failures
    dark = list(_without_a_way(study))
    yield from dark
    yield from _shut_down_unknown(study)
    causes = single_points(study, _told_elsewhere(aircraft))
    if not causes and not dark:
        yield Clean(aircraft.setup.place("devices"))
    elif causes and _weighs_much(aircraft):
        for cause in causes:
            yield _takes_control(study, cause)
    elif causes:
        yield _by_nature(study, causes)


def _without_a_way(study: FailureStudy) -> Iterator[NotChecked]:
    """Yield the surfaces of pitch and roll that no signal and power reaches as declared."""
    if not study.effectors:
        place = study.setup.place("radio", "channels")
        yield NotChecked(place, "what each channel drives, and the leads to the servos")
    for name in ("pitch", "roll"):
        if name in study.functions and not study.functions_at_all(name):
            effector = study.serving(name)[0]
            place = study.setup.place("surfaces", effector.name)
            yield NotChecked(place, f"leads that bring `{effector.name}` signal and power")


def _shut_down_unknown(study: FailureStudy) -> Iterator[NotChecked]:
    """Yield one gap where a failure leaves the engine to something that is not declared."""
    if SHUT_DOWN not in study.functions or not study.functions_at_all(SHUT_DOWN):
        return
    for failure in study.stops_function(SHUT_DOWN):
        if study.engine_after(failure).state == "undeclared":
            name = study.serving(SHUT_DOWN)[0].name
            yield NotChecked(
                study.setup.place("failsafe"),
                f"what `{name}` does after {failure.words} has failed: its `on-signal-loss`, or "
                "the failsafe of its channel",
            )
            return


def _takes_control(study: FailureStudy, cause: Cause) -> Finding:
    head = cause.head
    return Finding(
        at=head.place,
        message=f"{_what_hangs(study, cause)}. {_consequence(cause)}",
        do=_remedy(study, cause),
        because=tuple(_because(study, cause)),
    )


def _what_hangs(study: FailureStudy, cause: Cause) -> str:
    lost, head = _functions(cause.lost), cause.head
    verb = "hang" if len(cause.lost) > 1 else "hangs"
    if cause.rail is not None:
        return f"Without {head.words} the rest does not carry {lost.lower()}: {_sag(study, cause)}"
    if head.kind in _BOXES:
        return f"{lost} {verb} on {head.words} alone: {_passes(study, cause)}"
    if head.kind == "lead":
        served = _only_servo(study, cause)
        if served:
            return f"{lost} {verb} on the one servo of {served}, and on {head.words}"
    return f"{lost} {verb} on {head.words} alone"


def _functions(names: tuple[str, ...]) -> str:
    text = listed(names)
    return text[:1].upper() + text[1:]


def _passes(study: FailureStudy, cause: Cause) -> str:
    """Say what passes a box: every signal, or else the power of what hears it another way."""
    fed = _fed_through(study, cause)
    if fed:
        return (
            "what does not take its signal from that box takes its power through it "
            f"({listed(f'`{name}`' for name in fed)})"
        )
    name = cause.head.name
    here = study.setup.devices[name]
    behind = [
        other
        for other in study.aircraft.signals.receivers_heard(name)
        if other != name and here.kind == "receiver"
    ]
    pronoun = "them" if len(cause.lost) > 1 else "it"
    text = f"every signal for {pronoun} passes through that box"
    return f"{text}, also that of `{behind[0]}`" if behind else text


def _fed_through(study: FailureStudy, cause: Cause) -> tuple[str, ...]:
    """Return the boxes whose signal does not pass the head of a cause, but whose power does."""
    found: dict[str, None] = {}
    for effector in study.effectors:
        if not set(effector.serves) & set(cause.lost):
            continue
        for way in ways_of(study, effector):
            if not signal_passes(study, cause.head.name, way.end):
                found[way.end.giver.device] = None
    return tuple(found)


def _only_servo(study: FailureStudy, cause: Cause) -> str:
    names = [
        f"`{effector.name}`"
        for effector in study.effectors
        if set(effector.serves) & set(cause.lost) and study.takes_effector(cause.head, effector)
    ]
    return listed(dict.fromkeys(names)) if len(names) == 1 else ""


def _sag(study: FailureStudy, cause: Cause) -> str:
    rail = cause.rail
    assert rail is not None  # noqa: S101  - asked only where it is set
    if rail.volts is None:
        return f"in steady flight the supply of `{rail.device}` collapses"
    starved = rail.starved[0]
    reset = getattr(study.setup.devices[starved].part, "brown_out", None)
    under = f", under the {reset.text} at which `{starved}` resets" if reset else ""
    return f"in steady flight {show_volts(rail.volts)} is left at `{rail.device}`{under}"


def _consequence(cause: Cause) -> str:
    either = f"{_if_it_fails(cause)}, "
    if cause.lost == (SHUT_DOWN,):
        return f"{either}the engine runs on and nothing on board can stop it."
    end = "nothing is left to fly with"
    if SHUT_DOWN in cause.lost:
        end += ", and the engine runs on"
    elif cause.lost != ("pitch", "roll"):
        end = f"{cause.lost[0]} does not answer any more"
    return f"{either}{end}."


def _if_it_fails(cause: Cause) -> str:
    others = [failure.words for failure in cause.failures[1:]]
    if cause.head.kind == "lead" and not others:
        return "If a plug of it comes out"
    return f"If {listed(['it', *others], 'or')} fails"


def _because(study: FailureStudy, cause: Cause) -> Iterator[Because]:
    """Yield the way of power, or of the signal, of one surface that is lost."""
    lost = set(cause.lost)
    ways = [
        way
        for effector in study.effectors
        if lost & set(effector.serves)
        for way in ways_of(study, effector)
    ]
    if not ways:
        return
    fed = _fed_through(study, cause) if cause.head.kind in _BOXES else ()
    way = next((way for way in ways if way.end.giver.device in fed), ways[0])
    device = way.end.device
    if cause.head.kind in _SUPPLIES or fed:
        steps = " > ".join(power_way(study.aircraft.wiring, device))
        yield Because(device.at(), f"the way of power: {steps}")
    else:
        yield Because(device.at(), f"the way of the signal: {way.shown}")


_REMEDIES: Final = {
    "battery": "Fit a second pack, with its own switch, lead and regulator, isolated from the "
    "first, so that either carries the controls alone.",
    "regulator": "Fit a second regulator with a pack and leads of its own, isolated from the "
    "first, so that either carries the controls alone.",
    "distribution": "Bring a second supply to the receivers and servos that does not pass through "
    "that box.",
    "link": "Fit a second receiver on a link of its own, which takes over when the first is lost.",
    "output": "Give the radio a pack and regulator of its own beside the supply of the engine's "
    "controller.",
}


def _remedy(study: FailureStudy, cause: Cause) -> str:
    head = cause.head
    if cause.lost == (SHUT_DOWN,):
        return (
            "Fit an engine controller that stops on loss of signal, or set the failsafe of the "
            "throttle to stop on every box, and prove it with the transmitter off."
        )
    if cause.rail is not None:
        return "Give the other supply a pack, wires and a regulator that carry everything alone."
    if head.kind == "lead" and _only_servo(study, cause):
        return "Fit one servo for each half of the surface, each on a lead and box of its own."
    if head.kind in _BOXES:
        return _second_box(study, cause)
    return _REMEDIES.get(head.kind, f"Bring a second path past {head.words}.")


def _second_box(study: FailureStudy, cause: Cause) -> str:
    head, fed = cause.head, _fed_through(study, cause)
    if fed:
        return (
            f"Bring {listed(f'`{name}`' for name in fed)} a supply lead that does not pass through "
            f"`{head.name}`."
        )
    others = [
        f"`{box.name}`"
        for box in study.setup.of_kind("receiver", "hub", "gyro")
        if box.name != head.name and head.kind == "receiver" and box.kind == "receiver"
    ]
    where = f"{others[0]}, with a supply of its own" if others else f"a second {head.kind}"
    return (
        f"Put one aileron and one elevator on {where}, so that half of each is left when "
        f"`{head.name}` fails."
    )


def _by_nature(study: FailureStudy, causes: tuple[Cause, ...]) -> Finding:
    """Return the one note on a small model with one receiver."""
    failures = [failure for cause in causes for failure in cause.failures]
    devices = [f"`{failure.name}`" for failure in failures if failure.devices]
    leads = sum(1 for failure in failures if failure.kind in {"lead", "plug"})
    words = [*devices, *([counted(leads, "lead")] if leads else [])]
    words += [failure.words for failure in failures if failure.kind in {"link", "output"}]
    lost = tuple(
        name for name in ("pitch", "roll", SHUT_DOWN) if any(name in cause.lost for cause in causes)
    )
    heavy = _weighs_much(study.aircraft)
    limit = _HEAVY.of(study.aircraft).text
    grade = (
        f"a warning above {limit} or with a turbine; mass or propulsion is not declared"
        if heavy is None
        else f"a note up to {limit} without a turbine"
    )
    return Finding(
        at=causes[0].head.place,
        message=f"If any one of {listed(words, 'or')} fails, {listed(lost)} "
        f"{'are' if len(lost) > 1 else 'is'} lost. With one receiver that is in the nature of the "
        f"model, and counts as {grade}.",
        do="Check each of them before flying: charge, plugs secured, switch and link proved; or "
        "fit a second receiver with a supply of its own.",
        because=tuple(_because(study, causes[-1])),
        severity=Severity.NOTE,
    )


_PAIRED: Final = frozenset({"aileron", "flaperon", "elevator"})


@rule(
    "both-halves-on-one-path",
    title="Both halves of a pair of surfaces on one path",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="redundancy",
    sources=("P5", "practice"),
)
def both_halves_on_one_path(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether both ailerons, or both elevators, fall with one thing short of everything."""
    study = aircraft.failures
    halves = [
        effector for effector in study.effectors if effector.part in _PAIRED and effector.side
    ]
    if not halves:
        return
    missing = blind(aircraft)
    if missing is not None:
        yield missing
        return
    dark = [half for half in halves if not study.effector_at_all(half)]
    for half in dark:
        place = aircraft.setup.place("surfaces", half.name)
        yield NotChecked(place, f"leads that bring `{half.name}` signal and power")
    found = shared_halves(study)
    for shared in found:
        yield _one_path(aircraft, shared)
    if not found and not dark:
        yield Clean(aircraft.setup.place("surfaces"))


def _one_path(aircraft: Aircraft, shared: SharedHalves) -> Finding:
    cause = shared.cause
    whole = bool(cause.lost)
    left = f"{shared.function} is lost" if whole else f"both {shared.name} are lost at once"
    names = listed(f"`{half.name}`" for half in shared.halves)
    every = "all" if len(shared.halves) > _TWO else "both"
    return Finding(
        at=cause.head.place,
        message=f"{names} {every} hang on {cause.head.words}. {_if_it_fails(cause)}, {left}, where "
        "two separate paths would leave half.",
        do=f"Give one of the {shared.name} a servo lead, box and supply that the other does not "
        "use.",
        because=tuple(_halves_ways(aircraft, shared)),
        severity=Severity.WARNING if whole and _weighs_much(aircraft) else None,
    )


def _halves_ways(aircraft: Aircraft, shared: SharedHalves) -> Iterator[Because]:
    for half in shared.halves:
        for way in ways_of(aircraft.failures, half):
            yield Because(way.end.device.at(), way.shown)


RULES = (single_failure_loses_control, both_halves_on_one_path)
