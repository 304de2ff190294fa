"""A wiring diagram on paper: in parts, where it is too large to be read on one page.

Lengths are in drawing units, which are CSS pixels at full size; on paper a CSS pixel is 1/96 inch
(CSS Values and Units Level 4, absolute lengths).
"""

import math
from collections.abc import Iterator, Sequence
from typing import Final, NamedTuple

from holdshort.fixlist.diagram_drawing import Area, Drawing

LEAST_SCALE: Final = 0.89
"""Below this scale the smallest letters, 9 units high, are less than 6 points high."""
_OVERLAP: Final = 150.0
"""What neighbouring parts share: the breadth of a box, so that one of them has it whole."""


class Paper(NamedTuple):
    """What of a page a drawing may take, in CSS pixels."""

    name: str
    width: float
    height: float

    @property
    def room(self) -> tuple[float, float]:
        """How much of a drawing is shown on it at the least scale, across and down."""
        return self.width / LEAST_SCALE, self.height / LEAST_SCALE


LYING: Final = Paper("lying", 1020.0, 610.0)
"""A4 on its side, 297 mm by 210 mm, less margins and heading."""
UPRIGHT: Final = Paper("upright", 690.0, 930.0)
"""A4 upright, 210 mm by 297 mm, less margins and heading."""


class PagePart(NamedTuple):
    """A part of a drawing that has a page to itself; ``row`` and ``column`` count from 1."""

    area: Area
    row: int
    column: int


class PageParts(NamedTuple):
    """All parts of a drawing, row by row, and the paper that they are for."""

    paper: Paper
    parts: tuple[PagePart, ...]
    rows: int
    columns: int


def page_parts(width: float, height: float, drawing: Drawing) -> PageParts | None:
    """Return the parts of a picture of this size; None where it can be read on one page.

    The paper lies as fewer parts need it. A part in which nothing stands is left out.
    """
    if width <= LYING.room[0] and height <= LYING.room[1]:
        return None
    paper = min((LYING, UPRIGHT), key=lambda each: math.prod(_counts(width, height, each)))
    across, down = _counts(width, height, paper)
    lefts = _starts(width, paper.room[0], across)
    tops = _starts(height, paper.room[1], down)
    parts = (
        PagePart(_area(left, top, width, height, paper), row, column)
        for row, top in enumerate(tops, 1)
        for column, left in enumerate(lefts, 1)
    )
    filled = list(_filled(drawing, height))
    kept = tuple(part for part in parts if any(_touch(part.area, area) for area in filled))
    return PageParts(paper, kept, down, across)


def _counts(width: float, height: float, paper: Paper) -> tuple[int, int]:
    return _count(width, paper.room[0]), _count(height, paper.room[1])


def _count(size: float, room: float) -> int:
    return max(1, math.ceil((size - _OVERLAP) / (room - _OVERLAP)))


def _starts(size: float, room: float, count: int) -> Sequence[float]:
    """Return where the parts begin: evenly, the first at 0 and the last up to the end."""
    step = 0.0 if count == 1 else (size - room) / (count - 1)
    return [step * at for at in range(count)]


def _area(left: float, top: float, width: float, height: float, paper: Paper) -> Area:
    across, down = paper.room
    return Area(left, top, min(width, left + across), min(height, top + down))


def _filled(drawing: Drawing, height: float) -> Iterator[Area]:
    """Yield what takes room: boxes, texts, the pieces of leads, and the legend below them all."""
    yield Area(0.0, drawing.height, drawing.width, height)
    yield from (text.area for text in drawing.texts)
    yield from (box.area for box in drawing.boxes)
    for wire in drawing.wires:
        for start, end in zip(wire.points, wire.points[1:], strict=False):
            left, right = sorted((start.x, end.x))
            top, bottom = sorted((start.y, end.y))
            yield Area(left, top, right, bottom)


def _touch(one: Area, other: Area) -> bool:
    across = one.left <= other.right and other.left <= one.right
    return across and one.top <= other.bottom and other.top <= one.bottom
