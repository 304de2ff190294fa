"""What a declaration says, in text that is the same however it was written.

Equal quantities in other units, short and long forms and runs give equal text; keys have no order.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from decimal import Decimal
from hashlib import sha256
from typing import Any, Final, cast

from holdshort.analysis.field_shapes import field_shapes, inside, options
from holdshort.analysis.mounting import Direction, ImpossibleMountingError, mounting_from_faces
from holdshort.analysis.pulses import run_numbers
from holdshort.analysis.wire import gauge_of_area
from holdshort.setup.base import CHANNEL_RUN, Section
from holdshort.setup.parts import Faces, ServoRating, VoltageRange
from holdshort.setup.quantities import (
    LENGTH,
    PULSE,
    SHARE,
    VOLTAGE,
    WIRE,
    Dimension,
    Quantity,
    QuantityType,
)
from holdshort.setup.sections import FAILSAFE_WORDS, Mix, Place3, Tilt, Travel

Entry = tuple[str, str]
"""An aspect, in the builder's words, and its text."""

_FIGURES: Final = 6
_AN_AIRCRAFT: Final = 10.0
"""Metres: longer is the height of a field, not a part of an aircraft."""
_WHOLE_GAUGE: Final = 1e-6
_CHANGED: Final = "changed"
LAST_CHANGED: Final = "last changed"
"""What an aspect ends with that says when a thing was last changed."""
_LONGEST: Final = 400
"""Texts longer than this are cut, with a fingerprint in place of the rest."""

_SHARE: Final = QuantityType(SHARE, signed=True)
_PULSE: Final = QuantityType(PULSE)


def quantity_text(size: float, dimension: Dimension) -> str:
    """Return a quantity of ``size`` (SI) in the unit that messages suggest, to six figures.

    A wire size is a gauge where it is a whole one, and square millimetres otherwise; a length that
    is larger than any aircraft is in metres.
    """
    if dimension is WIRE:
        return _wire_text(size)
    if dimension is LENGTH and abs(size) >= _AN_AIRCRAFT:
        return f"{_number(size)} m"
    return f"{_number(size / dimension.units[dimension.unit])} {dimension.unit}"


def _wire_text(area: float) -> str:
    gauge = gauge_of_area(area)
    if abs(gauge - round(gauge)) < _WHOLE_GAUGE:
        return f"{round(gauge)} AWG"
    return f"{_number(area / WIRE.units['mm2'])} mm2"


def _number(value: float) -> str:
    text = f"{value:.{_FIGURES}g}"
    if "e" in text:
        text = format(Decimal(text), "f")
    return "0" if float(text) == 0.0 else text


def bounded(text: str) -> str:
    """Return ``text``, or its beginning and a fingerprint of all of it where it is long."""
    if len(text) <= _LONGEST:
        return text
    digest = sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:16]
    return f"{text[:_LONGEST]}... ({len(text)} characters, {digest})"


def action_text(action: str) -> str:
    """Return a failsafe action: its word, or its share or pulse in one way of writing it."""
    if action in FAILSAFE_WORDS:
        return action
    kind = _SHARE if action.endswith("%") else _PULSE
    return quantity_text(kind.read(action), kind.dimension)


def yes_or_no(flag: bool) -> str:  # noqa: FBT001  - the flag is what is written
    """Return how a flag is written."""
    return "yes" if flag else "no"


def together(words: Iterable[object]) -> str:
    """Return things whose order says nothing as one text; ``none`` where there are none."""
    return bounded(", ".join(sorted(_apart(str(word)) for word in words))) or "none"


def _apart(word: str) -> str:
    """Return one of several things, marked where it could be taken for two of them."""
    return f"`{word}`" if "," in word or "`" in word else word


def words_of(name: str) -> str:
    """Return the name of a field in words: ``longer_pulse`` is ``longer pulse``."""
    return LAST_CHANGED if name == _CHANGED else name.strip("_").replace("_", " ")


def entries_of(
    section: Section, leave_out: Iterable[str] = (), prefix: str = ""
) -> Iterator[Entry]:
    """Yield an aspect and its text for everything that a section states.

    ``leave_out`` names fields that are told elsewhere; ``prefix`` stands before each aspect.
    """
    passed_by = frozenset(leave_out)
    for name, shape in field_shapes(type(section)).items():
        if name not in passed_by:
            label = f"{prefix} {words_of(name)}".strip()
            yield from entries_at(label, getattr(section, name), shape)


