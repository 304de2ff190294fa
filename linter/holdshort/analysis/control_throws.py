"""How far each surface goes from neutral, and what its linkage makes of that.

The declared deflection counts first, then the measured swing of the arm, then the pulses of the
servo's channel at the throw that its sheet states.
"""

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final, Literal, NamedTuple

from holdshort.analysis.channel_ends import ChannelEnd, pulse_at
from holdshort.analysis.facts import Need
from holdshort.analysis.linkage import Driven, LinkGeometry, LinkTravel, travel
from holdshort.analysis.pulses import HIGH, LOW, NEUTRAL, modes_of
from holdshort.analysis.surface_motion import OPPOSITE, Way
from holdshort.setup.linkages import Linkage
from holdshort.setup.parts import Servo
from holdshort.setup.sections import Surface

if TYPE_CHECKING:
    from holdshort.analysis.aircraft import Aircraft

EACH_WAY: Final = "each way"
WAYS: Final[tuple[Way, ...]] = ("up", "down", "left", "right")

From = Literal["deflection", "swing", "travel"]


class ControlThrow(NamedTuple):
    """A turn from neutral, rad without sign: of the surface, or of the servo's arm.

    ``way`` says which way the trailing edge goes: one of :data:`WAYS`, or ``each way`` where that
    is not said. ``told_by`` is what gives it.
    """

    way: str
    turn: float
    driven: Driven
    told_by: From


class ThrowTravel(NamedTuple):
    """A linkage through one throw.

    ``pushing`` is None where it is not known whether the pushrod pushes; ``unsure`` where both ways
    round were therefore tried, since they differ.
    """

    throw: ControlThrow
    pushing: bool | None
    unsure: bool
    travel: LinkTravel

    @property
    def way(self) -> str:
        """Which way the trailing edge goes, for messages: `` up``, or nothing."""
        return "" if self.throw.way == EACH_WAY else f" {self.throw.way}"

    @property
    def reached(self) -> float:
        """How far the surface gets, rad without sign."""
        positions = self.travel.positions
        return abs(positions[-1].surface) if positions else 0.0


def control_throws(aircraft: "Aircraft", name: str) -> tuple[ControlThrow, ...] | Need:
    """Return the throws of the surface called ``name``, those of zero left out, or a need."""
    surface = aircraft.setup.surfaces[name]
    found = tuple(_declared(surface))
    if not found and surface.linkage is not None and surface.linkage.swing:
        swing = float(surface.linkage.swing)
        found = (ControlThrow(EACH_WAY, swing, "arm", "swing"),)
    if not found:
        found = tuple(_by_pulses(aircraft, surface))
    return found or Need(aircraft.setup.place("surfaces", name), "`deflection`")


def geometry(linkage: Linkage | None) -> LinkGeometry | None:
    """Return the geometry of a declared linkage; None where arm or horn is not declared."""
    if linkage is None or linkage.arm is None or linkage.horn is None:
        return None
    return LinkGeometry(
        float(linkage.arm),
        float(linkage.horn),
        float(linkage.arm_angle or 0.0),
        float(linkage.horn_angle or 0.0),
        float(linkage.pushrod) if linkage.pushrod is not None else None,
    )


def throw_travels(
    link: LinkGeometry, pushes: str | None, throws: tuple[ControlThrow, ...]
) -> tuple[ThrowTravel, ...]:
    """Return the linkage through each throw, both ways for one that is the same each way.

    Both ways round are tried where it is not said which way the surface goes when the pushrod
    pushes, and they differ.
    """
    even = link.pushrod is None and not link.arm_angle and not link.horn_angle
    found: list[ThrowTravel] = []
    for throw in throws:
        signs = _signs(pushes, throw.way)
        for sign in signs[:1] if even else signs:
            unknown = throw.way != EACH_WAY and len(signs) > 1
            end = travel(link, math.copysign(throw.turn, sign), throw.driven)
            one = throw if even else throw._replace(way=_way(pushes, throw.way, sign))
            found.append(ThrowTravel(one, None if unknown else sign > 0, unknown and not even, end))
    return tuple(found)


def show_angle(angle: float) -> str:
    """Return an angle in rad for messages, in degrees to a tenth: ``22 deg``."""
    return f"{math.degrees(angle):.1f}".removesuffix(".0") + " deg"


def _way(pushes: str | None, way: str, sign: float) -> str:
    """Return which way the trailing edge goes where a throw is the same each way."""
    if way != EACH_WAY or pushes not in WAYS:
        return way
    return pushes if sign > 0 else OPPOSITE[pushes]


def _signs(pushes: str | None, way: str) -> tuple[float, ...]:
    if pushes is None or way not in WAYS or pushes not in (way, OPPOSITE[way]):
        return 1.0, -1.0
    return (1.0,) if way == pushes else (-1.0,)


def _declared(surface: Surface) -> Iterator[ControlThrow]:
    declared = surface.deflection
    if declared is None:
        return
    for way in WAYS:
        turn = getattr(declared, way)
        if turn:
            yield ControlThrow(way, float(turn), "surface", "deflection")
    if declared.each_way:
        yield ControlThrow(EACH_WAY, float(declared.each_way), "surface", "deflection")


def _by_pulses(aircraft: "Aircraft", surface: Surface) -> Iterator[ControlThrow]:
    """Yield the throws that the pulses of the first servo with a known throw give."""
    for name in surface.servo:
        servo = aircraft.setup.devices.get(name)
        if servo is None or not isinstance(servo.part, Servo) or servo.part.throw is None:
            continue
        rate = servo.part.throw.angle / servo.part.throw.pulse
        changes = [
            change
            for end in aircraft.channel_ends
            if end.device.name == name
            for change in _pulse_changes(aircraft, end)
        ]
        longer = surface.longer_pulse
        if longer is not None and name in (surface.mirrored or ()):
            longer = OPPOSITE[longer]
        ways = (longer or EACH_WAY, OPPOSITE[longer] if longer else EACH_WAY)
        turns = (max(changes, default=0.0), -min(changes, default=0.0))
        for way, turn in zip(ways, turns, strict=True):
            if turn > 0.0 and rate > 0.0:
                yield ControlThrow(way, turn * rate, "arm", "travel")
        return


def _pulse_changes(aircraft: "Aircraft", end: ChannelEnd) -> Iterator[float]:
    """Yield how much the pulse changes from neutral at the ends of a channel, s, in each mode."""
    if end.channel is None:
        return
    for mode in modes_of(aircraft.setup, end.channel):
        rest = pulse_at(aircraft.setup, end, NEUTRAL, mode)
        for command in (LOW, HIGH):
            pulse = pulse_at(aircraft.setup, end, command, mode)
            if not isinstance(pulse, Need) and not isinstance(rest, Need):
                yield pulse - rest
