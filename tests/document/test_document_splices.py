"""What differs between two texts: applied by other code, it makes the one of the other."""

import re

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from holdshort.document import Span
from holdshort.document.splices import Splice, splices


def offset(text: str, line: int, column: int) -> int:
    """Return the offset of a place: lines end as YAML 1.2, section 5.4, says."""
    starts = [0, *(found.end() for found in re.finditer(r"\r\n|\r|\n", text))]
    return starts[line - 1] + column - 1


def apply(text: str, changes: tuple[Splice, ...]) -> str:
    """Change the places one after the other, as an editor does that knows nothing else."""
    for span, new in changes:
        start = offset(text, span.line, span.column)
        end = offset(text, span.end_line, span.end_column)
        text = text[:start] + new + text[end:]
    return text


def apply_at_once(text: str, changes: tuple[Splice, ...]) -> str:
    """Change all places of the first text, as an editor does that holds them all."""
    made, at = "", 0
    for span, new in reversed(changes):
        start = offset(text, span.line, span.column)
        made += text[at:start] + new
        at = offset(text, span.end_line, span.end_column)
    return made + text[at:]


texts = st.text(st.sampled_from("ab:\n\r\u2028\x85\U0001f6e9é"), max_size=24)


@given(before=texts, after=texts)
def test_they_make_the_new_text_of_the_old(before: str, after: str) -> None:
    found = splices(before, after)
    assert apply(before, found) == after
    assert apply_at_once(before, found) == after
    assert bool(found) is (before != after)


@example(before="a\r\nb", after="a\rb")
@example(before="a\rb", after="a\r\nb")
@example(before="a\r\nb", after="a\nb")
@example(before="a\nb", after="a\r\nb")
@given(before=texts, after=texts)
def test_no_place_is_inside_a_line_end(before: str, after: str) -> None:
    for span, _ in splices(before, after):
        for line, column in ((span.line, span.column), (span.end_line, span.end_column)):
            at = offset(before, line, column)
            assert before[max(at - 1, 0) : at + 1] != "\r\n"


@pytest.mark.parametrize(
    ("before", "after", "wanted"),
    [
        ("a: 1\n", "a: 1\n", ()),
        ("a: 10 V\nb: 2\n", "a: 12 V\nb: 2\n", ((Span(1, 5, 1, 6), "2"),)),
        ("a: 1\nb: 2\nc: 3\n", "a: 1\nc: 3\n", ((Span(2, 1, 3, 1), ""),)),
        ("a: 1\n", "a: 1\nb: 2\n", ((Span(2, 1, 2, 1), "b: 2\n"),)),
        ("a: 1", "a: 1\nb: 2", ((Span(1, 5, 1, 5), "\nb: 2"),)),
        ("a: 1\r\nb: 2\r\n", "a: 1\r\nb: 3\r\n", ((Span(2, 4, 2, 5), "3"),)),
        ("\ufeffa: 1\n", "\ufeffa: 2\n", ((Span(1, 4, 1, 5), "2"),)),
        ("# \U0001f6e9 x\n", "# \U0001f6e9 y\n", ((Span(1, 5, 1, 6), "y"),)),
        (
            "a: 1\nb: 2\nc: 3\n",
            "a: 4\nb: 2\nc: 5\n",
            ((Span(3, 4, 3, 5), "5"), (Span(1, 4, 1, 5), "4")),
        ),
    ],
)
def test_they_are_the_least_and_the_last_comes_first(
    before: str, after: str, wanted: tuple[Splice, ...]
) -> None:
    assert splices(before, after) == wanted
