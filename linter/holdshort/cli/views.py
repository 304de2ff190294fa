"""The views that ``holdshort show`` offers: what was computed for one aircraft.

To add one, write a function that takes an :class:`~holdshort.analysis.Aircraft` and returns
lines of text, and name it here.
"""

from typing import Final, NamedTuple


class View(NamedTuple):
    """One view: a few words about it, and its function as ``module:function``."""

    title: str
    target: str


VIEWS: Final[dict[str, View]] = {}
"""Every view by the word that asks for it. While there is none, the command is not offered."""
