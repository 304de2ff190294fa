"""Text for a page as wide as a terminal: broken into lines, behind an indent where one is given."""

from collections.abc import Iterator
from typing import Final

from holdshort.fixlist.plain import plain, wrap

WIDTH: Final = 88
"""How wide the computed views are, in columns."""


def paragraph(text: str, first: str = "", other: str = "") -> list[str]:
    """Return ``text`` in lines of at most :data:`WIDTH`; longer words stay whole.

    The first line stands behind ``first``, the others behind ``other``, or ``first`` once more.
    """
    room = WIDTH - max(len(first), len(other))
    return _behind(wrap(plain(text), room), first, other)


def folded(text: str, first: str = "", other: str = "", *, width: int = WIDTH) -> list[str]:
    """Return ``text`` as :func:`paragraph` does, but with words longer than a line broken."""
    room = width - max(len(first), len(other))
    return _behind(fold(plain(text), room), first, other)


def fold(text: str, width: int) -> Iterator[str]:
    """Break ``text`` at spaces, and words longer than a line anywhere."""
    for line in wrap(text, width):
        yield line[:width]
        for start in range(width, len(line), width):
            yield line[start : start + width]


def _behind(lines: Iterator[str], first: str, other: str) -> list[str]:
    return [f"{other or first if index else first}{line}" for index, line in enumerate(lines)]
