"""The power network of an aircraft, solved in every load case.

Maps a setup to the elements of :mod:`holdshort.analysis.circuit`: packs by chemistry, cells, state
of charge and internal resistance; leads by wire size and length, both conductors; regulators,
switches, isolated inputs; devices as loads. What is not declared is either a :class:`Need` (the
result is then incomplete) or an :class:`Assumption` from common practice, which every view shows.
"""

from collections.abc import Iterable, Iterator
from functools import cached_property
from typing import Final, NamedTuple

from holdshort.analysis.cells import assumed_resistance, pack_emf
from holdshort.analysis.circuit import (
    LEAST_RESISTANCE,
    Collapse,
    ConvergenceError,
    CurrentLoad,
    Diode,
    Element,
    LinearRegulator,
    RegulatorPoint,
    ResistanceLoad,
    Resistor,
    Solution,
    Source,
    SwitchingRegulator,
    solve,
)
from holdshort.analysis.facts import Need
from holdshort.analysis.load_cases import DEFAULT_CASES, LoadCase
from holdshort.analysis.wire import resistance_per_metre, run_resistance
from holdshort.analysis.wiring import Node, Wiring, is_regulating, node_of, nodes_of, offered_output
from holdshort.setup import Cable, Fitted, Place, Port, Setup
from holdshort.setup.parts import (
    Battery,
    Connector,
    Distribution,
    EngineController,
    Fuse,
    Load,
    Regulator,
    Servo,
    Switch,
)

SERVO_WIRE_AREA: Final = 0.3255e-6
"""Metal area of 22 AWG, m2 (ASTM B258): taken for a servo lead whose wire is not declared."""
SERVO_LEAD_LENGTH: Final = 0.30
"""Length of a servo's own lead, m: taken where a lead's length is not declared."""
DROPOUT: Final = 0.5
"""Dropout taken for a regulator that states none, V."""
EFFICIENCY: Final = 0.9
"""Efficiency taken for a switching regulator that states none."""


class Assumption(NamedTuple):
    """A figure taken from common practice because none is declared."""

    place: Place
    text: str


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


def node_name(node: Node) -> str:
    """Return the name of a node in the circuit."""
    return f"{node.device}/{node.rail}"


def load_name(device: Fitted) -> str:
    """Return the name of what a device draws for itself; a regulator has its own name too."""
    return f"{device.name}.load"


def owner(element: str) -> str:
    """Return the device that an element of the circuit stands for; names hold no dots."""
    return element.partition(".")[0]


def lead_name(cable: Cable) -> str:
    """Return the name of a lead in the circuit."""
    return f"lead {cable.index}"


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
        self._results: dict[str, CaseResult] = {}
        self._unsolved: set[str] = set()

    def result(self, name: str) -> CaseResult:
        """Return the network in the case called ``name``. Raises KeyError for an unknown name."""
        if name not in self._results:
            case = next((case for case in self.cases if case.name == name), None)
            if case is None:
                raise KeyError(name)
            self._results[name] = self.solve(case)
        return self._results[name]

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
            list(self._elements(case))
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

    def _elements(self, case: LoadCase) -> Iterator[tuple[str | int, Element]]:
        """Yield the elements of a case, each with the device or lead it stands for."""
        self._needs[case.name] = {}
        builder = _Builder(self, case)
        for device in self._wired:
            for element in builder.device(device):
                yield device.name, element
        for joint in self.wiring.copper:
            if joint.cable is not None:
                yield joint.cable.index, builder.lead(joint.cable, joint.start, joint.end)

    def note_need(self, case: LoadCase, node: Node, need: Need) -> None:
        """Remember that ``need`` is missing at ``node``."""
        self._needs[case.name].setdefault(node, []).append(need)

    def note_assumption(self, place: Place, text: str) -> None:
        """Remember a figure taken from common practice."""
        self.assumptions.setdefault(place, Assumption(place, text))


