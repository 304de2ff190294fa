"""How far a surface moves, how large it is, and how its servo is linked to it."""

from typing import Annotated, Literal

from holdshort.setup.base import Section
from holdshort.setup.quantities import ANGLE, Angle, Length, Quantity, QuantityType, Share, Speed

Throw = Annotated[Quantity, QuantityType(ANGLE, zero=True)]
"""How far something turns from neutral: an angle without a sign."""


class Deflection(Section):
    """How far a surface goes from neutral."""

    each_way: Throw | None = None
    """How far its trailing edge goes each way, in degrees."""
    up: Throw | None = None
    """How far its trailing edge goes up, in degrees."""
    down: Throw | None = None
    """How far its trailing edge goes down, in degrees."""
    left: Throw | None = None
    """How far its trailing edge goes left, in degrees."""
    right: Throw | None = None
    """How far its trailing edge goes right, in degrees."""


class SurfaceSize(Section):
    """What the load of the air on a hinged surface depends on."""

    chord: Length | None = None
    """Mean chord of the surface behind its hinge line, in millimetres."""
    span: Length | None = None
    """Length of the surface along its hinge line, in millimetres."""
    of_chord: Length | None = None
    """Chord of the wing, tail or fin at the surface, the surface included, in millimetres."""
    balance: Share | None = None
    """Area ahead of the hinge line, in per cent of the area behind it; what it relieves is not
    counted."""
    speed: Speed | None = None
    """The highest speed at which the surface goes to its full throw, in metres per second; the top
    speed of the aircraft where absent, flaps excepted."""
    alpha: Throw | None = None
    """Angle of attack of the wing, tail or fin at that speed, in degrees; zero where absent."""
    share: Share | None = None
    """The most that one of several servos takes of the load, in per cent; equal shares where
    absent."""


class Linkage(Section):
    """How an arm, a pushrod and a horn join a servo to its surface, measured at neutral."""

    arm: Length | None = None
    """From the axis of the servo to the hole in its arm, in millimetres."""
    horn: Length | None = None
    """From the hinge line to the hole in the horn, in millimetres."""
    arm_angle: Angle | None = None
    """How far the arm is off square to the pushrod, toward the surface positive, in degrees."""
    horn_angle: Angle | None = None
    """How far the horn is off square to the pushrod, away from the servo positive, in degrees."""
    pushrod: Length | None = None
    """From the hole in the arm to the hole in the horn, in millimetres."""
    pushes: Literal["up", "down", "left", "right"] | None = None
    """Which way the trailing edge goes when the pushrod pushes."""
    swing: Throw | None = None
    """How far the arm turns each way at full command, measured, in degrees."""
