"""The load table of one aircraft: what every surface needs, what its servos have, its linkage.

N m, rad, m/s, Pa, V; shares as parts of one.
"""

import math
from collections.abc import Iterator
from typing import Literal, NamedTuple

from holdshort.analysis.aircraft import Aircraft
from holdshort.analysis.control_loads import Air, SurfaceLoads
from holdshort.analysis.control_throws import ThrowTravel
from holdshort.analysis.facts import Need
from holdshort.analysis.linkage import DeadCentre, advantages
from holdshort.document import show_path

State = Literal["known", "at most", "not known"]


class TravelPoint(NamedTuple):
    """One point of a throw: turn of the surface from neutral, rad, and torque at the servo, N m."""

    surface: float
    torque: float


class ThrowRow(NamedTuple):
    """One throw of a surface.

    ``way`` is the way of the trailing edge, or ``each way``; ``surface`` and ``arm`` are how far
    surface and arm get, rad. ``kept`` is the mechanical advantage there over that at neutral;
    ``arm_left`` and ``horn_left`` are how far arm and horn then are from the line of the pushrod,
    rad; all None where there is none. ``dead_centre`` is what comes in line before the end, or
    empty. ``pushing`` is None where it is not known whether the pushrod pushes, ``unsure`` where
    both are shown for that. ``points`` are empty where the load is not known.
    """

    way: str
    told_by: str
    surface: float
    arm: float | None
    kept: float | None
    arm_left: float | None
    horn_left: float | None
    dead_centre: DeadCentre
    pushing: bool | None
    unsure: bool
    points: tuple[TravelPoint, ...]


class LoadRow(NamedTuple):
    """One surface. What is not known is None.

    ``state`` says of ``has`` and ``ratio``: known, ``at most`` where a voltage may be lower, or not
    known. ``servo`` is the one that limits, with its torque ``has`` at ``volts`` in ``case``;
    ``needs`` is what the load asks of it at ``angle`` toward ``way``, ``moment`` that about the
    hinge; ``ratio`` is has over needs. ``missing`` is what would have to be declared.
    """

    surface: str
    function: str
    servos: tuple[str, ...]
    share: float
    state: State
    way: str
    angle: float | None
    speed: float | None
    pressure: float | None
    moment: float | None
    needs: float | None
    servo: str
    has: float | None
    volts: float | None
    case: str
    basis: str
    ratio: float | None
    throws: tuple[ThrowRow, ...]
    missing: tuple[str, ...]


class LoadTable(NamedTuple):
    """Everything there is to show of the loads of one aircraft.

    ``density`` is that of the air in kg/m3, None where it is not known; ``air`` says how it
    follows. ``assumptions`` has each text once, with the surfaces it is about. ``unread`` are
    entries with mistakes of form.
    """

    file: str
    aircraft: str
    air: str
    density: float | None
    rows: tuple[LoadRow, ...]
    assumptions: tuple[tuple[str, tuple[str, ...]], ...]
    unread: tuple[str, ...]


def load_table(aircraft: Aircraft) -> LoadTable:
    """Return the load table of an aircraft."""
    setup, loads = aircraft.setup, aircraft.control_loads
    air = loads.air
    told: dict[str, list[str]] = {}
    for study in loads.surfaces:
        for text in study.assumptions:
            told.setdefault(text, []).append(study.name)
    return LoadTable(
        file=setup.file,
        aircraft=setup.name,
        air=air.words if isinstance(air, Air) else "",
        density=air.density if isinstance(air, Air) else None,
        rows=tuple(_row(study) for study in loads.surfaces),
        assumptions=tuple((text, tuple(names)) for text, names in told.items()),
        unread=tuple(sorted(show_path(path) for path in setup.broken)),
    )


def _row(study: SurfaceLoads) -> LoadRow:
    worst, weakest = study.worst, study.weakest
    point = worst[1] if worst else None
    return LoadRow(
        surface=study.name,
        function=study.function,
        servos=study.servos,
        share=study.share,
        state=_state(study),
        way=worst[0].link.throw.way if worst else "",
        angle=point.surface if point else None,
        speed=study.speed if study.hinged else None,
        pressure=study.pressure,
        moment=point.moment if point else None,
        needs=point.torque if point else None,
        servo=weakest.servo if weakest else "",
        has=weakest.torque if weakest else None,
        volts=weakest.volts if weakest else None,
        case=weakest.case.name if weakest else "",
        basis=weakest.basis if weakest else "",
        ratio=study.margin,
        throws=tuple(_throw(study, at, link) for at, link in enumerate(study.travels)),
        missing=tuple(dict.fromkeys(_missing(study))),
    )


def _state(study: SurfaceLoads) -> State:
    if study.weakest is None:
        return "not known"
    return "at most" if study.weakest.needs else "known"


def _missing(study: SurfaceLoads) -> Iterator[str]:
    yield from study.gaps
    yield from study.load_gaps
    needs: tuple[Need, ...] = (*study.needs, *study.torque_needs)
    yield from (need.text for need in needs)


def _throw(study: SurfaceLoads, at: int, link: ThrowTravel) -> ThrowRow:
    positions = link.travel.positions
    end = positions[-1] if positions else None
    loaded = study.loaded[at].points if study.loaded else ()
    return ThrowRow(
        way=link.throw.way,
        told_by=link.throw.told_by,
        surface=link.reached,
        arm=abs(end.arm) if end else None,
        kept=min(advantages(positions)) if end else None,
        arm_left=math.pi / 2.0 - end.arm_off if end else None,
        horn_left=math.pi / 2.0 - end.horn_off if end else None,
        dead_centre=link.travel.dead_centre,
        pushing=link.pushing,
        unsure=link.unsure,
        points=tuple(TravelPoint(point.surface, point.torque) for point in loaded),
    )
