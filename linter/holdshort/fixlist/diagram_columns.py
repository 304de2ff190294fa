"""Which column each box stands in, and in which order: the first steps of the layout.

Longest-path layers that keep kinds of devices in columns of their own, then barycentre sweeps that
keep the pins of a box in order (Sugiyama, Tagawa and Toda 1981: from memory).
"""

import random
from bisect import bisect_right, insort
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Final, NamedTuple

_SWEEPS: Final = 8
_MOST_IN_VAIN: Final = 2
_MOST_LOTS: Final = 8
_SLOTS_IN_ALL: Final = 400
_MOST_SIFTED: Final = 150
"""A column with more slots is left to the sweeps: sifting takes the square of their number."""


class Hop(NamedTuple):
    """A piece of a lead from one column to the next: slots with the places of its pins in them.

    Places run from 0 to 1, from the top to the bottom of the slot.
    """

    left: int
    left_place: float
    right: int
    right_place: float


def acyclic(
    count: int, edges: Sequence[tuple[int, int]], ranks: Sequence[int]
) -> list[tuple[int, int]]:
    """Return the edges with those turned round that close a circle; the same places, no circles.

    ``ranks`` say where to begin: nodes of low rank come first. Edges from a node to itself stay.
    """
    onward: list[list[int]] = [[] for _ in range(count)]
    for number, (tail, head) in enumerate(edges):
        if tail != head:
            onward[tail].append(number)
    found = list(edges)
    state = [0] * count
    for root in sorted(range(count), key=lambda node: (ranks[node], node)):
        if state[root] == 0:
            _turn_back_edges(root, edges, onward, state, found)
    return found


def _turn_back_edges(
    root: int,
    edges: Sequence[tuple[int, int]],
    onward: Sequence[Sequence[int]],
    state: list[int],
    found: list[tuple[int, int]],
) -> None:
    """Walk depth first from ``root``; state is 0 not seen, 1 on the way here, 2 done with."""
    way = [(root, iter(onward[root]))]
    state[root] = 1
    while way:
        node, rest = way[-1]
        number = next(rest, None)
        if number is None:
            state[node] = 2
            way.pop()
            continue
        head = edges[number][1]
        if state[head] == 1:
            found[number] = (head, node)
        elif state[head] == 0:
            state[head] = 1
            way.append((head, iter(onward[head])))


def columns(
    edges: Iterable[tuple[int, int]], least: Sequence[int], last: Iterable[int] = ()
) -> list[int]:
    """Return the column of each node: behind all that give to it, and at ``least`` its own.

    ``edges`` form no circles but from a node to itself. Nodes of ``last`` that give to no other
    come into the last column. Columns that stay empty are left out.
    """
    pairs = [(tail, head) for tail, head in edges if tail != head]
    found = list(least)
    onward: dict[int, list[int]] = {}
    waiting = [0] * len(found)
    for tail, head in pairs:
        onward.setdefault(tail, []).append(head)
        waiting[head] += 1
    ready = [node for node in range(len(found)) if waiting[node] == 0]
    for node in ready:
        for head in onward.get(node, ()):
            found[head] = max(found[head], found[node] + 1)
            waiting[head] -= 1
            if waiting[head] == 0:
                ready.append(head)
    end = max(found, default=0)
    for node in last:
        if node not in onward:
            found[node] = end
    used = {column: at for at, column in enumerate(sorted(set(found)))}
    return [used[column] for column in found]


def ordered(start: Sequence[Sequence[int]], hops: Sequence[Sequence[Hop]]) -> list[list[int]]:
    """Return the slots of each column from top to bottom, with few crossings between columns.

    ``start`` is the order to begin with, ``hops`` are those behind each column. What is found
    depends on where one begins, so that other beginnings are tried too: always the same ones.
    """
    best = [list(column) for column in start]
    fewest = crossings(best, hops)
    for begin in _beginnings(best):
        if fewest == 0:
            break
        found, count = _improved(begin, hops)
        if count < fewest:
            best, fewest = found, count
    return best


