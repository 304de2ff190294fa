"""Which channel reaches which device, and which channels drive something that is fitted.

A receiver's port called ``3`` gives channel 3 unless it is declared to give another one; so does a
port of a hub or gyro that takes a bus. A box with a single pulse input passes that channel on; one
with several passes input ``in-3`` on at output ``3`` (common practice, no source).
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import Final, NamedTuple

from holdshort.analysis.facts import Need
from holdshort.analysis.signal_nets import SignalNet, signal_nets
from holdshort.analysis.signals import TAKERS
from holdshort.analysis.spreading import spread
from holdshort.setup import ChannelEntry, Fitted, Port, Setup
from holdshort.setup.functions import ENGINE, MOVING, control_function

BOXES: Final = frozenset({"receiver", "hub", "gyro"})
"""Kinds that hand channels on."""

_CATCH_ALL: Final = frozenset({"auxiliary", "sequencer"})
"""Functions whose words do not say what moves."""

_STEERING: Final = ("nose steering", "nose wheel", "tail wheel", "steering")

MOVES: Final[Mapping[str, tuple[str, ...]]] = {
    "aileron": ("elevon", "taileron", "flaperon", "spoiler", "nozzle"),
    "elevator": ("elevon", "taileron", "ruddervator", "v-tail", "canard", "nozzle"),
    "rudder": ("ruddervator", "v-tail", "nozzle", *_STEERING),
    "elevon": ("taileron", "aileron", "elevator"),
    "taileron": ("elevon", "aileron", "elevator"),
    "flaperon": ("aileron", "flap"),
    "ruddervator": ("v-tail", "rudder", "elevator"),
    "v-tail": ("ruddervator", "rudder", "elevator"),
    "flap": ("flaperon", "slat", "airbrake"),
    "slat": ("flap",),
    "airbrake": ("spoiler", "flap"),
    "spoiler": ("airbrake", "flap"),
    "nose steering": ("nose wheel", "steering"),
    "nose wheel": ("nose steering", "steering"),
    "tail wheel": ("steering",),
    "steering": _STEERING,
    "gear": ("gear doors", "doors"),
    "gear doors": ("doors",),
    "doors": ("gear doors",),
    "brake": ("brakes", "airbrake"),
    "brakes": ("brake", "airbrake"),
    "tow release": ("drop",),
    "drop": ("tow release",),
}
"""Surfaces of other names that a channel of each function moves (common practice, no source)."""

_PISTON_ONLY: Final = frozenset({"choke", "mixture"})
"""Functions that no turbine and no electric motor has."""
_GEAR: Final = ("gear", "gear doors", "doors", "brake", "brakes")

PROVIDES: Final[Mapping[str, tuple[str, ...]]] = {
    "engine-controller": ENGINE,
    "pump": ("smoke", "fuel valve"),
    "valve": ("fuel valve", "smoke", *_GEAR),
    "gear-controller": (*_GEAR, "sequencer", "canopy"),
    "brake": ("brake", "brakes"),
    "lights": ("lights",),
    "gyro": ("gyro", "gyro gain", "gyro mode", "auxiliary"),
    "hub": ("sequencer", "auxiliary"),
    "load": ("smoke", "sound", "camera", "lights", "drop", "tow release", "auxiliary"),
}
"""Functions that a device of each kind performs (common practice, no source)."""


class Reach(NamedTuple):
    """How one signal input of a device is reached.

    ``giver`` is the port at the other end, or None where no lead brings a signal; ``channels`` are
    the numbers that come to the input. ``every`` is True for a bus, which brings them all.
    ``silent`` names a box that has servos on it and hears no receiver. ``need`` is what is missing
    to know the channels.
    """

    taker: Port
    giver: Port | None
    channels: frozenset[int] = frozenset()
    every: bool = False
    silent: str = ""
    need: Need | None = None


class Drives:
    """The channels of an aircraft and what they reach."""

    def __init__(self, setup: Setup) -> None:
        """Sort the signal nets by their ports."""
        self.setup = setup
        self.nets = signal_nets(setup)
        self._net_of: dict[str, SignalNet] = {
            port.address: net for net in self.nets for port in net.ports
        }
        self._reaches: dict[str, tuple[Reach, ...]] = {}

    def reaches(self, device: Fitted) -> tuple[Reach, ...]:
        """Return how each signal input of ``device`` is reached, in the order of its ports."""
        if device.name not in self._reaches:
            self._reaches[device.name] = tuple(
                self._reach(port, frozenset({device.name}))
                for port in device.ports.values()
                if port.does in TAKERS
            )
        return self._reaches[device.name]

    def reached_by(self, number: int) -> tuple[Reach, ...]:
        """Return every input, buses between boxes apart, that takes channel ``number``."""
        return tuple(reach for reach in self._ends() if reach.every or number in reach.channels)

    def unknown(self) -> Need | None:
        """Return what is missing to know which channel comes to some input, or None."""
        return next((reach.need for reach in self._ends() if reach.need), None)

    def _ends(self) -> Iterator[Reach]:
        for device in self.setup.devices.values():
            for reach in self.reaches(device):
                if reach.taker.does != "bus-in" or device.kind not in BOXES:
                    yield reach

    def _reach(self, taker: Port, above: frozenset[str]) -> Reach:
        net = self._net_of.get(taker.address)
        givers = net.givers if net else ()
        if not givers:
            return Reach(taker, None)
        giver = givers[0]
        if taker.does == "bus-in":
            return self._on_a_bus(taker, giver)
        return self._given(taker, giver, above)

    def _on_a_bus(self, taker: Port, giver: Port) -> Reach:
        """Return the reach of a bus input: of a servo, the channel that it is told to take."""
        if taker.channel is not None:
            return Reach(taker, giver, frozenset({taker.channel}))
        if self.setup.devices[taker.device].kind == "servo":
            need = Need(taker.set_by, f"the channel that `{taker.address}` takes from its bus")
            return Reach(taker, giver, need=need)
        return Reach(taker, giver, every=True)

    def _given(self, taker: Port, giver: Port, above: frozenset[str]) -> Reach:
        """Return the reach of an input on which ``giver`` puts its pulse."""
        box = self.setup.devices[giver.device]
        if box.kind in {"hub", "gyro"} and not self.hears_a_receiver(box.name):
            return Reach(taker, giver, silent=box.name)
        if giver.channel is not None:
            return Reach(taker, giver, frozenset({giver.channel}))
        inputs = [port for port in box.ports.values() if self._is_fed(port)]
        on_a_bus = any(port.does == "bus-in" for port in inputs)
        numbered = giver.name.isascii() and giver.name.isdecimal()
        if numbered and (box.kind == "receiver" or (box.kind in BOXES and on_a_bus)):
            return Reach(taker, giver, frozenset({int(giver.name)}))
        source = _input_of(giver, inputs)
        if box.kind != "receiver" and not on_a_bus and source is not None:
            return self._passed_on(taker, giver, source, above)
        need = Need(giver.set_by, f"the channel that `{giver.address}` gives")
        return Reach(taker, giver, need=need)

    def _passed_on(self, taker: Port, giver: Port, source: Port, above: frozenset[str]) -> Reach:
        if giver.device in above:
            return Reach(taker, giver, silent=giver.device)
        before = self._reach(source, above | {giver.device})
        return before._replace(taker=taker, giver=giver)

    def _is_fed(self, port: Port) -> bool:
        net = self._net_of.get(port.address)
        return port.does in TAKERS and net is not None and bool(net.givers)

    def hears_a_receiver(self, box: str) -> bool:
        """True where a signal comes to ``box`` from a receiver, however many boxes between."""
        devices = self.setup.devices
        return any(devices[name].kind == "receiver" for name in spread((box,), self._given_by))

    def _given_by(self, box: str) -> Iterator[str]:
        """Yield the devices whose signal comes straight to ``box``."""
        for port in self.setup.devices[box].ports.values():
            net = self._net_of.get(port.address) if port.does in TAKERS else None
            yield from (giver.device for giver in net.givers) if net else ()

    def channels_naming(self, surface: str) -> tuple[int, ...]:
        """Return the channels that name ``surface``, or its function on its side."""
        declared = self.setup.surfaces[surface]
        function = control_function(declared.function or surface)
        return tuple(
            number
            for number, entry in self.setup.channels.items()
            if any(self._names(words, surface, function) for words in entry.channel.drives)
        )

    def channels_at(self, servos: Iterable[str]) -> tuple[int, ...]:
        """Return the declared channels that come to any of ``servos``."""
        found: dict[int, None] = {}
        for name in servos:
            device = self.setup.devices.get(name)
            for reach in self.reaches(device) if device else ():
                found.update(dict.fromkeys(sorted(reach.channels & set(self.setup.channels))))
        return tuple(found)

    def may_move(self, number: int, surface: str) -> bool:
        """True where channel ``number``, which comes to the servo of ``surface``, is for it.

        Its words name the same function, on whichever side, or a catch-all such as `auxiliary`.
        """
        function = control_function(self.setup.surfaces[surface].function or surface)
        for words in self.setup.channels[number].channel.drives:
            declared = self.setup.surfaces.get(words)
            named = control_function((declared.function if declared else None) or words)
            if named in _CATCH_ALL or moves(named, function):
                return True
        return False

    def is_mixed_to(self, surface: str) -> bool:
        """True where a mix in the transmitter moves ``surface``."""
        function = control_function(self.setup.surfaces[surface].function or surface)
        mixes = self.setup.radio.mixes or ()
        return any(self._names(words, surface, function) for mix in mixes for words in mix.to)

    def _names(self, words: str, surface: str, function: str | None) -> bool:
        if words in self.setup.surfaces:
            return words == surface
        return moves(control_function(words), function) and not _on_other_sides(words, surface)

    def fitted_for(self, words: str) -> str | None:
        """Return the surface or device that does what a channel's ``words`` say, or None."""
        if words in self.setup.surfaces:
            return words
        function = control_function(words)
        for name, surface in self.setup.surfaces.items():
            same = moves(function, control_function(surface.function or name))
            if same and not _on_other_sides(words, name):
                return name
        if self._needs_another_engine(function):
            return None
        for device in self.setup.devices.values():
            if function in PROVIDES.get(device.kind, ()):
                return device.name
        return None

    def lacking(self, entry: ChannelEntry) -> Need | None:
        """Return what is missing before a channel that reaches nothing can be called left over."""
        return self._lacking_in_wiring() or self._lacking_for(entry)

    def _lacking_in_wiring(self) -> Need | None:
        setup = self.setup
        for section in ("devices", "leads"):
            if section not in setup.sections:
                return Need(setup.place(section), f"the {section}")
        for section in ("devices", "leads", "surfaces"):
            hurt = setup.broken_under(section)
            if hurt is not None:
                return Need(setup.place(*hurt), f"the entry in `{section}` with a mistake of form")
        return self._lacking_at_ends() or self.unknown()

    def _lacking_at_ends(self) -> Need | None:
        for cable in self.setup.cables:
            if cable.start.port is None or cable.end.port is None:
                return Need(cable.place, f"both ends of the lead {cable.title}")
        for reach in self._ends():
            if reach.silent:
                place = self.setup.devices[reach.silent].at()
                return Need(place, f"a lead that brings `{reach.silent}` the channels")
        return None

    def _lacking_for(self, entry: ChannelEntry) -> Need | None:
        setup = self.setup
        named = _listed_words(entry)
        functions = {control_function(words) for words in entry.channel.drives}
        engine = {name for name in functions if name in ENGINE}
        if any(not self._needs_another_engine(name) for name in engine):
            if setup.aircraft is None or setup.aircraft.propulsion is None:
                place = setup.place("aircraft", "propulsion")
                return Need(place, f"what propels the aircraft, and what takes {named}")
            return Need(entry.place, f"the engine's device that takes {named}")
        if functions & set(MOVING) and "surfaces" not in setup.sections:
            return Need(setup.place("surfaces"), f"the surfaces, to find {named} among them")
        return None

    def _needs_another_engine(self, function: str | None) -> bool:
        """True for an engine's function where the declared propulsion has no such thing."""
        propulsion = self.setup.aircraft.propulsion if self.setup.aircraft else None
        if propulsion is None or function not in ENGINE:
            return False
        return propulsion == "none" or (propulsion != "piston" and function in _PISTON_ONLY)


def _input_of(giver: Port, inputs: list[Port]) -> Port | None:
    """Return the pulse input that an output passes on: the only one, or the one with its number."""
    if len(inputs) == 1:
        return inputs[0]
    same = [port for port in inputs if port.name.rpartition("-")[2] == giver.name]
    return same[0] if len(same) == 1 and giver.name.isdecimal() else None


def moves(function: str | None, surface: str | None) -> bool:
    """True where a channel of one control function moves a surface of another, or the same."""
    if function is None or surface is None:
        return False
    return function == surface or surface in MOVES.get(function, ())


def _listed_words(entry: ChannelEntry) -> str:
    """Return a channel and what it drives, for messages."""
    words = ", ".join(f"`{words}`" for words in entry.channel.drives)
    return f"channel {entry.number}, {words}"


def spare(entry: ChannelEntry) -> bool:
    """True for a channel that is declared to drive nothing."""
    return all(control_function(words) == "spare" for words in entry.channel.drives)


def _on_other_sides(one: str, other: str) -> bool:
    sides = [
        {"left", "right"} & set(words.lower().replace("_", " ").replace("-", " ").split())
        for words in (one, other)
    ]
    return bool(sides[0] and sides[1]) and not sides[0] & sides[1]
