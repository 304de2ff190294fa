"""What every channel does when a link is lost, as text: to lay beside the bench and compare.

One block for each loss case. All text passes through :func:`~holdshort.fixlist.plain.plain`.
"""

from collections.abc import Iterable, Sequence
from typing import Final

from holdshort.analysis import Aircraft
from holdshort.analysis.link_loss_table import (
    CaseRows,
    EngineTime,
    LinkLossTable,
    OutputRow,
    link_loss_table,
)
from holdshort.fixlist.paragraphs import WIDTH, folded
from holdshort.fixlist.place_words import place_told
from holdshort.fixlist.plain import plain

CAUTION: Final = (
    "Computed from what is declared: no test, and no word on whether the aircraft may fly. Switch "
    "the transmitter off, the engine made safe first, and see what each channel does."
)

_INDENT: Final = "  "
_GAP: Final = "  "
_HEAD: Final = ("ch", "drives", "at", "set in", "declared", "us", "does")
_LEFT: Final = (False, True, True, True, True, False, True)

Row = tuple[str, ...]


def lines(aircraft: Aircraft) -> list[str]:
    """Return the link-loss table of ``aircraft`` as lines of text."""
    return render_text(link_loss_table(aircraft)).splitlines()


def render_text(table: LinkLossTable) -> str:
    """Return the table as text of at most :data:`WIDTH` columns."""
    blocks = [
        _heading(table),
        *(_case(case) for case in table.cases),
        _presumed(table),
        _missing(table),
        _unread(table.unread),
        folded(CAUTION),
    ]
    return "\n".join("".join(f"{line}\n" for line in block) for block in blocks if block)


def _heading(table: LinkLossTable) -> list[str]:
    file = "standard input" if table.file == "-" else table.file
    return [*folded(f"Loss of link of {table.aircraft or file}"), *folded(file)]


def _case(case: CaseRows) -> list[str]:
    title = case.case.title
    found = folded(f"{title[0].upper()}{title[1:]}")
    if not case.rows:
        devices = devices_told(case.working)
        return [*found, *_indented(f"{devices} follow the transmitter as before.")]
    found += _grid([_HEAD, *(output_cells(row) for row in case.rows)])
    for engine in case.engines:
        found += _indented(engine_words(engine))
    if case.working:
        found += _indented(f"{devices_told(case.working)} more follow the transmitter as before.")
    return found


def devices_told(working: int) -> str:
    """Return how many devices in words."""
    return "No device" if working == 0 else f"{working} device{'' if working == 1 else 's'}"


def output_cells(row: OutputRow) -> Row:
    """Return what is told of one output, by the columns of the table."""
    pulse = "" if row.pulse is None else f"{row.pulse * 1e6:.1f}".removesuffix(".0")
    return (
        str(row.channel), row.drives, row.device, " or ".join(row.decided_by),
        row.declared or "-", pulse, row.effect,
    )  # fmt: skip


def engine_words(engine: EngineTime) -> str:
    """Return in words how soon an engine has acted."""
    least = "" if engine.complete else " at least, as more is not declared"
    waits = " + ".join(engine.waits) or "no wait declared"
    return f"`{engine.device}` has acted after {waits} = {engine.since_loss:.2f} s{least}."


def _presumed(table: LinkLossTable) -> list[str]:
    if not table.presumed:
        return []
    return folded(
        "Where no port on the way is declared to give a channel, the number on the port counts."
    )


def _missing(table: LinkLossTable) -> list[str]:
    if not table.missing:
        return []
    found = folded("Not known")
    for item in table.missing:
        found += _indented(f"needs {item.text} ({place_told(item, table.file)})")
    return found


def _unread(entries: Sequence[str]) -> list[str]:
    if not entries:
        return []
    return folded(f"Left out, as they have mistakes of form: {', '.join(entries)}.")


def _indented(text: str) -> list[str]:
    return folded(text, _INDENT)


def _grid(rows: Sequence[Row]) -> list[str]:
    """Return rows in columns; what is too long for a line has its last cell on the next one."""
    cells = [tuple(plain(cell) for cell in row) for row in rows]
    widths = [max(len(row[at]) for row in cells) for at in range(len(_HEAD))]
    found: list[str] = []
    for row in cells:
        shown = [
            cell.ljust(width) if left else cell.rjust(width)
            for cell, width, left in zip(row, widths, _LEFT, strict=True)
        ]
        found += _fitted(_INDENT + _GAP.join(shown).rstrip(), shown)
    return found


def _fitted(line: str, cells: Iterable[str]) -> list[str]:
    if len(line) <= WIDTH:
        return [line]
    *first, last = (cell.strip() for cell in cells)
    told = _indented(_GAP.join(cell for cell in first if cell))
    return [*told, *(f"{_INDENT}{line}"[:WIDTH] for line in _indented(last))]
