"""One thing that may be written at a cursor, and how a name is written as YAML takes it."""

from collections.abc import Iterable, Iterator
from typing import Final, NamedTuple

from holdshort.setup import Fitted

_SIGNS: Final = frozenset(":#{}[],&*!|>%@`\"'")
_NO_NAMES: Final = frozenset({"true", "false", "null"})


class Offer(NamedTuple):
    """One thing that may be written: how it is listed, and what is written for it.

    ``about`` is Markdown of the program's own, ``detail`` may be the file's text. ``rank`` orders:
    lower comes first.
    """

    label: str
    insert: str
    what: str
    detail: str = ""
    about: str = ""
    rank: int = 0


def named(name: str, what: str, detail: str = "", rank: int = 0) -> Offer:
    """Return the offer of a name."""
    return Offer(name, quoted(name), what, detail, rank=rank)


def devices(fitted: Iterable[Fitted]) -> Iterator[Offer]:
    """Yield the offers of some fitted devices."""
    for device in fitted:
        yield named(device.name, device.kind, device.part_name)


def quoted(name: str) -> str:
    """Return a name as YAML takes it: in quotes where it has signs that mean something there."""
    awkward = not name or name != name.strip() or name[0] in "-?~" or not name.isprintable()
    if awkward or name.casefold() in _NO_NAMES or not _SIGNS.isdisjoint(name):
        return "'" + name.replace("'", "''") + "'"
    return name
