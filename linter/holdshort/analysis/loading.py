"""How hard packs and leads are worked: their steady currents and their short-time ones.

**Steady** is the current of the cruise case: what flows minute after minute and heats things
through. A **burst** is the higher of hard manoeuvre and two servos stalled, which last seconds.
The **start** of an engine lasts up to a minute. That split is common practice, no source.
"""

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final, Literal, NamedTuple

from holdshort.analysis.facts import Need
from holdshort.analysis.load_cases import LoadCase
from holdshort.analysis.supply_paths import beyond
from holdshort.analysis.wiring import Node, exceeds, is_regulating, is_servo_lead
from holdshort.setup import Cable, Fitted, Place

if TYPE_CHECKING:
    from holdshort.analysis.power import PowerStudy

STEADY_CASE: Final = "cruise"
START_CASE: Final = "engine-start"
UNLOADED_CASE: Final = "rest"
GAUGE_ROUNDING: Final = 0.25
"""Wire this much of a gauge thinner still counts as it, so that metric sizes find their row (0.5
mm2 is gauge 20.15). Common practice, no source."""


class Excess(NamedTuple):
    """A current above its limit, both in A. ``case`` says in words when it flows."""

    kind: Literal["steady", "short"]
    current: float
    limit: float
    case: str


class Flow(NamedTuple):
    """A current in A, or None where there is no operating point or no supply.

    ``case`` says in words when it flows; ``collapsed`` names a case with no operating point, or is
    empty. ``missing`` are facts without which a load or a regulator is left out, so that the true
    current can only be higher.
    """

    current: float | None
    case: str
    collapsed: str
    missing: tuple[Need, ...]


class Loading(NamedTuple):
    """The currents through one pack or lead.

    - ``missing_resistances``: facts without which a resistance is left out; true short-time
      currents may then be lower.
    - ``shares``: True where another path carries part of the current, so that a missing
      resistance changes the split.
    """

    at: Place
    steady: Flow
    burst: Flow
    start: Flow
    missing_resistances: tuple[Need, ...]
    shares: bool

    def against(
        self, steady: float | None, burst: float | None, start: float | None = None
    ) -> Excess | Need | None:
        """Compare with limits in A (None: no such limit; the start's is then the burst's).

        Returns what is over, or what is missing to tell, or None where all are kept. A steady
        excess is told before a short one, and a short one only where no missing resistance could
        lower it.
        """
        firm = not self.missing_resistances
        short = ((self.burst, burst), (self.start, burst if start is None else start))
        if (firm or not self.shares) and _over(self.steady, steady):
            return _excess("steady", self.steady, steady)
        over = [(flow, limit) for flow, limit in short if _over(flow, limit)]
        if firm and over:
            return _excess("short", *max(over, key=lambda pair: pair[0].current or 0.0))
        for flow, limit in ((self.steady, steady), *short):
            if limit is not None and flow.collapsed:
                return Need(self.at, f"a supply that does not collapse with {flow.collapsed}")
            if limit is not None and flow.missing:
                return flow.missing[0]
        return self.missing_resistances[0] if not firm and (self.shares or over) else None


def _over(flow: Flow, limit: float | None) -> bool:
    return flow.current is not None and limit is not None and exceeds(flow.current, limit)


def _excess(kind: Literal["steady", "short"], flow: Flow, limit: float | None) -> Excess:
    return Excess(kind, flow.current or 0.0, limit or 0.0, flow.case)


def pack_loading(power: "PowerStudy", pack: Fitted) -> Loading:
    """Return the currents that ``pack`` gives."""
    node = Node(pack.name, "rail")
    network = power.wiring.network(node)
    kinds = {name: power.setup.devices[name].kind for name in {node.device for node in network}}
    shares = sum(kind == "battery" for kind in kinds.values()) > 1
    return _loading(power, pack.name, pack.at(), node, network, shares=shares)


def lead_loading(power: "PowerStudy", cable: Cable) -> Loading | None:
    """Return the currents in each conductor of ``cable``; None where no pack hangs on it."""
    from holdshort.analysis.power_elements import lead_name  # noqa: PLC0415  - only what needs it pays

    joint = next((joint for joint in power.wiring.copper if joint.cable is cable), None)
    if joint is None:
        return None
    network = power.wiring.network(joint.start)
    if not any(power.setup.devices[node.device].kind == "battery" for node in network):
        return None
    far = beyond(power.wiring, cable)
    name, shares = lead_name(cable), far is None
    return _loading(power, name, cable.place, joint.start, far or network, shares=shares)


