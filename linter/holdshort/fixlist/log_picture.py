"""A measured log as a picture, readable in black and white.

Needs matplotlib (the optional extra ``plot``), which is imported here and nowhere else of the
views of logs; this module is imported only when a picture is asked for.
"""

import io
import warnings
from collections.abc import Sequence
from itertools import cycle
from typing import Any, Final, NamedTuple

import matplotlib as mpl
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from holdshort.analysis.logs.report import LogReport
from holdshort.fixlist.plain import plain

_DASHES: Final = ("-", "--", "-.", ":")
_SHADES: Final = ("0.0", "0.4", "0.2", "0.55")
_WIDTH: Final = 10.0
_HEIGHT: Final = 2.6
_LONGEST_NAME: Final = 40
_STEADY: Final[Any] = {"svg.hashsalt": "holdshort", "text.parse_math": False, "font.size": 9.0}
"""The same picture for the same log, and names shown as they are."""


class _Panel(NamedTuple):
    title: str
    columns: tuple[str, ...]


_TITLES: Final = (
    (("voltage",), "voltage, V"),
    (("current",), "current, A"),
    (("position",), "position"),
    (("link-quality",), "link quality, %"),
    (("lost-frames", "holds"), "lost frames and holds"),
)


def draw(report: LogReport, ending: str) -> bytes:
    """Return the picture of a log as a file of the kind ``ending`` says: svg or png."""
    panels = _panels(report)
    with warnings.catch_warnings(), mpl.rc_context(_STEADY):  # pyright: ignore[reportUnknownMemberType]
        # A name in a script that the font lacks is drawn as boxes; the table shows it.
        warnings.filterwarnings("ignore", message="Glyph .* missing")
        # The library's own types are open in places: anything may be passed on to its artists.
        height = _HEIGHT * max(len(panels), 1) + 0.8
        figure: Any = Figure(figsize=(_WIDTH, height), layout="constrained")
        FigureCanvasAgg(figure)
        figure.suptitle(f"Log {_shown(report.log)} of {_shown(report.aircraft or 'an aircraft')}")
        shared: Any = None
        for at, panel in enumerate(panels, 1):
            shared = figure.add_subplot(len(panels), 1, at, sharex=shared)
            _draw_panel(shared, report, panel)
        if shared is not None:
            shared.set_xlabel("time, s from the first row")
        out = io.BytesIO()
        metadata = {"Date": None} if ending == "svg" else {"Software": None}
        figure.savefig(out, format=ending, dpi=130, metadata=metadata)
    return out.getvalue()


def _panels(report: LogReport) -> list[_Panel]:
    filled = [name for name, column in report.reading.columns.items() if column.points]
    found: list[_Panel] = []
    for measures, title in _TITLES:
        names = tuple(name for name in filled if report.plan.columns[name].measures in measures)
        if names:
            found.append(_Panel(title, names))
    return found


def _draw_panel(axes: Any, report: LogReport, panel: _Panel) -> None:
    axes.set_ylabel(panel.title)
    for name, dashes, shade in zip(panel.columns, cycle(_DASHES), cycle(_SHADES), strict=False):
        _curve(axes, report, name, dashes, shade)
    if panel.title.startswith("voltage"):
        _limits(axes, report, panel.columns)
    axes.ticklabel_format(axis="y", useOffset=False)
    axes.margins(x=0.01, y=0.1)
    axes.grid(color="0.85", linewidth=0.6)
    axes.legend(loc="center left", bbox_to_anchor=(1.01, 0.5), frameon=False, handlelength=3.4)


def _curve(axes: Any, report: LogReport, name: str, dashes: str, shade: str) -> None:
    """Draw one column: a line where each point is a row, else the band between its extremes."""
    points = report.reading.columns[name].points
    times = [point.time - report.reading.start for point in points]
    lows, highs = [point.low for point in points], [point.high for point in points]
    if lows != highs:
        axes.fill_between(times, lows, highs, color=shade, alpha=0.25, linewidth=0)
    axes.plot(times, lows, linestyle=dashes, color=shade, linewidth=1.0, label=_shown(name))


def _limits(axes: Any, report: LogReport, names: Sequence[str]) -> None:
    """Draw the limit of each voltage, and shade its dips."""
    for row in report.voltages:
        limit = row.subject.limit
        if limit is None or row.subject.column not in names:
            continue
        label = f"limit of {_shown(row.subject.column)}, {limit.voltage:.2f} V"
        axes.axhline(limit.voltage, linestyle=(0, (1, 3)), color="0.0", lw=1.6, label=label)
        for dip in row.dips.told if row.dips else ():
            start = report.reading.start
            axes.axvspan(dip.start.time - start, dip.end - start, color="0.5", alpha=0.35, lw=0)


def _shown(name: str) -> str:
    text = plain(name)
    return text if len(text) <= _LONGEST_NAME else f"{text[: _LONGEST_NAME - 3]}..."
