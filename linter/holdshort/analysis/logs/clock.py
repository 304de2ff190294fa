"""The time of each row: plain numbers, h:mm:ss, or date and time; and its showing."""

import re
from datetime import UTC, datetime
from typing import Final, Literal

from holdshort.analysis.logs.numbers import NotANumberError, number

TimeForm = Literal["s", "ms", "us", "min", "clock", "date"]

FACTORS: Final[dict[str, float]] = {"s": 1.0, "ms": 1e-3, "us": 1e-6, "min": 60.0}
DAY: Final = 86400.0
FORMS: Final = (
    "Times are read as seconds, h:mm:ss in 24 hours, or a date and time such as "
    "2026-05-04 12:03:04; plain numbers in other units where `unit` says so."
)
"""How a time may be written, for messages."""
_CLOCK: Final = re.compile(r"(?:([0-9]{1,4}):)?([0-9]{1,4}):([0-9]{1,2}(?:[.,][0-9]{1,9})?)")
_YEAR_FIRST: Final = re.compile(r"[0-9]{4}[-/][0-9]")
_MINUTE: Final = 60.0


def form_of(text: str) -> TimeForm:
    """Return the form that a cell of time has by its look; plain numbers are seconds."""
    text = text.strip()
    if _YEAR_FIRST.match(text) and ":" in text:
        return "date"
    return "clock" if ":" in text else "s"


def seconds(text: str, form: TimeForm, *, comma: bool = False) -> float:
    """Return a time in seconds; from midnight for a clock, from 1970 for a date.

    Raises NotANumberError where the cell holds no time of that form, and where it is blank.
    """
    text = text.strip()
    if form == "clock":
        return _clock(text)
    if form == "date":
        return _date(text)
    value = number(text, comma=comma)
    if value != value:  # noqa: PLR0124  - a blank time is no time
        raise NotANumberError(text)
    return value * FACTORS[form]


def _clock(text: str) -> float:
    match = _CLOCK.fullmatch(text)
    if match is None:
        raise NotANumberError(text)
    hours, minutes, rest = match.groups()
    second = float(rest.replace(",", "."))
    if second >= _MINUTE or (hours is not None and int(minutes) >= _MINUTE):
        raise NotANumberError(text)
    return int(hours or 0) * 3600.0 + int(minutes) * 60.0 + second


def _date(text: str) -> float:
    try:
        moment = datetime.fromisoformat(text.replace(",", ".").replace("/", "-"))
    except ValueError as error:
        raise NotANumberError(text) from error
    if moment.tzinfo is None:
        moment = moment.replace(tzinfo=UTC)
    return moment.timestamp()


def show_moment(time: float, form: TimeForm) -> str:
    """Return a time as the log writes it: ``12.30 s``, or ``12:03:04.50`` for clock and date."""
    if form not in {"clock", "date"}:
        return f"{time:.2f} s"
    hundredths = round(time % DAY * 100.0)
    minutes, rest = divmod(hundredths, 6000)
    return f"{minutes // 60:02d}:{minutes % 60:02d}:{rest // 100:02d}.{rest % 100:02d}"
