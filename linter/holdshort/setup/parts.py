"""Part types and their ratings, as a maker's sheet states them.

A part is a *type*; a device is one fitted instance of it. Ratings that are not given are unknown.
"""

from typing import Annotated, ClassVar, Final, Literal

from pydantic import Field

from holdshort.setup.base import (
    Axes,
    Axis,
    ChannelNumber,
    Direction,
    Items,
    Name,
    PortRun,
    Section,
    Text,
    Whole,
    short_for,
)
from holdshort.setup.linkages import Throw
from holdshort.setup.measures import Level, Measured, Measures
from holdshort.setup.quantities import (
    Charge,
    Current,
    CurrentOrZero,
    Duration,
    Frequency,
    Mass,
    Portion,
    Power,
    Pulse,
    Resistance,
    Slew,
    Torque,
    Voltage,
    VoltageOrZero,
)

PortFunction = Literal["servo", "pulse-in", "bus-out", "bus-in", "data", "supply", "feed", "unused"]
"""What a port does.

``servo`` gives one servo pulse, ``pulse-in`` takes one, ``bus-out`` and ``bus-in`` carry many
channels on one wire, ``data`` is a telemetry bus; all of these have supply and ground beside the
signal. ``supply`` takes power only, ``feed`` gives power only.
"""


class PortType(Section):
    """What one port, or a run of like ports, of a part can do."""

    does: PortFunction | None = None
    """What the port does, where it can do just one thing."""
    can_be: Annotated[Items[PortFunction], Field(min_length=2)] | None = None
    """What the port can be set to, where there is a choice."""
    delivered: PortFunction | None = None
    """What the port is set to as delivered."""
    isolated: bool = False
    """True where power comes in through a diode or the like, so that it cannot flow back."""
    drop: VoltageOrZero | None = None
    """What an isolated input loses between its port and the rail, in volts."""
    powered: bool = True
    """False where the supply pin of the port is not connected inside."""
    channel: ChannelNumber | None = None
    """The channel whose pulse the port gives, where that is fixed."""
    optical: bool = False
    """True where the signal passes through an opto-coupler, so that the ground of the port is not
    the ground of the device."""


PortDeclaration = Annotated[PortType, short_for(PortFunction | PortType, "does")]


class VoltageRange(Section):
    """A range of voltages; an end that is not stated is unknown."""

    min: Voltage | None = None
    """The lowest voltage, in volts."""
    max: Voltage | None = None
    """The highest voltage, in volts."""


Output = Annotated[VoltageRange, short_for(Voltage | VoltageRange, "min", "max")]


class PulseRange(Section):
    """The pulse widths that a servo or controller takes."""

    min: Pulse | None = None
    """The shortest pulse, in microseconds."""
    centre: Pulse | None = None
    """The pulse at neutral, in microseconds."""
    max: Pulse | None = None
    """The longest pulse, in microseconds."""


class Draw(Section):
    """Current drawn in each load case."""

    rest: CurrentOrZero | None = None
    """Current when switched on and doing nothing, in amperes."""
    cruise: CurrentOrZero | None = None
    """Mean current in ordinary flight, in amperes."""
    peak: CurrentOrZero | None = None
    """The highest current in use, in amperes."""
    start: CurrentOrZero | None = None
    """Current while the engine starts, in amperes."""


class Faces(Section):
    """How a box sits: which way its plugs and its label face."""

    plugs: Direction
    """Which way its plugs face."""
    label: Direction
    """Which way its label faces."""
    right: Direction | None = None
    """Which way its right-hand side faces, seen on the label with the plugs pointing away."""


class PartBase(Section):
    """What every part type may state."""

    inner: ClassVar[tuple[type[Section], ...]] = (VoltageRange, PortType)

    title: Text | None = None
    """What the part is, in words."""
    source: Text | None = None
    """Where the ratings come from: the maker's sheet and its date."""
    mass: Mass | None = None
    """Mass of one part, in grams or kilograms."""
    voltage: VoltageRange | None = None
    """The supply voltages it is rated for."""
    ports: dict[PortRun, PortDeclaration] | None = None
    """Its ports by the name printed on it; like ports as a run such as `1..6`."""


