"""Newton's method on the node equations of a network.

At each node the currents leaving sum to zero. Constant-power loads and switching regulators are
replaced by their tangents, one-way elements by the straight piece they stand on, and the linear
network so made is solved until it repeats itself. The start is at or above the highest voltage any
node can have. There, for constant-power loads on a network whose returns are ground, Newton's
iterates fall monotonically onto the upper operating point when there is one (Ortega and Rheinboldt,
Iterative Solution of Nonlinear Equations, 13.3, from memory); with none the linear network loses a
positive pivot. A point is taken only if all pivots are positive, which holds on the branch that
starts at no load and ends where the operating point vanishes.
"""

import math
from collections import defaultdict
from dataclasses import dataclass, field
from enum import Enum, auto
from typing import Final, NamedTuple

from holdshort.analysis.circuit_elements import (
    Conversion,
    Diode,
    LinearRegulator,
    Regulator,
    SwitchingRegulator,
)
from holdshort.analysis.circuit_elimination import SPARE, Elimination, Pattern, plan
from holdshort.analysis.circuit_topology import Survey, aim

_CLOSE: Final = 1e-8
"""Newton stops when no node moves more than this, V."""

EDGE: Final = 1e-9
"""A one-way element this far below conducting still counts as conducting, V."""

_MOST_ITERATIONS: Final = 80

_MOST_CAREFUL_ITERATIONS: Final = 400

_INTO_PIECE: Final = 1e-6
"""How far a cut step goes past the point where an element changes piece, V."""

_NO_VOLTAGE: Final = 1e-3
"""A constant-power consumer this low and still falling has no operating point, V."""

_LEAST_FRACTION: Final = 0.2
"""A constant-power consumer keeps at least this part of its voltage in one step."""


class Consumer(NamedTuple):
    """What draws a constant current or power: its nodes, amount (A or W) and weight indices."""

    name: str
    one: int
    other: int
    amount: float = 0.0
    forth: int = SPARE
    back: int = SPARE

    def across(self, voltages: list[float]) -> float:
        """Return its terminal voltage, V."""
        return voltages[self.one] - voltages[self.other]


class OneWay(NamedTuple):
    """A diode or regulator with the indices of its weights; a diode's common node is ground.

    `always` is set on the only feeder of an island that nothing else holds: it carries whatever
    the island draws.
    """

    part: Diode | Regulator
    enter: int
    leave: int
    common: int
    enter_leave: tuple[int, int]
    enter_common: tuple[int, int]
    leave_common: tuple[int, int]
    conductance: float
    drop: float
    always: bool


class Network(NamedTuple):
    """A network compiled for solving: the linear part summed, the rest listed.

    `sums`, `weights` and `right` are those of `circuit_elimination`; `feeders` holds, for each
    island that several one-way elements and nothing else hold up, their places in `one_way`;
    `consumers` the power loads and the inputs of switching regulators.
    """

    survey: Survey
    kept: list[bool]
    elimination: Elimination
    sums: list[float]
    weights: list[float]
    right: list[float]
    current_loads: list[Consumer]
    powers: list[Consumer]
    one_way: list[OneWay]
    feeders: list[list[int]]
    consumers: list[Consumer]


class Outcome(Enum):
    """How an attempt to find an operating point ended."""

    FOUND = auto()
    VANISHED = auto()
    REVERSED = auto()
    STUCK = auto()


class Attempt(NamedTuple):
    """The end of one attempt: node voltages by number (V) and iterations taken."""

    outcome: Outcome
    voltages: list[float]
    iterations: int


@dataclass(frozen=True, slots=True)
class _Draft:
    survey: Survey
    kept: list[bool]
    pattern: Pattern
    sums: list[float]
    right: list[float]
    stamps: list[tuple[int, int, float]] = field(default_factory=list[tuple[int, int, float]])

    def keeps(self, *nodes: int) -> bool:
        return all(map(self.kept.__getitem__, nodes))

    def drives(self, node: int) -> bool:
        return self.survey.island[node] in self.survey.powered