class _Builder:
    """Makes the elements of one load case."""

    def __init__(self, study: PowerStudy, case: LoadCase) -> None:
        self.study = study
        self.case = case
        self.stalled = _strongest_pair(study.setup) if case.servos == "stalled pair" else ()

    def need(self, node: Node, place: Place, text: str) -> None:
        """Remember what is missing at ``node``."""
        self.study.note_need(self.case, node, Need(place, text))

    def device(self, device: Fitted) -> Iterator[Element]:
        part = device.part
        if isinstance(part, Battery):
            yield from self._battery(device, part)
        elif isinstance(part, Switch | Fuse):
            yield self._joint(device, part)
        elif isinstance(part, Servo):
            yield from self._servo(device, part)
        else:
            if is_regulating(device):
                yield from self._regulator(device)
            yield from self._other(device)
        for port in device.ports.values():
            if port.isolated and port.powered:
                yield self._isolated(device, port)

    def _battery(self, device: Fitted, part: Battery) -> Iterator[Element]:
        node = Node(device.name, "rail")
        resistance: float | None = part.resistance
        if resistance is None and part.capacity is not None:
            assumed = assumed_resistance(part.chemistry, part.cells, part.capacity)
            self.study.note_assumption(
                device.part_place("capacity"),
                f"internal resistance of `{device.part_name}`: {assumed * 1e3:.0f} mΩ, "
                "from its capacity",
            )
            resistance = assumed
        if resistance is None:
            self.need(
                node,
                device.part_place("capacity"),
                f"the capacity or internal resistance of pack `{device.part_name}`",
            )
        emf = pack_emf(part.chemistry, part.cells, self.case.charge)
        ohms = max(resistance or 0.0, LEAST_RESISTANCE)
        yield Source(device.name, node_name(node), emf, ohms)

    def _joint(self, device: Fitted, part: Switch | Fuse) -> Element:
        if part.resistance is None:
            self.study.note_assumption(
                device.part_place("resistance"),
                f"`{device.part_name}` has no resistance of its own",
            )
        start, end = Node(device.name, "in"), Node(device.name, "out")
        ohms = max(part.resistance or 0.0, LEAST_RESISTANCE)
        return Resistor(device.name, node_name(start), node_name(end), ohms)

    def _isolated(self, device: Fitted, port: Port) -> Element:
        end = Node(device.name, "in" if is_regulating(device) else "rail")
        start = node_of(device, port)
        if port.drop is None:
            self.study.note_assumption(
                port.set_by, f"isolated inputs of `{device.part_name}` lose nothing"
            )
        return Diode(port.address, node_name(start), node_name(end), port.drop or 0.0)

    def _regulator(self, device: Fitted) -> Iterator[Element]:
        before, after = Node(device.name, "in"), Node(device.name, "out")
        voltage = self._set_voltage(device)
        if voltage is None:
            self.need(
                after,
                device.at(),
                f"the output voltage that `{device.name}` is set to",
            )
            return
        part = device.part
        assert isinstance(part, Regulator | Distribution | EngineController)  # noqa: S101
        dropout = self._figure(device, "dropout", DROPOUT, "V")
        quiescent = getattr(part, "quiescent_current", None) or 0.0
        if self._is_linear(device):
            yield LinearRegulator(
                device.name, node_name(before), node_name(after), voltage, dropout, quiescent
            )
            return
        yield SwitchingRegulator(
            device.name,
            node_name(before),
            node_name(after),
            voltage,
            self._figure(device, "efficiency", EFFICIENCY, ""),
            dropout,
            quiescent,
        )

    def _set_voltage(self, device: Fitted) -> float | None:
        if device.device.output is not None:
            return device.device.output
        offered = offered_output(device)
        if offered and offered.max is not None and offered.min == offered.max:
            return offered.max
        return None

    def _is_linear(self, device: Fitted) -> bool:
        part = device.part
        if isinstance(part, Regulator | Distribution) and part.type is not None:
            return part.type == "linear"
        self.study.note_assumption(
            device.part_place("type"), f"`{device.part_name}` is a switching regulator"
        )
        return False

    def _figure(self, device: Fitted, field: str, otherwise: float, unit: str) -> float:
        value = getattr(device.part, field, None)
        if value is not None:
            return float(value)
        shown = f"{otherwise:g} {unit}" if unit else f"{otherwise:.0%}"
        self.study.note_assumption(
            device.part_place(field), f"{field} of `{device.part_name}`: {shown}"
        )
        return otherwise

    def _servo(self, device: Fitted, part: Servo) -> Iterator[Element]:
        how = self.case.servos
        node = next(nodes_of(device))
        if how == "none":
            return
        if how == "moving" or device.name in self.stalled:
            yield from self._straining(device, part, node)
            return
        field = "idle-current" if how == "idle" else "cruise-current"
        current = part.idle_current if how == "idle" else part.cruise_current
        if current is None:
            self.need(
                node,
                device.part_place(field),
                f"the {field.replace('-', ' ')} of servo `{device.part_name}`",
            )
            return
        yield CurrentLoad(load_name(device), node_name(node), current)

    def _straining(self, device: Fitted, part: Servo, node: Node) -> Iterator[Element]:
        """A straining servo is a resistance: its motor stands still, or nearly so."""
        rated = [rating for rating in part.ratings or () if rating.stall_current is not None]
        if not rated:
            self.need(
                node,
                device.part_place("ratings"),
                f"the stall current of servo `{device.part_name}`",
            )
            return
        rating = max(rated, key=lambda rating: rating.at)
        stall = rating.stall_current or 0.0
        yield ResistanceLoad(
            load_name(device), node_name(node), rating.at / (stall * self.case.share)
        )

    def _other(self, device: Fitted) -> Iterator[Element]:
        if self.case.others == "none" or not isinstance(device.part, Load):
            return
        node = next(nodes_of(device))
        draws = device.part.draws
        column = self.case.others
        if column == "start" and device.kind != "engine-controller":
            column = "rest"
        current: float | None = getattr(draws, column) if draws else None
        if current is None and device.kind == "sensor":
            return
        if current is None:
            self.need(
                node,
                device.part_place("draws"),
                f"the current that `{device.part_name}` draws ({column})",
            )
            return
        yield CurrentLoad(load_name(device), node_name(node), current)

    def lead(self, cable: Cable, start: Node, end: Node) -> Element:
        """Return a lead as a resistance: both conductors, extensions and connectors in line."""
        ohms = self._wire(cable, start) + self._connectors(cable)
        return Resistor(
            lead_name(cable), node_name(start), node_name(end), max(ohms, LEAST_RESISTANCE)
        )

    def _wire(self, cable: Cable, start: Node) -> float:
        lead = cable.lead
        if _is_servo_lead(cable):
            return self._servo_wire(cable)
        if lead.wire is None or lead.length is None:
            missing = " and ".join(
                word for word, value in (("wire size", lead.wire), ("length", lead.length))
                if value is None
            )  # fmt: skip
            need = Need(cable.place, f"the {missing} of the lead {cable.title}")
            self.study.note_need(self.case, start, need)
            return 0.0
        length = lead.length + (lead.extension or 0.0)
        return run_resistance(length, resistance_per_metre(lead.wire))

    def _servo_wire(self, cable: Cable) -> float:
        lead = cable.lead
        if lead.wire is None:
            self.study.note_assumption(
                Place(cable.place.file, ("leads",)),
                "servo leads whose wire is not declared: 22 AWG",
            )
        if lead.length is None:
            self.study.note_assumption(
                Place(cable.place.file, ("leads", "length")),
                "servo leads whose own length is not declared: 30 cm",
            )
        length = (SERVO_LEAD_LENGTH if lead.length is None else lead.length) + (
            lead.extension or 0.0
        )
        return run_resistance(length, resistance_per_metre(lead.wire or SERVO_WIRE_AREA))

    def _connectors(self, cable: Cable) -> float:
        """Return the resistance of the connectors in line, out and back, ohm."""
        total = 0.0
        for name in cable.lead.connectors or ():
            part = self.study.setup.connectors.get(name)
            if isinstance(part, Connector) and part.resistance is not None:
                total += 2.0 * part.resistance / (part.contacts or 1)
        return total


def _is_servo_lead(cable: Cable) -> bool:
    """True for an ordinary three-wire lead: one with a signal port at either end."""
    ends = (cable.start.port, cable.end.port)
    return any(port is not None and not port.takes_power_only for port in ends)


def _strongest_pair(setup: Setup) -> tuple[str, ...]:
    """Return the two servos with the highest stall current."""

    def stall(servo: Fitted) -> float:
        ratings = servo.part.ratings if isinstance(servo.part, Servo) else None
        return max((rating.stall_current or 0.0 for rating in ratings or ()), default=0.0)

    servos = sorted(setup.of_kind("servo"), key=stall, reverse=True)
    return tuple(servo.name for servo in servos[:2])


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
