"""Fit: whether boxes, packs, plugs and leads stay where they are, whole and out of harm's way."""

from collections.abc import Callable, Iterable, Iterator
from typing import Final, Literal, NamedTuple

from holdshort.api import (
    LENGTH,
    Aircraft,
    Because,
    Cable,
    Clean,
    Finding,
    Fitted,
    Hold,
    NotChecked,
    Option,
    Outcome,
    Place,
    Quantity,
    QuantityType,
    Severity,
    exceeds,
    listed,
    plural,
    rule,
)
from holdshort_rules.naming import few

Danger = Literal["hot", "moving", "sharp"]

BOXES: Final = ("receiver", "hub", "gyro", "regulator", "distribution", "engine-controller")
"""What is lost, or turns the aircraft over, when it comes loose."""
STEERING_BOXES: Final = ("receiver", "hub", "gyro")
_WHOLE_RUN: Final = 0.30  # m: a lead as long as this runs through the airframe; common practice


def _runs(cable: Cable) -> bool:
    """True for a lead that runs through the airframe or carries a supply alone."""
    lead = cable.lead
    ends = (cable.start.port, cable.end.port)
    if any(port is not None and port.takes_power_only for port in ends):
        return True
    return lead.extension is not None or (lead.length is not None and lead.length >= _WHOLE_RUN)


def _silence(
    things: list[tuple[Place, str]], one: str, many: str, fields: str
) -> Iterator[NotChecked]:
    """Yield one not-checked outcome that names all things of which something is not said."""
    if things:
        words = plural(len(things), one, many)
        yield NotChecked(things[0][0], f"{words} {few(name for _, name in things)} ({fields})")


def _silent_boxes(
    aircraft: Aircraft, things: list[tuple[Place, str]], words: str, field: str
) -> Iterator[NotChecked]:
    """Yield what is not said of packs and boxes.

    In a first draft, in which no device says anything of its fit, every rule yields the same, so
    that it is told once.
    """
    if _boxes_tell(aircraft):
        yield from _silence(things, words, words, field)
    elif things:
        first = aircraft.setup.of_kind(*BOXES, "battery")[0]
        words = "how packs and boxes are fitted: what holds them, what keeps vibration from them"
        yield NotChecked(
            first.at(), f"{words}, what is near them (`retained-by`, `isolated-by`, `near`)"
        )


def _silent_leads(
    aircraft: Aircraft, things: list[tuple[Place, str]], one: str, many: str, fields: str
) -> Iterator[NotChecked]:
    """Yield what is not said of leads; where no lead says anything of its fit, the same for all."""
    if _leads_tell(aircraft):
        yield from _silence(things, one, many, fields)
    elif things:
        words = "how leads are fitted: whether plugs are secured, what holds them, how they bend"
        yield NotChecked(
            aircraft.setup.cables[0].place,
            f"{words}, what is near them (`secured`, `strain-relief`, `bend-radius`, `diameter`, "
            "`near`, `protected-by`)",
        )


def _boxes_tell(aircraft: Aircraft) -> bool:
    """True where a device says anything of its fit."""
    devices = (one.device for one in aircraft.setup.devices.values())
    return any(_is_told(one.retained_by, one.isolated_by, one.near) for one in devices)


def _leads_tell(aircraft: Aircraft) -> bool:
    """True where a lead says anything of its fit."""
    for lead in (cable.lead for cable in aircraft.setup.cables):
        bend = (lead.bend_radius, lead.bend_supported, lead.diameter)
        if _is_told(lead.secured, lead.strain_relief, *bend, lead.near, lead.protected_by):
            return True
    return False


def _is_told(*said: object) -> bool:
    return any(one is not None for one in said)


# -- boxes and packs -----------------------------------------------------------------------------


