"""Every file that a judgement may need: as it stands in the editor, else as it lies on the disk."""

import os
import stat
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final, NamedTuple

from holdshort.document import Document, Limits, read_regular
from holdshort.editor.buffers import Buffer
from holdshort.editor.positions import UTF16, Lines
from holdshort.editor.uris import path_of, same_file, uri_of

_LIMITS: Final = Limits()

Stamp = tuple[int, int, int] | None
"""What of a file on the disk changes when it is written: time, size and inode; None where there is
none."""


class _OnDisk(NamedTuple):
    stamp: Stamp
    document: Document


@dataclass(slots=True)
class Texts:
    """The open texts by what their files have in common, and the documents read from the disk."""

    encoding: str = UTF16
    _open: dict[str, Buffer] = field(default_factory=dict[str, Buffer])
    _read: dict[str, _OnDisk] = field(default_factory=dict[str, _OnDisk])
    _lines: dict[str, tuple[Stamp, Lines]] = field(default_factory=dict[str, tuple[Stamp, Lines]])

    def __iter__(self) -> Iterator[Buffer]:
        """Yield every open text."""
        return iter(list(self._open.values()))

    def open(self, uri: str, text: str, version: int | None) -> Buffer:
        """Take up a text that was opened; one that is open already is replaced."""
        path = path_of(uri)
        buffer = Buffer(uri, path, version, Lines(text, self.encoding))
        self._open[same_file(path)] = buffer
        return buffer

    def close(self, uri: str) -> None:
        """Forget a text; one that is not open is no matter."""
        self._open.pop(same_file(path_of(uri)), None)

    def find(self, uri: str) -> Buffer | None:
        """Return the open text of a URI."""
        return self._open.get(same_file(path_of(uri)))

    def at(self, path: str) -> Buffer | None:
        """Return the open text of the file at a path."""
        return self._open.get(same_file(path))

    def uri(self, path: str) -> str:
        """Return the URI of a file: as its client wrote it, where it is open."""
        buffer = self.at(path)
        return uri_of(path) if buffer is None else buffer.uri

    def document(self, path: str) -> Document:
        """Return the document in a file, by the name ``path``. Raises DocumentError."""
        buffer = self.at(path)
        found = self._from_disk(path) if buffer is None else buffer.document()
        return found if found.name == path else Document(path, found.root)

    def lines(self, path: str) -> Lines:
        """Return the lines of a file; of one that cannot be read, none."""
        buffer = self.at(path)
        if buffer is not None:
            return buffer.lines
        key, now = same_file(path), stamp(path)
        known = self._lines.get(key)
        if known is None or known[0] != now:
            known = self._lines[key] = (now, Lines(_text(path), self.encoding))
        return known[1]

    def _from_disk(self, path: str) -> Document:
        key, now = same_file(path), stamp(path)
        known = self._read.get(key)
        if known is None or known.stamp != now or now is None:
            known = _OnDisk(now, read_regular(path))
            self._read[key] = known
        return known.document


def stamp(path: str) -> Stamp:
    """Return the state of a file on the disk."""
    try:
        found = os.stat(path)  # noqa: PTH116  - a path as given, NUL and all
    except (OSError, ValueError):
        return None
    return found.st_mtime_ns, found.st_size, found.st_ino


def _text(path: str) -> str:
    """Return the text of a regular file; nothing of one that cannot be read."""
    try:
        if not stat.S_ISREG(os.stat(path).st_mode):  # noqa: PTH116  - as above
            return ""
        with open(path, "rb") as file:  # noqa: PTH123  - a path as given
            return file.read(_LIMITS.size + 1).decode("utf-8", "replace")
    except (OSError, ValueError):
        return ""