class Load(PartBase):
    """A part that draws current."""

    inner: ClassVar[tuple[type[Section], ...]] = (VoltageRange, PortType, Draw)

    draws: Draw | None = None
    """The current it draws in each load case."""
    measures: Measures | None = None
    """What it measures and can send to the transmitter."""
    limits: dict[Measured, Level] | None = None
    """What of that must not be exceeded, such as the highest temperature of an engine."""
    address: Annotated[int, Whole(0, 255)] | None = None
    """Its address on the telemetry bus as delivered."""
    needs_address: bool | None = None
    """True where it needs an address of its own on the telemetry bus, false where it has none."""


class Battery(PartBase):
    """A pack of cells."""

    kind: Literal["battery"]
    """What kind of part this is."""
    chemistry: Literal["lipo", "lihv", "li-ion", "life", "nimh"]
    """The chemistry of its cells."""
    cells: Annotated[int, Whole(1, 40)]
    """How many cells are in series."""
    parallel: Annotated[int, Whole(1, 20)] = 1
    """How many cells are side by side in each series step."""
    capacity: Charge | None = None
    """Rated capacity of the pack, in mAh or Ah."""
    continuous_current: Current | None = None
    """The current it is rated to give all the time, in amperes."""
    peak_current: Current | None = None
    """The current it is rated to give for a short time, in amperes."""
    resistance: Resistance | None = None
    """Internal resistance of the whole pack, in milliohms."""


class Regulator(PartBase):
    """A voltage regulator."""

    kind: Literal["regulator"]
    """What kind of part this is."""
    type: Literal["linear", "switching"] | None = None
    """How it regulates: `linear` turns the surplus into heat, `switching` does not."""
    input: VoltageRange | None = None
    """The input voltages it is rated for."""
    output: Output | None = None
    """The voltages it can be set to; one value where it is fixed."""
    continuous_current: Current | None = None
    """The current it is rated to give all the time, in amperes."""
    peak_current: Current | None = None
    """The current it is rated to give for a short time, in amperes."""
    dropout: Voltage | None = None
    """How far the input must stay above the output, in volts."""
    efficiency: Portion | None = None
    """Power out for power in, in per cent."""
    quiescent_current: CurrentOrZero | None = None
    """What it draws for itself, in milliamperes."""
    heat_limit: Power | None = None
    """The heat it can get rid of, in watts."""
    measures: Measures | None = None
    """What it measures and can send to the transmitter."""


class Switch(PartBase):
    """A switch in a supply lead."""

    kind: Literal["switch"]
    """What kind of part this is."""
    type: Literal["mechanical", "electronic"] | None = None
    """Whether contacts or a transistor carry the current."""
    fails: Literal["on", "off"] | None = None
    """What the supply does when the switch fails."""
    resistance: Resistance | None = None
    """Resistance when switched on, in milliohms."""
    continuous_current: Current | None = None
    """The current it is rated to carry all the time, in amperes."""


class Fuse(PartBase):
    """A fuse in a supply lead."""

    kind: Literal["fuse"]
    """What kind of part this is."""
    rating: Current | None = None
    """The current printed on it, in amperes."""
    resistance: Resistance | None = None
    """Resistance when cold, in milliohms."""


class Splitter(PartBase):
    """A Y-lead or terminal block: all its ports are joined."""

    kind: Literal["splitter"]
    """What kind of part this is."""
    continuous_current: Current | None = None
    """The current it is rated to carry all the time, in amperes."""
    resistance: Resistance | None = None
    """Resistance from one port to another, in milliohms."""


