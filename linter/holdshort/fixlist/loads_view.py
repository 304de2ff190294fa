"""The load table for a terminal: what every surface needs, what its servos have, its linkage.

All text passes through :func:`~holdshort.fixlist.plain.plain`.
"""

import math
from collections.abc import Iterable, Iterator
from typing import Final

from holdshort.analysis import Aircraft
from holdshort.analysis.load_table import LoadRow, LoadTable, ThrowRow, load_table
from holdshort.fixlist.paragraphs import paragraph
from holdshort.fixlist.plain import plain, wrap

CAUTION: Final = (
    "Computed from what is declared, by a theory for attached flow: no measurement, and no word on "
    "flutter, play or strength. Move every surface against a hand on the bench."
)

_NAMES: Final = 24
_INDENT: Final = "  "
_UNKNOWN: Final = "-"
AT_MOST: Final = "*"
EITHER_WAY: Final = "?"
AT_MOST_NOTE: Final = (
    "at most: not everything on that supply is known, so its voltage may be lower."
)
EITHER_WAY_NOTE: Final = (
    "not said which way the surface goes when the pushrod pushes: both are shown."
)
LINKAGE_NOTE: Final = (
    "Advantage: the least mechanical advantage through the throw over that at neutral. From "
    "dead: how far arm and horn are from being in line with the pushrod."
)
_KILOGRAM_CENTIMETRE: Final = 0.0980665
_LOADS: Final = f"{'':<{_NAMES}}{'at':>16}{'needs N.m':>12}{'has N.m':>12}{'of that':>10}"
_THROWS: Final = (
    f"{'':<{_NAMES}}{'throw':>16}{'arm turns':>12}{'advantage':>12}{'arm, horn from dead':>22}"
)


def lines(aircraft: Aircraft) -> list[str]:
    """Return the load table of ``aircraft`` as lines of text."""
    return render_text(load_table(aircraft)).splitlines()


def render_text(table: LoadTable) -> str:
    """Return the load table as text as wide as all views, long names apart."""
    blocks = [
        _heading(table),
        _loads(table.rows),
        _linkages(table.rows),
        _missing(table.rows),
        _marks(table),
        _assumptions(table),
        paragraph(f"Left out, for mistakes of form: {', '.join(table.unread)}.")
        if table.unread
        else [],
        paragraph(CAUTION),
    ]
    return "\n".join("".join(f"{line.rstrip()}\n" for line in block) for block in blocks if block)


def _heading(table: LoadTable) -> list[str]:
    file = "standard input" if table.file == "-" else table.file
    air = (
        "the air at the field is not known"
        if table.density is None
        else f"{table.air}: {table.density:.3f} kg/m3"
    )
    return [
        *paragraph(f"Control loads of {table.aircraft}"),
        *paragraph(file),
        *paragraph(air[:1].upper() + air[1:]),
    ]


def _loads(rows: Iterable[LoadRow]) -> list[str]:
    known = [line for row in rows if row.needs is not None for line in _load(row)]
    return ["Torque at the servo, at its worst", _LOADS, *known] if known else [_none()]


def _none() -> str:
    return "Of no surface is enough declared to work out its load."


def _load(row: LoadRow) -> Iterator[str]:
    star = AT_MOST if row.state == "at most" else ""
    figures = (
        f"{toward(row.angle, row.way):>16}{torque_shown(row.needs):>12}"
        f"{torque_shown(row.has) + star:>12}{share_shown(row.ratio) + star:>10}"
    )
    yield from _named(row.surface, figures)
    speed = f"{row.speed:.3g} m/s" if row.speed is not None else "an unknown speed"
    pressure = f" ({row.pressure / 1000.0:.3g} kPa)" if row.pressure is not None else ""
    shared = f", {row.share * 100.0:.3g} % of it to each servo" if len(row.servos) > 1 else ""
    yield from _hanging(f"{row.moment or 0.0:.3g} N.m about the hinge at {speed}{pressure}{shared}")
    if row.has is not None:
        yield from _hanging(
            f"limited by {row.servo}, {row.volts or 0.0:.2f} V in {row.case}: has "
            f"{kilograms_shown(row.has)}, needs {kilograms_shown(row.needs or 0.0)}"
        )


def _linkages(rows: Iterable[LoadRow]) -> list[str]:
    found = [line for row in rows for throw in row.throws for line in _linkage(row, throw)]
    if not found:
        return []
    return ["Linkages at the end of the throw", _THROWS, *found, *paragraph(LINKAGE_NOTE)]


def _linkage(row: LoadRow, throw: ThrowRow) -> Iterator[str]:
    mark = EITHER_WAY if throw.unsure else ""
    left = f"{degrees_shown(throw.arm_left)}, {degrees_shown(throw.horn_left)}"
    figures = (
        f"{toward(throw.surface, throw.way) + mark:>16}{degrees_shown(throw.arm):>12}"
        f"{share_shown(throw.kept):>12}{left:>22}"
    )
    yield from _named(row.surface, figures)
    if throw.dead_centre:
        yield from _hanging(
            f"DEAD CENTRE: the {throw.dead_centre} comes in line with the pushrod before the end"
        )


def _missing(rows: Iterable[LoadRow]) -> list[str]:
    found = [
        line
        for row in rows
        if row.missing
        for line in _hanging(f"{row.surface}: {'; '.join(row.missing)}")
    ]
    return ["Not known", *found] if found else []


def _marks(table: LoadTable) -> list[str]:
    found: list[str] = []
    if any(row.state == "at most" for row in table.rows):
        found += paragraph(f"{AT_MOST} {AT_MOST_NOTE}")
    if any(throw.unsure for row in table.rows for throw in row.throws):
        found += paragraph(f"{EITHER_WAY} {EITHER_WAY_NOTE}")
    return found


def _assumptions(table: LoadTable) -> list[str]:
    if not table.assumptions:
        return []
    every = len(table.rows)
    found = ["Taken where nothing is declared, and left out by the theory"]
    for text, names in table.assumptions:
        whose = "" if len(names) == every else f" [{', '.join(names)}]"
        found += _hanging(f"{text}{whose}")
    return found


def _named(name: str, figures: str) -> Iterator[str]:
    names = list(wrap(plain(name), _NAMES - 1))
    if len(names) == 1 and len(names[0]) < _NAMES:
        yield f"{names[0]:<{_NAMES}}{figures}"
        return
    yield from paragraph(name)
    yield f"{'':<{_NAMES}}{figures}"


def toward(angle: float | None, way: str) -> str:
    """Return how far a surface goes and which way: ``18 deg up``."""
    if angle is None:
        return _UNKNOWN
    shown = degrees_shown(angle)
    return shown if way in {"", "each way"} else f"{shown} {plain(way)}"


def degrees_shown(angle: float | None) -> str:
    """Return an angle, rad, in degrees."""
    if angle is None:
        return _UNKNOWN
    return f"{math.degrees(angle):.1f}".removesuffix(".0") + " deg"


def torque_shown(torque: float | None) -> str:
    """Return a torque, N m."""
    return _UNKNOWN if torque is None else f"{torque:.2f}"


def share_shown(share: float | None) -> str:
    """Return a share in per cent."""
    return _UNKNOWN if share is None else f"{share * 100.0:.0f} %"


def kilograms_shown(torque: float) -> str:
    """Return a torque, N m, in the unit that servos are sold by."""
    return f"{torque / _KILOGRAM_CENTIMETRE:.3g} kg.cm"


def _hanging(text: str) -> list[str]:
    return paragraph(text, _INDENT, 2 * _INDENT)
