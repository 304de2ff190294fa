"""Where leads go up and down between two columns: a track for each upright piece.

Every lead comes in level, goes up or down on one track, and goes on level. Two leads never lie on
each other: uprights whose spans touch have tracks of their own, and where one lead leaves on the
left at the height at which another arrives on the right, the first has its track further left.
Where that runs in a circle, a lead changes its track half way (a dogleg: Deutsch 1976, from
memory).
"""

from collections.abc import Iterator, Sequence
from typing import Final, NamedTuple

_APART: Final = 8
"""How far the ends of two uprights on one track stay apart, in drawing units."""
_STEP: Final = 10
_PASSES: Final = 8
_GAP: Final = 2
"""Tracks between two leads of which one leaves the level at which the other arrives."""


class Run(NamedTuple):
    """A lead in the channel between two columns: heights where it comes in and goes out.

    ``turns_back`` is True for a lead that goes out on the left side as well.
    """

    start: int
    end: int
    turns_back: bool = False


class Corner(NamedTuple):
    """A height at which a lead comes to a track, counted from 0 at the left."""

    track: int
    height: int


class _Upright(NamedTuple):
    """One upright piece of a run, and the heights of its level pieces on either side."""

    run: int
    part: int
    lefts: tuple[int, ...]
    rights: tuple[int, ...]

    @property
    def top(self) -> int:
        return min(self.lefts + self.rights)

    @property
    def bottom(self) -> int:
        return max(self.lefts + self.rights)

    @property
    def falls(self) -> bool:
        return bool(self.rights) and self.rights[0] > self.lefts[0]


def tracks(runs: Sequence[Run]) -> tuple[list[tuple[Corner, ...]], int]:
    """Return the corners of each run from its start, and how many tracks there are.

    Heights are multiples of 10, no two runs share one on the same side. A run that goes straight
    on has no corners.
    """
    uprights = _without_circles([
        _Upright(
            number,
            0,
            (run.start, run.end) if run.turns_back else (run.start,),
            () if run.turns_back else (run.end,),
        )
        for number, run in enumerate(runs)
        if run.start != run.end
    ])  # fmt: skip
    order = _in_order(uprights)
    places = _packed(order)
    corners: list[list[Corner]] = [[] for _ in runs]
    for upright, track in sorted(zip(order, places, strict=True), key=lambda pair: pair[0].part):
        for height in (*upright.lefts, *upright.rights):
            corners[upright.run].append(Corner(track, height))
    return [tuple(found) for found in corners], max(places, default=-1) + 1


def _must(one: _Upright, other: _Upright) -> bool:
    """Tell whether ``one`` must stand further left than ``other``."""
    if one.run == other.run:
        return one.part < other.part
    return any(height in other.rights for height in one.lefts)


def _cost(one: _Upright, other: _Upright) -> int:
    """Return how often the two cross where ``one`` stands further left."""
    over = sum(other.top < height < other.bottom for height in one.rights)
    return over + sum(one.top < height < one.bottom for height in other.lefts)


def _without_circles(uprights: list[_Upright]) -> list[_Upright]:
    """Break circles of what must stand left of what: one lead of each changes its track."""
    found = list(uprights)
    while True:
        circle = _circle(found)
        if not circle:
            return found
        broken = next(at for at in circle if found[at].part == 0 and found[at].rights)
        upright = found[broken]
        height = _free_height(upright, found)
        found[broken] = upright._replace(rights=(height,))
        found.append(_Upright(upright.run, 1, (height,), upright.rights))


def _circle(uprights: Sequence[_Upright]) -> list[int]:
    """Return places in a circle of what must stand left of what, or nothing."""
    onward = _onward(uprights)
    waiting = [0] * len(uprights)
    for heads in onward:
        for head in heads:
            waiting[head] += 1
    ready = [at for at, count in enumerate(waiting) if count == 0]
    for at in ready:
        for head in onward[at]:
            waiting[head] -= 1
            if waiting[head] == 0:
                ready.append(head)
    left = [at for at, count in enumerate(waiting) if count > 0]
    if not left:
        return []
    # Each that is left has one before it that is left: walk back until one comes again.
    before = {head: at for at in left for head in onward[at]}
    way = [left[0]]
    while before[way[-1]] not in way:
        way.append(before[way[-1]])
    return way[way.index(before[way[-1]]) :]


def _onward(uprights: Sequence[_Upright]) -> list[list[int]]:
    """Return for each upright the places of those that must stand further right."""
    arriving: dict[int, list[int]] = {}
    for at, upright in enumerate(uprights):
        for height in upright.rights:
            arriving.setdefault(height, []).append(at)
    first = {upright.run: at for at, upright in enumerate(uprights) if upright.part == 0}
    onward: list[list[int]] = []
    for upright in uprights:
        heads = [at for height in upright.lefts for at in arriving.get(height, ())]
        onward.append([at for at in heads if uprights[at].run != upright.run])
    for at, upright in enumerate(uprights):
        if upright.part:
            onward[first[upright.run]].append(at)
    return onward


def _free_height(upright: _Upright, others: Sequence[_Upright]) -> int:
    """Return a height for changing tracks: between those that leads come in at, and not taken."""
    taken = {height for other in others for height in (*other.lefts, *other.rights)}
    middle = (upright.top + upright.bottom) // (2 * _STEP) * _STEP + _STEP // 2
    return next(height for height in _around(middle) if height not in taken)


def _around(middle: int) -> Iterator[int]:
    away = 0
    while True:
        yield middle + away
        yield middle - away
        away += _STEP


def _in_order(uprights: Sequence[_Upright]) -> list[_Upright]:
    """Return the uprights from left to right, with few crossings and in no forbidden order."""
    falling = sorted((each for each in uprights if each.falls), key=lambda each: -each.lefts[0])
    rising = sorted((each for each in uprights if not each.falls), key=lambda each: each.lefts[0])
    order = [*falling, *rising]
    for _ in range(_PASSES):
        if not _improved(order):
            break
    return _allowed(order)


def _improved(order: list[_Upright]) -> bool:
    """Swap neighbours where that takes crossings away; tell whether any was swapped."""
    changed = False
    for at in range(len(order) - 1):
        one, other = order[at], order[at + 1]
        if _must(one, other):
            continue
        if _must(other, one) or _cost(other, one) < _cost(one, other):
            order[at], order[at + 1] = other, one
            changed = True
    return changed


def _allowed(order: list[_Upright]) -> list[_Upright]:
    """Return ``order`` with what must stand further left moved there, and else unchanged."""
    onward = _onward(order)
    before: list[list[int]] = [[] for _ in order]
    for at, heads in enumerate(onward):
        for head in heads:
            before[head].append(at)
    placed: dict[int, None] = {}
    for at in range(len(order)):
        waiting = [at]
        while waiting:
            here = waiting[-1]
            open_ones = [other for other in before[here] if other not in placed]
            if open_ones and here not in placed:
                waiting.append(open_ones[0])
                continue
            placed.setdefault(here)
            waiting.pop()
    return [order[at] for at in placed]


def _packed(order: Sequence[_Upright]) -> list[int]:
    """Return a track for each upright; those that do not touch may share one."""
    places: list[int] = []
    for at, upright in enumerate(order):
        place = 0
        for other, taken in zip(order[:at], places, strict=True):
            near = other.bottom + _APART > upright.top and upright.bottom + _APART > other.top
            if _must(other, upright):
                # Two leads that end on one level look like one unless there is a gap.
                place = max(place, taken + _GAP)
            elif near:
                place = max(place, taken + 1)
        places.append(place)
    return places
