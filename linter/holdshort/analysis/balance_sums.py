"""Moments: the mass and centre of gravity of loads, and how closely they are known.

The centre of gravity is the sum of moments over the sum of masses (FAA-H-8083-1B ch. 2 and AC
43.13-1B ch. 10: arm times weight is moment, moments over weights is the arm of the whole).

Errors are propagated to first order, u^2 = sum (df/dx_i)^2 u_i^2 over independent sources (law of
propagation of uncertainty, JCGM 100:2008, 5.1.2, from memory). A declared accuracy of plus or minus
a is taken as a rectangle, u = a / sqrt(3) (there 4.3.7, from memory). What is told is the expanded
uncertainty of twice the standard one, about 95 % (there 6.2 and 6.3, from memory).
"""

import math
from collections.abc import Iterable, Sequence
from typing import Final, NamedTuple

from holdshort.setup import Place

COVERAGE: Final = 2.0
"""How many standard uncertainties a told one is."""

STATION: Final = 0
SIDE: Final = 1
HEIGHT: Final = 2
AXES: Final = (STATION, SIDE, HEIGHT)

Where = tuple[float | None, float | None, float | None]
"""Station (aft positive), side (right positive) and height (up positive), m; None is unknown."""


class Error(NamedTuple):
    """One independent source of error: its name and its standard uncertainty, or None: unknown.

    Loads that share a source, such as a thing taken out here and put in there, are wrong together.
    """

    source: str
    standard: float | None


EXACT: Final = Error("", 0.0)


class Load(NamedTuple):
    """A mass at a place; below zero for what is taken away.

    ``name`` is how messages name it. ``mass``: kg. The errors are those of its mass (kg) and of
    each of its three places (m). ``declared`` is where it stands in the file.
    """

    name: str
    mass: float
    where: Where
    mass_error: Error
    place_error: Error
    declared: Place


class Reckoned(NamedTuple):
    """A figure and its expanded uncertainty, both in SI; ``spread`` is None where not known."""

    value: float
    spread: float | None


def half_width(accuracy: float | None) -> float | None:
    """Return the standard uncertainty of what is right within plus or minus ``accuracy``."""
    return None if accuracy is None else accuracy / math.sqrt(3.0)


def total_mass(loads: Iterable[Load]) -> Reckoned:
    """Return the sum of the masses, kg."""
    total = 0.0
    errors: dict[str, tuple[float, float | None]] = {}
    for load in loads:
        total += load.mass
        _gather(errors, load.mass_error, _sign(load))
    return Reckoned(total, _expanded(errors))


def centre(loads: Sequence[Load], axis: int) -> Reckoned | None:
    """Return the centre of gravity along ``axis``, m; None where a place is not known.

    Raises ZeroDivisionError where the loads weigh nothing.
    """
    if unplaced(loads, axis):
        return None
    mass = math.fsum(load.mass for load in loads)
    middle = math.fsum(load.mass * (load.where[axis] or 0.0) for load in loads) / mass
    errors: dict[str, tuple[float, float | None]] = {}
    for load in loads:
        arm = (load.where[axis] or 0.0) - middle
        _gather(errors, load.mass_error, _sign(load) * arm / mass)
        place = load.place_error
        _gather(errors, Error(f"{place.source} at", place.standard), load.mass / mass)
    return Reckoned(middle, _expanded(errors))


def unplaced(loads: Iterable[Load], axis: int) -> tuple[Load, ...]:
    """Return the loads whose place along ``axis`` is not known."""
    return tuple(load for load in loads if load.mass != 0.0 and load.where[axis] is None)


def _sign(load: Load) -> float:
    return -1.0 if load.mass < 0.0 else 1.0


def _gather(errors: dict[str, tuple[float, float | None]], error: Error, derivative: float) -> None:
    known = errors.get(error.source, (0.0, 0.0))[0]
    errors[error.source] = known + derivative, error.standard


def _expanded(errors: dict[str, tuple[float, float | None]]) -> float | None:
    square = 0.0
    for derivative, standard in errors.values():
        if derivative == 0.0:
            continue
        if standard is None:
            return None
        square += (derivative * standard) ** 2
    return COVERAGE * math.sqrt(square)
