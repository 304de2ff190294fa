"""What every channel does when a link, all links or the signal into a box is lost, and how soon.

Redundant receivers go to failsafe only when all of them hear nothing, where a bus joins them; a
receiver on its own goes by itself (common practice, no published source). A hub or gyro with a
failsafe of its own decides what it sends; one that passes on sends what it is sent.
"""

from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property
from typing import Final, Literal, NamedTuple

from holdshort.analysis.channel_ends import ChannelEnd, port_setting, pulse_at
from holdshort.analysis.facts import Need
from holdshort.analysis.failsafe_values import (
    CLOSED_WORDS,
    Command,
    Meaning,
    RawPulse,
    Understood,
    Word,
    closed_command,
    learned_pulse,
    meaning,
    understood,
    unlearned,
)
from holdshort.analysis.failsafes import deciding_boxes, is_throttle
from holdshort.analysis.pulses import HIGH, LOW, NEUTRAL, channel_pulse, channel_range, mirrored
from holdshort.analysis.signal_nets import SignalNet
from holdshort.analysis.signals import TAKERS
from holdshort.analysis.spreading import spread
from holdshort.setup import ChannelEntry, Fitted, Place, Setup
from holdshort.setup.functions import control_function
from holdshort.setup.parts import EngineController

ALL_LINKS: Final = "all links"
HALF_MICROSECOND: Final = 0.5e-6
"""Pulses that differ by less, in seconds, are the same: rounding of one computation, where two
declared values are compared with more room. Common practice, no source."""
OPPOSITE: Final = {"up": "down", "down": "up", "left": "right", "right": "left"}


class LossCase(NamedTuple):
    """One loss: the receivers that then hear no link, or the box whose input is silent."""

    id: str
    title: str
    deaf: frozenset[str]
    silent: str = ""


class TimePart(NamedTuple):
    """One wait between loss of signal and action: where, how long (seconds), and its words."""

    kind: Literal["receiver", "box", "engine"]
    device: str
    seconds: float
    place: Place
    text: str


class LossTime(NamedTuple):
    """The waits from loss of signal to the engine's action, and what is missing of them.

    Where something is missing, the sums are the least that it takes.
    """

    parts: tuple[TimePart, ...]
    needs: tuple[Need, ...]

    @property
    def since_loss(self) -> float:
        """Seconds since the signal was lost, at least."""
        return sum(part.seconds for part in self.parts)

    @property
    def since_failsafe(self) -> float:
        """Seconds since the receiver went to failsafe, at least."""
        return sum(part.seconds for part in self.parts if part.kind != "receiver")


class Deflection(NamedTuple):
    """Where a surface stands: which way its trailing edge is, and the share of its travel.

    ``toward`` is empty where its servo's sense is not declared, or at neutral (``share`` 0).
    """

    surface: str
    toward: str
    share: float


class Output(NamedTuple):
    """What comes to one device for one channel in one loss case.

    ``decider`` is empty while the transmitter is followed; ``action`` is None where nothing is
    declared. ``pulse`` is in seconds, a need, or None where there is no pulse to tell.
    ``engine`` is what the engine makes of it, ``deflections`` where surfaces stand.
    """

    decider: str
    action: str | None
    at: Place
    pulse: float | Need | None = None
    engine: Understood | Need | None = None
    deflections: tuple[Deflection, ...] = ()

    @property
    def works(self) -> bool:
        """True where the transmitter is followed."""
        return not self.decider


