"""What a builder wants to know of the power network on the bench: every figure in every load case.

Gathers what :class:`~holdshort.analysis.power.PowerStudy` solved by rail, device, lead, regulator
and pack, beside what the parts are rated to. Every figure comes with how far it is to be
believed.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from itertools import chain
from typing import Final, NamedTuple

from holdshort.analysis.aircraft import Aircraft
from holdshort.analysis.circuit_elements import RegulatorPoint
from holdshort.analysis.energy import energy_of, flights_between_charges
from holdshort.analysis.facts import Need
from holdshort.analysis.load_cases import LoadCase
from holdshort.analysis.loading import STEADY_CASE
from holdshort.analysis.power import CaseResult, PowerStudy
from holdshort.analysis.power_elements import SERVO_LEAD_LENGTH, lead_name, load_name, owner
from holdshort.analysis.power_rows import (
    ByCase,
    CollapseRow,
    DeviceRow,
    Judgement,
    LeadRow,
    Mark,
    PackRow,
    PackUse,
    PowerTable,
    RailRow,
    Rating,
    Reading,
    RegulatorRow,
    State,
    Told,
    highest,
    is_below,
    judge_volts,
    lowest,
)
from holdshort.analysis.wiring import (
    Copper,
    Node,
    Wiring,
    exceeds,
    is_regulating,
    is_source,
    node_of,
    nodes_of,
    offered_output,
)
from holdshort.document import show_path
from holdshort.setup import Cable, Fitted, Place, Setup
from holdshort.setup.parts import Battery, Load, Servo, VoltageRange


def power_table(aircraft: Aircraft) -> PowerTable:
    """Solve every load case of ``aircraft`` and gather what came out."""
    return _Bench(aircraft.setup, aircraft.wiring, aircraft.power).table()


def node_volts(aircraft: Aircraft) -> Callable[[Node], ByCase]:
    """Return what reads the voltage of a node in every load case, with how far to believe it."""
    return _Bench(aircraft.setup, aircraft.wiring, aircraft.power).volts


class _Bench:
    """Reads one power study."""

    def __init__(self, setup: Setup, wiring: Wiring, power: PowerStudy) -> None:
        self.setup = setup
        self.wiring = wiring
        self.power = power
        self.results = power.results
        self.loose = _loose_ends(setup, wiring)

    def table(self) -> PowerTable:
        devices = self.setup.devices.values()
        leads = [self._lead(joint) for joint in self.wiring.copper if joint.cable]
        return PowerTable(
            file=self.setup.file,
            aircraft=self.setup.aircraft.name if self.setup.aircraft else "",
            cases=self.power.cases,
            collapses=tuple(chain.from_iterable(_collapses(result) for result in self.results)),
            rails=tuple(self._rails()),
            leads=tuple(sorted(leads, key=lambda lead: -lead.volts.size)),
            regulators=tuple(
                self._regulator(device) for device in devices if is_regulating(device)
            ),
            packs=tuple(
                self._pack(device, device.part)
                for device in devices
                if isinstance(device.part, Battery)
            ),
            missing=self._missing(),
            assumptions=tuple(self._told(*assumed) for assumed in self.power.assumptions.values()),
            unread=tuple(show_path(path) for path in sorted(self.setup.broken, key=str)),
        )

    def _by_case(self, read: Callable[[CaseResult], Reading]) -> dict[str, Reading]:
        return {result.case.name: read(result) for result in self.results}

    def _state(self, result: CaseResult, node: Node) -> State:
        """Tell how far a figure at ``node`` is to be believed.

        A feed of unknown voltage leaves none: it could lift the rail as well as hang on it.
        """
        supply = self.wiring.supply(node)
        loose = not self.loose.isdisjoint(self.wiring.upstream(node))
        if supply.unknown:
            return "not known"
        if not supply.feeds:
            return "no supply"
        if result.voltage(node) is None:
            return "collapse" if result.collapse else "not known"
        whole = not loose and not self.power.needs(result.case, node)
        return "known" if whole else "incomplete"

    def volts(self, node: Node) -> dict[str, Reading]:
        def read(result: CaseResult) -> Reading:
            state = self._state(result, node)
            value = result.voltage(node) if state in _WITH_VALUE else None
            return Reading(value, state)

        return self._by_case(read)

    def _currents(self, node: Node, names: Iterable[str]) -> dict[str, Reading]:
        """Return the sum of the currents of some elements at ``node``."""
        elements = tuple(names)

        def read(result: CaseResult) -> Reading:
            state = self._state(result, node)
            solved = result.solved
            if state not in _WITH_VALUE or solved is None:
                return Reading(None, state)
            return Reading(sum(solved.currents.get(name, 0.0) for name in elements), state)

        return self._by_case(read)

    def _rails(self) -> Iterator[RailRow]:
        placed: set[Node] = set()
        unsupplied: list[DeviceRow] = []
        for node in self._all_nodes():
            if node in placed:
                continue
            rail = self.wiring.rail(node)
            placed.update(rail)
            row = self._rail(rail)
            if not row.sources:
                unsupplied += row.devices
            elif row.devices or any(is_source(self.setup, place) for place in rail):
                yield row
        if unsupplied:
            yield RailRow((), {}, {}, tuple(unsupplied))

    def _all_nodes(self) -> Iterator[Node]:
        """Yield every node, those of sources first so that rails come in the order of supply."""
        devices = self.setup.devices.values()
        yield from (Node(device.name, "rail") for device in devices if device.kind == "battery")
        yield from (Node(device.name, "out") for device in devices if is_regulating(device))
        yield from (way.end for way in self.wiring.one_way)
        yield from chain.from_iterable(nodes_of(device) for device in devices)

    def _rail(self, rail: Mapping[Node, None]) -> RailRow:
        made = [node for node in rail if is_source(self.setup, node)]
        ways = [way for way in self.wiring.one_way if way.end in rail]
        heads = list(dict.fromkeys([*made, *(way.end for way in ways)]))
        devices = tuple(chain.from_iterable(self._devices_at(node) for node in rail))
        if not heads or not any(self._is_fed(node) for node in heads):
            return RailRow((), {}, {}, devices)
        inputs = [
            port.address
            for way in ways
            for port in self.setup.devices[way.end.device].ports.values()
            if port.isolated and node_of(self.setup.devices[way.end.device], port) == way.start
        ]
        names = [node.device for node in made] + inputs
        sources = tuple(dict.fromkeys(node.device for node in heads))
        return RailRow(sources, self.volts(heads[0]), self._currents(heads[0], names), devices)

    def _is_fed(self, node: Node) -> bool:
        supply = self.wiring.supply(node)
        return bool(supply.feeds or supply.unknown)

    def _devices_at(self, node: Node) -> Iterator[DeviceRow]:
        device = self.setup.devices[node.device]
        draws = isinstance(device.part, Load | Servo)
        if node not in nodes_of(device) or not (draws or _is_rated(device)):
            return
        volts, rating = self.volts(node), _rating(device)
        yield DeviceRow(
            device=device.name,
            part=device.part_name,
            kind=device.kind,
            volts=volts,
            amperes=self._draw(device, volts) if draws else {},
            rating=rating,
            judgements=self._judge(volts, rating),
        )

    def _draw(self, device: Fitted, volts: ByCase) -> dict[str, Reading]:
        """Return the current that a device draws for itself."""

        def read(result: CaseResult) -> Reading:
            state = volts[result.case.name].state
            solved = result.solved
            if state not in _WITH_VALUE or solved is None:
                return Reading(None, state)
            if _draws_nothing(result.case):
                return Reading(0.0, "known")
            current = solved.currents.get(load_name(device))
            if current is None:
                return Reading(None, "not known")
            # A straining servo is a resistance: its current follows the voltage.
            straining = device.kind == "servo" and result.case.share > 0.0
            return Reading(current, state if straining else "known")

        return self._by_case(read)

    def _judge(self, volts: ByCase, rating: Rating) -> tuple[Judgement, ...]:
        low, high = lowest(volts), highest(volts)
        if low is None or high is None:
            return ("not known",)
        return judge_volts(low.reading, high.reading, rating, at_rest=self._at_rest(high.case))

    def _at_rest(self, name: str) -> bool:
        return any(case.name == name and _draws_nothing(case) for case in self.power.cases)

    def _lead(self, joint: Copper) -> LeadRow:
        cable = joint.cable
        assert cable is not None  # noqa: S101  - joints inside a device are sorted out before
        lead = cable.lead
        volts, amperes = self._loss(joint, cable), self._currents(joint.start, [lead_name(cable)])
        missing = any(
            need.place == cable.place
            for result in self.results
            for need in self.power.needs(result.case, joint.start)
        )
        if missing:
            volts = {case: Reading(None, "not known") for case in volts}
        length = SERVO_LEAD_LENGTH if lead.length is None else float(lead.length)
        worst = highest(volts)
        case = worst.case if worst and worst.reading.value is not None else None
        current = amperes[case] if case else next(iter(amperes.values()))
        wire = lead.wire.text if lead.wire is not None else SERVO_WIRE_TEXT
        return LeadRow(
            start=cable.start.written,
            end=cable.end.written,
            wire=None if missing else wire,
            wire_assumed=lead.wire is None and not missing,
            length=None if missing else length + (lead.extension or 0.0),
            length_assumed=lead.length is None and not missing,
            case=case,
            volts=worst.reading if worst else Reading(None, "not known"),
            amperes=current._replace(value=None if current.value is None else abs(current.value)),
        )

    def _loss(self, joint: Copper, cable: Cable) -> dict[str, Reading]:
        del cable

        def read(result: CaseResult) -> Reading:
            state = self._state(result, joint.start)
            one, other = result.voltage(joint.start), result.voltage(joint.end)
            if state not in _WITH_VALUE or one is None or other is None:
                return Reading(None, state)
            return Reading(abs(one - other), state)

        return self._by_case(read)

    def _regulator(self, device: Fitted) -> RegulatorRow:
        part = device.part
        limits = _Limits(
            _input_rating(device),
            getattr(part, "continuous_current", None),
            getattr(part, "peak_current", None),
            getattr(part, "heat_limit", None),
        )
        points: dict[str, RegulatorPoint | None] = {}
        states: dict[str, State] = {}
        for result in self.results:
            solved = result.solved
            point = solved.regulators.get(device.name) if solved else None
            state = self._state(result, Node(device.name, "out"))
            points[result.case.name] = point if state in _WITH_VALUE else None
            states[result.case.name] = state if point or state not in _WITH_VALUE else "not known"
        return RegulatorRow(
            device=device.name,
            part=device.part_name,
            set_to=_set_voltage(device),
            measured=device.device.measured,
            input_rating=limits.input,
            continuous=limits.continuous,
            peak=limits.peak,
            heat_limit=limits.heat,
            points=points,
            states=states,
            marks={
                case: _regulator_marks(point, limits) if point else ()
                for case, point in points.items()
            },
        )

    def _pack(self, device: Fitted, part: Battery) -> PackRow:
        node = Node(device.name, "rail")
        amperes, volts = self._currents(node, [device.name]), self.volts(node)
        return PackRow(
            device=device.name,
            part=device.part_name,
            chemistry=part.chemistry,
            cells=part.cells,
            capacity=part.capacity,
            continuous=part.continuous_current,
            peak=part.peak_current,
            volts=volts,
            amperes=amperes,
            marks={
                case: _current_marks(
                    reading.value or 0.0, part.continuous_current, part.peak_current
                )
                for case, reading in amperes.items()
            },
            use=self._use(device, volts),
        )

    def _use(self, device: Fitted, volts: ByCase) -> PackUse:
        aircraft = self.setup.aircraft
        flight_time = aircraft.flight_time if aircraft else None
        flights = flights_between_charges(self.setup, self.wiring, device) or 1
        energy = energy_of(self.power, device)
        state: State = "incomplete" if energy.missing else "known"
        if energy.current is None:
            state = volts[STEADY_CASE].state
        used = None if flight_time is None else energy.used(flight_time)
        left = None if flight_time is None else energy.remaining(flight_time * flights)
        return PackUse(
            flight_time,
            flights,
            Reading(used, "not known" if flight_time is None else state),
            Reading(left, "not known" if left is None and state in _WITH_VALUE else state),
        )

    def _missing(self) -> tuple[Told, ...]:
        found: dict[Need, dict[str, None]] = {}
        for result in self.results:
            for node in dict.fromkeys(self._all_nodes()):
                for need in self.power.needs(result.case, node):
                    found.setdefault(need, {})[result.case.name] = None
        for cable in self.wiring.gaps:
            need = Need(cable.place, f"the ports that the lead {cable.title} joins")
            found[need] = {result.case.name: None for result in self.results}
        return tuple(self._told(*need, cases=tuple(cases)) for need, cases in found.items())

    def _told(self, place: Place, text: str, cases: tuple[str, ...] = ()) -> Told:
        return Told(text, place.file, self.setup.span(place).line, cases)


SERVO_WIRE_TEXT: Final = "22 AWG"
"""How the wire is shown that is taken for servo leads (see ``power.SERVO_WIRE_AREA``)."""

_WITH_VALUE: Final = frozenset({"known", "incomplete"})


class _Limits(NamedTuple):
    input: Rating
    continuous: float | None
    peak: float | None
    heat: float | None


def _draws_nothing(case: LoadCase) -> bool:
    return case.servos == "none" and case.others == "none"


def _loose_ends(setup: Setup, wiring: Wiring) -> frozenset[Node]:
    """Return the nodes at the known ends of leads whose other end is at no known port."""
    return frozenset(
        node_of(setup.devices[end.port.device], end.port)
        for cable in wiring.gaps
        if cable.carries_power
        for end in (cable.start, cable.end)
        if end.port is not None
    )


def _is_rated(device: Fitted) -> bool:
    """True for a device beside packs and regulators that states what voltages it takes."""
    return (
        device.part.voltage is not None and device.kind != "battery" and not is_regulating(device)
    )


def _rating(device: Fitted) -> Rating:
    stated = device.part.voltage or VoltageRange.model_construct(min=None, max=None)
    return Rating(stated.min, stated.max, getattr(device.part, "brown_out", None))


def _input_rating(device: Fitted) -> Rating:
    stated: VoltageRange | None = getattr(device.part, "input", None) or device.part.voltage
    return Rating(stated.min, stated.max) if stated else Rating(None, None)


def _set_voltage(device: Fitted) -> float | None:
    if device.device.output is not None:
        return device.device.output
    offered = offered_output(device)
    fixed = offered is not None and offered.max is not None and offered.min == offered.max
    return offered.max if offered and fixed else None


def _regulator_marks(point: RegulatorPoint, limits: _Limits) -> tuple[Mark, ...]:
    marks: list[Mark] = []
    if is_below(point.input_voltage, limits.input.lowest):
        marks.append("input too low")
    if limits.input.highest is not None and exceeds(point.input_voltage, limits.input.highest):
        marks.append("input too high")
    marks += _current_marks(point.output_current, limits.continuous, limits.peak)
    if limits.heat is not None and exceeds(point.heat, limits.heat):
        marks.append("too hot")
    return tuple(marks)


def _current_marks(
    current: float, continuous: float | None, peak: float | None
) -> tuple[Mark, ...]:
    if peak is not None and exceeds(current, peak):
        return ("above peak",)
    if continuous is not None and exceeds(current, continuous):
        return ("above continuous",)
    return ()


def _collapses(result: CaseResult) -> Iterator[CollapseRow]:
    if result.collapse is None:
        return
    for place in result.collapse.places:
        yield CollapseRow(
            result.case.name,
            place.cause,
            owner(place.consumer),
            place.share,
            tuple(owner(name) for name in place.also_falling),
        )
