"""What the air asks of every servo, and what the servo has: hinge moment, linkage, torque.

The moment is that of thin-aerofoil theory (:mod:`holdshort.analysis.hinge_moment`) at the speed at
which the surface goes to its full throw, the linkage turns it into a torque at the servo
(:mod:`holdshort.analysis.linkage`), and the servo has what its sheet states at the lowest voltage
that the solved power network gives it in the air (:mod:`holdshort.analysis.servo_torque`).

The moment is an upper estimate: two-dimensional, linear, without a balance area. Friction in hinge
and linkage is left out. N m, rad, m/s, Pa; everything assumed is said in words.
"""

from collections.abc import Iterator
from functools import cached_property
from typing import TYPE_CHECKING, Final, NamedTuple

from holdshort.analysis.air import ZERO_CELSIUS, density, dynamic_pressure
from holdshort.analysis.control_throws import (
    ThrowTravel,
    control_throws,
    geometry,
    throw_travels,
)
from holdshort.analysis.facts import Need
from holdshort.analysis.hinge_moment import hinge_coefficient, hinge_moment, hinge_slopes
from holdshort.analysis.linkage import LinkGeometry
from holdshort.analysis.servo_torque import ServoTorque, servo_torque
from holdshort.setup import Place, Quantity, Setup
from holdshort.setup.functions import control_function
from holdshort.setup.linkages import SurfaceSize
from holdshort.setup.sections import Surface

if TYPE_CHECKING:
    from holdshort.analysis.aircraft import Aircraft

STEERING: Final = (
    "aileron", "elevator", "rudder", "elevon", "taileron", "flaperon", "ruddervator", "v-tail",
    "inverted v-tail", "canard",
)  # fmt: skip
"""Functions of the surfaces that steer in the air."""
HINGED: Final = (*STEERING, "flap")
"""Functions whose surfaces are flaps in the sense of thin-aerofoil theory."""
ALL_MOVING: Final = "taileron"
"""A surface that turns as a whole, which a theory of hinged flaps does not fit."""

ATTACHED_FLOW: Final = (
    "the load is that of thin-aerofoil theory: attached flow on a long thin section, so an upper "
    "estimate, the more so at large angles"
)
NO_FRICTION: Final = "friction in hinge and linkage is not counted"
STANDARD_AIR: Final = "air of the standard atmosphere at sea level, 15 degC (`aircraft.field`)"


class Air(NamedTuple):
    """The air at the field: its density in kg/m3, and in words how that follows."""

    density: float
    words: str
    assumed: bool


class LoadPoint(NamedTuple):
    """One moment of a travel: turns in rad without sign, moment of the whole surface, torque.

    ``torque`` is what the servo with the largest share needs, N m.
    """

    surface: float
    arm: float
    moment: float
    torque: float


class LoadedTravel(NamedTuple):
    """One throw of a surface with its loads, from neutral on."""

    link: ThrowTravel
    points: tuple[LoadPoint, ...]

    @property
    def peak(self) -> LoadPoint | None:
        """The point at which most torque is needed."""
        return max(self.points, key=lambda point: point.torque, default=None)


class SurfaceLoads(NamedTuple):
    """One surface: its linkage through its throws, its loads, and the torque of its servos.

    - ``gaps``: keys under the surface that are missing to know its linkage;
    - ``load_gaps``: those that are missing to know its loads beside them;
    - ``needs``: what is missing for its loads elsewhere;
    - ``travels``: the linkage through each throw, empty where that is not known;
    - ``loaded``: the same with loads, empty where they are not known;
    - ``torques``: what each servo has, or what is missing to know it;
    - ``speed`` (m/s) and ``pressure`` (Pa) are those of the load; ``assumptions`` says in words
      what was taken where nothing is declared.
    """

    name: str
    function: str
    servos: tuple[str, ...]
    share: float
    link: LinkGeometry | None
    gaps: tuple[str, ...]
    load_gaps: tuple[str, ...]
    needs: tuple[Need, ...]
    travels: tuple[ThrowTravel, ...]
    loaded: tuple[LoadedTravel, ...]
    torques: tuple[ServoTorque | tuple[Need, ...], ...]
    speed: float | None
    pressure: float | None
    assumptions: tuple[str, ...]

    @property
    def hinged(self) -> bool:
        """True for a surface whose load this theory gives, or that steers in the air."""
        return self.function in HINGED

    @property
    def stopped(self) -> tuple[ThrowTravel, ...]:
        """The throws that the linkage cannot go to."""
        return tuple(link for link in self.travels if link.travel.dead_centre)

    @property
    def worst(self) -> tuple[LoadedTravel, LoadPoint] | None:
        """The throw and the point at which most torque is needed."""
        peaks = [(loaded, loaded.peak) for loaded in self.loaded]
        found = [(loaded, peak) for loaded, peak in peaks if peak is not None]
        return max(found, key=lambda pair: pair[1].torque, default=None)

    @property
    def weakest(self) -> ServoTorque | None:
        """The servo that has least torque; None where that of any is not known."""
        known = [torque for torque in self.torques if isinstance(torque, ServoTorque)]
        if len(known) < len(self.torques):
            return None
        return min(known, key=lambda one: one.torque, default=None)

    @property
    def torque_needs(self) -> tuple[Need, ...]:
        """What is missing to know the torque of its servos; a voltage may then be lower."""
        found: dict[Need, None] = {}
        for torque in self.torques:
            needs = torque.needs if isinstance(torque, ServoTorque) else torque
            found.update(dict.fromkeys(needs))
        return tuple(found)

    @property
    def margin(self) -> float | None:
        """What the weakest servo has for each unit that it needs; None where not known."""
        worst, weakest = self.worst, self.weakest
        if worst is None or weakest is None or worst[1].torque <= 0.0:
            return None
        return weakest.torque / worst[1].torque


