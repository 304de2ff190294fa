"""The wiring diagram on an aircraft sheet, with its findings marked and linked both ways."""

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from holdshort.fixlist.diagram_drawing import Drawing, Mark
from holdshort.fixlist.diagram_layout import drawing_of
from holdshort.fixlist.diagram_marks import marks_of
from holdshort.fixlist.diagram_svg import diagram_svg

if TYPE_CHECKING:
    from holdshort.fixlist.sheet_facts import SheetFacts

_SIZES: Final = (("vast", 1900.0), ("broad", 1250.0), ("usual", 800.0), ("narrow", 0.0))
"""How broad a drawing is shown, at least, by its width in drawing units: it is then scrolled."""


class SheetDrawing(NamedTuple):
    """The drawing as SVG, and for each finding, by its number, where in the page it is drawn.

    A place is what it is called and its id in the page. ``width`` is in drawing units.
    """

    svg: str
    width: float
    links: dict[str, tuple[tuple[str, str], ...]]


def draw(facts: "SheetFacts") -> SheetDrawing | None:
    """Return the drawing of an aircraft; None where nothing is fitted."""
    if not facts.setup.devices:
        return None
    shown = drawing_of(facts.aircraft)
    marks = marks_of(facts.setup, facts.report, questions=True)
    by_number: dict[str, list[Mark]] = {}
    for mark in marks:
        by_number.setdefault(mark.number, []).append(mark)
    return SheetDrawing(
        diagram_svg(shown, marks, embedded=True, style=False),
        shown.width,
        {number: tuple(_links(shown, own)) for number, own in by_number.items()},
    )


def _links(shown: Drawing, marks: Iterable[Mark]) -> Iterator[tuple[str, str]]:
    leads = {wire.lead.index: wire.lead.title.replace("`", "") for wire in shown.wires}
    for mark in marks:
        if isinstance(mark.device, str):
            words, target = mark.device, shown.device_id(mark.device)
        else:
            words, target = leads.get(mark.device, ""), shown.lead_id(mark.device)
        if target is not None:
            yield words, target


def drawing(facts: "SheetFacts") -> dict[str, Any] | None:
    """Return the drawing as the template wants it; None where there is none."""
    from markupsafe import Markup  # noqa: PLC0415  - only a page pays for it

    if facts.drawing is None:
        return None
    return {
        "svg": Markup(facts.drawing.svg),  # noqa: S704  - every text in it is escaped
        "size": next(name for name, least in _SIZES if facts.drawing.width >= least),
    }
