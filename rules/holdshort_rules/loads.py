"""Loads on the controls: what the air asks of servos, and what linkages make of it."""

import math
from collections.abc import Iterable, Iterator
from typing import Final

from holdshort.api import (
    ANGLE,
    FLIGHT_CONTROLS,
    SHARE,
    STEERING,
    TORQUE,
    Aircraft,
    Because,
    Clean,
    Finding,
    Fitted,
    Hold,
    LinkPosition,
    LoadPoint,
    Need,
    NotChecked,
    Option,
    Outcome,
    Place,
    Quantity,
    QuantityType,
    Servo,
    ServoTorque,
    Severity,
    SurfaceLoads,
    ThrowTravel,
    advantages,
    highest_torque,
    in_steady_flight,
    listed,
    plural,
    rule,
    servo_torque,
    show_angle,
    show_share,
    show_torque,
    show_volts,
)

_ROUNDING: Final = 1e-9
"""Shares and angles closer than this are the same."""

MARGIN: Final = Option(
    "servo-too-weak",
    "margin",
    "150 %",
    QuantityType(SHARE),
    "what a servo must have of the torque that the load asks of it",
)


@rule(
    "servo-too-weak",
    title="A servo without the torque for its surface",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="loads",
    sources=("thin-aerofoil", "G3", "practice"),
    options=(MARGIN,),
)
def servo_too_weak(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge the torque of the weakest servo of each surface against the load at its worst."""
    unknown = _Unknown(aircraft)
    margin = MARGIN.of(aircraft)
    for study in aircraft.control_loads.surfaces:
        if not study.hinged:
            continue
        worst, weakest = study.worst, study.weakest
        if study.gaps or study.load_gaps or study.needs:
            unknown.add(study, (*study.gaps, *study.load_gaps), study.needs)
        elif study.stopped:
            unknown.add(study, ("a linkage that goes through the whole throw",), ())
        elif worst is None or weakest is None:
            unknown.add(study, (), study.torque_needs)
        elif (study.margin or 0.0) < margin - _ROUNDING:
            yield _too_weak(aircraft, study, worst[0].link, worst[1], weakest, margin)
        elif weakest.needs:
            unknown.add(study, (), study.torque_needs)
        else:
            yield Clean(aircraft.setup.place("surfaces", study.name))
    yield from unknown.told()


def _too_weak(
    aircraft: Aircraft,
    study: SurfaceLoads,
    link: ThrowTravel,
    point: LoadPoint,
    weakest: ServoTorque,
    margin: Quantity,
) -> Finding:
    has = weakest.torque / point.torque
    speed = f"{study.speed or 0.0:.3g} m/s"
    least = "at most " if weakest.needs else ""
    return Finding(
        at=aircraft.setup.place("surfaces", study.name),
        message=f"At {show_angle(point.surface)}{link.way} and {speed} the load on `{study.name}` "
        f"may ask {show_torque(point.torque)} of `{weakest.servo}`, which has {least}"
        f"{show_torque(weakest.torque)} at {show_volts(weakest.volts)} in the "
        f"{weakest.case.name} case: {show_share(has)} of it, where {margin.text} is wanted. "
        "A servo that the air holds back does not move the surface as far as asked, just when "
        "the aircraft is fastest, and draws its stall current.",
        do=f"Fit a servo with {show_torque(point.torque * margin)} or more at "
        f"{show_volts(weakest.volts)}; {_longer_horn(aircraft, study, margin)}; or take less throw "
        "at speed.",
        because=tuple(_grounds(aircraft, study, point, weakest)),
    )


def _longer_horn(aircraft: Aircraft, study: SurfaceLoads, margin: Quantity) -> str:
    """Say what a longer horn would do; the arm must stay clear of the line of the pushrod."""
    clear = CLEAR.of(aircraft)
    found = aircraft.control_loads.longer_horn(study, margin, clear)
    if found is None or found.link is None or study.link is None:
        return f"no longer horn alone does it with {clear.text} left to the arm's dead centre"
    worst = max(found.travels, key=lambda link: abs(link.travel.positions[-1].arm))
    end = worst.travel.positions[-1]
    lengths = f"{found.link.horn * 1e3:.1f} mm instead of {study.link.horn * 1e3:.1f} mm"
    if worst.throw.driven == "arm":
        return f"or a horn of {lengths}, with which the surface goes {show_angle(worst.reached)}"
    return f"or a horn of {lengths}, for which the servo must turn {show_angle(abs(end.arm))}"


def _grounds(
    aircraft: Aircraft, study: SurfaceLoads, point: LoadPoint, weakest: ServoTorque
) -> Iterator[Because]:
    """Yield what the figures of a finding rest on."""
    place = aircraft.setup.place("surfaces", study.name)
    pressure = f"{(study.pressure or 0.0) / 1000.0:.3g} kPa"
    yield Because(
        Place(place.file, (*place.path, "loads")),
        f"{point.moment:.3g} N.m about the hinge at a dynamic pressure of {pressure}",
    )
    servo = aircraft.setup.devices[weakest.servo]
    if weakest.basis != "stated":
        words = {
            "between": "interpolated between two stated voltages",
            "above": "as at the highest stated voltage",
            "below": "less than at the lowest stated voltage, in proportion to the voltage",
        }[weakest.basis]
        yield Because(servo.part_place("ratings"), f"the torque of `{servo.part_name}`: {words}")
    if study.assumptions:
        yield Because(place, f"taken: {'; '.join(study.assumptions)}")


class _Unknown:
    """What a rule could not judge, gathered into one outcome: surfaces with like gaps together."""

    def __init__(self, aircraft: Aircraft) -> None:
        self.aircraft = aircraft
        self.gaps: dict[tuple[str, ...], list[str]] = {}
        self.needs: dict[Need, None] = {}

    def add(self, study: SurfaceLoads, gaps: tuple[str, ...], needs: Iterable[Need]) -> None:
        if gaps:
            self.gaps.setdefault(gaps, []).append(study.name)
        self.needs.update(dict.fromkeys(needs))

    def told(self) -> Iterator[NotChecked]:
        texts = [
            f"{listed(gaps)} of {listed(f'`{name}`' for name in names)}"
            for gaps, names in self.gaps.items()
        ]
        texts += dict.fromkeys(need.text for need in self.needs)
        if not texts:
            return
        names = [name for group in self.gaps.values() for name in group]
        place = self.aircraft.setup.place("surfaces", *(names if len(names) == 1 else ()))
        if not names:
            place = next(iter(self.needs)).place
        yield NotChecked(place, "; ".join(texts))


CLEAR: Final = Option(
    "linkage-over-centre",
    "clear",
    "15 deg",
    QuantityType(ANGLE, zero=True),
    "how far arm and horn must stay from being in line with the pushrod",
)


@rule(
    "linkage-over-centre",
    title="A linkage that goes to or past its dead centre",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="loads",
    sources=("linkage-statics", "G3", "G9", "practice"),
    options=(CLEAR,),
)
def linkage_over_centre(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge how near arm and horn come to the line of the pushrod at the ends of each throw."""
    unknown = _Unknown(aircraft)
    clear = CLEAR.of(aircraft)
    for study in aircraft.control_loads.surfaces:
        place = aircraft.setup.place("surfaces", study.name, "linkage")
        close = [link for link in study.travels if _near(study, link, clear)]
        if study.gaps:
            unknown.add(study, study.gaps, ())
        elif study.stopped:
            yield _past(aircraft, study, study.stopped[0])
        elif close:
            worst = max(close, key=lambda link: max(link.travel.positions[-1][3:]))
            yield _close(aircraft, study, worst, clear)
        else:
            yield Clean(place)
    yield from unknown.told()


def _near(study: SurfaceLoads, link: ThrowTravel, clear: float) -> str:
    """Return ``arm`` or ``horn`` where it ends too near the line of the pushrod, or nothing.

    An arm near it unloads its servo, which is done on purpose where a surface only opens.
    """
    if not link.travel.positions:
        return ""
    end: LinkPosition = link.travel.positions[-1]
    limit = math.pi / 2.0 - clear + _ROUNDING
    if end.horn_off > limit:
        return "horn"
    return "arm" if end.arm_off > limit and study.function in FLIGHT_CONTROLS else ""


_AT_ARM: Final = (
    "There the arm is in line with the pushrod: it moves the surface no further, and past it the "
    "surface goes back, or the linkage locks."
)
_AT_HORN: Final = (
    "There the horn is in line with the pushrod: no torque of the servo holds the surface, which "
    "can flip over centre and stay."
)


def _past(aircraft: Aircraft, study: SurfaceLoads, link: ThrowTravel) -> Finding:
    dead = link.travel.dead_centre
    wanted = f"{show_angle(link.throw.turn)}{link.way}"
    what = "throw" if link.throw.driven == "surface" else "turn of the arm"
    if link.travel.positions:
        short = f"stops at {show_angle(link.reached)} of the surface"
    else:
        short = "is at its dead centre at neutral already"
    return Finding(
        at=aircraft.setup.place("surfaces", study.name, "linkage"),
        message=f"The linkage of `{study.name}` {short}, short of the {what} of {wanted}. "
        f"{_AT_ARM if dead == 'arm' else _AT_HORN}",
        do=_ease(dead, link),
        because=tuple(_tried(aircraft, study, link)),
    )


def _close(aircraft: Aircraft, study: SurfaceLoads, link: ThrowTravel, clear: Quantity) -> Finding:
    end: LinkPosition = link.travel.positions[-1]
    part = _near(study, link, clear)
    left = math.pi / 2.0 - (end.horn_off if part == "horn" else end.arm_off)
    return Finding(
        at=aircraft.setup.place("surfaces", study.name, "linkage"),
        message=f"At {show_angle(link.reached)}{link.way} the {part} of `{study.name}` is "
        f"{show_angle(left)} from being in line with the pushrod; {clear.text} is wanted. A little "
        "play, flex or over-travel takes it there. "
        f"{_AT_ARM if part == 'arm' else _AT_HORN}",
        do=_ease(part, link),
        because=tuple(_tried(aircraft, study, link)),
    )


def _ease(part: str, link: ThrowTravel) -> str:
    """Say what takes arm or horn away from the line of the pushrod.

    What is driven, the surface by a throw or the arm by a travel, turns as far with other lengths.
    """
    square = f"set the {part} square to the pushrod at neutral"
    if (part == "arm") == (link.throw.driven == "arm"):
        less = "travel" if part == "arm" else "throw"
        return f"Take less {less}, or {square}: other lengths leave the {part} where it is."
    if part == "arm":
        return (
            "Lengthen the arm or shorten the horn, so that the arm turns less for the same throw; "
            f"{square}; or take less throw."
        )
    return (
        "Lengthen the horn or shorten the arm, so that the horn and the surface turn less; "
        f"{square}; or take less travel."
    )


def _tried(aircraft: Aircraft, study: SurfaceLoads, link: ThrowTravel) -> Iterator[Because]:
    """Say what a linkage was taken to be where it is not declared."""
    taken = [text for text in study.assumptions if "`linkage." in text]
    if not link.unsure:
        taken = [text for text in taken if "`linkage.pushes`" not in text]
    if taken:
        place = aircraft.setup.place("surfaces", study.name, "linkage")
        yield Because(place, f"taken: {'; '.join(taken)}")


KEPT: Final = Option(
    "linkage-loses-advantage",
    "kept",
    "75 %",
    QuantityType(SHARE),
    "what a linkage must keep at full throw of its mechanical advantage at neutral",
)


@rule(
    "linkage-loses-advantage",
    title="A linkage that loses its mechanical advantage toward full throw",
    severity=Severity.NOTE,
    hold=Hold.FLIGHT,
    subject="loads",
    sources=("linkage-statics", "practice"),
    options=(KEPT,),
)
def linkage_loses_advantage(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge how much of its advantage at neutral each linkage keeps through its throws."""
    unknown = _Unknown(aircraft)
    kept = KEPT.of(aircraft)
    for study in aircraft.control_loads.surfaces:
        if study.gaps:
            unknown.add(study, study.gaps, ())
            continue
        if study.stopped:
            unknown.add(study, ("a linkage that goes through the whole throw",), ())
            continue
        left = [
            (kept_there, position, link)
            for link in study.travels
            for kept_there, position in zip(
                advantages(link.travel.positions), link.travel.positions, strict=True
            )
        ]
        least, position, link = min(left, key=lambda one: one[0])
        if least >= kept - _ROUNDING:
            yield Clean(aircraft.setup.place("surfaces", study.name, "linkage"))
        else:
            yield _weaker(aircraft, study, link, position, least, kept)
    yield from unknown.told()


def _weaker(
    aircraft: Aircraft, study: SurfaceLoads, link: ThrowTravel, position: LinkPosition,
    least: float, kept: Quantity,
) -> Finding:  # fmt: skip
    return Finding(
        at=aircraft.setup.place("surfaces", study.name, "linkage"),
        message=f"At {show_angle(abs(position.surface))}{link.way} the linkage of `{study.name}` "
        f"has {show_share(least)} of the mechanical advantage that it has at neutral; {kept.text} "
        "is wanted. The load grows with the throw, and there the servo has least hold on the "
        "surface.",
        do="Set arm and horn square to the pushrod at neutral; or lengthen the horn, so that the "
        "servo turns further for the same throw.",
        because=tuple(_tried(aircraft, study, link)),
    )


FLOOR: Final = Option(
    "servo-below-code-floor",
    "floor",
    "45 oz.in",
    QuantityType(TORQUE),
    "the least torque of a servo on a surface that steers",
    "P4",
)


@rule(
    "servo-below-code-floor",
    title="A servo below the least torque that a code asks for",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="loads",
    sources=("P4",),
    options=(FLOOR,),
)
def servo_below_code_floor(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge the torque of each servo that steers, at its voltage in steady flight."""
    floor = FLOOR.of(aircraft)
    needs: dict[Need, None] = {}
    below: dict[Place, tuple[ServoTorque | None, list[Fitted]]] = {}
    for servo in _steering_servos(aircraft):
        part = servo.part
        most = highest_torque(part) if isinstance(part, Servo) else None
        found = servo_torque(aircraft.power, servo, in_steady_flight(aircraft.power))
        if most is not None and most < floor - _ROUNDING:
            below.setdefault(servo.part_place("ratings"), (None, []))[1].append(servo)
        elif not isinstance(found, ServoTorque):
            needs.update(dict.fromkeys(found))
        elif found.torque < floor - _ROUNDING:
            below[servo.at()] = (found, [servo])
        elif found.needs:
            needs.update(dict.fromkeys(found.needs))
        else:
            yield Clean(servo.at())
    for place, (torque, servos) in below.items():
        yield _below_floor(place, torque, servos, floor)
    if needs:
        texts = dict.fromkeys(need.text for need in needs)
        yield NotChecked(next(iter(needs)).place, "; ".join(texts))


def _steering_servos(aircraft: Aircraft) -> Iterator[Fitted]:
    names = dict.fromkeys(
        servo
        for name, surface in aircraft.setup.surfaces.items()
        if aircraft.control_loads.function(name) in STEERING
        for servo in surface.servo
    )
    for name in names:
        servo = aircraft.setup.devices.get(name)
        if servo is not None and servo.kind == "servo":
            yield servo


def _below_floor(
    place: Place, torque: ServoTorque | None, servos: list[Fitted], floor: Quantity
) -> Finding:
    first = servos[0]
    if torque is None:
        most = highest_torque(first.part) if isinstance(first.part, Servo) else None
        what = f"has at most {show_torque(most or 0.0)}"
        who = f"`{first.part_name}`, fitted as {listed(f'`{servo.name}`' for servo in servos)},"
    else:
        what = f"has {show_torque(torque.torque)} at {show_volts(torque.volts)} in steady flight"
        who = f"`{first.name}`"
    return Finding(
        at=place,
        message=f"{who} {what}; a giant-scale association code asks for {floor.text} "
        f"({show_torque(floor)}) or more of every servo that steers, as a floor for its smaller "
        "aircraft. Below it a gust, friction or an ageing gear can hold the surface back.",
        do=f"Fit {plural(len(servos), 'a servo', 'servos')} with {show_torque(floor)} or more at "
        "the voltage of the rail, and what the load asks beyond that.",
    )


@rule(
    "twin-servos-differ",
    title="Servos of one surface that are not alike",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="loads",
    sources=("practice",),
)
def twin_servos_differ(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether the servos that move one surface together are of one kind."""
    for name, surface in aircraft.setup.surfaces.items():
        servos = [aircraft.setup.devices.get(servo) for servo in surface.servo]
        fitted = [servo for servo in servos if servo is not None and servo.kind == "servo"]
        if len(servos) < 2:  # noqa: PLR2004  - one servo has no twin
            continue
        place = aircraft.setup.place("surfaces", name, "servo")
        if len(fitted) < len(servos):
            yield NotChecked(place, f"servos that are declared, for `{name}`")
            continue
        found = _unlike(fitted)
        if isinstance(found, Need):
            yield NotChecked(found.place, found.text)
        elif found:
            yield _differ(name, place, fitted, found)
        else:
            yield Clean(place)


def _unlike(servos: list[Fitted]) -> str | Need:
    """Return in which figures servos differ, or what is missing to know; nothing where alike."""
    if len({servo.part_name for servo in servos}) == 1:
        return ""
    facts = [_figures(servo) for servo in servos]
    for key in facts[0]:
        stated = [one[key] for one in facts]
        known = [value for value in stated if value]
        if len(set(known)) > 1:
            shown = (
                f"`{servo.part_name}` {value}"
                for servo, value in zip(servos, stated, strict=True)
                if value
            )
            return f"{key}: {listed(dict.fromkeys(shown))}"
    for servo, one in zip(servos, facts, strict=True):
        for key, value in one.items():
            if not value:
                return Need(servo.part_place(), f"the {key} of part `{servo.part_name}`")
    return ""


def _figures(servo: Fitted) -> dict[str, str]:
    """Return what must be alike in twins, in words; nothing where it is not stated."""
    part = servo.part
    if not isinstance(part, Servo):
        return {}
    ratings = sorted(part.ratings or (), key=lambda rating: rating.at)
    pulse = part.pulse
    torques = [f"{rating.torque:.4g} N.m at {rating.at:g} V" for rating in ratings if rating.torque]
    speeds = [f"{rating.speed:g} s/60deg at {rating.at:g} V" for rating in ratings if rating.speed]
    throw = f"{part.throw.angle / part.throw.pulse:.4g} rad/s of pulse" if part.throw else ""
    found = {
        "torque": listed(torques) if torques else "",
        "speed": listed(speeds) if speeds else "",
        "neutral pulse": f"{pulse.centre * 1e6:g} us" if pulse and pulse.centre else "",
        "drive": part.type or "",
    }
    return {**found, "throw": throw} if throw else found


def _differ(name: str, place: Place, servos: list[Fitted], found: str) -> Finding:
    named = listed(f"`{servo.name}` ({servo.part_name})" for servo in servos)
    return Finding(
        at=place,
        message=f"`{name}` is moved by {named}, which are not alike in {found}. Servos that answer "
        "unlike on one surface work against each other: they draw current at rest, wear, and the "
        "stronger carries the load alone.",
        do="Fit servos of one part, and match their centres and ends with the pushrods off.",
        because=tuple(
            Because(servo.at("part"), f"`{servo.name}` is a `{servo.part_name}`")
            for servo in servos
        ),
    )


RULES: Final = (
    servo_too_weak,
    linkage_over_centre,
    linkage_loses_advantage,
    servo_below_code_floor,
    twin_servos_differ,
)
