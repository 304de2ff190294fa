"""What reaches the pilot of what is measured on board, and in time for what.

Levels are in the unit of what is measured: V, A, C (charge), degC, turns per second, m3 (fuel), and
from 0 to 1 for what is told in per cent. Times in seconds. The time to land, and the readings of an
engine that are to be followed, are common practice with no source.
"""

import math
from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import TYPE_CHECKING, Final, Literal, NamedTuple

from holdshort.analysis.alarm_levels import (
    Bound,
    alarm_bounds,
    alarm_needs,
    margin,
    own_bounds,
    own_needs,
    sounds_when_charged,
    switched_off_at,
    watched_packs,
)
from holdshort.analysis.cells import (
    assumed_resistance,
    full_voltage,
    pack_emf,
    state_of_charge,
    stop_voltage,
)
from holdshort.analysis.data_paths import (
    Broken,
    Bus,
    DataPath,
    DataPaths,
    address_of,
    measures_something,
    wants_address,
)
from holdshort.analysis.facts import Because, Need
from holdshort.analysis.supply_paths import packs_of
from holdshort.analysis.wiring import is_regulating, nodes_of, show_volts
from holdshort.setup import Fitted, Place, Quantity, Setup
from holdshort.setup.measures import is_share, level
from holdshort.setup.parts import Battery, Load
from holdshort.setup.telemetry import Alarm, Reading

if TYPE_CHECKING:
    from holdshort.analysis.aircraft import Aircraft

Way = Literal["below", "above"]

LANDING_OPTION: Final = ("alarm-too-late", "time-to-land")
LANDING_TIME: Final = Quantity(120.0, "2 min")
"""The flying time that an alarm is to leave (common practice, no source), unless the owner has a
limit of his own for :data:`LANDING_OPTION`."""

LINK_READINGS: Final = ("link-quality", "signal-strength", "lost-frames")
_USEFUL_WAY: Final[Mapping[str, Way]] = {
    "voltage": "below",
    "fuel": "below",
    "link-quality": "below",
    "signal-strength": "below",
    "lost-frames": "above",
}
"""The way in which an alarm on each says what is to be known; of the others, either does."""


class Followed(NamedTuple):
    """A reading of an engine that the pilot is to be told of: what it is, and why."""

    measures: str
    why: str
    grave: bool


ENGINE_READINGS: Final[Mapping[str, tuple[Followed, ...]]] = {
    "turbine": (
        Followed("fuel", "A turbine that runs dry stops wherever the aircraft is.", grave=True),
        Followed(
            "speed",
            "A rotor that runs down is often the first sign of a flame-out; the controller limits "
            "it upwards by itself.",
            grave=False,
        ),
        Followed(
            "temperature",
            "Exhaust that gets hot tells of a failing engine; the controller limits it by itself.",
            grave=False,
        ),
    ),
}
"""What is to be followed of each kind of engine (common practice, no source)."""


class Subject(NamedTuple):
    """What a reading is of: a device, or a tank."""

    device: Fitted | None
    tank: str = ""

    @property
    def name(self) -> str:
        """Its name."""
        return self.device.name if self.device else self.tank


class ReadingStudy(NamedTuple):
    """One reading: where it is declared, what measures it, what it is of, how it gets out.

    ``subject`` is None where it is not known, and ``subject_need`` says what is missing.
    """

    name: str
    place: Place
    reading: Reading
    device: Fitted
    subject: Subject | None
    subject_need: Need | None
    path: DataPath | Broken | Need

    def at(self, *path: str) -> Place:
        """Return the place of a field of it."""
        return Place(self.place.file, (*self.place.path, *path))

    @property
    def broken(self) -> Broken | None:
        """Why it does not reach the transmitter, or None where it does or nothing is known."""
        return self.path if isinstance(self.path, Broken) else None

    @property
    def path_need(self) -> Need | None:
        """What is missing to know whether it reaches the transmitter, or None."""
        return self.path if isinstance(self.path, Need) else None

    @property
    def used(self) -> bool:
        """True where the transmitter shows it or alarms on it."""
        return bool(self.reading.shown) or has_level(self.reading.alarm)


