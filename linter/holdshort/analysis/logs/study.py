"""One log, fed in as lines and read out as figures, in one pass and constant memory."""

import math
from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import compress
from operator import mul, sub
from typing import Final, NamedTuple

from holdshort.analysis.logs.clock import TimeForm
from holdshort.analysis.logs.curves import Envelope, Point
from holdshort.analysis.logs.dips import Dip, DipFinder
from holdshort.analysis.logs.layout import Layout
from holdshort.analysis.logs.links import LossCounter, Run, typical_interval
from holdshort.analysis.logs.moved import what_moved
from holdshort.analysis.logs.rows import BLOCK, Block, Column, Flaw, Restart, RowReader, Tally
from holdshort.analysis.logs.statistics import Extremes, Integral, Line, LineFit
from holdshort.setup.logs import LogColumn

GAP_INTERVALS: Final = 5.0
"""Rows more than so many usual intervals apart are not joined (common practice, no source)."""
_NO_INTERVAL: Final = 1.0
_SCALES: Final = {"mV": 1e-3, "mA": 1e-3}
_LOSSES: Final = ("lost-frames", "holds")


class Pair(NamedTuple):
    """A column of voltage and one of current that belong to one source."""

    voltage: str
    current: str


class Plan(NamedTuple):
    """What to read out of a log: its columns, the limits of voltages in V, what belongs together.

    ``gap`` is the longest time between rows that are joined, s, or None for five times the usual.
    """

    columns: Mapping[str, LogColumn]
    limits: Mapping[str, float]
    fits: tuple[Pair, ...] = ()
    energies: tuple[Pair, ...] = ()
    gap: float | None = None
    form: TimeForm | None = None
    curves: bool = False


class Gaps(NamedTuple):
    """Times between rows that are too long to know what happened: how many, s in all, longest."""

    number: int
    seconds: float
    longest: float
    line: int


class DipReading(NamedTuple):
    """The dips of one voltage: all of them counted, the deepest told."""

    number: int
    seconds: float
    longest: float
    told: tuple[Dip, ...]


class LossReading(NamedTuple):
    """What was lost, and the longest time without a row that lost nothing."""

    total: float
    longest: Run | None


class ColumnReading(NamedTuple):
    """What one column holds; what does not belong to its measure is None."""

    extremes: Extremes
    integral: Integral | None
    dips: DipReading | None
    losses: LossReading | None
    points: tuple[Point, ...]


class FitReading(NamedTuple):
    """Voltage fitted on current: None where the current did not vary or too little was read.

    ``steady`` is the same with a steady fall of the voltage in time taken out: a pack runs down.
    """

    pair: Pair
    line: Line | None
    steady: Line | None
    readings: int
    current_span: float


class EnergyReading(NamedTuple):
    """The integral of voltage times current, J, over ``seconds``."""

    pair: Pair
    joules: float
    seconds: float


class LogReading(NamedTuple):
    """Everything that was read out of one log. SI units; positions and link figures as written.

    ``span`` is the time from the first row to the last, s, of all stretches where the clock began
    anew; the time between them is not known.
    """

    rows: int
    left_out: int
    flaws: Mapping[tuple[Flaw, str], Tally]
    restarts: tuple[Restart, ...]
    restart_count: int
    gaps: Gaps
    interval: float
    form: TimeForm
    start: float
    end: float
    span: float
    columns: Mapping[str, ColumnReading]
    fits: tuple[FitReading, ...]
    energies: tuple[EnergyReading, ...]


@dataclass(slots=True)
class _Gauge:
    """What is gathered of one column."""

    extremes: Extremes
    integral: Integral | None
    dips: DipFinder | None
    losses: LossCounter | None
    curve: Envelope | None

    def feed(self, times: Sequence[float], lines: Sequence[int], values: Sequence[float]) -> None:
        self.extremes.feed(times, lines, values)
        if self.integral is not None:
            self.integral.feed(times, values)
        if self.dips is not None:
            self.dips.feed(times, lines, values)
        if self.losses is not None:
            self.losses.feed(times, lines, values)
        if self.curve is not None:
            self.curve.feed(times, values)


