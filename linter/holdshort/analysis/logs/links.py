"""Lost frames and holds: how many, and for how long without a break."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple


class Run(NamedTuple):
    """A time over which every row told of a further loss."""

    start: float
    end: float
    line: int

    @property
    def duration(self) -> float:
        """How long it was, s."""
        return self.end - self.start


@dataclass(slots=True)
class LossCounter:
    """Counts losses in a column that counts up, or, where ``each_row``, gives them row by row.

    What the counter stood at in the first row was lost before the log began and is not counted. A
    counter that falls has begun anew.
    """

    each_row: bool
    gap: float
    total: float = 0.0
    longest: Run | None = None
    _time: float | None = None
    _value: float = 0.0
    _start: float | None = None
    _line: int = 0

    def feed(self, times: Sequence[float], lines: Sequence[int], values: Sequence[float]) -> None:
        """Take in readings in the order of time; none of them is missing."""
        if not times:
            return
        quiet = 0.0 if self.each_row else (values[0] if self._time is None else self._value)
        if self._start is None and min(values) == max(values) == quiet:
            self._time, self._value = times[-1], values[-1]
            return
        for time, line, value in zip(times, lines, values, strict=True):
            self._take(time, line, value)

    def _take(self, time: float, line: int, value: float) -> None:
        lost = self._lost(value)
        before, self._time, self._value = self._time, time, value
        if before is not None and not 0.0 <= time - before <= self.gap:
            self._start = None
        if lost <= 0.0:
            self._start = None
            return
        self.total += lost
        if before is None:
            return
        if self._start is None:
            self._start, self._line = (before if time - before <= self.gap else time), line
        run = Run(self._start, time, self._line)
        if self.longest is None or run.duration > self.longest.duration:
            self.longest = run

    def _lost(self, value: float) -> float:
        if self.each_row:
            return max(value, 0.0)
        if self._time is None:
            return 0.0
        return value - self._value if value >= self._value else max(value, 0.0)


def typical_interval(times: Sequence[float]) -> float:
    """Return the median time between rows whose times differ, s; 0 where there are none."""
    steps = sorted(after - before for before, after in pairwise(times) if after > before)
    return steps[len(steps) // 2] if steps else 0.0