class LevelStudy(NamedTuple):
    """One level of an alarm: where it is, which way it works, and what it must be in time for.

    ``level`` is in the unit of what is measured, for a whole pack; ``text`` is how it is told.
    Every one of ``bounds`` must lie below the level of an alarm that works below it, and above that
    of one that works above it.
    """

    of: ReadingStudy
    way: Way
    level: float
    text: str
    bounds: tuple[Bound, ...]
    needs: tuple[Need, ...]

    @property
    def late(self) -> tuple[Bound, ...]:
        """What happens before the alarm sounds: first what stops something, the earliest first."""
        sign = 1.0 if self.way == "below" else -1.0
        over = [
            bound
            for bound in self.bounds
            if sign * (bound.voltage - self.level) > _ROUNDING * abs(bound.voltage)
        ]
        return tuple(sorted(over, key=lambda bound: (not bound.grave, -sign * bound.voltage)))

    @property
    def wanted(self) -> float | None:
        """The level that is just early enough, or None where nothing is known that it is for."""
        pick = max if self.way == "below" else min
        return pick((bound.voltage for bound in self.bounds), default=None)

    @property
    def governing(self) -> Bound | None:
        """The bound that the wanted level comes from."""
        wanted = self.wanted
        return next((bound for bound in self.bounds if bound.voltage == wanted), None)


_ROUNDING: Final = 1e-5
"""Levels that differ by less, as a share, are the same; `_SLACK` keeps what is set within it."""
_SLACK: Final = 1e-4


class Unwatched(NamedTuple):
    """Something that no alarm tells of."""

    kind: Literal["pack", "rail", "link", "engine"]
    at: Place
    words: str
    why: str
    do: str
    grave: bool = True


class Beyond(NamedTuple):
    """An alarm that cannot do its work: it sounds all the time, too soon, or never."""

    level: LevelStudy
    words: str
    why: str
    because: Because | None


def has_level(alarm: Alarm | None) -> bool:
    """True for an alarm with a level."""
    return alarm is not None and (alarm.below is not None or alarm.above is not None)


class Clash(NamedTuple):
    """One address that several devices have on one bus."""

    bus: Bus
    address: int
    devices: tuple[str, ...]


