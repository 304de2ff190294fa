"""What the columns of a log are of, on this aircraft: limits, computed voltages, what pairs up."""

from collections.abc import Mapping
from typing import Final, NamedTuple

from holdshort.analysis.aircraft import Aircraft
from holdshort.analysis.alarm_levels import margin, pack_words
from holdshort.analysis.cells import stop_voltage
from holdshort.analysis.logs.measured import measuring_point
from holdshort.analysis.logs.study import Pair, Plan
from holdshort.analysis.power_rows import ByCase, Reading, highest, lowest
from holdshort.analysis.power_table import node_volts
from holdshort.analysis.rails import minimum
from holdshort.analysis.wiring import Node, is_regulating
from holdshort.setup import Fitted
from holdshort.setup.logs import LogColumn
from holdshort.setup.parts import Battery

EXPECTED: Final = 0.3
"""A reading so far under the lowest that the network gives is a dip too, V (common practice, no
source)."""


class Limit(NamedTuple):
    """The voltage under which a reading is a dip, V, and why.

    ``need`` is what the device needs, V, where the limit lies above that: what the network gives
    is then far more than the device needs, and a fall from there is told before it hurts.
    """

    voltage: float
    words: str
    need: "Limit | None" = None

    @property
    def hard(self) -> "Limit":
        """The limit under which the device is not to be."""
        return self.need or self


class Computed(NamedTuple):
    """The lowest and highest voltage that the solved network gives, each with its load case.

    None where the network gives none.
    """

    lowest: Reading | None
    lowest_case: str
    highest: Reading | None
    highest_case: str


class VoltageSubject(NamedTuple):
    """Where a column of voltage is measured."""

    column: str
    written: str
    device: Fitted
    node: Node
    limit: Limit | None
    computed: Computed


def voltage_subjects(aircraft: Aircraft) -> Mapping[str, VoltageSubject]:
    """Return where each declared column of voltage is measured, by its heading."""
    log = aircraft.setup.log
    volts = node_volts(aircraft)
    found: dict[str, VoltageSubject] = {}
    for name, column in (log.columns or {}).items() if log else ():
        if column.measures != "voltage" or column.at is None:
            continue
        place = measuring_point(aircraft.setup, column.at)
        if place is None:
            continue
        device, node = place
        computed = _computed(volts(node))
        limit = _limit(aircraft, device, column, computed)
        found[name] = VoltageSubject(name, column.at, device, node, limit, computed)
    return found


def _computed(readings: ByCase) -> Computed:
    """Return the extremes over all cases. One case that is not known leaves the lowest open.

    A collapse is lower than any voltage.
    """
    low, high = lowest(readings), highest(readings)
    whole = all(reading.state == "known" for reading in readings.values())
    least = low.reading if low else None
    if least is not None and least.state == "known" and not whole:
        least = least._replace(state="incomplete")
    return Computed(
        lowest=least,
        lowest_case=low.case if low else "",
        highest=high.reading if high else None,
        highest_case=high.case if high else "",
    )


def _limit(
    aircraft: Aircraft, device: Fitted, column: LogColumn, computed: Computed
) -> Limit | None:
    """Return under which voltage a reading is a dip: what is declared, or what is known of it."""
    need = _need(aircraft, device, column)
    if isinstance(device.part, Battery) or column.below is not None:
        return need
    given = computed.lowest
    if given is None or given.value is None or given.state != "known":
        return need
    voltage = given.value - EXPECTED
    if need is not None and need.voltage >= voltage:
        return need
    words = f"{EXPECTED:g} V under the lowest the network gives, in {computed.lowest_case}"
    return Limit(voltage, words, need)


def _need(aircraft: Aircraft, device: Fitted, column: LogColumn) -> Limit | None:
    if column.below is not None:
        return Limit(column.below, "the limit that `log` declares")
    alarm = device.device.alarm
    if alarm is not None:
        return Limit(alarm, f"the alarm of `{device.name}`")
    part = device.part
    if isinstance(part, Battery):
        stop = stop_voltage(part.chemistry, part.cells)
        return Limit(stop, f"where {pack_words(device)} is to be landed")
    needed = minimum(device, margin(aircraft))
    return None if needed is None else Limit(needed.voltage, needed.words)


def plan_of(aircraft: Aircraft, *, curves: bool) -> Plan:
    """Return what is to be read out of a log of this aircraft."""
    log = aircraft.setup.log
    columns = (log.columns or {}) if log else {}
    subjects = voltage_subjects(aircraft)
    fits = tuple(_pairs(aircraft, columns, subjects))
    time = log.time if log else None
    return Plan(
        columns=columns,
        limits={name: one.limit.voltage for name, one in subjects.items() if one.limit},
        fits=fits,
        energies=tuple(_own(columns, subjects)),
        gap=time.gap if time else None,
        form=time.unit if time else None,
        curves=curves,
    )


def _pairs(
    aircraft: Aircraft,
    columns: Mapping[str, LogColumn],
    subjects: Mapping[str, VoltageSubject],
) -> list[Pair]:
    """Return each voltage with the current of the source on its rail.

    Behind a regulator a voltage says nothing of the pack before it.
    """
    found: list[Pair] = []
    for current, column in columns.items():
        device = aircraft.setup.devices.get(column.of or "")
        if column.measures != "current" or device is None:
            continue
        source = _source(device)
        if source is None:
            continue
        rail = aircraft.wiring.rail(source)
        found += [Pair(name, current) for name, one in subjects.items() if one.node in rail]
    return found


def _source(device: Fitted) -> Node | None:
    if isinstance(device.part, Battery):
        return Node(device.name, "rail")
    return Node(device.name, "out") if is_regulating(device) else None


def _own(columns: Mapping[str, LogColumn], subjects: Mapping[str, VoltageSubject]) -> list[Pair]:
    """Return each current with the voltage at the very device it is of."""
    return [
        Pair(name, current)
        for current, column in columns.items()
        if column.measures == "current"
        for name, one in subjects.items()
        if one.device.name == column.of and one.node == (_source(one.device) or one.node)
    ]
