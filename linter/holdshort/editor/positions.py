"""Lines and columns of a client: from 0, in its units, with line ends as the protocol has them.

The protocol ends a line at LF, CR LF or CR and nowhere else (Language Server Protocol 3.17, "Text
Documents"); so does the reader of documents, which refuses every other character that some call a
line end.
"""

import re
from bisect import bisect_right
from typing import Final, NamedTuple

from lsprotocol.types import Position, PositionEncodingKind, Range

from holdshort.document import Span

UTF8: Final = PositionEncodingKind.Utf8
UTF16: Final = PositionEncodingKind.Utf16
UTF32: Final = PositionEncodingKind.Utf32

_LINE_END: Final = re.compile(r"\r\n|\r|\n")
_BYTE_ORDER_MARK: Final = "\ufeff"
_ONE_UNIT: Final = 0xFFFF


class Point(NamedTuple):
    """A place between two characters: line and column from 1, in code points, as in a Span."""

    line: int
    column: int


class Lines:
    """The lines of one text, and the way between code points and the units of a client."""

    __slots__ = ("_starts", "encoding", "lines", "text")

    def __init__(self, text: str, encoding: str = UTF16) -> None:
        """Split ``text``; ``encoding`` is what the client counts in."""
        self.text = text
        self.encoding = encoding
        ends = list(_LINE_END.finditer(text))
        self._starts = [0, *(end.end() for end in ends)]
        stops = [*(end.start() for end in ends), len(text)]
        self.lines = [text[a:b] for a, b in zip(self._starts, stops, strict=True)]

    def offset(self, position: Position) -> int:
        """Return the offset in the text of a client's position; what lies outside is drawn in."""
        if position.line < 0:
            return 0
        if position.line >= len(self.lines):
            return len(self.text)
        line = self.lines[position.line]
        return self._starts[position.line] + self._points(line, position.character)

    def point(self, position: Position) -> Point:
        """Return the place of a client's position in the document, whose text has no mark."""
        number = min(max(position.line, 0), len(self.lines) - 1)
        column = self._points(self.lines[number], position.character)
        return Point(number + 1, column + 1 - self._mark(number))

    def position(self, line: int, column: int) -> Position:
        """Return a line and column of the document, from 1, as the client counts."""
        number = min(max(line, 1), len(self.lines)) - 1
        text = self.lines[number]
        before = text[: max(column - 1, 0) + self._mark(number)]
        return Position(number, self._units(before))

    def position_at(self, offset: int) -> Position:
        """Return the client's position of an offset in the text."""
        number = bisect_right(self._starts, max(offset, 0)) - 1
        before = self.lines[number][: offset - self._starts[number]]
        return Position(number, self._units(before))

    def range(self, span: Span) -> Range:
        """Return a span of the document as the client counts; of no place, the file's beginning."""
        if not span.line:
            return Range(Position(0, 0), Position(0, 0))
        end = self.position(span.end_line, span.end_column)
        return Range(self.position(span.line, span.column), end)

    def _mark(self, number: int) -> int:
        """Return 1 on a first line that begins with a byte order mark, which no document counts."""
        return int(number == 0 and self.text.startswith(_BYTE_ORDER_MARK))

    def _units(self, text: str) -> int:
        if self.encoding == UTF32 or text.isascii():
            return len(text)
        if self.encoding == UTF8:
            return len(text.encode("utf-8", "surrogatepass"))
        return len(text) + sum(ord(character) > _ONE_UNIT for character in text)

    def _points(self, line: str, units: int) -> int:
        """Return how many characters of a line lie before a number of units; none is cut."""
        if self.encoding == UTF32 or line.isascii():
            return min(max(units, 0), len(line))
        passed = 0
        for count, character in enumerate(line):
            passed += self._units(character)
            if passed > units:
                return count
        return len(line)