class TelemetryStudy:
    """The telemetry of one aircraft."""

    def __init__(self, aircraft: "Aircraft") -> None:
        """Take the aircraft; nothing is worked out before it is asked for."""
        self.aircraft = aircraft
        self.setup: Setup = aircraft.setup
        self.paths = DataPaths(aircraft)

    @property
    def declared(self) -> bool:
        """True where the file has a section of telemetry, though it be empty."""
        return "telemetry" in self.setup.sections

    @property
    def buses(self) -> tuple[Bus, ...]:
        """What hangs together on the telemetry of each receiver, or on none."""
        return self.paths.buses

    @cached_property
    def readings(self) -> tuple[ReadingStudy, ...]:
        """Every reading whose source is fitted, in the order of the file."""
        return tuple(
            self._reading(name, reading, self.setup.devices[reading.from_])
            for name, reading in self.setup.telemetry.items()
            if reading.from_ in self.setup.devices
        )

    def _reading(self, name: str, reading: Reading, device: Fitted) -> ReadingStudy:
        place = self.setup.place("telemetry", name)
        found = self._subject(reading, device)
        subject = found if isinstance(found, Subject) else None
        need = found if isinstance(found, Need) else None
        return ReadingStudy(name, place, reading, device, subject, need, self.paths.path(device))

    def _subject(self, reading: Reading, device: Fitted) -> Subject | Need:
        if reading.of is not None:
            return self._named(reading.of)
        sensed = device.device.senses or ()
        if len(sensed) == 1:
            return self._named(sensed[0])
        if device.kind == "sensor":
            return Need(device.at("senses"), f"what `{device.name}` is wired to (`senses` or `of`)")
        return Subject(device)

    def _named(self, name: str) -> Subject:
        device = self.setup.devices.get(name)
        return Subject(device) if device else Subject(None, name)

    def readings_of(self, device: Fitted) -> tuple[ReadingStudy, ...]:
        """Return the readings that come from ``device``."""
        return tuple(one for one in self.readings if one.device is device)

    # -- addresses -------------------------------------------------------------------------------

    @cached_property
    def clashes(self) -> tuple[Clash, ...]:
        """Every address that several devices have on one bus."""
        found: list[Clash] = []
        for bus in self.buses:
            taken: dict[int, list[str]] = {}
            for name in bus.devices:
                address = address_of(self.setup.devices[name])
                if address is not None:
                    taken.setdefault(address, []).append(name)
            found += [
                Clash(bus, address, tuple(names))
                for address, names in taken.items()
                if len(names) > 1
            ]
        return tuple(found)

    def unaddressed(self, bus: Bus) -> tuple[Fitted, ...]:
        """Return the devices that may need an address among others on a bus, and state none."""
        measuring = {one.device.name for one in self.readings}
        devices = [self.setup.devices[name] for name in bus.devices]
        telling = [one for one in devices if one.name in measuring or measures_something(one)]
        if len(telling) < 2:  # noqa: PLR2004  - one alone clashes with none
            return ()
        silent = [one for one in telling if address_of(one) is None]
        return tuple(one for one in silent if wants_address(one) is not False)

    # -- levels ----------------------------------------------------------------------------------

    @cached_property
    def landing_time(self) -> Quantity:
        """The flying time that an alarm is to leave, s."""
        return self.aircraft.limits.get(LANDING_OPTION, LANDING_TIME)

    @cached_property
    def levels(self) -> tuple[LevelStudy, ...]:
        """Every level of every alarm that can be compared, in the order of the file."""
        return tuple(found for one in self.readings for found in self._levels(one))

    def _levels(self, one: ReadingStudy) -> Iterator[LevelStudy]:
        alarm = one.reading.alarm
        ways: tuple[Way, ...] = ("below", "above")
        for way in ways:
            text: str | None = getattr(alarm, way) if alarm else None
            found = level(text, one.reading.measures) if text is not None else None
            if alarm is None or text is None or found is None:
                continue
            size, told = float(found), text
            if alarm.cells is not None and one.reading.measures == "voltage":
                size *= alarm.cells
                cells = "cell" if alarm.cells == 1 else "cells"
                told = f"{text} a cell for {alarm.cells} {cells}, {show_volts(size)} in all"
            study = LevelStudy(one, way, size, told, (), ())
            yield self._bounded(study, alarm, share=is_share(text))

    def _bounded(self, study: LevelStudy, alarm: Alarm, *, share: bool) -> LevelStudy:
        measures = study.of.reading.measures
        spare = self.landing_time + (alarm.delay or 0.0)
        found: list[Bound | Need] = []
        if measures == "voltage" and study.way == "below":
            found = list(self._voltage(study.of, spare))
        elif measures == "fuel" and study.way == "below":
            found = [self._fuel(spare, share=share)]
        elif measures == "charge":
            found = list(self._charge(study.of, study.way, spare, share=share))
        found += self._limits(study)
        return study._replace(
            bounds=tuple(one for one in found if isinstance(one, Bound)),
            needs=tuple(dict.fromkeys(one for one in found if isinstance(one, Need))),
        )

    def _voltage(self, one: ReadingStudy, spare: float) -> Iterator[Bound | Need]:
        if one.subject is None or one.subject.device is None:
            words = f"which pack or device `{one.name}` is read at (`of`)"
            yield one.subject_need or Need(one.at("of"), words)
            return
        device, reserve = one.subject.device, margin(self.aircraft)
        if isinstance(device.part, Battery) or is_regulating(device):
            bounds = list(alarm_bounds(self.aircraft, device, reserve))
            yield from bounds
            yield from alarm_needs(self.aircraft, device, bounds, reserve)
            if isinstance(device.part, Battery):
                yield from self._time_to_land(device, device.part, bounds, spare)
            return
        yield from self._rail(device, reserve, spare)

    def _rail(self, device: Fitted, reserve: Quantity, spare: float) -> Iterator[Bound | Need]:
        """Yield what the rail of ``device`` must stay above, for everything that stands on it."""
        wiring = self.aircraft.wiring
        rail = wiring.rail(next(nodes_of(device)))
        for other in self.setup.devices.values():
            if next(nodes_of(other)) in rail and not is_regulating(other):
                yield from own_bounds(other, 0.0, reserve)
                yield from own_needs(other, reserve)
        for feed in self.aircraft.supply(device).feeds:
            source = self.setup.devices[feed.device]
            if not isinstance(source.part, Battery):
                bound = switched_off_at(source)
                if bound is not None:
                    yield bound
                continue
            stop = stop_voltage(source.part.chemistry, source.part.cells)
            words = f"at {show_volts(stop)} under load `{source.name}` must be on the ground"
            because = Because(source.part_place("cells"), f"`{source.name}` feeds it")
            bound = Bound(stop, words, because)
            yield bound
            yield from self._time_to_land(source, source.part, [bound], spare)
        yield from self.aircraft.supply(device).unknown

    def _time_to_land(
        self, pack: Fitted, part: Battery, bounds: list[Bound], spare: float
    ) -> Iterator[Bound | Need]:
        """Yield the voltage at which ``spare`` seconds of flight are left until a grave bound."""
        grave = [bound.voltage for bound in bounds if bound.grave]
        drain = self._drain(pack, part)
        if isinstance(drain, Need):
            yield drain
            return
        if not grave or drain.current <= 0.0:
            return
        volts = drain.voltage_before(max(grave), spare)
        if volts is None:
            volts = full_voltage(part.chemistry, part.cells)
        current = f"{drain.current:.2g} A"
        words = (
            f"{_time(spare)} of flight before {show_volts(max(grave))}, at {current}, "
            f"`{pack.name}` still shows {show_volts(volts)}"
        )
        place = pack.part_place("capacity")
        because = Because(place, f"`{pack.name}` gives {current} in steady flight")
        yield Bound(volts, words, because, grave=False)

    def _drain(self, pack: Fitted, part: Battery) -> "Drain | Need":
        energy = self.aircraft.energy(pack)
        if energy.capacity is None:
            return Need(pack.part_place("capacity"), f"the capacity of `{pack.part_name}`")
        if energy.current is None:
            return Need(pack.at(), "a supply that does not collapse in steady flight")
        if energy.missing:
            return energy.missing[0]
        stated = part.resistance
        ohms = (
            assumed_resistance(part.chemistry, part.cells, energy.capacity)
            if stated is None
            else float(stated)
        )
        return Drain(part, energy.capacity, energy.current, ohms)

    def _fuel(self, spare: float, *, share: bool) -> Bound | Need:
        """Return how much fuel the time to land takes, at the mean that the flight time allows."""
        declared = self.setup.aircraft
        fuel, flight = (declared.fuel, declared.flight_time) if declared else (None, None)
        if fuel is None:
            return Need(self.setup.place("aircraft", "fuel"), "how much fuel it holds")
        if not flight:
            return Need(self.setup.place("aircraft", "flight-time"), "how long a flight lasts")
        part = min(spare / flight, 1.0)
        told = f"{_per_cent(part)} of it" if share else f"{part * fuel * 1000.0:.3g} l"
        words = f"{_time(spare)} of flight need {told}, as {fuel.text} last {flight.text}"
        because = Because(self.setup.place("aircraft", "fuel"), f"it holds {fuel.text}")
        return Bound(part if share else part * fuel, words, because, grave=False)

    def _charge(
        self, one: ReadingStudy, way: Way, spare: float, *, share: bool
    ) -> Iterator[Bound | Need]:
        """Yield how much may be drawn from a pack, or must be left in it: first, then to land."""
        pack = one.subject.device if one.subject else None
        if pack is None or not isinstance(pack.part, Battery):
            words = f"the pack that `{one.name}` is drawn from (`of`)"
            yield one.subject_need or Need(one.at("of"), words)
            return
        if share != (way == "below"):
            return
        drain = self._drain(pack, pack.part)
        if isinstance(drain, Need):
            yield drain
            return
        bounds = list(alarm_bounds(self.aircraft, pack, margin(self.aircraft)))
        yield from alarm_needs(self.aircraft, pack, bounds, margin(self.aircraft))
        needed = max((bound.voltage for bound in bounds if bound.grave), default=0.0)
        gone = drain.charge_at(needed)
        left = min(gone + spare * drain.current / drain.capacity, 1.0)
        text = pack.part.capacity.text if pack.part.capacity is not None else ""
        because = Because(pack.part_place("capacity"), f"`{pack.part_name}` holds {text}")
        for charge, grave in ((gone, True), (left, False)):
            size = charge if share else (1.0 - charge) * drain.capacity
            told = f"{_per_cent(charge)} of `{pack.name}`"
            words = (
                f"at {show_volts(needed)}, with {told} left, it must be on the ground"
                if grave
                else f"{_time(spare)} of flight until {show_volts(needed)} need {told}"
            )
            yield Bound(size, words, because, grave=grave)

    def _limits(self, study: LevelStudy) -> Iterator[Bound]:
        """Yield what a part says must not be exceeded of what is measured."""
        measures = study.of.reading.measures
        subject = study.of.subject
        for device in (subject.device if subject else None, study.of.device):
            stated = device.part.limits if device and isinstance(device.part, Load) else None
            text = (stated or {}).get(measures)
            found = level(text, measures) if text is not None else None
            if device is None or text is None or found is None or study.way != "above":
                continue
            place = device.part_place("limits", measures)
            because = Because(place, f"`{device.part_name}` is limited to {text}")
            words = f"`{device.name}` must not go over {text}"
            yield Bound(found, words, because, grave=False)
            return

    def wanted_text(self, study: LevelStudy) -> str:
        """Return the level that is just early enough, as it would be set: rounded to be safe."""
        wanted, up = study.wanted or 0.0, study.way == "below"
        if is_share(study.text):
            return f"{_rounded(wanted * 100.0, 0, up=up)} %"
        digits, factor, unit = _SET_IN.get(study.of.reading.measures, (0, 1.0, ""))
        return f"{_rounded(wanted / factor, digits, up=up)} {unit}"

    def sounds_at_once(self, study: LevelStudy) -> bool:
        """True where an alarm early enough would sound on a pack that is still well charged."""
        subject = study.of.subject.device if study.of.subject else None
        if subject is None or study.of.reading.measures != "voltage" or study.way != "below":
            return False
        return sounds_when_charged(watched_packs(self.aircraft, subject), study.wanted or 0.0)

    # -- what no alarm tells of ------------------------------------------------------------------

    @cached_property
    def unwatched(self) -> tuple[Unwatched, ...]:
        """Every pack, rail, link and engine reading that no alarm tells of."""
        return self._unwatched([one for one in self.readings if tells(one)])

    @cached_property
    def watched(self) -> tuple[str, ...]:
        """What must be told of and is, in words; not by what never reaches the transmitter."""
        reaching = [one for one in self.readings if tells(one) and one.broken is None]
        silent = {one.words for one in self._unwatched(reaching)}
        every = [one.words for one in self._unwatched([])]
        return tuple(words for words in every if words not in silent)

    def _unwatched(self, alarms: list[ReadingStudy]) -> tuple[Unwatched, ...]:
        """Return what none of ``alarms`` tells of, of all that is to be told of."""
        return (
            *self._packs(_on(alarms, "voltage", "charge")),
            *self._rails(_on(alarms, "voltage")),
            *self._links(_on(alarms, *LINK_READINGS)),
            *self._engines(alarms),
        )

    def _packs(self, alarms: list[ReadingStudy]) -> Iterator[Unwatched]:
        wiring = self.aircraft.wiring
        users = self.setup.of_kind("receiver", "engine-controller")
        needed = dict.fromkeys(name for user in users for name in packs_of(wiring, user))
        told = {name for one in alarms for name in self._told_packs(one)}
        for name in needed:
            if name not in told:
                pack = self.setup.devices[name]
                own = pack.device.alarm
                aboard = (
                    f" It has an alarm of its own, at {own.text}; one that sounds aboard is not "
                    "heard in flight."
                    if own is not None
                    else ""
                )
                yield Unwatched(
                    "pack",
                    pack.at(),
                    f"the pack `{name}`",
                    f"A pack that runs down unseen takes everything on it.{aboard}",
                    f"Read the voltage of `{name}`, or the charge drawn from it, and set an alarm "
                    f"{_NOTICED}.",
                )

    def _told_packs(self, one: ReadingStudy) -> tuple[str, ...]:
        """Return the packs whose running down a reading tells of.

        Where several supplies feed a device, its voltage falls when the last of them is empty, and
        tells of none of them in time.
        """
        device = one.subject.device if one.subject else None
        if device is None:
            return ()
        if device.kind != "battery" and len(self.aircraft.supply(device).feeds) > 1:
            return ()
        return tuple(pack.name for pack in watched_packs(self.aircraft, device))

    def _rails(self, alarms: list[ReadingStudy]) -> Iterator[Unwatched]:
        wiring = self.aircraft.wiring
        told = [
            next(nodes_of(one.subject.device))
            for one in alarms
            if one.subject and one.subject.device
        ]
        seen: set[frozenset[object]] = set()
        for receiver in self.setup.of_kind("receiver"):
            rail = wiring.rail(next(nodes_of(receiver)))
            key: frozenset[object] = frozenset(rail)
            if key in seen or any(node in rail for node in told):
                continue
            seen.add(key)
            yield Unwatched(
                "rail",
                receiver.at(),
                f"the rail of `{receiver.name}`",
                "A regulator, switch or plug that fails shows there first, on a full pack too.",
                f"Read the supply voltage of `{receiver.name}`, and set an alarm {_NOTICED}.",
            )

    def _links(self, alarms: list[ReadingStudy]) -> Iterator[Unwatched]:
        told = {
            name
            for one in alarms
            for name in (one.device.name, one.subject.name if one.subject else "")
        }
        receivers = tuple(receiver.name for receiver in self.setup.of_kind("receiver"))
        links = {name: link.heard_by for name, link in self.setup.links.items()}
        for name, heard in (links or ({"": receivers} if receivers else {})).items():
            if not told & set(heard):
                place = self.setup.place("radio", "links", name) if name else self.setup.place()
                words = f"the link `{name}`" if name else "the radio link"
                yield Unwatched(
                    "link",
                    place,
                    words,
                    "A link fades before it is lost, and only an alarm tells you of it.",
                    f"Read link quality, signal strength or lost frames, and set an alarm "
                    f"{_NOTICED}.",
                )

    def _engines(self, alarms: list[ReadingStudy]) -> Iterator[Unwatched]:
        declared = self.setup.aircraft
        kind = (declared.propulsion if declared else None) or ""
        engines = self.setup.of_kind("engine-controller")
        for followed in ENGINE_READINGS.get(kind, ()):
            told = _on(alarms, followed.measures)
            if not any(self._is_of_engine(one) for one in told):
                place = engines[0].at() if engines else self.setup.place("aircraft", "propulsion")
                yield Unwatched(
                    "engine",
                    place,
                    f"the {followed.measures} of the {kind}",
                    followed.why,
                    f"Read the {followed.measures} from the engine controller, and set an alarm "
                    f"{_NOTICED}.",
                    followed.grave,
                )

    def _is_of_engine(self, one: ReadingStudy) -> bool:
        """True for a reading of an engine or a tank; of a temperature sensor, on the engine."""
        subject = one.subject
        if subject is None or subject.device is None:
            return subject is not None
        return subject.device.kind in {"engine-controller", "pump"} or (
            one.reading.measures == "fuel"
        )

    # -- alarms that cannot do their work --------------------------------------------------------

    @cached_property
    def beyond(self) -> tuple[Beyond, ...]:
        """Every alarm that sounds all the time, too soon, or never."""
        found = (self._beyond(study) for study in self.levels)
        return tuple(one for one in found if one is not None)

    def ranged(self, study: LevelStudy) -> bool:
        """True for a level of which it can be worked out what the reading is in flight."""
        if is_share(study.text):
            return True
        subject = study.of.subject.device if study.of.subject else None
        voltage = study.of.reading.measures == "voltage" and study.way == "below"
        return voltage and subject is not None and not is_regulating(subject)

    def _beyond(self, study: LevelStudy) -> Beyond | None:
        crossed = _crossed(study)
        if crossed is not None:
            return crossed
        if is_share(study.text):
            return _beyond_share(study)
        subject = study.of.subject.device if study.of.subject else None
        if subject is None or study.of.reading.measures != "voltage" or study.way != "below":
            return None
        if isinstance(subject.part, Battery):
            return self._beyond_pack(study, subject, subject.part)
        if is_regulating(subject):
            return None
        return self._beyond_rail(study, subject)

    def _beyond_pack(self, study: LevelStudy, pack: Fitted, part: Battery) -> Beyond | None:
        full = full_voltage(part.chemistry, part.cells)
        because = Because(pack.part_place("cells"), f"full it has {show_volts(full)}")
        if study.level >= full:
            words = f"`{pack.name}` never has more than {show_volts(full)}, so it always sounds"
            return Beyond(study, words, _ALWAYS, because)
        half = self._cruise_volts(pack)
        if half is not None and study.level > half:
            words = f"`{pack.name}` shows {show_volts(half)} in steady flight when it is half full"
            return Beyond(study, words, _EARLY, because)
        return None

    def _beyond_rail(self, study: LevelStudy, device: Fitted) -> Beyond | None:
        cruise = self._cruise_volts(device)
        if cruise is None or study.level < cruise:
            return None
        words = f"`{device.name}` has {show_volts(cruise)} in steady flight, so it always sounds"
        return Beyond(study, words, _ALWAYS, None)

    def range_need(self, study: LevelStudy) -> Need | None:
        """Return what is missing to know what a reading is in ordinary flight, or None."""
        if study.of.subject_need is not None and study.of.reading.measures == "voltage":
            return study.of.subject_need
        subject = study.of.subject.device if study.of.subject else None
        if subject is None or study.of.reading.measures != "voltage" or study.way != "below":
            return None
        if is_regulating(subject):
            return None
        power = self.aircraft.power
        case = next(case for case in power.cases if case.name == "cruise")
        return next(iter(power.needs(case, next(nodes_of(subject)))), None)

    def _cruise_volts(self, device: Fitted) -> float | None:
        power, node = self.aircraft.power, next(nodes_of(device))
        case = next(case for case in power.cases if case.name == "cruise")
        if power.needs(case, node):
            return None
        return power.result(case.name).voltage(node)


