"""The sections of a setup file: aircraft, devices, leads, radio, failsafe, surfaces."""

from typing import Annotated, Final, Literal, get_args

from pydantic import Field

from holdshort.setup.base import (
    Axes,
    Axis,
    ChannelNumber,
    ChannelRun,
    Day,
    Directions,
    End,
    Items,
    Name,
    Names,
    PortRun,
    RuleId,
    Section,
    Text,
    Texts,
    Whole,
    Wording,
    Words,
    short_for,
)
from holdshort.setup.linkages import Deflection, Linkage, SurfaceSize, Throw
from holdshort.setup.parts import Faces, PortFunction
from holdshort.setup.quantities import (
    LENGTH,
    Angle,
    Duration,
    Frequency,
    Length,
    Mass,
    Pulse,
    Quantity,
    QuantityType,
    Share,
    SignedShare,
    Speed,
    Station,
    Temperature,
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


class FlyingField(Section):
    """The air at the field that the aircraft is flown from."""

    height: Station | None = None
    """Height of the field above sea level, in metres; sea level where absent."""
    temperature: Temperature | None = None
    """The coldest air that the aircraft is flown in, in degrees Celsius; that of the standard
    atmosphere at that height where absent."""


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
    """How many flights are flown between charges of the radio's packs."""
    field: FlyingField | None = None
    """The field it is flown from."""


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
    changed: Day | None = None
    """When it was last moved."""


class ToldDeclaration(Faces):
    """What a box has been told about how it sits."""

    changed: Day | None = None
    """When that setting was last changed."""


class PortSetting(Section):
    """What a port of a fitted device is set to."""

    does: PortFunction | None = None
    """What the port is set to do."""
    channel: ChannelNumber | None = None
    """The channel whose pulse the port gives."""
    reversed: bool = False
    """True where the box itself reverses this output."""
    frame_rate: Frequency | None = None
    """The frame rate of this output, in hertz, where it has one of its own."""


class Mix(Section):
    """One mix, in the transmitter or in a box between it and the servos."""

    from_: Name
    """The function that it follows."""
    to: Names
    """The functions or surfaces that it moves."""
    share: SignedShare
    """How much, in per cent."""


class Place3(Section):
    """Where a device sits."""

    station: Station | None = None
    """Along the body from the datum, aft positive, in millimetres."""
    side: Station | None = None
    """From the centre line, right positive, in millimetres."""
    height: Station | None = None
    """From the datum, up positive, in millimetres."""
    changed: Day | None = None
    """When it was fitted or moved there."""


class Aerial(Section):
    """One aerial of a receiver."""

    points: Directions
    """Which way it points; two or three directions for one that lies between them."""
    at: Place3 | None = None
    """Where its active end is."""
    near: dict[Literal["carbon", "metal", "fuel", "battery", "wiring"], Length] | None = None
    """How far its active end is from things that shade it, in millimetres."""


Gaps = dict[Literal["hot", "moving", "sharp"], Annotated[Quantity, QuantityType(LENGTH, zero=True)]]
"""How far it is from hot parts, moving parts and sharp edges; what is not named is not near."""


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
    told: ToldDeclaration | None = None
    """What it has been told about how it sits."""
    frame_rate: Frequency | None = None
    """The frame rate it is set to, in hertz."""
    backs_up: Name | None = None
    """The receiver that this one is set to back up."""
    directions: dict[Axis, Literal["normal", "reversed"]] | None = None
    """How a gyro is set to correct in each axis."""
    mixes: Items[Mix] | None = None
    """The mixes that live in this hub or gyro, not in the transmitter."""
    taught: Day | None = None
    """When a gyro last learned the centres and end points."""
    learned: dict[Literal["stop", "idle", "full"], Pulse] | None = None
    """The pulses an engine controller has learned, in microseconds."""
    learned_on: Day | None = None
    """When an engine controller last learned its pulses."""
    at: Place3 | None = None
    """Where it sits."""
    aerials: Annotated[Items[Aerial], Field(max_length=16)] | None = None
    """Its aerials, each with the way it points."""
    mass: Mass | None = None
    """Its mass as weighed, in grams or kilograms."""
    retained_by: Texts | None = None
    """What holds it in place."""
    isolated_by: Texts | None = None
    """What keeps vibration from it, such as foam or soft mounts; an empty list for nothing."""
    near: Gaps | None = None
    """How far it is from hot parts, moving parts and sharp edges, in millimetres."""
    address: Annotated[int, Whole(0, 255)] | None = None
    """The address it is set to on the telemetry bus."""
    senses: Names | None = None
    """What a sensor is wired to or sits on: packs, devices or tanks."""
    note: Text | None = None
    """Anything worth saying."""


class Lead(Section):
    """One cable between two ports."""

    from_: End
    """The port it comes from."""
    to: End
    """The port it goes to."""
    carries: Literal["both", "power", "signal", "signal-alone"] | None = None
    """What its wires carry; by default whatever both of its ports have. `power` is supply and
    ground, `signal` is signal and ground with the supply wire taken out, `signal-alone` is the
    signal wire by itself, without ground."""
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
    strain_relief: bool | None = None
    """True where it is held near its ends, so that no pull reaches the plugs."""
    bend_radius: Length | None = None
    """The radius of its tightest bend, in millimetres."""
    bend_supported: bool | None = None
    """True where it is held on both sides of that bend."""
    diameter: Length | None = None
    """Its outside diameter, or that of the bundle it runs in, in millimetres."""
    near: Gaps | None = None
    """How far it is from hot parts, moving parts and sharp edges, in millimetres."""
    protected_by: Texts | None = None
    """What protects it where it could chafe, such as a grommet or a sleeve."""
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


Sense = Literal["longer", "shorter"]
Dates = dict[Literal["travel", "centre", "reversed"], Day]


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
    trim: SignedShare | None = None
    """The trim in use, in per cent."""
    changed: Dates | None = None
    """When each of its values was last changed."""
    copied_from: Text | None = None
    """The aircraft that its values were copied from."""
    confirmed: Day | None = None
    """When copied values were confirmed on this aircraft."""
    note: Text | None = None
    """Anything worth saying."""


class Mode(Section):
    """One flight mode."""

    gyro: Literal["on", "off"] | None = None
    """Whether the gyro works in this mode."""
    gains: dict[Axis, Share] | None = None
    """Gyro gain in each axis, in per cent."""
    speed: Speed | None = None
    """The speed it is flown at, in metres per second."""
    travel: dict[ChannelRun, Annotated[Travel, short_for(Share | Travel, "low", "high")]] | None = (
        None
    )
    """Travel of channels that differ in this mode, in per cent."""


class RadioPulse(Section):
    """How the transmitter turns per cent into pulses."""

    centre: Pulse
    """The pulse at centre, in microseconds."""
    full: Pulse
    """How much longer the pulse gets at 100 %, in microseconds."""


class RadioSettings(Section):
    """What the transmitter does beside its links, channels and modes."""

    transmitter: Text | None = None
    """What the transmitter is, in words."""
    pulse: RadioPulse | None = None
    """How per cent become pulses."""
    frame_rate: Frequency | None = None
    """The frame rate of the link, in hertz."""
    sense: dict[Literal["roll", "pitch", "yaw", "throttle"], Sense] | None = None
    """What a channel that is not reversed gives for stick right, back, right and forward."""
    throttle_cut: Text | None = None
    """The switch that cuts the throttle."""
    mixes: Items[Mix] | None = None
    """The mixes that live in the transmitter."""


class Radio(RadioSettings):
    """The radio: its links, channels, modes and mixes."""

    links: dict[Name, Link] | None = None
    """The radio links, each with the receivers that listen on it."""
    channels: dict[ChannelRun, Channel] | None = None
    """The channels by number; like channels as a run such as `1..4`."""
    modes: dict[Name, Mode] | None = None
    """The flight modes."""


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
    "|(?=[0-9.]*[1-9])[0-9]{1,4}(?:\\.[0-9]{1,9})? ?[uµ\u03bc]s",
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
    set_on: Day | None = None
    """When it was last set."""
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
    longer_pulse: Literal["up", "down", "left", "right"] | None = None
    """Which way its trailing edge goes when its servo's pulse gets longer: for a nose wheel the way
    it points, for a tail wheel the way its rear goes, for a nozzle the way its exit goes."""
    mirrored: Names | None = None
    """Those of its servos that sit mirrored, so that a longer pulse moves it the other way."""
    side: Literal["left", "right"] | None = None
    """Which side of the aircraft it is on, where its name does not say `left` or `right`."""
    deflection: Annotated[Deflection, short_for(Throw | Deflection, "each-way")] | None = None
    """How far its trailing edge goes from neutral, in degrees."""
    loads: SurfaceSize | None = None
    """What the load of the air on it depends on."""
    linkage: Linkage | None = None
    """How its servo is linked to it."""
    note: Text | None = None
    """Anything worth saying."""


class Observation(Section):
    """What was seen in one bench test."""

    card: Text
    """The card that was followed."""
    seen: Literal["as it must", "reversed", "nothing", "something else"]
    """What happened."""
    on: Day
    """When."""
    by: Text | None = None
    """Who looked."""
    note: Text | None = None
    """Anything worth saying."""


class Deferral(Section):
    """One finding that is accepted for now."""

    rule: RuleId
    """The rule that found it, as the fix list gives it."""
    at: Words
    """Where it was found: the path that the fix list gives, such as `devices.regulator.output`."""
    reason: Words
    """Why it can wait."""
    by: Words
    """Who accepts it."""
    until: Day
    """The last day on which it is accepted."""
    second: Words | None = None
    """Who else accepts it: needed for a warning that holds power-up."""
