"""Control loads on an aircraft sheet: the rows of ``show loads`` as tables."""

from collections.abc import Iterator, Sequence
from typing import Final

from holdshort.analysis.load_table import LoadRow, LoadTable, ThrowRow, load_table
from holdshort.fixlist.loads_view import (
    AT_MOST,
    AT_MOST_NOTE,
    CAUTION,
    EITHER_WAY,
    EITHER_WAY_NOTE,
    LINKAGE_NOTE,
    degrees_shown,
    kilograms_shown,
    share_shown,
    torque_shown,
    toward,
)
from holdshort.fixlist.sheet_facts import SheetFacts
from holdshort.fixlist.sheet_parts import Cell, Part, Words, listed_parts, table

_LOAD_HEADS: Final = (
    "surface", "at", "at the hinge", "needs, N.m", "has, N.m", "of that", "needs", "has",
    "limited by",
)  # fmt: skip
_THROW_HEADS: Final = (
    "surface", "throw", "arm turns", "advantage", "arm from dead", "horn from dead", "dead centre",
)  # fmt: skip


def load_parts(facts: SheetFacts) -> tuple[Part, ...]:
    """Return what the air asks of the servos; nothing where no load and no linkage is known."""
    if not facts.setup.surfaces:
        return ()
    shown = load_table(facts.aircraft)
    loaded = [row for row in shown.rows if row.needs is not None]
    linked = [(row, throw) for row in shown.rows for throw in row.throws]
    if not loaded and not linked:
        return ()
    return (*_loads(shown, loaded), *_linkages(linked), *_remarks(shown))


def _loads(shown: LoadTable, rows: Sequence[LoadRow]) -> Iterator[Part]:
    if shown.density is None:
        yield Words("The air at the field is not known.")
    else:
        yield Words(f"{shown.air[:1].upper()}{shown.air[1:]}: {shown.density:.3f} kg/m3.")
    if rows:
        caption = "Torque at each servo, where it is at its worst"
        yield table(caption, _LOAD_HEADS, [_load(row) for row in rows], "<<<>>>>><")
    else:
        yield Words("Of no surface is enough declared to work out its load.")


def _load(row: LoadRow) -> tuple[Cell | str, ...]:
    star = AT_MOST if row.state == "at most" else ""
    share = share_shown(row.ratio) + star
    too_weak = row.ratio is not None and row.ratio < 1.0
    return (
        row.surface,
        toward(row.angle, row.way),
        _hinge(row),
        torque_shown(row.needs),
        torque_shown(row.has) + (star if row.has is not None else ""),
        Cell(share, "outside", "!") if too_weak else share,
        "" if row.needs is None else kilograms_shown(row.needs),
        "" if row.has is None else kilograms_shown(row.has) + star,
        _limiting(row),
    )


def _hinge(row: LoadRow) -> str:
    speed = "an unknown speed" if row.speed is None else f"{row.speed:.3g} m/s"
    pressure = "" if row.pressure is None else f" ({row.pressure / 1000.0:.3g} kPa)"
    shared = f", {row.share * 100.0:.3g} % of it to each servo" if len(row.servos) > 1 else ""
    return f"{row.moment or 0.0:.3g} N.m at {speed}{pressure}{shared}"


def _limiting(row: LoadRow) -> str:
    if row.has is None:
        return ""
    return f"{row.servo}, {row.volts or 0.0:.2f} V in {row.case}"


def _linkages(linked: Sequence[tuple[LoadRow, ThrowRow]]) -> Iterator[Part]:
    if not linked:
        return
    rows: list[tuple[Cell | str, ...]] = [_linkage(row, throw) for row, throw in linked]
    heads: tuple[str, ...] = _THROW_HEADS
    if not any(throw.dead_centre for _, throw in linked):
        heads, rows = heads[:-1], [row[:-1] for row in rows]
    yield table("Linkages at the end of the throw", heads, rows, "<<>>>><"[: len(heads)])
    yield Words(LINKAGE_NOTE, quiet=True)


def _linkage(row: LoadRow, throw: ThrowRow) -> tuple[Cell | str, ...]:
    dead = throw.dead_centre
    return (
        row.surface,
        toward(throw.surface, throw.way) + (EITHER_WAY if throw.unsure else ""),
        degrees_shown(throw.arm),
        share_shown(throw.kept),
        degrees_shown(throw.arm_left),
        degrees_shown(throw.horn_left),
        Cell(f"{dead} in line with the pushrod before the end", "outside", "!") if dead else "",
    )


def _remarks(shown: LoadTable) -> Iterator[Part]:
    if any(row.state == "at most" for row in shown.rows):
        yield Words(f"{AT_MOST} {AT_MOST_NOTE}", quiet=True)
    if any(throw.unsure for row in shown.rows for throw in row.throws):
        yield Words(f"{EITHER_WAY} {EITHER_WAY_NOTE}", quiet=True)
    missing = [f"{row.surface}: {'; '.join(row.missing)}" for row in shown.rows if row.missing]
    yield from listed_parts("Not known", missing)
    taken = [f"{text}{_whose(shown, names)}" for text, names in shown.assumptions]
    yield from listed_parts("Taken where nothing is declared, and left out by the theory", taken)
    if shown.unread:
        yield Words(f"Left out, as they have mistakes of form: {', '.join(shown.unread)}.")
    yield Words(CAUTION, quiet=True)


def _whose(shown: LoadTable, names: Sequence[str]) -> str:
    return "" if len(names) == len(shown.rows) else f" [{', '.join(names)}]"
