"""The power network of an aircraft, solved in every load case.

What is not declared is either a :class:`Need` (the result is then incomplete) or an
:class:`Assumption` from common practice, which every view shows.
"""

from collections.abc import Iterable, Iterator
from functools import cached_property
from typing import Final, NamedTuple

from holdshort.analysis.circuit import (
    Collapse,
    ConvergenceError,
    Element,
    RegulatorPoint,
    Solution,
    solve,
)
from holdshort.analysis.facts import Need
from holdshort.analysis.load_cases import DEFAULT_CASES, LoadCase
from holdshort.analysis.power_elements import Assumption, ElementBuilder, lead_name, node_name
from holdshort.analysis.wiring import Node, Wiring, is_regulating
from holdshort.setup import Cable, Fitted, Place, Setup


class Drop(NamedTuple):
    """Voltage lost in one lead on the way to a device."""

    cable: Cable
    volts: float
    current: float


class CaseResult(NamedTuple):
    """The network in one load case.

    ``solution`` is None where there is no operating point; ``collapse`` then says where. Both are
    None where the solver failed: nothing is then known.
    """

    case: LoadCase
    solution: Solution | None
    collapse: Collapse | None

    @property
    def solved(self) -> Solution | None:
        """The solution; in a collapse, that of the parts that do not hang together with it."""
        if self.solution is not None:
            return self.solution
        return self.collapse.elsewhere if self.collapse else None

    def voltage(self, node: Node) -> float | None:
        """Return the voltage of a node in volts, or None where nothing supplies it."""
        solved = self.solved
        return solved.voltages.get(node_name(node)) if solved else None

    def current(self, name: str) -> float | None:
        """Return the current of an element in amperes, or None where it has none."""
        solved = self.solved
        return solved.currents.get(name) if solved else None

    def regulator(self, device: str) -> RegulatorPoint | None:
        """Return where a regulator stands, or None."""
        solved = self.solved
        return solved.regulators.get(device) if solved else None


_SOLVABLE: Final = "figures of packs, wires and loads with which the power network can be solved"


