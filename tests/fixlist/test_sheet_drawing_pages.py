"""The wiring diagram on paper: parts that can be read, and nothing of the drawing in none of them.

Sizes: A4 is 297 mm by 210 mm (ISO 216, from memory); a CSS pixel is 1/96 inch and a point 1/72 inch
(CSS Values and Units Level 4, absolute lengths, from memory).
"""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.fixlist.diagram_drawing import TEXT_SIZES, Area, Box, Drawing
from holdshort.fixlist.diagram_style import LOOKS
from holdshort.fixlist.html_page import FOLDER
from holdshort.fixlist.sheet_drawing_pages import LEAST_SCALE, LYING, UPRIGHT, page_parts

PIXELS_PER_MILLIMETRE = 96.0 / 25.4
POINTS_PER_PIXEL = 72.0 / 96.0
LEAST_POINTS = 6.0
BOX_ACROSS = 150.0


def drawing(width: float, height: float, *areas: Area) -> Drawing:
    """Return a drawing that holds boxes at ``areas``; the renderer is never asked to draw them."""
    from holdshort.analysis.wiring_plan import PlanDevice  # noqa: PLC0415  - here alone

    device = PlanDevice("box", "box", "hub", "hub-8", "", 4)
    boxes = tuple(Box(device, 0, area, (), (), ()) for area in areas)
    return Drawing("wren.yaml", "Wren", width, height - 60.0, boxes, (), (), ())


def everywhere(width: float, height: float) -> Drawing:
    """Return a drawing with a box in every place."""
    across, down = (range(0, int(size), 100) for size in (width, height))
    return drawing(width, height, *(Area(x, y, x + 90.0, y + 90.0) for x in across for y in down))


def test_the_smallest_letters_are_six_points_high_on_paper() -> None:
    sizes = [*TEXT_SIZES.values(), *(look.size for look in LOOKS.values() if look.size)]
    assert min(sizes) * LEAST_SCALE * POINTS_PER_PIXEL >= LEAST_POINTS


def test_the_room_on_paper_is_less_than_the_sheet_and_its_margins() -> None:
    css = (FOLDER / "sheet.css").read_text(encoding="utf-8")
    found = re.search(r"@page \{ margin: (\d+)mm (\d+)mm (\d+)mm;", css)
    assert found
    top, side, bottom = (int(margin) for margin in found.groups())
    for paper, (width, height) in ((LYING, (297, 210)), (UPRIGHT, (210, 297))):
        assert paper.width <= (width - 2 * side) * PIXELS_PER_MILLIMETRE
        # The title of a part takes a line above it: 10 mm at 10.5 points, with its margins.
        assert paper.height <= (height - top - bottom - 10) * PIXELS_PER_MILLIMETRE


@pytest.mark.parametrize(
    ("width", "height", "name", "rows", "columns"),
    [
        (1140.0, 680.0, None, 0, 0),
        (1143.0, 890.0, "lying", 2, 1),
        (1308.0, 870.0, "upright", 1, 2),
        (2126.0, 1730.0, "lying", 3, 2),
    ],
)
def test_the_paper_lies_as_fewer_parts_need_it(
    width: float, height: float, name: str | None, rows: int, columns: int
) -> None:
    pages = page_parts(width, height, everywhere(width, height))
    if name is None:
        assert pages is None
        return
    assert pages is not None
    assert (pages.paper.name, pages.rows, pages.columns) == (name, rows, columns)
    assert [(part.row, part.column) for part in pages.parts] == [
        (row, column) for row in range(1, rows + 1) for column in range(1, columns + 1)
    ]


@settings(max_examples=60)
@given(st.floats(300.0, 6000.0), st.floats(300.0, 6000.0), st.data())
def test_every_box_is_whole_in_one_part_and_each_part_fits_its_paper(
    width: float, height: float, data: st.DataObject
) -> None:
    pages = page_parts(width, height, everywhere(width, height))
    if pages is None:
        assert width * LEAST_SCALE <= LYING.width
        assert height * LEAST_SCALE <= LYING.height
        return
    left = data.draw(st.floats(0.0, width - BOX_ACROSS))
    top = data.draw(st.floats(0.0, height - BOX_ACROSS))
    assert any(
        part.area.left <= left + 1e-6
        and part.area.top <= top + 1e-6
        and part.area.right >= left + BOX_ACROSS - 1e-6
        and part.area.bottom >= top + BOX_ACROSS - 1e-6
        for part in pages.parts
    )
    for part in pages.parts:
        assert (part.area.right - part.area.left) * LEAST_SCALE <= pages.paper.width + 1e-6
        assert (part.area.bottom - part.area.top) * LEAST_SCALE <= pages.paper.height + 1e-6


def test_a_part_in_which_nothing_stands_has_no_page() -> None:
    lonely = drawing(2126.0, 1730.0, Area(20.0, 800.0, 120.0, 860.0))
    pages = page_parts(2126.0, 1730.0, lonely)
    assert pages is not None
    # The box in the middle row, and the legend along the bottom.
    assert [(part.row, part.column) for part in pages.parts] == [(2, 1), (3, 1), (3, 2)]
