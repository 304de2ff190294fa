"""A log of any length as a curve of bounded length, in which no dip is lost."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final, NamedTuple

MOST: Final = 2000
"""No curve has more points than this."""


class Point(NamedTuple):
    """The readings of a stretch of rows: when it began, its lowest and its highest."""

    time: float
    low: float
    high: float


@dataclass(slots=True)
class Envelope:
    """Gathers the lowest and highest of every ``rows`` readings; twice as many once it is full."""

    rows: int = 1
    points: list[Point] = field(default_factory=list[Point])
    _part: Point | None = None
    _filled: int = 0

    def feed(self, times: Sequence[float], values: Sequence[float]) -> None:
        """Take in readings; none of them is missing."""
        at = 0
        while at < len(times):
            piece = values[at : at + self.rows - self._filled]
            new = Point(times[at], min(piece), max(piece))
            self._part = new if self._part is None else _joined((self._part, new))
            self._filled += len(piece)
            at += len(piece)
            if self._filled == self.rows:
                self.points.append(self._part)
                self._part, self._filled = None, 0
                if len(self.points) >= MOST:
                    self._halve()

    def finish(self) -> tuple[Point, ...]:
        """Return all points."""
        return (*self.points, *(() if self._part is None else (self._part,)))

    def _halve(self) -> None:
        self.points = [_joined(self.points[at : at + 2]) for at in range(0, len(self.points), 2)]
        self.rows *= 2


def _joined(points: Sequence[Point]) -> Point:
    return Point(
        points[0].time, min(point.low for point in points), max(point.high for point in points)
    )
