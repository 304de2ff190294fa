"""What brings the balance inside its range: moving a pack, or ballast at a declared place.

Moving m by d moves the whole by m d / M; ballast w at x_w makes it (M x + w x_w) / (M + w), so that
w = M (target - x) / (x_w - target) (FAA-H-8083-1B ch. 2 and AC 43.13-1B ch. 10 for the shift; the
ballast equation as aviation maintenance courses teach it). Both are worked out for all states at
once: what helps the take-off may spoil the landing.
"""

import math
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Final, Literal, NamedTuple

from holdshort.analysis.balance_states import BalanceState
from holdshort.analysis.facts import Need

if TYPE_CHECKING:
    from holdshort.analysis.balance import BalanceStudy

_HALVINGS: Final = 100
_FARTHEST: Final = 3.0  # m: nothing in a model is moved farther; common practice, no source
_HEAVIEST: Final = 0.5  # of the mass: more ballast is no remedy; common practice, no source
_INSIDE: Final = 1e-11  # m: rounding


class Remedy(NamedTuple):
    """One way to put the balance right.

    - ``kind``: ``move`` a thing, or fit ``ballast``.
    - ``name``: of the thing, or of the place for ballast; ``station``: where it is now, m.
    - ``mass``: of the thing, kg; 0 for ballast.
    - ``inside``: the least that brings every state inside by its uncertainty, m aft (forward below
      zero) or kg; 0 where they are inside now; None where nothing of this kind does.
    - ``middle``: what puts the states as far inside as they can be, likewise.
    - ``margin``: how far inside the worst state is then, m; below zero: still outside.
    - ``bound``: the room, as the lowest and highest ``inside`` or ``middle``.
    - ``roomy``: True where that room is declared on the side to which it goes.
    """

    kind: Literal["move", "ballast"]
    name: str
    station: float
    mass: float
    inside: float | None
    middle: float
    margin: float
    bound: tuple[float, float]
    roomy: bool = True


class _Shifted(NamedTuple):
    """One state with something changed: the distance to each limit, and its uncertainty, m."""

    forward: float
    aft: float
    spread: float

    @property
    def margin(self) -> float:
        """How far it is inside the nearer limit, m."""
        return min(self.forward, self.aft)


Change = Callable[[float], list[_Shifted]]


def remedies(study: "BalanceStudy") -> tuple[Remedy, ...]:
    """Return every remedy that the file gives room for, in its order; moves first."""
    states = study.known
    if not states:
        return ()
    return (*_moves(study, states), *_ballasts(study, states))


def movable(study: "BalanceStudy") -> dict[str, tuple[float | None, float | None]]:
    """Return what may be moved, and between which stations, m.

    Packs are what is moved in practice: those with a mass and a station count even where nothing
    is said to be movable.
    """
    declared = study.balance.movable or {}
    found = {name: (room.from_, room.to) for name, room in declared.items()}
    if declared:
        return {name: (_float(low), _float(high)) for name, (low, high) in found.items()}
    return {pack.name: (None, None) for pack in study.setup.of_kind("battery")}


def _float(value: float | None) -> float | None:
    return None if value is None else float(value)


def _moves(study: "BalanceStudy", states: tuple[BalanceState, ...]) -> Iterator[Remedy]:
    for name, (low, high) in movable(study).items():
        thing = study.thing(name)
        if isinstance(thing, Need) or thing.where[0] is None:
            continue
        now = thing.where[0]
        bound = (
            -_FARTHEST if low is None else min(0.0, low - now),
            _FARTHEST if high is None else max(0.0, high - now),
        )
        change = _moving(states, thing.mass)
        found = _remedy("move", name, now, thing.mass, change, bound)
        yield found._replace(roomy=(low if found.middle < 0.0 else high) is not None)


def _moving(states: tuple[BalanceState, ...], mass: float) -> Change:
    def changed(distance: float) -> list[_Shifted]:
        found: list[_Shifted] = []
        for state in states:
            whole = state.mass.value if state.mass else math.nan
            shift = mass * distance / whole
            margins = state.forward_margin or 0.0, state.aft_margin or 0.0
            found.append(_Shifted(margins[0] + shift, margins[1] - shift, _spread(state)))
        return found

    return changed


