"""What the solved power network says about one rail, lead or regulator, as rules ask it.

Everything is read off the load cases of :class:`holdshort.analysis.power.PowerStudy`. Volts,
amperes, watts and metres.
"""

import math
from collections.abc import Iterable
from typing import Final, NamedTuple

from holdshort.analysis.cells import nominal_voltage, stop_voltage
from holdshort.analysis.circuit_elements import CollapsePlace, Regulation, RegulatorPoint
from holdshort.analysis.facts import Need
from holdshort.analysis.load_cases import CRUISE, LoadCase
from holdshort.analysis.power import Drop, PowerStudy
from holdshort.analysis.power_elements import (
    DROPOUT,
    EFFICIENCY,
    SERVO_LEAD_LENGTH,
    SERVO_WIRE_AREA,
    lead_name,
    owner,
)
from holdshort.analysis.wire import gauge_of_area, resistance_per_metre
from holdshort.analysis.wiring import Node, Wiring, nodes_of, offered_output
from holdshort.setup import Cable, Fitted, Place, Quantity, Setup
from holdshort.setup.parts import (
    Battery,
    Distribution,
    EngineController,
    Gyro,
    Hub,
    Receiver,
    Regulator,
    Servo,
    VoltageRange,
)

SERVO_WIRE: Final = "22 AWG"
"""How `SERVO_WIRE_AREA` is written."""


class Low(NamedTuple):
    """A voltage at its lowest, and the load case in which that is."""

    case: LoadCase
    voltage: float


class Way(NamedTuple):
    """The leads from a source to a device, nearest to the device first, and the source's node."""

    drops: tuple[Drop, ...]
    source: Node

    @property
    def largest(self) -> Drop | None:
        """The lead that loses most, or None where no lead loses anything."""
        return max(self.drops, key=lambda drop: drop.volts, default=None)


class LeadLoad(NamedTuple):
    """One lead in one load case: amperes through it, volts lost in it."""

    case: LoadCase
    current: float
    volts: float


class Collapsed(NamedTuple):
    """One network that cannot carry its load in ``case``, and where it gives way."""

    case: LoadCase
    place: CollapsePlace
    device: str
    nodes: frozenset[Node]


class Minimum(NamedTuple):
    """The lowest voltage at which a device may stand, and how messages give the reason."""

    voltage: float
    words: str
    place: Place


class RegulatorFacts(NamedTuple):
    """What is known of a regulator; None is unknown.

    ``dropout_stated`` and ``efficiency_stated`` are False where a figure from common practice is
    taken. ``input`` is None for a built-in regulator too: its input is the device's own supply.
    """

    setting: Quantity | None
    input: VoltageRange | None
    dropout: float
    dropout_stated: bool
    is_linear: bool | None
    efficiency: float
    efficiency_stated: bool
    continuous: Quantity | None
    peak: Quantity | None
    heat_limit: Quantity | None


def lowest(power: PowerStudy, node: Node) -> Low | None:
    """Return the lowest voltage of ``node`` over all load cases, or None where it has none."""
    found = [
        Low(result.case, volts)
        for result in power.results
        if (volts := result.voltage(node)) is not None
    ]
    return min(found, key=lambda low: low.voltage, default=None)


def missing(power: PowerStudy, node: Node, cases: Iterable[LoadCase]) -> tuple[Need, ...]:
    """Return what is missing to know ``node`` in ``cases``, one need for each place."""
    found: dict[Place, Need] = {}
    for case in cases:
        for need in power.needs(case, node):
            found.setdefault(need.place, need)
    return tuple(found.values())


def collapsed(power: PowerStudy) -> tuple[Collapsed, ...]:
    """Return each network that collapses in some case, in the case where it carries least."""
    worst: dict[frozenset[Node], Collapsed] = {}
    for result in power.results:
        for place in result.collapse.places if result.collapse else ():
            device = power.setup.devices[owner(place.consumer)]
            nodes = power.wiring.network(next(nodes_of(device)))
            before = worst.get(nodes)
            if before is None or place.share < before.place.share:
                worst[nodes] = Collapsed(result.case, place, device.name, nodes)
    return tuple(worst.values())