class LinkLoss:
    """The loss cases of an aircraft and what follows in each."""

    def __init__(
        self, setup: Setup, nets: Iterable[SignalNet], ends: tuple[ChannelEnd, ...]
    ) -> None:
        """Take the setup, its signal nets and where its channels end."""
        self.setup = setup
        self.ends = ends
        self._before = _boxes_before(nets)
        self._heard: dict[str, frozenset[str]] = {}
        self._deciding = {box.name for box in deciding_boxes(setup)}

    @cached_property
    def cases(self) -> tuple[LossCase, ...]:
        """Each link alone where there are several, all links, and each silent box input."""
        return tuple(self._cases())

    @property
    def all_lost(self) -> LossCase:
        """The case in which all links are lost, as with the transmitter off."""
        return next(case for case in self.cases if case.id == ALL_LINKS)

    def _cases(self) -> Iterator[LossCase]:
        receivers = frozenset(box.name for box in self.setup.of_kind("receiver"))
        links = self.setup.links
        for name, link in links.items() if len(links) > 1 else ():
            hearing = {heard for other in links if other != name for heard in links[other].heard_by}
            deaf = frozenset(link.heard_by) - hearing
            yield LossCase(f"link {name}", f"link `{name}` lost", deaf & receivers)
        yield LossCase(ALL_LINKS, "all links lost, or the transmitter off", receivers)
        for box in self.setup.of_kind("hub", "gyro"):
            if self.heard(box.name):
                yield LossCase(
                    f"silent {box.name}", f"no signal comes to `{box.name}`", frozenset(), box.name
                )

    def deciders(self, box: str, case: LossCase) -> tuple[str, ...]:
        """Return the boxes whose failsafe ``box`` sends in ``case``; none while it works."""
        if case.silent:
            hit = case.silent == box or not self._hears_past(box, case.silent)
            return (case.silent,) if hit else ()
        return self._deciders(box, case.deaf, frozenset())

    def _deciders(self, box: str, deaf: frozenset[str], above: frozenset[str]) -> tuple[str, ...]:
        if not self.heard(box) <= deaf or box in above:
            return ()
        if box in self._deciding:
            return (box,)
        found: dict[str, None] = {}
        for start in self._before.get(box, ()):
            found |= dict.fromkeys(self._deciders(start, deaf, above | {box}))
        return tuple(found) or (box,)

    def heard(self, box: str) -> frozenset[str]:
        """Return the receivers whose signal comes to ``box``, itself included if it is one."""
        if box not in self._heard:
            before, devices = self._before, self.setup.devices
            heard = spread((box,), lambda name: before.get(name, ()))
            self._heard[box] = frozenset(n for n in heard if devices[n].kind == "receiver")
        return self._heard[box]

    def _hears_past(self, box: str, silent: str) -> bool:
        """True where a receiver's signal comes to ``box`` by a way that ``silent`` is not on."""

        def past(name: str) -> Iterator[str]:
            return (start for start in self._before.get(name, ()) if start != silent)

        devices = self.setup.devices
        return any(devices[name].kind == "receiver" for name in spread((box,), past))

    def throttle_ends(self, number: int) -> tuple[ChannelEnd, ...]:
        """Return where throttle channel ``number`` acts: engine controllers, or else servos.

        A servo that moves a declared surface is none.
        """
        ends = [end for end in self.ends if end.channel == number]
        engines = tuple(end for end in ends if end.device.kind == "engine-controller")
        if engines:
            return engines
        busy = {
            servo
            for name, surface in self.setup.surfaces.items()
            if control_function(surface.function or name) != "throttle"
            for servo in surface.servo
        }
        return tuple(
            end for end in ends if end.device.kind == "servo" and end.device.name not in busy
        )

    def needs_of(self, end: ChannelEnd, output: Output) -> tuple[Need, ...]:
        """Return all that is missing to know what the engine at ``end`` makes of ``output``."""
        entry = self.setup.channels[end.channel or 0]
        found: dict[Need, None] = {}
        meant = meaning(self.setup, entry, output.action or "hold")
        pulses = [channel_pulse(self.setup, entry.number, side) for side in (LOW, HIGH)]
        wanted = [] if isinstance(meant, RawPulse | Word) else pulses
        for candidate in (meant, *wanted, output.pulse, output.engine):
            if isinstance(candidate, Need):
                found[candidate] = None
        engine = end.device
        taught = engine.device.learned or isinstance(meant, Word)
        if engine.kind == "engine-controller" and not taught:
            found[unlearned(engine)] = None
        return tuple(found)

    def outputs(self, end: ChannelEnd, case: LossCase) -> tuple[Output, ...]:
        """Return what comes to the device at ``end``: one output for each box that may decide."""
        number = end.channel
        if number is None or number not in self.setup.channels:
            return ()
        found = self.deciders(end.giver.device, case)
        if not found:
            return (Output("", None, end.giver.set_by),)
        return tuple(self.output_of(end, name) for name in found)

    def output_of(self, end: ChannelEnd, decider: str, instead: str | None = None) -> Output:
        """Return what comes to the device at ``end`` where the failsafe of ``decider`` counts.

        ``instead`` is a value to try in place of the declared one.
        """
        entry = self.setup.channels[end.channel or 0]
        declared, at = self.declared(decider, entry)
        action = declared if instead is None else instead
        if action is None:
            return Output(decider, None, at)
        meant = meaning(self.setup, entry, action)
        pulse = self._pulse(end, decider, meant, at)
        engine = self._engine(end, entry, action, meant, pulse)
        return Output(decider, action, at, pulse, engine, tuple(self._deflections(end, pulse)))

    def declared(self, box: str, entry: ChannelEntry) -> tuple[str | None, Place]:
        """Return what ``box`` is declared to do with a channel, and where that stands.

        A box that passes on gives no pulse when nothing comes to it.
        """
        found = self.setup.failsafe.get(box)
        if found is None:
            return None, self.setup.devices[box].place
        if entry.number in found.channels:
            return found.channels[entry.number]
        return ("no-pulse" if found.declared.passes_on else None), found.place

    def reaches(self, box: str, end: ChannelEnd) -> bool:
        """True where what ``box`` sends can come to the device at ``end``."""
        on_the_way = {port.device for port in end.way[:-1]}
        return box in on_the_way or box in self.heard(end.giver.device)

    def _pulse(
        self, end: ChannelEnd, decider: str, meant: Meaning | Need, at: Place
    ) -> float | Need | None:
        if isinstance(meant, Need):
            return meant
        if isinstance(meant, Word):
            idles = meant.word == "idle" and end.device.kind == "engine-controller"
            return learned_pulse(end.device, "idle") if idles else None
        if isinstance(meant, Command):
            pulse = channel_pulse(self.setup, end.channel or 0, meant.share)
            turned = self._turned_after(end, decider, itself=True)
        else:
            pulse = meant.seconds
            turned = self._turned_after(end, decider, itself=False)
        if isinstance(pulse, Need) or not turned:
            return pulse
        if self.setup.radio.pulse is None:
            return Need(at, "the `pulse` of the radio, about which a box reverses its output")
        return mirrored(self.setup, pulse)

    def _turned_after(self, end: ChannelEnd, decider: str, *, itself: bool) -> bool:
        """Tell whether boxes from ``decider`` on reverse the pulse; its own ports count or not."""
        ports = list(end.way)
        own = [index for index, port in enumerate(ports) if port.device == decider]
        start = 0 if not own else (own[0] if itself else own[-1] + 1)
        settings = [
            port_setting(self.setup, port) for port in ports[start:] if port.does == "servo"
        ]
        return sum(1 for setting in settings if setting and setting.reversed) % 2 == 1

    def _engine(
        self,
        end: ChannelEnd,
        entry: ChannelEntry,
        action: str,
        meant: Meaning | Need,
        pulse: float | Need | None,
    ) -> Understood | Need | None:
        if not is_throttle(entry, self.setup):
            return None
        if action == "hold":
            return Understood("hold")
        if end.device.kind == "engine-controller":
            return self._controller(end, meant, pulse)
        return self._throttle_servo(end, entry, action, pulse)

    def _controller(
        self, end: ChannelEnd, meant: Meaning | Need, pulse: float | Need | None
    ) -> Understood | Need:
        engine = end.device
        if isinstance(meant, Word) and meant.word == "idle":
            return Understood("idle")
        if isinstance(pulse, Need):
            return pulse
        if pulse is not None:
            return understood(engine, pulse)
        if isinstance(meant, Word) and meant.word == "no-pulse":
            return self._left_alone(engine)
        word = meant.word if isinstance(meant, Word) else ""
        return Need(engine.at(), f"a throttle position such as `stop` in place of `{word}`")

    def _left_alone(self, engine: Fitted) -> Understood | Need:
        """Return what an engine controller does of its own accord when no pulse comes."""
        part = engine.part
        does = part.on_signal_loss if isinstance(part, EngineController) else None
        if does is None:
            return Need(
                engine.part_place("on-signal-loss"),
                f"what `{engine.name}` does when no pulse comes (`on-signal-loss`)",
            )
        return Understood(does)

    def _throttle_servo(
        self, end: ChannelEnd, entry: ChannelEntry, action: str, pulse: float | Need | None
    ) -> Understood | Need:
        """Judge a throttle that a servo moves: its ends are those of its channel."""
        if action == "idle":
            return Understood("idle")
        if pulse is None:
            return Need(entry.place, f"where a throttle servo goes on `{action}`")
        closed = closed_command(self.setup)
        if isinstance(closed, Need):
            return closed
        shut = pulse_at(self.setup, end, closed, None)
        wide = pulse_at(self.setup, end, -closed, None)
        for found in (pulse, shut, wide):
            if isinstance(found, Need):
                return found
        assert not isinstance(pulse, Need)  # noqa: S101  - for the type checkers
        assert not isinstance(shut, Need)  # noqa: S101
        assert not isinstance(wide, Need)  # noqa: S101
        span = wide - shut
        share = (pulse - shut) / span if span else 0.0
        if abs(pulse - shut) <= HALF_MICROSECOND or share <= 0:
            return Understood("stop" if action in CLOSED_WORDS - {"low", "closed"} else "closed")
        return Understood("power", min(1.0, share))

    def _deflections(self, end: ChannelEnd, pulse: float | Need | None) -> Iterator[Deflection]:
        if end.device.kind != "servo" or not isinstance(pulse, float):
            return
        share = self._share_of_travel(end, pulse)
        if share is None:
            return
        neutral = pulse_at(self.setup, end, NEUTRAL, None)
        longer = isinstance(neutral, float) and pulse > neutral
        for name, surface in self.setup.surfaces.items():
            if end.device.name in surface.servo:
                way = surface.longer_pulse or ""
                toward = way if longer else OPPOSITE.get(way, "")
                yield Deflection(name, toward if share else "", share)

    def _share_of_travel(self, end: ChannelEnd, pulse: float) -> float | None:
        """Return how much of the travel to its side ``pulse`` takes; None where not known."""
        neutral = pulse_at(self.setup, end, NEUTRAL, None)
        if isinstance(neutral, Need):
            return None
        offset = pulse - neutral
        if abs(offset) < HALF_MICROSECOND:
            return 0.0
        for command in (LOW, HIGH):
            extreme = pulse_at(self.setup, end, command, None)
            if isinstance(extreme, Need):
                return None
            if (extreme - neutral) * offset > 0:
                return offset / (extreme - neutral)
        return None

    def share_of_pulse(self, entry: ChannelEntry, meant: RawPulse | Word) -> float | Need:
        """Return the share of a channel's travel that a raw pulse takes, negative to the low side.

        A word has no share: what is missing then is a figure.
        """
        if isinstance(meant, Word):
            text = f"a figure for channel {entry.number} in place of `{meant.word}`"
            return Need(entry.place, text)
        found = channel_range(self.setup, entry.number)
        if isinstance(found, Need):
            return found
        for end, sign in ((found.low, -1.0), (found.high, 1.0)):
            span = end - found.centre
            if span and (share := (meant.seconds - found.centre) / span) >= 0:
                return sign * share
        return 0.0

    def time(self, end: ChannelEnd, case: LossCase) -> LossTime:
        """Return the waits from loss of signal until the device at ``end`` has acted."""
        parts: list[TimePart] = []
        needs: list[Need] = []
        for found in self._waits(end, case):
            if isinstance(found, Need):
                needs.append(found)
            else:
                parts.append(found)
        return LossTime(tuple(parts), tuple(needs))

    def _waits(self, end: ChannelEnd, case: LossCase) -> Iterator[TimePart | Need]:
        if not case.silent:
            yield from self._receiver_hold(end)
        boxes = dict.fromkeys(port.device for port in end.way[:-1])
        passed = not case.silent
        for name in boxes:
            passed = passed or name == case.silent
            if passed and name in self._deciding and self.setup.devices[name].kind != "receiver":
                yield self._hold(name, "box")
        if end.device.kind == "engine-controller":
            yield self._engine_delay(end.device)

    def _receiver_hold(self, end: ChannelEnd) -> Iterator[TimePart | Need]:
        """Yield the longest hold of the receivers heard, and what is missing of the others."""
        heard = self.heard(end.giver.device)
        on_the_way = [port.device for port in end.way if port.device in heard]
        order = dict.fromkeys([*on_the_way, *(n for n in self.setup.devices if n in heard)])
        longest: TimePart | None = None
        for name in order:
            found = self._hold(name, "receiver")
            if isinstance(found, Need):
                yield found
            elif longest is None or found.seconds > longest.seconds:
                longest = found
        if longest is not None:
            yield longest

    def _hold(self, name: str, kind: Literal["receiver", "box"]) -> TimePart | Need:
        entry = self.setup.failsafe.get(name)
        if entry is None or entry.declared.after is None:
            place = entry.place if entry else self.setup.devices[name].place
            return Need(place, f"how long `{name}` holds before it acts (`after`)")
        place = Place(entry.place.file, (*entry.place.path, "after"))
        after = entry.declared.after
        return TimePart(kind, name, float(after), place, f"{after.text} hold in `{name}`")

    def _engine_delay(self, engine: Fitted) -> TimePart | Need:
        own = self.setup.failsafe.get(engine.name)
        if own is not None and own.declared.after is not None:
            place = Place(own.place.file, (*own.place.path, "after"))
            return _engine_part(engine, own.declared.after, own.declared.after.text, place)
        part = engine.part
        delay = part.delay if isinstance(part, EngineController) else None
        if delay is None:
            return Need(
                engine.part_place("delay"),
                f"how long `{engine.name}` takes from bad signal to action (`delay`)",
            )
        return _engine_part(engine, delay, delay.text, engine.part_place("delay"))


def _engine_part(engine: Fitted, seconds: float, text: str, place: Place) -> TimePart:
    return TimePart("engine", engine.name, float(seconds), place, f"{text} in `{engine.name}`")


def _boxes_before(nets: Iterable[SignalNet]) -> Mapping[str, tuple[str, ...]]:
    """Return for each box those whose signal comes straight to it, in the order of the leads."""
    found: dict[str, dict[str, None]] = {}
    for net in nets:
        for taker in net.ports:
            if taker.does in TAKERS:
                before = found.setdefault(taker.device, {})
                before |= dict.fromkeys(giver.device for giver in net.givers)
    return {box: tuple(before) for box, before in found.items()}
