"""A log beside what was declared and computed: the rows that views and rules show.

Volts, amperes, ohms, coulombs, joules and seconds.
"""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from holdshort.analysis.aircraft import Aircraft
from holdshort.analysis.cells import assumed_resistance
from holdshort.analysis.known_tests import KnownTest
from holdshort.analysis.logs.clock import TimeForm
from holdshort.analysis.logs.layout import Layout
from holdshort.analysis.logs.statistics import Extremes, Line, Moment
from holdshort.analysis.logs.study import (
    ColumnReading,
    DipReading,
    FitReading,
    LogReading,
    LossReading,
    Plan,
)
from holdshort.analysis.logs.subjects import EXPECTED, VoltageSubject, voltage_subjects
from holdshort.analysis.wiring import exceeds, is_regulating
from holdshort.setup.logs import LogColumn
from holdshort.setup.parts import Battery


class VoltageRow(NamedTuple):
    """One measured voltage. ``short`` is how far its lowest is under the computed lowest, V."""

    subject: VoltageSubject
    extremes: Extremes
    dips: DipReading | None
    short: float | None

    @property
    def is_short(self) -> bool:
        """True where the network promised distinctly more than was measured."""
        computed = self.subject.computed.lowest
        known = computed is not None and computed.state == "known"
        return known and self.short is not None and exceeds(self.short, EXPECTED)

    @property
    def rated(self) -> float | None:
        """The highest voltage that the device is rated to, V, or None."""
        ratings = self.subject.device.part.voltage
        return None if ratings is None or ratings.max is None else float(ratings.max)

    @property
    def is_over(self) -> bool:
        """True where the highest reading is over what the device is rated to."""
        return self.rated is not None and exceeds(highest_of(self.extremes).value, self.rated)


class CurrentRow(NamedTuple):
    """One measured current: its mean empties packs, its RMS heats wires, its peak sags voltages.

    ``joules`` is the integral of V I, None where no voltage of the same device was logged.
    ``capacity`` is that of the pack; ``computed`` its mean current in steady flight, A, and
    ``computed_peak`` its highest current of all load cases, which is ``peak_case``;
    ``after_flight`` is the share left of a full pack after the declared time of flight at the
    measured mean.
    """

    column: str
    device: str
    extremes: Extremes
    mean: float | None
    rms: float | None
    charge: float
    seconds: float
    joules: float | None
    capacity: float | None
    computed: float | None
    computed_peak: float | None
    peak_case: str
    flight_time: float | None
    after_flight: float | None


class ResistanceRow(NamedTuple):
    """The resistance of a source as its voltage fell with its current, or why it is not known.

    ``declared`` is the internal resistance of the pack alone, ohm; ``assumed`` where it is taken
    from its capacity. ``at_source`` is True where the voltage is that of the source itself.
    ``line`` is the plain fit, ``steady`` the one with a steady fall in time taken out.
    """

    voltage: str
    current: str
    device: str
    at: str
    line: Line | None
    steady: Line | None
    undetermined: str
    declared: float | None
    assumed: bool
    at_source: bool

    @property
    def ohms(self) -> float | None:
        """The resistance, or None where it is undetermined."""
        best = self.best
        return None if self.undetermined or best is None else -best.slope

    @property
    def best(self) -> Line | None:
        """The fit that counts: with the running down taken out, where that can be told apart."""
        return self.steady or self.line


class LinkRow(NamedTuple):
    """One column of a link or receiver."""

    column: str
    measures: str
    of: str
    extremes: Extremes
    losses: LossReading | None


class PositionRow(NamedTuple):
    """One column of a channel or surface."""

    column: str
    of: str
    unit: str
    extremes: Extremes


class LogReport(NamedTuple):
    """Everything that a log says of an aircraft.

    ``empty`` are columns without one figure. ``test`` is the one that the figures are to be signed
    off for, and ``asked`` the figures that it asks for.
    """

    aircraft: str
    file: str
    log: str
    layout: Layout
    reading: LogReading
    plan: Plan
    voltages: tuple[VoltageRow, ...]
    currents: tuple[CurrentRow, ...]
    resistances: tuple[ResistanceRow, ...]
    links: tuple[LinkRow, ...]
    positions: tuple[PositionRow, ...]
    empty: tuple[str, ...]
    test: str
    asked: frozenset[str]

    @property
    def form(self) -> TimeForm:
        """The form of the times."""
        return self.reading.form

    @property
    def dips(self) -> int:
        """How many dips there are, at all voltages together."""
        return sum(row.dips.number for row in self.voltages if row.dips)

    @property
    def is_held(self) -> bool:
        """True where a voltage was under its limit, or over what its device is rated to."""
        return self.dips > 0 or any(row.is_over for row in self.voltages)


def log_report(
    aircraft: Aircraft,
    log: str,
    layout: Layout,
    plan: Plan,
    reading: LogReading,
    test: KnownTest,
) -> LogReport:
    """Set what was read out of a log beside the aircraft; ``test`` is to be signed off with it."""
    filled = {name: column for name, column in reading.columns.items() if column.extremes.count}
    subjects = voltage_subjects(aircraft)
    return LogReport(
        aircraft=aircraft.setup.aircraft.name if aircraft.setup.aircraft else "",
        file=aircraft.setup.file,
        log=log,
        layout=layout,
        reading=reading,
        plan=plan,
        voltages=tuple(
            _voltage(subjects[name], column) for name, column in filled.items() if name in subjects
        ),
        currents=tuple(_currents(aircraft, plan.columns, filled, reading)),
        resistances=tuple(_resistance(aircraft, plan, subjects, fit) for fit in reading.fits),
        links=tuple(_links(plan.columns, filled)),
        positions=tuple(_positions(plan.columns, filled)),
        empty=tuple(name for name in reading.columns if name not in filled),
        test=test.name,
        asked=frozenset(figure.name for figure in test.figures),
    )


