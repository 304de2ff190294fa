"""Small pages of words for hover and completion, in Markdown or in plain text.

What a file says is shown as code, and only so: no name can be read as Markdown, as HTML or as a
link. What the program says itself may be Markdown.
"""

import re
from typing import NamedTuple

from lsprotocol.types import MarkupContent, MarkupKind

from holdshort.fixlist.plain import plain


class Line(NamedTuple):
    """One line: our own words, then what the file says, which may be empty."""

    label: str
    text: str = ""


class Card(NamedTuple):
    """A heading and lines under it. ``own`` is Markdown of the program's own, put last."""

    heading: Line
    lines: tuple[Line, ...] = ()
    own: str = ""

    def markup(self, *, markdown: bool) -> MarkupContent:
        """Return the card as a client can show it."""
        if not markdown:
            lines = [_plain_line(line) for line in (self.heading, *self.lines)]
            own = [self.own.replace("`", "").replace("**", "")] if self.own else []
            return MarkupContent(MarkupKind.PlainText, "\n".join([*lines, *own]))
        heading = _marked(Line(f"**{self.heading.label}**", self.heading.text))
        items = [f"- {_marked(line)}" for line in self.lines]
        blocks = [heading, "\n".join(items), self.own]
        return MarkupContent(MarkupKind.Markdown, "\n\n".join(block for block in blocks if block))


def code(text: str) -> str:
    """Return ``text`` as a piece of code in Markdown, whatever signs are in it."""
    bare = plain(text)
    longest = max((len(run) for run in _runs(bare)), default=0)
    fence = "`" * (longest + 1)
    pad = " " if bare[:1] == "`" or bare[-1:] == "`" else ""
    return f"{fence}{pad}{bare}{pad}{fence}"


def _runs(text: str) -> list[str]:
    """Return the runs of back ticks in a text."""
    return re.findall("`+", text)


def _marked(line: Line) -> str:
    return f"{line.label} {code(line.text)}" if line.text else line.label


def _plain_line(line: Line) -> str:
    return f"{line.label} {plain(line.text)}".rstrip()
