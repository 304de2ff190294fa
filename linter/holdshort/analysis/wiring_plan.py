"""What a drawing of the wiring shows: the devices, the leads between them, and their voltages.

Nothing here knows how it is drawn. Voltages are in volts.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

from holdshort.analysis.aircraft import Aircraft
from holdshort.analysis.load_cases import REST
from holdshort.analysis.power_rows import ByCase, Reading, lowest
from holdshort.analysis.power_table import node_volts
from holdshort.analysis.wiring import Node, is_regulating, is_servo_lead, node_of
from holdshort.document import show_path
from holdshort.setup import Cable, Fitted, LeadEnd, Setup
from holdshort.setup.parts import Battery

Role = Literal[
    "source", "switch", "regulator", "distribution", "receiver", "box", "load", "joint", "unknown"
]
"""What a device is in the wiring. ``box`` is a hub or gyro, ``joint`` a splitter or connector,
``unknown`` what a lead goes to that is no device of the setup."""

Carries = Literal[
    "power", "power and signal", "signal", "power only", "signal only", "signal alone", "nothing"
]
"""What a lead carries.

``power``: between ports that have no signal. ``signal``: where a port has no supply pin to join.
``power only`` and ``signal only``: on three-pin servo plugs, with the signal or the supply wire
taken out. ``signal alone``: the signal wire without ground. ``nothing``: power and signal are both
barred by what its ports are.
"""

_ROLES: Final[dict[str, Role]] = {
    "battery": "source",
    "switch": "switch",
    "fuse": "switch",
    "regulator": "regulator",
    "distribution": "distribution",
    "receiver": "receiver",
    "hub": "box",
    "gyro": "box",
    "splitter": "joint",
    "connector": "joint",
}
_OUTWARD: Final = frozenset({"feed", "servo", "bus-out"})
_INWARD: Final = frozenset({"supply", "pulse-in", "bus-in"})
_RANKS: Final[dict[Role, int]] = {
    "source": 0, "switch": 1, "regulator": 2, "distribution": 3, "receiver": 4, "box": 5,
    "load": 6, "joint": 7, "unknown": 8,
}  # fmt: skip


_BEHIND_ALL: Final = (2, 0)
"""The order of a port that is none of the device."""


class EndVolts(NamedTuple):
    """The voltage at one end of a lead: at rest, and the lowest of all load cases."""

    rest: Reading
    lowest: Reading
    case: str
    """The load case of the lowest."""


class PlanEnd(NamedTuple):
    """One end of a lead: a device of the plan by its number, and the name of the port there.

    ``known`` is False where the port is none that the setup has; ``port`` is then as written.
    ``order`` puts ports side by side as on the device. ``volts`` is None where the end has no
    power, or no known port.
    """

    device: int
    port: str
    known: bool
    order: tuple[int, int]
    volts: EndVolts | None = None


@dataclass(frozen=True, slots=True)
class PlanDevice:
    """One device. ``told`` is a fact or two about it; ``ports`` is how many ports it has.

    ``name`` is as written in the leads where the device is none of the setup (``role`` is then
    ``unknown``) and ``told`` says why.
    """

    name: str
    role: Role
    kind: str
    part: str
    told: str
    ports: int


@dataclass(frozen=True, slots=True)
class PlanLead:
    """One lead; ``index`` is its place in the list of leads, from 0.

    ``start`` is the end that gives and ``end`` the one that takes, as far as the ports tell;
    ``title`` names it as it is written in the file.
    """

    index: int
    start: PlanEnd
    end: PlanEnd
    carries: Carries
    title: str


@dataclass(frozen=True, slots=True)
class WiringPlan:
    """Everything that is wired. ``unread`` are entries that have mistakes of form."""

    file: str
    aircraft: str
    devices: tuple[PlanDevice, ...]
    leads: tuple[PlanLead, ...]
    unread: tuple[str, ...]


def wiring_plan(aircraft: Aircraft) -> WiringPlan:
    """Gather the devices and leads of ``aircraft``, with the voltages at their ends."""
    setup = aircraft.setup
    told = _Functions(aircraft)
    devices = [_device(device, told) for device in setup.devices.values()]
    ends = _Ends(setup, devices, node_volts(aircraft))
    leads = tuple(_lead(cable, ends) for cable in setup.cables)
    return WiringPlan(
        file=setup.file,
        aircraft=setup.aircraft.name if setup.aircraft else "",
        devices=tuple(devices),
        leads=leads,
        unread=tuple(show_path(path) for path in sorted(setup.broken, key=str)),
    )


class _Functions:
    """What each device moves or does, in words: the surfaces of a servo, else its channels."""

    def __init__(self, aircraft: Aircraft) -> None:
        self._words: dict[str, dict[str, None]] = {}
        setup = aircraft.setup
        for name, surface in setup.surfaces.items():
            for servo in surface.servo:
                self._words.setdefault(servo, {})[name] = None
        moving = frozenset(self._words)
        for end in aircraft.channel_ends:
            entry = setup.channels.get(end.channel) if end.channel is not None else None
            if entry is not None and end.device.name not in moving:
                words = self._words.setdefault(end.device.name, {})
                words.update(dict.fromkeys(map(str, entry.channel.drives)))

    def of(self, device: Fitted) -> str:
        """Return them with commas between, or nothing."""
        return ", ".join(self._words.get(device.name, ()))


def _device(device: Fitted, functions: _Functions) -> PlanDevice:
    role = _ROLES.get(device.kind, "load")
    told = functions.of(device) if role == "load" else ""
    return PlanDevice(
        name=device.name,
        role=role,
        kind=device.kind,
        part=device.part_name,
        told=told or _fact(device) or device.part_name,
        ports=len(device.ports),
    )


def _fact(device: Fitted) -> str:
    part = device.part
    if isinstance(part, Battery):
        return f"{part.cells}-cell {part.chemistry}"
    if is_regulating(device) and device.device.output is not None:
        return f"set to {device.device.output.text}"
    return ""


class _Ends:
    """Resolves the ends of leads; adds to ``devices`` what is none of the setup."""

    def __init__(
        self, setup: Setup, devices: list[PlanDevice], volts: Callable[[Node], ByCase]
    ) -> None:
        self._setup = setup
        self._devices = devices
        self._volts = volts
        self._numbers = {device.name: number for number, device in enumerate(devices)}
        self._strangers: dict[tuple[str, str], int] = {}

    def end(self, end: LeadEnd, *, powered: bool) -> PlanEnd:
        port = end.port
        if port is None:
            return self._loose_end(end)
        device = self._setup.devices[port.device]
        volts = None
        if powered and port.powered:
            volts = _end_volts(self._volts(node_of(device, port)))
        number, order = self._numbers[device.name], _order(port.name, device)
        return PlanEnd(number, port.name, known=True, order=order, volts=volts)

    def _loose_end(self, end: LeadEnd) -> PlanEnd:
        _, _, port = end.written.partition(".")
        number = self._numbers.get(end.device)
        if number is not None:
            return PlanEnd(number, port, known=False, order=_BEHIND_ALL)
        key = (end.trouble, end.device)
        if key not in self._strangers:
            self._strangers[key] = len(self._devices)
            unread = end.trouble == "unreadable-device"
            why = "has mistakes of form" if unread else "no such device"
            self._devices.append(PlanDevice(end.device, "unknown", "", "", why, 0))
        return PlanEnd(self._strangers[key], port, known=False, order=_BEHIND_ALL)

    def rank(self, end: PlanEnd) -> int:
        return _RANKS[self._devices[end.device].role]


def _order(name: str, device: Fitted) -> tuple[int, int]:
    """Numbered ports first, by number; the others as declared."""
    if name.isdecimal() and name.isascii():
        return 0, int(name)
    return 1, list(device.ports).index(name)


def _end_volts(readings: ByCase) -> EndVolts | None:
    low = lowest(readings)
    if low is None:
        return None
    rest = readings.get(REST.name, low.reading)
    return EndVolts(rest, low.reading, low.case)


def _lead(cable: Cable, ends: _Ends) -> PlanLead:
    carries = _carries(cable)
    powered = carries in {"power", "power only", "power and signal"}
    start, end = (ends.end(each, powered=powered) for each in (cable.start, cable.end))
    if _is_backward(cable, ends.rank(start), ends.rank(end)):
        start, end = end, start
    title = f"{cable.start.written} to {cable.end.written}"
    return PlanLead(cable.index, start, end, carries, title)


def _is_backward(cable: Cable, start_rank: int, end_rank: int) -> bool:
    """Tell whether a lead is written from the end that takes to the end that gives."""
    start, end = (
        each.port.does if each.port is not None else None for each in (cable.start, cable.end)
    )
    if start in _OUTWARD or end in _INWARD:
        return False
    if start in _INWARD or end in _OUTWARD:
        return True
    return end_rank < start_rank


def _carries(cable: Cable) -> Carries:
    power, signal = cable.carries_power, cable.carries_signal
    if not cable.carries_ground:
        return "signal alone"
    if power and signal:
        return "power and signal"
    if power:
        return "power only" if is_servo_lead(cable) else "power"
    if not signal:
        return "nothing"
    return "signal only" if _has_supply_pins(cable) else "signal"


def _has_supply_pins(cable: Cable) -> bool:
    return all(end.port is None or end.port.powered for end in (cable.start, cable.end))
