"""A setup as the rest of the program reads it: fitted devices, leads, radio, and their places.

The small ones are named tuples: a data class costs seven times as much of the start-up.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from holdshort.document import Document, Path, Span
from holdshort.setup.parts import Connector, Part, PartBase, PortFunction
from holdshort.setup.sections import (
    Aircraft,
    Channel,
    Deferral,
    Device,
    DeviceFailsafe,
    Lead,
    Link,
    LoadCases,
    Mode,
    Observation,
    RadioSettings,
    Surface,
)

if TYPE_CHECKING:
    from holdshort.setup.balance import Balance
    from holdshort.setup.evidence import SignOff
    from holdshort.setup.logs import LogColumns
    from holdshort.setup.telemetry import Reading


class Place(NamedTuple):
    """One place in one file: a document path."""

    file: str
    path: Path


class Port(NamedTuple):
    """One port of a fitted device.

    ``does`` is what it is set to do, or None where that is not declared; ``set_by`` is the place
    that says so.
    """

    device: str
    name: str
    does: PortFunction | None
    can_be: tuple[PortFunction, ...]
    delivered: PortFunction | None
    is_set: bool
    isolated: bool
    drop: float | None
    powered: bool
    channel: int | None
    set_by: Place
    optical: bool = False

    @property
    def address(self) -> str:
        """``device.port``."""
        return f"{self.device}.{self.name}"

    @property
    def takes_power_only(self) -> bool:
        """True for a port without a signal wire."""
        return self.does in {"supply", "feed"}


class Fitted(NamedTuple):
    """One fitted device: its declaration, its part, and where both stand."""

    name: str
    place: Place
    device: Device
    part_name: str
    part: Part
    ports: Mapping[str, Port]
    origins: Mapping[str, Place]
    """Where each top-level field of the part stands, by key; a derived part has several."""
    part_root: Place

    @property
    def kind(self) -> str:
        """The kind of its part: ``servo``, ``receiver``, ..."""
        return self.part.kind

    def part_place(self, *path: str | int) -> Place:
        """Return the place of a field of its part, or of the part where the field is absent."""
        if not path:
            return self.part_root
        origin = self.origins.get(str(path[0]))
        return Place(origin.file, (*origin.path, *path)) if origin else self.part_root

    def at(self, *path: str | int) -> Place:
        """Return the place of a field of its own declaration."""
        return Place(self.place.file, (*self.place.path, *path))


class LeadEnd(NamedTuple):
    """One end of a lead: its port, or why there is none.

    ``trouble`` is empty where ``port`` is known; otherwise ``no-device``, ``unreadable-device``,
    ``no-port`` or ``which-port``, and ``near`` holds the names that could be meant.
    """

    written: str
    place: Place
    device: str
    port: Port | None
    trouble: str = ""
    near: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Cable:
    """One lead with both ends resolved.

    Two leads are never the same one, however alike; so a lead can stand in a set or be a key,
    which what its file says of it could not.
    """

    index: int
    place: Place
    lead: Lead
    start: LeadEnd
    end: LeadEnd

    @property
    def carries_power(self) -> bool:
        """True where its supply and ground wires join both ports."""
        if self.lead.carries is not None:
            return self.lead.carries in {"both", "power"}
        return all(end.port is None or end.port.powered for end in (self.start, self.end))

    @property
    def carries_signal(self) -> bool:
        """True where its signal wire joins both ports."""
        if self.lead.carries is not None:
            return self.lead.carries != "power"
        return not any(end.port and end.port.takes_power_only for end in (self.start, self.end))

    @property
    def carries_ground(self) -> bool:
        """True where its ground wire joins both ports: all leads but a bare signal wire."""
        return self.lead.carries != "signal-alone"

    @property
    def title(self) -> str:
        """How messages name it."""
        return f"`{self.start.written}` to `{self.end.written}`"


class ChannelEntry(NamedTuple):
    """One channel of the transmitter and where it stands."""

    number: int
    place: Place
    channel: Channel


class FailsafeEntry(NamedTuple):
    """The failsafe of one device: each channel's action with its place."""

    device: str
    place: Place
    declared: DeviceFailsafe
    channels: Mapping[int, tuple[str, Place]]


@dataclass(frozen=True)
class Setup:
    """One aircraft as declared. What is absent is unknown; what could not be read is in ``broken``.

    ``sections`` names the sections that are present in the file. ``follows`` are the codes that
    apply, and ``code_places`` the places that say so: in the file itself, or in what it shares.
    """

    file: str
    documents: Mapping[str, Document]
    sections: frozenset[str]
    aircraft: Aircraft | None = None
    follows: tuple[str, ...] = ()
    devices: Mapping[str, Fitted] = field(default_factory=dict[str, Fitted])
    cables: tuple[Cable, ...] = ()
    radio: RadioSettings = field(default_factory=RadioSettings.model_construct)
    modes: Mapping[str, Mode] = field(default_factory=dict[str, Mode])
    observations: tuple[tuple[Place, Observation], ...] = ()
    links: Mapping[str, Link] = field(default_factory=dict[str, Link])
    channels: Mapping[int, ChannelEntry] = field(default_factory=dict[int, ChannelEntry])
    failsafe: Mapping[str, FailsafeEntry] = field(default_factory=dict[str, FailsafeEntry])
    surfaces: Mapping[str, Surface] = field(default_factory=dict[str, Surface])
    load_cases: LoadCases | None = None
    balance: "Balance | None" = None
    telemetry: "Mapping[str, Reading]" = field(default_factory=dict[str, "Reading"])
    log: "LogColumns | None" = None
    sign_offs: "tuple[tuple[Place, SignOff], ...]" = ()
    code_places: Mapping[str, Place] = field(default_factory=dict[str, Place])
    deferrals: tuple[tuple[Place, Deferral], ...] = ()
    connectors: Mapping[str, Connector] = field(default_factory=dict[str, Connector])
    broken: frozenset[Path] = frozenset()

    @property
    def name(self) -> str:
        """The aircraft's name, or its file's."""
        return self.aircraft.name if self.aircraft else self.file

    def place(self, *path: str | int) -> Place:
        """Return a place in the setup file itself."""
        return Place(self.file, path)

    def span(self, place: Place) -> Span:
        """Return where ``place`` stands in its file: the key where it has one, else the value."""
        return self.documents[place.file].key_span_at(place.path)

    def of_kind(self, *kinds: str) -> tuple[Fitted, ...]:
        """Return the fitted devices of the given kinds, in the order of the file."""
        found = self._by_kinds.get(kinds)
        if found is None:
            found = tuple(device for device in self.devices.values() if device.kind in kinds)
            self._by_kinds[kinds] = found
        return found

    @cached_property
    def _by_kinds(self) -> dict[tuple[str, ...], tuple[Fitted, ...]]:
        return {}

    def broken_under(self, *path: str | int) -> Path | None:
        """Return the first entry under ``path`` that has a mistake of form, or None."""
        size = len(path)
        hits = [
            entry for entry in self.broken if entry[:size] == path or path[: len(entry)] == entry
        ]
        return min(hits, key=str) if hits else None


__all__ = [
    "Cable",
    "ChannelEntry",
    "FailsafeEntry",
    "Fitted",
    "LeadEnd",
    "PartBase",
    "Place",
    "Port",
    "Setup",
]
