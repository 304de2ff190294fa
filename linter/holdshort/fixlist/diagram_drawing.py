"""A wiring diagram as it is drawn: boxes, wires and texts with their places, in drawing units.

One unit is one CSS pixel; x grows to the right, y downwards. A drawing is made by
:func:`~holdshort.fixlist.diagram_layout.drawing_of` and rendered by ``diagram_svg``,
``diagram_png`` and ``diagram_json``, which compute no place of anything in it.
"""

from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

from holdshort.analysis.wiring_plan import Carries, PlanDevice, PlanLead

Anchor = Literal["start", "middle", "end"]
TextStyle = Literal["title", "heading", "name", "told", "pin", "label", "note"]

TEXT_SIZES: Final[dict[TextStyle, float]] = {
    "title": 18.0, "heading": 11.0, "name": 12.0, "told": 10.0, "pin": 10.0, "label": 10.0,
    "note": 11.0,
}  # fmt: skip
"""Height of the letters of each style, in drawing units (font-size)."""
BOLD: Final[frozenset[TextStyle]] = frozenset({"title", "heading", "name"})

ASCENT: Final = 0.93
DESCENT: Final = 0.24
"""How far letters reach over and under the base line, in font sizes (DejaVu Sans)."""


BADGE: Final = 20.0
"""The width of one mark; its height is less."""


class Point(NamedTuple):
    """One point."""

    x: float
    y: float


class Area(NamedTuple):
    """A rectangle with its sides along the axes."""

    left: float
    top: float
    right: float
    bottom: float


class Written(NamedTuple):
    """One line of text: where its base line begins, ends or has its middle.

    ``width`` is what it takes at most; ``whole`` is the text before it was shortened.
    """

    text: str
    at: Point
    anchor: Anchor
    style: TextStyle
    width: float
    whole: str

    @property
    def area(self) -> Area:
        """The room that it takes."""
        size = TEXT_SIZES[self.style]
        shift = {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor] * self.width
        left = self.at.x - shift
        return Area(left, self.at.y - ASCENT * size, left + self.width, self.at.y + DESCENT * size)


class Pin(NamedTuple):
    """Where a lead meets a box; ``wire`` is the place of its wire in the drawing."""

    at: Point
    side: Literal["left", "right"]
    port: str
    known: bool
    wire: int


class Bar(NamedTuple):
    """A bar along the side of a box: the pins between its ends are one port."""

    start: Point
    end: Point


@dataclass(frozen=True, slots=True)
class Box:
    """One device; ``column`` counts from the left, -1 for a device without leads."""

    device: PlanDevice
    column: int
    area: Area
    texts: tuple[Written, ...]
    pins: tuple[Pin, ...]
    bars: tuple[Bar, ...]


@dataclass(frozen=True, slots=True)
class Wire:
    """One lead: its corners from its left end to its right end, and what is written at it.

    ``boxes`` are the places in the drawing of the boxes at its ends, in the same order. ``badge``
    is the middle of the first mark on it; others follow to the right, and there is room for two.
    """

    lead: PlanLead
    carries: Carries
    boxes: tuple[int, int]
    points: tuple[Point, ...]
    labels: tuple[Written, ...]
    badge: Point


@dataclass(frozen=True, slots=True)
class Drawing:
    """One wiring diagram. ``texts`` are its headings; boxes stand in the order of the plan."""

    file: str
    aircraft: str
    width: float
    height: float
    boxes: tuple[Box, ...]
    wires: tuple[Wire, ...]
    texts: tuple[Written, ...]
    unread: tuple[str, ...]

    def device_id(self, name: str) -> str | None:
        """Return the id that a device has in the picture, such as ``device-3``."""
        for number, box in enumerate(self.boxes, 1):
            if box.device.name == name and box.device.role != "unknown":
                return f"device-{number}"
        return None

    def lead_id(self, index: int) -> str | None:
        """Return the id that a lead has in the picture, by its place in the list of leads."""
        for number, wire in enumerate(self.wires, 1):
            if wire.lead.index == index:
                return f"lead-{number}"
        return None


class Mark(NamedTuple):
    """One finding or open question at a device or a lead.

    ``device`` is the name of a device or the index of a lead; ``severity`` is ``warning``,
    ``caution``, ``note`` or ``not checked``; ``number`` is what its badge shows; ``target`` is the
    id in the page that it leads to, such as ``finding-3``, or empty; ``title`` says in words what
    it is.
    """

    kind: Literal["device", "lead"]
    device: str | int
    severity: str
    number: str
    target: str
    title: str
