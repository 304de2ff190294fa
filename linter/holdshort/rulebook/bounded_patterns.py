"""Regular expressions of a club's rules, matched in time that grows with the text and no faster.

The engine is RE2, which never goes back in the text: neither look-around nor back-references can
be read. This module needs the optional extra ``club``.
"""

import importlib
import re
from typing import Any, Final

from holdshort.rulebook.iregexp import is_iregexp
from holdshort.rulebook.work_meter import Meter, TooMuchWorkError

LONGEST_PATTERN: Final = 500
LONGEST_TEXT: Final = 20_000
_CHARACTERS_A_STEP: Final = 8
_MEMORY: Final = 1 << 20
"""Bytes that one compiled expression may take."""

_re2: Any = importlib.import_module("re2")

_JSON_ESCAPE: Final = re.compile(r"(\\\\)|\\u([0-9A-Fa-f]{4})|\\u\{([0-9A-Fa-f]{1,6})\}")
_PIECE: Final = re.compile(r"\\.|.", re.DOTALL)
_NO_GOING_BACK: Final = (
    "look-around, back-references and more than 1000 repetitions cannot be read, so that no "
    "expression can run for long"
)


class PatternError(ValueError):
    """A regular expression that cannot be read; the text says why."""


def compiled(pattern: str) -> Any:
    """Compile an expression as JSON Schema has them. Raises PatternError."""
    return _compile(_JSON_ESCAPE.sub(_escape, pattern), pattern)


def compiled_iregexp(pattern: str) -> Any:
    """Compile an I-Regexp (RFC 9485), as JSONPath has them. Raises PatternError."""
    if len(pattern) > LONGEST_PATTERN:
        raise _too_long()
    if not is_iregexp(pattern):
        raise PatternError("it is not an I-Regexp (RFC 9485)")
    return _compile(_from_iregexp(pattern), pattern)


def searches(expression: Any, text: str, meter: Meter) -> bool:
    """Tell whether an expression is found in ``text``."""
    return _run(expression.search, text, meter)


def matches(expression: Any, text: str, meter: Meter) -> bool:
    """Tell whether an expression is the whole of ``text``."""
    return _run(expression.fullmatch, text, meter)


def _run(run: Any, text: str, meter: Meter) -> bool:
    meter.spend(1 + len(text) // _CHARACTERS_A_STEP)
    if len(text) > LONGEST_TEXT:
        raise TooMuchWorkError(f"matches a text of more than {LONGEST_TEXT:,} characters")
    try:
        return run(text) is not None
    except UnicodeEncodeError:  # half a character is no text
        return False


def _compile(expression: str, written: str) -> Any:
    if len(written) > LONGEST_PATTERN:
        raise _too_long()
    options = _re2.Options()
    options.log_errors = False
    options.max_mem = _MEMORY
    try:
        return _re2.compile(expression, options)
    except UnicodeEncodeError:
        raise PatternError("it holds half a character") from None
    except _re2.error as error:
        said = error.args[0] if error.args else ""
        text = said.decode("utf-8", "replace") if isinstance(said, bytes) else str(said)
        raise PatternError(f"{text}; {_NO_GOING_BACK}") from None


def _too_long() -> PatternError:
    return PatternError(f"it has more than {LONGEST_PATTERN} characters")


def _escape(found: re.Match[str]) -> str:
    r"""Write ``\u00b5`` as RE2 has it."""
    backslashes, four, more = found.groups()
    return backslashes or f"\\x{{{four or more}}}"


def _from_iregexp(pattern: str) -> str:
    """Return an I-Regexp in the words of RE2: RFC 9485 section 5.

    A dot stands for anything but a line end. ``^`` and ``$`` stay anchors, as the compliance suite
    of RFC 9535 has them.
    """
    inside = False
    pieces: list[str] = []
    for piece in _PIECE.findall(pattern):
        if piece == "[":
            inside = True
        elif piece == "]":
            inside = False
        if not inside and piece == ".":
            pieces.append(r"[^\n\r]")
        else:
            pieces.append(piece)
    return "".join(pieces)
