"""The text that the server keeps is the client's, whatever is typed, and places agree."""

import random

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from lsprotocol.types import (
    Position,
    Range,
    TextDocumentContentChangeEvent,
    TextDocumentContentChangePartial,
    TextDocumentContentChangeWholeDocument,
)

from holdshort.document import Span, read_document
from holdshort.editor.buffers import Buffer
from holdshort.editor.mending import text_edits
from holdshort.editor.positions import Lines

CODECS = {"utf-8": ("utf-8", 1), "utf-16": ("utf-16-le", 2), "utf-32": ("utf-32-le", 4)}
LETTERS = "ab: -{}[],#'\"é\u200f\u2028\x85\x0b\x0c✈\U0001f6e9\n"
TEXTS = st.lists(st.sampled_from([*LETTERS, "\r\n", "\r"]), max_size=40).map("".join)


class ClientText:
    """A client's own copy: code units, cut with Python's encoders; lines end at CR LF, CR, LF.

    Language Server Protocol 3.17, "Text Documents" and "Position".
    """

    def __init__(self, text: str, encoding: str) -> None:
        self.codec, self.width = CODECS[encoding]
        self.data = text.encode(self.codec)

    @property
    def text(self) -> str:
        return self.data.decode(self.codec)

    def positions(self) -> list[tuple[int, Position]]:
        """Return the byte offset of every place a client can name, with its position."""
        found: list[tuple[int, Position]] = []
        line, column, offset = 0, 0, 0
        text = self.text
        for index, sign in enumerate(text):
            inside_line_end = sign == "\n" and index > 0 and text[index - 1] == "\r"
            if not inside_line_end:
                found.append((offset, Position(line, column)))
            size = len(sign.encode(self.codec))
            offset += size
            column += size // self.width
            if sign == "\n" or (sign == "\r" and text[index + 1 : index + 2] != "\n"):
                line, column = line + 1, 0
        return [*found, (offset, Position(line, column))]

    def replace(self, start: int, end: int, new: str) -> None:
        self.data = self.data[:start] + new.encode(self.codec) + self.data[end:]


def random_text(chance: random.Random, most: int) -> str:
    signs = [*LETTERS, "\r\n", "\r", "key: value\n"]
    return "".join(chance.choice(signs) for _ in range(chance.randrange(most)))


@pytest.mark.parametrize("encoding", list(CODECS))
def test_after_a_thousand_edits_the_text_is_still_the_client_s(encoding: str) -> None:
    chance = random.Random(7)  # noqa: S311  - repeatable, no secret
    client = ClientText(random_text(chance, 60), encoding)
    buffer = Buffer("file:///a.yaml", "/a.yaml", 0, Lines(client.text, encoding))
    for version in range(1, 1001):
        changes: list[TextDocumentContentChangeEvent] = []
        for _ in range(chance.randrange(1, 4)):
            places = client.positions()
            one, other = sorted(chance.choices(range(len(places)), k=2))
            if len(places) < 150:
                other = min(other, one + 4)
            new = random_text(chance, 8)
            (start, first), (end, last) = places[one], places[other]
            client.replace(start, end, new)
            changes.append(TextDocumentContentChangePartial(Range(first, last), new))
        buffer.change(changes, version)
        assert buffer.text == client.text
    assert buffer.version == 1000


@given(TEXTS, st.sampled_from(list(CODECS)))
def test_every_place_of_a_text_has_one_position(text: str, encoding: str) -> None:
    lines, client = Lines(text, encoding), ClientText(text, encoding)
    for offset, position in client.positions():
        points = len(client.data[:offset].decode(client.codec))
        assert lines.offset(position) == points
        assert lines.position_at(points) == position
        point = lines.point(position)
        assert lines.position(*point) == position


@given(TEXTS, st.integers(0, 99), st.integers(0, 99), st.sampled_from(list(CODECS)))
def test_a_position_outside_is_drawn_in(text: str, line: int, column: int, encoding: str) -> None:
    lines = Lines(text, encoding)
    assert 0 <= lines.offset(Position(line, column)) <= len(text)
    assert lines.point(Position(line, column)).line <= len(lines.lines)


def test_the_protocol_s_own_example() -> None:
    # Language Server Protocol 3.17, "Position" (from memory): in the text a𐐀b, the offset of b is 3
    # in UTF-16, for the letter before it takes two code units.
    lines = Lines("a\U00010400b")
    assert lines.position_at(2) == Position(0, 3)
    assert lines.offset(Position(0, 2)) == 1  # within the letter: drawn to its beginning


def test_a_byte_order_mark_counts_for_the_client_and_not_in_the_document() -> None:
    text = "\ufeffholdshort: 1\n"
    document = read_document(text.encode(), "a.yaml")
    span = document.span_at(("holdshort",))
    assert span == Span(1, 12, 1, 13)
    found = Lines(text).range(span)
    assert text[found.start.character : found.end.character] == "1"
    assert Lines(text).point(found.start) == (1, 12)


@example(before="a\r\n", after="a\n", encoding="utf-16")
@example(before="a\n", after="a\r\n", encoding="utf-16")
@example(before="a\r\nb", after="a\rb", encoding="utf-8")
@example(before="a\rb\r\n", after="a\r\nb\r\n", encoding="utf-32")
@given(TEXTS, TEXTS, st.sampled_from(list(CODECS)))
def test_edits_from_one_text_to_another_lead_there(before: str, after: str, encoding: str) -> None:
    client = ClientText(before, encoding)
    places = {(one.line, one.character): offset for offset, one in client.positions()}
    edits = [
        (places[edit.range.start.line, edit.range.start.character],
         places[edit.range.end.line, edit.range.end.character], edit.new_text)
        for edit in text_edits(Lines(before, encoding), after)
    ]  # fmt: skip
    for start, end, new in sorted(edits, reverse=True):
        client.replace(start, end, new)
    assert client.text == after


def test_a_whole_text_replaces_what_was_there() -> None:
    buffer = Buffer("file:///a.yaml", "/a.yaml", 0, Lines("a"))
    buffer.change([TextDocumentContentChangeWholeDocument("b")], 2)
    assert (buffer.text, buffer.version) == ("b", 2)