@dataclass(slots=True)
class _GapCounter:
    gap: float
    count: int = 0
    seconds: float = 0.0
    longest: float = 0.0
    line: int = 0
    back: float = 0.0
    last: float | None = None

    def feed(self, times: Sequence[float], lines: Sequence[int]) -> None:
        if not times:
            return
        begin = times[0] if self.last is None else self.last
        steps = list(map(sub, times, [begin, *times[:-1]]))
        self.last = times[-1]
        self.back -= math.fsum(step for step in steps if step < 0.0)
        if max(steps) <= self.gap:
            return
        for step, line in zip(steps, lines, strict=True):
            if step > self.gap:
                self.count += 1
                self.seconds += step
                if step > self.longest:
                    self.longest, self.line = step, line


@dataclass(slots=True)
class LogStudy:
    """Reads one log by ``plan``. Feed it lines in any pieces, then call :meth:`finish`.

    Lines are worked on in blocks of :data:`~holdshort.analysis.logs.rows.BLOCK`, so the pieces in
    which they come change nothing.
    """

    layout: Layout
    plan: Plan
    interval: float = 0.0
    _reader: RowReader = field(init=False)
    _waiting: list[str] = field(default_factory=list[str])
    _line: int = 1
    _gauges: dict[str, _Gauge] = field(default_factory=dict[str, _Gauge])
    _gaps: _GapCounter = field(default_factory=lambda: _GapCounter(0.0))
    _fits: dict[Pair, LineFit] = field(default_factory=dict[Pair, LineFit])
    _energies: dict[Pair, Integral] = field(default_factory=dict[Pair, Integral])
    _near: deque[Block] = field(default_factory=lambda: deque(maxlen=3))
    _fresh: list[tuple[str, Dip]] = field(default_factory=list[tuple[str, Dip]])
    _start: float | None = None
    _end: float = 0.0

    def __post_init__(self) -> None:
        """Make the reader of the columns that the log has."""
        columns = {
            name: Column(at, _SCALES.get(column.unit or "", 1.0), column.unit or "")
            for name, at in self.layout.columns.items()
            if (column := self.plan.columns.get(name)) is not None
        }
        self._reader = RowReader(self.layout, columns, self.plan.form)
        self._line = self.layout.first_line

    @property
    def rows(self) -> int:
        """The rows that were read so far."""
        return self._reader.rows

    def feed(self, lines: Sequence[str]) -> None:
        """Take in lines, without their ends; the first of all is the one after the headings."""
        self._waiting += lines
        at = 0
        while len(self._waiting) - at >= BLOCK:
            self._read(self._waiting[at : at + BLOCK])
            at += BLOCK
        if at:
            del self._waiting[:at]

    def finish(self) -> LogReading:
        """Return what the log holds."""
        self._read(self._waiting)
        self._waiting = []
        self._look_round()
        for gauge in self._gauges.values():
            if gauge.dips is not None:
                gauge.dips.finish()
        gaps = self._gaps
        return LogReading(
            rows=self._reader.rows,
            left_out=self._reader.left_out,
            flaws=self._reader.flaws,
            restarts=tuple(self._reader.restarts),
            restart_count=self._reader.restart_count,
            gaps=Gaps(gaps.count, gaps.seconds, gaps.longest, gaps.line),
            interval=self.interval,
            form=self._reader.form or "s",
            start=self._start or 0.0,
            end=self._end,
            span=self._end - (self._start or 0.0) + gaps.back,
            columns={name: _read_off(gauge) for name, gauge in self._gauges.items()},
            fits=tuple(self._fitted(pair, fit) for pair, fit in self._fits.items()),
            energies=tuple(
                EnergyReading(pair, integral.area, integral.seconds)
                for pair, integral in self._energies.items()
            ),
        )

    def _read(self, lines: Sequence[str]) -> None:
        block = self._reader.read(lines, self._line)
        self._line += len(lines)
        if not self._gauges:
            self._begin(block)
        if not block.times:
            return
        if self._start is None:
            self._start = block.times[0]
        self._end = block.times[-1]
        self._near.append(block)
        self._look_round()
        self._gaps.feed(block.times, block.lines)
        for name, gauge in self._gauges.items():
            gauge.feed(*_readings(block, name))
            if gauge.dips is not None:
                self._fresh += [(name, dip) for dip in gauge.dips.fresh]
        for pair, fit in self._fits.items():
            times, volts, amperes = _both(block, pair)
            fit.feed(amperes, volts, times)
        for pair, energy in self._energies.items():
            times, volts, amperes = _both(block, pair)
            energy.feed(times, list(map(mul, volts, amperes)))

    def _begin(self, block: Block) -> None:
        """Make the gauges, once the first rows have told how far apart rows are."""
        self.interval = typical_interval(block.times)
        gap = self.plan.gap
        if gap is None:
            gap = GAP_INTERVALS * self.interval if self.interval > 0.0 else _NO_INTERVAL
        self._gaps = _GapCounter(gap)
        for name in block.values:
            column = self.plan.columns[name]
            limit = self.plan.limits.get(name)
            self._gauges[name] = _Gauge(
                Extremes(),
                Integral(gap) if column.measures == "current" else None,
                DipFinder(limit, gap) if limit is not None else None,
                LossCounter(column.each_row, gap) if column.measures in _LOSSES else None,
                Envelope() if self.plan.curves else None,
            )
        known = block.values.keys()
        self._fits = {pair: LineFit() for pair in self.plan.fits if known >= set(pair)}
        self._energies = {pair: Integral(gap) for pair in self.plan.energies if known >= set(pair)}

    def _look_round(self) -> None:
        """Find what moved at the dips that began in the block before the last one."""
        ranges = {name: gauge.extremes for name, gauge in self._gauges.items()}
        for name, dip in self._fresh:
            others = {
                other: self.plan.columns[other]
                for other in self._gauges
                if self._may_tell(other, name)
            }
            dip.moved = what_moved(dip, tuple(self._near), others, ranges, self.interval)
        self._fresh = []

    def _may_tell(self, other: str, name: str) -> bool:
        return other != name and self.plan.columns[other].measures not in _LOSSES

    def _fitted(self, pair: Pair, fit: LineFit) -> FitReading:
        span = self._gauges[pair.current].extremes.span
        return FitReading(pair, fit.line(), fit.steady_line(), fit.count, span)


