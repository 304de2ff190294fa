"""Plain text: nothing hidden gets through, nothing visible is lost."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdshort.fixlist.plain import plain, wrap

# Characters that steer a terminal or reorder text: C0 and C1 (ECMA-48), the Bidi_Control
# characters of Unicode Standard Annex 9, line and paragraph separators. Listed from memory.
STEERING = {
    *map(chr, range(0x20)),
    *map(chr, range(0x7F, 0xA0)),
    *"\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u2028\u2029",
}


@pytest.mark.parametrize("character", sorted(STEERING))
def test_steering_characters_are_written_out(character: str) -> None:
    shown = plain(f"a{character}b")
    assert shown.isascii()
    assert shown.startswith("a\\")
    assert shown.endswith("b")


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Grau-Reiher Ω 20°", "Grau-Reiher Ω 20°"),
        ("\x1b[31mred", "\\x1b[31mred"),
        ("left\u202eright", "left\\u202eright"),
        ("two\nlines\tand\rmore", "two\\nlines\\tand\\rmore"),
        ("8.4\u00a0V", "8.4\\xa0V"),
        ("tag\U000e0041", "tag\\U000e0041"),
        ("\udc80", "\\udc80"),
    ],
)
def test_what_is_shown(text: str, shown: str) -> None:
    assert plain(text) == shown


@given(st.text(alphabet=st.characters()))
def test_only_visible_characters_come_out(text: str) -> None:
    hidden = {"Cc", "Cf", "Cs", "Zl", "Zp"}
    assert not [c for c in plain(text) if unicodedata.category(c) in hidden]


@given(st.text(alphabet="ab `", max_size=200), st.integers(1, 40))
def test_wrapping_keeps_every_word_and_the_width(text: str, width: int) -> None:
    lines = list(wrap(text, width))
    assert " ".join(lines).split() == text.split()
    assert all(len(line) <= width or " " not in line.strip() for line in lines)


def test_spaces_inside_a_name_stay() -> None:
    assert list(wrap("`front  rx` is off", 40)) == ["`front  rx` is off"]
