"""The sections of a setup file: aircraft, devices, leads, radio, failsafe, surfaces."""

from typing import Annotated, Final, Literal, get_args

from holdshort.setup.base import (
    Axes,
    ChannelNumber,
    ChannelRun,
    Direction,
    End,
    Items,
    Name,
    Names,
    PortRun,
    Section,
    Text,
    Whole,
    Wording,
    short_for,
)
from holdshort.setup.parts import Faces, PortFunction
from holdshort.setup.quantities import (
    Angle,
    Duration,
    Frequency,
    Length,
    Mass,
    Share,
    SignedShare,
    Speed,
    Station,
    Voltage,
    Volume,
    WireSize,
)


class MassStates(Section):
    """Mass of the aircraft, without and with fuel."""

    dry: Mass | None = None
    """Mass with empty tanks, in kilograms."""
    ready: Mass | None = None
    """Mass ready to fly, fuel and all, in kilograms."""


Code = Literal["general", "uk", "us", "canada", "australia", "germany", "eu-c4", "fai-aerobatics"]
"""A published code that the owner says applies."""
CODES: tuple[str, ...] = get_args(Code)


class Aircraft(Section):
    """What the aircraft is."""

    name: Text
    """What the owner calls it."""
    propulsion: (
        Literal["turbine", "piston", "electric-fan", "electric-propeller", "none"] | None
    ) = None
    """What drives it; `none` for a glider."""
    mass: MassStates | None = None
    """Its mass, without and with fuel."""
    fuel: Volume | None = None
    """How much fuel its tanks hold, in litres."""
    flight_time: Duration | None = None
    """How long a flight is meant to last, in minutes."""
    top_speed: Speed | None = None
    """The highest speed in level flight, in m/s, km/h, mph or kt."""
    flights_per_charge: Annotated[int, Whole(1, 50)] | None = None
    """How many flights are flown between charges."""


class Tilt(Section):
    """Small angles by which a mounting is off its faces."""

    roll: Angle | None = None
    """About the length of the body, right side down positive, in degrees."""
    pitch: Angle | None = None
    """About the span, nose up positive, in degrees."""
    yaw: Angle | None = None
    """About the vertical, nose right positive, in degrees."""


class CaseSetting(Section):
    """What to change in one load case."""

    charge: Share | None = None
    """State of charge of the packs, in per cent."""
    servos: Share | None = None
    """How hard all servos work, in per cent of their stall current."""


class LoadCases(Section):
    """Changes to the load cases in which the power network is solved."""

    rest: CaseSetting | None = None
    """Full packs, nothing drawing."""
    cruise: CaseSetting | None = None
    """Half-full packs, steady flight."""
    hard_manoeuvre: CaseSetting | None = None
    """Nearly empty packs, all servos moving hard."""
    stalled_pair: CaseSetting | None = None
    """Nearly empty packs, the two strongest servos stalled."""
    engine_start: CaseSetting | None = None
    """Nearly empty packs, the engine starting."""


class MountingDeclaration(Faces):
    """How a box really sits in the airframe."""

    tilt: Tilt | None = None
    """How far it is off those faces."""


class PortSetting(Section):
    """What a port of a fitted device is set to."""

    does: PortFunction | None = None
    """What the port is set to do."""
    channel: ChannelNumber | None = None
    """The channel whose pulse the port gives."""


class Place3(Section):
    """Where a device sits."""

    station: Station | None = None
    """Along the body from the datum, aft positive, in millimetres."""
    side: Station | None = None
    """From the centre line, right positive, in millimetres."""
    height: Station | None = None
    """From the datum, up positive, in millimetres."""


class Aerial(Section):
    """One aerial of a receiver."""

    points: Direction
    """Which way it points."""
    at: Place3 | None = None
    """Where its active end is."""