_ALWAYS: Final = "An alarm that always sounds is soon switched off or no longer heard."
_EARLY: Final = "An alarm that sounds on every flight is soon no longer heeded."
_NEVER: Final = "An alarm that cannot sound is trusted, and tells of nothing."


_NOTICED: Final = "that you hear or feel"


def _on(alarms: list[ReadingStudy], *measures: str) -> list[ReadingStudy]:
    return [one for one in alarms if one.reading.measures in measures]


def _crossed(study: LevelStudy) -> Beyond | None:
    """Return what is wrong with an alarm below one level and above a lower one."""
    alarm, measures = study.of.reading.alarm, study.of.reading.measures
    if study.way == "above" or alarm is None or alarm.below is None or alarm.above is None:
        return None
    low, high = level(alarm.below, measures), level(alarm.above, measures)
    mixed = is_share(alarm.below) != is_share(alarm.above)
    if low is None or high is None or mixed or low < high:
        return None
    because = Because(study.of.at("alarm", "above"), f"it alarms above {alarm.above}")
    return Beyond(
        study, f"it alarms above {alarm.above} too, so it always sounds", _ALWAYS, because
    )


def _beyond_share(study: LevelStudy) -> Beyond | None:
    low = study.level <= 0.0
    high = study.level >= 1.0
    if not low and not high:
        return None
    never = low == (study.way == "below")
    words = f"it {'never' if never else 'always'} sounds, for it goes from 0 % to 100 %"
    return Beyond(study, words, _NEVER if never else _ALWAYS, None)


