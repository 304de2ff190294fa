"""The balance of an aircraft: datum, allowed range, weighings, tanks and what can be moved.

Stations are along the body from the datum, aft positive, and may be negative.
"""

from typing import Annotated, Any, Final, Literal

from pydantic import Field

from holdshort.document import Node, Path
from holdshort.setup.base import Day, Items, Name, Names, Section, Text, Whole, short_for
from holdshort.setup.quantities import (
    DENSITY,
    LENGTH,
    MASS,
    SHARE,
    VOLUME,
    Length,
    Mass,
    Quantity,
    QuantityType,
    Station,
    Volume,
)
from holdshort.setup.reader import EntryReader

MassOrZero = Annotated[Quantity, QuantityType(MASS, zero=True)]
LengthOrZero = Annotated[Quantity, QuantityType(LENGTH, zero=True)]
VolumeOrZero = Annotated[Quantity, QuantityType(VOLUME, zero=True)]
Density = Annotated[Quantity, QuantityType(DENSITY)]

_SHARE: Final = QuantityType(SHARE, zero=True)


class LimitType(QuantityType):
    """A place along the body as a station, or as a share of the chord."""

    __slots__ = ()

    @property
    def pattern(self) -> str:
        """The regular expression of either form."""
        return f"(?:{super().pattern})|(?:{_SHARE.pattern})"

    def read(self, value: object) -> Quantity:
        """Return ``value`` as a quantity: a station in metres, or a share as a number from 0 to 1.

        Raises :class:`pydantic_core.PydanticCustomError` saying what was expected.
        """
        if isinstance(value, str) and value.endswith("%"):
            return _SHARE.read(value)
        return super().read(value)


Limit = Annotated[Quantity, LimitType(LENGTH, signed=True)]
"""A place along the body: a station such as ``215 mm``, or a share of the chord such as ``27 %``.

A share is held as a number from 0 to 1: :func:`in_chord` tells them apart.
"""


def in_chord(limit: Quantity) -> bool:
    """True where a limit is a share of the chord, not a station."""
    return limit.text.endswith("%")


class Spot(Section):
    """A place in the airframe."""

    station: Station
    """Along the body from the datum, aft positive, in millimetres or inches."""
    side: Station | None = None
    """From the centre line, right positive, in millimetres or inches."""
    height: Station | None = None
    """From the datum, up positive, in millimetres or inches."""


ShortSpot = Annotated[Spot, short_for(Station | Spot, "station")]
"""A place; a station alone where side and height do not matter."""


class Range(Section):
    """Between which places the centre of gravity may lie, whatever the mass."""

    from_: Limit
    """The foremost place: a station, or a share of the chord from its leading edge."""
    to: Limit
    """The rearmost place: a station, or a share of the chord from its leading edge."""


class RangeAt(Range):
    """Between which places the centre of gravity may lie at one mass."""

    mass: Mass
    """The mass at which this range holds; between two of them it goes in a straight line."""


class Chord(Section):
    """The mean chord of the wing that shares are of."""

    length: Length
    """Its length, in millimetres or inches."""
    leading_edge: Station
    """The station of its leading edge."""


class Sideways(Section):
    """How far from the centre line the centre of gravity may lie."""

    left: LengthOrZero
    """How far to the left, in millimetres or inches."""
    right: LengthOrZero
    """How far to the right, in millimetres or inches."""


class Accuracy(Section):
    """How closely masses and places are measured: plus or minus this much at most."""

    load: MassOrZero | None = None
    """What one scale under the aircraft may be wrong by, in grams."""
    mass: MassOrZero | None = None
    """What the mass of a single thing may be wrong by; as `load` where it is not given."""
    station: LengthOrZero | None = None
    """What a station, side or height may be wrong by, in millimetres."""


class SupportPoint(Section):
    """One wheel or support on a scale."""

    load: MassOrZero
    """What its scale shows, in grams or kilograms."""
    tare: MassOrZero | None = None
    """What of that is blocks, straps or a cradle, in grams or kilograms."""
    station: Station | None = None
    """Where it touches the scale, along the body from the datum, aft positive."""
    side: Station | None = None
    """Where it touches the scale, from the centre line, right positive."""
    accuracy: MassOrZero | None = None
    """What this scale may be wrong by, where it is another than `accuracy` says."""


class Weighing(Section):
    """One weighing of the level aircraft, on all its wheels or supports."""

    on: Day
    """The day on which it was weighed."""
    points: Annotated[dict[Name, SupportPoint], Field(min_length=1)]
    """What each scale showed, by the name of the wheel or support."""
    fuel: Literal["empty", "header-full", "full"] | None = None
    """The fuel aboard: `empty` is drained to what cannot be used, `header-full` is the same with
    the tanks that stay full filled, `full` is all tanks filled."""
    tanks: dict[Name, VolumeOrZero] | None = None
    """The fuel aboard in single tanks, in litres, where that is not what `fuel` says."""
    gear: Literal["down", "up"] = "down"
    """Where a retractable undercarriage was."""
    without: Names | None = None
    """Devices or items that fly but were not aboard."""
    note: Text | None = None
    """Anything worth saying."""