def _voltage(subject: VoltageSubject, column: ColumnReading) -> VoltageRow:
    computed = subject.computed.lowest
    lowest = column.extremes.lowest
    short = None
    if computed is not None and computed.value is not None and lowest is not None:
        short = computed.value - lowest.value
    return VoltageRow(subject, column.extremes, column.dips, short)


def _currents(
    aircraft: Aircraft,
    columns: Mapping[str, LogColumn],
    filled: Mapping[str, ColumnReading],
    reading: LogReading,
) -> Iterator[CurrentRow]:
    energies = {energy.pair.current: energy for energy in reading.energies if energy.seconds > 0.0}
    declared = aircraft.setup.aircraft
    flight = float(declared.flight_time) if declared and declared.flight_time else None
    for name, column in filled.items():
        integral = column.integral
        if integral is None:
            continue
        device = aircraft.setup.devices.get(columns[name].of or "")
        part = device.part if device else None
        capacity = part.capacity if isinstance(part, Battery) else None
        energy = energies.get(name)
        mean = integral.mean
        left = None
        if mean is not None and capacity and flight is not None:
            left = 1.0 - mean * flight / capacity
        peak, case = _computed_peak(aircraft, columns[name].of or "")
        yield CurrentRow(
            column=name,
            device=columns[name].of or "",
            extremes=column.extremes,
            mean=mean,
            rms=integral.rms,
            charge=integral.area,
            seconds=integral.seconds,
            joules=energy.joules if energy else None,
            capacity=capacity,
            computed=_computed_mean(aircraft, columns[name].of or ""),
            computed_peak=peak,
            peak_case=case,
            flight_time=flight,
            after_flight=left,
        )


def _computed_mean(aircraft: Aircraft, name: str) -> float | None:
    """Return the mean current of a pack or regulator in steady flight, A, where all is known."""
    device = aircraft.setup.devices.get(name)
    if device is None:
        return None
    if isinstance(device.part, Battery):
        energy = aircraft.energy(device)
        return None if energy.missing else energy.current
    point = aircraft.power.result("cruise").regulator(name) if is_regulating(device) else None
    return point.output_current if point else None


def _computed_peak(aircraft: Aircraft, name: str) -> tuple[float | None, str]:
    """Return the highest current of a pack or regulator over all load cases, A, and its case."""
    device = aircraft.setup.devices.get(name)
    best: tuple[float | None, str] = (None, "")
    for result in aircraft.power.results:
        current = result.current(name) if device and device.kind == "battery" else None
        point = result.regulator(name)
        current = point.output_current if point else current
        if current is not None and (best[0] is None or current > best[0]):
            best = (current, result.case.name)
    return best


def _resistance(
    aircraft: Aircraft,
    plan: Plan,
    subjects: Mapping[str, VoltageSubject],
    fit: FitReading,
) -> ResistanceRow:
    name = plan.columns[fit.pair.current].of or ""
    subject = subjects[fit.pair.voltage]
    part = aircraft.setup.devices[name].part
    declared: float | None = None
    assumed = False
    if isinstance(part, Battery):
        declared = part.resistance
        if declared is None and part.capacity:
            declared = assumed_resistance(part.chemistry, part.cells, part.capacity)
            assumed = True
    return ResistanceRow(
        voltage=fit.pair.voltage,
        current=fit.pair.current,
        device=name,
        at=subject.written,
        line=fit.line,
        steady=fit.steady,
        undetermined=_undetermined(fit),
        declared=None if declared is None else float(declared),
        assumed=assumed,
        at_source=subject.device.name == name,
    )


def _undetermined(fit: FitReading) -> str:
    """Say why the line gives no resistance, or nothing."""
    line = fit.steady or fit.line
    if line is None:
        return "the current did not vary" if fit.readings else "no row has both figures"
    if line.slope >= 0.0:
        return "the voltage did not fall as the current rose"
    if line.half_width >= -line.slope:
        return f"the current varied by {fit.current_span:.2f} A only, too little against the noise"
    return ""


def _links(
    columns: Mapping[str, LogColumn], filled: Mapping[str, ColumnReading]
) -> Iterator[LinkRow]:
    for name, column in filled.items():
        declared = columns[name]
        if declared.measures in {"link-quality", "lost-frames", "holds"}:
            of = declared.of or ""
            yield LinkRow(name, declared.measures, of, column.extremes, column.losses)


def _positions(
    columns: Mapping[str, LogColumn], filled: Mapping[str, ColumnReading]
) -> Iterator[PositionRow]:
    for name, column in filled.items():
        declared = columns[name]
        if declared.measures == "position":
            yield PositionRow(name, declared.of or "", declared.unit or "%", column.extremes)


def lowest_of(extremes: Extremes) -> Moment:
    """Return the lowest reading of a column that has some."""
    assert extremes.lowest is not None  # noqa: S101  - only columns with readings make rows
    return extremes.lowest


def highest_of(extremes: Extremes) -> Moment:
    """Return the highest reading of a column that has some."""
    assert extremes.highest is not None  # noqa: S101  - as above
    return extremes.highest
