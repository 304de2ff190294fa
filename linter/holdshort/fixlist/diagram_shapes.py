"""Shapes of wiring diagrams, and marks made of them.

``look`` names a class of ``diagram_style``.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

from holdshort.fixlist.diagram_drawing import BADGE, Anchor, Area, Mark, Point, Written
from holdshort.fixlist.plain import plain


class Rectangle(NamedTuple):
    """A rectangle with round corners."""

    area: Area
    corner: float
    look: str


class Line(NamedTuple):
    """Straight pieces from point to point, back to the first where ``closed``."""

    points: tuple[Point, ...]
    look: str
    closed: bool = False


class Circle(NamedTuple):
    """A circle."""

    middle: Point
    radius: float
    look: str


class Words(NamedTuple):
    """One line of text."""

    text: str
    at: Point
    anchor: Anchor
    look: str


@dataclass(frozen=True, slots=True)
class Group:
    """Shapes that are one thing: a device, a lead, a mark.

    ``title`` is what a pointer that rests on it is shown, and what is read out. ``link`` is the id
    that it leads to. Both may be empty, as may ``id``.
    """

    items: "tuple[Shape | Group, ...]"
    id: str = ""
    title: str = ""
    link: str = ""


Shape = Rectangle | Line | Circle | Words

SEVERITIES: Final = ("warning", "caution", "note", "not checked")
"""What a mark can say, worst first."""

_HALF: Final = BADGE / 2 - 0.5
_LOW: Final = BADGE / 2 - 1.5


def words_of(text: Written) -> Words:
    """Return a line of a drawing as a shape."""
    return Words(text.text, text.at, text.anchor, f"text-{text.style}")


def mark_shapes(severity: str, number: str, middle: Point) -> tuple[Shape, ...]:
    """Return a mark: a triangle, diamond, circle or square, with a number in it."""
    kind = severity.replace(" ", "-") if severity in SEVERITIES else "note"
    x, y = middle
    drop = 5.0 if kind == "warning" else 3.0
    number = plain(number)[:4]
    words = Words(number, Point(x, y + drop), "middle", f"number-{kind}")
    look = f"mark-{kind}"
    if kind == "warning":
        top, right, left = (0.0, -_LOW), (_HALF, _LOW), (-_HALF, _LOW)
        return _polygon(middle, (top, right, left), look), words
    if kind == "caution":
        across, up = _HALF + 0.5, _LOW + 0.5
        corners = ((0.0, -up), (across, 0.0), (0.0, up), (-across, 0.0))
        return _polygon(middle, corners, look), words
    if kind == "note":
        return Circle(middle, _LOW, look), words
    return Rectangle(Area(x - _LOW, y - 7.5, x + _LOW, y + 7.5), 2.0, look), words


def _polygon(middle: Point, corners: Sequence[tuple[float, float]], look: str) -> Line:
    points = tuple(Point(middle.x + x, middle.y + y) for x, y in corners)
    return Line(points, look, closed=True)


def mark_group(mark: Mark, middle: Point) -> Group:
    """Return a mark that leads to what it is about."""
    told = plain(mark.title).replace("`", "")  # as it is read out
    title = f"{plain(mark.number)}, {plain(mark.severity)}: {told}"
    return Group(mark_shapes(mark.severity, mark.number, middle), "", title, mark.target)


def more_group(marks: Sequence[Mark], middle: Point) -> Group:
    """Return one mark in place of several that there is no room for."""
    worst = min(marks, key=severity_rank)
    numbers = ", ".join(plain(mark.number) for mark in marks)
    shapes = mark_shapes(worst.severity, f"+{len(marks)}", middle)
    return Group(shapes, "", f"and {len(marks)} more: {numbers}", worst.target)


def severity_rank(mark: Mark) -> int:
    """Return the place of a mark's severity, worst first."""
    return SEVERITIES.index(mark.severity) if mark.severity in SEVERITIES else len(SEVERITIES)


def mark_row(marks: Sequence[Mark], first: Point, room: int, step: float) -> tuple[Group, ...]:
    """Return marks side by side from ``first`` on, ``room`` at most.

    The last stands for all that there is no room for.
    """
    found = sorted(marks, key=severity_rank)
    shown = found if len(found) <= room else found[: room - 1]
    groups = [
        mark_group(mark, Point(first.x + step * at, first.y)) for at, mark in enumerate(shown)
    ]
    rest = found[len(shown) :]
    if rest:
        groups.append(more_group(rest, Point(first.x + step * len(shown), first.y)))
    return tuple(groups)
