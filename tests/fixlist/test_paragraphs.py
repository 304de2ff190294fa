"""Paragraphs of the computed views: where they break, and what they stand behind."""

from textwrap import TextWrapper

from hypothesis import given
from hypothesis import strategies as st

from holdshort.fixlist.paragraphs import WIDTH, fold, folded, paragraph

WORDS = st.lists(st.text("abcxyz", min_size=1, max_size=30), min_size=1, max_size=40)
INDENTS = st.sampled_from([("", ""), ("  ", ""), ("  ", "    "), ("  - ", "    ")])


@given(words=WORDS, indents=INDENTS)
def test_lines_break_where_the_standard_library_breaks_them(
    words: list[str], indents: tuple[str, str]
) -> None:
    """Against textwrap, where no word is longer than a line."""
    first, other = indents[0], indents[1] or indents[0]
    room = WIDTH - max(len(first), len(other))
    lines = TextWrapper(room, break_long_words=False, break_on_hyphens=False).wrap(" ".join(words))
    wanted = [f"{other if index else first}{line}" for index, line in enumerate(lines)]
    assert paragraph(" ".join(words), *indents) == wanted
    assert folded(" ".join(words), *indents) == wanted


@given(words=st.lists(st.text("abc", min_size=1, max_size=200), min_size=1), indents=INDENTS)
def test_a_word_longer_than_a_line_is_broken_or_stays_whole_as_asked(
    words: list[str], indents: tuple[str, str]
) -> None:
    text = " ".join(words)
    broken = folded(text, *indents)
    assert max(map(len, broken)) <= WIDTH
    assert "".join("".join(broken).split()).replace("-", "") == "".join(words)
    whole = paragraph(text, *indents)
    assert [word for line in whole for word in line.split() if word != "-"] == words


def test_an_escape_sequence_comes_out_plain_before_lines_are_broken() -> None:
    assert paragraph("a\x1b[2Jb", "> ") == [r"> a\x1b[2Jb"]
    assert folded("a\nb") == [r"a\nb"]


def test_no_text_is_one_empty_line() -> None:
    assert paragraph("", "  ") == folded("", "  ") == ["  "]


def test_a_long_word_is_folded_at_the_width() -> None:
    assert list(fold("a bcdefgh i", 3)) == ["a", "bcd", "efg", "h", "i"]
