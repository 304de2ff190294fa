"""Figures in sign-offs: read as the quantities that a test asks for, and held against sense."""

from typing import TYPE_CHECKING, Final, NamedTuple

from pydantic_core import PydanticCustomError

from holdshort.analysis.canonical import quantity_text
from holdshort.analysis.known_tests import COUNTED, Figure, KnownTest
from holdshort.setup.quantities import (
    DAYS,
    DIMENSIONS,
    DISTANCE,
    HEADINGS,
    Quantity,
    QuantityType,
)

if TYPE_CHECKING:
    from holdshort.setup.evidence import SignOff

_OF_FIGURES: Final = (*DIMENSIONS, DISTANCE, HEADINGS, DAYS)


class BadFigure(NamedTuple):
    """A figure that is not there, is not known, cannot be read, or cannot be."""

    name: str
    text: str
    problem: str
    do: str


def read_figure(figure: Figure, text: str) -> Quantity | BadFigure:
    """Return a figure in SI with its text, or what is wrong with it."""
    dimension = figure.kind.dimension
    if dimension in COUNTED and text.isdecimal():
        text = f"{text} {dimension.unit}"
    try:
        found = figure.kind.read(text)
    except PydanticCustomError as error:
        context = error.context or {}
        problem, advice = str(context.get("problem", "")), str(context.get("advice", ""))
        return BadFigure(figure.name, text, f"{problem}", advice)
    if figure.low <= found <= figure.high:
        return found
    return BadFigure(
        figure.name,
        text,
        f"which cannot be: it lies between {_bounds(figure)}",
        "Look at the unit and the point, and write what was measured.",
    )


def _bounds(figure: Figure) -> str:
    low, high = (quantity_text(end, figure.kind.dimension) for end in (figure.low, figure.high))
    return f"{low.split()[0]} and {high}"


def figures_of(test: KnownTest, sign_off: "SignOff") -> tuple[Quantity | BadFigure, ...]:
    """Return every figure of a sign-off as read; those not known to the test are bad ones."""
    known = {figure.name: figure for figure in test.figures}
    return tuple(
        read_figure(known[name], text)
        if name in known
        else BadFigure(name, text, f"and `{test.name}` has no such figure", _names(test))
        for name, text in (sign_off.figures or {}).items()
    )


def _names(test: KnownTest) -> str:
    if not test.figures:
        return "This test has no figures: put it into the `note`."
    names = ", ".join(f"`{figure.name}`" for figure in test.figures)
    return f"Its figures: {names}. Anything else belongs into the `note`."


def figure(test: KnownTest, sign_off: "SignOff", name: str) -> Quantity | None:
    """Return one figure of a sign-off, or None where it is not there or is a bad one."""
    asked = next((one for one in test.figures if one.name == name), None)
    text = (sign_off.figures or {}).get(name)
    if asked is None or text is None:
        return None
    found = read_figure(asked, text)
    return found if isinstance(found, Quantity) else None


def kind_of(example: str) -> QuantityType | None:
    """Return the kind of quantity that an example is one of, or None."""
    for dimension in _OF_FIGURES:
        kind = QuantityType(dimension, zero=True)
        if _reads(kind, example):
            return kind
    return None


def _reads(kind: QuantityType, text: str) -> bool:
    try:
        kind.read(text)
    except PydanticCustomError:
        return False
    return True
