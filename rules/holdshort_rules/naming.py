"""How rules name many things in one message."""

from collections.abc import Iterable
from typing import Final

from holdshort.api import listed

_MOST: Final = 4


def few(names: Iterable[str]) -> str:
    """Return the first few names, and how many more there are."""
    every = list(names)
    if len(every) <= _MOST:
        return listed(every)
    return f"{', '.join(every[:_MOST])} and {len(every) - _MOST} more"
