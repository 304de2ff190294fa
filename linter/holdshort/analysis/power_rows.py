"""The rows of the power table: figures with how far they are to be believed, beside ratings.

Volts, amperes, watts, metres, coulombs; shares from 0 to 1.
"""

from collections.abc import Callable, Mapping
from typing import Literal, NamedTuple

from holdshort.analysis.circuit_elements import RegulatorPoint
from holdshort.analysis.load_cases import LoadCase
from holdshort.analysis.wiring import exceeds

State = Literal["known", "incomplete", "collapse", "no supply", "not known"]
"""How far a figure is to be believed.

``known``: computed from all it rests on. ``incomplete``: something it rests on is not declared; a
voltage is then at most the figure, a current at least. ``collapse``: there is no operating point.
``no supply``: nothing feeds the place. ``not known``: what is missing leaves no figure.
"""

Judgement = Literal[
    "within", "too low", "brown-out", "too high", "collapse", "no supply", "not known",
    "min not stated", "max not stated", "no rating",
]  # fmt: skip
"""How the voltages at a device stand to its ratings, over all load cases."""


Mark = Literal["input too low", "input too high", "above continuous", "above peak", "too hot"]
"""What of a pack or regulator is outside its ratings in one load case."""


class Reading(NamedTuple):
    """One figure in one load case; ``value`` is None where there is none."""

    value: float | None
    state: State

    @property
    def size(self) -> float:
        """The value for ordering: below every number where there is none."""
        return float("-inf") if self.value is None else self.value


ByCase = Mapping[str, Reading]
"""Readings by the name of their load case."""


class Extreme(NamedTuple):
    """The lowest or highest reading of all load cases, and the case it is of."""

    case: str
    reading: Reading


class Rating(NamedTuple):
    """Supply voltages that a part is rated for, V; None where not stated."""

    lowest: float | None
    highest: float | None
    brown_out: float | None = None


class DeviceRow(NamedTuple):
    """One device on a rail: its voltage and the current it draws itself."""

    device: str
    part: str
    kind: str
    volts: ByCase
    amperes: ByCase
    rating: Rating
    judgements: tuple[Judgement, ...]


class RailRow(NamedTuple):
    """One rail: what gives it its voltage, and the devices on it. No ``sources``: no supply."""

    sources: tuple[str, ...]
    volts: ByCase
    amperes: ByCase
    devices: tuple[DeviceRow, ...]


class LeadRow(NamedTuple):
    """One lead that carries power, in the load case in which it loses most.

    ``wire`` is None where its resistance is unknown. ``volts`` counts both conductors and the
    connectors in line.
    """

    start: str
    end: str
    wire: str | None
    wire_assumed: bool
    length: float | None
    length_assumed: bool
    case: str | None
    volts: Reading
    amperes: Reading


class RegulatorRow(NamedTuple):
    """One regulator, or a regulated box, in every load case.

    ``marks`` says by case what is outside the ratings.
    """

    device: str
    part: str
    set_to: float | None
    measured: float | None
    input_rating: Rating
    continuous: float | None
    peak: float | None
    heat_limit: float | None
    points: Mapping[str, RegulatorPoint | None]
    states: Mapping[str, State]
    marks: Mapping[str, tuple[Mark, ...]]


class PackUse(NamedTuple):
    """What a pack gives in a flight, from full.

    ``flight_time`` is in seconds, None where it is not declared; ``used`` is the charge drawn in
    one flight, C; ``left`` the state of charge after ``flights`` of them, below zero where the
    pack does not last. Where loads are missing (state ``incomplete``) more is used and less left.
    """

    flight_time: float | None
    flights: int
    used: Reading
    left: Reading


class PackRow(NamedTuple):
    """One pack in every load case. ``capacity`` is in coulombs."""

    device: str
    part: str
    chemistry: str
    cells: int
    capacity: float | None
    continuous: float | None
    peak: float | None
    volts: ByCase
    amperes: ByCase
    marks: Mapping[str, tuple[Mark, ...]]
    use: PackUse


class CollapseRow(NamedTuple):
    """One part of the network without an operating point in one load case.

    ``device`` is where it gives way, ``share`` the part of the load that could be carried.
    """

    case: str
    cause: str
    device: str
    share: float
    also_falling: tuple[str, ...]


class Told(NamedTuple):
    """A text and the place it is about; ``line`` is from 1. ``cases`` are those it touches."""

    text: str
    file: str
    line: int
    cases: tuple[str, ...] = ()


class PowerTable(NamedTuple):
    """Everything there is to show of the power network of one aircraft."""

    file: str
    aircraft: str
    """Its name; empty where it has none."""
    cases: tuple[LoadCase, ...]
    collapses: tuple[CollapseRow, ...]
    rails: tuple[RailRow, ...]
    leads: tuple[LeadRow, ...]
    regulators: tuple[RegulatorRow, ...]
    packs: tuple[PackRow, ...]
    missing: tuple[Told, ...]
    assumptions: tuple[Told, ...]
    unread: tuple[str, ...]
    """Entries with mistakes of form, which are left out of everything above."""


def lowest(readings: ByCase) -> Extreme | None:
    """Return the lowest reading and its case; a collapse is lower than any. None of none."""
    return _extreme(readings, _depth)


def highest(readings: ByCase) -> Extreme | None:
    """Return the highest reading and its case. None of none."""
    return _extreme(readings, lambda reading: -reading.size)


def _extreme(readings: ByCase, rank: Callable[[Reading], float]) -> Extreme | None:
    if not readings:
        return None
    case = min(readings, key=lambda name: rank(readings[name]))
    return Extreme(case, readings[case])


def _depth(reading: Reading) -> float:
    if reading.state == "collapse":
        return float("-inf")
    return float("inf") if reading.value is None else reading.value


def judge_volts(
    low: Reading, high: Reading, rating: Rating, *, at_rest: bool
) -> tuple[Judgement, ...]:
    """Return how the lowest and highest voltage stand to a rating: all that is outside, or a word.

    A figure that is incomplete is at most what it says: it proves "too low" and "not too high",
    never the opposite; but ``at_rest`` nothing is drawn, so nothing missing lowers the highest.
    """
    over = is_below(rating.highest, high.value)
    outside = _under(low, rating)
    if over and (high.state == "known" or at_rest):
        outside = (*outside, "too high")
    if outside:
        return outside
    if low.value is None or high.value is None:
        return ("no supply",) if low.state == "no supply" else ("not known",)
    if over or (low.state == "incomplete" and rating.lowest is not None):
        return ("not known",)
    return (_how_far_stated(rating),)


def _under(low: Reading, rating: Rating) -> tuple[Judgement, ...]:
    if low.state == "collapse":
        return ("collapse",)
    if is_below(low.value, rating.brown_out):
        return ("brown-out",)
    return ("too low",) if is_below(low.value, rating.lowest) else ()


def _how_far_stated(rating: Rating) -> Judgement:
    if rating.lowest is None and rating.highest is None:
        return "no rating"
    if rating.lowest is None:
        return "min not stated"
    return "max not stated" if rating.highest is None else "within"


def is_below(value: float | None, limit: float | None) -> bool:
    """True where both are known and ``value`` is below ``limit`` by more than rounding."""
    return value is not None and limit is not None and exceeds(limit, value)