def wire_area(cable: Cable) -> float | None:
    """Return the metal area of a lead's wire, m2; None where it is not known.

    A servo lead that declares none is taken as 22 AWG (common practice, no source), as in the
    power study.
    """
    from holdshort.analysis.power_elements import SERVO_WIRE_AREA  # noqa: PLC0415  - as above

    if cable.lead.wire is None and is_servo_lead(cable):
        return SERVO_WIRE_AREA
    return cable.lead.wire


def show_amps(current: float) -> str:
    """Return a current for messages: ``0.25 A``, ``3.8 A``, ``21 A``; above 10 A to a tenth."""
    text = f"{current:.{1 if current >= 10 else 2}f}".rstrip("0").rstrip(".")  # noqa: PLR2004
    return f"{text} A"


def _loading(
    power: "PowerStudy", name: str, at: Place, node: Node, fed: frozenset[Node], *, shares: bool
) -> Loading:
    steady = [case for case in power.cases if case.name == STEADY_CASE]
    start = [case for case in power.cases if case.name == START_CASE]
    apart = {STEADY_CASE, START_CASE, UNLOADED_CASE}
    burst = [case for case in power.cases if case.name not in apart]
    needs = [need for case in (*steady, *burst, *start) for need in _needs(power, case, node)]
    resistive = set(_resistance_places(power)) if needs else set[Place]()
    resistances = dict.fromkeys(need for need in needs if need.place in resistive)
    steady_flow, burst_flow, start_flow = (
        _flow(power, name, cases, node, fed) for cases in (steady, burst, start)
    )
    return Loading(at, steady_flow, burst_flow, start_flow, tuple(resistances), shares)


def _flow(
    power: "PowerStudy", name: str, cases: list[LoadCase], node: Node, fed: frozenset[Node]
) -> Flow:
    """Return the highest current of an element over some load cases."""
    highest: float | None = None
    title = collapsed = ""
    needs: list[Need] = []
    for case in cases:
        result = power.result(case.name)
        current = result.current(name)
        if current is None:
            collapsed = collapsed or (case.title if result.collapse else "")
        elif highest is None or abs(current) > highest:
            highest, title = abs(current), case.title
        needs += _needs(power, case, node)
    among = {*_load_places(power, fed), *_setting_places(power)} if needs else set[Place]()
    missing = dict.fromkeys(need for need in needs if need.place in among)
    return Flow(highest, title, collapsed, tuple(missing))


def _needs(power: "PowerStudy", case: LoadCase, node: Node) -> tuple[Need, ...]:
    power.result(case.name)
    return power.needs(case, node)


def _resistance_places(power: "PowerStudy") -> Iterator[Place]:
    for cable in power.setup.cables:
        yield cable.place
    for pack in power.setup.of_kind("battery"):
        yield pack.part_place("capacity")


def _load_places(power: "PowerStudy", nodes: frozenset[Node]) -> Iterator[Place]:
    """Yield where the loads of the devices on ``nodes`` stand."""
    for name in {node.device for node in nodes}:
        device = power.setup.devices[name]
        if device.kind == "battery":
            continue
        for field in ("draws", "ratings", "idle-current", "cruise-current"):
            yield device.part_place(field)


def _setting_places(power: "PowerStudy") -> Iterator[Place]:
    """Yield where the settings of regulators stand: without one, all behind it seems dead."""
    for device in power.setup.devices.values():
        if is_regulating(device):
            yield device.at()


class WireRating(NamedTuple):
    """The current a wire may carry all the time, in A, and the row of the table it rests on.

    ``derived``: True where the wire is thinner than the thinnest row; ``degrees``: the
    temperature of the column.
    """

    current: float
    gauge: int
    degrees: int
    derived: bool


