"""What a bench card is: what to do, what must be seen, and a box to tick for each thing seen.

A card never holds a guess: where a fact is missing, what must be seen is left to be written in, and
the line says what is not declared.
"""

import re
from collections.abc import Iterable, Iterator
from typing import Final, NamedTuple

STAY: Final = "stay still"
"""What must be seen of surfaces that a card does not move."""

_TO_A_BOX: Final = 8
"""How many things one box may stand for: more are not looked at one by one."""

_PLAIN_SCALAR: Final = re.compile(r"[A-Za-z][A-Za-z0-9_-]*(?: [A-Za-z0-9_-]+)+")
_ESCAPES: Final = {"\\": "\\\\", '"': '\\"'}


class CardSource(NamedTuple):
    """Where a card comes from, and how that source was read.

    ``confidence`` is ``read``, ``read second-hand``, ``from memory``, ``derived`` or
    ``common practice`` (no published source).
    """

    text: str
    confidence: str


class CardLine(NamedTuple):
    """One thing to see, with a box to tick.

    ``must`` is empty where it is not known and has to be written in. ``lacks`` completes the
    sentence "not declared: ...". ``note`` is anything else about this line.
    """

    subjects: tuple[str, ...]
    must: str
    lacks: str = ""
    note: str = ""


class BenchCard(NamedTuple):
    """One card. ``name`` is what an observation gives under ``card``."""

    name: str
    title: str
    do: tuple[str, ...]
    lines: tuple[CardLine, ...]
    cautions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    sources: tuple[CardSource, ...] = ()

    @property
    def observation(self) -> str:
        """The entry to add under ``observations:`` when all was seen as it must be.

        The day and the name are left to be put in; the reader refuses the day as it stands.
        """
        return f"- {{card: {flow_scalar(self.name)}, seen: as it must, on: YYYY-MM-DD, by: NAME}}"


class CardGroup(NamedTuple):
    """Cards that are followed together, in order."""

    name: str
    title: str
    before: tuple[str, ...]
    cards: tuple[BenchCard, ...]
    sources: tuple[CardSource, ...] = ()


class LeftOut(NamedTuple):
    """Cards that are not there, and why."""

    cards: str
    why: str


class CardSheet(NamedTuple):
    """All cards of one aircraft. ``unread`` are entries with mistakes of form, left out of them."""

    file: str
    aircraft: str | None
    cautions: tuple[str, ...]
    groups: tuple[CardGroup, ...]
    left_out: tuple[LeftOut, ...]
    unread: tuple[str, ...]


def in_boxes(names: Iterable[str], must: str) -> Iterator[CardLine]:
    """Yield lines for things that all must do the same, a few to a box."""
    left = tuple(names)
    while left:
        yield CardLine(left[:_TO_A_BOX], must)
        left = left[_TO_A_BOX:]


def flow_scalar(text: str) -> str:
    """Return ``text`` as a YAML scalar that may stand in a mapping in braces."""
    if _PLAIN_SCALAR.fullmatch(text):
        return text
    return '"' + "".join(_escaped(character) for character in text) + '"'


def _escaped(character: str) -> str:
    if character in _ESCAPES:
        return _ESCAPES[character]
    return character if character.isprintable() else f"\\U{ord(character):08x}"