@rule(
    "battery-retained-once",
    title="A pack held by one means only",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="fit",
    sources=("G1", "practice"),
)
def battery_retained_once(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether each pack is held by two means."""
    silent: list[tuple[Place, str]] = []
    for pack in aircraft.setup.of_kind("battery"):
        held = pack.device.retained_by
        if held is None:
            silent.append((pack.at("retained-by"), f"`{pack.name}`"))
        elif len(held) < 2:  # noqa: PLR2004  - two means
            yield _loose_pack(pack, held)
        else:
            yield Clean(pack.at("retained-by"))
    yield from _silent_boxes(aircraft, silent, "what holds", "retained-by")


def _loose_pack(pack: Fitted, held: tuple[str, ...]) -> Finding:
    by = f"`{pack.name}` is held by {held[0]} alone" if held else f"Nothing holds `{pack.name}`"
    return Finding(
        at=pack.at("retained-by"),
        message=f"{by}. A pack that shifts moves the balance and pulls at its plug; one that comes "
        "out takes the supply with it.",
        do="Hold it by two means that do not fail together, such as a strap and hook tape, or a "
        "strap and a stop at either end, and declare both.",
    )


@rule(
    "device-not-retained",
    title="A box that nothing holds",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="fit",
    sources=("G1", "practice"),
)
def device_not_retained(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether each receiver, hub, gyro, regulator and controller is held by something."""
    silent: list[tuple[Place, str]] = []
    for box in aircraft.setup.of_kind(*BOXES):
        held = box.device.retained_by
        if held is None:
            silent.append((box.at("retained-by"), f"`{box.name}`"))
        elif held:
            yield Clean(box.at("retained-by"))
        else:
            yield Finding(
                at=box.at("retained-by"),
                message=f"Nothing holds `{box.name}`. Its own leads then hold it, and every "
                "landing pulls at the plugs.",
                do=f"Mount `{box.name}` so that it cannot leave its place, and declare by what.",
            )
    yield from _silent_boxes(aircraft, silent, "what holds", "retained-by")


_SHAKING: Final = ("turbine", "piston")


@rule(
    "gyro-or-receiver-not-isolated",
    title="A radio box on a hard mount where an engine vibrates",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="fit",
    sources=("G31", "practice"),
)
def gyro_or_receiver_not_isolated(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether vibration is kept from receivers, hubs and gyros where there is an engine."""
    boxes = aircraft.setup.of_kind(*STEERING_BOXES)
    declared = aircraft.setup.aircraft
    engine = declared.propulsion if declared else None
    if not boxes or (engine is not None and engine not in _SHAKING):
        return
    if engine is None:
        yield NotChecked(aircraft.setup.place("aircraft", "propulsion"), "what drives the aircraft")
        return
    silent: list[tuple[Place, str]] = []
    for box in boxes:
        by = box.device.isolated_by
        if by is None:
            silent.append((box.at("isolated-by"), f"`{box.name}`"))
        elif by:
            yield Clean(box.at("isolated-by"))
        else:
            yield _shaken(aircraft, box, engine)
    yield from _silent_boxes(aircraft, silent, "what keeps vibration from", "isolated-by")


def _shaken(aircraft: Aircraft, box: Fitted, engine: str) -> Finding:
    gyro = box.kind == "gyro"
    harm = (
        "A gyro takes vibration for turning, and works the servos for it."
        if gyro
        else "Vibration breaks solder joints and lets plugs creep out."
    )
    return Finding(
        at=box.at("isolated-by"),
        message=f"Nothing keeps the vibration of the {engine} from `{box.name}`. {harm}",
        do="Mount it on what its maker allows, such as foam tape or soft mounts, and declare that "
        "in `isolated-by`.",
        because=(
            Because(aircraft.setup.place("aircraft", "propulsion"), f"it is driven by a {engine}"),
        ),
        severity=Severity.WARNING if gyro and engine == "piston" else None,
    )


# -- plugs and leads -----------------------------------------------------------------------------


def _of_leads(
    aircraft: Aircraft,
    wanted: Callable[[Cable], bool],
    said: Callable[[Cable], bool | None],
    found: Callable[[Cable], Finding],
) -> Iterator[Outcome | tuple[Place, str]]:
    """Judge each lead that is ``wanted``: what it says of itself, or that it says nothing."""
    for cable in aircraft.setup.cables:
        answer = said(cable)
        if answer is None:
            if wanted(cable):
                yield cable.place, cable.title
        elif answer:
            yield Clean(cable.place)
        else:
            yield found(cable)


def _told(
    aircraft: Aircraft,
    outcomes: Iterable[Outcome | tuple[Place, str]],
    one: str,
    many: str,
    fields: str,
) -> Iterator[Outcome]:
    silent: list[tuple[Place, str]] = []
    for outcome in outcomes:
        if isinstance(outcome, Finding | NotChecked | Clean):
            yield outcome
        else:
            silent.append(outcome)
    yield from _silent_leads(aircraft, silent, one, many, fields)


@rule(
    "plug-not-secured",
    title="A plug that can come off",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="fit",
    sources=("S9", "practice"),
)
def plug_not_secured(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether the plugs of each lead are held against coming off."""
    outcomes = _of_leads(aircraft, lambda _: True, lambda cable: cable.lead.secured, _unplugs)
    yield from _told(
        aircraft,
        outcomes,
        "whether the plugs are secured of the lead",
        "whether the plugs are secured of the leads",
        "secured",
    )


def _unplugs(cable: Cable) -> Finding:
    only_power = any(
        end.port is not None and end.port.takes_power_only for end in (cable.start, cable.end)
    )
    lost = "the supply behind it" if only_power else "what hangs on it"
    why = (
        "Plugs creep apart under vibration"
        if only_power
        else "Servo plugs are not made for vibration"
    )
    return Finding(
        at=cable.place,
        message=f"The plugs of the lead {cable.title} are not secured. {why}; one that creeps out "
        f"takes {lost} with it.",
        do="Secure both plugs, with clips, lacing or heat-shrink, and at every extension.",
        severity=Severity.WARNING if only_power else None,
    )


@rule(
    "lead-without-strain-relief",
    title="A lead that pulls at its plug",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="fit",
    sources=("ac43-slack", "practice"),
)
def lead_without_strain_relief(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether each lead that runs through the airframe is held near its ends."""
    outcomes = _of_leads(aircraft, _runs, lambda cable: cable.lead.strain_relief, _strained)
    yield from _told(
        aircraft,
        outcomes,
        "whether strain relief is given to the lead",
        "whether strain relief is given to the leads",
        "strain-relief",
    )


def _strained(cable: Cable) -> Finding:
    return Finding(
        at=cable.place,
        message=f"Nothing holds the lead {cable.title} near its ends, so its weight and every jolt "
        "pull at the plugs and the crimps.",
        do="Tie it down close to each end, with enough slack for two new terminations.",
    )


BEND: Final = 10.0
"""Least bend radius by outside diameter (source `bend-radius`)."""
BEND_SUPPORTED: Final = 3.0
"""The same where the lead is held on both sides of the bend (source `bend-supported`)."""


@rule(
    "bend-too-tight",
    title="A lead bent too tightly",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="fit",
    sources=("bend-radius", "bend-supported"),
)
def bend_too_tight(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge the tightest bend of each lead against its outside diameter."""
    yield from _told(
        aircraft,
        _bends(aircraft),
        "the tightest bend and the outside diameter of the lead",
        "the tightest bends and the outside diameters of the leads",
        "bend-radius, diameter",
    )


def _bends(aircraft: Aircraft) -> Iterator[Outcome | tuple[Place, str]]:
    for cable in aircraft.setup.cables:
        lead = cable.lead
        if lead.bend_radius is None or lead.diameter is None:
            half_said = lead.bend_radius is not None or lead.diameter is not None
            if half_said or _supplies(cable):
                yield cable.place, cable.title
            continue
        times = BEND_SUPPORTED if lead.bend_supported else BEND
        if exceeds(times * lead.diameter, lead.bend_radius):
            yield _bent(cable, lead.bend_radius, lead.diameter, times)
        else:
            yield Clean(_at(cable, "bend-radius"))


def _supplies(cable: Cable) -> bool:
    """True for a lead that carries a supply alone: the thick ones."""
    ends = (cable.start.port, cable.end.port)
    return any(port is not None and port.takes_power_only for port in ends)


def _at(cable: Cable, *path: str) -> Place:
    return Place(cable.place.file, (*cable.place.path, *path))


def _bent(cable: Cable, radius: Quantity, diameter: Quantity, times: float) -> Finding:
    least = f"{times * diameter * 1000.0:.3g} mm"
    held = " where it is held on both sides" if times == BEND_SUPPORTED else ""
    return Finding(
        at=_at(cable, "bend-radius"),
        message=f"The lead {cable.title} is bent to a radius of {radius.text}; {times:.0f} times "
        f"its {diameter.text} is {least}, the least for a bend{held}. Strands in a tight bend work "
        "under vibration and break, one by one.",
        do=f"Lead it in a bend of {least} or more.",
        because=(Because(_at(cable, "diameter"), f"it is {diameter.text} thick"),),
    )


# -- what is near --------------------------------------------------------------------------------


def _gap(name: Danger, default: str, text: str, source: str = "practice") -> Option:
    kind = QuantityType(LENGTH, zero=True)
    return Option("too-close", name, default, kind, text, source)


HOT = _gap("hot", "50 mm", "how far devices and leads stay from hot parts")
MOVING = _gap("moving", "10 mm", "how far devices and leads stay from moving parts")
_LIMITS: Final[dict[Danger, Option]] = {"hot": HOT, "moving": MOVING}
_HARM: Final[dict[Danger, str]] = {
    "hot": "Heat softens insulation and foam, and ages packs and electronics.",
    "moving": "What moves catches what comes near it, and jams or cuts.",
}


class Neighboured(NamedTuple):
    """A device or a lead, with what it says of what is near it."""

    at: Place
    words: str
    gaps: dict[Danger, Quantity] | None
    is_lead: bool


@rule(
    "too-close",
    title="A device or lead too close to something hot or moving",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="fit",
    sources=("practice",),
    options=(HOT, MOVING),
)
def too_close(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge how far devices and leads are from hot and moving parts."""
    boxes: list[tuple[Place, str]] = []
    leads: list[tuple[Place, str]] = []
    for thing in _neighboured(aircraft):
        if thing.gaps is None:
            (leads if thing.is_lead else boxes).append((thing.at, thing.words))
            continue
        near = _nearer(aircraft, thing.gaps)
        yield _close(thing, near) if near else Clean(thing.at)
    if _boxes_tell(aircraft) and _leads_tell(aircraft):
        yield from _silence([*boxes, *leads], "what is near", "what is near", "near")
        return
    yield from _silent_boxes(aircraft, boxes, "what is near", "near")
    yield from _silent_leads(aircraft, leads, "what is near", "what is near", "near")


def _nearer(
    aircraft: Aircraft, gaps: dict[Danger, Quantity]
) -> list[tuple[Danger, Quantity, Quantity]]:
    """Return what is nearer than its limit: what it is, how far it is, the limit."""
    found: list[tuple[Danger, Quantity, Quantity]] = []
    for danger, option in _LIMITS.items():
        gap, limit = gaps.get(danger), option.of(aircraft)
        if gap is not None and exceeds(limit, gap):
            found.append((danger, gap, limit))
    return found


def _neighboured(aircraft: Aircraft) -> Iterator[Neighboured]:
    """Yield what says what it is near to, and what should say it."""
    for device in aircraft.setup.devices.values():
        gaps = device.device.near
        if gaps is not None or device.kind in (*BOXES, "battery"):
            yield Neighboured(device.at("near"), f"`{device.name}`", gaps, is_lead=False)
    for cable in aircraft.setup.cables:
        if cable.lead.near is not None or _runs(cable):
            words = f"the lead {cable.title}"
            yield Neighboured(_at(cable, "near"), words, cable.lead.near, is_lead=True)


def _close(thing: Neighboured, near: list[tuple[Danger, Quantity, Quantity]]) -> Finding:
    gaps = listed(f"{gap.text} from something {danger}" for danger, gap, _ in near)
    wanted = listed(f"{limit.text} from what is {danger}" for danger, _, limit in near)
    words = thing.words[0].upper() + thing.words[1:]
    moving = any(danger == "moving" for danger, _, _ in near)
    return Finding(
        at=thing.at,
        message=f"{words} is {gaps}. {' '.join(_HARM[danger] for danger, _, _ in near)}",
        do=f"Move or fasten it so that it stays {wanted}, or put a shield between and declare what "
        "is near it then.",
        severity=Severity.WARNING if moving else None,
    )


EDGE = Option(
    "chafe-point",
    "edge",
    "0.375 in",
    QuantityType(LENGTH, zero=True),
    "how far a lead without a grommet or sleeve stays from a sharp edge",
    source="ac43-grommet",
)


@rule(
    "chafe-point",
    title="A lead that can chafe on an edge",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="fit",
    sources=("ac43-grommet", "practice"),
    options=(EDGE,),
)
def chafe_point(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether each lead that runs past a sharp edge is protected there."""
    yield from _told(
        aircraft,
        _chafing(aircraft),
        "what sharp edges are near, or what protects, the lead",
        "what sharp edges are near, or what protects, the leads",
        "near, protected-by",
    )


def _chafing(aircraft: Aircraft) -> Iterator[Outcome | tuple[Place, str]]:
    limit = EDGE.of(aircraft)
    for cable in aircraft.setup.cables:
        near, by = cable.lead.near, cable.lead.protected_by
        if near is None and not by:
            if _runs(cable):
                yield cable.place, cable.title
            continue
        gap = (near or {}).get("sharp")
        if by or gap is None or not exceeds(limit, gap):
            yield Clean(cable.place)
        elif by is None:
            yield _chafes(cable, gap, limit, ", and nothing is said to protect it")
        else:
            yield _chafes(cable, gap, limit, ", and nothing protects it")


def _millimetres(limit: Quantity) -> str:
    """Return a limit with its millimetres, where it is told in another unit."""
    metric = f"{limit * 1000.0:.1f} mm"
    return limit.text if limit.text.endswith(" mm") else f"{metric} ({limit.text})"


def _chafes(cable: Cable, gap: Quantity, limit: Quantity, bare: str) -> Finding:
    return Finding(
        at=_at(cable, "near", "sharp"),
        message=f"The lead {cable.title} is {gap.text} from a sharp edge{bare}; without a grommet "
        f"or a sleeve {_millimetres(limit)} is the least. Vibration saws through insulation, and a "
        "short circuit there takes the rail down.",
        do="Line the edge with a grommet, sleeve the lead there, or clamp it farther away, and "
        "declare that.",
    )


RULES = (
    battery_retained_once,
    device_not_retained,
    gyro_or_receiver_not_isolated,
    plug_not_secured,
    lead_without_strain_relief,
    bend_too_tight,
    too_close,
    chafe_point,
)