class ControlLoads:
    """The loads of every surface of one aircraft, worked out when asked for."""

    def __init__(self, aircraft: "Aircraft") -> None:
        """Hold the aircraft."""
        self.aircraft = aircraft
        self.setup: Setup = aircraft.setup

    @cached_property
    def air(self) -> Air | Need:
        """The air at the field, or what is wrong with what is declared of it."""
        declared = self.setup.aircraft.field if self.setup.aircraft else None
        height = declared.height if declared else None
        degrees = declared.temperature if declared else None
        try:
            found = density(
                float(height or 0.0), None if degrees is None else degrees + ZERO_CELSIUS
            )
        except ValueError:
            place = self.setup.place("aircraft", "field")
            return Need(place, "a `field` on Earth: its height above sea level and temperature")
        if height is None and degrees is None:
            return Air(found, STANDARD_AIR, assumed=True)
        level = height.text if height is not None else "sea level (taken)"
        warmth = degrees.text if degrees is not None else "the standard temperature (taken)"
        return Air(found, f"air at {level} and {warmth}", height is None or degrees is None)

    @cached_property
    def surfaces(self) -> tuple[SurfaceLoads, ...]:
        """Every surface that steers in the air, is a flap, or has a linkage declared."""
        return tuple(
            self._surface(name, surface)
            for name, surface in self.setup.surfaces.items()
            if self.function(name) in HINGED or surface.linkage is not None
        )

    def with_horn(self, name: str, horn: float) -> SurfaceLoads:
        """Return a surface as it would be with a horn of another length, m."""
        surface = self.setup.surfaces[name]
        if surface.linkage is not None:
            length = Quantity(horn, f"{horn * 1e3:.1f} mm")
            linkage = surface.linkage.model_copy(update={"horn": length})
            surface = surface.model_copy(update={"linkage": linkage})
        return self._surface(name, surface)

    def longer_horn(self, study: SurfaceLoads, margin: float, clear: float) -> SurfaceLoads | None:
        """Return a surface with the horn that its servo would do with, or None: see there."""
        from holdshort.analysis.load_remedies import horn_that_serves  # noqa: PLC0415  - if asked

        return horn_that_serves(self, study, margin, clear)

    def function(self, name: str) -> str:
        """Return the control function of a surface, or nothing."""
        return control_function(self.setup.surfaces[name].function or name) or ""

    def _surface(self, name: str, surface: Surface) -> SurfaceLoads:
        throws = control_throws(self.aircraft, name)
        link = geometry(surface.linkage)
        pushes = surface.linkage.pushes if surface.linkage else None
        gaps = tuple(_link_gaps(surface, known=not isinstance(throws, Need)))
        travels = (
            () if link is None or isinstance(throws, Need) else throw_travels(link, pushes, throws)
        )
        return self._with_loads(name, surface, link, gaps, travels)

    def _with_loads(
        self,
        name: str,
        surface: Surface,
        link: LinkGeometry | None,
        gaps: tuple[str, ...],
        travels: tuple[ThrowTravel, ...],
    ) -> SurfaceLoads:
        function = self.function(name)
        hinged = function in HINGED
        share = _share(surface)
        speed = self._speed(surface, function)
        load_gaps = tuple(_load_gaps(surface, function)) if hinged else ()
        needs = tuple(self._needs(name, surface, function, speed)) if hinged else ()
        pressure = self._pressure(speed)
        known = hinged and not (gaps or load_gaps or needs)
        loaded: tuple[LoadedTravel, ...] = ()
        if known and pressure is not None and surface.loads is not None:
            loaded = tuple(_loaded(link_, surface.loads, pressure, share) for link_ in travels)
        return SurfaceLoads(
            name=name,
            function=function,
            servos=surface.servo,
            share=share,
            link=link,
            gaps=gaps,
            load_gaps=load_gaps,
            needs=needs,
            travels=travels,
            loaded=loaded,
            torques=tuple(self._torques(surface)),
            speed=speed,
            pressure=pressure if hinged else None,
            assumptions=tuple(self._assumptions(surface, travels, known=known)),
        )

    def _speed(self, surface: Surface, function: str) -> float | None:
        own = surface.loads.speed if surface.loads else None
        if own is not None:
            return float(own)
        top = self.setup.aircraft.top_speed if self.setup.aircraft else None
        return None if function == "flap" or top is None else float(top)

    def _pressure(self, speed: float | None) -> float | None:
        air = self.air
        return (
            None if speed is None or isinstance(air, Need) else dynamic_pressure(air.density, speed)
        )

    def _needs(
        self, name: str, surface: Surface, function: str, speed: float | None
    ) -> Iterator[Need]:
        place = self.setup.place("surfaces", name)
        size = surface.loads
        if function == ALL_MOVING:
            yield Need(place, "a theory for surfaces that turn as a whole, which is not here")
        elif size and size.chord and size.of_chord and size.chord >= size.of_chord:
            text = f"a `chord` of `{name}` behind the hinge that is less than its `of-chord`"
            yield Need(Place(place.file, (*place.path, "loads", "chord")), text)
        if speed is None and function != "flap":
            declared = "aircraft" in self.setup.sections
            root = self.setup.place("aircraft") if declared else self.setup.place()
            yield Need(root, "the `top-speed` of the aircraft")
        if isinstance(self.air, Need):
            yield self.air

    def _torques(self, surface: Surface) -> Iterator[ServoTorque | tuple[Need, ...]]:
        for name in surface.servo:
            servo = self.setup.devices.get(name)
            if servo is None:
                yield (Need(self.setup.place("devices"), f"what `{name}` is"),)
            else:
                yield servo_torque(self.aircraft.power, servo)

    def _assumptions(
        self, surface: Surface, travels: tuple[ThrowTravel, ...], *, known: bool
    ) -> Iterator[str]:
        """Say what was taken where nothing is declared, and what the theory leaves out."""
        if known:
            yield from self._of_the_air(surface)
        if travels and surface.linkage is not None:
            yield from _of_the_linkage(surface, travels)

    def _of_the_air(self, surface: Surface) -> Iterator[str]:
        yield ATTACHED_FLOW
        size = surface.loads or SurfaceSize.model_construct()
        if isinstance(self.air, Air) and self.air.assumed:
            yield self.air.words
        if size.alpha is None:
            yield "no angle of attack (`loads.alpha`)"
        if size.balance:
            yield f"the balance area of {size.balance.text} relieves nothing"
        if len(surface.servo) > 1 and size.share is None:
            yield "its servos share the load equally (`loads.share`)"