def compile_network(survey: Survey, kept: list[bool]) -> Network:
    """Compile the part of a surveyed network whose nodes are `kept`; the others stand at 0 V."""
    sums = [0.0 if keep else 1.0 for keep in kept]
    draft = _Draft(survey, kept, Pattern(len(kept)), sums, [0.0] * len(kept))
    _add_two_way(draft)
    current_loads = [
        Consumer(load.name, one, other, load.current)
        for load, one, other in survey.parts.current_loads
        if kept[one] and kept[other] and draft.drives(one)
    ]
    powers = [
        Consumer(load.name, one, other, load.power, *draft.pattern.link(one, other))
        for load, one, other in survey.parts.power_loads
        if kept[one] and kept[other] and draft.drives(one)
    ]
    one_way, feeders = _add_one_way(draft)
    elimination = plan(draft.pattern)
    weights = [0.0] * elimination.weights
    for forth, back, conductance in draft.stamps:
        weights[forth] += conductance
        weights[back] += conductance
    inputs = [
        Consumer(way.part.name, way.enter, way.common)
        for way in one_way
        if isinstance(way.part, SwitchingRegulator)
    ]
    return Network(
        survey,
        kept,
        elimination,
        sums,
        weights,
        draft.right,
        current_loads,
        powers,
        one_way,
        feeders,
        [*powers, *inputs],
    )


def _add_two_way(draft: _Draft) -> None:
    parts, kept, sums, right = draft.survey.parts, draft.kept, draft.sums, draft.right
    for part, one, other in (*parts.conductors, *parts.sources):
        if not (kept[one] and kept[other]):
            continue
        conductance = 1.0 / part.resistance
        if one and other:
            draft.stamps.append((*draft.pattern.link(one, other), conductance))
        else:
            sums[one or other] += conductance
    for source, one, other in parts.sources:
        if kept[one] and kept[other]:
            right[one] += source.emf / source.resistance
            right[other] -= source.emf / source.resistance


def _add_one_way(draft: _Draft) -> tuple[list[OneWay], list[list[int]]]:
    survey, link = draft.survey, draft.pattern.link
    held: defaultdict[int, list[int]] = defaultdict(list)
    rows: list[tuple[Diode | Regulator, int, int, int]] = []
    for row in survey.parts.one_way():
        part, enter, leave, common = row
        if not (draft.keeps(enter, leave, common) and draft.drives(enter)):
            continue
        island = survey.island[leave]
        if leave and island not in survey.anchored and island != survey.island[enter]:
            held[island].append(len(rows))
        rows.append(row)
        if not isinstance(part, Diode):
            draft.right[enter] -= part.quiescent_current
            draft.right[common] += part.quiescent_current
    only = {places[0] for places in held.values() if len(places) == 1}
    one_way = [
        OneWay(
            part,
            enter,
            leave,
            common,
            link(enter, leave),
            link(enter, common),
            link(leave, common),
            1.0 / (part.resistance if isinstance(part, Diode) else part.output_resistance),
            part.forward_drop if isinstance(part, Diode) else part.dropout,
            place in only,
        )
        for place, (part, enter, leave, common) in enumerate(rows)
    ]
    return one_way, [places for places in held.values() if len(places) > 1]


def start(network: Network) -> list[float]:
    """Return voltages no node can exceed, from which Newton's method starts."""
    return [
        level if keep else 0.0
        for level, keep in zip(network.survey.level, network.kept, strict=True)
    ]


def attempt(network: Network, share: float, begin: list[float]) -> Attempt:
    """Look for the operating point at a share of all current and power loads.

    `begin` holds node voltages at or above it. When whole steps go round in circles among the
    pieces of one-way elements, steps are cut where the first element changes piece.
    """
    quick = _iterate(network, share, begin)
    if quick.outcome is not Outcome.STUCK:
        return quick
    return attempt_carefully(network, share, begin)


def attempt_carefully(network: Network, share: float, begin: list[float]) -> Attempt:
    """Do the same by cut steps from the first."""
    return _iterate(network, share, begin, careful=True)


def attempt_without_ties(network: Network, share: float, begin: list[float]) -> Attempt:
    """Do the same by cut steps, with what only just conducts taken as not conducting."""
    return _iterate(network, share, begin, edge=-EDGE, careful=True)


