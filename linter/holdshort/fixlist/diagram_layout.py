"""Laying out a wiring diagram: columns from the packs to the servos, right-angled leads between.

The steps are those of a layered drawing: directions, columns, order and heights
(``diagram_grid``), then tracks for the leads between columns (``diagram_tracks``), which says how
far the columns stand apart. Boxes are sized to their texts first; leads that pass a column have a
lane of their own in it.
"""

from collections.abc import Iterable, Iterator
from typing import Final, NamedTuple

from holdshort.analysis import Aircraft
from holdshort.analysis.wiring_plan import PlanDevice, WiringPlan, wiring_plan
from holdshort.fixlist.diagram_boxes import LANE, box_at, shape_of
from holdshort.fixlist.diagram_drawing import (
    BADGE,
    Area,
    Box,
    Drawing,
    Point,
    TextStyle,
    Wire,
    Written,
)
from holdshort.fixlist.diagram_grid import Grid
from holdshort.fixlist.diagram_tracks import Corner, Run, tracks
from holdshort.fixlist.diagram_words import column_heading, file_of, title_of
from holdshort.fixlist.diagram_writing import written

MARGIN: Final = 20.0
TOP: Final = 100.0
"""Where the highest box begins, below the headings."""
BADGE_ROOM: Final = 42.0
"""How far a lead goes straight on from its left end, so that two marks stand clear of tracks."""
TRACK: Final = 9.0
_BEFORE_LABELS: Final = 6.0
_LABEL_GAP: Final = 4.0
_LOOSE_GAP: Final = 16.0
_LOOSE_TOP: Final = 44.0
_HEADING_GAP: Final = 12.0
_NARROWEST: Final = 640.0


def drawing_of(aircraft: Aircraft) -> Drawing:
    """Return the wiring diagram of ``aircraft``."""
    return layout(wiring_plan(aircraft))


def layout(plan: WiringPlan) -> Drawing:
    """Return the diagram of a plan: always the same for the same plan."""
    return _Layout(Grid(plan)).drawing()


class _Side(NamedTuple):
    """Where a column of boxes begins and ends."""

    left: float
    right: float


class _Channel(NamedTuple):
    """The room behind a column: its width, and the corners of the leads in it by lead."""

    width: float
    corners: dict[int, tuple[Corner, ...]]


