"""Where in a log its columns stand: delimiter, headings, and the column of each declared heading.

A log may begin with lines of its own before the headings, and may have no headings at all.
"""

import csv
from collections.abc import Mapping, Sequence
from typing import Final, NamedTuple

from holdshort.analysis.logs.clock import form_of, seconds
from holdshort.analysis.logs.numbers import NotANumberError, number
from holdshort.setup.logs import LogColumns

DELIMITERS: Final = (",", ";", "\t", "|")
LOOKED_AT: Final = 100
"""The headings stand in the first so many lines, or the log has none."""
_NUMBERED: Final = "column "
_MOST_COLUMNS: Final = 2000


class Layout(NamedTuple):
    """How a log is laid out. Columns count from 0, lines from 1.

    ``width`` is the number of cells of a row. ``missing`` are declared headings that the log does
    not have, ``doubled`` those it has more than once, of which the first counts. ``time`` is None
    where the log has no such column.
    """

    delimiter: str
    comma: bool
    headings: tuple[str, ...]
    first_line: int
    width: int
    time: int | None
    columns: Mapping[str, int]
    missing: tuple[str, ...]
    doubled: tuple[str, ...]


def cells_of(line: str, delimiter: str) -> list[str]:
    """Return the cells of one line, which is one row: a quote that is not closed ends with it."""
    if '"' not in line:
        return line.split(delimiter)
    try:
        return next(csv.reader((line,), delimiter=delimiter))
    except (csv.Error, StopIteration):
        return line.split(delimiter)


def find_layout(lines: Sequence[str], declared: LogColumns) -> Layout | None:
    """Return the layout of a log from its first lines, or None where no line has a cell.

    The headings are the line that holds most of the declared ones; where none does, the first
    line, unless all its cells are figures.
    """
    wanted = _wanted(declared)
    stated = declared.delimiter
    choices = DELIMITERS if stated is None else ("\t" if stated == "tab" else stated,)
    best: tuple[int, int, str, list[str]] | None = None
    for delimiter in choices:
        for at, line in enumerate(lines[:LOOKED_AT]):
            heads = [cell.strip() for cell in cells_of(line, delimiter)]
            hits = len(wanted.intersection(heads))
            if hits and (best is None or hits > best[0]):
                best = (hits, at, delimiter, heads)
    if best is not None:
        _, at, delimiter, heads = best
        return _laid_out(declared, delimiter, heads, at + 2)
    return _without_known_headings(lines, declared, choices)


def _wanted(declared: LogColumns) -> set[str]:
    names = {name.strip() for name in declared.columns or ()}
    if declared.time is not None:
        names.add(declared.time.column.strip())
    return {name for name in names if _number_of(name) is None}


def _without_known_headings(
    lines: Sequence[str], declared: LogColumns, choices: Sequence[str]
) -> Layout | None:
    first = next((at for at, line in enumerate(lines) if line.strip()), None)
    if first is None:
        return None
    delimiter = max(choices, key=lambda mark: len(cells_of(lines[first], mark)))
    cells = [cell.strip() for cell in cells_of(lines[first], delimiter)]
    if all(_is_figure(cell, comma=delimiter != ",") for cell in cells):
        return _laid_out(declared, delimiter, [""] * len(cells), first + 1)
    return _laid_out(declared, delimiter, cells, first + 2)


def _is_figure(text: str, *, comma: bool) -> bool:
    try:
        if ":" in text:
            seconds(text, form_of(text))
        else:
            number(text, comma=comma)
    except NotANumberError:
        return False
    return True


def _laid_out(
    declared: LogColumns, delimiter: str, heads: Sequence[str], first_line: int
) -> Layout:
    heads = heads[:_MOST_COLUMNS]
    found: dict[str, int] = {}
    missing: list[str] = []
    for name in declared.columns or ():
        at = _column(name, heads)
        if at is None:
            missing.append(name)
        else:
            found[name] = at
    stated = declared.time.column if declared.time else None
    time = _column(stated, heads) if stated is not None else None
    names = [*found, *([stated] if stated is not None and time is not None else ())]
    return Layout(
        delimiter=delimiter,
        comma=delimiter != "," if declared.decimal is None else declared.decimal == "comma",
        headings=tuple(heads),
        first_line=first_line,
        width=len(heads),
        time=time,
        columns=found,
        missing=tuple(missing),
        doubled=tuple(name for name in names if heads.count(name.strip()) > 1),
    )


def _column(name: str, heads: Sequence[str]) -> int | None:
    """Return the column called ``name``: by its heading, or by number as ``column 3``."""
    if name.strip() in heads:
        return heads.index(name.strip())
    at = _number_of(name)
    return at - 1 if at is not None and 1 <= at <= len(heads) else None


def _number_of(name: str) -> int | None:
    number = name.strip().removeprefix(_NUMBERED)
    if not name.strip().startswith(_NUMBERED) or not (number.isascii() and number.isdecimal()):
        return None
    return int(number) if len(number) < 5 else None  # noqa: PLR2004  - no log is that wide
