"""Between which stations the centre of gravity may lie, at each mass."""

import math
from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from holdshort.analysis.balance_states import Limits
from holdshort.analysis.facts import Need
from holdshort.setup import Quantity, Setup

if TYPE_CHECKING:
    from holdshort.setup.balance import Balance, Range

_ROUNDING: Final = 1e-9
"""Masses closer than this share of them are the same: a sum of loads is rounded."""


class AllowedRange:
    """The declared range of one aircraft: one for every mass, an envelope by mass, or both.

    Where both are declared the tighter counts.
    """

    def __init__(self, setup: Setup, balance: "Balance") -> None:
        """Take the setup and its balance."""
        self.setup = setup
        self.balance = balance

    def at(self, mass: float) -> Limits | Need:
        """Return the limits at ``mass``, kg, or what is missing to know them."""
        need = self._lacking()
        if need is not None:
            return need
        found = list(self._all_at(mass))
        missing = [limits for limits in found if isinstance(limits, Need)]
        if missing:
            return missing[0]
        known = [limits for limits in found if isinstance(limits, Limits)]
        limits = Limits(max(one.forward for one in known), min(one.aft for one in known))
        if limits.forward > limits.aft:
            key = "range" if self.balance.range is not None else "envelope"
            text = f"a range whose `to` lies behind its `from`, at {mass:.2f} kg"
            return Need(self.setup.place("balance", key), text)
        return limits

    def _lacking(self) -> Need | None:
        for section in ("range", "envelope", "chord"):
            hurt = self.setup.broken_under("balance", section)
            if hurt is not None:
                return Need(self.setup.place(*hurt), f"the `{section}` with a mistake of form")
        balance = self.balance
        if balance.range is None and not balance.envelope:
            place = self.setup.place("balance", "range")
            return Need(place, "the range in which the centre of gravity may lie")
        every = (*([balance.range] if balance.range else ()), *(balance.envelope or ()))
        limits = [limit for one in every for limit in (one.from_, one.to)]
        if balance.chord is None and any(limit.text.endswith("%") for limit in limits):
            place = self.setup.place("balance", "chord")
            return Need(place, "the chord that the range is a share of, and its leading edge")
        return None

    def _all_at(self, mass: float) -> Iterator[Limits | Need]:
        if self.balance.range is not None:
            yield self._limits(self.balance.range)
        if self.balance.envelope:
            yield self._envelope_at(mass)

    def _limits(self, declared: "Range") -> Limits:
        return Limits(self._station(declared.from_), self._station(declared.to))

    def _station(self, limit: Quantity) -> float:
        """Return a limit as a station, m: leading edge + share of chord (FAA-H-8083-1B ch. 3)."""
        chord = self.balance.chord
        if chord is None or not limit.text.endswith("%"):
            return float(limit)
        return chord.leading_edge + limit * chord.length

    def corners(self) -> tuple[float, ...]:
        """Return the masses at which the envelope has a corner, kg."""
        return tuple(float(one.mass) for one in self.balance.envelope or ())

    def _envelope_at(self, mass: float) -> Limits | Need:
        corners = sorted(self.balance.envelope or (), key=lambda one: one.mass)
        for corner in corners:
            if math.isclose(corner.mass, mass, rel_tol=_ROUNDING):
                return self._limits(corner)
        for low, high in pairwise(corners):
            if low.mass < mass < high.mass:
                part = (mass - low.mass) / (high.mass - low.mass)
                ends = zip(self._limits(low), self._limits(high), strict=True)
                return Limits(*(start + part * (end - start) for start, end in ends))
        place = self.setup.place("balance", "envelope")
        return Need(place, f"the range at {mass:.2f} kg, which the envelope does not reach")