class Device(Section):
    """One fitted instance of a part."""

    part: Name
    """The part it is one of: a name under `parts` or in a catalogue."""
    output: Voltage | None = None
    """What a regulator or regulated box is set to, in volts."""
    measured: Voltage | None = None
    """What a meter showed at its output, in volts."""
    alarm: Voltage | None = None
    """Where its low-voltage alarm is set, in volts for the whole pack or rail."""
    alarm_cells: Annotated[int, Whole(1, 40)] | None = None
    """The number of cells its low-voltage alarm is set for."""
    ports: (
        dict[PortRun, Annotated[PortSetting, short_for(PortFunction | PortSetting, "does")]] | None
    ) = None
    """What its ports are set to, where that differs from how they are delivered."""
    mounting: MountingDeclaration | None = None
    """How it really sits."""
    told: Faces | None = None
    """What it has been told about how it sits."""
    frame_rate: Frequency | None = None
    """The frame rate it is set to, in hertz."""
    at: Place3 | None = None
    """Where it sits."""
    aerials: Items[Aerial] | None = None
    """Its aerials, each with the way it points."""
    mass: Mass | None = None
    """Its mass as weighed, in grams or kilograms."""
    retained_by: Items[Text] | None = None
    """What holds it in place."""
    note: Text | None = None
    """Anything worth saying."""


class Lead(Section):
    """One cable between two ports."""

    from_: End
    """The port it comes from."""
    to: End
    """The port it goes to."""
    carries: Literal["both", "power", "signal"] | None = None
    """What its wires carry; by default whatever both of its ports have."""
    wire: WireSize | None = None
    """Size of its supply and ground wires, in AWG or mm2."""
    length: Length | None = None
    """Its length, in centimetres."""
    extension: Length | None = None
    """Length of an extension lead beside the device's own lead, in centimetres."""
    connectors: Items[Name] | None = None
    """Connector parts in line, in order."""
    secured: bool | None = None
    """True where its plugs are held so that they cannot come off."""
    note: Text | None = None
    """Anything worth saying."""


class Link(Section):
    """One radio link."""

    heard_by: Names
    """The receivers that listen on it."""
    note: Text | None = None
    """Anything worth saying."""


class Travel(Section):
    """Travel to each side of the centre."""

    low: Share
    """Travel to the low side, in per cent."""
    high: Share
    """Travel to the high side, in per cent."""


class Channel(Section):
    """One channel of the transmitter."""

    drives: Names
    """Control functions or surfaces, such as `throttle` or `left aileron`."""
    reversed: bool = False
    """True where the channel is reversed in the transmitter."""
    centre: SignedShare | None = None
    """How far the centre is trimmed, in per cent."""
    travel: Annotated[Travel, short_for(Share | Travel, "low", "high")] | None = None
    """How far it goes each side of the centre, in per cent."""
    slow: Duration | None = None
    """How long it takes from end to end where it is slowed, in seconds."""
    note: Text | None = None
    """Anything worth saying."""


class Radio(Section):
    """The radio: its links and channels."""

    transmitter: Text | None = None
    """What the transmitter is, in words."""
    links: dict[Name, Link] | None = None
    """The radio links, each with the receivers that listen on it."""
    channels: dict[ChannelRun, Channel] | None = None
    """The channels by number; like channels as a run such as `1..4`."""


FAILSAFE_WORDS: Final = (
    "hold", "neutral", "stop", "idle", "off", "on", "up", "down", "open", "closed", "low", "high",
    "no-pulse",
)  # fmt: skip

FAILSAFE_ACTION: Final = Wording(
    "a failsafe action",
    "A word such as `hold` or `neutral`, a share of travel such as `-100 %`, or a pulse such as "
    "`1000 us`.",
    f"{'|'.join(FAILSAFE_WORDS)}"
    r"|[+-]?[0-9]{1,3}(?:\.[0-9]{1,9})? ?%"
    "|[0-9]{1,4}(?:\\.[0-9]{1,9})? ?[uµ\u03bc]s",
    ("hold", "stop", "-100 %", "1000 us"),
    words=FAILSAFE_WORDS,
)
FailsafeAction = Annotated[str, FAILSAFE_ACTION]


class DeviceFailsafe(Section):
    """What one receiver, hub, gyro or engine controller does when it hears nothing."""

    after: Duration | None = None
    """How long it holds before it acts, in seconds."""
    channels: dict[ChannelRun, FailsafeAction] | None = None
    """What each channel does, by number; like channels as a run such as `1..6`."""
    passes_on: bool = False
    """True for a box with no failsafe of its own, that passes on what it is sent."""
    note: Text | None = None
    """Anything worth saying."""


class Surface(Section):
    """One moving surface."""

    servo: Names
    """The servo, or servos, that move it."""
    function: Text | None = None
    """Its control function, where the name does not say it."""
    steadied_in: Axes | None = None
    """The gyro axes that move it."""
    note: Text | None = None
    """Anything worth saying."""