def _iterate(
    network: Network,
    share: float,
    begin: list[float],
    *,
    edge: float = EDGE,
    careful: bool = False,
) -> Attempt:
    right = network.right[:]
    for load in network.current_loads:
        right[load.one] -= share * load.amount
        right[load.other] += share * load.amount
    voltages = begin
    most = _MOST_CAREFUL_ITERATIONS if careful else _MOST_ITERATIONS
    for iteration in range(1, most + 1):
        solved = linear_step(network, share, voltages, right[:], edge)
        if solved is None:
            return Attempt(Outcome.VANISHED, voltages, iteration)
        moved = max(abs(new - old) for new, old in zip(solved, voltages, strict=True))
        if moved < _CLOSE and _is_consistent(network, solved):
            return Attempt(_sense(network, solved), solved, iteration)
        part = _step_kept_positive(network, voltages, solved)
        if part == 0.0:
            sense = _sense(network, solved)
            vanished = sense is Outcome.FOUND
            return Attempt(Outcome.VANISHED if vanished else sense, solved, iteration)
        if careful:
            part = min(part, _step_to_next_piece(network, voltages, solved))
        if part < 1.0:
            solved = [b + part * (a - b) for a, b in zip(solved, voltages, strict=True)]
        voltages = solved
    return Attempt(Outcome.STUCK, voltages, most)


def _step_kept_positive(network: Network, old: list[float], new: list[float]) -> float:
    """Return the part of a step that leaves constant-power consumers enough of their voltage.

    That is 0 when one of them has none left to give.
    """
    part = 1.0
    for consumer in network.consumers:
        before, after = consumer.across(old), consumer.across(new)
        if before > 0.0 and after < _LEAST_FRACTION * before:
            if before < _NO_VOLTAGE:
                return 0.0
            part = min(part, (1.0 - _LEAST_FRACTION) * before / (before - after))
    return part


def _step_to_next_piece(network: Network, old: list[float], new: list[float]) -> float:
    """Return the part of a step that just enters the next linear piece (Katzenelson's method).

    Bell Syst. Tech. J. 44 (1965) 1605, from memory.
    """
    part = 1.0
    for way in network.one_way:
        for before, after in zip(_margins(way, old), _margins(way, new), strict=True):
            if before * after < 0.0 and abs(before) > _INTO_PIECE:
                part = min(part, (abs(before) + _INTO_PIECE) / abs(after - before))
    return part


def _margins(way: OneWay, voltages: list[float]) -> tuple[float, ...]:
    """Return the quantities whose signs tell the piece a one-way element is on, V."""
    base, part = voltages[way.common], way.part
    through = voltages[way.enter] - way.drop - voltages[way.leave]
    if isinstance(part, Diode):
        return (through,)
    set_over_output = part.set_voltage + base - voltages[way.leave]
    return through, set_over_output, voltages[way.enter] - way.drop - base - part.set_voltage


def _is_consistent(network: Network, voltages: list[float]) -> bool:
    """Tell whether no element kept conducting to hold its island up would carry a backflow."""
    for way in network.one_way:
        if way.always and excess(way, voltages) < -_CLOSE:
            return False
    return all(
        max(excess(network.one_way[place], voltages) for place in places) >= -_CLOSE
        for places in network.feeders
    )


def _sense(network: Network, voltages: list[float]) -> Outcome:
    if any(load.across(voltages) <= 0.0 < load.amount for load in network.current_loads):
        return Outcome.REVERSED
    if any(consumer.across(voltages) <= 0.0 for consumer in network.consumers):
        return Outcome.VANISHED
    return Outcome.FOUND


