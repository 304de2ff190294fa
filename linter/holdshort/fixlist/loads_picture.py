"""Torque needed and torque available through each travel, readable in black and white.

Needs matplotlib (the optional extra ``plot``), which is imported here; this module is imported only
when a picture is asked for.
"""

import io
import math
import warnings
from typing import Any, Final

import matplotlib as mpl
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from holdshort.analysis import Aircraft
from holdshort.analysis.load_table import LoadRow, LoadTable, ThrowRow, load_table
from holdshort.fixlist.plain import plain

_COLUMNS: Final = 2
_PANEL_WIDTH: Final = 4.8
_PANEL_HEIGHT: Final = 2.9
_LONGEST_NAME: Final = 30
_POSITIVE: Final = frozenset({"up", "left"})
_MOST_PANELS: Final = 24
_STEADY: Final[Any] = {"svg.hashsalt": "holdshort", "text.parse_math": False, "font.size": 9.0}
"""The same picture for the same file, and names shown as they are."""


def picture(aircraft: Aircraft, ending: str) -> bytes:
    """Return the picture of ``aircraft`` as a file of the kind ``ending`` says: svg or png."""
    return draw(load_table(aircraft), ending)


def draw(table: LoadTable, ending: str) -> bytes:
    """Return a picture with a panel for each surface whose load is known."""
    every = [row for row in table.rows if any(throw.points for throw in row.throws)]
    rows = every[:_MOST_PANELS]
    with warnings.catch_warnings(), mpl.rc_context(_STEADY):  # pyright: ignore[reportUnknownMemberType]
        # A name in a script that the font lacks is drawn as boxes; the table shows it.
        warnings.filterwarnings("ignore", message="Glyph .* missing")
        down = max(math.ceil(len(rows) / _COLUMNS), 1)
        size = (_PANEL_WIDTH * _COLUMNS, _PANEL_HEIGHT * down + 0.8)
        # The library's own types are open in places: anything may be passed on to its artists.
        figure: Any = Figure(figsize=size, layout="constrained")
        FigureCanvasAgg(figure)
        left = f" (the first {len(rows)} of {len(every)})" if len(rows) < len(every) else ""
        figure.suptitle(f"Torque at the servos of {_shown(table.aircraft)}{left}")
        for at, row in enumerate(rows, 1):
            _panel(figure.add_subplot(down, _COLUMNS, at), row)
        if not rows:
            figure.text(0.5, 0.4, "of no surface is enough declared", ha="center")
        out = io.BytesIO()
        metadata = {"Date": None} if ending == "svg" else {"Software": None}
        figure.savefig(out, format=ending, dpi=130, metadata=metadata)
    return out.getvalue()


def _panel(axes: Any, row: LoadRow) -> None:
    axes.set_title(_shown(row.surface), loc="left", fontweight="bold")
    axes.set_xlabel(_axis(row))
    axes.set_ylabel("torque at one servo, N.m")
    label: str | None = "needed"
    for throw in row.throws:
        for sign in _signs(row, throw):
            angles = [sign * math.degrees(point.surface) for point in throw.points]
            torques = [point.torque for point in throw.points]
            axes.plot(angles, torques, color="0.0", linestyle="-", linewidth=1.4, label=label)
            label = None
    if row.has is not None:
        star = " at most" if row.state == "at most" else ""
        text = f"has{star} {row.has:.2f} N.m\nat {row.volts or 0.0:.2f} V, {_shown(row.case)}"
        axes.axhline(row.has, color="0.0", linestyle="--", linewidth=1.4, label=text)
    axes.set_ylim(bottom=0.0)
    axes.margins(x=0.02, y=0.15)
    axes.grid(color="0.85", linewidth=0.6)
    axes.legend(loc="best", frameon=True, framealpha=0.9, edgecolor="0.8", fontsize=8.0)


def _axis(row: LoadRow) -> str:
    ways = {throw.way for throw in row.throws}
    if ways & {"left", "right"}:
        return "surface from neutral, deg (left positive)"
    if ways & {"up", "down"}:
        return "surface from neutral, deg (up positive)"
    return "surface from neutral, deg (pushing positive)"


def _signs(row: LoadRow, throw: ThrowRow) -> tuple[float, ...]:
    """Return on which side of neutral a throw is drawn: on both where it is the same each way."""
    if throw.way != "each way":
        return (1.0,) if throw.way in _POSITIVE else (-1.0,)
    if len(row.throws) == 1:
        return (1.0, -1.0)
    return (1.0,) if throw.pushing else (-1.0,)


def _shown(name: str) -> str:
    text = plain(name)
    return text if len(text) <= _LONGEST_NAME else f"{text[: _LONGEST_NAME - 3]}..."
