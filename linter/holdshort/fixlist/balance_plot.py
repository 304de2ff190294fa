"""The centre of gravity against the mass as a small SVG for a page, readable in black and white.

Nothing of a setup file stands in it but figures; its style is that of the page it stands in. One
unit is one CSS pixel.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from holdshort.fixlist.balance_curves import limit_spots, mass_span

if TYPE_CHECKING:
    from holdshort.analysis.balance import BalanceState, BalanceStudy
    from holdshort.analysis.balance_states import Limits

LETTERS: Final = {
    "dry": "D", "landing": "L", "take-off": "T", "ready to fly": "R",
    "foremost on the way": "F", "rearmost on the way": "A",
}  # fmt: skip
"""What stands at the mark of each state."""

_TITLE: Final = "Centre of gravity and mass between the limits; the table holds the figures"
_WIDTH: Final = 680
_HEIGHT: Final = 360
_LEFT: Final = 62.0
_RIGHT: Final = 660.0
_TOP: Final = 16.0
_BOTTOM: Final = 302.0
_ROOM: Final = 0.08
"""How much wider than limits and states the picture is on either side."""
_LEAST_SPAN: Final = 1e-3  # m
_TICKS: Final = 7
_STEPS: Final = (1.0, 2.0, 5.0, 10.0)
_RADIUS: Final = 4.5
_LETTER_UP: Final = 9.0


@dataclass(frozen=True, slots=True)
class _Frame:
    """Turns stations, m, and masses, kg, into places in the picture."""

    stations: tuple[float, float]
    masses: tuple[float, float]

    def x(self, station: float) -> float:
        low, high = self.stations
        return _LEFT + (station - low) / (high - low) * (_RIGHT - _LEFT)

    def y(self, mass: float) -> float:
        low, high = self.masses
        return _BOTTOM - (mass - low) / (high - low) * (_BOTTOM - _TOP)

    def points(self, places: Sequence[tuple[float, float]]) -> str:
        """Return stations and masses as the points of a line."""
        return " ".join(f"{self.x(station):.1f},{self.y(mass):.1f}" for station, mass in places)


def plotted(study: "BalanceStudy") -> tuple["BalanceState", ...]:
    """Return the states that have a place in the picture."""
    return tuple(state for state in study.states if state.station and state.mass)


def balance_svg(study: "BalanceStudy") -> str:
    """Return the picture as SVG; empty where no state of the balance is known."""
    known = plotted(study)
    if not known:
        return ""
    limits = limit_spots(study, known)
    paths = [_path(study, gear) for gear in study.gears]
    frame = _frame(known, limits, paths)
    drawn = [
        *_limit_lines(frame, limits),
        *_axes(frame),
        *(_line(frame, path, "plot-path") for path in paths if path),
        *(part for state in known for part in _mark(frame, state)),
    ]
    head = (
        f'<svg class="plot" role="img" aria-labelledby="plot-title" width="{_WIDTH}" '
        f'height="{_HEIGHT}" viewBox="0 0 {_WIDTH} {_HEIGHT}">'
    )
    title = f'<title id="plot-title">{_TITLE}</title>'
    return "\n".join((head, title, *drawn, "</svg>"))


def _path(study: "BalanceStudy", gear: str) -> list[tuple[float, float]]:
    states = study.path(gear)
    return [(one.station.value, one.mass.value) for one in states if one.station and one.mass]


def _frame(
    known: Sequence["BalanceState"],
    limits: Sequence[tuple[float, "Limits"]],
    paths: Sequence[Sequence[tuple[float, float]]],
) -> _Frame:
    stations = [limit for _, both in limits for limit in both]
    stations += [station for path in paths for station, _ in path]
    for state in known:
        if state.station:
            spread = state.station.spread or 0.0
            stations += [state.station.value - spread, state.station.value + spread]
    low, high = min(stations), max(stations)
    room = max(high - low, _LEAST_SPAN) * _ROOM
    return _Frame((low - room, high + room), mass_span(known))


def _limit_lines(frame: _Frame, limits: Sequence[tuple[float, "Limits"]]) -> Iterator[str]:
    if not limits:
        return
    forward = [(both.forward, mass) for mass, both in limits]
    aft = [(both.aft, mass) for mass, both in limits]
    yield f'<polygon class="plot-inside" points="{frame.points([*forward, *reversed(aft)])}"/>'
    yield _line(frame, forward, "plot-forward")
    yield _line(frame, aft, "plot-aft")


def _line(frame: _Frame, places: Sequence[tuple[float, float]], name: str) -> str:
    return f'<polyline class="{name}" points="{frame.points(places)}"/>'


def _axes(frame: _Frame) -> Iterator[str]:
    yield (
        f'<polyline class="plot-axis" points="{_LEFT:g},{_TOP:g} {_LEFT:g},{_BOTTOM:g} '
        f'{_RIGHT:g},{_BOTTOM:g}"/>'
    )
    low, high = (station * 1e3 for station in frame.stations)
    for value, shown in _ticks(low, high):
        x = frame.x(value / 1e3)
        yield _tick(x, _BOTTOM, x, _BOTTOM + 5.0)
        yield _text(x, _BOTTOM + 18.0, shown, "middle")
    for value, shown in _ticks(*frame.masses):
        y = frame.y(value)
        yield _tick(_LEFT - 5.0, y, _LEFT, y)
        yield _text(_LEFT - 8.0, y + 4.0, shown, "end")
    yield _text((_LEFT + _RIGHT) / 2, _HEIGHT - 16.0, "mm aft of the datum", "middle")
    yield _text(4.0, _TOP - 2.0, "kg", "start")


def _tick(x: float, y: float, end_x: float, end_y: float) -> str:
    return f'<polyline class="plot-axis" points="{x:.1f},{y:.1f} {end_x:.1f},{end_y:.1f}"/>'


def _text(x: float, y: float, text: str, anchor: str) -> str:
    return f'<text class="plot-text" x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{text}</text>'


def _ticks(low: float, high: float) -> Iterator[tuple[float, str]]:
    """Yield round figures between two others, and how each is written."""
    power = 10.0 ** math.floor(math.log10((high - low) / _TICKS))
    step = next(size * power for size in _STEPS if (high - low) / (size * power) <= _TICKS)
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    for count in range(math.ceil(low / step), math.floor(high / step) + 1):
        yield count * step, f"{count * step:.{decimals}f}"


def _mark(frame: _Frame, state: "BalanceState") -> Iterator[str]:
    if state.station is None or state.mass is None:
        return
    x, y = frame.x(state.station.value), frame.y(state.mass.value)
    if state.station.spread:
        ends = (
            state.station.value - state.station.spread,
            state.station.value + state.station.spread,
        )
        yield _line(frame, [(end, state.mass.value) for end in ends], "plot-spread")
    name = "plot-up" if state.gear == "up" else "plot-down"
    yield f'<circle class="{name}" cx="{x:.1f}" cy="{y:.1f}" r="{_RADIUS:g}"/>'
    yield _text(x, y - _LETTER_UP, LETTERS[state.name], "middle")
