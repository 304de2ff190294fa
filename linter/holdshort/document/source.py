"""The text of one file: decoding it, and finding places in it."""

from __future__ import annotations

import re
from typing import Never

from holdshort.document.fault import DocumentError, Fault
from holdshort.document.place import Path, Span

_BYTE_ORDER_MARK = b"\xef\xbb\xbf"
_WIDE_MARKS = (
    (b"\xff\xfe\x00\x00", "UTF-32"),
    (b"\x00\x00\xfe\xff", "UTF-32"),
    (b"\xff\xfe", "UTF-16"),
    (b"\xfe\xff", "UTF-16"),
)
# What YAML allows, less the characters that shift line numbers or reorder what is seen.
_FORBIDDEN_ASCII = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
_FORBIDDEN = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff\ufeff\ufffe\uffff]"
)


_REORDERING = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"


class Source:
    """The text of one file, with the name it is shown by."""

    __slots__ = ("_lines", "name", "text")

    def __init__(self, name: str, text: str) -> None:
        """Take the text; lines are split only when a place is asked for."""
        self.name = name
        self.text = text
        self._lines: list[str] | None = None

    @property
    def lines(self) -> list[str]:
        """The lines without their ends; CR LF, CR and LF end a line."""
        if self._lines is None:
            self._lines = self.text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
        return self._lines

    def point(self, line: int, column: int) -> Span:
        """Return the span of the character at a line and column counted from 0.

        Behind the last character of a line the span is empty; behind the last line it is the
        end of the last line that holds anything.
        """
        lines = self.lines
        if line >= len(lines) or (line == len(lines) - 1 and line > 0 and not lines[line]):
            line = len(lines) - 1
            while line > 0 and not lines[line].strip():
                line -= 1
            column = len(lines[line])
        column = min(column, len(lines[line]))
        width = 1 if column < len(lines[line]) else 0
        return Span(line + 1, column + 1, line + 1, column + 1 + width)

    def refuse(
        self,
        kind: str,
        message: str,
        span: Span | None,
        do: str = "",
        related: tuple[tuple[str, Span], ...] = (),
        path: Path = (),
    ) -> Never:
        """Raise a DocumentError about this file."""
        raise DocumentError(Fault(kind, message, self.name, span, do, related, path))


def decode(data: bytes, name: str) -> Source:
    """Decode a file as UTF-8, with or without a byte order mark, and check its characters."""
    for mark, encoding in _WIDE_MARKS:
        if data.startswith(mark):
            Source(name, "").refuse(
                "not-utf-8",
                f"The file is written in {encoding}, not in UTF-8.",
                Span(1, 1, 1, 1),
                "Save it as UTF-8.",
            )
    body = data.removeprefix(_BYTE_ORDER_MARK)
    try:
        text = body.decode("utf-8")
    except UnicodeDecodeError as error:
        raise _not_utf8(data, body, error.start, name) from None
    source = Source(name, text)
    found = forbidden_in(text)
    if found is not None:
        _refuse_character(source, found)
    return source


def forbidden_in(text: str) -> re.Match[str] | None:
    """Find the first character that no file may hold, written out or by an escape."""
    if text.isascii():
        return _FORBIDDEN_ASCII.search(text)
    return _FORBIDDEN.search(text)


def describe_character(character: str) -> tuple[str, str]:
    """Return the kind of fault a forbidden character is, and a description of it."""
    name = f"U+{ord(character):04X}"
    if "\ud800" <= character <= "\udfff":
        return "bad-escape", f"half of a character ({name})"
    if character in "\u2028\u2029\ufeff":
        return "hidden-character", f"a hidden character ({name})"
    if character in _REORDERING:
        return "hidden-character", f"a hidden character that reorders text ({name})"
    if character == "\0":
        return "control-character", f"a NUL character ({name})"
    return "control-character", f"a control character ({name})"


def _refuse_character(source: Source, found: re.Match[str]) -> Never:
    before = source.text[: found.start()].replace("\r\n", "\n").replace("\r", "\n")
    line, column = before.count("\n"), len(before) - (before.rfind("\n") + 1)
    kind, description = describe_character(found.group())
    source.refuse(
        kind,
        f"The file holds {description}.",
        Span(line + 1, column + 1, line + 1, column + 2),
        "Delete the character; it cannot be seen in most editors.",
    )


def _not_utf8(data: bytes, body: bytes, start: int, name: str) -> DocumentError:
    before = body[:start].decode("utf-8").replace("\r\n", "\n").replace("\r", "\n")
    line, column = before.count("\n"), len(before) - (before.rfind("\n") + 1)
    offset = len(data) - len(body) + start
    span = Span(line + 1, column + 1, line + 1, column + 1)
    message = (
        f"The file is not UTF-8: the byte 0x{body[start]:02X} at offset {offset}, "
        f"on line {line + 1}, fits no character."
    )
    return DocumentError(Fault("not-utf-8", message, name, span, "Save it as UTF-8."))
