"""What a plain value means: the core schema of YAML 1.2."""

from __future__ import annotations

import math
import re

# The core schema: YAML 1.2.2, section 10.3.2, table of tag resolution (from memory).
_WORDS: dict[str, bool | None] = {
    "": None,
    "~": None,
    "null": None,
    "Null": None,
    "NULL": None,
    "true": True,
    "True": True,
    "TRUE": True,
    "false": False,
    "False": False,
    "FALSE": False,
}
_NOT_FINITE = frozenset(
    sign + word for sign in ("", "+", "-") for word in (".inf", ".Inf", ".INF")
) | {".nan", ".NaN", ".NAN"}
_SHORT = 40
_NUMBER_STARTS = frozenset("+-.0123456789")
_NUMBER = re.compile(
    r"(?P<whole>[-+]?[0-9]+)"
    r"|(?P<broken>[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?)"
    r"|0o(?P<octal>[0-7]+)"
    r"|0x(?P<hexadecimal>[0-9a-fA-F]+)"
)


class NumberRefusedError(ValueError):
    """A number that cannot be held; `kind` is the fault's id, the text says what was seen."""

    def __init__(self, kind: str, message: str) -> None:
        """Carry the kind and the sentence."""
        super().__init__(message)
        self.kind = kind


def resolve_plain(text: str, digits: int) -> bool | int | float | str | None:
    """Read a plain scalar by the core schema.

    NumberRefusedError for a whole number of more than `digits` digits and for a number that
    is infinite, undefined or too small to be told from zero.
    """
    if text in _WORDS:
        return _WORDS[text]
    if text[0] not in _NUMBER_STARTS:
        return text
    found = _NUMBER.fullmatch(text)
    if found is None:
        if text in _NOT_FINITE:
            raise NumberRefusedError("number-not-finite", f"{text} is not a finite number.")
        return text
    kind = found.lastgroup
    if kind == "broken":
        return _broken(text)
    return _whole(text, kind, digits)


def _whole(text: str, kind: str | None, digits: int) -> int:
    figures = len(text) if kind == "whole" else len(text) - 2
    figures -= text[0] in "+-"
    if figures > digits:
        raise NumberRefusedError(
            "number-too-long", f"This number has {figures:,} digits; at most {digits} are read."
        )
    if kind == "octal":
        return int(text, 0)
    return int(text, 16) if kind == "hexadecimal" else int(text)


def _broken(text: str) -> float:
    value = float(text)
    if math.isinf(value):
        raise NumberRefusedError("number-too-large", f"{shorten(text)} is too large a number.")
    mantissa = text.replace("E", "e").partition("e")[0]
    if value == 0.0 and not set("123456789").isdisjoint(mantissa):
        raise NumberRefusedError("number-too-small", f"{shorten(text)} is too small a number.")
    return value


def shorten(text: str) -> str:
    """Return the text on one line, cut to a length that fits a message."""
    line = " ".join(text.split())
    return line if len(line) <= _SHORT else line[: _SHORT - 3] + "..."
