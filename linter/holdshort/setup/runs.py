"""Runs of like things: ``1..6`` stands for six ports or channels."""

from typing import Final

_LONGEST_RUN: Final = 64


def expand_run(key: str) -> tuple[str, ...]:
    """Return the names that ``key`` stands for: itself, or each name of a run.

    ``1..3`` stands for 1, 2 and 3, ``out-1..2`` for ``out-1`` and ``out-2``.
    Raises ValueError, in words, for a run that goes backwards or is too long and for a number
    with a leading zero (which some readers take for another number than it looks).
    """
    problem = run_problem(key)
    if problem:
        raise ValueError(problem)
    first, dots, last = key.partition("..")
    if not dots:
        return (key,)
    name, dash, number = first.rpartition("-")
    return tuple(f"{name}{dash}{step}" for step in range(int(number), int(last) + 1))


def run_problem(key: str) -> str:
    """Say in a sentence what is wrong with the run ``key``; empty where nothing is."""
    first, dots, last = key.partition("..")
    if not dots:
        return _leading_zero(key)
    number = first.rpartition("-")[2]
    if not (_is_number(number) and _is_number(last)):
        return f"`{key}` is not a run of numbers."
    zero = _leading_zero(number) or _leading_zero(last)
    if zero:
        return zero
    low, high = int(number), int(last)
    if low >= high:
        return f"`{key}` does not run upwards."
    if high - low >= _LONGEST_RUN:
        return f"`{key}` is longer than {_LONGEST_RUN}."
    return ""


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdecimal() and len(text) <= 3  # noqa: PLR2004  - as in PORT_RUN


def _leading_zero(text: str) -> str:
    if len(text) > 1 and text.startswith("0") and text.isascii() and text.isdecimal():
        return f"`{text}` has a leading zero: write `{text.lstrip('0') or '0'}`."
    return ""