def way(power: PowerStudy, case: LoadCase, node: Node) -> Way:
    """Return the leads on the way from the source to ``node``.

    A regulator in regulation is a source; one that has dropped out only passes on what its own
    supply gives, so the way goes on through it, and through isolated inputs.
    """
    drops: list[Drop] = []
    seen: set[Node] = set()
    while node not in seen:
        seen.add(node)
        found = power.drops(case, node)
        drops += found
        node = _before(power, case, _upper_end(power, case, found[-1].cable) if found else node)
    return Way(tuple(drops), node)


def _upper_end(power: PowerStudy, case: LoadCase, cable: Cable) -> Node:
    result = power.result(case.name)
    joint = next(joint for joint in power.wiring.copper if joint.cable is cable)
    return max((joint.start, joint.end), key=lambda node: result.voltage(node) or 0.0)


def _before(power: PowerStudy, case: LoadCase, node: Node) -> Node:
    """Return the node that ``node`` gets its power from past a diode or dropped-out regulator."""
    result = power.result(case.name)
    point = result.regulator(node.device)
    if node.rail == "out" and point and point.regulation is Regulation.DROPPED_OUT:
        node = Node(node.device, "in")
    starts = [way.start for way in power.wiring.one_way if way.end == node]
    return max(starts, key=lambda start: result.voltage(start) or 0.0, default=node)


def lead_loads(power: PowerStudy, cable: Cable, cases: Iterable[LoadCase]) -> list[LeadLoad]:
    """Return what a lead carries and loses in each of ``cases`` that has an operating point."""
    joint = next((joint for joint in power.wiring.copper if joint.cable is cable), None)
    found: list[LeadLoad] = []
    for case in cases:
        result = power.result(case.name)
        current = result.current(lead_name(cable))
        if joint is None or current is None:
            continue
        ends = result.voltage(joint.start), result.voltage(joint.end)
        if ends[0] is not None and ends[1] is not None:
            found.append(LeadLoad(case, abs(current), abs(ends[0] - ends[1])))
    return found


def run_words(cable: Cable) -> str:
    """Say what a lead is made of: ``1.2 m of 24 AWG``, or what is taken where that is unknown."""
    metres = run_length(cable)
    length = f"{metres:.3g} m" if metres >= 1.0 else f"{metres * 100.0:.3g} cm"
    wire = cable.lead.wire
    return f"{length} of {wire.text}" if wire else f"{length} of wire (taken as {SERVO_WIRE})"


def run_length(cable: Cable) -> float:
    """Return the length of a lead one way, extension included, m; 30 cm where not declared."""
    lead = cable.lead
    own = SERVO_LEAD_LENGTH if lead.length is None else float(lead.length)
    return own + (lead.extension or 0.0)


def gauge_for_drop(cable: Cable, load: LeadLoad, allowed: float, feed: float) -> int | None:
    """Return the thinnest even gauge that keeps a lead's drop to ``allowed`` volts, or None.

    A' = A (rho/A L 2 I') / allowed, with only the wire's share of the drop to be had from the
    wire. A load that is a resistance draws more when its voltage rises, at most
    I' = I V_feed / (V_feed - V_lost). None where even 0 AWG is too thin or plugs lose too much.
    """
    area = float(cable.lead.wire or SERVO_WIRE_AREA)
    wire = 2.0 * run_length(cable) * resistance_per_metre(area)
    plugs = max(load.volts / load.current - wire, 0.0)
    current = load.current * feed / (feed - load.volts) if feed > load.volts else math.inf
    room = allowed / current - plugs
    if room <= 0.0:
        return None
    gauge = math.floor(gauge_of_area(area * wire / room) / 2.0 + 1e-9) * 2
    return gauge if gauge >= 0 else None


def nominal_rail(setup: Setup, wiring: Wiring, node: Node) -> float | None:
    """Return the nominal voltage of the rail of ``node``: the lowest of its feeds, V.

    A regulator's setting, or a pack's nominal voltage; None where no feed is known.
    """
    found: list[float] = []
    for feed in wiring.supply(node).feeds:
        part = setup.devices[feed.device].part
        if isinstance(part, Battery):
            found.append(nominal_voltage(part.chemistry, part.cells))
        else:
            found.append(feed.voltage)
    return min(found, default=None)