def wire_rating(area: float, insulation: float) -> WireRating | None:
    """Return what a wire of ``area`` (m2) may carry all the time by AC 43.13-1B Table 11-9.

    ``insulation`` is the temperature its insulation is rated to, in degrees Celsius: the highest
    column not above it counts; None below the lowest, 105. Sizes between rows take the next
    thinner row. Below the thinnest row (24 AWG) the current goes down with the metal area of solid
    wire (ASTM B258): derived, and on the safe side, since a thinner wire has more surface for its
    area. The table holds for bundles of 33 or more wires in 70 degrees Celsius ambient air.
    """
    from holdshort.analysis.wire import (  # noqa: PLC0415  - tables, only for who asks
        AIRCRAFT_WIRE,
        area_of_gauge,
        gauge_of_area,
    )

    gauge = gauge_of_area(area)
    thinnest = max(AIRCRAFT_WIRE)
    row = min((awg for awg in AIRCRAFT_WIRE if awg >= gauge - GAUGE_ROUNDING), default=thinnest)
    columns = AIRCRAFT_WIRE[row].continuous_current
    rated = max((degrees for degrees in columns if degrees <= insulation), default=None)
    if rated is None:
        return None
    share = min(1.0, area / area_of_gauge(row)) if gauge > thinnest else 1.0
    return WireRating(columns[rated] * share, row, rated, derived=gauge > thinnest + GAUGE_ROUNDING)


COPPER_HEAT: Final = 3.45e6
"""Heat that copper takes up, J/(m3 K): 3.45e-3 J/(K mm3) (IEC 60364-5-54 annex A, from memory)."""


def short_time_current(area: float, start: float, end: float, duration: float) -> float:
    """Return the current that heats a wire from ``start`` to ``end`` in ``duration``, A.

    Area in m2, temperatures in degrees Celsius, duration in s. No heat is let go, so a real wire
    stays cooler: I = k S / sqrt(t), k^2 = (Q (b + 20) / rho20) ln((b + end) / (b + start)),
    b = 234.5, the adiabatic equation of IEC 60364-5-54 (from memory; derived from heat balance).
    """
    from holdshort.analysis.wire import COPPER_RESISTIVITY  # noqa: PLC0415  - as above

    inferred = 234.5
    grown = math.log((inferred + end) / (inferred + start))
    factor = math.sqrt(COPPER_HEAT * (inferred + 20.0) / COPPER_RESISTIVITY * grown)
    return factor * area / math.sqrt(duration)


class FuseLimit(NamedTuple):
    """The greatest fuse for a wire, in A, and the gauge it is stated for.

    ``exact``: False for a wire thinner than the table goes, whose limit is lower still.
    """

    current: float
    gauge: int
    exact: bool


def greatest_fuse(area: float) -> FuseLimit:
    """Return the greatest fuse for a wire of ``area`` (m2): AC 43.13-1B Table 11-3.

    Sizes between rows take the next thinner one; its thinnest row is 22 AWG.
    """
    from holdshort.analysis.wire import PROTECTION, gauge_of_area  # noqa: PLC0415  - as above

    gauge = gauge_of_area(area)
    thinnest = max(PROTECTION)
    row = min((awg for awg in PROTECTION if awg >= gauge - GAUGE_ROUNDING), default=thinnest)
    return FuseLimit(PROTECTION[row].fuse, row, exact=gauge <= thinnest + GAUGE_ROUNDING)


def servo_plug_current(area: float | None) -> float:
    """Return the current one three-pin servo plug on wire of ``area`` (m2) may carry, A.

    The contact's figure for its wire (row S10) with both supply and ground live (row S11); wire
    thinner than the specification lists takes its thinnest figure in proportion to the area, wire
    that is not known or thicker its greatest.
    """
    from holdshort.analysis.wire import (  # noqa: PLC0415  - as above
        CONTACT_CURRENT,
        area_of_gauge,
        contact_current,
        gauge_of_area,
    )

    gauge = (
        min(CONTACT_CURRENT) if area is None else math.ceil(gauge_of_area(area) - GAUGE_ROUNDING)
    )
    listed = min((awg for awg in CONTACT_CURRENT if awg >= gauge), default=max(CONTACT_CURRENT))
    current = contact_current(listed, 2) or 0.0
    if area is None or gauge <= listed:
        return current
    return current * area / area_of_gauge(listed)


def connector_current(contact: float, contacts: int) -> float:
    """Return the current a connector may carry all the time, A.

    ``contact`` is the rating of one contact, A; ``contacts`` how many share the current of each
    pole. Each doubling takes a fifth off what every contact may carry (row S11). The rating of a
    plug with one contact for each pole is taken to hold with both poles live.
    """
    from holdshort.analysis.wire import CONTACT_DERATING  # noqa: PLC0415  - as above

    return contact * contacts * math.pow(CONTACT_DERATING, math.log2(contacts))
