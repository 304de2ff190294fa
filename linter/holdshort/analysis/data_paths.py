"""How a reading reaches the transmitter: telemetry leads, hubs and chains, and addresses on a bus.

A device with several ``data`` ports joins them, as a hub or a chained sensor does; a receiver ends
every path, for it sends on by radio (the trade's own meaning of the plugs; no published source).
"""

from collections.abc import Iterator
from functools import cached_property
from typing import TYPE_CHECKING, Literal, NamedTuple

from holdshort.analysis.facts import Need
from holdshort.analysis.rail_supplies import is_supplied
from holdshort.analysis.signal_nets import misfit
from holdshort.setup import Cable, Fitted, Place, Port, Setup
from holdshort.setup.parts import Load, Receiver

if TYPE_CHECKING:
    from holdshort.analysis.aircraft import Aircraft

Trouble = Literal["no lead", "not data", "no power", "no ground", "not sent", "no receiver"]


class DataPath(NamedTuple):
    """The way of what a device measures: the devices from it to the receiver, both included."""

    devices: tuple[str, ...]

    @property
    def receiver(self) -> str:
        """The receiver that sends it to the transmitter."""
        return self.devices[-1]


class Broken(NamedTuple):
    """Why nothing that a device measures reaches the transmitter, and what to do about it.

    ``reached`` are the devices that its data gets to.
    """

    trouble: Trouble
    at: Place
    words: str
    do: str
    reached: tuple[str, ...]


class Bus(NamedTuple):
    """What hangs on the telemetry of one receiver, or together on none (``receiver`` is empty)."""

    receiver: str
    devices: tuple[str, ...]


class _Joint(NamedTuple):
    """One telemetry wire between two ports, seen from ``here``."""

    here: Port
    there: Port


