"""From a stick or a turn to a trailing edge: every link that can turn the sense round.

A stick: its movement makes the pulse of a channel that is not reversed longer or shorter
(``radio.sense``); the channel may be reversed, a mix may subtract, each box on the way may reverse
its output; the servo makes the trailing edge go one way for a longer pulse (``longer-pulse``), the
other way where it is mirrored.

A gyro: the true turn is felt through its mounting and what it was told about it (believed =
told * mounting^-1 * true, see :mod:`holdshort.analysis.mounting`). A gyro of *fixed* correction
makes its output longer or shorter for a believed turn (``normal-gives``), turned round where that
axis is set to reversed, and from its output on the way to the trailing edge is that of the stick.
A gyro of *learned* correction opposes, when set to normal, whatever the stick that asks for the
believed turn does to the surface: reversals and linkages cancel, for it learned them.
"""

from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property
from typing import Final, NamedTuple

from holdshort.analysis.channel_ends import ChannelEnd, port_setting
from holdshort.analysis.facts import Because, Need
from holdshort.analysis.mounting import (
    Axis,
    AxisBelief,
    ImpossibleMountingError,
    beliefs,
    mounting_from_faces,
)
from holdshort.analysis.mounting import Direction as Facing
from holdshort.analysis.senses import (
    HAND_CARDS,
    STICK_CARDS,
    STICK_OF,
    ActualMovement,
    ExpectedMovement,
    ExpectedSurface,
    Verdict,
    expected_movements,
    in_words,
    named_by,
    side_of,
)
from holdshort.analysis.signals import GIVERS
from holdshort.analysis.surface_motion import OPPOSITE, STEERED_IN, Way
from holdshort.setup import ChannelEntry, Fitted, Place, Port, Setup
from holdshort.setup.functions import control_function
from holdshort.setup.sections import Mix, Surface

_STICK_WORDS: Final[Mapping[Axis, str]] = {
    "roll": "aileron stick",
    "pitch": "elevator stick",
    "yaw": "rudder stick",
}
_DEMAND: Final[Mapping[Axis, str]] = {
    axis: card for card, (axis, sign) in STICK_CARDS.items() if sign > 0
}


class Sense(NamedTuple):
    """A sign, +1 or -1, and the declarations it rests on."""

    sign: int
    because: tuple[Because, ...] = ()

    def then(self, other: "Sense") -> "Sense":
        """Return this link followed by another one."""
        return Sense(self.sign * other.sign, (*self.because, *other.because))


class Shove(NamedTuple):
    """One servo on one surface, with the way of its signal; ``end`` is None where none comes."""

    surface: ExpectedSurface
    servo: str
    end: ChannelEnd | None

    @property
    def way(self) -> tuple[Port, ...]:
        """The ports that its signal passes, from the receiver's to its own."""
        return self.end.way if self.end else ()


