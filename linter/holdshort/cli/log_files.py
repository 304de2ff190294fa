"""Reading a log file in pieces, as lines of text: any encoding it is likely to be in, no more."""

import codecs
import os
import re
import stat
from collections.abc import Iterator
from typing import BinaryIO, Final, NamedTuple

PIECE: Final = 1 << 20
"""Bytes read at a time."""
LONGEST: Final = 1 << 15
"""Characters in the longest line that can be a row; what is longer is cut off there."""
ENDLESS: Final = 1 << 20
"""Characters after which a line has no end."""
_GZIP: Final = b"\x1f\x8b"
_STRAY: Final = re.compile("[\udc80-\udcff]")
_BYTE: Final = 0xDC00
_MARKS: Final = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)


class LogFileError(Exception):
    """The file cannot be read as a log; the message is a sentence about it."""


class Piece(NamedTuple):
    """Some lines of a log, without their ends, and how much of the file is read, 0 to 1."""

    lines: list[str]
    share: float


def read_pieces(path: str) -> Iterator[Piece]:
    """Yield the lines of a log in order, a piece at a time. Raises LogFileError.

    A byte order mark is taken off. Text is UTF-8 or marked UTF-16; bytes that are neither are
    taken for Latin-1. Lines may end in any of the three usual ways.
    """
    try:
        with _opened(path) as file:
            size = max(os.fstat(file.fileno()).st_size, 1)
            yield from _pieces(path, file, size)
    except OSError as error:
        raise LogFileError(f"{path} cannot be read: {error.strerror or error}.") from error
    except ValueError as error:
        raise LogFileError(f"{path} cannot be read: {error}.") from error


def _opened(path: str) -> BinaryIO:
    mode = os.stat(path).st_mode  # noqa: PTH116  - a path as given, NUL and all
    if not stat.S_ISREG(mode):
        raise LogFileError(f"{path} is not a file.")
    return open(path, "rb")  # noqa: PTH123  - as above; the caller closes it


def _pieces(path: str, file: BinaryIO, size: int) -> Iterator[Piece]:
    data = file.read(PIECE)
    encoding, mark = _encoding(path, data)
    decoder = codecs.getincrementaldecoder(encoding)(errors="surrogateescape")
    data = data[mark:]
    rest, number = "", 0
    while data:
        text = rest + _STRAY.sub(_from_latin, decoder.decode(data))
        lines, rest = _split(text)
        number += len(lines)
        if len(rest) > ENDLESS:
            raise LogFileError(f"{path}:{number + 1}: this line has no end: it is no table.")
        if lines:
            if max(map(len, lines)) > LONGEST:
                lines = [line[:LONGEST] for line in lines]
            yield Piece(lines, min(file.tell() / size, 1.0))
        data = file.read(PIECE)
    rest += _STRAY.sub(_from_latin, decoder.decode(b"", final=True))
    if rest:
        yield Piece(_split(f"{rest}\n")[0], 1.0)


def _encoding(path: str, data: bytes) -> tuple[str, int]:
    """Return the encoding and the length of the mark that says so."""
    if data.startswith(_GZIP):
        raise LogFileError(f"{path} is compressed; unpack it first.")
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            return encoding, len(mark)
    if b"\0" in data:
        line = data[: data.index(b"\0")].count(b"\n") + 1
        raise LogFileError(f"{path}:{line}: this is not text: it holds a zero byte.")
    return "utf-8", 0


def _from_latin(match: re.Match[str]) -> str:
    return chr(ord(match[0]) - _BYTE)


def _split(text: str) -> tuple[list[str], str]:
    """Return the lines that have an end, and what is left; half a line end waits for the rest."""
    held = "\r" if text.endswith("\r") else ""
    if "\r" in text:
        text = text.removesuffix("\r").replace("\r\n", "\n").replace("\r", "\n")
    lines = text.split("\n")
    return lines, lines.pop() + held
