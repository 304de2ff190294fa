"""The limits of the centre of gravity over the masses of one aircraft, as places to draw."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from holdshort.analysis.balance import BalanceState, BalanceStudy
    from holdshort.analysis.balance_states import Limits

_LIMIT_STEPS: Final = 40
_ROOM: Final = 0.06
"""How much more than the states the masses span, as a part of the heaviest."""


def mass_span(known: Sequence["BalanceState"]) -> tuple[float, float]:
    """Return between which masses a picture of these states reaches, kg; one has a mass."""
    masses = [state.mass.value for state in known if state.mass]
    room = max(masses) * _ROOM
    return min(masses) - room, max(masses) + room


def limit_spots(
    study: "BalanceStudy", known: Sequence["BalanceState"]
) -> list[tuple[float, "Limits"]]:
    """Return masses, kg, from the least to the most of a picture, each with its limits, m."""
    low, high = mass_span(known)
    steps = [low + (high - low) * step / _LIMIT_STEPS for step in range(_LIMIT_STEPS + 1)]
    corners = [mass for mass in study.allowed.corners() if low < mass < high]
    spots = [(mass, study.limits_at(mass)) for mass in sorted({*steps, *corners})]
    return [(mass, limits) for mass, limits in spots if limits]