def tells(one: ReadingStudy) -> bool:
    """True where a reading alarms in the way that says what is to be known, and is noticed.

    A light alone is not: the pilot looks at the aircraft. Where nothing is said of how it is told,
    it counts.
    """
    alarm = one.reading.alarm
    if alarm is None or (alarm.told_by is not None and set(alarm.told_by) <= {"light"}):
        return False
    if one.reading.measures == "charge":
        below, above = alarm.below, alarm.above
        return bool((below and is_share(below)) or (above and not is_share(above)))
    way = _USEFUL_WAY.get(one.reading.measures)
    return has_level(alarm) if way is None else getattr(alarm, way) is not None


class Drain(NamedTuple):
    """A pack in steady flight: its part, charge (C), current (A) and internal resistance (ohm)."""

    part: Battery
    capacity: float
    current: float
    resistance: float

    def charge_at(self, volts: float) -> float:
        """Return the state of charge, 0 to 1, at a voltage under this current."""
        emf = volts + self.current * self.resistance
        return state_of_charge(self.part.chemistry, emf / self.part.cells)

    def voltage_before(self, volts: float, seconds: float) -> float | None:
        """Return the voltage shown ``seconds`` before ``volts`` is reached, V.

        Coulomb counting: s' = s + I t / C, and V = E(s') - I R. None where a full pack does not
        last that long.
        """
        before = self.charge_at(volts) + seconds * self.current / self.capacity
        if before > 1.0:
            return None
        emf = pack_emf(self.part.chemistry, self.part.cells, before)
        return emf - self.current * self.resistance

    def seconds_between(self, high: float, low: float) -> float:
        """Return the flying time from one voltage under this current to a lower one, s."""
        charge = (self.charge_at(high) - self.charge_at(low)) * self.capacity
        return max(0.0, charge / self.current) if self.current > 0.0 else float("inf")