class PowerStudy:
    """The power network of a setup, solved on demand in each load case."""

    def __init__(
        self, setup: Setup, wiring: Wiring, cases: tuple[LoadCase, ...] = DEFAULT_CASES
    ) -> None:
        """Hold the setup; nothing is solved until it is asked for."""
        self.setup = setup
        self.wiring = wiring
        self.cases = cases
        self.assumptions: dict[Place, Assumption] = {}
        self._needs: dict[str, dict[Node, list[Need]]] = {}
        self._results: dict[LoadCase, CaseResult] = {}
        self._networks: dict[LoadCase, tuple[tuple[str | int, Element], ...]] = {}
        self._unsolved: set[str] = set()

    def result(self, name: str) -> CaseResult:
        """Return the network in the case called ``name``. Raises KeyError for an unknown name."""
        if name not in self._named:
            raise KeyError(name)
        return self.moment(self._named[name])

    def moment(self, case: LoadCase) -> CaseResult:
        """Return the whole network in a case, solved once; it may be none of :attr:`cases`."""
        if case not in self._results:
            self._results[case] = self.solve(case)
        return self._results[case]

    @cached_property
    def _named(self) -> dict[str, LoadCase]:
        return {case.name: case for case in self.cases}

    @cached_property
    def results(self) -> tuple[CaseResult, ...]:
        """The network in every case."""
        return tuple(self.result(case.name) for case in self.cases)

    def solve(
        self,
        case: LoadCase,
        without_devices: Iterable[str] = (),
        without_cables: Iterable[int] = (),
    ) -> CaseResult:
        """Solve one case, with some devices and leads taken out."""
        out, unplugged = frozenset(without_devices), frozenset(without_cables)
        elements = [
            element
            for name, element in self._elements(case)
            if name not in out and name not in unplugged
        ]
        try:
            found = solve(elements)
        except ConvergenceError:
            # The solver's fault, never a collapse: what depends on it is then not checked.
            self._unsolved.add(case.name)
            return CaseResult(case, None, None)
        if isinstance(found, Collapse):
            return CaseResult(case, None, found)
        return CaseResult(case, found, None)

    def elements(self, case: LoadCase) -> tuple[Element, ...]:
        """Return the network of ``case`` as the solver is given it."""
        return tuple(element for _, element in self._elements(case))

    def needs(self, case: LoadCase, node: Node) -> tuple[Need, ...]:
        """Return what is missing to know the voltage of ``node`` in ``case``.

        Only what hangs together with the node counts: a load on another pack changes nothing.
        """
        if case.name not in self._needs:
            self._elements(case)
        if not self._needs[case.name] and case.name not in self._unsolved:
            return ()
        group = self._groups.get(node)
        found: dict[Need, None] = {}
        if case.name in self._unsolved:
            found[Need(self.setup.place("devices"), _SOLVABLE)] = None
        for other, needs in self._needs[case.name].items():
            if group is not None and self._groups.get(other) == group:
                found.update(dict.fromkeys(needs))
        return tuple(found)

    def drops(self, case: LoadCase, node: Node) -> tuple[Drop, ...]:
        """Return the leads on the way from the source to ``node``, nearest first."""
        result = self.result(case.name)
        drops: list[Drop] = []
        seen = {node}
        while True:
            step = self._inflow(result, node, seen)
            if step is None:
                return tuple(drops)
            node, drop = step
            seen.add(node)
            if drop is not None:
                drops.append(drop)

    def _inflow(
        self, result: CaseResult, node: Node, seen: set[Node]
    ) -> tuple[Node, Drop | None] | None:
        """Return the neighbour that gives ``node`` most of its current, and the lead between."""
        here = result.voltage(node)
        best: tuple[float, Node, Cable | None] | None = None
        for other, joint in self.wiring.joints(node):
            there = result.voltage(other)
            if other in seen or here is None or there is None:
                continue
            name = lead_name(joint.cable) if joint.cable else joint.start.device
            current = abs(result.current(name) or 0.0)
            if there > here and (best is None or current > best[0]):
                best = (current, other, joint.cable)
        if best is None or here is None:
            return None
        current, other, cable = best
        volts = (result.voltage(other) or here) - here
        return other, Drop(cable, volts, current) if cable else None

    @cached_property
    def _groups(self) -> dict[Node, int]:
        """Return, for every node, the number of the network it belongs to."""
        pairs = [(joint.start, joint.end) for joint in self.wiring.copper]
        pairs += [(way.start, way.end) for way in self.wiring.one_way]
        for device in self.setup.devices.values():
            if is_regulating(device):
                pairs.append((Node(device.name, "in"), Node(device.name, "out")))
        return _grouped(pairs)

    @cached_property
    def _wired(self) -> tuple[Fitted, ...]:
        """The devices that power can reach: a device with no power lead changes nothing."""
        touched = {node.device for node in self.wiring.nodes}
        return tuple(device for device in self.setup.devices.values() if device.name in touched)

    def _elements(self, case: LoadCase) -> tuple[tuple[str | int, Element], ...]:
        """Return the elements of a case, each with the device or lead it stands for."""
        if case not in self._networks:
            self._networks[case] = tuple(self._drawn(case))
        return self._networks[case]

    def _drawn(self, case: LoadCase) -> Iterator[tuple[str | int, Element]]:
        """Yield the elements of a case, noting what is missing and what is assumed."""
        notes = _CaseNotes(self._needs.setdefault(case.name, {}), self.assumptions)
        notes.needs.clear()
        builder = ElementBuilder(self.setup, case, notes)
        for device in self._wired:
            for element in builder.device(device):
                yield device.name, element
        for joint in self.wiring.copper:
            if joint.cable is not None:
                yield joint.cable.index, builder.lead(joint.cable, joint.start, joint.end)


class _CaseNotes(NamedTuple):
    """What one load case left missing, by node, and what was assumed, by place."""

    needs: dict[Node, list[Need]]
    assumptions: dict[Place, Assumption]

    def need(self, node: Node, need: Need) -> None:
        self.needs.setdefault(node, []).append(need)

    def assume(self, place: Place, text: str) -> None:
        self.assumptions.setdefault(place, Assumption(place, text))


def _grouped(pairs: list[tuple[Node, Node]]) -> dict[Node, int]:
    parent: dict[Node, Node] = {}

    def root(node: Node) -> Node:
        parent.setdefault(node, node)
        while parent[node] != node:
            parent[node] = parent[parent[node]]
            node = parent[node]
        return node

    for one, other in pairs:
        parent[root(one)] = root(other)
    number: dict[Node, int] = {}
    return {node: number.setdefault(root(node), len(number)) for node in list(parent)}