class DataPaths:
    """The telemetry leads of one aircraft."""

    def __init__(self, aircraft: "Aircraft") -> None:
        """Take the aircraft; nothing is worked out before it is asked for."""
        self._aircraft = aircraft
        self._setup: Setup = aircraft.setup

    @cached_property
    def _joints(self) -> dict[str, list[_Joint]]:
        """The telemetry wires at each device, in the order of the leads."""
        found: dict[str, list[_Joint]] = {}
        for net in self._aircraft.drives.nets:
            functions = [port.does or "" for port in net.ports]
            if "data" not in functions or misfit(functions) is not None:
                continue
            for here in net.ports:
                others = [port for port in net.ports if port.device != here.device]
                found.setdefault(here.device, []).extend(_Joint(here, one) for one in others)
        return found

    def path(self, device: Fitted) -> DataPath | Broken | Need:
        """Return how what ``device`` measures reaches the transmitter, or why it does not.

        A need says what is missing to know it.
        """
        if isinstance(device.part, Receiver):
            return self._sent((device.name,))
        reached = self._reached(device.name)
        receivers = [name for name in reached if self._is_receiver(name)]
        paths = [self._walked(reached, name) for name in receivers]
        found = [self._sound(path) for path in paths]
        good = [one for one in found if isinstance(one, DataPath)]
        if good:
            return min(good, key=lambda path: len(path.devices))
        return (
            next((one for one in found if isinstance(one, Need)), None)
            or next(iter(found), None)
            or self._unjoined(device, tuple(reached))
        )

    def _is_receiver(self, name: str) -> bool:
        return self._setup.devices[name].kind == "receiver"

    def _reached(self, start: str) -> dict[str, _Joint | None]:
        """Return what data from ``start`` gets to, nearest first, each with the wire it came by."""
        seen: dict[str, _Joint | None] = {start: None}
        queue = [start]
        for name in queue:
            if self._is_receiver(name):
                continue
            for joint in self._joints.get(name, ()):
                if joint.there.device not in seen:
                    seen[joint.there.device] = joint
                    queue.append(joint.there.device)
        return seen

    def _walked(self, reached: dict[str, _Joint | None], end: str) -> tuple[_Joint, ...]:
        walked: list[_Joint] = []
        joint = reached[end]
        while joint is not None:
            walked.append(joint)
            joint = reached[joint.here.device]
        return tuple(reversed(walked))

    def _sound(self, walked: tuple[_Joint, ...]) -> DataPath | Broken | Need:
        """Judge power and ground along a way to a receiver, and whether that sends on."""
        names = (walked[0].here.device, *(joint.there.device for joint in walked))
        for name in names:
            dead = self._dead(self._setup.devices[name], names)
            if dead is not None:
                return dead
        for joint in walked:
            loose = self._loose(joint, names)
            if loose is not None:
                return loose
        return self._sent(names)

    def _dead(self, device: Fitted, reached: tuple[str, ...]) -> Broken | Need | None:
        if is_supplied(self._aircraft.wiring, device):
            return None
        unknown = self._aircraft.supply(device).unknown
        if unknown:
            return unknown[0]
        return Broken(
            "no power",
            device.at(),
            f"no supply reaches `{device.name}`",
            f"Bring power to `{device.name}`, with its ground.",
            reached,
        )

    def _loose(self, joint: _Joint, reached: tuple[str, ...]) -> Broken | Need | None:
        grounds = self._aircraft.grounds
        if grounds.have_common(joint.here, joint.there):
            return None
        gap = grounds.gap_beside(joint.here, joint.there)
        if gap is not None:
            return Need(gap.place, f"both ends of the lead {gap.title}")
        one, other = joint.here.address, joint.there.address
        return Broken(
            "no ground",
            joint.here.set_by,
            f"`{one}` and `{other}` share no ground, so the signal between them means nothing",
            f"Run a ground wire with the signal from `{one}` to `{other}`.",
            reached,
        )

    def _sent(self, names: tuple[str, ...]) -> DataPath | Broken:
        receiver = self._setup.devices[names[-1]]
        if not sends_back(receiver):
            return Broken(
                "not sent",
                receiver.part_place("sends-back"),
                f"it gets to `{receiver.name}`, which sends nothing back to the transmitter",
                self._other_receiver(receiver),
                names,
            )
        links = self._setup.links
        heard = {name for link in links.values() for name in link.heard_by}
        if links and receiver.name not in heard and not self._setup.broken_under("radio", "links"):
            return Broken(
                "not sent",
                receiver.at(),
                f"it gets to `{receiver.name}`, which is on no link of the transmitter",
                f"Bind `{receiver.name}` to a link and declare it, or join the sensor elsewhere.",
                names,
            )
        return DataPath(names)

    def _other_receiver(self, receiver: Fitted) -> str:
        others = [one for one in self._senders() if one.name != receiver.name]
        if not others:
            return "Join it to a receiver that sends telemetry back."
        return f"Join it to `{others[0].name}`, which sends telemetry back."

    def _senders(self) -> list[Fitted]:
        return [one for one in self._setup.of_kind("receiver") if sends_back(one)]

    def _unjoined(self, device: Fitted, reached: tuple[str, ...]) -> Broken | Need:
        """Say which lead is missing of a device whose data gets to no receiver."""
        gap = next((cable for cable in self._open_leads() if self._touches(cable, reached)), None)
        if gap is not None:
            return Need(gap.place, f"both ends of the lead {gap.title}")
        unset = self._wrongly_set(reached)
        if unset is not None:
            return unset
        return self._missing_lead(device, reached)

    def _open_leads(self) -> Iterator[Cable]:
        for cable in self._setup.cables:
            if cable.start.port is None or cable.end.port is None:
                yield cable

    def _touches(self, cable: Cable, names: tuple[str, ...]) -> bool:
        return any(end.device in names for end in (cable.start, cable.end))

    def _wrongly_set(self, reached: tuple[str, ...]) -> Broken | Need | None:
        """Look for a data lead from one of ``reached`` into a port that is set otherwise."""
        for net in self._aircraft.drives.nets:
            ours = [port for port in net.ports if port.does == "data" and port.device in reached]
            wrong = [port for port in net.ports if port.does != "data"]
            if not ours or not wrong:
                continue
            here, port = ours[0], wrong[0]
            if port.does is None:
                return Need(port.set_by, f"what port `{port.address}` is set to")
            can = "data" in port.can_be
            do = f"Set `{port.address}` to `data`." if can else "Use a port that carries telemetry."
            words = f"its lead from `{here.address}` ends at `{port.address}`, which is "
            return Broken("not data", port.set_by, f"{words}`{port.does}`", do, reached)
        return None

    def _missing_lead(self, device: Fitted, reached: tuple[str, ...]) -> Broken:
        senders = self._senders()
        if not senders:
            words = "no receiver of this aircraft sends telemetry back"
            do = "Fit one that does, or have the value alarm on board."
            return Broken("no receiver", device.at(), words, do, reached)
        first = reached[-1] if len(reached) > 1 else device.name
        words = f"no lead joins `{first}` to a receiver"
        do = f"Run a telemetry lead from `{self._outlet(reached)}` to {self._way_in(senders)}."
        return Broken("no lead", device.at(), words, do, reached)

    def _way_in(self, senders: list[Fitted]) -> str:
        """Return where a lead may end: at a receiver, else at what is joined to one already."""
        direct = next(filter(None, (self._inlet(one) for one in senders)), None)
        if direct is not None:
            return self._told(direct)
        for receiver in senders:
            for name in self._around(receiver.name):
                box = self._setup.devices[name]
                free = None if box is receiver else self._inlet(box, ready=True)
                if free is not None:
                    return f"`{free}`, which is joined to `{receiver.name}` already"
        return f"`{senders[0].name}`, through a hub or a sensor that chains: it has no free port"

    def _outlet(self, reached: tuple[str, ...]) -> str:
        """Return the free data port farthest along, or the device where none is free.

        Of several ports of one device the last: what goes on is printed last.
        """
        used = self._used()
        for name in reversed(reached):
            for port in reversed(list(self._setup.devices[name].ports.values())):
                if port.does == "data" and port.address not in used:
                    return port.address if len(self._setup.devices[name].ports) > 1 else name
        return reached[0]

    def _inlet(self, device: Fitted, *, ready: bool = False) -> str | None:
        """Return a free data port, or unless it must be ``ready`` one that can be set to that."""
        used = self._used()
        free = [port for port in device.ports.values() if port.address not in used]
        set_so = [port for port in free if port.does == "data"]
        able = [] if ready else [port for port in free if "data" in port.can_be]
        return next((port.address for port in (*set_so, *able)), None)

    def _told(self, end: str) -> str:
        device, _, name = end.partition(".")
        port = self._setup.devices[device].ports.get(name)
        if port is not None and port.does != "data":
            return f"`{end}`, set to `data`"
        return f"`{end}`"

    def _used(self) -> set[str]:
        return {
            end.port.address
            for cable in self._setup.cables
            for end in (cable.start, cable.end)
            if end.port is not None
        }

    @cached_property
    def buses(self) -> tuple[Bus, ...]:
        """What hangs together on the telemetry of each receiver, or on none."""
        found: list[Bus] = []
        told: set[str] = set()
        for receiver in self._setup.of_kind("receiver"):
            members = [name for name in self._around(receiver.name) if name != receiver.name]
            if members:
                found.append(Bus(receiver.name, tuple(members)))
                told |= {receiver.name, *members}
        for name in self._joints:
            if name not in told and not self._is_receiver(name):
                members = list(self._around(name))
                told |= set(members)
                found.append(Bus("", tuple(members)))
        return tuple(found)

    def _around(self, start: str) -> dict[str, None]:
        """Return what is joined to ``start``; another receiver ends the way."""
        seen = {start: None}
        queue = [start]
        for name in queue:
            if name != start and self._is_receiver(name):
                del seen[name]
                continue
            for joint in self._joints.get(name, ()):
                if joint.there.device not in queue:
                    seen[joint.there.device] = None
                    queue.append(joint.there.device)
        return seen


def sends_back(receiver: Fitted) -> bool:
    """True for a receiver that sends telemetry back to the transmitter.

    One with a ``data`` port, or that measures something itself, does unless it is declared not to.
    """
    part = receiver.part
    if not isinstance(part, Receiver):
        return False
    if part.sends_back is not None:
        return part.sends_back
    can = any(port.does == "data" or "data" in port.can_be for port in receiver.ports.values())
    return can or part.measures is not None


def address_of(device: Fitted) -> int | None:
    """Return the address to which a device is set, or that it has as delivered, or None."""
    if device.device.address is not None:
        return device.device.address
    return device.part.address if isinstance(device.part, Load) else None


def wants_address(device: Fitted) -> bool | None:
    """Tell whether a device needs an address on the telemetry bus; None where that is not said."""
    if address_of(device) is not None:
        return True
    return device.part.needs_address if isinstance(device.part, Load) else False


def measures_something(device: Fitted) -> bool:
    """True for a sensor, and for a device whose part says what it measures."""
    return device.kind == "sensor" or bool(getattr(device.part, "measures", None))
