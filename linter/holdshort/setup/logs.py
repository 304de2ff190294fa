"""How the columns of a measured log are to be read."""

from holdshort.setup.base import Section, Text


class LogColumns(Section):
    """What the columns of a log in CSV mean."""

    note: Text | None = None
    """Anything worth saying."""
