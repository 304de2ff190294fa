"""Facts know where they came from; what is not known says what is missing."""

from typing import NamedTuple

from holdshort.setup import Place


class Because(NamedTuple):
    """One declared thing that a fact rests on, and what it says."""

    place: Place
    text: str


class Need(NamedTuple):
    """A fact that is missing: where it would be declared, and what it is.

    ``text`` completes the sentence "not checked: needs ...".
    """

    place: Place
    text: str
