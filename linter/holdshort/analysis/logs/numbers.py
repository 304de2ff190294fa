"""Cells of a log as numbers. A cell that is blank is missing; one that is no number is told."""

import re
from typing import Final

MISSING: Final = float("nan")
"""What stands in a column where its cell is blank."""
GREATEST: Final = 1e12
"""A larger figure is no measurement."""

_BLANK: Final = frozenset({"", "-", "--", "---", "nan", "n/a", "na", "null", "none"})
_NUMBER: Final = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
_LONGEST: Final = 64


class NotANumberError(ValueError):
    """A cell that holds something, but no number."""


def number(text: str, *, comma: bool = False, unit: str = "") -> float:
    """Return the number in a cell, or :data:`MISSING` where it is blank.

    With ``comma`` a single comma is the decimal mark. ``unit`` may stand behind the number.
    Raises NotANumberError for anything else, infinities and figures past :data:`GREATEST` too.
    """
    text = text.strip()
    if text.lower() in _BLANK:
        return MISSING
    if unit and text.endswith(unit):
        text = text.removesuffix(unit).rstrip()
    if comma and "." not in text:
        text = text.replace(",", ".", 1)
    if len(text) > _LONGEST or not _NUMBER.fullmatch(text):
        raise NotANumberError(text)
    value = float(text)
    if not -GREATEST <= value <= GREATEST:
        raise NotANumberError(text)
    return value
