"""Dips: times in which a voltage stays under its limit."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

from holdshort.analysis.logs.statistics import Moment

MERGE: Final = 0.5
"""Two dips less than this apart are one, s (common practice, no source)."""
KEPT: Final = 20
"""So many dips are told, the deepest; all are counted."""
LOOKED_INTO: Final = 500
"""For so many dips at most it is looked up what else moved."""


@dataclass(slots=True)
class Moved:
    """What another column did while a voltage dipped, in SI units."""

    column: str
    before: float
    after: float


@dataclass(slots=True)
class Dip:
    """One dip. ``end`` is when the voltage was back, or its last reading where ``cut`` is true.

    ``cut`` means that the log, or a gap in it, ended the dip.
    """

    start: Moment
    lowest: Moment
    end: float
    readings: int = 1
    cut: bool = False
    is_open: bool = True
    moved: tuple[Moved, ...] = ()

    @property
    def duration(self) -> float:
        """How long the voltage was under the limit, s."""
        return self.end - self.start.time


@dataclass(slots=True)
class DipFinder:
    """Finds the dips of one voltage under ``limit`` in a stream of readings.

    ``fresh`` are the dips that began in the last block that was fed.
    """

    limit: float
    gap: float
    count: int = 0
    seconds: float = 0.0
    deepest: list[Dip] = field(default_factory=list[Dip])
    longest: float = 0.0
    fresh: list[Dip] = field(default_factory=list[Dip])
    _current: Dip | None = None
    _back: float | None = None
    _last: float = 0.0
    _looked: int = 0

    def feed(self, times: Sequence[float], lines: Sequence[int], values: Sequence[float]) -> None:
        """Take in readings in the order of time; none of them is missing."""
        self.fresh = []
        if not times:
            return
        if self._current is None and min(values) >= self.limit:
            self._last = times[-1]
            return
        for time, line, value in zip(times, lines, values, strict=True):
            self._take(Moment(value, time, line))
            self._last = time

    def finish(self) -> None:
        """Close the dip that is open at the end of the log."""
        if self._current is not None:
            self._close(cut=self._back is None)

    def _take(self, reading: Moment) -> None:
        if self._current is not None and self._is_over(reading):
            self._close(cut=self._back is None)
        current = self._current
        if reading.value >= self.limit:
            if current is not None and self._back is None:
                self._back = current.end = reading.time
            return
        self._back = None
        if current is None:
            self._begin(reading)
            return
        current.readings += 1
        current.end = reading.time
        if reading.value < current.lowest.value:
            current.lowest = reading

    def _is_over(self, reading: Moment) -> bool:
        """Tell whether the open dip is over before ``reading``: by a gap, or back for long enough.

        A dip after that is one of its own.
        """
        if not 0.0 <= reading.time - self._last <= self.gap:
            return True
        return self._back is not None and reading.time - self._back >= MERGE

    def _begin(self, reading: Moment) -> None:
        self._current = Dip(reading, reading, reading.time)
        if self._looked < LOOKED_INTO:
            self._looked += 1
            self.fresh.append(self._current)

    def _close(self, *, cut: bool) -> None:
        dip = self._current
        assert dip is not None  # noqa: S101  - only an open dip is closed
        dip.cut, dip.is_open = cut, False
        self._current = self._back = None
        self.count += 1
        self.seconds += dip.duration
        self.longest = max(self.longest, dip.duration)
        self.deepest.append(dip)
        if len(self.deepest) > 2 * KEPT:
            self._keep_deepest()

    def _keep_deepest(self) -> None:
        self.deepest.sort(key=lambda dip: (dip.lowest.value, dip.start.line))
        del self.deepest[KEPT:]

    def told(self) -> tuple[Dip, ...]:
        """Return the deepest dips, in the order of the log."""
        self._keep_deepest()
        return tuple(sorted(self.deepest, key=lambda dip: dip.start.line))
