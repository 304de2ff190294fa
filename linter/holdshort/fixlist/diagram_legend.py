"""What stands below a wiring diagram: the kinds of leads and marks in it, notes, and findings."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Final, NamedTuple

from holdshort.fixlist.diagram_drawing import BADGE, TEXT_SIZES, Drawing, Mark, Point
from holdshort.fixlist.diagram_letters import broken, text_width
from holdshort.fixlist.diagram_shapes import (
    SEVERITIES,
    Group,
    Line,
    Shape,
    Words,
    mark_shapes,
)
from holdshort.fixlist.diagram_style import WIRES
from holdshort.fixlist.diagram_words import CARRIES_WORDS, CAUTION, MOST_NOTE, VOLTS_NOTE

_MARGIN: Final = 20.0
_ROW: Final = 24.0
_TEXT_ROW: Final = 16.0
_SAMPLE: Final = 40.0
_GAP: Final = 8.0
_BETWEEN: Final = 24.0
_MOST_LINES: Final = 3
_SIZE: Final = TEXT_SIZES["note"]


class _Entry(NamedTuple):
    """One entry of the legend: a kind of lead, or a severity of marks."""

    kind: str
    words: str
    is_mark: bool

    @property
    def sample(self) -> float:
        return BADGE if self.is_mark else _SAMPLE

    @property
    def width(self) -> float:
        return self.sample + _GAP + text_width(self.words, _SIZE)


def legend(drawing: Drawing, marks: Sequence[Mark], top: float) -> tuple[Group, float]:
    """Return the legend and the notes below ``top``, and where they end."""
    room = drawing.width - 2 * _MARGIN
    shapes: list[Shape] = []
    x, y = _MARGIN, top + _ROW / 2
    for entry in _entries(drawing, marks):
        if x > _MARGIN and x + entry.width > _MARGIN + room:
            x, y = _MARGIN, y + _ROW
        shapes += _entry(entry, x, y)
        x += entry.width + _BETWEEN
    y += _ROW
    for note in _notes(drawing):
        for line in broken(note, _SIZE, room, _MOST_LINES):
            shapes.append(Words(line, Point(_MARGIN, y), "start", "text-note"))
            y += _TEXT_ROW
    return Group(tuple(shapes)), y


def _entries(drawing: Drawing, marks: Sequence[Mark]) -> Iterator[_Entry]:
    carried = {wire.carries for wire in drawing.wires}
    for kind, words in CARRIES_WORDS.items():
        if kind in carried:
            yield _Entry(kind, words, is_mark=False)
    found = {mark.severity for mark in marks}
    for severity in SEVERITIES:
        if severity in found:
            yield _Entry(severity, severity, is_mark=True)


def _entry(entry: _Entry, x: float, y: float) -> Iterator[Shape]:
    if entry.is_mark:
        number = "?" if entry.kind == "not checked" else "n"
        yield from mark_shapes(entry.kind, number, Point(x + BADGE / 2, y))
    else:
        for look in WIRES[entry.kind]:
            yield Line((Point(x, y), Point(x + _SAMPLE, y)), look)
    at = Point(x + entry.sample + _GAP, y + 4.0)
    yield Words(entry.words, at, "start", "text-note")


def _notes(drawing: Drawing) -> Iterator[str]:
    if any(wire.lead.end.volts or wire.lead.start.volts for wire in drawing.wires):
        yield VOLTS_NOTE
    if any("at most" in label.text for wire in drawing.wires for label in wire.labels):
        yield MOST_NOTE
    if drawing.unread:
        yield f"Left out, as they have mistakes of form: {', '.join(drawing.unread)}."
    yield CAUTION


def mark_list(drawing: Drawing, marks: Iterable[Mark], top: float) -> tuple[Group, float]:
    """Return what each mark says below ``top``, once each, and where that ends."""
    items: list[Group] = []
    told: dict[tuple[str, str, str], list[Mark]] = {}
    for mark in marks:
        told.setdefault((mark.severity, mark.number, mark.title), []).append(mark)
    ids: set[str] = set()
    room = drawing.width - 2 * _MARGIN - BADGE - _GAP
    y = top + _ROW / 2
    for same in told.values():
        mark = same[0]
        places = ", ".join(dict.fromkeys(_place(drawing, each) for each in same))
        text = f"{mark.severity} at {places}: {mark.title}"
        lines = broken(text, _SIZE, room, _MOST_LINES)
        shapes: list[Shape] = [
            *mark_shapes(mark.severity, mark.number, Point(_MARGIN + BADGE / 2, y - 4.0))
        ]
        for line in lines:
            shapes.append(Words(line, Point(_MARGIN + BADGE + _GAP, y), "start", "text-note"))
            y += _TEXT_ROW
        items.append(Group(tuple(shapes), id="" if mark.target in ids else mark.target))
        ids.add(mark.target)
        y += _TEXT_ROW / 2
    return Group(tuple(items)), y


def _place(drawing: Drawing, mark: Mark) -> str:
    if mark.kind == "device":
        return str(mark.device)
    titles = (wire.lead.title for wire in drawing.wires if wire.lead.index == mark.device)
    return f"lead {next(titles, mark.device)}"
