"""The rails over the state of charge as a picture, readable in black and white.

Needs matplotlib (the optional extra ``plot``), which is imported here and nowhere else; this
module is imported only when a picture is asked for.
"""

import io
import math
import warnings
from collections.abc import Sequence
from itertools import cycle
from typing import Any, Final

import matplotlib as mpl
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from holdshort.analysis import Aircraft
from holdshort.analysis.power_curves import CHARGES, Curve, RailCurves, power_curves
from holdshort.fixlist.plain import plain

_STYLES: Final = (("-", "o"), ("-", "s"), ("-", "^"), ("-.", "D"), (":", "v"))
"""Line and marker of each load case; dashes are kept for the minimum."""

_SHADES: Final = ("0.0", "0.35", "0.0", "0.35", "0.0")
_PANEL_WIDTH: Final = 9.0
_PANEL_HEIGHT: Final = 3.4
_LONGEST_NAME: Final = 40
_STEADY: Final[Any] = {"svg.hashsalt": "holdshort", "text.parse_math": False, "font.size": 9.0}
"""The same picture for the same file, and names shown as they are."""


def picture(aircraft: Aircraft, ending: str) -> bytes:
    """Return the picture of ``aircraft`` as a file of the kind ``ending`` says: svg or png."""
    declared = aircraft.setup.aircraft
    name = declared.name if declared else "an aircraft without a name"
    return draw(name, power_curves(aircraft), ending)


def draw(aircraft: str, rails: Sequence[RailCurves], ending: str) -> bytes:
    """Return a picture with a panel for each rail and a line in it for each load case."""
    with warnings.catch_warnings(), mpl.rc_context(_STEADY):  # pyright: ignore[reportUnknownMemberType]
        # A name in a script that the font lacks is drawn as boxes; the table shows it.
        warnings.filterwarnings("ignore", message="Glyph .* missing")
        height = _PANEL_HEIGHT * max(len(rails), 1) + 0.8
        # The library's own types are open in places: anything may be passed on to its artists.
        figure: Any = Figure(figsize=(_PANEL_WIDTH, height), layout="constrained")
        FigureCanvasAgg(figure)
        figure.suptitle(f"Power of {_shown(aircraft)}: rail voltage as the packs empty")
        for at, rail in enumerate(rails, 1):
            _panel(figure.add_subplot(len(rails), 1, at), rail)
        if not rails:
            figure.text(0.5, 0.4, "no pack and no regulator", ha="center")
        out = io.BytesIO()
        metadata = {"Date": None} if ending == "svg" else {"Software": None}
        figure.savefig(out, format=ending, dpi=130, metadata=metadata)
    return out.getvalue()


def _panel(axes: Any, rail: RailCurves) -> None:
    axes.set_title(_shown(rail.source), loc="left", fontweight="bold")
    axes.set_xlabel("state of charge of all packs, %")
    axes.set_ylabel("voltage, V")
    for at, (curve, (line, marker), shade) in enumerate(
        zip(rail.curves, cycle(_STYLES), cycle(_SHADES), strict=False)
    ):
        # Staggered markers stay apart where lines run together.
        axes.plot(
            [charge * 100 for charge in CHARGES],
            [math.nan if volts is None else volts for volts in curve.volts],
            linestyle=line, marker=marker, markevery=(at % 5, 5), color=shade, markersize=5,
            markerfacecolor="white", linewidth=1.2, label=_label(curve),
        )  # fmt: skip
    if rail.minimum is not None:
        label = f"minimum of {_shown(rail.minimum.device)}, {rail.minimum.volts:g} V"
        axes.axhline(rail.minimum.volts, linestyle="--", color="0.0", linewidth=1.6, label=label)
    axes.set_xlim(102, 8)
    axes.set_xticks(range(100, 9, -10))
    axes.ticklabel_format(axis="y", useOffset=False)
    axes.margins(y=0.1)
    axes.grid(color="0.85", linewidth=0.6)
    note = "* incomplete: at most this" if any(curve.incomplete for curve in rail.curves) else None
    axes.legend(
        loc="center left", bbox_to_anchor=(1.01, 0.5), frameon=False, handlelength=3.4, title=note
    )


def _label(curve: Curve) -> str:
    """Name a curve; a collapse has no point to draw, so it is said here."""
    star = "*" if curve.incomplete else ""
    lost = [charge for charge, volts in zip(CHARGES, curve.volts, strict=True) if volts is None]
    if len(lost) == len(CHARGES):
        return f"{curve.case}{star}: collapse"
    if lost:
        return f"{curve.case}{star}: collapse\nfrom {max(lost) * 100:.0f} % down"
    return f"{curve.case}{star}"


def _shown(name: str) -> str:
    text = plain(name)
    return text if len(text) <= _LONGEST_NAME else f"{text[: _LONGEST_NAME - 3]}..."
