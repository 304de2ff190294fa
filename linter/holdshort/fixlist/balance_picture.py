"""The centre of gravity against the mass as a picture, readable in black and white.

Needs matplotlib (the optional extra ``plot``), which is imported here and nowhere else; this
module is imported only when a picture is asked for.
"""

import io
import warnings
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

import matplotlib as mpl
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from holdshort.analysis import Aircraft
from holdshort.fixlist.balance_curves import limit_spots
from holdshort.fixlist.plain import plain

if TYPE_CHECKING:
    from holdshort.analysis.balance import BalanceState, BalanceStudy

_STEADY: Final[Any] = {"svg.hashsalt": "holdshort", "text.parse_math": False, "font.size": 9.0}
"""The same picture for the same file, and names shown as they are."""

_MARKS: Final = {
    "dry": "s", "landing": "v", "take-off": "^", "ready to fly": "o",
    "foremost on the way": "D", "rearmost on the way": "D",
}  # fmt: skip
_LINES: Final = {"down": ("-", "0.0"), "up": ("-.", "0.35"), "": ("-", "0.0")}
_LONGEST_NAME: Final = 40
_LONGEST_DATUM: Final = 60


def picture(aircraft: Aircraft, ending: str) -> bytes:
    """Return the picture of ``aircraft`` as a file of the kind ``ending`` says: svg or png."""
    declared = aircraft.setup.aircraft
    name = declared.name if declared else "an aircraft without a name"
    with warnings.catch_warnings(), mpl.rc_context(_STEADY):  # pyright: ignore[reportUnknownMemberType]
        # A name in a script that the font lacks is drawn as boxes; the table shows it.
        warnings.filterwarnings("ignore", message="Glyph .* missing")
        # The library's own types are open in places: anything may be passed on to its artists.
        figure: Any = Figure(figsize=(8.6, 5.2), layout="constrained")
        FigureCanvasAgg(figure)
        figure.suptitle(f"Balance of {_shown(name)}")
        _fill(figure, aircraft.balance)
        out = io.BytesIO()
        metadata = {"Date": None} if ending == "svg" else {"Software": None}
        figure.savefig(out, format=ending, dpi=130, metadata=metadata)
    return out.getvalue()


def _fill(figure: Any, study: "BalanceStudy | None") -> None:
    known = [] if study is None else [one for one in study.states if one.station and one.mass]
    if study is None or not known:
        figure.text(0.5, 0.45, "no state of which the balance is known", ha="center")
        return
    axes = figure.add_subplot(1, 1, 1)
    datum = _shown(study.balance.datum or "a datum not declared", _LONGEST_DATUM)
    axes.set_xlabel(f"centre of gravity, mm aft of {datum}")
    axes.set_ylabel("mass, kg")
    _draw_limits(axes, study, known)
    for gear in study.gears:
        _draw_path(axes, study, gear)
    for state in known:
        _draw_state(axes, state)
    axes.grid(color="0.85", linewidth=0.6)
    axes.margins(x=0.08)
    axes.legend(loc="center left", bbox_to_anchor=(1.01, 0.5), frameon=False, handlelength=3.0)
    _second_scale(axes, study)


def _draw_limits(axes: Any, study: "BalanceStudy", known: Sequence["BalanceState"]) -> None:
    spots = limit_spots(study, known)
    heights = [mass for mass, _ in spots]
    limits = [limits for _, limits in spots]
    for label, style, places in (
        ("forward limit", "--", [one.forward * 1e3 for one in limits]),
        ("aft limit", ":", [one.aft * 1e3 for one in limits]),
    ):
        axes.plot(places, heights, linestyle=style, color="0.0", linewidth=1.8, label=label)
    if limits:
        axes.fill_betweenx(
            heights, [one.forward * 1e3 for one in limits], [one.aft * 1e3 for one in limits],
            color="0.94",
        )  # fmt: skip


def _draw_path(axes: Any, study: "BalanceStudy", gear: str) -> None:
    path = [(one.station, one.mass) for one in study.path(gear)]
    line, shade = _LINES[gear]
    places = [station.value * 1e3 for station, mass in path if station and mass]
    masses = [mass.value for station, mass in path if station and mass]
    label = f"fuel burning off, gear {gear}" if len(study.gears) > 1 else "fuel burning off"
    if places:
        axes.plot(places, masses, linestyle=line, color=shade, linewidth=1.2, label=label)


def _draw_state(axes: Any, state: "BalanceState") -> None:
    if state.station is None or state.mass is None:
        return
    face = "white" if state.gear == "up" else "0.0"
    axes.errorbar(
        [state.station.value * 1e3], [state.mass.value],
        xerr=None if state.station.spread is None else [state.station.spread * 1e3],
        yerr=None if state.mass.spread is None else [state.mass.spread],
        marker=_MARKS[state.name], color="0.0", markerfacecolor=face, markersize=6.5,
        linestyle="none", linewidth=0.8, capsize=2.5, label=state.title,
    )  # fmt: skip


def _second_scale(axes: Any, study: "BalanceStudy") -> None:
    """Add the shares of the chord above, where the chord is declared."""
    if study.words.chord is None:
        return
    edge, length = study.words.chord

    # Called with arrays of the plotting library, which take the same sums as numbers.
    def share_of(place: Any) -> Any:
        return (place / 1e3 - edge) / length * 100

    def place_of(share: Any) -> Any:
        return (edge + share / 100 * length) * 1e3

    scale = axes.secondary_xaxis("top", functions=(share_of, place_of))
    scale.set_xlabel("% of the chord")


def _shown(name: str, longest: int = _LONGEST_NAME) -> str:
    text = plain(name)
    return text if len(text) <= longest else f"{text[: longest - 3]}..."
