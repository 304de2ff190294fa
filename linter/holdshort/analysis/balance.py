"""Where an aircraft balances in every state of its fuel and undercarriage, and where it may.

The states are those that the trade checks: with empty tanks (a header tank stays full), with the
fuel that is left at landing, at take-off, and on the way where the balance is worse than in any of
these; each with the undercarriage down and up. Landing is checked as take-off is, since what is
burnt moves the balance: x = (m1 x1 - mf xf) / (m1 - mf).
"""

import math
from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, Final, NamedTuple

from holdshort.analysis.balance_fuel import Fuel, Stage
from holdshort.analysis.balance_limits import AllowedRange
from holdshort.analysis.balance_loads import Base, Bases, Loads, Volumes, retracts
from holdshort.analysis.balance_states import (
    BalanceState,
    BalanceWords,
    Limits,
    written_in_inches,
)
from holdshort.analysis.balance_sums import (
    HEIGHT,
    SIDE,
    STATION,
    Load,
    Reckoned,
    centre,
    total_mass,
    unplaced,
)
from holdshort.analysis.facts import Need
from holdshort.setup import Place, Setup

if TYPE_CHECKING:
    from holdshort.analysis.balance_remedies import Remedy
    from holdshort.setup.balance import Balance

_STEPS: Final = 20
_WORSE: Final = 1e-6  # m: by this much a state on the way must be worse to be told
_ONE_PLACE: Final = 1e-3  # m: stations that are measured to be one; common practice, no source
_AXIS_WORDS: Final = ("station", "side", "height")


class StaleChange(NamedTuple):
    """Something that was fitted or moved after the weighing, and that no change accounts for."""

    name: str
    day: str
    place: Place
    weighing: str
    weighed: str


class _Tried(NamedTuple):
    """The fuel at one moment of the flight, and how far inside each limit it then is, m."""

    volumes: Volumes
    forward: float
    aft: float


