"""The facts of the power network that rules in data pick from, each with where it came from.

Volts, amperes, watts, ampere-hours; shares from 0 to 1. A figure is given as ``value`` only where
it is known. Where something it rests on is not declared, it is a bound: ``at_most`` for voltages
and what is left in a pack, ``at_least`` for currents.
"""

from collections.abc import Callable, Mapping
from typing import Any, Final, Literal, NamedTuple

from holdshort.analysis.aircraft import Aircraft
from holdshort.analysis.fact_book import FactBook
from holdshort.analysis.facts import Need
from holdshort.analysis.power import CaseResult
from holdshort.analysis.power_elements import lead_name
from holdshort.analysis.power_rows import (
    ByCase,
    CollapseRow,
    DeviceRow,
    PackRow,
    RailRow,
    Reading,
    RegulatorRow,
)
from holdshort.analysis.power_table import power_table
from holdshort.analysis.wiring import Copper, Node, nodes_of
from holdshort.document import Path
from holdshort.setup import Cable, Fitted, Place

Bound = Literal["at_most", "at_least"]
NeedsIn = Callable[[str], tuple[Need, ...]]
"""What is missing to know a figure in a load case, by its name."""

_COULOMBS_PER_AMPERE_HOUR: Final = 3600.0
_REGULATOR_FIGURES: Final = (
    "input_volts", "input_amperes", "output_volts", "output_amperes", "heat_watts",
)  # fmt: skip
_END_WORDS: Final = {"min": "lowest", "max": "highest"}
_RESETTING: Final = frozenset({"receiver", "hub", "gyro"})
"""Kinds of device that state at which voltage they reset."""


def add_power(book: FactBook, aircraft: Aircraft) -> None:
    """Add everything that is computed of the power network."""
    _Power(book, aircraft).add()


class _About(NamedTuple):
    """What readings are about: where it is declared, and what is missing to know them."""

    place: Place
    needs: NeedsIn
    otherwise: Need


