"""The balance of an aircraft: datum, allowed range, weighings, tanks and items."""

from holdshort.setup.base import Section, Text


class Balance(Section):
    """Where the aircraft balances, and where it may."""

    datum: Text | None = None
    """The point from which stations are measured, aft positive, in words."""
