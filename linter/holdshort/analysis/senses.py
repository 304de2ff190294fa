"""What must move which way on the bench, and what does: for hand motions and for the sticks.

What must happen follows from where a surface sits (:mod:`holdshort.analysis.surface_motion`), what
does happen from every declared link between stick or gyro and trailing edge
(:mod:`holdshort.analysis.sense_chain`). Neither is a table of signs.

Twelve bench cards name the tests: six turns of the airframe by hand, six movements of a stick.
"""

from collections.abc import Mapping
from enum import StrEnum
from typing import TYPE_CHECKING, Final, NamedTuple

from holdshort.analysis.facts import Because, Need
from holdshort.analysis.mounting import Axis
from holdshort.analysis.surface_motion import (
    STEERED_IN,
    MovingPart,
    Side,
    Way,
    commanding,
    following,
    moving_part,
    needs_side,
)
from holdshort.setup import ChannelEntry, Setup
from holdshort.setup.functions import control_function
from holdshort.setup.parts import Part
from holdshort.setup.sections import Surface

if TYPE_CHECKING:
    from holdshort.analysis.aircraft import Aircraft

HAND_CARDS: Final[Mapping[str, tuple[Axis, int]]] = {
    "roll right": ("roll", 1),
    "roll left": ("roll", -1),
    "nose up": ("pitch", 1),
    "nose down": ("pitch", -1),
    "nose right": ("yaw", 1),
    "nose left": ("yaw", -1),
}
"""Turning the airframe by hand: the axis and the sign of the turn."""

STICK_CARDS: Final[Mapping[str, tuple[Axis, int]]] = {
    "aileron stick right": ("roll", 1),
    "aileron stick left": ("roll", -1),
    "elevator stick back": ("pitch", 1),
    "elevator stick forward": ("pitch", -1),
    "rudder stick right": ("yaw", 1),
    "rudder stick left": ("yaw", -1),
}
"""Moving a stick: the axis and the sign of the turn it asks for."""

CARD_NAMES: Final = (*HAND_CARDS, *STICK_CARDS)
"""The names of the bench cards, as `observations` give them under `card`."""

STILL: Final = "stays still"

_STEADIED: Final = (
    "aileron", "flaperon", "elevator", "rudder", "elevon", "taileron", "v-tail", "ruddervator",
    "inverted v-tail",
)  # fmt: skip
"""Functions that a gyro is meant to steady, where the surface does not say (common practice)."""


class Verdict(StrEnum):
    """How what happens compares with what must happen."""

    RIGHT = "right"
    REVERSED = "reversed"
    CROSSED = "crossed"
    """It moves for another turn than its own, or not for its own."""
    NOTHING = "nothing"
    """It must move, and no gyro stands in its way that could move it."""
    UNKNOWN = "unknown"


class ExpectedMovement(NamedTuple):
    """What one surface must do in the test ``card``; ``way`` is None where it stays still.

    ``words`` reads ``trailing edge up``, ``wheel points left``, ``nozzle exit down`` or
    ``stays still``.
    """

    card: str
    way: Way | None
    words: str


class ExpectedSurface(NamedTuple):
    """What one surface must do.

    ``hand`` has one movement for each of ``HAND_CARDS`` where a gyro is to steady the surface, and
    is empty where none is; ``sticks`` has one for each of ``STICK_CARDS`` where a stick steers the
    surface, but for those on which a mix moves it beside its own work, and is empty where none
    does. Both are in the order of the cards. ``steadied_in`` are
    the axes in which a gyro is to steady it, ``declared`` is False where that is taken from common
    practice; ``steered_in`` the axes whose stick moves it. Where ``needs`` is not empty both lists
    are empty, for want of what it names.
    """

    name: str
    function: str
    side: Side | None
    servos: tuple[str, ...]
    steadied_in: tuple[Axis, ...]
    declared: bool
    steered_in: tuple[Axis, ...]
    part: MovingPart | None
    hand: tuple[ExpectedMovement, ...] = ()
    sticks: tuple[ExpectedMovement, ...] = ()
    needs: tuple[Need, ...] = ()


class ActualMovement(NamedTuple):
    """What one servo makes of one card, against what must happen.

    ``way`` is None where the surface stays still or the way is not known; ``need`` says what is
    missing for an unknown one. ``gyro`` is the gyro that corrects, empty for stick cards.
    ``channel`` is the channel that the stick comes on, where it is known. ``because`` holds the
    declarations that the way rests on.
    """

    surface: str
    servo: str
    card: str
    axis: Axis
    expected: ExpectedMovement
    way: Way | None
    words: str
    verdict: Verdict
    because: tuple[Because, ...] = ()
    need: Need | None = None
    gyro: str = ""
    channel: int | None = None


def expected_movements(setup: Setup) -> tuple[ExpectedSurface, ...]:
    """Return what every surface with a direction must do, in the order of the file.

    Surfaces that no stick steers and no gyro steadies (gear, brakes, airbrakes) are left out.
    """
    sensed: set[Axis] = {axis for gyro in setup.of_kind("gyro") for axis in _senses(gyro.part)}
    found = [_expected(setup, name, surface, sensed) for name, surface in setup.surfaces.items()]
    return tuple(surface for surface in found if surface is not None)


def actual_movements(aircraft: "Aircraft") -> tuple[ActualMovement, ...]:
    """Return what every servo of every such surface makes of each card that concerns it.

    Hand cards on which a surface must stay still are given only where it moves all the same.
    """
    return aircraft.senses.movements


