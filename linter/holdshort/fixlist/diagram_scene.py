"""A wiring diagram as shapes in groups, back to front: what all forms of picture draw."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from holdshort.fixlist.diagram_drawing import BADGE, Area, Box, Drawing, Mark, Point, Wire
from holdshort.fixlist.diagram_legend import legend, mark_list
from holdshort.fixlist.diagram_shapes import (
    Circle,
    Group,
    Line,
    Rectangle,
    Shape,
    mark_row,
    words_of,
)
from holdshort.fixlist.diagram_style import WIRES
from holdshort.fixlist.diagram_words import device_sentence, lead_sentence, summary, title_of
from holdshort.fixlist.plain import plain

_PIN: Final = 2.6
_CORNER: Final = 5.0
_BOTTOM: Final = 12.0
_ROOM_AT_LEAD: Final = 2


@dataclass(frozen=True, slots=True)
class Scene:
    """Everything in a picture. ``description`` is a sentence for those who do not see it."""

    width: float
    height: float
    title: str
    description: str
    groups: tuple[Group, ...]


def scene_of(drawing: Drawing, marks: Sequence[Mark] = (), *, listed: bool = True) -> Scene:
    """Return the picture of a drawing with its marks and legend, and ``listed`` what they say."""
    key, bottom = legend(drawing, marks, drawing.height)
    groups = [_heads(drawing), *_wires(drawing, marks), *_boxes(drawing, marks), key]
    if listed and marks:
        told, bottom = mark_list(drawing, marks, bottom)
        groups.append(told)
    height = bottom + _BOTTOM
    ground = Group((Rectangle(Area(0, 0, drawing.width, height), 0.0, "ground"),))
    return Scene(
        width=drawing.width,
        height=height,
        title=plain(title_of(drawing.aircraft)),
        description=summary(drawing, len({mark.number for mark in marks})),
        groups=(ground, *groups),
    )


def _heads(drawing: Drawing) -> Group:
    return Group(tuple(words_of(text) for text in drawing.texts))


def _wires(drawing: Drawing, marks: Sequence[Mark]) -> Iterator[Group]:
    for number, wire in enumerate(drawing.wires, 1):
        own = [mark for mark in marks if mark.kind == "lead" and mark.device == wire.lead.index]
        yield Group(
            (*_wire(wire), *mark_row(own, wire.badge, _ROOM_AT_LEAD, BADGE)),
            f"lead-{number}",
            lead_sentence(wire.lead, drawing.boxes),
        )


def _wire(wire: Wire) -> Iterator[Shape]:
    yield Line(wire.points, "halo")
    for look in WIRES[wire.carries]:
        yield Line(wire.points, look)
    for label in wire.labels:
        yield words_of(label)


def _boxes(drawing: Drawing, marks: Sequence[Mark]) -> Iterator[Group]:
    for number, box in enumerate(drawing.boxes, 1):
        known = box.device.role != "unknown"
        own = [
            mark
            for mark in marks
            if mark.kind == "device" and mark.device == box.device.name and known
        ]
        room = max(1, int((box.area.right - box.area.left) // BADGE))
        seats = min(len(own), room)
        first = Point(box.area.right - 7.0 - BADGE * max(seats - 1, 0), box.area.top - 1.0)
        yield Group(
            (*_box(box), *mark_row(own, first, room, BADGE)),
            f"device-{number}",
            device_sentence(box.device),
        )


def _box(box: Box) -> Iterator[Shape]:
    look = "stranger" if box.device.role == "unknown" else "box"
    yield Rectangle(box.area, _CORNER, look)
    for bar in box.bars:
        yield Line((bar.start, bar.end), "bar")
    for pin in box.pins:
        yield Circle(pin.at, _PIN, "pin")
    for text in box.texts:
        yield words_of(text)
