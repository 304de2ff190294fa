"""What is known of the balance of one aircraft in one state, and how it is told."""

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Final, NamedTuple, cast

from holdshort.analysis.balance_sums import Reckoned
from holdshort.analysis.facts import Need
from holdshort.setup import Place
from holdshort.setup.quantities import INCH, POUND

if TYPE_CHECKING:
    from pydantic import BaseModel

_SAME: Final = 1e-9  # m: closer than this is the same place


class Limits(NamedTuple):
    """Between which stations the centre of gravity may lie, m."""

    forward: float
    aft: float

    @property
    def middle(self) -> float:
        """The station half-way between them, m."""
        return (self.forward + self.aft) / 2


class BalanceState(NamedTuple):
    """The aircraft in one state of its fuel and its undercarriage.

    - ``name``: ``dry``, ``landing``, ``take-off``, ``ready to fly``, ``foremost on the way``
      or ``rearmost on the way``.
    - ``gear``: ``down``, ``up``, or empty where it does not move.
    - ``fuel``: aboard, m3; None where it is not known.
    - ``mass``: kg. ``station``, ``side``, ``height``: the centre of gravity, m. None: not known.
    - ``limits``: where it may lie at that mass, or None.
    - ``needs``: what is missing to know mass and station; ``limit_needs`` for the limits,
      ``side_needs`` for the side.
    - ``place``: the weighing, or the items, that it rests on.
    - ``volumes``: the fuel in each tank, m3; empty where it is not known.
    """

    name: str
    gear: str
    fuel: float | None
    mass: Reckoned | None
    station: Reckoned | None
    side: Reckoned | None
    height: Reckoned | None
    limits: Limits | None
    needs: tuple[Need, ...]
    limit_needs: tuple[Need, ...]
    side_needs: tuple[Need, ...]
    place: Place
    volumes: tuple[tuple[str, float], ...] = ()

    @property
    def title(self) -> str:
        """How messages name it: ``take-off, gear down``."""
        return f"{self.name}, gear {self.gear}" if self.gear else self.name

    @property
    def forward_margin(self) -> float | None:
        """How far it lies behind the forward limit, m; below zero where it lies before it."""
        if self.station is None or self.limits is None:
            return None
        return _tidy(self.station.value - self.limits.forward)

    @property
    def aft_margin(self) -> float | None:
        """How far it lies before the aft limit, m; below zero where it lies behind it."""
        if self.station is None or self.limits is None:
            return None
        return _tidy(self.limits.aft - self.station.value)

    @property
    def margin(self) -> float | None:
        """How far it lies inside the nearer limit, m; below zero where it is outside."""
        margins = (self.forward_margin, self.aft_margin)
        return None if margins[0] is None or margins[1] is None else min(margins[0], margins[1])


def _tidy(margin: float) -> float:
    """Let what differs by rounding alone be on the limit."""
    return 0.0 if abs(margin) < _SAME else margin


class BalanceWords:
    """Figures as messages tell them: in millimetres, with inches where the file is in inches."""

    def __init__(self, *, inches: bool, chord: tuple[float, float] | None) -> None:
        """Take whether inches are told too, and the chord as leading edge and length, m."""
        self.inches = inches
        self.chord = chord

    def length(self, metres: float) -> str:
        """Return a distance: ``6.2 mm`` or ``6.2 mm (0.24 in)``."""
        text = f"{_round(metres * 1e3)} mm"
        return f"{text} ({metres / INCH:.2f} in)" if self.inches else text

    def reckoned(self, figure: Reckoned) -> str:
        """Return a place with its uncertainty: ``215.3 ± 1.8 mm``."""
        spread = "" if figure.spread is None else f" ± {_round(figure.spread * 1e3)}"
        text = f"{_round(figure.value * 1e3)}{spread} mm"
        return f"{text} ({figure.value / INCH:.2f} in)" if self.inches else text

    def station(self, figure: Reckoned) -> str:
        """Return a place along the body, with its share of the chord where that is known."""
        share = self.share(figure.value)
        text = self.reckoned(figure)
        return text if share is None else f"{text}, {share * 100:.1f} % of the chord"

    def share(self, station: float) -> float | None:
        """Return a station as a share of the chord: (x - leading edge) / length.

        FAA-H-8083-1B ch. 3.
        """
        if self.chord is None:
            return None
        edge, length = self.chord
        return (station - edge) / length

    def limits(self, limits: Limits) -> str:
        """Return a range: ``205 to 225 mm``."""
        low, high = (_round(limit * 1e3).removesuffix(".0") for limit in limits)
        text = f"{low} to {high} mm"
        if self.inches:
            low, high = (f"{limit / INCH:.2f}" for limit in limits)
            text += f" ({low} to {high} in)"
        return text

    def mass(self, kilograms: float, spread: float | None = None) -> str:
        """Return a mass: ``14.06 kg``, or ``390 g`` where it is less than a kilogram."""
        if abs(kilograms) < 1.0:
            text = f"{kilograms * 1e3:.0f} g"
        else:
            about = "" if spread is None else f" ± {spread:.2f}"
            text = f"{kilograms:.2f}{about} kg"
        return f"{text} ({kilograms / POUND:.2f} lb)" if self.inches else text


def _round(millimetres: float) -> str:
    text = f"{millimetres:.1f}"
    return "0.0" if text == "-0.0" else text


def written_in_inches(model: "BaseModel") -> bool:
    """True where a length of the section is written in inches or feet."""
    return any(text.endswith((" in", " ft")) or text[-2:] in {"in", "ft"} for text in _texts(model))


def _texts(value: object) -> Iterator[str]:
    from pydantic import BaseModel  # noqa: PLC0415  - loaded by then, as there is a model

    if isinstance(value, BaseModel):
        for name in type(value).model_fields:
            yield from _texts(getattr(value, name))
    elif isinstance(value, dict):
        yield from _all(cast("dict[str, object]", value).values())
    elif isinstance(value, tuple):
        yield from _all(cast("tuple[object, ...]", value))
    else:
        text = getattr(value, "text", None)
        if isinstance(text, str):
            yield text


def _all(values: Iterable[object]) -> Iterator[str]:
    for value in values:
        yield from _texts(value)