def is_steered(entry: ChannelEntry) -> bool:
    """True for a channel that drives what a stick steers the aircraft with."""
    functions = map(control_function, entry.channel.drives)
    return any(STEERED_IN.get(function or "") for function in functions)


def side_of(name: str, surface: Surface) -> Side | None:
    """Return the side that a surface is declared to be on, or that its name or function says."""
    if surface.side is not None:
        return surface.side
    words = f"{name} {surface.function or ''}".lower().replace("_", " ").replace("-", " ").split()
    left, right = "left" in words, "right" in words
    if left == right:
        return None
    return "left" if left else "right"


def named_by(words: str, name: str, surface: Surface) -> bool:
    """True where ``words`` of a mix name a surface, or its function on its side."""
    if words == name:
        return True
    function = control_function(surface.function or name)
    side, own = _side_in(words), side_of(name, surface)
    return control_function(words) == function and (side is None or side == own)


def _side_in(words: str) -> Side | None:
    plain = words.lower().replace("_", " ").replace("-", " ").split()
    if ("left" in plain) == ("right" in plain):
        return None
    return "left" if "left" in plain else "right"


def _senses(part: Part) -> tuple[Axis, ...]:
    return part.senses if part.kind == "gyro" else ()


def _expected(
    setup: Setup, name: str, surface: Surface, sensed: set[Axis]
) -> ExpectedSurface | None:
    function = control_function(surface.function or name) or ""
    plane = _plane(function, surface)
    declared = surface.steadied_in is not None
    steered_in = STEERED_IN.get(plane, ())
    usual = steered_in if plane in _STEADIED else ()
    steadied = surface.steadied_in or tuple(axis for axis in usual if axis in sensed)
    need: Need | None
    if plane in _UNSETTLED:
        need = Need(setup.place("surfaces", name, "function"), _UNSETTLED[plane].format(name))
    elif not steadied and not steered_in:
        return None
    else:
        need = _lacking(setup, name, surface, plane, (*steered_in, *steadied))
    side = side_of(name, surface)
    found = ExpectedSurface(
        name, plane, side, surface.servo, steadied, declared, steered_in, moving_part(plane, side)
    )
    if need is not None:
        return found._replace(needs=(need,))
    return found._replace(hand=_hand(found), sticks=_sticks(setup, surface, found))


def _plane(function: str, surface: Surface) -> str:
    """Return the function of a surface, for a nozzle with the plane in which it moves."""
    if function != "nozzle":
        return function
    axes = [axis for axis in surface.steadied_in or () if axis != "roll"]
    if len(axes) == 1:
        return f"{axes[0]} nozzle"
    if surface.longer_pulse is None:
        return function
    return "pitch nozzle" if surface.longer_pulse in {"up", "down"} else "yaw nozzle"


_UNSETTLED: Final = {
    "nozzle": "whether `{0}` moves in pitch or in yaw: name it `pitch nozzle` or `yaw nozzle`",
    "steering": "whether `{0}` is a `nose wheel` or a `tail wheel`",
}
"""Functions that do not say which way is which."""


def _lacking(
    setup: Setup, name: str, surface: Surface, function: str, axes: tuple[Axis, ...]
) -> Need | None:
    if moving_part(function, side_of(name, surface)) is None:
        return Need(setup.place("surfaces", name), f"a function of `{name}` that a turn acts on")
    if needs_side(function, axes) and side_of(name, surface) is None:
        return Need(setup.place("surfaces", name), f"which `side` `{name}` is on")
    return None


def _hand(surface: ExpectedSurface) -> tuple[ExpectedMovement, ...]:
    if not surface.steadied_in or surface.part is None:
        return ()
    return tuple(
        _movement(surface.part, card, following(surface.part, axis, sign))
        if axis in surface.steadied_in
        else ExpectedMovement(card, None, STILL)
        for card, (axis, sign) in HAND_CARDS.items()
    )


def _sticks(setup: Setup, surface: Surface, found: ExpectedSurface) -> tuple[ExpectedMovement, ...]:
    if not found.steered_in or found.part is None:
        return ()
    part = found.part
    return tuple(
        _movement(part, card, commanding(part, axis, sign))
        if axis in found.steered_in
        else ExpectedMovement(card, None, STILL)
        for card, (axis, sign) in STICK_CARDS.items()
        if axis in found.steered_in or not _mixed_in(setup, found.name, surface, axis)
    )


def _movement(part: MovingPart, card: str, way: Way | None) -> ExpectedMovement:
    return ExpectedMovement(card, way, in_words(part, way))


def in_words(part: MovingPart, way: Way | None) -> str:
    """Return how a card says that ``part`` moves this way."""
    return part.phrase.format(way) if way else STILL


STICK_OF: Final[Mapping[str, Axis]] = {"aileron": "roll", "elevator": "pitch", "rudder": "yaw"}
"""The stick that each function of a mix follows."""


def _mixed_in(setup: Setup, name: str, surface: Surface, axis: Axis) -> bool:
    boxes = [fitted.device.mixes or () for fitted in setup.devices.values()]
    return any(
        STICK_OF.get(control_function(mix.from_) or "") == axis and named_by(words, name, surface)
        for mixes in (setup.radio.mixes or (), *boxes)
        for mix in mixes
        for words in mix.to
    )
