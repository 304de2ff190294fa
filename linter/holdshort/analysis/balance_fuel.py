"""How much fuel is in which tank: dry, at landing, at take-off and on the way.

Tanks are used in their order, those with one number together, each in proportion to what it holds;
a tank that stays full is used last (common practice, no source).
"""

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Final, NamedTuple

from holdshort.analysis.balance_loads import Volumes
from holdshort.analysis.facts import Need
from holdshort.setup import Place, Setup

if TYPE_CHECKING:
    from holdshort.setup.balance import Balance, Tank, Weighing

KEROSENE: Final = 800.0
"""Density of kerosene, kg/m3 (common practice, no source)."""

_BURNS: Final = frozenset({"turbine", "piston"})
_LEAST: Final = 1e-12  # m3: below it volumes are the same


class Stage(NamedTuple):
    """A part of the flight in which the same tanks are used: the fuel at its start and its end."""

    start: Volumes
    end: Volumes

    def at(self, part: float) -> Volumes:
        """Return the fuel when ``part`` of the stage (0 to 1) is flown."""
        return {
            name: volume + part * (self.end[name] - volume) for name, volume in self.start.items()
        }


class Fuel:
    """The fuel of one aircraft."""

    def __init__(self, setup: Setup, balance: "Balance") -> None:
        """Take the setup and its balance."""
        self.setup = setup
        self.balance = balance
        self.tanks: Mapping[str, Tank] = balance.tanks or {}

    @property
    def assumed(self) -> bool:
        """True where the density is taken for granted."""
        return self.balance.fuel_density is None and self.density is not None

    @property
    def density(self) -> float | None:
        """The density, kg/m3: as declared, or that of kerosene for a turbine."""
        declared = self.balance.fuel_density
        if declared is not None:
            return float(declared)
        aircraft = self.setup.aircraft
        return KEROSENE if aircraft and aircraft.propulsion == "turbine" else None

    @property
    def carried(self) -> bool | None:
        """True where the aircraft carries fuel, None where that is not known."""
        aircraft = self.setup.aircraft
        if self.tanks or self.setup.broken_under("balance", "tanks"):
            return True
        if aircraft is None:
            return None
        if aircraft.fuel is not None:
            return True
        return None if aircraft.propulsion is None else aircraft.propulsion in _BURNS

    def lacking(self) -> Need | None:
        """Return what is missing to know the fuel in any state that is not without it."""
        hurt = self.setup.broken_under("balance", "tanks")
        if hurt is not None:
            return Need(self.setup.place(*hurt), "the tank with a mistake of form")
        if not self.tanks:
            return Need(self._place("tanks"), "the tanks: what each holds and where it sits")
        if self.density is None:
            return Need(self._place("fuel-density"), "the density of the fuel")
        return None

    def _place(self, *path: str) -> Place:
        return self.setup.place("balance", *path)

    def weighed(self, name: str) -> Volumes | Need:
        """Return the fuel that was aboard in a weighing, or what is missing to know it."""
        weighing = (self.balance.weighings or {})[name]
        if self.carried is False or (self.carried and self._is_drained(weighing)):
            return {}
        lacking = self.lacking()
        if lacking is not None:
            return lacking
        strange = [tank for tank in weighing.tanks or {} if tank not in self.tanks]
        if strange:
            return Need(self._place("tanks"), f"the tank `{strange[0]}`, which had fuel in it")
        aboard = dict(self._filled(weighing.fuel)) if weighing.fuel else {}
        aboard.update({tank: float(volume) for tank, volume in (weighing.tanks or {}).items()})
        unsaid = [tank for tank in self.tanks if tank not in aboard]
        if unsaid:
            place = self._place("weighings", name, "fuel")
            return Need(place, f"how much fuel was in `{unsaid[0]}` when it was weighed")
        return aboard

    def _is_drained(self, weighing: "Weighing") -> bool:
        """True where no tank is declared, and the weighing says that there was no fuel."""
        unread = self.setup.broken_under("balance", "tanks")
        return not self.tanks and unread is None and weighing.fuel == "empty"

    def _filled(self, how: str) -> Iterator[tuple[str, float]]:
        for name, tank in self.tanks.items():
            full = how == "full" or (how == "header-full" and tank.stays_full)
            yield name, float(tank.capacity) if full else _unusable(tank)

    @property
    def full(self) -> Volumes:
        """The fuel with every tank filled, m3."""
        return dict(self._filled("full"))

    @property
    def dry(self) -> Volumes:
        """The fuel with all tanks used up but those that stay full, m3."""
        return dict(self._filled("header-full"))

    @property
    def empty(self) -> Volumes:
        """The fuel that cannot be used, m3."""
        return dict(self._filled("empty"))

    def stages(self, left: float) -> tuple[Stage, ...] | Need:
        """Return the flight from full tanks until ``left`` is aboard, m3, or what is missing."""
        groups = self._groups()
        if isinstance(groups, Need):
            return groups
        found: list[Stage] = []
        now = self.full
        for group in groups:
            spare = sum(now.values()) - left
            usable = sum(now[name] - _unusable(self.tanks[name]) for name in group)
            if spare <= _LEAST or usable <= _LEAST:
                continue
            part = min(1.0, spare / usable)
            end = dict(now)
            for name in group:
                end[name] -= part * (now[name] - _unusable(self.tanks[name]))
            found.append(Stage(now, end))
            now = end
        return tuple(found)

    def _groups(self) -> tuple[tuple[str, ...], ...] | Need:
        """Return the tanks in the order they are used, those used together in one group."""
        mains = {name: tank for name, tank in self.tanks.items() if not tank.stays_full}
        headers = tuple(name for name, tank in self.tanks.items() if tank.stays_full)
        if len(mains) > 1:
            for name, tank in mains.items():
                if tank.order is None:
                    place = self._place("tanks", name, "order")
                    return Need(place, f"in which order `{name}` is used")
        orders = sorted({tank.order or 0 for tank in mains.values()})
        groups = [
            tuple(name for name, tank in mains.items() if (tank.order or 0) == order)
            for order in orders
        ]
        return tuple(group for group in (*groups, headers) if group)

    def landing(self) -> Volumes | Need:
        """Return the fuel at landing, or what is missing to know it."""
        left = self.balance.landing_fuel
        hurt = self.setup.broken_under("balance", "landing-fuel")
        if hurt is not None or left is None:
            return Need(self._place("landing-fuel"), "how much fuel is left at landing")
        full, empty = sum(self.full.values()), sum(self.empty.values())
        if not empty - _LEAST <= left <= full + _LEAST:
            return Need(
                self._place("landing-fuel"),
                f"a `landing-fuel` between what cannot be used ({empty * 1e3:.2f} l) and what the "
                f"tanks hold ({full * 1e3:.2f} l)",
            )
        stages = self.stages(left)
        if isinstance(stages, Need):
            return stages
        return stages[-1].end if stages else self.full


def _unusable(tank: "Tank") -> float:
    return min(float(tank.unusable or 0.0), float(tank.capacity))
