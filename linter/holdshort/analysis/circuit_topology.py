"""What the drawing of a network says before any current is computed.

Which nodes hang together, which of them nothing decides, which a source can reach, and the highest
voltage each could have.
"""

from collections.abc import Container, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final, NamedTuple

from holdshort.analysis.circuit_elements import (
    GROUND,
    Conversion,
    CurrentLoad,
    Diode,
    Element,
    LinearRegulator,
    PowerLoad,
    Regulator,
    ResistanceLoad,
    Resistor,
    Source,
    SwitchingRegulator,
)

GROUND_NUMBER: Final = 0
"""Number of the reference node."""


@dataclass(slots=True)
class Parts:
    """The elements by kind, each with the numbers of its nodes in the order of its fields."""

    sources: list[tuple[Source, int, int]] = field(default_factory=list[tuple[Source, int, int]])
    conductors: list[tuple[Resistor | ResistanceLoad, int, int]] = field(
        default_factory=list[tuple[Resistor | ResistanceLoad, int, int]]
    )
    diodes: list[tuple[Diode, int, int]] = field(default_factory=list[tuple[Diode, int, int]])
    linear: list[tuple[LinearRegulator, int, int, int]] = field(
        default_factory=list[tuple[LinearRegulator, int, int, int]]
    )
    switching: list[tuple[SwitchingRegulator, int, int, int]] = field(
        default_factory=list[tuple[SwitchingRegulator, int, int, int]]
    )
    current_loads: list[tuple[CurrentLoad, int, int]] = field(
        default_factory=list[tuple[CurrentLoad, int, int]]
    )
    power_loads: list[tuple[PowerLoad, int, int]] = field(
        default_factory=list[tuple[PowerLoad, int, int]]
    )

    def two_way(self) -> Iterator[tuple[int, int]]:
        """Return the node pairs of everything that conducts both ways."""
        for _, one, other in self.conductors:
            yield one, other
        for _, one, other in self.sources:
            yield one, other

    def one_way(self) -> Iterator[tuple[Diode | Regulator, int, int, int]]:
        """Return what passes current one way only: element, input, output and common node."""
        for diode, enter, leave in self.diodes:
            yield diode, enter, leave, GROUND_NUMBER
        yield from self.regulators()

    def regulators(self) -> Iterator[tuple[Regulator, int, int, int]]:
        """Return the regulators: element, input, output and common node."""
        yield from self.linear
        yield from self.switching

    def links(self) -> Iterator[tuple[int, int]]:
        """Return the node pairs of every element."""
        yield from self.two_way()
        for _, one, other in (*self.current_loads, *self.power_loads):
            yield one, other
        for _, enter, leave, common in self.one_way():
            yield enter, leave
            yield enter, common


class Survey(NamedTuple):
    """A network numbered and sorted.

    - `names`: the name of each node; number 0 is ground.
    - `island`: for each node the number of its island: nodes joined by two-way elements otherwise
      than through ground.
    - `anchored`: islands with a two-way path to ground. `powered`: islands a source can drive
      current into. `decided`: islands whose voltage something fixes: anchored ones, and powered
      ones fed by a one-way element from a decided island.
    - `level`: for each node a voltage it cannot exceed, V (where all returns are ground).
    """

    names: list[str]
    parts: Parts
    island: list[int]
    anchored: set[int]
    decided: set[int]
    powered: set[int]
    level: list[float]

    def floating(self) -> frozenset[str]:
        """Return the names of the nodes whose voltage nothing decides."""
        return frozenset(
            name
            for name, island in zip(self.names, self.island, strict=True)
            if island not in self.decided
        )


def survey(elements: Sequence[Element]) -> Survey:
    """Return the nodes numbered, with islands, floating and powered parts, highest voltages."""
    number = {GROUND: GROUND_NUMBER}
    parts = _sort(elements, number)
    island = _islands(parts, len(number))
    anchored = {island[one or other] for one, other in parts.two_way() if not (one and other)}
    top = _highest(parts, island)
    decided = _decided(parts, island, anchored, top)
    level = [top.get(group, 0.0) for group in island]
    level[GROUND_NUMBER] = 0.0
    return Survey(list(number), parts, island, anchored, decided, set(top), level)