class SenseChains:
    """The links between sticks or turns and trailing edges of one aircraft."""

    def __init__(self, setup: Setup, ends_of_channels: Iterable[ChannelEnd]) -> None:
        """Find the way of the signal to each servo of each surface with a direction."""
        self.setup = setup
        self._ends = {end.device.name: end for end in ends_of_channels}
        self._beliefs: dict[tuple[str, Axis], AxisBelief | Need] = {}
        self.surfaces = expected_movements(self.setup)
        self.shoves = tuple(
            Shove(surface, servo, self._ends.get(servo))
            for surface in self.surfaces
            for servo in surface.servos
        )

    @cached_property
    def movements(self) -> tuple[ActualMovement, ...]:
        """Return what every servo makes of each card that concerns it."""
        return tuple(self._movements())

    def _movements(self) -> Iterator[ActualMovement]:
        for shove in self.shoves:
            for expected in shove.surface.sticks:
                if expected.way is not None:
                    yield self.by_stick(shove, expected)
            for expected in shove.surface.hand:
                found = self.by_hand(shove, expected)
                if expected.way is not None or found.verdict is Verdict.CROSSED:
                    yield found

    def by_stick(self, shove: Shove, expected: ExpectedMovement) -> ActualMovement:
        """Return what a servo makes of a stick."""
        axis, sign = STICK_CARDS[expected.card]
        entry = self._stick_channel(shove, axis)
        channel = None if isinstance(entry, Need) else entry.number
        blank = _blank(shove, axis, expected, channel=channel)
        sense = self.stick_sense(shove, axis)
        if isinstance(sense, Need):
            return blank._replace(need=sense)
        moved = self._edge(shove, sense, sign)
        if isinstance(moved, Need):
            return blank._replace(need=moved)
        way, because = moved
        verdict = Verdict.RIGHT if way == expected.way else Verdict.REVERSED
        return _moved(blank, shove, way, verdict, because)

    def by_hand(self, shove: Shove, expected: ExpectedMovement) -> ActualMovement:
        """Return what a servo makes of a turn of the airframe by hand."""
        axis, sign = HAND_CARDS[expected.card]
        gyros: dict[Axis, Fitted | None] = {
            own: self.gyro_for(shove, own) for own in shove.surface.steadied_in
        }
        blank = _blank(shove, axis, expected, gyro=_name(gyros.get(axis)))
        if shove.end is None:
            return blank._replace(need=self.unled(shove))
        if expected.way is not None and gyros.get(axis) is None:
            return blank._replace(verdict=Verdict.NOTHING, words="nothing")
        ways: list[Way] = []
        because: list[Because] = []
        for own, gyro in gyros.items():
            if gyro is None:
                continue
            answer = self._correction(shove, gyro, own, axis, sign)
            if isinstance(answer, Need):
                return blank._replace(need=answer)
            if answer is not None:
                ways.append(answer[0])
                because += answer[1]
        return self._compared(blank, shove, ways, tuple(because))

    def _compared(
        self,
        blank: ActualMovement,
        shove: Shove,
        ways: list[Way],
        because: tuple[Because, ...],
    ) -> ActualMovement:
        """Judge the ways in which the outputs for each axis move a surface for one turn."""
        expected = blank.expected.way
        if not ways:
            verdict = Verdict.RIGHT if expected is None else Verdict.CROSSED
            return _moved(blank, shove, None, verdict, because)
        if len(set(ways)) > 1 or expected is None:
            way = ways[0] if len(set(ways)) == 1 else None
            return _moved(blank, shove, way, Verdict.CROSSED, because)
        verdict = Verdict.RIGHT if ways[0] == expected else Verdict.REVERSED
        return _moved(blank, shove, ways[0], verdict, because)

    def _correction(
        self, shove: Shove, gyro: Fitted, own: Axis, axis: Axis, sign: int
    ) -> tuple[Way, tuple[Because, ...]] | Need | None:
        """Return what the output for ``own`` does for a true turn, None where it does nothing."""
        belief = self.belief(gyro, own)
        if isinstance(belief, Need):
            return belief
        if belief.driven_by != axis:
            return None
        sense = self.correction_sense(shove, gyro, own)
        if isinstance(sense, Need):
            return sense
        sits = _sits(gyro)
        return self._edge(shove, Sense(belief.sign, sits).then(sense), sign)

    def belief(self, gyro: Fitted, axis: Axis) -> AxisBelief | Need:
        """Return which true turn a gyro takes for one about ``axis``."""
        key = (gyro.name, axis)
        if key not in self._beliefs:
            self._beliefs[key] = self._believed(gyro, axis)
        return self._beliefs[key]

    def _believed(self, gyro: Fitted, axis: Axis) -> AxisBelief | Need:
        faces = (gyro.device.mounting, gyro.device.told)
        if faces[0] is None:
            return Need(gyro.at(), f"the `mounting` of `{gyro.name}`: how it really sits")
        if faces[1] is None:
            return Need(gyro.at(), f"what `{gyro.name}` has been `told` about how it sits")
        try:
            sits, told = (
                mounting_from_faces(
                    Facing(face.plugs),
                    Facing(face.label),
                    Facing(face.right) if face.right else None,
                )
                for face in faces
                if face is not None
            )
        except ImpossibleMountingError:
            return Need(gyro.at("mounting"), f"a possible mounting of `{gyro.name}`")
        return next(belief for belief in beliefs(sits, told) if belief.axis == axis)

    def correction_sense(self, shove: Shove, gyro: Fitted, axis: Axis) -> Sense | Need:
        """Return whether a believed positive turn makes the servo's pulse longer (+1)."""
        part = gyro.part
        kind = part.correction if part.kind == "gyro" else None
        if kind is None:
            place = gyro.part_place()
            return Need(place, f"the `correction` of `{gyro.name}`: learned or fixed")
        flag = (gyro.device.directions or {}).get(axis)
        if flag is None:
            place = gyro.at("directions")
            return Need(place, f"whether `{gyro.name}` is set to normal or reversed in {axis}")
        setting = Because(gyro.at("directions", axis), f"set to {flag} in {axis}")
        turned = Sense(1 if flag == "normal" else -1, (setting,))
        if kind == "fixed":
            return self._fixed(shove, gyro, axis, turned)
        if gyro.device.taught is None:
            return Need(gyro.at(), f"when `{gyro.name}` was last `taught`")
        stick = self.stick_sense(shove, axis)
        if isinstance(stick, Need):
            return stick
        return (
            Sense(-1, (Because(gyro.at("taught"), "opposes the stick it learned"),))
            .then(turned)
            .then(stick)
        )

    def _fixed(self, shove: Shove, gyro: Fitted, axis: Axis, turned: Sense) -> Sense | Need:
        part = gyro.part
        gives = (part.normal_gives or {}).get(axis) if part.kind == "gyro" else None
        if gives is None:
            return Need(
                gyro.part_place(), f"what an output of `{gyro.name}` does in {axis} (normal-gives)"
            )
        place = gyro.part_place("normal-gives", axis)
        sense = Sense(
            1 if gives == "longer" else -1,
            (Because(place, f"normal gives a {gives} pulse in {axis}"),),
        )
        mixed = self._box_mix(shove, axis, only=gyro.name)
        if mixed is not None:
            sense = sense.then(_mix_sense(mixed[1], mixed[0]))
        return sense.then(turned).then(self._reversals(after(shove.way, gyro.name)))

    def gyro_for(self, shove: Shove, axis: Axis) -> Fitted | None:
        """Return the gyro nearest to a servo on the way of its signal that senses ``axis``."""
        for port in reversed(shove.way):
            box = self.setup.devices[port.device]
            if box.part.kind == "gyro" and axis in box.part.senses:
                return box
        return None

    def stick_sense(self, shove: Shove, axis: Axis) -> Sense | Need:
        """Return whether the stick that asks for a positive turn makes the pulse longer (+1)."""
        way = self.relative_sense(shove, axis)
        if isinstance(way, Need):
            return way
        senses = self.setup.radio.sense
        if senses is None:
            place = self.setup.place("radio", "sense")
            return Need(place, "the `sense` of the radio: what its channels give for each stick")
        given = senses.get(axis)
        place = self.setup.place("radio", "sense", axis)
        if given is None:
            text = f"what a channel that is not reversed gives for {_DEMAND[axis]} (`radio.sense`)"
            return Need(place, text)
        start = Because(place, f"{_DEMAND[axis]} gives a {given} pulse")
        return Sense(1 if given == "longer" else -1, (start,)).then(way)

    def relative_sense(self, shove: Shove, axis: Axis | None) -> Sense | Need:
        """Return the sense from the stick's own channel sense to the servo's pulse.

        Without an axis: from the channel's, for surfaces that no stick with a turn moves.
        """
        if shove.end is None:
            return self.unled(shove)
        mixed = self._box_mix(shove, axis) if axis else None
        if mixed is not None:
            entry = self._channel_of(control_function(mixed[1].from_) or "")
            if entry is None:
                return Need(mixed[0], f"the channel that drives `{mixed[1].from_}`")
            start = _channel_sense(entry).then(_mix_sense(mixed[1], mixed[0]))
            return start.then(self._reversals(shove.way))
        own = self.entry(shove)
        if isinstance(own, Need):
            return own
        share = self._share(shove, own, axis) if axis else Sense(1)
        if isinstance(share, Need):
            return share
        return _channel_sense(own).then(share).then(self._reversals(shove.way))

    def unled(self, shove: Shove) -> Need:
        """Return what is missing for a servo to which no signal comes."""
        place = self.setup.place("devices", shove.servo)
        return Need(place, f"a lead that brings `{shove.servo}` a signal")

    def entry(self, shove: Shove) -> ChannelEntry | Need:
        """Return the channel whose pulse comes to a servo."""
        end = shove.end
        if end is None or end.channel is None:
            place = self.setup.place("devices", shove.servo)
            unknown = Need(place, f"the channel that comes to `{shove.servo}`")
            return end.need or unknown if end else unknown
        entry = self.setup.channels.get(end.channel)
        if entry is None:
            place = self.setup.place("radio", "channels")
            return Need(place, f"what channel {end.channel} drives, which comes to `{shove.servo}`")
        return entry

    def twins(self) -> tuple[tuple[Shove, ...], ...]:
        """Return the servos of every surface that has several, with a direction or without one."""
        known = {surface.name: surface for surface in self.surfaces}
        return tuple(
            tuple(
                Shove(known.get(name) or _plain(name, surface), servo, self._ends.get(servo))
                for servo in surface.servo
            )
            for name, surface in self.setup.surfaces.items()
            if len(surface.servo) > 1
        )

    def steadied_channels(self, gyro: Fitted) -> tuple[ChannelEntry, ...] | Need:
        """Return the channels of the surfaces that ``gyro`` steadies, in order of number."""
        found: dict[int, ChannelEntry] = {}
        for shove in self.shoves:
            for axis in shove.surface.steadied_in:
                if self.gyro_for(shove, axis) != gyro:
                    continue
                entry = self._stick_channel(shove, axis)
                if isinstance(entry, Need):
                    return entry
                found[entry.number] = entry
        return tuple(found[number] for number in sorted(found))

    def _stick_channel(self, shove: Shove, axis: Axis) -> ChannelEntry | Need:
        mixed = self._box_mix(shove, axis)
        if mixed is None:
            return self.entry(shove)
        entry = self._channel_of(control_function(mixed[1].from_) or "")
        return entry or Need(mixed[0], f"the channel that drives `{mixed[1].from_}`")

    def mixes_to(self, name: str) -> tuple[tuple[Place, Mix], ...]:
        """Return the mixes in the transmitter that bring a stick to a surface."""
        place = self.setup.place("radio", "mixes")
        return tuple(
            (where, mix)
            for where, mix in _mixes(self.setup.radio.mixes, place)
            if self._names(mix, name)
        )

    def box_mixes_to(self, box: Fitted, name: str) -> tuple[tuple[Place, Mix], ...]:
        """Return the mixes in a box that bring a stick to a surface."""
        return tuple(
            (where, mix)
            for where, mix in _mixes(box.device.mixes, box.at("mixes"))
            if self._names(mix, name)
        )

    def _names(self, mix: Mix, name: str) -> bool:
        surface = self.setup.surfaces[name]
        return any(named_by(words, name, surface) for words in mix.to)

    def _channel_of(self, function: str) -> ChannelEntry | None:
        return next(
            (
                entry
                for entry in self.setup.channels.values()
                if function in map(control_function, entry.channel.drives)
            ),
            None,
        )

    def _share(self, shove: Shove, entry: ChannelEntry, axis: Axis) -> Sense | Need:
        """Return the sign with which a stick comes onto a channel: by a mix, or as its own."""
        name = shove.surface.name
        for place, mix in _mixes(self.setup.radio.mixes, self.setup.place("radio", "mixes")):
            if self._reaches(mix, name, axis):
                return _mix_sense(mix, place)
        if any(axis in self._own_sticks(words) for words in entry.channel.drives):
            return Sense(1)
        place = self.setup.place("radio", "mixes")
        return Need(place, f"the mix that brings the {_STICK_WORDS[axis]} to `{name}`")

    def _own_sticks(self, words: str) -> tuple[Axis, ...]:
        """Return the stick of a function that has a single one."""
        function = self._functions.get(words) or control_function(words) or ""
        axes: tuple[Axis, ...] = STEERED_IN.get(function, ())
        if function == "steering":
            return ("yaw",)
        return axes if len(axes) == 1 else ()

    @cached_property
    def _functions(self) -> Mapping[str, str]:
        """What each surface with a direction does, by its name."""
        return {surface.name: surface.function for surface in self.surfaces}

    def _box_mix(self, shove: Shove, axis: Axis, only: str = "") -> tuple[Place, Mix] | None:
        """Return the mix in a box on the way that brings a stick to a surface."""
        for box in dict.fromkeys(port.device for port in reversed(shove.way)):
            if only and box != only:
                continue
            fitted = self.setup.devices[box]
            for place, mix in _mixes(fitted.device.mixes, fitted.at("mixes")):
                if self._reaches(mix, shove.surface.name, axis):
                    return place, mix
        return None

    def _reaches(self, mix: Mix, name: str, axis: Axis) -> bool:
        follows = STICK_OF.get(control_function(mix.from_) or "")
        return follows == axis and self._names(mix, name)

    def _reversals(self, way: Iterable[Port]) -> Sense:
        """Return what the reversed outputs on the way make of a pulse."""
        sense = Sense(1)
        for port in way:
            setting = port_setting(self.setup, port)
            if port.does == "servo" and setting is not None and setting.reversed:
                place = Place(port.set_by.file, (*port.set_by.path, "reversed"))
                sense = sense.then(Sense(-1, (Because(place, f"`{port.address}` is reversed"),)))
        return sense

    def mirrored_sense(self, shove: Shove) -> Sense:
        """Return -1 for a servo that sits mirrored on its surface."""
        mirrored = self.setup.surfaces[shove.surface.name].mirrored or ()
        if shove.servo not in mirrored:
            return Sense(1)
        place = self.setup.place("surfaces", shove.surface.name, "mirrored")
        return Sense(-1, (Because(place, f"`{shove.servo}` sits mirrored"),))

    def _edge(
        self, shove: Shove, sense: Sense, sign: int
    ) -> tuple[Way, tuple[Because, ...]] | Need:
        """Return which way the trailing edge goes for a pulse that gets longer (+1) or shorter."""
        name, part = shove.surface.name, shove.surface.part
        longer = self.setup.surfaces[name].longer_pulse
        place = self.setup.place("surfaces", name, "longer-pulse")
        if part is None or longer not in part.ways:
            ways = " or ".join(part.ways) if part else "which way"
            return Need(place, f"which way `{name}` goes for a longer pulse: {ways}")
        linked = Because(place, f"a longer pulse moves it {longer}")
        whole = sense.then(self.mirrored_sense(shove))
        way: Way = longer if whole.sign * sign > 0 else OPPOSITE[longer]
        return way, (*whole.because, linked)