def _ballasts(study: "BalanceStudy", states: tuple[BalanceState, ...]) -> Iterator[Remedy]:
    for name, place in (study.balance.ballast or {}).items():
        station = float(place.station)
        most = _room(study, states)
        bound = (0.0, most if place.most is None else min(most, float(place.most)))
        change = _loading(study, states, station)
        yield _remedy("ballast", name, station, 0.0, change, bound)


def _room(study: "BalanceStudy", states: tuple[BalanceState, ...]) -> float:
    """Return the most ballast that can be judged, kg: no more than the envelope reaches."""
    masses = [state.mass.value for state in states if state.mass]
    corners = study.allowed.corners()
    most = min(masses) * _HEAVIEST
    return max(0.0, min(most, max(corners) - max(masses))) if corners else most


def _loading(study: "BalanceStudy", states: tuple[BalanceState, ...], at: float) -> Change:
    """Ballast makes the aircraft heavier, so that the limits are those of the new mass."""

    def changed(ballast: float) -> list[_Shifted]:
        return [_loaded(study, state, at, ballast) for state in states]

    return changed


def _loaded(study: "BalanceStudy", state: BalanceState, at: float, ballast: float) -> _Shifted:
    mass = state.mass.value if state.mass else math.nan
    before = state.station.value if state.station else math.nan
    after = (mass * before + ballast * at) / (mass + ballast)
    limits = study.limits_at(mass + ballast)
    if limits is None:
        raise LookupError(f"no limits at {mass + ballast} kg")
    return _Shifted(after - limits.forward, limits.aft - after, _spread(state))


def _spread(state: BalanceState) -> float:
    return (state.station.spread if state.station else None) or 0.0


def _remedy(
    kind: Literal["move", "ballast"],
    name: str,
    station: float,
    mass: float,
    change: Change,
    bound: tuple[float, float],
) -> Remedy:
    middle = _most_inside(change, bound)
    margin = _least(change(middle))
    return Remedy(
        kind=kind,
        name=name,
        station=station,
        mass=mass,
        inside=_just_inside(change, middle) if _all_inside(change(middle)) else None,
        middle=middle,
        margin=margin,
        bound=bound,
    )


def _least(states: list[_Shifted]) -> float:
    return min(state.margin for state in states)


def _all_inside(states: list[_Shifted]) -> bool:
    return all(state.margin >= state.spread - _INSIDE for state in states)


def _most_inside(change: Change, bound: tuple[float, float]) -> float:
    """Return what makes the least margin the greatest.

    Moving aft lets every forward margin grow and every aft margin shrink, so that the best is where
    the least of both are alike; found by halving. Where the range goes with the mass this holds as
    long as the limits move less than the balance.
    """
    low, high = bound
    rising = _tilt(change(high)) >= _tilt(change(low))
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if (_tilt(change(middle)) < 0.0) == rising:
            low = middle
        else:
            high = middle
    # Where the room ends first, or nothing is gained, an end or nothing at all is the best.
    return max((0.0, *bound, (low + high) / 2), key=lambda value: _rank(change(value)))


def _rank(states: list[_Shifted]) -> float:
    """Return the least margin without the rounding that would make a worthless change the best."""
    return round(_least(states), 9)


def _tilt(states: list[_Shifted]) -> float:
    """Return how much farther the states lie from the forward limit than from the aft one, m."""
    forward = min(state.forward for state in states)
    return forward - min(state.aft for state in states)


def _just_inside(change: Change, middle: float) -> float:
    """Return the least change in the direction of ``middle`` that brings every state inside."""
    if _all_inside(change(0.0)):
        return 0.0
    outside, inside = 0.0, middle
    for _ in range(_HALVINGS):
        half = (outside + inside) / 2
        if _all_inside(change(half)):
            inside = half
        else:
            outside = half
    return inside