class Item(Section):
    """One thing in a build-up, or one that was not aboard when the aircraft was weighed."""

    mass: Mass
    """Its mass, in grams or kilograms."""
    station: Station | None = None
    """Along the body from the datum, aft positive."""
    side: Station | None = None
    """From the centre line, right positive."""
    height: Station | None = None
    """From the datum, up positive."""
    changed: Day | None = None
    """When it was fitted, moved or last changed in mass."""


class Change(Section):
    """Something put in, taken out or moved since the aircraft was weighed."""

    on: Day
    """The day on which it was done; on the day of a weighing it counts as done before it."""
    mass: Mass
    """Its mass, in grams or kilograms."""
    in_: ShortSpot | None = None
    """Where it was put."""
    out: ShortSpot | None = None
    """Where it was taken from."""
    of: Name | None = None
    """The device or item that it is, where this entry has another name."""
    note: Text | None = None
    """Anything worth saying."""


class Tank(Section):
    """One tank."""

    capacity: Volume
    """What it holds, in litres."""
    station: Station | None = None
    """The middle of the fuel in it when it is full, along the body from the datum, aft positive."""
    station_empty: Station | None = None
    """The middle of the last of the fuel, where that is another; between them it goes with the
    fill."""
    side: Station | None = None
    """The middle of the fuel, from the centre line, right positive."""
    height: Station | None = None
    """The middle of the fuel, from the datum, up positive."""
    unusable: VolumeOrZero | None = None
    """What stays in it when the pump draws air, in litres."""
    order: Annotated[int, Whole(1, 20)] | None = None
    """When it is used: the tank with 1 first. Tanks with the same number are used together."""
    stays_full: bool = False
    """True for a header tank: it is used last, and full when the others are empty."""


class Leg(Section):
    """A part of a retractable undercarriage that moves along the body."""

    mass: Mass
    """The mass that moves, in grams or kilograms."""
    down: ShortSpot
    """The middle of that mass with the undercarriage down."""
    up: ShortSpot
    """The middle of that mass with the undercarriage up."""


class Movable(Section):
    """How far something may be moved along the body."""

    from_: Station | None = None
    """The foremost station where there is room for it."""
    to: Station | None = None
    """The rearmost station where there is room for it."""


class BallastPlace(Spot):
    """A place for ballast."""

    most: Mass | None = None
    """How much there is room for, in grams or kilograms."""


class Balance(Section):
    """Where the aircraft balances, and where it may."""

    datum: Text | None = None
    """The point from which stations are measured, aft positive, in words."""
    chord: Chord | None = None
    """The mean chord, where places are told as shares of it."""
    range: Range | None = None
    """Between which places the centre of gravity may lie."""
    envelope: Annotated[Items[RangeAt], Field(min_length=1)] | None = None
    """The same by mass, where it depends on it."""
    sideways: Annotated[Sideways, short_for(LengthOrZero | Sideways, "left", "right")] | None = None
    """How far to the side the centre of gravity may lie."""
    accuracy: Accuracy | None = None
    """How closely masses and places are measured."""
    weighings: dict[Name, Weighing] | None = None
    """The weighings, by a name of the owner's choosing. The newest counts."""
    items: dict[Name, Item] | None = None
    """What the aircraft is built up from where it was not weighed, with the devices that have a
    mass and a station; or things that a weighing was done without."""
    changes: dict[Name, Change] | None = None
    """What was put in, taken out or moved since the weighing."""
    tanks: dict[Name, Tank] | None = None
    """The tanks, by name."""
    fuel_density: Density | None = None
    """The mass of a litre of fuel."""
    landing_fuel: VolumeOrZero | None = None
    """All the fuel that is meant to be left at landing, a header tank included, in litres."""
    gear: dict[Name, Leg] | None = None
    """What of a retractable undercarriage moves along the body."""
    ballast: dict[Name, BallastPlace] | None = None
    """Places for ballast."""
    movable: dict[Name, Movable] | None = None
    """Devices or items that may be moved to balance the aircraft, and between which stations."""


_ENTRIES: Final[dict[str, type[Section]]] = {
    "weighings": Weighing,
    "items": Item,
    "changes": Change,
    "tanks": Tank,
    "gear": Leg,
    "ballast": BallastPlace,
    "movable": Movable,
}
"""What is read entry by entry, so that a mistake in one hides no other."""

SECTION: Final = "balance"


def read_balance(reader: EntryReader, value: Node) -> Balance:
    """Read the section setting by setting and entry by entry; those with mistakes are left out."""
    plain: dict[str, Node] = {}
    entries: dict[str, Any] = {}
    for key, item in reader.mapping(value, (SECTION,)).items():
        path: Path = (SECTION, key)
        if key in _ENTRIES:
            if item is not None:
                entries[key.replace("-", "_")] = reader.entries(_ENTRIES[key], item, path)
        elif reader.entry(Balance, {key: item}, (SECTION,), broken=path) is not None:
            plain[key] = item
    return Balance.read(plain).model_copy(update=entries)
