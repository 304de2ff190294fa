"""The parts an on-board power network is drawn from, and what solving it gives back.

Every element has a `name`, by which its results are told, and stands between named nodes. Voltages
are in volts against `GROUND`, currents in amperes, resistances in ohms, powers in watts. Elements
check their own values and raise `ValueError` naming the element.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from typing import Final, Literal, NamedTuple

GROUND: Final = "ground"
"""Name of the reference node, which stands at 0 V."""

LEAST_RESISTANCE: Final = 1e-5
"""Smallest resistance accepted, ohm: no real joint is lower, and rounding grows below it."""

DEFAULT_OUTPUT_RESISTANCE: Final = 1e-3
"""Output resistance of a regulator that states none, ohm (common practice, no source)."""

DEFAULT_DIODE_RESISTANCE: Final = 5e-3
"""Series resistance of a one-way input that states none, ohm (common practice, no source)."""


def _refuse(name: str, what: str) -> None:
    raise ValueError(f"element {name!r}: {what}")


def _check_resistance(name: str, resistance: float) -> None:
    if not LEAST_RESISTANCE <= resistance < math.inf:
        _refuse(name, f"resistance must be at least {LEAST_RESISTANCE} ohm, not {resistance}")


def _check_not_negative(name: str, **values: float) -> None:
    for what, value in values.items():
        if not 0.0 <= value < math.inf:
            _refuse(name, f"{what} must be zero or more, not {value}")


def _check_apart(name: str, *nodes: str) -> None:
    if len(set(nodes)) < len(nodes):
        _refuse(name, f"its terminals must stand on different nodes, not {', '.join(nodes)}")


@dataclass(frozen=True, slots=True)
class Source:
    """A battery or other supply: `emf` behind `resistance`, from `negative` to `positive`."""

    name: str
    positive: str
    emf: float
    resistance: float
    negative: str = GROUND

    def __post_init__(self) -> None:
        _check_resistance(self.name, self.resistance)
        _check_not_negative(self.name, emf=self.emf)
        _check_apart(self.name, self.positive, self.negative)


@dataclass(frozen=True, slots=True)
class Resistor:
    """Anything that conducts both ways: wire, connector contact, fuse, closed switch.

    For a run of wire drawn as one line `resistance` counts both conductors.
    """

    name: str
    first: str
    second: str
    resistance: float

    def __post_init__(self) -> None:
        _check_resistance(self.name, self.resistance)
        _check_apart(self.name, self.first, self.second)


@dataclass(frozen=True, slots=True)
class Diode:
    """A one-way path: diode, ideal-diode switch (`forward_drop` 0) or isolated input.

    Current is max(0, (V_in - V_out - forward_drop) / resistance). With nothing drawing current the
    output stands at V_in - forward_drop, the limit of a vanishing load.
    """

    name: str
    input: str
    output: str
    forward_drop: float
    resistance: float = DEFAULT_DIODE_RESISTANCE

    def __post_init__(self) -> None:
        _check_resistance(self.name, self.resistance)
        _check_not_negative(self.name, forward_drop=self.forward_drop)
        _check_apart(self.name, self.input, self.output)


@dataclass(frozen=True, slots=True)
class LinearRegulator:
    """A series regulator: input current = output current + quiescent current.

    The output aims at min(set_voltage, V_in - dropout), all against `common`, behind
    `output_resistance`. It passes no current backwards.
    """

    name: str
    input: str
    output: str
    set_voltage: float
    dropout: float
    quiescent_current: float = 0.0
    output_resistance: float = DEFAULT_OUTPUT_RESISTANCE
    common: str = GROUND

    def __post_init__(self) -> None:
        _check_resistance(self.name, self.output_resistance)
        _check_not_negative(
            self.name,
            set_voltage=self.set_voltage,
            dropout=self.dropout,
            quiescent_current=self.quiescent_current,
        )
        _check_apart(self.name, self.input, self.output, self.common)


class Conversion(Enum):
    """Which way a switching regulator can move the voltage."""

    STEP_DOWN = "step-down"
    STEP_UP = "step-up"
    EITHER = "either"


@dataclass(frozen=True, slots=True)
class SwitchingRegulator:
    """A switching regulator: input power = output power / efficiency, plus quiescent current.

    All voltages are against `common`; the output stands behind `output_resistance` and passes no
    current backwards.

    - step-down: in regulation while V_in >= set_voltage + dropout; below that it passes through,
      V_out = V_in - dropout and the currents are equal. In regulation the input current is never
      more than the output current (the switch is on for at most the whole cycle).
    - step-up: in regulation while V_in <= set_voltage + dropout; above that it passes through in
      the same way. In regulation the input current is never less than the output current.
    - either: always in regulation.

    It is never taken to switch itself off. If the input stands below `minimum_input` the result
    says so (`Solution.below_minimum`) and changes nothing. Where the law jumps at the edge of
    regulation two operating points can exist; the one with the higher input voltage is taken.
    """

    name: str
    input: str
    output: str
    set_voltage: float
    efficiency: float
    dropout: float = 0.0
    quiescent_current: float = 0.0
    output_resistance: float = DEFAULT_OUTPUT_RESISTANCE
    conversion: Conversion = Conversion.STEP_DOWN
    minimum_input: float = 0.0
    common: str = GROUND

    def __post_init__(self) -> None:
        _check_resistance(self.name, self.output_resistance)
        _check_not_negative(
            self.name,
            dropout=self.dropout,
            quiescent_current=self.quiescent_current,
            minimum_input=self.minimum_input,
        )
        if not 0.0 < self.set_voltage < math.inf:
            _refuse(self.name, f"set voltage must be over zero, not {self.set_voltage}")
        if not 0.0 < self.efficiency <= 1.0:
            _refuse(self.name, f"efficiency must be over 0 and at most 1, not {self.efficiency}")
        _check_apart(self.name, self.input, self.output, self.common)


@dataclass(frozen=True, slots=True)
class CurrentLoad:
    """A load that draws `current` whatever its voltage, so long as that is above zero."""

    name: str
    positive: str
    current: float
    negative: str = GROUND

    def __post_init__(self) -> None:
        _check_not_negative(self.name, current=self.current)
        _check_apart(self.name, self.positive, self.negative)


@dataclass(frozen=True, slots=True)
class PowerLoad:
    """A load that draws `power` whatever its voltage.

    Behind a source E with resistance R there are two operating points or none: none above
    E^2/(4 R). Of two the upper is taken; with none the result is a `Collapse`. The load keeps its
    power at any voltage: it is never turned into a resistance. If it stands below
    `minimum_voltage` the result says so (`Solution.below_minimum`) and changes nothing.
    """

    name: str
    positive: str
    power: float
    negative: str = GROUND
    minimum_voltage: float = 0.0

    def __post_init__(self) -> None:
        _check_not_negative(self.name, power=self.power, minimum_voltage=self.minimum_voltage)
        _check_apart(self.name, self.positive, self.negative)


@dataclass(frozen=True, slots=True)
class ResistanceLoad:
    """A load that draws V / resistance."""

    name: str
    positive: str
    resistance: float
    negative: str = GROUND

    def __post_init__(self) -> None:
        _check_resistance(self.name, self.resistance)
        _check_apart(self.name, self.positive, self.negative)


Load = CurrentLoad | PowerLoad | ResistanceLoad
Regulator = LinearRegulator | SwitchingRegulator
Element = Source | Resistor | Diode | Regulator | Load


class Regulation(Enum):
    """What a regulator is doing at the operating point."""

    IN_REGULATION = "in regulation"
    DROPPED_OUT = "dropped out"
    """The input is too low to hold the set voltage; the regulator passes through."""
    PASSED_THROUGH = "passed through"
    """The input of a step-up regulator is over the set voltage and comes through."""
    OFF = "off"
    """Something else holds the output above what this regulator would give, or it has no input."""


class RegulatorPoint(NamedTuple):
    """Where one regulator stands: volts against its common node, amperes, `heat` in watts."""

    regulation: Regulation
    input_voltage: float
    output_voltage: float
    input_current: float
    output_current: float
    heat: float


class Solution(NamedTuple):
    """An operating point whose node currents were summed and found to balance.

    - `voltages`: node -> V against ground. Floating nodes are absent.
    - `currents`: element -> A. Source: out of its positive terminal (negative when it is being
      charged). Resistor: first to second. Diode, load: in the direction of its use. Regulator:
      output current (both currents are in `regulators`). Elements on floating nodes are absent.
    - `losses`: source, resistor, diode, regulator -> heat in W. `delivered`: load -> W.
    - `supplied`: source -> W out of its EMF (negative when it is being charged).
    - `floating`: nodes whose voltage nothing decides: no path to ground, or only one-way paths
      leading away from them.
    - `unserved`: loads and regulators that draw nothing since no source reaches them.
    - `below_minimum`: power loads and switching regulators under their declared minimum voltage.
    - `residual`: largest current that fails to balance at any node, A.
    """

    voltages: Mapping[str, float]
    currents: Mapping[str, float]
    regulators: Mapping[str, RegulatorPoint]
    losses: Mapping[str, float]
    delivered: Mapping[str, float]
    supplied: Mapping[str, float]
    floating: frozenset[str]
    unserved: tuple[str, ...]
    below_minimum: tuple[str, ...]
    residual: float
    iterations: int


class CollapsePlace(NamedTuple):
    """One connected part of the network that has no operating point at its full load.

    Found by raising all its constant-current and constant-power loads together from nothing
    (resistance loads and quiescent currents stay): `share` is the largest part that can be
    carried, within 1e-6 below the true limit. At that point:

    - `no operating point` (the nose): the voltages fall without bound for the next bit of load.
      `consumer` is the load or switching-regulator input whose voltage falls fastest in relation
      to its no-load voltage; `also_falling` are those that fall at least half as fast.
    - `no voltage left`: a constant-current load would need its voltage to be zero or less;
      `consumer` is that load.

    `voltage` and `no_load_voltage` are the consumer's terminal voltages at `share` and with no
    load, `node` its positive node. With `share` 0 there is no point even with no load (a switching
    regulator feeding its own input, or a battery of lower voltage): the voltages are None,
    `consumer` is the switching regulator whose input was lowest and `also_falling` the others.
    """

    cause: Literal["no operating point", "no voltage left"]
    consumer: str
    node: str
    share: float
    voltage: float | None
    no_load_voltage: float | None
    also_falling: tuple[str, ...]


class Collapse(NamedTuple):
    """The network has no operating point.

    `places` holds one entry for each connected part that fails, worst first; `elsewhere` is the
    operating point of the parts that do not share a wire with them, None if there are none.
    """

    places: tuple[CollapsePlace, ...]
    elsewhere: Solution | None
    floating: frozenset[str]


class ConvergenceError(ArithmeticError):
    """The solver found neither an operating point nor a limit. A fault of the solver."""
