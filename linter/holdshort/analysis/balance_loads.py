"""Declared masses and places of one aircraft as loads: scales, things, changes, legs and fuel."""

from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING, Final, NamedTuple

from holdshort.analysis.balance_sums import EXACT, Error, Load, Where, half_width
from holdshort.analysis.facts import Need
from holdshort.setup import Place, Setup
from holdshort.setup.functions import control_function

if TYPE_CHECKING:
    from holdshort.setup.balance import Balance, Spot, Tank, Weighing
    from holdshort.setup.sections import Place3

Volumes = Mapping[str, float]
"""The fuel in each tank, m3."""

FuelWeighed = Callable[[str], "Volumes | Need"]

_NOWHERE: Final[Where] = (None, None, None)


class Base(NamedTuple):
    """The aircraft without any fuel, in one state of its undercarriage.

    ``needs`` says what is missing; where there is any, ``loads`` are of no use. ``place`` is the
    weighing, or the items it is built up from; ``weighing`` its name, or empty.
    """

    loads: tuple[Load, ...]
    needs: tuple[Need, ...]
    place: Place
    weighing: str = ""


class Loads:
    """Reads the loads of one aircraft from its setup."""

    def __init__(self, setup: Setup, balance: "Balance", density: float | None) -> None:
        """Take the setup, its balance and the density of its fuel, kg/m3."""
        self.setup = setup
        self.balance = balance
        self.density = density
        accuracy = balance.accuracy
        self._load = accuracy.load if accuracy else None
        alone = accuracy.mass if accuracy else None
        self._mass = half_width(alone if alone is not None else self._load)
        self._at = half_width(accuracy.station if accuracy else None)

    def place(self, *path: str | int) -> Place:
        """Return a place in the balance."""
        return self.setup.place("balance", *path)

    def points(self, name: str) -> Iterator[Load]:
        """Yield what each scale of a weighing carried, its tare taken off.

        One scale shows both load and tare, so that its error is counted once.
        """
        for point, declared in (self.balance.weighings or {})[name].points.items():
            source = f"scale {name}.{point}"
            within = declared.accuracy if declared.accuracy is not None else self._load
            yield Load(
                name=f"{point} of the weighing `{name}`",
                mass=declared.load - (declared.tare or 0.0),
                where=(declared.station, declared.side, None),
                mass_error=Error(source, half_width(within)),
                place_error=Error(source, self._at),
                declared=self.place("weighings", name, "points", point),
            )

    def thing(self, name: str, sign: float = 1.0) -> Load | Need:
        """Return a device or an item as a load, or what is missing: its mass."""
        item = (self.balance.items or {}).get(name)
        if item is not None:
            where = (item.station, item.side, item.height)
            return self._thing(name, sign * item.mass, where, self.place("items", name))
        fitted = self.setup.devices.get(name)
        if fitted is None:
            return Need(self.setup.place("devices", name), f"the mass and place of `{name}`")
        mass = fitted.device.mass if fitted.device.mass is not None else fitted.part.mass
        if mass is None:
            return Need(fitted.at("mass"), f"the mass of `{name}`")
        return self._thing(name, sign * mass, _where(fitted.device.at), fitted.at())

    def _thing(self, name: str, mass: float, where: Where, declared: Place) -> Load:
        error = Error(f"thing {name}", self._mass)
        return Load(f"`{name}`", mass, where, error, Error(error.source, self._at), declared)

    def change(self, name: str) -> tuple[Load, ...]:
        """Return a change as loads: what went out and what came in."""
        change = (self.balance.changes or {})[name]
        error = Error(f"change {name}", self._mass)
        declared = self.place("changes", name)
        return tuple(
            Load(
                f"`{name}`", sign * change.mass, _spot(spot), error,
                Error(f"change {name} {way}", self._at), declared,
            )
            for way, sign, spot in (("out", -1.0, change.out), ("in", 1.0, change.in_))
            if spot is not None
        )  # fmt: skip

    def legs(self, *, up: bool) -> Iterator[Load]:
        """Yield the undercarriage as it moves up, or down, as loads."""
        for name, leg in (self.balance.gear or {}).items():
            declared = self.place("gear", name)
            ways = (("down", -1.0, leg.down), ("up", 1.0, leg.up))
            for way, sign, spot in ways:
                yield Load(
                    name=f"`{name}`",
                    mass=leg.mass * (sign if up else -sign),
                    where=_spot(spot),
                    mass_error=Error(f"leg {name}", self._mass),
                    place_error=Error(f"leg {name} {way}", self._at),
                    declared=declared,
                )

    def fuel(self, volumes: Volumes, sign: float = 1.0) -> Iterator[Load]:
        """Yield the fuel in the tanks as loads. Volumes and density count as exact.

        Where the density is not known there is nothing to yield: whoever asks sees to that first.
        """
        for name, volume in volumes.items():
            if volume == 0.0 or self.density is None:
                continue
            tank = (self.balance.tanks or {})[name]
            yield Load(
                name=f"the fuel in `{name}`",
                mass=sign * volume * self.density,
                where=_fuel_place(tank, volume),
                mass_error=EXACT,
                place_error=Error(f"tank {name}", self._at),
                declared=self.place("tanks", name),
            )


def _where(at: "Place3 | None") -> Where:
    return _NOWHERE if at is None else (at.station, at.side, at.height)