class Connector(PartBase):
    """A plug and socket in line in a lead."""

    kind: Literal["connector"]
    """What kind of part this is."""
    contacts: Annotated[int, Whole(1, 100)] | None = None
    """How many contacts are in parallel for each pole."""
    contact_current: Current | None = None
    """Current rating of one contact, in amperes."""
    resistance: Resistance | None = None
    """Resistance of one contact, in milliohms."""


class Distribution(PartBase):
    """A power distribution or back-up box: several supplies in, one rail out."""

    kind: Literal["distribution"]
    """What kind of part this is."""
    output: Output | None = None
    """The regulated voltages of its rail, where it regulates; absent where it passes through."""
    type: Literal["linear", "switching"] | None = None
    """How it regulates, where it does."""
    continuous_current: Current | None = None
    """The current it is rated to give all the time, in amperes."""
    peak_current: Current | None = None
    """The current it is rated to give for a short time, in amperes."""
    dropout: Voltage | None = None
    """How far the input must stay above the output, in volts."""
    efficiency: Portion | None = None
    """Power out for power in, in per cent."""
    quiescent_current: CurrentOrZero | None = None
    """What it draws for itself, in milliamperes."""
    heat_limit: Power | None = None
    """The heat it can get rid of, in watts."""
    measures: Measures | None = None
    """What it measures and can send to the transmitter."""


class Receiver(Load):
    """A radio receiver."""

    kind: Literal["receiver"]
    """What kind of part this is."""
    brown_out: Voltage | None = None
    """Supply voltage at which it resets, in volts."""
    links: Annotated[int, Whole(1, 4)] | None = None
    """How many radio links it can listen on."""
    frame_rate: Frequency | None = None
    """How many servo pulses a second each of its ports gives, in hertz."""
    sends_back: bool | None = None
    """False where it sends no telemetry back to the transmitter; by default one with a `data` port
    or with `measures` does."""


class Hub(Load):
    """A box that takes receiver buses and gives servo pulses."""

    kind: Literal["hub"]
    """What kind of part this is."""
    frame_rate: Frequency | None = None
    """How many servo pulses a second each of its ports gives, in hertz."""
    brown_out: Voltage | None = None
    """Supply voltage at which it resets, in volts."""


class Gyro(Load):
    """A stabilising gyro; often a signal hub as well."""

    kind: Literal["gyro"]
    """What kind of part this is."""
    senses: Axes = ("roll", "pitch", "yaw")
    """The axes it senses."""
    settings: Items[Faces] | None = None
    """The mountings it can be told; absent where it can be told any."""
    correction: Literal["learned", "fixed"] | None = None
    """How it knows which way to correct: `learned` from the sticks when it is taught, so that
    normal opposes what it was taught, or `fixed` by `normal-gives` and its direction settings."""
    normal_gives: dict[Axis, Literal["longer", "shorter"]] | None = None
    """What an output does when the aircraft rolls right, pitches up or yaws right, with the
    direction of that axis set to normal; where its correction is fixed."""
    frame_rate: Frequency | None = None
    """How many servo pulses a second each of its ports gives, in hertz."""
    brown_out: Voltage | None = None
    """Supply voltage at which it resets, in volts."""


class ServoRating(Section):
    """What a servo does at one supply voltage."""

    at: Voltage
    """The supply voltage at which the figures hold, in volts."""
    torque: Torque | None = None
    """Stall torque, in kg.cm or N.m."""
    speed: Slew | None = None
    """Time to turn 60 degrees without load, in seconds."""
    stall_current: Current | None = None
    """Current when held still at full torque, in amperes."""


class ServoThrow(Section):
    """How far the arm of a servo turns for its pulse."""

    pulse: Pulse
    """How much longer or shorter than at neutral the pulse is, in microseconds."""
    angle: Throw
    """How far the arm then turns from neutral, in degrees."""


