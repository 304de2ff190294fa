"""Figures of a stream of readings, block by block: extremes, integrals, least squares.

Each takes blocks of lists and keeps sums only. Seconds, volts, amperes.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from operator import add, mul, sub
from typing import Final, NamedTuple, TypeVar

from holdshort.analysis.logs.student import t_quantile

CONFIDENCE: Final = 0.95
"""Of the interval that is given with a fitted figure (common practice, no source)."""


class Moment(NamedTuple):
    """One reading: its value, when it was taken, and its line in the log."""

    value: float
    time: float
    line: int


@dataclass(slots=True)
class Extremes:
    """The lowest, highest and mean of the readings of a column. The first of equals counts."""

    count: int = 0
    total: float = 0.0
    lowest: Moment | None = None
    highest: Moment | None = None

    def feed(self, times: Sequence[float], lines: Sequence[int], values: Sequence[float]) -> None:
        """Take in readings; none of them is missing."""
        if not values:
            return
        self.count += len(values)
        self.total += math.fsum(values)
        low, high = min(values), max(values)
        if self.lowest is None or low < self.lowest.value:
            at = values.index(low)
            self.lowest = Moment(low, times[at], lines[at])
        if self.highest is None or high > self.highest.value:
            at = values.index(high)
            self.highest = Moment(high, times[at], lines[at])

    @property
    def mean(self) -> float | None:
        """The mean of all readings, or None of none."""
        return self.total / self.count if self.count else None

    @property
    def span(self) -> float:
        """How far apart the highest and the lowest are."""
        if self.lowest is None or self.highest is None:
            return 0.0
        return self.highest.value - self.lowest.value


@dataclass(slots=True)
class Integral:
    """The integral of a reading over time, and of its square, by the trapezoid rule.

    Two readings further apart than ``gap`` seconds are not joined: what happened between is not
    known. ``seconds`` is the time that is covered, ``lost`` the time in gaps.
    """

    gap: float
    area: float = 0.0
    square: float = 0.0
    seconds: float = 0.0
    lost: float = 0.0
    time: float | None = None
    value: float = 0.0

    def feed(self, times: Sequence[float], values: Sequence[float]) -> None:
        """Take in readings in the order of time; none of them is missing.

        Time that goes back begins anew: the step is not joined.
        """
        if not times:
            return
        if self.time is not None:
            times, values = [self.time, *times], [self.value, *values]
        self.time, self.value = times[-1], values[-1]
        steps = list(map(sub, times[1:], times))
        if steps and (max(steps) > self.gap or min(steps) < 0.0):
            self.lost += math.fsum(step for step in steps if step > self.gap)
            steps = [step if 0.0 <= step <= self.gap else 0.0 for step in steps]
        squares = list(map(mul, values, values))
        self.area += math.fsum(map(mul, steps, map(add, values[1:], values))) / 2.0
        self.square += math.fsum(map(mul, steps, map(add, squares[1:], squares))) / 2.0
        self.seconds += math.fsum(steps)

    @property
    def mean(self) -> float | None:
        """The mean over time, which empties packs; None where no time is covered."""
        return self.area / self.seconds if self.seconds > 0.0 else None

    @property
    def rms(self) -> float | None:
        """The root of the mean square over time, which heats wires; None as for the mean."""
        return math.sqrt(self.square / self.seconds) if self.seconds > 0.0 else None


class Line(NamedTuple):
    """A fitted straight line y = a + b x, with the standard uncertainties of both.

    ``half_width`` is that of the interval of :data:`CONFIDENCE` round the slope, by Student's t
    with n - 2 degrees of freedom; it takes the readings for independent of each other.
    """

    slope: float
    intercept: float
    slope_error: float
    intercept_error: float
    half_width: float
    r_squared: float
    readings: int


class _Sums(NamedTuple):
    """Centred sums of products of readings x, y and times t."""

    xx: float
    yy: float
    tt: float
    xy: float
    xt: float
    yt: float


_NO_SUMS: Final = _Sums(0.0, 0.0, 0.0, 0.0, 0.0, 0.0)


@dataclass(slots=True)
class LineFit:
    """Ordinary least squares of y on x, in a stream; also with a steady drift in time taken out.

    Blocks are joined by their means and centred sums (Chan, Golub and LeVeque 1983, from memory),
    so that a small slope on a large mean loses nothing. The uncertainties are those of the
    textbook: s^2 = (Syy - b Sxy) / (n - 2), s_b = s / sqrt(Sxx).
    """

    count: int = 0
    x: float = 0.0
    y: float = 0.0
    t: float = 0.0
    _sums: _Sums = _NO_SUMS

    def feed(self, xs: Sequence[float], ys: Sequence[float], times: Sequence[float]) -> None:
        """Take in pairs of readings and their times; none of them is missing."""
        size = len(xs)
        if not size:
            return
        means = [math.fsum(values) / size for values in (xs, ys, times)]
        x, y, t = (
            [value - mean for value in values]
            for values, mean in zip((xs, ys, times), means, strict=True)
        )
        total = self.count + size
        share = self.count * size / total
        apart = [
            mean - before for mean, before in zip(means, (self.x, self.y, self.t), strict=True)
        ]
        new = _Sums(*(_dot(one, two) for one, two in _pairs(x, y, t)))
        between = _Sums(*(one * two * share for one, two in _pairs(*apart)))
        self._sums = _Sums(*map(sum, zip(self._sums, new, between, strict=True)))
        self.x, self.y, self.t = (
            before + step * size / total
            for before, step in zip((self.x, self.y, self.t), apart, strict=True)
        )
        self.count = total

    def line(self) -> Line | None:
        """Return the fitted line, or None where x did not vary or the readings are too few."""
        sums = self._sums
        if not self._varies(sums.xx, 2):
            return None
        return self._line(sums.xx, sums.xy, sums.yy, 2)

    def steady_line(self) -> Line | None:
        """Return the line of y = a + b x + c t: what is left when y also drifts with time.

        By taking the part that goes with time out of x and y first (Frisch and Waugh 1933, from
        memory), with n - 3 degrees of freedom. None where x did not vary apart from time, and
        where time did not go on.
        """
        sums = self._sums
        if sums.tt <= 0.0:
            return None
        xx = sums.xx - sums.xt * sums.xt / sums.tt
        xy = sums.xy - sums.xt * sums.yt / sums.tt
        yy = sums.yy - sums.yt * sums.yt / sums.tt
        if not self._varies(xx, 3) or xx <= 1e-9 * sums.xx:
            return None
        return self._line(xx, xy, yy, 3)

    def _varies(self, xx: float, fitted: int) -> bool:
        spread = xx / self.count if self.count else 0.0
        return self.count > fitted and spread > (1e-9 * self.x) ** 2 and spread > 0.0

    def _line(self, xx: float, xy: float, yy: float, fitted: int) -> Line:
        slope = xy / xx
        freedom = self.count - fitted
        error = math.sqrt(max(yy - slope * xy, 0.0) / freedom)
        slope_error = error / math.sqrt(xx)
        return Line(
            slope=slope,
            intercept=self.y - slope * self.x,
            slope_error=slope_error,
            intercept_error=error * math.sqrt(1.0 / self.count + self.x * self.x / xx),
            half_width=slope_error * t_quantile((1.0 + CONFIDENCE) / 2.0, freedom),
            r_squared=slope * xy / yy if yy > 0.0 else 1.0,
            readings=self.count,
        )


_T = TypeVar("_T")


def _pairs(x: _T, y: _T, t: _T) -> tuple[tuple[_T, _T], ...]:
    """Return the pairs whose products :class:`_Sums` holds, in its order."""
    return (x, x), (y, y), (t, t), (x, y), (x, t), (y, t)


def _dot(one: Sequence[float], two: Sequence[float]) -> float:
    return math.fsum(map(mul, one, two))