def _sort(elements: Sequence[Element], number: dict[str, int]) -> Parts:
    parts = Parts()
    for element in elements:
        if isinstance(element, Resistor):
            one = number.setdefault(element.first, len(number))
            other = number.setdefault(element.second, len(number))
            parts.conductors.append((element, one, other))
        elif isinstance(element, (Diode, LinearRegulator, SwitchingRegulator)):
            _sort_one_way(element, number, parts)
        else:
            _sort_supply_or_load(element, number, parts)
    return parts


def _sort_one_way(element: Diode | Regulator, number: dict[str, int], parts: Parts) -> None:
    enter = number.setdefault(element.input, len(number))
    leave = number.setdefault(element.output, len(number))
    if isinstance(element, Diode):
        parts.diodes.append((element, enter, leave))
        return
    common = number.setdefault(element.common, len(number))
    if isinstance(element, LinearRegulator):
        parts.linear.append((element, enter, leave, common))
    else:
        parts.switching.append((element, enter, leave, common))


def _sort_supply_or_load(
    element: Source | CurrentLoad | PowerLoad | ResistanceLoad,
    number: dict[str, int],
    parts: Parts,
) -> None:
    one = number.setdefault(element.positive, len(number))
    other = number.setdefault(element.negative, len(number))
    match element:
        case PowerLoad():
            parts.power_loads.append((element, one, other))
        case CurrentLoad():
            parts.current_loads.append((element, one, other))
        case ResistanceLoad():
            parts.conductors.append((element, one, other))
        case Source():
            parts.sources.append((element, one, other))


def joined(count: int, pairs: Iterator[tuple[int, int]]) -> list[int]:
    """Return for each of `count` nodes the number of its group, pairs through ground not counted.

    Union-find with path halving.
    """
    parent = list(range(count))
    for one, other in pairs:
        if one and other:
            parent[_root(parent, one)] = _root(parent, other)
    return [_root(parent, node) for node in range(count)]


def _root(parent: list[int], node: int) -> int:
    while parent[node] != node:
        parent[node] = node = parent[parent[node]]
    return node


def _islands(parts: Parts, count: int) -> list[int]:
    return joined(count, parts.two_way())


def _decided(
    parts: Parts, island: list[int], anchored: set[int], powered: Container[int]
) -> set[int]:
    decided = anchored | {island[GROUND_NUMBER]}
    links = [
        (island[a], island[b], island[c]) for _, a, b, c in parts.one_way() if island[a] in powered
    ]
    while True:
        reached = {leave for enter, leave, common in links if {enter, common} <= decided}
        if reached <= decided:
            return decided
        decided |= reached


def _highest(parts: Parts, island: list[int]) -> dict[int, float]:
    """Return the highest voltage of each island a source can reach.

    A source that stands on another adds its EMF; one-way elements hand on what they can give.
    """
    top: dict[int, float] = {}
    stacked: dict[int, float] = {}
    for source, positive, negative in parts.sources:
        group = island[positive or negative]
        if positive and negative:
            stacked[group] = stacked.get(group, 0.0) + source.emf
        emf = source.emf if positive else -source.emf
        top[group] = max(top.get(group, emf), emf)
    for group, emf in stacked.items():
        top[group] += emf
    links = [(part, island[a], island[b]) for part, a, b, _ in parts.one_way()]
    changed = bool(links)
    while changed:
        changed = False
        for part, enter, leave in links:
            if leave == GROUND_NUMBER or enter not in top:
                continue
            given = aim(part, top[enter])
            if leave not in top or given > top[leave]:
                top[leave] = given
                changed = True
    return top


def aim(part: Diode | Regulator, input_voltage: float) -> float:
    """Return the no-load output voltage of a one-way element at an input voltage."""
    if isinstance(part, Diode):
        return input_voltage - part.forward_drop
    if isinstance(part, LinearRegulator) or part.conversion is Conversion.STEP_DOWN:
        return min(part.set_voltage, input_voltage - part.dropout)
    if part.conversion is Conversion.STEP_UP:
        return max(part.set_voltage, input_voltage - part.dropout)
    return part.set_voltage
