"""The facts of control loads that rules in data pick from.

Torques and moments in newton metres, angles in degrees, speeds in metres per second; shares from 0.
"""

import math
from typing import Any, Final

from holdshort.analysis.aircraft import Aircraft
from holdshort.analysis.control_loads import SurfaceLoads
from holdshort.analysis.fact_book import FactBook
from holdshort.analysis.facts import Need
from holdshort.analysis.load_table import LoadRow, ThrowRow, load_table
from holdshort.document import Path

_LOAD_KEYS: Final = ("needs_newton_metres", "hinge_newton_metres")
_TORQUE_KEYS: Final = ("has_newton_metres", "lowest_volts")
_RATIO_KEY: Final = "has_over_needs_share"


def add_loads(book: FactBook, aircraft: Aircraft) -> None:
    """Add what each surface needs at its worst, what its servos have, and its linkage."""
    base: Path = ("computed", "loads")
    setup = aircraft.setup
    book.put(base, {}, setup.place("surfaces") if setup.surfaces else setup.place())
    table = load_table(aircraft)
    for row, study in zip(table.rows, aircraft.control_loads.surfaces, strict=True):
        facts: dict[str, Any] = {
            "function": row.function or None,
            "servos": list(row.servos),
            "speed_metres_per_second": row.speed,
            "throws": None if study.gaps else [_throw(throw) for throw in row.throws],
            **_load(row),
            **_torque(row),
        }
        path = (*base, row.surface)
        book.put(path, facts, setup.place("surfaces", row.surface))
        _lacking(book, path, row, study)


def _load(row: LoadRow) -> dict[str, Any]:
    if row.needs is None:
        return {}
    return {
        "needs_newton_metres": row.needs,
        "hinge_newton_metres": row.moment,
        "worst_degrees": _degrees(row.angle),
        "worst_way": row.way,
    }


def _torque(row: LoadRow) -> dict[str, Any]:
    if row.has is None:
        return {}
    bound = "_at_most" if row.state == "at most" else ""
    figures = zip((*_TORQUE_KEYS, _RATIO_KEY), (row.has, row.volts, row.ratio), strict=True)
    return {
        **{f"{key}{bound}": value for key, value in figures},
        "limited_by": row.servo,
        "limited_in": row.case,
    }


def _throw(throw: ThrowRow) -> dict[str, Any]:
    return {
        "way": throw.way,
        "told_by": throw.told_by,
        "surface_degrees": _degrees(throw.surface),
        "arm_degrees": _degrees(throw.arm),
        "advantage_kept_share": throw.kept,
        "arm_from_dead_centre_degrees": _degrees(throw.arm_left),
        "horn_from_dead_centre_degrees": _degrees(throw.horn_left),
        "dead_centre": throw.dead_centre or None,
    }


def _lacking(book: FactBook, path: Path, row: LoadRow, study: SurfaceLoads) -> None:
    """Note what is not known, and what is missing to know it."""
    place = book.setup.place("surfaces", row.surface)
    gaps = [Need(place, f"{key} of `{row.surface}`") for key in study.gaps]
    size = [Need(place, f"{key} of `{row.surface}`") for key in study.load_gaps]
    otherwise = Need(place, f"a load of `{row.surface}` that can be worked out")
    needs = [*gaps, *size, *study.needs]
    lacking: dict[str, list[Need]] = {}
    if gaps:
        lacking["throws"] = gaps
    if study.hinged and row.needs is None:
        lacking |= dict.fromkeys(_LOAD_KEYS, needs)
    if row.state != "known":
        lacking |= {key: list(study.torque_needs) for key in _TORQUE_KEYS}
    if study.hinged and (row.ratio is None or row.state != "known"):
        lacking[_RATIO_KEY] = [*needs, *study.torque_needs]
    for key, missing in lacking.items():
        book.lack((*path, key), missing, otherwise)


def _degrees(angle: float | None) -> float | None:
    return None if angle is None else math.degrees(angle)