class BalanceStudy:
    """The balance of one aircraft. What is not declared is missing, and said so."""

    def __init__(self, setup: Setup, balance: "Balance") -> None:
        """Take a setup and its section on balance."""
        self.setup = setup
        self.balance = balance
        self.fuel = Fuel(setup, balance)
        self.allowed = AllowedRange(setup, balance)
        self._loads = Loads(setup, balance, self.fuel.density)
        bases = Bases(self._loads, self.fuel.weighed)
        self.gears = ("down", "up") if retracts(setup, balance) else ("down",)
        self.bases = {gear: bases.of(gear) for gear in self.gears}

    @cached_property
    def words(self) -> BalanceWords:
        """How figures are told."""
        chord = self.balance.chord
        edge = (float(chord.leading_edge), float(chord.length)) if chord else None
        return BalanceWords(inches=written_in_inches(self.balance), chord=edge)

    @cached_property
    def states(self) -> tuple[BalanceState, ...]:
        """Every state that is looked at, in the order dry, landing, take-off, on the way."""
        return tuple(state for gear in self.gears for state in self._states(gear))

    def state(self, name: str, gear: str = "down") -> BalanceState:
        """Return one state by its name. Raises StopIteration where there is none."""
        told = self._gear_word(gear)
        return next(one for one in self.states if one.name == name and one.gear == told)

    @property
    def known(self) -> tuple[BalanceState, ...]:
        """The states of which both the balance and the limits are known."""
        return tuple(state for state in self.states if state.margin is not None)

    @property
    def worst(self) -> BalanceState | None:
        """The state that lies nearest to a limit, or farthest outside."""
        return min(self.known, key=lambda state: state.margin or 0.0, default=None)

    def _gear_word(self, gear: str) -> str:
        return gear if len(self.gears) > 1 else ""

    def _states(self, gear: str) -> Iterator[BalanceState]:
        fuel, base = self.fuel, self.bases[gear]
        if fuel.carried is False:
            yield self._state("ready to fly", gear, {})
            return
        lacking = fuel.lacking()
        if lacking is not None:
            yield self._state("dry", gear, {} if self._can_be_dry(base) else lacking)
            yield self._state("landing", gear, lacking)
            yield self._state("take-off", gear, lacking)
            return
        named = [self._state("dry", gear, fuel.dry), self._state("landing", gear, fuel.landing())]
        named.append(self._state("take-off", gear, fuel.full))
        yield from named
        yield from self._on_the_way(gear, named)

    def _can_be_dry(self, base: Base) -> bool:
        """True where the aircraft without fuel is known although its tanks are not."""
        return (
            not self.fuel.tanks
            and not self.setup.broken_under("balance", "tanks")
            and not (base.needs)
        )

    def _state(self, name: str, gear: str, volumes: Volumes | Need) -> BalanceState:
        base = self.bases[gear]
        if isinstance(volumes, Need):
            return self._unknown(name, gear, (*base.needs, volumes), base)
        if base.needs:
            return self._unknown(name, gear, base.needs, base)
        loads = (*base.loads, *self._loads.fuel(volumes))
        mass = total_mass(loads)
        if mass.value <= 0.0:
            text = "loads that, with the changes since, add up to more than nothing"
            need = Need(base.place, text)
            return self._unknown(name, gear, (need,), base)
        limits = self.allowed.at(mass.value)
        return BalanceState(
            name=name,
            gear=self._gear_word(gear),
            fuel=math.fsum(volumes.values()),
            mass=mass,
            station=centre(loads, STATION),
            side=centre(loads, SIDE),
            height=centre(loads, HEIGHT),
            limits=None if isinstance(limits, Need) else limits,
            needs=tuple(_place_need(load, STATION) for load in unplaced(loads, STATION)),
            limit_needs=(limits,) if isinstance(limits, Need) else (),
            side_needs=tuple(_place_need(load, SIDE) for load in unplaced(loads, SIDE)),
            place=base.place,
            volumes=tuple(volumes.items()),
        )

    def _unknown(self, name: str, gear: str, needs: tuple[Need, ...], base: Base) -> BalanceState:
        told = tuple(dict.fromkeys(needs))
        word = self._gear_word(gear)
        return BalanceState(
            name, word, None, None, None, None, None, None, told, (), (), base.place
        )

    def _on_the_way(self, gear: str, named: Sequence[BalanceState]) -> Iterator[BalanceState]:
        """Yield the worst states between take-off and landing, where they are worse than those."""
        if any(one.mass is None for one in named if one.name == "dry"):
            return
        margins = [(one.forward_margin, one.aft_margin) for one in named]
        forward = min((ahead for ahead, _ in margins if ahead is not None), default=None)
        aft = min((behind for _, behind in margins if behind is not None), default=None)
        if forward is None or aft is None:
            return
        tried = list(self._tried(gear))
        foremost = min(tried, key=lambda one: one.forward, default=None)
        rearmost = min(tried, key=lambda one: one.aft, default=None)
        if foremost is not None and foremost.forward < forward - _WORSE:
            yield self._state("foremost on the way", gear, foremost.volumes)
        if rearmost is not None and rearmost.aft < aft - _WORSE:
            yield self._state("rearmost on the way", gear, rearmost.volumes)

    def _tried(self, gear: str) -> Iterator[_Tried]:
        for stage in self._stages(gear):
            for part in self._parts(stage, gear):
                volumes = stage.at(part)
                mass, moment = self._mass_and_moment(volumes, gear)
                limits = self.limits_at(mass)
                if limits is not None:
                    middle = moment / mass
                    yield _Tried(volumes, middle - limits.forward, limits.aft - middle)

    def path(self, gear: str) -> tuple[BalanceState, ...]:
        """Return the states from take-off to landing, or until dry where landing is not known.

        Each stage is told in steps, with every point where the centre of gravity turns back and
        every mass at which the envelope has a corner. Empty where it cannot be known.
        """
        return tuple(
            self._state("on the way", gear, stage.at(part))
            for stage in self._stages(gear)
            for part in self._parts(stage, gear)
        )

    def _stages(self, gear: str) -> tuple[Stage, ...]:
        if self.fuel.lacking() is not None or self.bases[gear].needs:
            return ()
        landing = self.fuel.landing()
        end = self.fuel.dry if isinstance(landing, Need) else landing
        stages = self.fuel.stages(math.fsum(end.values()))
        return () if isinstance(stages, Need) else stages

    def _parts(self, stage: Stage, gear: str) -> list[float]:
        even = [step / _STEPS for step in range(_STEPS + 1)]
        return sorted({*even, *self._turns(stage, gear), *self._corners(stage, gear)})

    def _turns(self, stage: Stage, gear: str) -> Iterator[float]:
        """Yield where in a stage the centre of gravity turns back.

        Mass goes in a straight line, m0 + c t. The moment is M0 + A t + B t^2 exactly, as the
        middle of the fuel goes straight with the fill. The derivative of their quotient is zero
        where B c t^2 + 2 B m0 t + A m0 - c M0 = 0.
        """
        (mass, moment), (_, half), (end, last) = (
            self._mass_and_moment(stage.at(part), gear) for part in (0.0, 0.5, 1.0)
        )
        slope = end - mass
        curve = 2.0 * (last - 2.0 * half + moment)
        lean = last - moment - curve
        for root in _roots(curve * slope, 2.0 * curve * mass, lean * mass - slope * moment):
            if 0.0 < root < 1.0:
                yield root

    def _mass_and_moment(self, volumes: Volumes, gear: str) -> tuple[float, float]:
        loads = (*self.bases[gear].loads, *self._loads.fuel(volumes))
        moment = math.fsum(load.mass * (load.where[STATION] or 0.0) for load in loads)
        return math.fsum(load.mass for load in loads), moment

    def _corners(self, stage: Stage, gear: str) -> Iterator[float]:
        start, end = (self._mass_and_moment(stage.at(part), gear)[0] for part in (0.0, 1.0))
        for mass in self.allowed.corners():
            if start != end and 0.0 < (mass - start) / (end - start) < 1.0:
                yield (mass - start) / (end - start)

    @cached_property
    def empty_mass(self) -> Reckoned | None:
        """The mass with no fuel but what cannot be used, kg, or None where it is not known."""
        base = self.bases["down"]
        needs_tanks = self.fuel.carried is not False and self.fuel.lacking() is not None
        if base.needs or (needs_tanks and not self._can_be_dry(base)):
            return None
        mass = total_mass((*base.loads, *self._loads.fuel(self.fuel.empty)))
        return mass if mass.value > 0.0 else None

    @cached_property
    def flying_mass(self) -> Reckoned | None:
        """The mass at take-off, kg, or None where it is not known."""
        masses = [one.mass for one in self.states if one.name in {"take-off", "ready to fly"}]
        return masses[0] if masses else None

    @property
    def weighings(self) -> tuple[str, ...]:
        """The weighings that count."""
        return tuple(dict.fromkeys(base.weighing for base in self.bases.values() if base.weighing))

    @cached_property
    def stale(self) -> tuple[StaleChange, ...]:
        """What was fitted or moved after a weighing that counts, and is not among the changes."""
        return tuple(
            found for weighing in self.weighings for found in self._after_weighing(weighing)
        )

    def _after_weighing(self, weighing: str) -> Iterator[StaleChange]:
        record = (self.balance.weighings or {})[weighing]
        for name, day, place in self._dated():
            # What was not aboard is added as it is now, whenever that was done.
            absent = name in (record.without or ())
            if day > record.on and not absent and not self._accounted(name, day):
                yield StaleChange(name, day, place, weighing, record.on)

    def _dated(self) -> Iterator[tuple[str, str, Place]]:
        for name, fitted in self.setup.devices.items():
            device = fitted.device
            if device.at is not None and device.at.changed is not None:
                yield name, device.at.changed, fitted.at("at", "changed")
            turned = device.mounting.changed if device.mounting else None
            if turned is not None and device.mass is not None:
                yield name, turned, fitted.at("mounting", "changed")
        for name, item in (self.balance.items or {}).items():
            if item.changed is not None:
                yield name, item.changed, self._loads.place("items", name, "changed")

    def _accounted(self, name: str, day: str) -> bool:
        """True where a change of this thing on that day or later is worked in."""
        return any(
            (change.of or key) == name and change.on >= day
            for key, change in (self.balance.changes or {}).items()
        )

    @cached_property
    def assumptions(self) -> tuple[str, ...]:
        """What is taken for granted."""
        return tuple(self._assumed())

    def _assumed(self) -> Iterator[str]:
        yield (
            "An accuracy of plus or minus a is taken as any value within it alike, and errors as "
            "independent; what follows ± is twice the standard uncertainty, about 95 %."
        )
        if self.fuel.tanks:
            yield "The volumes in the tanks and the density of the fuel count as exact."
        if self.fuel.assumed:
            yield "The fuel is kerosene of 0.80 kg/l (common practice, no source)."
        if any(tank.stays_full for tank in self.fuel.tanks.values()):
            yield "A tank that stays full is full when the aircraft is dry, and used last."
        if not self.weighings and self.balance.items:
            yield (
                "Built up, not weighed: a device without a mass of its own counts as part of an "
                "item."
            )
        for name in self.weighings:
            if self._hung(name):
                yield (
                    f"All points of the weighing `{name}` are at one station: it is taken to have "
                    "hung there with all of its mass, and no other wheel to have carried any."
                )
        if self.weighings and any(self.setup.devices):
            yield "Things that are neither in the changes nor left out count as weighed."

    def _hung(self, weighing: str) -> bool:
        """True where all points of a weighing are at one station, which is then the answer."""
        points = (self.balance.weighings or {})[weighing].points.values()
        stations = [float(point.station) for point in points if point.station is not None]
        return len(stations) == len(points) and max(stations) - min(stations) < _ONE_PLACE

    @cached_property
    def remedies(self) -> "tuple[Remedy, ...]":
        """What would bring the balance inside in every state, and into the middle."""
        from holdshort.analysis.balance_remedies import remedies  # noqa: PLC0415  - only if asked

        return remedies(self)

    def best_advice(self) -> str:
        """Return what serves best to bring every state inside, in words, or nothing."""
        from holdshort.analysis.balance_advice import best_advice  # noqa: PLC0415  - only if asked

        return best_advice(self)

    def thing(self, name: str) -> Load | Need:
        """Return a device or an item as a load, or what is missing."""
        return self._loads.thing(name)

    def limits_at(self, mass: float) -> Limits | None:
        """Return the limits at a mass, kg, or None where they are not known."""
        limits = self.allowed.at(mass)
        return None if isinstance(limits, Need) else limits


def _place_need(load: Load, axis: int) -> Need:
    return Need(load.declared, f"the {_AXIS_WORDS[axis]} of {load.name}")


def _roots(square: float, linear: float, constant: float) -> tuple[float, ...]:
    """Return the real roots of a x^2 + b x + c, in the form that does not cancel."""
    if square == 0.0:
        return () if linear == 0.0 else (-constant / linear,)
    inside = linear * linear - 4.0 * square * constant
    if inside < 0.0:
        return ()
    large = -0.5 * (linear + math.copysign(math.sqrt(inside), linear))
    return (large / square,) if large == 0.0 else (large / square, constant / large)


__all__ = ["BalanceState", "BalanceStudy", "Limits", "StaleChange"]