class _Layout:
    """Gives everything in a grid its place across."""

    def __init__(self, grid: Grid) -> None:
        self.grid = grid
        self.channels = [_channel(grid, column) for column in range(len(grid.order))]
        self.sides = list(self._sides())

    def drawing(self) -> Drawing:
        plan = self.grid.plan
        width = self._width()
        boxes = {number: self._box(number) for number in self.grid.shapes}
        loose = [number for number in range(len(plan.devices)) if number not in boxes]
        bottom = self._bottom()
        texts = list(self._headings(width))
        if loose:
            top = bottom + (_LOOSE_TOP if boxes else 0.0)
            at = Point(MARGIN, top - _HEADING_GAP)
            texts.append(written("No lead declared", at, "heading", width))
            rows = _in_rows([plan.devices[number] for number in loose], top, width)
            boxes.update(zip(loose, rows, strict=True))
            bottom = max(boxes[number].area.bottom for number in loose)
        return Drawing(
            file=plan.file,
            aircraft=plan.aircraft,
            width=width,
            height=bottom + MARGIN,
            boxes=tuple(boxes[number] for number in range(len(plan.devices))),
            wires=tuple(self._wire(number) for number in range(len(plan.leads))),
            texts=tuple(texts),
            unread=plan.unread,
        )

    def _sides(self) -> Iterator[_Side]:
        left = MARGIN
        for column, channel in zip(self.grid.order, self.channels, strict=True):
            shapes = self.grid.shapes
            width = max(shapes[slot].width for slot in column if slot in shapes)
            yield _Side(left, left + width)
            left += width + channel.width

    def _width(self) -> float:
        """Return the width of the drawing: of the columns, and of the heading of the last one."""
        if not self.sides:
            return _NARROWEST
        last = self.sides[-1]
        # Leads back to their own box take room behind the last column.
        beyond = self.channels[-1].width if self.channels[-1].corners else 0.0
        heading = self._heading(len(self.sides) - 1, _NARROWEST)
        return max(_NARROWEST, last.right + beyond + MARGIN, heading.area.right + MARGIN + 1.0)

    def _bottom(self) -> float:
        """Return where the lowest box or lane ends."""
        grid = self.grid
        ends = [
            top + (grid.shapes[slot].height if slot in grid.shapes else 2 * LANE)
            for slot, top in grid.heights.items()
        ]
        return TOP + max(ends, default=0)

    def _box(self, number: int) -> Box:
        grid, shape = self.grid, self.grid.shapes[number]
        column = grid.column(number)
        side, top = self.sides[column], TOP + grid.heights[number]
        area = Area(side.left, top, side.right, top + shape.height)
        return box_at(grid.plan.devices[number], shape, area, column)

    def _headings(self, width: float) -> Iterator[Written]:
        plan = self.grid.plan
        lines: tuple[tuple[str, float, TextStyle], ...] = (
            (title_of(plan.aircraft), 16.0, "title"), (file_of(plan.file), 34.0, "note"),
        )  # fmt: skip
        for text, below, style in lines:
            yield written(text, Point(MARGIN, MARGIN + below), style, width - 2 * MARGIN)
        for column, side in enumerate(self.sides):
            last = column + 1 == len(self.sides)
            end = width - MARGIN if last else self.sides[column + 1].left - _HEADING_GAP
            yield self._heading(column, end - side.left)

    def _heading(self, column: int, room: float) -> Written:
        words = column_heading(self.grid.devices_in(self.grid.order[column]))
        at = Point(self.sides[column].left, TOP - 2 * _HEADING_GAP)
        return written(words, at, "heading", room)

    def _wire(self, number: int) -> Wire:
        laid = self.grid.leads[number]
        points = tuple(_without_repeats(self._points(number)))
        side = self.sides[self.grid.column(laid.left.device)]
        last = points[-1]
        labels_end = Point(last.x - _LABEL_GAP, last.y)
        return Wire(
            lead=laid.lead,
            carries=laid.lead.carries,
            boxes=(laid.left.device, laid.right.device),
            points=points,
            labels=tuple(label.placed(labels_end) for label in laid.labels),
            badge=Point(side.right + BADGE / 2, points[0].y),
        )

    def _points(self, number: int) -> Iterator[Point]:
        """Yield the points of a lead from its left end, level pieces cut at every column."""
        grid, laid = self.grid, self.grid.leads[number]
        column = grid.column(laid.left.device)
        first = laid.slots[0]
        yield Point(self.sides[column].right, TOP + grid.level(first, number, 0))
        for slot in laid.slots[1:] or (first,):
            side = self.sides[column]
            for corner in self.channels[column].corners.get(number, ()):
                x = side.right + BADGE_ROOM + TRACK * corner.track
                yield Point(x, TOP + corner.height)
            end = side.right if laid.is_loop else self.sides[column + 1].left
            yield Point(end, TOP + grid.level(slot, number, 1))
            column += 1


def _channel(grid: Grid, column: int) -> _Channel:
    """Route the leads between a column and the next."""
    runs: dict[int, Run] = {}
    for piece in grid.pieces:
        if grid.column(piece.left) == column:
            start = grid.heights[piece.left] + piece.left_pin
            runs[piece.lead] = Run(start, grid.heights[piece.right] + piece.right_pin)
    room = 0.0
    for number, laid in enumerate(grid.leads):
        if laid.is_loop and grid.column(laid.left.device) == column:
            start, end = (grid.level(laid.left.device, number, end) for end in (0, 1))
            runs[number] = Run(start, end, turns_back=True)
        elif not laid.is_loop and grid.column(laid.right.device) == column + 1:
            room = max([room, *(label.width for label in laid.labels)])
    corners, count = tracks(list(runs.values()))
    width = BADGE_ROOM + TRACK * count + _BEFORE_LABELS + room + 2 * _LABEL_GAP
    return _Channel(width, dict(zip(runs, corners, strict=True)))


def _in_rows(devices: Iterable[PlanDevice], top: float, width: float) -> Iterator[Box]:
    """Yield boxes without leads, side by side in rows from ``top`` on."""
    shaped = [(device, shape_of(device, [], [])) for device in devices]
    widest = max(shape.width for _, shape in shaped)
    step = widest + _LOOSE_GAP
    across = max(1, int((width - 2 * MARGIN + _LOOSE_GAP) // step))
    for first in range(0, len(shaped), across):
        row = shaped[first : first + across]
        for seat, (device, shape) in enumerate(row):
            left = MARGIN + seat * step
            area = Area(left, top, left + widest, top + shape.height)
            yield box_at(device, shape, area, -1)
        top += max(shape.height for _, shape in row) + _LOOSE_GAP


def _without_repeats(points: Iterable[Point]) -> Iterator[Point]:
    """Yield the points at which a line turns, and its ends."""
    kept: list[Point] = []
    for point in points:
        if kept and kept[-1] == point:
            continue
        if len(kept) > 1 and kept[-2].y == kept[-1].y == point.y:
            kept[-1] = point
            continue
        kept.append(point)
    yield from kept