def minimum(device: Fitted, margin: Quantity) -> Minimum | None:
    """Return the lowest voltage at which ``device`` may stand, or None where none is stated.

    That is its rated minimum; for a receiver, hub or gyro also its reset voltage plus ``margin``
    (row P39, common practice), where the rated minimum stands in for a reset voltage not stated.
    """
    rated = device.part.voltage.min if device.part.voltage else None
    found: Minimum | None = None
    if rated is not None:
        place = device.part_place("voltage", "min")
        found = Minimum(rated, "its rated minimum", place)
    if not isinstance(device.part, Receiver | Hub | Gyro):
        return found
    reset = device.part.brown_out
    if reset is not None:
        words = f"its brown-out at {reset.text} and a margin of {margin.text}"
        found = _higher(found, Minimum(reset + margin, words, device.part_place("brown-out")))
    elif rated is not None:
        words = f"its minimum of {rated.text} and a margin of {margin.text}"
        place = device.part_place("voltage", "min")
        found = _higher(found, Minimum(rated + margin, words, place))
    return found


def _higher(one: Minimum | None, other: Minimum) -> Minimum:
    return other if one is None or other.voltage > one.voltage else one


def regulator_facts(device: Fitted) -> RegulatorFacts:
    """Return what is known of the regulator that ``device`` is or has built in."""
    part = device.part
    dropout = getattr(part, "dropout", None)
    efficiency = getattr(part, "efficiency", None)
    how = part.type if isinstance(part, Regulator | Distribution) else None
    return RegulatorFacts(
        setting=device.device.output or _fixed_output(device),
        input=_input(part),
        dropout=DROPOUT if dropout is None else float(dropout),
        dropout_stated=dropout is not None,
        is_linear=None if how is None else how == "linear",
        efficiency=EFFICIENCY if efficiency is None else float(efficiency),
        efficiency_stated=efficiency is not None,
        continuous=getattr(part, _rating(part, "continuous_current"), None),
        peak=getattr(part, _rating(part, "peak_current"), None),
        heat_limit=getattr(part, "heat_limit", None),
    )


def _rating(part: object, field: str) -> str:
    return f"output_{field}" if isinstance(part, EngineController) else field


def _fixed_output(device: Fitted) -> Quantity | None:
    offered = offered_output(device)
    if offered and offered.max is not None and offered.min == offered.max:
        return offered.max
    return None


def _input(part: object) -> VoltageRange | None:
    if isinstance(part, Regulator):
        return part.input or part.voltage
    return part.voltage if isinstance(part, Distribution) else None


def pack_drop(power: PowerStudy, pack: Fitted, node: Node) -> float | None:
    """Return the most that is lost between a pack's terminals and ``node`` over all cases, V."""
    terminal = next(nodes_of(pack))
    lost = [
        before - after
        for result in power.results
        if (before := result.voltage(terminal)) is not None
        and (after := result.voltage(node)) is not None
    ]
    return max(lost, default=None)


def pack_stop(pack: Fitted) -> float | None:
    """Return the voltage under load at which a pack is to be landed, V; None for other parts."""
    part = pack.part
    return stop_voltage(part.chemistry, part.cells) if isinstance(part, Battery) else None


def pack_nominal(pack: Fitted) -> float | None:
    """Return the nominal voltage of a pack, V; None for other parts."""
    part = pack.part
    return nominal_voltage(part.chemistry, part.cells) if isinstance(part, Battery) else None


def full_pack_cruise(power: PowerStudy, device: Fitted) -> RegulatorPoint | None:
    """Return where a regulator stands in steady flight straight after take-off on full packs.

    Its input is highest then, and so is the heat of a linear regulator.
    """
    cruise = next(case for case in power.cases if case.name == CRUISE.name)
    return power.moment(cruise._replace(charge=1.0)).regulator(device.name)


def stall_currents(setup: Setup, wiring: Wiring, device: Fitted) -> list[float]:
    """Return the stall current of each servo that ``device`` feeds, at its highest voltage, A."""
    found: list[float] = []
    for servo in setup.of_kind("servo"):
        feeds = wiring.supply(next(nodes_of(servo))).feeds
        if isinstance(servo.part, Servo) and any(feed.device == device.name for feed in feeds):
            rated = [one for one in servo.part.ratings or () if one.stall_current is not None]
            if rated:
                found.append(max(rated, key=lambda one: one.at).stall_current or 0.0)
    return found