class Servo(PartBase):
    """A servo."""

    kind: Literal["servo"]
    """What kind of part this is."""
    type: Literal["analogue", "digital"] | None = None
    """How its motor is driven."""
    ratings: Items[ServoRating] | None = None
    """What it does at each supply voltage that its maker's sheet states."""
    idle_current: CurrentOrZero | None = None
    """Current at rest without load, in milliamperes."""
    cruise_current: CurrentOrZero | None = None
    """Mean current in ordinary flight, in milliamperes."""
    pulse: PulseRange | None = None
    """The pulse widths it takes."""
    throw: ServoThrow | None = None
    """How far its arm turns, and for how much of a pulse."""
    frame_rate: Frequency | None = None
    """The highest frame rate it takes, in hertz."""


class EngineController(Load):
    """The electronic controller of a turbine or an electric motor."""

    kind: Literal["engine-controller"]
    """What kind of part this is."""
    output: Output | None = None
    """The voltages it can give to the receiver on its throttle lead; absent where it gives none."""
    output_continuous_current: Current | None = None
    """The current that output is rated to give all the time, in amperes."""
    output_peak_current: Current | None = None
    """The current that output is rated to give for a short time, in amperes."""
    pulse: PulseRange | None = None
    """The pulse widths it takes at its throttle port."""
    on_signal_loss: Literal["stop", "idle", "hold"] | None = None
    """What it does of its own accord when the signal is lost."""
    delay: Duration | None = None
    """Time from bad signal to action, in seconds."""


class Auxiliary(Load):
    """Anything else that draws current: pump, valve, gear controller, brake, lights, sensor."""

    kind: Literal["pump", "valve", "gear-controller", "brake", "lights", "sensor", "load"]
    """What kind of part this is."""


Part = (
    Battery
    | Regulator
    | Switch
    | Fuse
    | Splitter
    | Connector
    | Distribution
    | Receiver
    | Hub
    | Gyro
    | Servo
    | EngineController
    | Auxiliary
)

PART_MODELS: Final[dict[str, type[PartBase]]] = {
    "battery": Battery,
    "regulator": Regulator,
    "switch": Switch,
    "fuse": Fuse,
    "splitter": Splitter,
    "connector": Connector,
    "distribution": Distribution,
    "receiver": Receiver,
    "hub": Hub,
    "gyro": Gyro,
    "servo": Servo,
    "engine-controller": EngineController,
    "pump": Auxiliary,
    "valve": Auxiliary,
    "gear-controller": Auxiliary,
    "brake": Auxiliary,
    "lights": Auxiliary,
    "sensor": Auxiliary,
    "load": Auxiliary,
}

_LEAD: Final[dict[str, PortFunction]] = {"lead": "pulse-in"}
_THROUGH: Final[dict[str, PortFunction]] = {"in": "supply", "out": "feed"}

STANDARD_PORTS: Final[dict[str, dict[str, PortFunction]]] = {
    "battery": {"out": "feed"},
    "regulator": _THROUGH,
    "switch": _THROUGH,
    "fuse": _THROUGH,
    "splitter": {"in": "supply", "out-1": "feed", "out-2": "feed"},
    "distribution": _THROUGH,
    "servo": _LEAD,
    "engine-controller": {"supply": "supply", "throttle": "pulse-in", "data": "data"},
    "pump": {"lead": "supply"},
    "valve": _LEAD,
    "gear-controller": _LEAD,
    "brake": _LEAD,
    "lights": _LEAD,
    "sensor": {"lead": "data"},
    "load": {"lead": "supply"},
}
"""The ports of a part that declares none, by kind. Kinds not listed must declare theirs."""

THROUGH_KINDS: Final = frozenset({"switch", "fuse"})
"""Kinds that join their supply and feed sides like a piece of wire."""
REGULATING_KINDS: Final = frozenset({"regulator", "distribution", "engine-controller"})
"""Kinds that can hold an output voltage."""


class DerivedPart(Section):
    """A part that is like another one but for the fields given here."""

    like: Name
    """The part whose ratings this one has, but for those given here."""
