"""The elements of the power network in one load case, made from a setup.

Packs by chemistry, cells, state of charge and internal resistance; leads by wire size and length,
both conductors; regulators, switches, isolated inputs; devices as loads. What is not declared is
either a need (the result is then incomplete) or an assumption from common practice.
"""

from collections.abc import Iterator
from typing import Final, NamedTuple, Protocol

from holdshort.analysis.cells import assumed_resistance, pack_emf
from holdshort.analysis.circuit import (
    LEAST_RESISTANCE,
    CurrentLoad,
    Diode,
    Element,
    LinearRegulator,
    ResistanceLoad,
    Resistor,
    Source,
    SwitchingRegulator,
)
from holdshort.analysis.facts import Need
from holdshort.analysis.load_cases import LoadCase
from holdshort.analysis.wire import resistance_per_metre, run_resistance
from holdshort.analysis.wiring import (
    Node,
    is_regulating,
    is_servo_lead,
    node_of,
    nodes_of,
    offered_output,
)
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
"""Metal area of 22 AWG, m2 (ASTM B258): taken for a servo lead whose wire is not declared
(common practice, no source)."""
SERVO_LEAD_LENGTH: Final = 0.30
"""Length of a servo's own lead, m: taken where a lead's length is not declared (common practice,
no source)."""
DROPOUT: Final = 0.5
"""Dropout taken for a regulator that states none, V (common practice, no source)."""
EFFICIENCY: Final = 0.9
"""Efficiency taken for a switching regulator that states none (common practice, no source)."""


class Assumption(NamedTuple):
    """A figure taken from common practice because none is declared."""

    place: Place
    text: str


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


class Notes(Protocol):
    """Where a builder leaves what it found missing and what it took from common practice."""

    def need(self, node: Node, need: Need) -> None:
        """Remember that ``need`` is missing at ``node``."""

    def assume(self, place: Place, text: str) -> None:
        """Remember a figure taken from common practice."""


class ElementBuilder:
    """Makes the elements of one load case."""

    def __init__(self, setup: Setup, case: LoadCase, notes: "Notes") -> None:
        """Make elements for ``case``; what is missing or assumed goes into ``notes``."""
        self.setup = setup
        self.case = case
        self.notes = notes
        self.stalled = _strongest_pair(setup) if case.servos == "stalled pair" else ()

    def need(self, node: Node, place: Place, text: str) -> None:
        """Remember what is missing at ``node``."""
        self.notes.need(node, Need(place, text))

    def device(self, device: Fitted) -> Iterator[Element]:
        """Yield what one device is in the circuit: source, joint, regulator, load, inputs."""
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
            self.notes.assume(
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
            self.notes.assume(
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
            self.notes.assume(port.set_by, f"isolated inputs of `{device.part_name}` lose nothing")
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
        self.notes.assume(
            device.part_place("type"), f"`{device.part_name}` is a switching regulator"
        )
        return False

    def _figure(self, device: Fitted, field: str, otherwise: float, unit: str) -> float:
        value = getattr(device.part, field, None)
        if value is not None:
            return float(value)
        shown = f"{otherwise:g} {unit}" if unit else f"{otherwise:.0%}"
        self.notes.assume(device.part_place(field), f"{field} of `{device.part_name}`: {shown}")
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
        ohms = max(rating.at / (stall * self.case.share), LEAST_RESISTANCE)
        yield ResistanceLoad(load_name(device), node_name(node), ohms)

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
        if is_servo_lead(cable):
            return self._servo_wire(cable)
        if lead.wire is None or lead.length is None:
            missing = " and ".join(
                word for word, value in (("wire size", lead.wire), ("length", lead.length))
                if value is None
            )  # fmt: skip
            need = Need(cable.place, f"the {missing} of the lead {cable.title}")
            self.notes.need(start, need)
            return 0.0
        length = lead.length + (lead.extension or 0.0)
        return run_resistance(length, resistance_per_metre(lead.wire))

    def _servo_wire(self, cable: Cable) -> float:
        lead = cable.lead
        if lead.wire is None:
            self.notes.assume(
                Place(cable.place.file, ("leads",)),
                "servo leads whose wire is not declared: 22 AWG",
            )
        if lead.length is None:
            self.notes.assume(
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
            part = self.setup.connectors.get(name)
            if isinstance(part, Connector) and part.resistance is not None:
                total += 2.0 * part.resistance / (part.contacts or 1)
        return total


def _strongest_pair(setup: Setup) -> tuple[str, ...]:
    """Return the two servos with the highest stall current.

    Among equals those with the longest leads count, then those whose names come first: the order
    of the file says nothing.
    """
    lengths: dict[str, float] = {}
    for cable in setup.cables:
        for end in (cable.start, cable.end):
            length = (cable.lead.length or 0.0) + (cable.lead.extension or 0.0)
            lengths[end.device] = lengths.get(end.device, 0.0) + length

    def order(servo: Fitted) -> tuple[float, float, str]:
        ratings = servo.part.ratings if isinstance(servo.part, Servo) else None
        stall = max((rating.stall_current or 0.0 for rating in ratings or ()), default=0.0)
        return -stall, -lengths.get(servo.name, 0.0), servo.name

    return tuple(servo.name for servo in sorted(setup.of_kind("servo"), key=order)[:2])
