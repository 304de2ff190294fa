"""The wiring diagram on an aircraft sheet, with its findings marked and linked both ways."""

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from holdshort.fixlist.diagram_drawing import Drawing, Mark
from holdshort.fixlist.diagram_layout import drawing_of
from holdshort.fixlist.diagram_marks import marks_of
from holdshort.fixlist.diagram_scene import scene_of
from holdshort.fixlist.diagram_svg import part_svg, scene_svg
from holdshort.fixlist.sheet_drawing_pages import PagePart, PageParts, page_parts

if TYPE_CHECKING:
    from holdshort.fixlist.sheet_facts import SheetFacts

_SIZES: Final = (("vast", 1500.0), ("broad", 1250.0), ("usual", 800.0), ("narrow", 0.0))
"""How broad a drawing is shown, by its width in drawing units; a vast one at its own size."""


class SheetDrawing(NamedTuple):
    """The drawing as SVG, and for each finding, by its number, where in the page it is drawn.

    A place is what it is called and its id in the page. ``width`` is in drawing units. ``pages``
    are the parts for paper, None where one page is enough.
    """

    svg: str
    width: float
    links: dict[str, tuple[tuple[str, str], ...]]
    pages: PageParts | None


def draw(facts: "SheetFacts") -> SheetDrawing | None:
    """Return the drawing of an aircraft; None where nothing is fitted."""
    if not facts.setup.devices:
        return None
    shown = drawing_of(facts.aircraft)
    marks = marks_of(facts.setup, facts.report, questions=True)
    by_number: dict[str, list[Mark]] = {}
    for mark in marks:
        by_number.setdefault(mark.number, []).append(mark)
    scene = scene_of(shown, marks, listed=False)
    return SheetDrawing(
        scene_svg(scene, embedded=True, style=False),
        scene.width,
        {number: tuple(_links(shown, own)) for number, own in by_number.items()},
        page_parts(scene.width, scene.height, shown),
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
    pages = facts.drawing.pages
    return {
        "svg": Markup(facts.drawing.svg),  # noqa: S704  - every text in it is escaped
        "size": next(name for name, least in _SIZES if facts.drawing.width >= least),
        "paper": pages.paper.name if pages else "",
        "parts": [_part(pages, number) for number in range(len(pages.parts))] if pages else [],
    }


def _part(pages: PageParts, number: int) -> dict[str, Any]:
    from markupsafe import Markup  # noqa: PLC0415  - as above

    part = pages.parts[number]
    title = f"Wiring, part {number + 1} of {len(pages.parts)}: {_where(pages, part)}"
    return {"title": title, "svg": Markup(part_svg(part.area))}  # noqa: S704  - figures


def _where(pages: PageParts, part: PagePart) -> str:
    """Return which part it is: ``row 1 of 2, column 1 of 3``."""
    row = f"row {part.row} of {pages.rows}" if pages.rows > 1 else ""
    column = f"column {part.column} of {pages.columns}" if pages.columns > 1 else ""
    return ", ".join(word for word in (row, column) if word)
