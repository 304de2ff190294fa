"""How large the box of a device is, what is written in it, and where its leads meet it."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

from holdshort.analysis.wiring_plan import PlanDevice, PlanEnd
from holdshort.fixlist.diagram_drawing import TEXT_SIZES, Area, Bar, Box, Pin, Point, Written
from holdshort.fixlist.diagram_letters import broken, fitted, text_width
from holdshort.fixlist.diagram_rows import GRID
from holdshort.fixlist.diagram_writing import written

LANE: Final = 10
"""Half the height of the lane of a lead that passes a column."""
_PITCH: Final = 20
_TALL_PITCH: Final = 40
_FIRST_LINE: Final = 18
_LINE: Final = 15
_NAME_ROOM: Final = 130.0
_TOLD_ROOM: Final = 130.0
_PORT_ROOM: Final = 64.0
_NARROWEST: Final = 76.0
_PADDING: Final = 9.0
_PORT_PADDING: Final = 7.0
_BETWEEN_PORTS: Final = 14.0
_PORTLESS: Final = frozenset({"source", "switch", "unknown"})
"""Roles whose ports go without saying where there is one lead on a side: in and out."""

Side = Literal["left", "right"]


class Socket(NamedTuple):
    """One end of a lead at a box; ``tall`` where two lines are written at it."""

    order: tuple[int, int]
    lead: int
    end: int
    port: str
    known: bool
    tall: bool

    @classmethod
    def of(cls, end: PlanEnd, lead: int, number: int, *, tall: bool) -> "Socket":
        """Make one; ``number`` is 0 at the left end of the lead and 1 at its right end."""
        return cls(end.order, lead, number, end.port, end.known, tall)

    @property
    def label(self) -> str:
        """What stands at the pin."""
        return self.port if self.known else f"{self.port}?"


@dataclass(frozen=True, slots=True)
class Shape:
    """The size of a box and where its pins are, from its top; ``margin`` is to be kept clear."""

    width: float
    height: int
    margin: int
    name: tuple[str, ...]
    told: str
    lefts: tuple[Socket, ...]
    rights: tuple[Socket, ...]
    pins: dict[tuple[int, int], int]
    """The height of each pin by lead and end."""
    shows_ports: bool


def shape_of(device: PlanDevice, lefts: Sequence[Socket], rights: Sequence[Socket]) -> Shape:
    """Return the shape of a device's box; its sockets are in the order of the ports."""
    shown = f"? {device.name}" if device.role == "unknown" else device.name
    name = broken(shown, TEXT_SIZES["name"], _NAME_ROOM, 2, bold=True)
    told = fitted(device.told, TEXT_SIZES["told"], _TOLD_ROOM)
    head = 30 + GRID * len(name)
    single = len(lefts) <= 1 and len(rights) <= 1
    bare = single and (device.ports <= 1 or device.role in _PORTLESS)
    if bare:
        middle = head // 2 // GRID * GRID
        height, pins = head, {(each.lead, each.end): middle for each in (*lefts, *rights)}
    else:
        left, left_end = _pins(lefts, head)
        right, right_end = _pins(rights, head)
        height, pins = max(left_end, right_end), {**left, **right}
    width = max(_NARROWEST, 2 * _PADDING + _text_width(name, told))
    if not bare:
        width = max(width, _ports_width(lefts, rights))
    margin = GRID if bare else 2 * GRID
    return Shape(width, height, margin, name, told, tuple(lefts), tuple(rights), pins, not bare)


def _text_width(name: Iterable[str], told: str) -> float:
    widths = [text_width(line, TEXT_SIZES["name"], bold=True) for line in name]
    return max([*widths, text_width(told, TEXT_SIZES["told"])])


def _ports_width(lefts: Iterable[Socket], rights: Iterable[Socket]) -> float:
    return 2 * _PORT_PADDING + _BETWEEN_PORTS + _widest(lefts) + _widest(rights)


def _widest(sockets: Iterable[Socket]) -> float:
    size = TEXT_SIZES["pin"]
    shown = (fitted(socket.label, size, _PORT_ROOM) for socket in sockets)
    return max((text_width(text, size) for text in shown), default=0.0)


def _pins(sockets: Sequence[Socket], head: int) -> tuple[dict[tuple[int, int], int], int]:
    """Return where the pins of one side are, and where the box may end below them."""
    pitch = _TALL_PITCH if any(socket.tall for socket in sockets) else _PITCH
    pins = {
        (socket.lead, socket.end): head + GRID + pitch * at for at, socket in enumerate(sockets)
    }
    return pins, max(pins.values(), default=head - GRID) + GRID


def box_at(device: PlanDevice, shape: Shape, area: Area, column: int) -> Box:
    """Return the box of a device with its texts and pins, where ``area`` is."""
    sides: tuple[tuple[Side, tuple[Socket, ...]], ...] = (
        ("left", shape.lefts), ("right", shape.rights),
    )  # fmt: skip
    texts = [*_head(device, shape, area)]
    pins: list[Pin] = []
    bars: list[Bar] = []
    for side, sockets in sides:
        x = area.left if side == "left" else area.right
        places = [Point(x, area.top + shape.pins[each.lead, each.end]) for each in sockets]
        pins += [
            Pin(at, side, socket.port, socket.known, socket.lead)
            for at, socket in zip(places, sockets, strict=True)
        ]
        bars += _bars(places, sockets)
        if shape.shows_ports:
            texts += _port_texts(places, sockets, side)
    return Box(device, column, area, tuple(texts), tuple(pins), tuple(bars))


def _head(device: PlanDevice, shape: Shape, area: Area) -> Iterator[Written]:
    middle = (area.left + area.right) / 2
    y = area.top + _FIRST_LINE
    for line in shape.name:
        text = written(line, Point(middle, y), "name", area.right - area.left, "middle")
        yield text._replace(whole=device.name)
        y += _LINE
    room = area.right - area.left
    text = written(shape.told, Point(middle, y - 1), "told", room, "middle")
    yield text._replace(whole=device.told)


def _bars(places: Sequence[Point], sockets: Sequence[Socket]) -> Iterator[Bar]:
    """Yield a bar for each port that several leads meet at."""
    first = 0
    for at in range(1, len(sockets) + 1):
        if at == len(sockets) or not _same_port(sockets[at], sockets[first]):
            if at - first > 1:
                yield Bar(places[first], places[at - 1])
            first = at


def _port_texts(
    places: Sequence[Point], sockets: Sequence[Socket], side: Side
) -> Iterator[Written]:
    inward = _PORT_PADDING if side == "left" else -_PORT_PADDING
    anchor: Literal["start", "end"] = "start" if side == "left" else "end"
    for at, (place, socket) in enumerate(zip(places, sockets, strict=True)):
        if at == 0 or not _same_port(socket, sockets[at - 1]):
            base = Point(place.x + inward, place.y + 3.5)
            text = written(socket.label, base, "pin", _PORT_ROOM, anchor)
            yield text


def _same_port(one: Socket, other: Socket) -> bool:
    return one.known and other.known and one.port == other.port