def _readings(block: Block, name: str) -> tuple[Sequence[float], Sequence[int], Sequence[float]]:
    """Return times, lines and values of a column without those that are missing."""
    values = block.values[name]
    if name in block.whole:
        return block.times, block.lines, values
    keep = [value == value for value in values]  # noqa: PLR0124  - only NaN is not itself
    return (
        list(compress(block.times, keep)),
        list(compress(block.lines, keep)),
        list(compress(values, keep)),
    )


def _both(block: Block, pair: Pair) -> tuple[Sequence[float], Sequence[float], Sequence[float]]:
    """Return times, volts and amperes of the rows that have both."""
    volts, amperes = block.values[pair.voltage], block.values[pair.current]
    if {pair.voltage, pair.current} <= block.whole:
        return block.times, volts, amperes
    keep = [one == one and two == two for one, two in zip(volts, amperes, strict=True)]  # noqa: PLR0124
    return (
        list(compress(block.times, keep)),
        list(compress(volts, keep)),
        list(compress(amperes, keep)),
    )


def _read_off(gauge: _Gauge) -> ColumnReading:
    dips = gauge.dips
    return ColumnReading(
        extremes=gauge.extremes,
        integral=gauge.integral,
        dips=None
        if dips is None
        else DipReading(dips.count, dips.seconds, dips.longest, dips.told()),
        losses=None
        if gauge.losses is None
        else LossReading(gauge.losses.total, gauge.losses.longest),
        points=gauge.curve.finish() if gauge.curve is not None else (),
    )
