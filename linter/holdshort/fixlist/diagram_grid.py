"""Where everything in a wiring diagram stands but for its place across: columns, order, heights.

Slots are the boxes first, by their number in the plan, then the lanes of leads that pass a column.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Final, NamedTuple

from holdshort.analysis.wiring_plan import PlanDevice, PlanEnd, PlanLead, Role, WiringPlan
from holdshort.fixlist.diagram_boxes import LANE, Shape, Socket, shape_of
from holdshort.fixlist.diagram_columns import Hop, acyclic, columns, ordered
from holdshort.fixlist.diagram_rows import Slot, Tie, tops
from holdshort.fixlist.diagram_writing import LeadLabel, lead_labels

_BASES: Final[tuple[tuple[Role, ...], ...]] = (
    ("source",), ("switch",), ("regulator", "distribution"), ("receiver",), ("box",), ("load",),
)  # fmt: skip
"""Roles that have columns of their own, from left to right."""
_RANKS: Final = {role: rank for rank, roles in enumerate(_BASES) for role in roles}
_BOX_WEIGHT: Final = 1.0
_LANE_WEIGHT: Final = 4.0
"""How much it counts that a lead stays level in a lane."""


class Piece(NamedTuple):
    """A part of a lead between neighbouring columns, by slots and heights below their tops."""

    lead: int
    left: int
    left_pin: int
    right: int
    right_pin: int


@dataclass(frozen=True, slots=True)
class Laid:
    """A lead as it lies in the drawing.

    ``slots`` is every slot that it touches from left to right; a lead back to its own device has
    one.
    """

    lead: PlanLead
    left: PlanEnd
    right: PlanEnd
    slots: tuple[int, ...]

    @property
    def is_loop(self) -> bool:
        """True for a lead from a device back to itself."""
        return self.left.device == self.right.device

    @property
    def labels(self) -> tuple[LeadLabel, ...]:
        """What is written at its right end; nothing at a loop, which has no room for it."""
        return () if self.is_loop else lead_labels(self.lead, self.right)


class Grid:
    """The columns of a plan, the slots in them, and the heights of everything."""

    def __init__(self, plan: WiringPlan) -> None:
        """Put each device that has a lead into a column, and lanes where leads pass columns."""
        self.plan = plan
        ends = {end.device for lead in plan.leads for end in (lead.start, lead.end)}
        self.wired = sorted(ends)
        self._columns = self._devices_in_columns()
        self._lanes: list[int] = []
        self.leads = tuple(self._laid(lead) for lead in plan.leads)

    def column(self, slot: int) -> int:
        """Return the column of a slot, from 0 at the left."""
        count = len(self.plan.devices)
        return self._columns[slot] if slot < count else self._lanes[slot - count]

    def device(self, slot: int) -> PlanDevice | None:
        """Return the device of a slot, or None for a lane."""
        return self.plan.devices[slot] if slot < len(self.plan.devices) else None

    def _devices_in_columns(self) -> dict[int, int]:
        seats = {device: seat for seat, device in enumerate(self.wired)}
        devices = [self.plan.devices[device] for device in self.wired]
        ranks = [_RANKS.get(device.role, len(_BASES)) for device in devices]
        pairs = [(seats[lead.start.device], seats[lead.end.device]) for lead in self.plan.leads]
        present = sorted({rank for rank in ranks if rank < len(_BASES)})
        bases = {rank: at for at, rank in enumerate(present)}
        found = columns(
            acyclic(len(devices), pairs, ranks),
            [bases.get(rank, 0) for rank in ranks],
            [seat for seat, device in enumerate(devices) if device.role == "load"],
        )
        return dict(zip(self.wired, found, strict=True))

    def _laid(self, lead: PlanLead) -> Laid:
        left, right = lead.start, lead.end
        if self._columns[left.device] > self._columns[right.device]:
            left, right = right, left
        passed = range(self._columns[left.device] + 1, self._columns[right.device])
        first = len(self.plan.devices) + len(self._lanes)
        self._lanes += passed
        lanes = range(first, first + len(passed))
        last = () if left.device == right.device else (right.device,)
        return Laid(lead, left, right, (left.device, *lanes, *last))

    @cached_property
    def shapes(self) -> dict[int, Shape]:
        """The boxes of the devices that have leads."""
        lefts: dict[int, list[Socket]] = {device: [] for device in self.wired}
        rights: dict[int, list[Socket]] = {device: [] for device in self.wired}
        for number, laid in enumerate(self.leads):
            tall = len(laid.labels) > 1
            rights[laid.left.device].append(Socket.of(laid.left, number, 0, tall=False))
            other = rights if laid.is_loop else lefts
            other[laid.right.device].append(Socket.of(laid.right, number, 1, tall=tall))
        return {
            number: shape_of(
                self.plan.devices[number], sorted(lefts[number]), sorted(rights[number])
            )
            for number in self.wired
        }

    def pin(self, slot: int, lead: int, end: int) -> int:
        """Return how far below the top of a slot a lead meets it; ``end`` is 0 at its left end."""
        shape = self.shapes.get(slot)
        return LANE if shape is None else shape.pins[lead, end]

    @cached_property
    def pieces(self) -> tuple[Piece, ...]:
        """Every lead from column to column; those back to their own box have none."""
        return tuple(
            Piece(
                number, left, self.pin(left, number, 0), right, self.pin(right, number, 1)
            )
            for number, laid in enumerate(self.leads)
            for left, right in pairwise(laid.slots)
        )  # fmt: skip

    @cached_property
    def _slots(self) -> tuple[Slot, ...]:
        lane = Slot(2 * LANE, 0, _LANE_WEIGHT)
        found = [lane] * (len(self.plan.devices) + len(self._lanes))
        for number, shape in self.shapes.items():
            found[number] = Slot(shape.height, shape.margin, _BOX_WEIGHT)
        return tuple(found)

    @cached_property
    def order(self) -> list[list[int]]:
        """The slots of each column from top to bottom."""
        count = max(self._columns.values(), default=-1) + 1
        start: list[list[int]] = [[] for _ in range(count)]
        for slot in self._first_order():
            start[self.column(slot)].append(slot)
        hops: list[list[Hop]] = [[] for _ in range(count)]
        for piece in self.pieces:
            left_place = piece.left_pin / self._slots[piece.left].size
            right_place = piece.right_pin / self._slots[piece.right].size
            hop = Hop(piece.left, left_place, piece.right, right_place)
            hops[self.column(piece.left)].append(hop)
        return ordered(start, hops)

    def _first_order(self) -> Iterator[int]:
        """Yield every slot, those that hang together side by side, in the order of the pins."""
        onward: dict[int, list[tuple[int, int]]] = {}
        for piece in self.pieces:
            onward.setdefault(piece.left, []).append((piece.left_pin, piece.right))
        seen: set[int] = set()
        waiting = sorted(self.wired, key=lambda device: (self.column(device), device), reverse=True)
        while waiting:
            slot = waiting.pop()
            if slot not in seen:
                seen.add(slot)
                yield slot
                waiting += [head for _, head in sorted(onward.get(slot, ()), reverse=True)]

    @cached_property
    def heights(self) -> dict[int, int]:
        """The top of each slot, from 0 at the highest."""
        return tops(self.order, self._slots, [Tie(*piece[1:]) for piece in self.pieces])

    def level(self, slot: int, lead: int, end: int) -> int:
        """Return the height at which a lead meets a slot; ``end`` is 0 at its left end."""
        return self.heights[slot] + self.pin(slot, lead, end)

    def devices_in(self, column: Sequence[int]) -> list[PlanDevice]:
        """Return the devices of a column of :attr:`order`."""
        return [self.plan.devices[slot] for slot in column if slot in self.shapes]