def _spot(spot: "Spot") -> Where:
    return spot.station, spot.side, spot.height


def _fuel_place(tank: "Tank", volume: float) -> Where:
    """Return the middle of the fuel; it goes from empty to full in a straight line with the fill.

    Common practice, no source: true of a tank of even section laid along the body.
    """
    station = tank.station
    if station is None or tank.station_empty is None:
        return station, tank.side, tank.height
    filled = volume / tank.capacity
    along = tank.station_empty + filled * (station - tank.station_empty)
    return along, tank.side, tank.height


def newest(weighings: "Mapping[str, Weighing]", gear: str) -> str:
    """Return the name of the newest weighing; of several on one day one in that state of gear."""
    return max(
        enumerate(weighings.items()), key=lambda one: (one[1][1].on, one[1][1].gear == gear, one[0])
    )[1][0]


def retracts(setup: Setup, balance: "Balance") -> bool:
    """True where the undercarriage comes up, as far as is declared."""
    if balance.gear or setup.of_kind("gear-controller"):
        return True
    if any(weighing.gear == "up" for weighing in (balance.weighings or {}).values()):
        return True
    words = [word for entry in setup.channels.values() for word in entry.channel.drives]
    return any(control_function(word) == "gear" for word in words)


class Bases:
    """The aircraft without fuel, from its newest weighing or from what it is built up of."""

    def __init__(self, loads: Loads, fuel_weighed: "FuelWeighed") -> None:
        """Take the loads, and what tells the fuel aboard in a weighing, or what is missing."""
        self.loads = loads
        self.balance = loads.balance
        self.setup = loads.setup
        self._fuel_weighed = fuel_weighed

    def of(self, gear: str) -> Base:
        """Return the aircraft without fuel with its undercarriage ``down`` or ``up``."""
        for section in ("weighings", "changes", "items", "gear"):
            hurt = self.setup.broken_under("balance", section)
            if hurt is not None:
                place = self.setup.place(*hurt)
                return _lacking(Need(place, f"the entry in `{section}` with a mistake of form"))
        if self.balance.weighings:
            return self._weighed(gear)
        if self.balance.items:
            return self._built_up(gear)
        place = self.loads.place("weighings")
        return _lacking(Need(place, "a weighing, or the items that the aircraft is built up from"))

    def _weighed(self, gear: str) -> Base:
        weighings = self.balance.weighings or {}
        name = newest(weighings, gear)
        if weighings[name].gear == gear:
            return self._from_weighing(name, ())
        if self.balance.gear:
            return self._from_weighing(name, tuple(self.loads.legs(up=gear == "up")))
        same = {key: value for key, value in weighings.items() if value.gear == gear}
        if same:
            return self._from_weighing(newest(same, gear), ())
        return _lacking(self._unmoved(gear))

    def _unmoved(self, gear: str) -> Need:
        return Need(
            self.loads.place("gear"),
            f"how the undercarriage moves along the body when it comes {gear}",
        )

    def _from_weighing(self, name: str, legs: tuple[Load, ...]) -> Base:
        needs: list[Need] = []
        weighing = (self.balance.weighings or {})[name]
        loads = [*self.loads.points(name), *legs]
        aboard = self._fuel_weighed(name)
        if isinstance(aboard, Need):
            needs.append(aboard)
        else:
            loads += self.loads.fuel(aboard, -1.0)
        absent = weighing.without or ()
        for left in absent:
            _sort(self.loads.thing(left), loads, needs)
        for change in self._since(weighing.on):
            of = (self.balance.changes or {})[change].of or change
            if of in absent:
                needs += self._absent(change, of)
                continue
            moved = self.loads.change(change)
            loads += moved
            if not moved:
                place = self.loads.place("changes", change)
                needs.append(Need(place, f"where `{change}` was put, or taken from"))
        return Base(tuple(loads), tuple(needs), self.loads.place("weighings", name), name)

    def _absent(self, change: str, of: str) -> Iterator[Need]:
        """Yield what is not clear of a change to a thing that the weighing was done without.

        It is added where it is now, so that what was done to it since must not count again.
        """
        if (self.balance.changes or {})[change].in_ is None:
            place = self.loads.place("changes", change)
            text = f"whether `{of}` is aboard, which was left out of the weighing and taken out"
            yield Need(place, text)

    def _since(self, day: str) -> Iterator[str]:
        for name, change in (self.balance.changes or {}).items():
            if change.on > day:
                yield name

    def _built_up(self, gear: str) -> Base:
        place = self.loads.place("items")
        loads: list[Load] = []
        needs: list[Need] = []
        if self.balance.changes:
            where = self.loads.place("weighings")
            needs.append(Need(where, "the weighing that the changes were made after"))
        devices = (name for name, one in self.setup.devices.items() if one.device.mass is not None)
        for name in (*(self.balance.items or {}), *devices):
            _sort(self.loads.thing(name), loads, needs)
        if gear == "up" and self.balance.gear:
            loads += self.loads.legs(up=True)
        elif gear == "up":
            needs.append(self._unmoved(gear))
        return Base(tuple(loads), tuple(needs), place)


def _sort(thing: Load | Need, loads: list[Load], needs: list[Need]) -> None:
    if isinstance(thing, Need):
        needs.append(thing)
    else:
        loads.append(thing)


def _lacking(need: Need) -> Base:
    return Base((), (need,), need.place)