_SET_IN: Final[Mapping[str, tuple[int, float, str]]] = {
    "voltage": (1, 1.0, "V"),
    "current": (1, 1.0, "A"),
    "charge": (0, 3.6, "mAh"),
    "temperature": (0, 1.0, "degC"),
    "speed": (0, 1.0 / 60.0, "rpm"),
    "fuel": (0, 1e-6, "ml"),
    "pump": (1, 1.0, "V"),
    "airspeed": (1, 1.0, "m/s"),
    "height": (0, 1.0, "m"),
    "pressure": (0, 1e3, "kPa"),
    "signal-strength": (0, 1.0, "dBm"),
    "lost-frames": (0, 1.0, "frames"),
}
"""How a level is set: decimals, size of the unit in SI, unit."""


def _rounded(size: float, digits: int, *, up: bool) -> str:
    """Return a level rounded the safe way."""
    scale: float = 10.0**digits
    slack = _SLACK if up else -_SLACK
    whole = math.ceil(size * scale - slack) if up else math.floor(size * scale - slack)
    return f"{whole / scale:.{digits}f}"


def _per_cent(share: float) -> str:
    return f"{share * 100.0:.0f} %"


def _time(seconds: float) -> str:
    """Return a time in words: ``2 min``, ``2 min 5 s``, ``30 s``."""
    minutes, rest = divmod(round(seconds), 60)
    words = [f"{minutes} min"] if minutes else []
    return " ".join([*words, *([f"{rest} s"] if rest or not minutes else [])])