class _Power:
    """Puts the power table of one aircraft into a book of facts."""

    def __init__(self, book: FactBook, aircraft: Aircraft) -> None:
        self.book = book
        self.setup = aircraft.setup
        self.wiring = aircraft.wiring
        self.power = aircraft.power
        self.table = power_table(aircraft)
        self.cases = {result.case.name: result for result in self.power.results}
        self.gaps = tuple(
            Need(cable.place, f"the ports that the lead {cable.title} joins")
            for cable in self.wiring.gaps
        )

    def add(self) -> None:
        place = self.setup.place("devices") if self.setup.devices else self.setup.place()
        for key in ("cases", "rails", "regulators", "packs"):
            self.book.put(("computed", key), {}, place)
        for key in ("leads", "collapses"):
            self.book.put(("computed", key), [], place)
        self._add_cases()
        self._add_network()

    def _add_cases(self) -> None:
        for case in self.table.cases:
            facts = {"title": case.title, "charge_share": case.charge}
            self.book.put(("computed", "cases", case.name), facts, self._case_place(case.name))

    def _add_network(self) -> None:
        for rail in self.table.rails:
            for row in rail.devices:
                self._rail(rail, row)
        for joint in self.wiring.copper:
            if joint.cable is not None:
                self._lead(joint, joint.cable)
        for regulator in self.table.regulators:
            self._regulator(regulator)
        for pack in self.table.packs:
            self._pack(pack)
        for collapse in self.table.collapses:
            self._collapse(collapse)

    def _case_place(self, name: str) -> Place:
        declared = "load-cases" in self.setup.sections
        return self.setup.place("load-cases", name) if declared else self.setup.place()

    def _about(self, device: Fitted, node: Node) -> _About:
        def needs(case: str) -> tuple[Need, ...]:
            return self._needs(case, node)

        return _About(device.at(), needs, Need(device.at(), f"what feeds `{device.name}`"))

    def _needs(self, case: str, node: Node) -> tuple[Need, ...]:
        found = self.power.needs(self.cases[case].case, node)
        return (*self.wiring.supply(node).unknown, *found, *self.gaps)

    def _rail(self, rail: RailRow, row: DeviceRow) -> None:
        device = self.setup.devices[row.device]
        about = self._about(device, next(nodes_of(device)))
        base: Path = ("computed", "rails", row.device)
        facts = {"part": row.part, "kind": row.kind, "sources": list(rail.sources)}
        self.book.put(base, facts, about.place)
        self._rating(base, device, row)
        self._readings((*base, "volts"), row.volts, "at_most", about)
        if row.amperes:
            self._readings((*base, "amperes"), row.amperes, "at_least", about)
        self._lowest((*base, "lowest_volts"), row.volts, about)
        self._highest((*base, "highest_volts"), row.volts, about)

    def _rating(self, base: Path, device: Fitted, row: DeviceRow) -> None:
        part, declare = row.part, self.book.declare
        for key, end, value in (
            ("rated_min_volts", "min", row.rating.lowest),
            ("rated_max_volts", "max", row.rating.highest),
        ):
            words = f"the {_END_WORDS[end]} supply voltage of `{part}` (`voltage`)"
            declare((*base, key), value, device.part_place("voltage", end), words)
        if row.kind in _RESETTING:
            words = f"the voltage at which `{part}` resets (`brown-out`)"
            path = (*base, "brown_out_volts")
            declare(path, row.rating.brown_out, device.part_place("brown-out"), words)

    def _readings(self, path: Path, readings: ByCase, bound: Bound, about: _About) -> None:
        for case, reading in readings.items():
            self._reading((*path, case), reading, bound, about, about.needs(case))

    def _reading(
        self, path: Path, reading: Reading, bound: Bound, about: _About, needs: tuple[Need, ...]
    ) -> None:
        """Put one figure: its value where known, a bound where incomplete, its state always."""
        self.book.put(path, {"state": reading.state}, about.place)
        if reading.state == "known":
            self.book.put((*path, "value"), reading.value, about.place)
        elif reading.state == "incomplete":
            self.book.put((*path, bound), reading.value, about.place)
        if reading.state in {"incomplete", "not known"}:
            self.book.lack((*path, "value"), needs, about.otherwise)

    def _lowest(self, path: Path, readings: ByCase, about: _About) -> None:
        """Put the lowest voltage of all cases: known only where it is known in every case."""
        case = min(readings, key=lambda name: _depth(readings[name]))
        open_cases = _open(readings)
        if open_cases and readings[case].state != "collapse":
            low = Reading(readings[case].value, "incomplete")
            if low.value is None:
                low = Reading(None, "not known")
            needs = tuple(need for name in open_cases for need in about.needs(name))
            self._reading(path, low, "at_most", about, needs)
        else:
            self._reading(path, readings[case], "at_most", about, ())
        self.book.put((*path, "case"), case, about.place)

    def _highest(self, path: Path, readings: ByCase, about: _About) -> None:
        """Put the highest voltage of all cases: those that are bounds are at most what they say."""
        case = max(readings, key=lambda name: readings[name].size)
        top, unknown = readings[case], _open(readings, "not known")
        if unknown and top.state != "not known":
            top = Reading(None, "not known")
        needs = tuple(need for name in (unknown or [case]) for need in about.needs(name))
        self._reading(path, top, "at_most", about, needs)
        self.book.put((*path, "case"), case, about.place)

    def _lead(self, joint: Copper, cable: Cable) -> None:
        facts = {"from": cable.start.written, "to": cable.end.written, "lead": cable.index}
        path = self.book.add(("computed", "leads"), facts, cable.place)

        def needs(case: str) -> tuple[Need, ...]:
            return self._needs(case, joint.start)

        otherwise = Need(cable.place, f"what feeds the lead {cable.title}")
        about = _About(cable.place, needs, otherwise)
        amperes = {name: self._through(result, joint, cable) for name, result in self.cases.items()}
        self._readings((*path, "amperes"), amperes, "at_least", about)
        lost = {name: self._lost(result, joint, cable) for name, result in self.cases.items()}
        self._readings((*path, "lost_volts"), lost, "at_least", about)

    def _through(self, result: CaseResult, joint: Copper, cable: Cable) -> Reading:
        """Return the current in a lead, whichever way it flows."""
        current = result.current(lead_name(cable))
        return self._judged(result, joint.start, None if current is None else abs(current))

    def _lost(self, result: CaseResult, joint: Copper, cable: Cable) -> Reading:
        """Return the voltage lost in both conductors of a lead and its connectors."""
        needs = self.power.needs(result.case, joint.start)
        if any(need.place == cable.place for need in needs):
            return Reading(None, "not known")  # its own wire is not declared: no bound holds
        one, other = result.voltage(joint.start), result.voltage(joint.end)
        lost = None if one is None or other is None else abs(one - other)
        return self._judged(result, joint.start, lost)

    def _judged(self, result: CaseResult, node: Node, value: float | None) -> Reading:
        """Return a figure with how far it is to be believed."""
        supply = self.wiring.supply(node)
        if supply.unknown:
            return Reading(None, "not known")
        if not supply.feeds:
            return Reading(None, "no supply")
        if value is None:
            return Reading(None, "collapse" if result.collapse else "not known")
        if self.gaps or self.power.needs(result.case, node):
            return Reading(value, "incomplete")
        return Reading(value, "known")

    def _regulator(self, row: RegulatorRow) -> None:
        device = self.setup.devices[row.device]
        about = self._about(device, Node(device.name, "out"))
        base: Path = ("computed", "regulators", row.device)
        self.book.put(base, {"part": row.part}, about.place)
        declare, part = self.book.declare, device.part_place
        name, kind = f"`{device.name}`", f"`{row.part}`"
        for key, value, place, words in (
            ("set_volts", row.set_to, _set_place(device), f"what {name} is set to"),
            ("measured_volts", row.measured, device.at("measured"), f"a reading at {name}"),
            ("input_min_volts", row.input_rating.lowest, part("input", "min"),
             f"the lowest input of {kind}"),
            ("input_max_volts", row.input_rating.highest, part("input", "max"),
             f"the highest input of {kind}"),
            ("continuous_amperes", row.continuous, part("continuous-current"),
             f"the continuous current of {kind}"),
            ("peak_amperes", row.peak, part("peak-current"), f"the peak current of {kind}"),
            ("heat_limit_watts", row.heat_limit, part("heat-limit"), f"the heat limit of {kind}"),
        ):  # fmt: skip
            declare((*base, key), value, place, words)
        for case in row.points:
            self._regulator_case((*base, "cases", case), row, case, about)

    def _regulator_case(self, path: Path, row: RegulatorRow, case: str, about: _About) -> None:
        point, state = row.points[case], row.states[case]
        facts: dict[str, Any] = {"state": state}
        if point is not None and state == "known":
            facts |= {
                "regulation": point.regulation.value,
                "input_volts": point.input_voltage,
                "input_amperes": point.input_current,
                "output_volts": point.output_voltage,
                "output_amperes": point.output_current,
                "heat_watts": point.heat,
                "marks": list(row.marks[case]),
            }
        self.book.put(path, facts, about.place)
        if state in {"incomplete", "not known"}:
            for key in _REGULATOR_FIGURES:
                self.book.lack((*path, key), about.needs(case), about.otherwise)

    def _pack(self, row: PackRow) -> None:
        device = self.setup.devices[row.device]
        about = self._about(device, Node(device.name, "rail"))
        base: Path = ("computed", "packs", row.device)
        put, part = self.book.put, device.part_place
        facts = {"part": row.part, "chemistry": row.chemistry, "cells": row.cells}
        put(base, facts, about.place)
        put((*base, "chemistry"), row.chemistry, part("chemistry"))
        put((*base, "cells"), row.cells, part("cells"))
        for key, value, field, words in (
            ("capacity_ampere_hours", _ampere_hours(row.capacity), "capacity", "the capacity"),
            ("continuous_amperes", row.continuous, "continuous-current", "the continuous current"),
            ("peak_amperes", row.peak, "peak-current", "the peak current"),
        ):
            self.book.declare((*base, key), value, part(field), f"{words} of `{row.part}`")
        self._readings((*base, "volts"), row.volts, "at_most", about)
        self._readings((*base, "amperes"), row.amperes, "at_least", about)
        put((*base, "marks"), _known_marks(row), about.place)
        self._use((*base, "use"), row, device, about)

    def _use(self, path: Path, row: PackRow, device: Fitted, about: _About) -> None:
        use = row.use
        facts = {"flight_seconds": use.flight_time, "flights": use.flights}
        self.book.put(path, facts, about.place)
        declared = "aircraft" in self.setup.sections
        root = self.setup.place("aircraft") if declared else self.setup.place()
        needs = self._needs("cruise", Node(device.name, "rail"))
        if use.flight_time is None:
            needs = (Need(root, "how long a flight is meant to last"), *needs)
        used = use.used._replace(value=_ampere_hours(use.used.value))
        self._reading((*path, "per_flight_ampere_hours"), used, "at_least", about, needs)
        if row.capacity is None:
            needs = (Need(device.part_place("capacity"), f"the capacity of `{row.part}`"), *needs)
        self._reading((*path, "left_share"), use.left, "at_most", about, needs)

    def _collapse(self, row: CollapseRow) -> None:
        place = self.setup.devices[row.device].at() if row.device in self.setup.devices else None
        facts = {
            "case": row.case,
            "cause": row.cause,
            "device": row.device,
            "share_carried": row.share,
            "also_falling": list(row.also_falling),
        }
        self.book.add(("computed", "collapses"), facts, place or self.setup.place())


def _depth(reading: Reading) -> float:
    if reading.state == "collapse":
        return float("-inf")
    return float("inf") if reading.value is None else reading.value


def _open(readings: ByCase, *states: str) -> list[str]:
    """Return the cases in which the figure is not known for certain."""
    wanted = states or ("incomplete", "not known")
    return [name for name, reading in readings.items() if reading.state in wanted]


def _known_marks(row: PackRow) -> Mapping[str, list[str]]:
    """Return what is outside the ratings of a pack, in the cases where its current is known."""
    return {
        case: list(marks) for case, marks in row.marks.items() if row.amperes[case].state == "known"
    }


def _set_place(device: Fitted) -> Place:
    return device.at("output") if device.device.output is not None else device.part_place("output")


def _ampere_hours(charge: float | None) -> float | None:
    return None if charge is None else charge / _COULOMBS_PER_AMPERE_HOUR
