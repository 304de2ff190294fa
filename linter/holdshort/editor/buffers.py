"""The text of one file as it stands in the editor, saved or not."""

from collections.abc import Iterable
from dataclasses import dataclass

from lsprotocol.types import (
    TextDocumentContentChangeEvent,
    TextDocumentContentChangePartial,
)

from holdshort.document import Document, read_document
from holdshort.editor.positions import Lines


@dataclass(slots=True)
class Buffer:
    """One open text: the URI that the client gives it, its path, its version, its lines."""

    uri: str
    path: str
    version: int | None
    lines: Lines
    _document: Document | None = None

    @property
    def text(self) -> str:
        """The whole text."""
        return self.lines.text

    def change(self, changes: Iterable[TextDocumentContentChangeEvent], version: int) -> None:
        """Take the changes of a client, one after another; a place outside is drawn in."""
        for change in changes:
            self.lines = Lines(_changed(self.lines, change), self.lines.encoding)
        self.version = version
        self._document = None

    def document(self) -> Document:
        """Return the document that the text holds. Raises DocumentError."""
        if self._document is None:
            data = self.text.encode("utf-8", "surrogatepass")
            self._document = read_document(data, self.path)
        return self._document


def _changed(lines: Lines, change: TextDocumentContentChangeEvent) -> str:
    if not isinstance(change, TextDocumentContentChangePartial):
        return change.text
    ends = (lines.offset(change.range.start), lines.offset(change.range.end))
    start, end = min(ends), max(ends)
    return lines.text[:start] + change.text + lines.text[end:]