def _link_gaps(surface: Surface, *, known: bool) -> Iterator[str]:
    linkage = surface.linkage
    if linkage is None or linkage.arm is None:
        yield "`linkage.arm`"
    if linkage is None or linkage.horn is None:
        yield "`linkage.horn`"
    if not known:
        yield "`deflection`"


def _load_gaps(surface: Surface, function: str) -> Iterator[str]:
    size = surface.loads
    if function == ALL_MOVING:
        return
    for key in ("chord", "span", "of_chord"):
        if size is None or getattr(size, key) is None:
            yield f"`loads.{key.replace('_', '-')}`"
    if function == "flap" and (size is None or size.speed is None):
        yield "`loads.speed`, the highest speed at which it is lowered"


def _share(surface: Surface) -> float:
    """Return the largest share of the load that one servo takes.

    Equal shares where none is declared: common practice, no source.
    """
    count = len(surface.servo)
    declared = surface.loads.share if surface.loads else None
    if count == 1:
        return 1.0
    return 1.0 / count if declared is None else min(max(float(declared), 1.0 / count), 1.0)


def _of_the_linkage(surface: Surface, travels: tuple[ThrowTravel, ...]) -> Iterator[str]:
    linkage = surface.linkage
    yield NO_FRICTION
    if linkage is None:
        return
    if linkage.pushrod is None:
        yield "a pushrod so long that it stays parallel to itself (`linkage.pushrod`)"
    square = [key for key in ("arm", "horn") if getattr(linkage, f"{key}_angle") is None]
    if square:
        keys = " and ".join(f"`linkage.{key}-angle`" for key in square)
        yield f"{' and '.join(square)} square to the pushrod at neutral ({keys})"
    if any(link.unsure for link in travels):
        yield "the worse way round, for it is not said which way it `pushes` (`linkage.pushes`)"


def _loaded(link: ThrowTravel, size: SurfaceSize, pressure: float, share: float) -> LoadedTravel:
    """Return one throw with its loads; the angle of attack adds to the load whatever its sign."""
    chord, span, of_chord = (float(size.chord or 0), float(size.span or 0), size.of_chord)
    slopes = hinge_slopes(chord / float(of_chord or 1.0))
    alpha = float(size.alpha or 0.0)
    points: list[LoadPoint] = []
    for position in link.travel.positions:
        turn = abs(position.surface)
        coefficient = abs(hinge_coefficient(slopes, turn, alpha))
        moment = hinge_moment(pressure, span, chord, coefficient)
        torque = moment * position.ratio * share
        points.append(LoadPoint(turn, abs(position.arm), moment, torque))
    return LoadedTravel(link, tuple(points))
