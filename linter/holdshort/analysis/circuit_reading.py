"""Reads currents, heat and balance off node voltages, by the true laws of the elements."""

from dataclasses import dataclass, field
from itertools import compress
from typing import Final

from holdshort.analysis.circuit_elements import (
    ConvergenceError,
    Conversion,
    Regulation,
    Regulator,
    RegulatorPoint,
    ResistanceLoad,
    Solution,
    SwitchingRegulator,
)
from holdshort.analysis.circuit_newton import Attempt
from holdshort.analysis.circuit_topology import Survey, aim

_BALANCE: Final = 1e-7
"""Largest imbalance at a node, in relation to 1 A plus the largest current of the network."""

_NO_FLOW: Final = 1e-7
"""A regulator whose aim is this far below its output is held off, V."""


@dataclass(slots=True)
class _Reading:
    survey: Survey
    kept: list[bool]
    voltages: list[float]
    balance: list[float]
    currents: dict[str, float] = field(default_factory=dict[str, float])
    regulators: dict[str, RegulatorPoint] = field(default_factory=dict[str, RegulatorPoint])
    losses: dict[str, float] = field(default_factory=dict[str, float])
    delivered: dict[str, float] = field(default_factory=dict[str, float])
    supplied: dict[str, float] = field(default_factory=dict[str, float])
    unserved: list[str] = field(default_factory=list[str])
    below_minimum: list[str] = field(default_factory=list[str])

    def serves(self, name: str, *nodes: int) -> bool:
        """Tell whether a load or regulator is to be read; note it if nothing supplies it."""
        island, survey = self.survey.island, self.survey
        served = island[nodes[0] or nodes[1]] in survey.powered
        if not served or not all(island[node] in survey.decided for node in nodes):
            self.unserved.append(name)
            if all(map(self.kept.__getitem__, nodes)):
                self.currents[name] = 0.0
            return False
        return all(map(self.kept.__getitem__, nodes))

    def flow(self, name: str, one: int, other: int, current: float) -> None:
        self.currents[name] = current
        self.balance[one] -= current
        self.balance[other] += current


def read(survey: Survey, kept: list[bool], found: Attempt) -> Solution:
    """Return the solution that belongs to the voltages found at the kept nodes.

    Raises `ConvergenceError` when the currents at some node do not balance.
    """
    reading = _Reading(survey, kept, found.voltages, [0.0] * len(kept))
    _read_two_way(reading)
    _read_loads(reading)
    _read_diodes(reading)
    for part, enter, leave, common in survey.parts.regulators():
        if reading.serves(part.name, enter, leave, common):
            _read_regulator(reading, part, enter, leave, common)
    residual = max(map(abs, reading.balance[1:]), default=0.0)
    largest = max(map(abs, reading.currents.values()), default=0.0)
    if not residual <= _BALANCE * (1.0 + largest):
        raise ConvergenceError(f"currents fail to balance by {residual:.3g} A")
    return Solution(
        voltages=dict(compress(zip(survey.names, found.voltages, strict=True), kept)),
        currents=reading.currents,
        regulators=reading.regulators,
        losses=reading.losses,
        delivered=reading.delivered,
        supplied=reading.supplied,
        floating=survey.floating(),
        unserved=tuple(reading.unserved),
        below_minimum=tuple(reading.below_minimum),
        residual=residual,
        iterations=found.iterations,
    )


def _read_two_way(reading: _Reading) -> None:
    voltages, kept, balance = reading.voltages, reading.kept, reading.balance
    currents = reading.currents
    for part, one, other in reading.survey.parts.conductors:
        if isinstance(part, ResistanceLoad) and not reading.serves(part.name, one, other):
            continue
        if not (kept[one] and kept[other]):
            continue
        across = voltages[one] - voltages[other]
        current = across / part.resistance
        currents[part.name] = current
        balance[one] -= current
        balance[other] += current
        heat = reading.delivered if isinstance(part, ResistanceLoad) else reading.losses
        heat[part.name] = across * current
    for source, one, other in reading.survey.parts.sources:
        if not (kept[one] and kept[other]):
            continue
        current = (source.emf - voltages[one] + voltages[other]) / source.resistance
        reading.flow(source.name, other, one, current)
        reading.losses[source.name] = current * current * source.resistance
        reading.supplied[source.name] = source.emf * current


def _read_loads(reading: _Reading) -> None:
    for load, one, other in reading.survey.parts.current_loads:
        if not reading.serves(load.name, one, other):
            continue
        voltage = reading.voltages[one] - reading.voltages[other]
        reading.flow(load.name, one, other, load.current)
        reading.delivered[load.name] = voltage * load.current
    for power, one, other in reading.survey.parts.power_loads:
        if not reading.serves(power.name, one, other):
            continue
        voltage = reading.voltages[one] - reading.voltages[other]
        reading.flow(power.name, one, other, power.power / voltage)
        reading.delivered[power.name] = power.power
        if voltage < power.minimum_voltage:
            reading.below_minimum.append(power.name)


def _read_diodes(reading: _Reading) -> None:
    for diode, enter, leave in reading.survey.parts.diodes:
        if not (reading.kept[enter] and reading.kept[leave]):
            continue
        across = reading.voltages[enter] - reading.voltages[leave]
        current = max(0.0, (across - diode.forward_drop) / diode.resistance)
        reading.flow(diode.name, enter, leave, current)
        reading.losses[diode.name] = across * current


def _read_regulator(
    reading: _Reading, part: Regulator, enter: int, leave: int, common: int
) -> None:
    base = reading.voltages[common]
    entering, leaving = reading.voltages[enter] - base, reading.voltages[leave] - base
    over = aim(part, entering) - leaving
    given = max(0.0, over / part.output_resistance)
    drawn = given * _current_ratio(part, entering, leaving) + part.quiescent_current
    reading.flow(part.name, enter, leave, given)
    reading.balance[enter] -= drawn - given
    reading.balance[common] += drawn - given
    heat = entering * drawn - leaving * given
    reading.losses[part.name] = heat
    regulation = Regulation.OFF if over < -_NO_FLOW else _regulation(part, entering)
    reading.regulators[part.name] = RegulatorPoint(
        regulation, entering, leaving, drawn, given, heat
    )
    if isinstance(part, SwitchingRegulator) and entering < part.minimum_input:
        reading.below_minimum.append(part.name)


def _regulation(part: Regulator, entering: float) -> Regulation:
    conversion = part.conversion if isinstance(part, SwitchingRegulator) else Conversion.STEP_DOWN
    through = entering - part.dropout
    if conversion is Conversion.STEP_DOWN and through < part.set_voltage:
        return Regulation.DROPPED_OUT
    if conversion is Conversion.STEP_UP and through > part.set_voltage:
        return Regulation.PASSED_THROUGH
    return Regulation.IN_REGULATION


def _current_ratio(part: Regulator, entering: float, leaving: float) -> float:
    """Return input current, less quiescent, over output current."""
    if not isinstance(part, SwitchingRegulator):
        return 1.0
    if _regulation(part, entering) is not Regulation.IN_REGULATION:
        return 1.0
    ratio = leaving / (part.efficiency * entering)
    if part.conversion is Conversion.STEP_DOWN:
        return min(1.0, ratio)
    return max(1.0, ratio) if part.conversion is Conversion.STEP_UP else ratio
