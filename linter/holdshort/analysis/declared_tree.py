"""A setup as it stands in its file, with every quantity as text, SI value and unit."""

from collections.abc import Mapping
from functools import cache
from typing import Any, Final, cast, get_args, get_origin

from pydantic_core import PydanticCustomError

from holdshort.analysis.field_shapes import field_shapes, inside, options
from holdshort.document import Node, Path, TreeMap
from holdshort.setup import Place, Setup
from holdshort.setup.balance import Balance
from holdshort.setup.base import Items, Section, hyphenated
from holdshort.setup.evidence import SignOff
from holdshort.setup.load import SECTIONS
from holdshort.setup.logs import LogColumns
from holdshort.setup.parts import PART_MODELS
from holdshort.setup.quantities import SHARE, Quantity, QuantityType
from holdshort.setup.sections import (
    Aircraft,
    Device,
    DeviceFailsafe,
    Lead,
    LoadCases,
    Observation,
    Radio,
    Surface,
)
from holdshort.setup.telemetry import Reading

SI_UNITS: Final[Mapping[str, str]] = {
    "voltage": "V",
    "current": "A",
    "capacity": "C",
    "resistance": "ohm",
    "power": "W",
    "mass": "kg",
    "length": "m",
    "volume": "m3",
    "density": "kg/m3",
    "time": "s",
    "pulse width": "s",
    "frequency": "Hz",
    "torque": "N.m",
    "force": "N",
    "speed": "m/s",
    "angle": "rad",
    "servo speed": "s/60deg",
    "share": "1",
    "temperature": "degC",
    "wire size": "m2",
}
"""The unit in which each kind of quantity is held: SI, but for two that the trade has of its own.

A servo's speed is the time it takes for 60 degrees; a temperature is in degrees Celsius.
"""

_SHAPES: Final[Mapping[str, Any]] = {
    "aircraft": Aircraft,
    "devices": dict[str, Device],
    "leads": Items[Lead],
    "radio": Radio,
    "failsafe": dict[str, DeviceFailsafe],
    "surfaces": dict[str, Surface],
    "load-cases": LoadCases,
    "observations": Items[Observation],
    "balance": Balance,
    "telemetry": dict[str, Reading],
    "log": LogColumns,
    "sign-offs": Items[SignOff],
}
"""What stands in each section; of the others, only parts hold quantities."""

_FIGURES: Final = 12
"""Significant figures of every number: beyond them is rounding."""


def figure(number: float) -> float:
    """Return a number without the noise of its last bits, so that 12.6 V is no more than 12.6."""
    return float(f"{number:.{_FIGURES}g}")


def declared_tree(setup: Setup) -> dict[str, Any]:
    """Return the setup file as plain data, at the paths that its entries have in the file.

    Each quantity is ``{"text", "si", "unit"}``. Entries with mistakes of form are left out; in a
    list, null stands for them, so that the others keep their places.
    """
    root = setup.documents[setup.file].root
    return {
        key: _section(setup, key, value)
        for key, value in root.items()
        if key in SECTIONS and (key,) not in setup.broken
    }


def ratings_tree(setup: Setup, origins: Mapping[str, Place]) -> dict[str, Any]:
    """Return the fields of a part as declared, those it has from a part that it is like included.

    ``origins`` gives the place of the part that states each field.
    """
    fields: dict[str, Any] = {}
    for key, place in origins.items():
        fields[key] = setup.documents[place.file].node_at((*place.path, key))
    return cast("dict[str, Any]", _plain(fields, _part_model(fields), (), frozenset()))


def _section(setup: Setup, key: str, value: Node) -> Any:
    if key == "parts" and isinstance(value, TreeMap):
        return {name: _part(setup, entry) for name, entry in value.items()}
    return _plain(value, _SHAPES.get(key), (key,), setup.broken)


def _part(setup: Setup, entry: Node) -> Any:
    return _plain(entry, _part_model(_with_kind(setup, entry)), (), frozenset())


def _with_kind(setup: Setup, entry: Node) -> Mapping[str, Any]:
    """Follow ``like`` to the first part that says its kind; stops at a part not found."""
    seen: set[int] = set()
    while isinstance(entry, TreeMap) and id(entry) not in seen:
        if "kind" in entry:
            return entry
        seen.add(id(entry))
        entry = _declared_part(setup, entry.get("like"))
    return {}


def _declared_part(setup: Setup, name: Node) -> Node:
    for document in setup.documents.values():
        parts = document.root.get("parts")
        if isinstance(name, str) and isinstance(parts, TreeMap) and name in parts:
            return parts[name]
    return None


def _part_model(fields: Mapping[str, Any]) -> Any:
    kind = fields.get("kind")
    return PART_MODELS.get(kind) if isinstance(kind, str) else None


def _plain(value: Any, shape: Any, path: Path, broken: frozenset[Path]) -> Any:
    """Return a value of the document as plain data; ``shape`` is the annotation it is read by."""
    if isinstance(value, dict):
        fields = cast("dict[str, Any]", value)
        return {
            key: _plain(item, _shape_of_key(shape, key), (*path, key), broken)
            for key, item in fields.items()
            if (*path, key) not in broken
        }
    if isinstance(value, list):
        inner = inside(shape, tuple)[0]
        return [
            None if (*path, index) in broken else _plain(item, inner, (*path, index), broken)
            for index, item in enumerate(cast("list[object]", value))
        ]
    return _quantity(value, shape) if isinstance(value, str) else value


def _quantity(text: str, shape: Any) -> Any:
    """Return text as a quantity where one may stand there and it is one, else as it is."""
    for option in options(shape):
        if isinstance(option, QuantityType):
            try:
                return quantity_tree(option.read(text), option)
            except PydanticCustomError:
                continue
    return text


def quantity_tree(quantity: Quantity, kind: QuantityType) -> dict[str, Any]:
    """Return a quantity as ``{"text", "si", "unit"}``."""
    # A place along the body may be given as a share of the chord.
    name = SHARE.name if quantity.text.endswith("%") else kind.dimension.name
    unit = SI_UNITS[name]
    return {"text": quantity.text, "si": figure(quantity), "unit": unit}


def _shape_of_key(shape: Any, key: str) -> Any:
    for option in options(shape):
        if isinstance(option, type) and issubclass(option, Section):
            return _fields(option).get(key)
        if get_origin(option) is dict:
            return get_args(option)[1]
    return None


@cache
def _fields(model: type[Section]) -> dict[str, Any]:
    """Return the annotation of every field by its key in the file."""
    return {hyphenated(name): shape for name, shape in field_shapes(model).items()}