def _beginnings(start: Sequence[Sequence[int]]) -> Iterator[list[list[int]]]:
    """Yield orders to begin with: as given, upside down, and some by lot, fewer for many slots."""
    yield [list(column) for column in start]
    yield [list(reversed(column)) for column in start]
    size = sum(len(column) for column in start)
    lots = random.Random(size)  # noqa: S311  - always the same lots, and nothing secret
    for _ in range(min(_MOST_LOTS, _SLOTS_IN_ALL // max(size, 1))):
        yield [lots.sample(column, len(column)) for column in start]


def _improved(
    start: Sequence[Sequence[int]], hops: Sequence[Sequence[Hop]]
) -> tuple[list[list[int]], int]:
    """Return the best order that sweeps from ``start`` come to, and its crossings."""
    order = [list(column) for column in start]
    best, fewest, vain = [list(column) for column in order], crossings(order, hops), 0
    for sweep in range(_SWEEPS):
        if fewest == 0 or vain == _MOST_IN_VAIN:
            break
        if sweep:
            _sweep(order, hops, rightward=sweep % 2 == 1)
        _sift(order, hops)
        found = crossings(order, hops)
        vain += 1
        if found < fewest:
            best, fewest, vain = [list(column) for column in order], found, 0
    return best, fewest


def _sweep(order: list[list[int]], hops: Sequence[Sequence[Hop]], *, rightward: bool) -> None:
    count = len(order)
    steps = range(1, count) if rightward else range(count - 2, -1, -1)
    for at in steps:
        fixed = order[at - 1 if rightward else at + 1]
        between = hops[at - 1 if rightward else at]
        seats = {slot: seat for seat, slot in enumerate(fixed)}
        pulls: dict[int, list[float]] = {}
        for hop in between:
            if rightward:
                pulls.setdefault(hop.right, []).append(seats[hop.left] + hop.left_place)
            else:
                pulls.setdefault(hop.left, []).append(seats[hop.right] + hop.right_place)
        order[at] = _sorted_by_pull(order[at], pulls)


def _sorted_by_pull(column: list[int], pulls: Mapping[int, list[float]]) -> list[int]:
    """Sort by the mean of the pulls; what nothing pulls keeps its seat."""
    pulled = sorted(
        (slot for slot in column if slot in pulls),
        key=lambda slot: sum(pulls[slot]) / len(pulls[slot]),
    )
    rest = iter(pulled)
    return [next(rest) if slot in pulls else slot for slot in column]


def crossings(order: Sequence[Sequence[int]], hops: Sequence[Sequence[Hop]]) -> int:
    """Return how many pairs of hops cross, pins counted."""
    seats = {slot: seat for column in order for seat, slot in enumerate(column)}
    return sum(_crossings(seats, between) for between in hops)


def _crossings(seats: Mapping[int, int], between: Iterable[Hop]) -> int:
    ends = sorted(
        (seats[hop.left] + hop.left_place, seats[hop.right] + hop.right_place) for hop in between
    )
    seen: list[float] = []
    found = 0
    for _, right in ends:
        found += len(seen) - bisect_right(seen, right)
        insort(seen, right)
    return found


def _sift(order: list[list[int]], hops: Sequence[Sequence[Hop]]) -> None:
    """Move each slot to the place in its column where it crosses least (sifting).

    Source: Matuszewski, Schoenfeld and Molitor 1999, from memory.
    """
    for at, column in enumerate(order):
        if len(column) > _MOST_SIFTED:
            continue
        sides = _sides(order, hops, at)
        for slot in tuple(column):
            _move_to_best(slot, column, sides)


def _move_to_best(
    slot: int, column: list[int], sides: Sequence[Mapping[int, Sequence[float]]]
) -> None:
    here = column.index(slot)
    ends = [side.get(slot, ()) for side in sides]
    # What moving below each of the others adds; the cost at the top counts as 0.
    cost, costs = 0, [0]
    for other in column:
        if other == slot:
            continue
        for own, side in zip(ends, sides, strict=True):
            theirs = side.get(other, ())
            cost += _pairs(theirs, own) - _pairs(own, theirs)
        costs.append(cost)
    least = min(costs)
    if costs[here] > least:
        column.pop(here)
        column.insert(costs.index(least), slot)


def _sides(
    order: Sequence[Sequence[int]], hops: Sequence[Sequence[Hop]], at: int
) -> list[dict[int, list[float]]]:
    """Return where the hops of each slot of a column end, on its left and on its right."""
    sides: list[dict[int, list[float]]] = []
    if at > 0:
        seats = {slot: seat for seat, slot in enumerate(order[at - 1])}
        left: dict[int, list[float]] = {}
        for hop in hops[at - 1]:
            left.setdefault(hop.right, []).append(seats[hop.left] + hop.left_place)
        sides.append(left)
    if at + 1 < len(order):
        seats = {slot: seat for seat, slot in enumerate(order[at + 1])}
        right: dict[int, list[float]] = {}
        for hop in hops[at]:
            right.setdefault(hop.left, []).append(seats[hop.right] + hop.right_place)
        sides.append(right)
    return sides


def _pairs(upper: Iterable[float], lower: Sequence[float]) -> int:
    """Return how many ends of the upper slot lie under ends of the lower one."""
    return sum(one > other for one in upper for other in lower)
