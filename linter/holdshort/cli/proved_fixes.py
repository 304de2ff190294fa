"""What the fixes of one setup file do to its text, each proved by judging the changed text."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from holdshort.document import Document, DocumentError, Span
from holdshort.document.edit import EditableText
from holdshort.document.splices import splices
from holdshort.rulebook import Found, Judgement
from holdshort.rulebook.fixes import Look, make_fixes
from holdshort.setup import Loaded


@dataclass(frozen=True, slots=True)
class ProvedFixes:
    """Proves fixes of a file that was judged; ``look_at`` judges a changed text of it."""

    document: Document
    seen: tuple[Loaded, Judgement]
    look_at: Callable[[Document], tuple[Loaded, Judgement]]

    def changes(self, found: Found) -> Iterator[tuple[Span, str]]:
        """Yield what the fix of a finding does to the text, the last place first.

        Nothing where the fix cannot be made, or the file has changed since it was judged.
        """
        text = self._text()
        if text is None:
            return
        before = text.dump()
        run = make_fixes(text, self._look, lambda other: other is found)
        for item in run.written:
            yield from splices(before, item.after)

    def _text(self) -> EditableText | None:
        try:
            text = EditableText(Path(self.document.name).read_bytes().decode(), self.document.name)
        except (OSError, ValueError, DocumentError):
            return None
        return text if text.document.root == self.document.root else None

    def _look(self, document: Document) -> Look:
        known = document.root == self.document.root
        return Look(*(self.seen if known else self.look_at(document)))