def after(way: tuple[Port, ...], box: str) -> tuple[Port, ...]:
    """Return the ports of a way from the output of ``box`` on."""
    for index, port in enumerate(way):
        if port.device == box and port.does in GIVERS:
            return way[index:]
    return ()


def _plain(name: str, surface: Surface) -> ExpectedSurface:
    """Return a surface without a direction."""
    function = control_function(surface.function or name) or ""
    side = side_of(name, surface)
    return ExpectedSurface(
        name=name,
        function=function,
        side=side,
        servos=surface.servo,
        steadied_in=(),
        declared=False,
        steered_in=(),
        part=None,
    )


def _mixes(mixes: tuple[Mix, ...] | None, place: Place) -> Iterator[tuple[Place, Mix]]:
    for index, mix in enumerate(mixes or ()):
        yield Place(place.file, (*place.path, index)), mix


def _mix_sense(mix: Mix, place: Place) -> Sense:
    text = f"{mix.share.text} of `{mix.from_}` is mixed in"
    return Sense(-1 if mix.share < 0 else 1, (Because(place, text),))


def _channel_sense(entry: ChannelEntry) -> Sense:
    if not entry.channel.reversed:
        return Sense(1, (Because(entry.place, f"channel {entry.number} is not reversed"),))
    place = Place(entry.place.file, (*entry.place.path, "reversed"))
    return Sense(-1, (Because(place, f"channel {entry.number} is reversed"),))


def _sits(gyro: Fitted) -> tuple[Because, ...]:
    return (
        Because(gyro.at("mounting"), "how it sits"),
        Because(gyro.at("told"), "what it was told about that"),
    )


def _name(gyro: Fitted | None) -> str:
    return gyro.name if gyro else ""


def _blank(
    shove: Shove,
    axis: Axis,
    expected: ExpectedMovement,
    gyro: str = "",
    channel: int | None = None,
) -> ActualMovement:
    return ActualMovement(
        surface=shove.surface.name,
        servo=shove.servo,
        card=expected.card,
        axis=axis,
        expected=expected,
        way=None,
        words="unknown",
        verdict=Verdict.UNKNOWN,
        gyro=gyro,
        channel=channel,
    )


def _moved(
    blank: ActualMovement,
    shove: Shove,
    way: Way | None,
    verdict: Verdict,
    because: tuple[Because, ...],
) -> ActualMovement:
    words = in_words(shove.surface.part, way) if shove.surface.part else ""
    return blank._replace(way=way, words=words, verdict=verdict, because=because)
