"""How wide text is taken to be, measured with the letters it is drawn with.

The measure is Pillow with the DejaVu Sans that matplotlib brings, the widest of the fonts that a
diagram asks for.
"""

from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdshort.fixlist.diagram_letters import broken, fitted, text_width

SIZE = 1000
LETTERS = [chr(code) for code in (*range(0x20, 0x7F), *range(0xA1, 0x180), *range(0x391, 0x460))]
SHOWN = [letter for letter in LETTERS if letter.isprintable()]


@cache
def measure_with(*, bold: bool) -> Any:
    matplotlib = pytest.importorskip("matplotlib")
    image_font = pytest.importorskip("PIL.ImageFont")
    folder = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    basic = image_font.Layout.BASIC
    return image_font.truetype(str(folder / name), SIZE, layout_engine=basic)


def measured(text: str, *, bold: bool) -> float:
    width: float = measure_with(bold=bold).getlength(text)
    return width


@pytest.mark.parametrize("bold", [False, True])
def test_no_letter_is_wider_than_it_is_taken_to_be(*, bold: bool) -> None:
    assert len(SHOWN) > 500
    wide = [
        letter
        for letter in SHOWN
        if measured(letter, bold=bold) > text_width(letter, SIZE, bold=bold)
    ]
    assert wide == []


@pytest.mark.parametrize("bold", [False, True])
def test_ordinary_words_are_not_taken_to_be_much_wider(*, bold: bool) -> None:
    for words in ("aileron-outer-right", "lowest 10.98 V", "hubs and gyros", "regulator-1.out-2"):
        assert text_width(words, SIZE, bold=bold) < 1.08 * measured(words, bold=bold)


@given(st.text(st.sampled_from(SHOWN), max_size=60), st.booleans())
def test_no_text_is_wider_than_it_is_taken_to_be(text: str, bold: bool) -> None:
    assert measured(text, bold=bold) <= text_width(text, SIZE, bold=bold) + 1e-6


@given(st.text(max_size=90), st.floats(20.0, 200.0))
def test_what_is_fitted_fits_and_begins_as_it_did(text: str, room: float) -> None:
    shown = fitted(text, 10.0, room)
    assert text_width(shown, 10.0) <= room + 1e-6
    assert shown.isprintable()


@given(st.text("abc -é", max_size=90), st.floats(20.0, 200.0), st.integers(1, 3))
def test_what_is_broken_fits_and_loses_only_its_end(text: str, room: float, most: int) -> None:
    lines = broken(text, 10.0, room, most)
    assert 1 <= len(lines) <= most
    assert all(text_width(line, 10.0) <= room + 1e-6 for line in lines)
    whole = "".join("".join(lines).removesuffix("\N{HORIZONTAL ELLIPSIS}").split())
    assert "".join(text.split()).startswith(whole)
