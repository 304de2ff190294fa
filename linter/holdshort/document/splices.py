"""What differs between two texts, as places in the old one and what stands there in the new.

Not imported by the package itself: `difflib` is dear to import, and only who shows changes pays.
"""

import re
from collections.abc import Iterable
from difflib import SequenceMatcher
from itertools import takewhile
from typing import Final, NamedTuple

from holdshort.document.place import Span

_LINE: Final = re.compile(r"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+")
_BYTE_ORDER_MARK: Final = "\ufeff"


class Splice(NamedTuple):
    """One place in the old text, empty where something is put in, and its new text."""

    span: Span
    new: str


def splices(before: str, after: str) -> tuple[Splice, ...]:
    """Return what makes ``after`` of ``before``, the last place first.

    In that order each place may be changed at once: those still to come have not moved. Lines and
    columns count from 1, columns in code points, ends are exclusive; a byte order mark counts for
    nothing. No place cuts a line end in two.
    """
    old, new = (_LINE.findall(text.removeprefix(_BYTE_ORDER_MARK)) for text in (before, after))
    matcher = SequenceMatcher(a=old, b=new, autojunk=False)
    found = [
        _narrowed(old, low, "".join(old[low:high]), "".join(new[first:last]))
        for tag, low, high, first, last in matcher.get_opcodes()
        if tag != "equal"
    ]
    return tuple(reversed(found))


def _narrowed(lines: list[str], first: int, old: str, new: str) -> Splice:
    """Return a splice without what is the same at both of its ends."""
    head = _shared(old, new)
    while _cuts_line_end(old, head) or _cuts_line_end(new, head):
        head -= 1
    tail = _shared(reversed(old[head:]), reversed(new[head:]))
    while _cuts_line_end(old, len(old) - tail) or _cuts_line_end(new, len(new) - tail):
        tail -= 1
    span = Span(*_position(lines, first, head), *_position(lines, first, len(old) - tail))
    return Splice(span, new[head : len(new) - tail])


def _shared(one: Iterable[str], other: Iterable[str]) -> int:
    """Return how many characters two texts have in common at their beginning."""
    return sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], zip(one, other, strict=False)))


def _cuts_line_end(text: str, at: int) -> bool:
    return text[max(at - 1, 0) : at + 1] == "\r\n"


def _position(lines: list[str], line: int, offset: int) -> tuple[int, int]:
    """Return the line and column that are so many characters behind the beginning of a line."""
    while line < len(lines) and offset >= len(lines[line]):
        if offset == len(lines[line]) and not lines[line].endswith(("\r", "\n")):
            break  # the end of a text whose last line has no line end
        offset -= len(lines[line])
        line += 1
    return line + 1, offset + 1
