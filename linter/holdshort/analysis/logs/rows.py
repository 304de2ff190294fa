"""Lines of a log to blocks of figures; what cannot be read is left out, counted and told.

A line is a row. A block is worked on column by column, which costs a tenth of row by row; only
one with something wrong in it is gone through cell by cell.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import compress
from typing import Final, NamedTuple

from holdshort.analysis.logs.clock import DAY, FACTORS, TimeForm, form_of, seconds
from holdshort.analysis.logs.layout import Layout, cells_of
from holdshort.analysis.logs.numbers import GREATEST, MISSING, NotANumberError, number

BLOCK: Final = 4096
"""Lines in a block: whatever the pieces in which a log comes, it is cut up the same."""
RESTART: Final = 10
"""So many rows whose time is before that of the row above them mean that the clock began anew
(common practice, no source)."""
_LONGEST_SHOWN: Final = 40

Flaw = str
"""What is wrong with a row or cell: a key of :data:`FLAWS`."""

FLAWS: Final[Mapping[Flaw, str]] = {
    "short": "with too few cells",
    "long": "with too many cells",
    "time": "with a time that cannot be read",
    "back": "with a time before that of the row above",
    "cell": "without a number",
}
"""Each flaw in words; the first four leave the row out, the last leaves the cell out."""


@dataclass(slots=True)
class Tally:
    """How often a flaw was met, and where first: its line, and what stood there."""

    count: int = 0
    line: int = 0
    text: str = ""

    def add(self, line: int, text: str = "") -> None:
        """Count one more."""
        if not self.count:
            self.line = line
            self.text = text[:_LONGEST_SHOWN]
        self.count += 1


class Restart(NamedTuple):
    """A place where the clock of the log began anew."""

    line: int
    before: float
    after: float


class Block(NamedTuple):
    """Rows that could be read: times in seconds, lines, and the figures of each column.

    A figure that is missing is NaN; ``whole`` are the columns of this block in which none is.
    """

    times: Sequence[float]
    lines: Sequence[int]
    values: Mapping[str, Sequence[float]]
    whole: frozenset[str]


class Column(NamedTuple):
    """One column to read: where it stands, and what makes SI units of its figures."""

    at: int
    scale: float
    unit: str


class _Cells(NamedTuple):
    """The cells of a block by column, and the line of each row."""

    at: Mapping[int, list[str]]
    lines: Sequence[int]
    plain: bool


@dataclass(slots=True)
class RowReader:
    """Reads the rows of one log.

    ``form`` is that of its times, or None until the first row tells. ``rows`` counts those read.
    """

    layout: Layout
    columns: Mapping[str, Column]
    form: TimeForm | None = None
    rows: int = 0
    left_out: int = 0
    flaws: dict[tuple[Flaw, str], Tally] = field(default_factory=dict[tuple[Flaw, str], Tally])
    restarts: list[Restart] = field(default_factory=list[Restart])
    restart_count: int = 0
    _last: float | None = None
    _behind: list[float] = field(default_factory=list[float])
    _days: float = 0.0

    def read(self, lines: Sequence[str], first: int) -> Block:
        """Return the rows of ``lines``, the first of which is line ``first`` of the log."""
        cells = self._cells(lines, first)
        times, keep = self._times(cells)
        numbers = cells.lines
        if keep is not None:
            times, numbers = list(compress(times, keep)), list(compress(numbers, keep))
        values: dict[str, Sequence[float]] = {}
        whole: set[str] = set()
        for name, column in self.columns.items():
            texts = cells.at[column.at]
            if keep is not None:
                texts = list(compress(texts, keep))
            figures, complete = self._figures(name, column, texts, numbers, plain=cells.plain)
            values[name] = figures
            if complete:
                whole.add(name)
        self.rows += len(times)
        return Block(times, numbers, values, frozenset(whole))

    def _cells(self, lines: Sequence[str], first: int) -> _Cells:
        delimiter, width = self.layout.delimiter, self.layout.width
        wanted = {column.at for column in self.columns.values()}
        if self.layout.time is not None:
            wanted.add(self.layout.time)
        numbers: Sequence[int] = range(first, first + len(lines))
        text = delimiter.join(lines)
        plain = '"' not in text and {line.count(delimiter) for line in lines} == {width - 1}
        if plain and all(lines):
            flat = text.split(delimiter)
            found = {at: flat[at::width] for at in wanted}
            return _Cells(found, numbers, "_" not in text)
        rows = self._rows(lines, numbers)
        found = {at: [row[at] for _, row in rows] for at in wanted}
        return _Cells(found, [line for line, _ in rows], "_" not in text)

    def _rows(self, lines: Sequence[str], numbers: Iterable[int]) -> list[tuple[int, list[str]]]:
        """Return the rows of the right length; blank lines are no rows."""
        width = self.layout.width
        rows: list[tuple[int, list[str]]] = []
        for line, text in zip(numbers, lines, strict=True):
            if not text.strip():
                continue
            row = cells_of(text, self.layout.delimiter)
            if len(row) < width:
                self._leave_out("short", line, text)
            elif any(cell.strip() for cell in row[width:]):
                self._leave_out("long", line, text)
            else:
                rows.append((line, row))
        return rows

    def _leave_out(self, flaw: Flaw, line: int, text: str) -> None:
        self.left_out += 1
        self._tell(flaw, "", line, text)

    def _tell(self, flaw: Flaw, column: str, line: int, text: str) -> None:
        self.flaws.setdefault((flaw, column), Tally()).add(line, text)

    def _times(self, cells: _Cells) -> tuple[list[float], list[bool] | None]:
        """Return the time of each row, and which rows to keep where that is not all of them."""
        at = self.layout.time
        assert at is not None  # noqa: S101  - a log without times is not read
        texts = cells.at[at]
        if not texts:
            return [], None
        if self.form is None:
            self.form = form_of(next((text for text in texts if text.strip()), ""))
        times = self._plain_times(texts) if cells.plain else None
        if times is not None and self._goes_on(times):
            self._last = times[-1]
            self._behind.clear()
            return times, None
        return self._checked_times(texts, cells.lines)

    def _plain_times(self, texts: Sequence[str]) -> list[float] | None:
        factor = FACTORS.get(self.form or "s")
        if factor is None:
            return None
        try:
            times = list(map(float, texts))
        except ValueError:
            return None
        return times if factor == 1.0 else [time * factor for time in times]

    def _goes_on(self, times: Sequence[float]) -> bool:
        begins = self._last is None or times[0] >= self._last
        top = max(times)
        return begins and top <= GREATEST and sum(times) == sum(times) and times == sorted(times)

    def _checked_times(
        self, texts: Sequence[str], lines: Sequence[int]
    ) -> tuple[list[float], list[bool]]:
        times: list[float] = []
        keep: list[bool] = []
        held: list[int] = []
        for at, (text, line) in enumerate(zip(texts, lines, strict=True)):
            try:
                time = seconds(text, self.form or "s", comma=self.layout.comma)
            except NotANumberError:
                self._leave_out("time", line, text)
                times.append(MISSING)
                keep.append(False)
                continue
            begun = self.restart_count
            time, follows = self._placed(time, line)
            times.append(time)
            keep.append(follows)
            if not follows:
                self._leave_out("back", line, text)
                held = [*held, at] if len(self._behind) > 1 else [at]
            elif self.restart_count > begun and held:
                self._take_back(held, keep)
                self._begun_at(lines[held[0]], times[held[0]])
        return times, keep

    def _begun_at(self, line: int, time: float) -> None:
        """Put the last new beginning to where the first of its rows stands."""
        if self.restart_count == len(self.restarts):
            self.restarts[-1] = self.restarts[-1]._replace(line=line, after=time)

    def _take_back(self, held: Sequence[int], keep: list[bool]) -> None:
        """Count in the rows of this block that turn out to be the first after a new beginning.

        They may be the most telling ones: a supply that failed makes a logger begin anew.
        """
        for at in held:
            keep[at] = True
        self._forget("back", len(held))

    def _forget(self, flaw: Flaw, count: int) -> None:
        tally = self.flaws[flaw, ""]
        self.left_out -= count
        tally.count -= count
        if not tally.count:
            del self.flaws[flaw, ""]

    def _placed(self, time: float, line: int) -> tuple[float, bool]:
        """Return a time with the days that have passed, and whether it follows the last one."""
        time += self._days
        last = self._last
        if last is None or time >= last:
            self._behind.clear()
            self._last = time
            return time, True
        if self.form == "clock" and last - time > DAY / 2.0:
            self._days += DAY
            return self._placed(time - self._days + DAY, line)
        if self._behind and time < self._behind[-1]:
            self._behind.clear()
        self._behind.append(time)
        if len(self._behind) < RESTART:
            return time, False
        self._behind.clear()
        self.restart_count += 1
        if len(self.restarts) < RESTART:
            self.restarts.append(Restart(line, last, time))
        self._last = time
        return time, True

    def _figures(
        self,
        name: str,
        column: Column,
        texts: Sequence[str],
        lines: Sequence[int],
        *,
        plain: bool,
    ) -> tuple[Sequence[float], bool]:
        """Return the figures of a column in SI units, and whether none is missing."""
        scale = column.scale
        if plain:
            try:
                values = list(map(float, texts))
            except ValueError:
                values = []
            if values and sum(values) - sum(values) == 0.0 and _plausible(values):
                return values if scale == 1.0 else [value * scale for value in values], True
        found = [
            self._figure(name, column, text, line) * scale
            for text, line in zip(texts, lines, strict=True)
        ]
        return found, not any(value != value for value in found)  # noqa: PLR0124  - NaN

    def _figure(self, name: str, column: Column, text: str, line: int) -> float:
        try:
            return number(text, comma=self.layout.comma, unit=column.unit)
        except NotANumberError:
            self._tell("cell", name, line, text)
            return MISSING


def _plausible(values: Sequence[float]) -> bool:
    return min(values) >= -GREATEST and max(values) <= GREATEST