def linear_step(
    network: Network,
    share: float,
    voltages: list[float],
    right: list[float],
    edge: float = EDGE,
) -> list[float] | None:
    """Solve the network made linear at `voltages`; `right` holds the constant currents.

    Returns the new voltages, or None when a pivot is not positive.
    """
    sums, weights = network.sums[:], network.weights[:]
    for load in network.powers:
        one, other = load.one, load.other
        voltage = voltages[one] - voltages[other]
        if voltage <= 0.0:
            voltage = abs(voltages[one]) or 1.0
        current = share * load.amount / voltage
        slope = current / voltage
        if other:
            weights[load.forth] -= slope
            weights[load.back] -= slope
            right[other] += 2.0 * current
        else:
            sums[one] -= slope
        right[one] -= 2.0 * current
    for way in _conducting(network, voltages, edge):
        if passes_through(way, voltages):
            _stamp_through(way, sums, weights, right)
        else:
            _stamp_regulating(way, voltages, (sums, weights, right))
    return network.elimination.solve(sums, weights, right)


def _conducting(network: Network, voltages: list[float], edge: float) -> list[OneWay]:
    over = [excess(way, voltages) for way in network.one_way]
    for places in network.feeders:
        strongest = max(places, key=over.__getitem__)
        over[strongest] = math.inf
    return [
        way
        for way, above in zip(network.one_way, over, strict=True)
        if way.always or above >= -edge
    ]


def excess(way: OneWay, voltages: list[float]) -> float:
    """Return how far the output is below what the element would give with no load, V."""
    base = voltages[way.common]
    return aim(way.part, voltages[way.enter] - base) + base - voltages[way.leave]


def passes_through(way: OneWay, voltages: list[float]) -> bool:
    """Tell whether a one-way element hands its input through, less its drop."""
    part = way.part
    if isinstance(part, Diode):
        return True
    given = voltages[way.enter] - voltages[way.common] - part.dropout
    if isinstance(part, LinearRegulator) or part.conversion is Conversion.STEP_DOWN:
        return given < part.set_voltage
    return part.conversion is Conversion.STEP_UP and given > part.set_voltage


def _stamp_through(
    way: OneWay, sums: list[float], weights: list[float], right: list[float]
) -> None:
    conductance, (forth, back) = way.conductance, way.enter_leave
    if not way.leave:
        sums[way.enter] += conductance
    elif not way.enter:
        sums[way.leave] += conductance
    else:
        weights[forth] += conductance
        weights[back] += conductance
    right[way.enter] += conductance * way.drop
    right[way.leave] -= conductance * way.drop


def input_tangent(way: OneWay, voltages: list[float]) -> tuple[float, float, float]:
    """Return a regulating element's input current less quiescent (A) and its slopes (S).

    The slopes are against input and output voltage, both measured from the common node.
    """
    part, conductance = way.part, way.conductance
    base = voltages[way.common]
    entering, leaving = voltages[way.enter] - base, voltages[way.leave] - base
    current = conductance * (aim(part, entering) - leaving)
    if not isinstance(part, SwitchingRegulator):
        return current, 0.0, -conductance
    ratio = leaving / (part.efficiency * entering) if entering else 0.0
    straight = (part.conversion is Conversion.STEP_DOWN and ratio >= 1.0) or (
        part.conversion is Conversion.STEP_UP and ratio <= 1.0
    )
    if straight or not entering:
        return current, 0.0, -conductance
    drawn = ratio * current
    by_output = current / (part.efficiency * entering) - ratio * conductance
    return drawn, -drawn / entering, by_output


def _stamp_regulating(
    way: OneWay, voltages: list[float], system: tuple[list[float], list[float], list[float]]
) -> None:
    sums, weights, right = system
    conductance, common = way.conductance, way.common
    base = voltages[common]
    drawn, by_input, by_output = input_tangent(way, voltages)
    set_voltage = aim(way.part, voltages[way.enter] - base)
    forced = conductance * set_voltage
    constant = drawn - by_input * (voltages[way.enter] - base)
    constant -= by_output * (voltages[way.leave] - base)
    right[way.enter] -= constant
    right[way.leave] += forced
    weights[way.enter_leave[0]] -= by_output
    if not common:
        sums[way.leave] += conductance
        sums[way.enter] += by_input + by_output
        return
    weights[way.leave_common[0]] += conductance
    weights[way.enter_common[0]] += by_input + by_output
    weights[way.leave_common[1]] += conductance + by_output
    weights[way.enter_common[1]] += by_input
    right[common] += constant - forced