def entries_at(label: str, value: object, shape: object) -> Iterator[Entry]:
    """Yield what one value states; ``shape`` is the annotation by which it was read."""
    if value is None:
        return
    if isinstance(value, Section):
        yield from _section(label, value)
    elif isinstance(value, dict):
        yield from _mapping(label, cast("dict[object, object]", value), shape)
    elif isinstance(value, tuple):
        yield from _several(label, cast("tuple[object, ...]", value), shape)
    else:
        yield label, scalar_text(value, shape)


def scalar_text(value: object, shape: object) -> str:
    """Return the text of a flag, a quantity, a number or text."""
    if isinstance(value, bool):
        return yes_or_no(value)
    if isinstance(value, Quantity):
        return quantity_text(value, _dimension(shape, value.text))
    return bounded(str(value))


def _section(label: str, section: Section) -> Iterator[Entry]:
    for kind, write in _IN_ONE_TEXT.items():
        if isinstance(section, kind):
            yield label, write(section)
            yield from entries_of(section, set(kind.model_fields) - {_CHANGED}, label)
            return
    yield from entries_of(section, ("note",), label)  # words for people say nothing


def _mapping(label: str, value: Mapping[object, object], shape: object) -> Iterator[Entry]:
    key_shape, inner = inside(shape, dict)
    runs = CHANNEL_RUN in getattr(key_shape, "__metadata__", ())
    for key, item in value.items():
        if runs:
            for number in run_numbers(str(key)):
                yield from entries_at(f"{label} of channel {number}", item, inner)
        else:
            yield from entries_at(f"{label} {key}", item, inner)
    if not value:
        yield label, "none"


def _several(label: str, items: tuple[object, ...], shape: object) -> Iterator[Entry]:
    inner = inside(shape, tuple)[0]
    if not any(isinstance(item, Section) for item in items):
        yield label, together(scalar_text(item, inner) for item in items)
        return
    taken: dict[str, int] = {}
    for number, item in enumerate(items, 1):
        name = _item_label(label, number, item)
        taken[name] = taken.get(name, 0) + 1
        again = f" ({taken[name]})" if taken[name] > 1 else ""
        if isinstance(item, Mix):
            yield f"{name}{again}", quantity_text(item.share, SHARE)
        elif isinstance(item, ServoRating):
            yield from entries_of(item, ("at",), f"{name}{again}")
        else:
            yield from entries_at(f"{name}{again}", item, inner)


def _item_label(label: str, number: int, item: object) -> str:
    """Return how one of several is called: by what it is about, or by its number."""
    if isinstance(item, Mix):
        return f"mix of {item.from_} into {together(item.to)}"
    if isinstance(item, ServoRating):
        return f"{label} at {quantity_text(item.at, VOLTAGE)}"
    return f"{label.removesuffix('s')} {number}"


def _travel_text(travel: Travel) -> str:
    low, high = quantity_text(travel.low, SHARE), quantity_text(travel.high, SHARE)
    return low if low == high else f"{low} low, {high} high"


def _range_text(found: VoltageRange) -> str:
    low, high = (
        None if end is None else quantity_text(end, VOLTAGE) for end in (found.min, found.max)
    )
    if low is None or high is None:
        return f"{low or 'any'} to {high or 'any'}" if low or high else "not stated"
    return low if low == high else f"{low} to {high}"


def _faces_text(faces: Faces) -> str:
    text = f"plugs {faces.plugs}, label {faces.label}"
    if faces.right is None:
        return text
    try:
        implied = mounting_from_faces(Direction(faces.plugs), Direction(faces.label), None).right
    except ImpossibleMountingError:
        implied = None
    return text if implied == faces.right else f"{text}, right {faces.right}"


def _listed_text(section: Section) -> str:
    entries = entries_of(section, (_CHANGED,))
    return ", ".join(f"{label} {text}" for label, text in entries) or "not stated"


_IN_ONE_TEXT: Final[Mapping[type[Section], Callable[[Any], str]]] = {
    Travel: _travel_text,
    VoltageRange: _range_text,
    Faces: _faces_text,
    Place3: _listed_text,
    Tilt: _listed_text,
}
"""Sections that one text says; what a section adds to one of them is told beside it."""


def _dimension(shape: object, text: str) -> Dimension:
    """Return what a quantity measures; where it may also be a share, its unit tells which."""
    kinds = [option.dimension for option in options(shape) if isinstance(option, QuantityType)]
    unit = text.lstrip("+-.0123456789 ")
    return next((kind for kind in (*kinds, SHARE) if unit in kind.units), kinds[0])
