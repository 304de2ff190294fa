"""What is missing for a table, with the line of the file where it would be declared."""

from typing import NamedTuple

from holdshort.analysis.facts import Need
from holdshort.setup import Setup


class Missing(NamedTuple):
    """Something that is missing, with its file and line (None for the file as a whole)."""

    text: str
    file: str
    line: int | None


def missing_in(setup: Setup, need: Need) -> Missing:
    """Return a need with its line in the files of ``setup``."""
    line = setup.span(need.place).line if need.place.path else None
    return Missing(need.text, need.place.file, line)
