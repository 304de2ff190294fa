"""What sections of an aircraft sheet are made of: sentences, lists, pairs and tables.

A section that is made of these needs no template of its own. Texts are as they come: the page
escapes them. What stands between back ticks is set as code.
"""

from collections.abc import Iterable, Sequence
from typing import Final, Literal, NamedTuple

_SHORT: Final = 26
"""Characters that a cell holds on one line, and that a word holds unbroken."""

Tone = Literal["", "outside", "quiet"]
"""How a cell stands out: ``outside`` what it should be, which its words say as well, or not."""


class Cell(NamedTuple):
    """One cell of a table. ``sign`` is a mark before the words that says the same as they do."""

    text: str
    tone: Tone = ""
    sign: str = ""

    @property
    def size(self) -> str:
        """``short`` where it fits one line, ``long`` where a word of it must break, or empty."""
        if len(self.text) <= _SHORT:
            return "short"
        return "long" if max(map(len, self.text.split())) > _SHORT else ""


class Column(NamedTuple):
    """One column of a table: its title, and whether it holds figures."""

    title: str
    figures: bool = False


class Table(NamedTuple):
    """A table; the first cell of a row is its heading."""

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    form: str = "table"


class Words(NamedTuple):
    """A sentence or two of their own; ``quiet`` ones are beside the point."""

    text: str
    quiet: bool = False
    form: str = "words"


class Listed(NamedTuple):
    """A list under a heading of its own; without one where ``title`` is empty."""

    title: str
    items: tuple[str, ...]
    form: str = "list"


class Pairs(NamedTuple):
    """Names and what they are."""

    pairs: tuple[tuple[str, str], ...]
    form: str = "pairs"


class Heading(NamedTuple):
    """A heading below that of the section."""

    text: str
    form: str = "heading"


Part = Table | Words | Listed | Pairs | Heading


def table(
    caption: str, columns: Sequence[str], rows: Iterable[Sequence[Cell | str]], kinds: str
) -> Table:
    """Return a table; ``kinds`` holds ``<`` for each column of words and ``>`` for one of figures.

    Raises ValueError where a row is not as long as the head.
    """
    heads = zip(columns, kinds, strict=True)
    return Table(
        caption,
        tuple(Column(title, kind == ">") for title, kind in heads),
        tuple(_row(row, len(columns)) for row in rows),
    )


def _row(row: Sequence[Cell | str], length: int) -> tuple[Cell, ...]:
    if len(row) != length:
        raise ValueError(f"a row of {len(row)} cells in a table of {length} columns")
    return tuple(Cell(cell.strip()) if isinstance(cell, str) else cell for cell in row)


def listed_parts(title: str, items: Iterable[str]) -> tuple[Listed, ...]:
    """Return the list, or nothing where there is nothing to list."""
    found = tuple(items)
    return (Listed(title, found),) if found else ()
