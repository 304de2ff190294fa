"""What else moved when a voltage dipped: the columns furthest from where they were just before."""

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from typing import Final, NamedTuple

from holdshort.analysis.logs.dips import Dip, Moved
from holdshort.analysis.logs.rows import Block
from holdshort.analysis.logs.statistics import Extremes
from holdshort.setup.logs import LogColumn

BEFORE: Final = 3.0
"""How far back the quiet before a dip is looked at, s (common practice, no source)."""
LEAD: Final = 0.3
"""How long before a dip that which pulls it down may move, s (common practice, no source)."""
AFTER: Final = 2.0
"""How far into a dip is looked, s (common practice, no source)."""
SHARE: Final = 0.1
"""A column has moved if it left all it did before by this share of its range so far (common
practice, no source)."""
ROWS_AROUND: Final = 2.5
"""So many times the usual time between rows is looked at on either side of where a dip begins, at
least (common practice, no source)."""
ROWS_BEFORE: Final = 10.0
"""So many times it, at least, is looked at for what a column did before (common practice, no
source)."""
MOST: Final = 3
_FEWEST: Final = 3
_RANKS: Final = {"current": 0, "position": 1}


class _Window(NamedTuple):
    before: list[float]
    during: list[float]


def what_moved(
    dip: Dip,
    blocks: Sequence[Block],
    columns: Mapping[str, LogColumn],
    ranges: dict[str, Extremes],
    interval: float,
) -> tuple[Moved, ...]:
    """Return what moved most at the start of ``dip``: what can pull a voltage down comes first.

    ``blocks`` lie round it, ``interval`` is the usual time between rows. A column's deviation is
    measured from its median in the seconds before, against the range it had so far; one that goes
    no further than it went in those seconds was moving anyway.
    """
    found: list[tuple[int, float, Moved]] = []
    for name in columns:
        window = _window(dip, blocks, name, interval)
        span = ranges[name].span
        if len(window.before) < _FEWEST or not window.during or span <= 0.0:
            continue
        middle = median(window.before)
        after = max(window.during, key=lambda value: abs(value - middle))
        beyond = max(after - max(window.before), min(window.before) - after)
        if beyond >= SHARE * span:
            rank = _RANKS.get(columns[name].measures, len(_RANKS))
            found.append((rank, -abs(after - middle) / span, Moved(name, middle, after)))
    found.sort(key=lambda item: item[:2])
    return tuple(moved for _, _, moved in found[:MOST])


def _window(dip: Dip, blocks: Sequence[Block], name: str, interval: float) -> _Window:
    start = dip.start.time
    lead = max(LEAD, ROWS_AROUND * interval)
    first = start - lead - max(BEFORE, ROWS_BEFORE * interval)
    last = start + max(AFTER, ROWS_AROUND * interval)
    if not dip.is_open:
        last = min(last, max(dip.end, start + interval))
    before: list[float] = []
    during: list[float] = []
    for block in blocks:
        times = block.times
        begin, turn, end = (bisect_left(times, at) for at in (first, start - lead, last))
        values = block.values[name]
        before += [value for value in values[begin:turn] if value == value]  # noqa: PLR0124
        during += [value for value in values[turn:end] if value == value]  # noqa: PLR0124
    return _Window(before, during)


def median(values: Sequence[float]) -> float:
    """Return the median: the middle one, or the mean of the two in the middle."""
    ordered = sorted(values)
    middle = len(ordered) // 2
    if len(ordered) % 2:
        return ordered[middle]
    return (ordered[middle - 1] + ordered[middle]) / 2.0
