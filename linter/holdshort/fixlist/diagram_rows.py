"""How high each box stands: as straight leads as the order and the sizes of the boxes allow.

Heights and places are multiples of :data:`GRID`. Each column in turn is fitted to its neighbours:
the places nearest to where its pins would be level with the other ends of their leads, in the least
squares sense, are found by pooling neighbours that would overlap (isotonic regression by pooling
adjacent violators: Barlow and others 1972, from memory).
"""

from collections.abc import Mapping, Sequence
from typing import Final, NamedTuple

GRID: Final = 10
_ROUNDS: Final = 7


class Slot(NamedTuple):
    """What stands in a column: a box, or a lead that passes through.

    ``size`` is its height and ``margin`` what it keeps clear over and under itself; of two
    neighbours the larger margin counts.
    """

    size: int
    margin: int
    weight: float


class Tie(NamedTuple):
    """A lead between neighbouring columns: slots, and how far its pins are below their tops."""

    left: int
    left_pin: int
    right: int
    right_pin: int


def tops(
    order: Sequence[Sequence[int]], slots: Sequence[Slot], ties: Sequence[Tie]
) -> dict[int, int]:
    """Return the top of each slot; the highest of all stands at 0."""
    found = {slot: top for column in order for slot, top in _stacked(column, slots).items()}
    onward: dict[int, list[tuple[int, int]]] = {}
    back: dict[int, list[tuple[int, int]]] = {}
    for tie in ties:
        onward.setdefault(tie.left, []).append((tie.right, tie.right_pin - tie.left_pin))
        back.setdefault(tie.right, []).append((tie.left, tie.left_pin - tie.right_pin))
    for at in range(_ROUNDS):
        rightward = at % 2 == 1
        first, second = (back, onward) if rightward else (onward, back)
        for column in order if rightward else reversed(order):
            wished = {slot: _wish(slot, first, second, found) for slot in column}
            found.update(_fitted(column, slots, wished))
    highest = min(found.values(), default=0)
    return {slot: top - highest for slot, top in found.items()}


def _stacked(column: Sequence[int], slots: Sequence[Slot]) -> dict[int, int]:
    """Stack a column with the margins, its middle at 0."""
    offsets, height = _offsets(column, slots)
    middle = _rounded(height / 2)
    return {slot: offset - middle for slot, offset in zip(column, offsets, strict=True)}


def _offsets(column: Sequence[int], slots: Sequence[Slot]) -> tuple[list[int], int]:
    """Return the tops of a tight stack from 0, and its height."""
    offsets: list[int] = []
    at = 0
    for seat, slot in enumerate(column):
        if seat:
            at += max(slots[column[seat - 1]].margin, slots[slot].margin)
        offsets.append(at)
        at += slots[slot].size
    return offsets, at


def _wish(
    slot: int,
    first: Mapping[int, Sequence[tuple[int, int]]],
    second: Mapping[int, Sequence[tuple[int, int]]],
    found: Mapping[int, int],
) -> int:
    """Return the top at which the middle one of a slot's leads is level.

    ``first`` are its leads on the side that was fitted just before; the others count where there
    are none.
    """
    leads = first.get(slot) or second.get(slot, ())
    levels = sorted(found[other] + shift for other, shift in leads)
    return levels[len(levels) // 2] if levels else found[slot]


def _fitted(
    column: Sequence[int], slots: Sequence[Slot], wished: Mapping[int, float]
) -> dict[int, int]:
    """Return tops as near to those wished for as the stack allows."""
    offsets, _ = _offsets(column, slots)
    blocks: list[tuple[float, float, int]] = []  # sum of weighted wishes, weight, members
    for slot, offset in zip(column, offsets, strict=True):
        weight = slots[slot].weight
        block = (weight * (wished[slot] - offset), weight, 1)
        while blocks and blocks[-1][0] / blocks[-1][1] >= block[0] / block[1]:
            above = blocks.pop()
            block = (above[0] + block[0], above[1] + block[1], above[2] + block[2])
        blocks.append(block)
    shifts = [_rounded(total / weight) for total, weight, size in blocks for _ in range(size)]
    return {
        slot: offset + shift for slot, offset, shift in zip(column, offsets, shifts, strict=True)
    }


def _rounded(value: float) -> int:
    return round(value / GRID) * GRID
