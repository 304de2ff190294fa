"""From a document to a setup: every mistake of form in one go, each located.

Entries are read one by one. An entry with a mistake is left out and remembered in
:attr:`Setup.broken`, so that the rest of the file can still be judged and nothing is judged on
half of what it needs.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Final, NamedTuple, TypeVar

from holdshort.document import Document, Fault, Node, TreeList
from holdshort.setup.base import Section
from holdshort.setup.catalogue import (
    CATALOGUE_KEY,
    CATALOGUE_SECTIONS,
    ReadCatalogue,
    ResolvedPart,
    Shared,
    Shelf,
    as_part,
    read_shelf,
    root_faults,
)
from holdshort.setup.mistakes import did_you_mean, reference_fault, seen
from holdshort.setup.model import Cable, ChannelEntry, FailsafeEntry, Fitted, Place, Setup
from holdshort.setup.parts import Connector
from holdshort.setup.ports import ports_of
from holdshort.setup.reader import EntryReader
from holdshort.setup.references import dangling, resolve_end
from holdshort.setup.sections import (
    CODES,
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

M = TypeVar("M", bound=Section)

FORMAT_KEY: Final = "holdshort"
SECTIONS: Final = (
    FORMAT_KEY,
    "aircraft",
    "follows",
    "catalogues",
    "parts",
    "devices",
    "leads",
    "radio",
    "failsafe",
    "surfaces",
    "load-cases",
    "balance",
    "telemetry",
    "log",
    "observations",
    "sign-offs",
    "deferrals",
)
_RADIO_SETTINGS: Final = ("transmitter", "pulse", "frame-rate", "sense", "throttle-cut", "mixes")
_RADIO: Final = (*_RADIO_SETTINGS, "links", "channels", "modes")


class Loaded(NamedTuple):
    """A setup, as far as it could be read, and the mistakes of form, in the order of the file."""

    setup: Setup
    faults: tuple[Fault, ...]


def load(document: Document, read: ReadCatalogue, shared: Shared | None = None) -> Loaded:
    """Return the setup that ``document`` declares, and all its mistakes of form.

    ``read`` reads a catalogue by the name that the file gives it, and raises DocumentError.
    ``shared`` is what several aircraft have in common.
    """
    reader = EntryReader(document)
    root = document.root
    reader.faults += root_faults(document, FORMAT_KEY, SECTIONS)
    catalogues = reader.listed(root.get("catalogues"), ("catalogues",))
    shelf, catalogue_documents = read_shelf(document, catalogues, read, shared)
    documents = {document.name: document, **catalogue_documents}
    codes = _codes(reader, root.get("follows"), shared)
    devices = _devices(reader, root.get("devices"), shelf, documents)
    aircraft, cases = root.get("aircraft"), root.get("load-cases")
    setup = Setup(
        file=document.name,
        documents=documents,
        sections=frozenset(root),
        aircraft=None if aircraft is None else reader.entry(Aircraft, aircraft, ("aircraft",)),
        follows=tuple(codes),
        code_places=codes,
        devices=devices,
        cables=_cables(reader, root.get("leads"), devices),
        failsafe=_failsafe(reader, root.get("failsafe")),
        surfaces=reader.entries(Surface, root.get("surfaces"), ("surfaces",)),
        observations=_listed(reader, Observation, root, "observations", "card"),
        deferrals=_listed(reader, Deferral, root, "deferrals", "rule"),
        load_cases=None if cases is None else reader.entry(LoadCases, cases, ("load-cases",)),
    )
    setup = replace(setup, connectors=_connectors(setup.cables, shelf))
    setup = _with_radio(reader, setup, root.get("radio"))
    setup = _with_rarer(reader, setup, root)
    setup = replace(setup, broken=frozenset(reader.broken))
    for name in _own_parts(document):
        shelf.find(name)
    faults = [*reader.faults, *shelf.faults, *dangling(setup, shelf, document)]
    return Loaded(setup, _in_order(faults, document.name))


def check_catalogue(document: Document) -> tuple[Fault, ...]:
    """Return the mistakes of form in a file of parts."""
    shelf = Shelf()
    shelf.faults += root_faults(document, CATALOGUE_KEY, CATALOGUE_SECTIONS)
    shelf.add(document)
    shelf.check_all()
    return _in_order(shelf.faults, document.name)


def _own_parts(document: Document) -> tuple[str, ...]:
    parts = document.root.get("parts")
    return tuple(parts) if isinstance(parts, dict) else ()


def _devices(
    reader: EntryReader, value: Node, shelf: Shelf, documents: Mapping[str, Document]
) -> dict[str, Fitted]:
    found: dict[str, Fitted] = {}
    for name, device in reader.entries(Device, value, ("devices",)).items():
        resolved = _part_of(reader, name, device, shelf)
        if resolved is None:
            reader.broken.add(("devices", name))
            continue
        home = resolved.origins.get("ports", resolved.root)
        found[name] = Fitted(
            name=name,
            place=Place(reader.document.name, ("devices", name)),
            device=device,
            part_name=device.part,
            part=as_part(resolved.part),
            ports=ports_of(reader, name, device, resolved, documents[home.file]),
            origins=resolved.origins,
            part_root=resolved.root,
        )
    return found


def _part_of(reader: EntryReader, name: str, device: Device, shelf: Shelf) -> ResolvedPart | None:
    resolved = shelf.find(device.part)
    if resolved is None and device.part not in shelf.names:
        reader.fault(
            "unknown-part",
            f"`{device.part}` is not a known part.",
            ("devices", name, "part"),
            did_you_mean(device.part, shelf.names)
            or "Declare it under `parts:` or name its catalogue under `catalogues:`.",
        )
    return resolved


def _cables(reader: EntryReader, value: Node, devices: Mapping[str, Fitted]) -> tuple[Cable, ...]:
    if value is None:
        return ()
    if not isinstance(value, TreeList):
        reader.misshapen(value, "a list", ("leads",), "Begin each lead with `- {from:`.")
        return ()
    leads = [reader.entry(Lead, item, ("leads", index)) for index, item in enumerate(value)]
    return tuple(
        _cable(reader, index, lead, devices) for index, lead in enumerate(leads) if lead is not None
    )


def _cable(reader: EntryReader, index: int, lead: Lead, devices: Mapping[str, Fitted]) -> Cable:
    place = Place(reader.document.name, ("leads", index))
    start, end = (Place(place.file, (*place.path, key)) for key in ("from", "to"))
    return Cable(
        index=index,
        place=place,
        lead=lead,
        start=resolve_end(lead.from_, start, devices, reader.broken),
        end=resolve_end(lead.to, end, devices, reader.broken),
    )


def _codes(reader: EntryReader, value: Node, shared: Shared | None) -> dict[str, Place]:
    """Return the codes that apply, each with the place that says so: the file's own first."""
    found: dict[str, Place] = {}
    own = reader.chosen(value, ("follows",), CODES)
    for index, code in own.items():
        found.setdefault(code, Place(reader.document.name, ("follows", index)))
    if shared is not None:
        for index, code in shared.follows.items():
            found.setdefault(code, Place(shared.document.name, ("follows", index)))
    return found


def _listed(
    reader: EntryReader, model: type[M], root: Mapping[str, Node], section: str, first: str
) -> tuple[tuple[Place, M], ...]:
    """Read a section that is a list of entries, each of which begins with the key ``first``."""
    value = root.get(section)
    if value is None:
        return ()
    if not isinstance(value, TreeList):
        reader.misshapen(value, "a list", (section,), f"Begin each with `- {{{first}:`.")
        return ()
    places = [Place(reader.document.name, (section, index)) for index in range(len(value))]
    read = [
        (place, reader.entry(model, item, place.path))
        for place, item in zip(places, value, strict=True)
    ]
    return tuple((place, entry) for place, entry in read if entry is not None)


def _connectors(cables: tuple[Cable, ...], shelf: Shelf) -> dict[str, Connector]:
    """Return the connector parts that leads have in line, by name."""
    found: dict[str, Connector] = {}
    for name in {name for cable in cables for name in cable.lead.connectors or ()}:
        resolved = shelf.find(name)
        if resolved is not None and isinstance(resolved.part, Connector):
            found[name] = resolved.part
    return found


def _with_radio(reader: EntryReader, setup: Setup, value: Node) -> Setup:
    radio = reader.mapping(value, ("radio",))
    for key in radio:
        if key not in _RADIO:
            message, do = f"{seen(key)} is not a key here.", did_you_mean(key, _RADIO)
            path = ("radio", key)
            reader.faults.append(
                reference_fault("unknown-key", message, reader.document, path, do, at_key=True)
            )
    base = ("radio", "channels")
    declared = reader.entries(Channel, radio.get("channels"), base, numbered=True)
    channels = {
        number: ChannelEntry(number, Place(setup.file, (*base, key)), channel)
        for number, (key, channel) in sorted(reader.runs(declared, base).items(), key=_number)
    }
    return replace(
        setup,
        channels=channels,
        links=reader.entries(Link, radio.get("links"), ("radio", "links")),
        modes=reader.entries(Mode, radio.get("modes"), ("radio", "modes")),
        radio=_radio_settings(reader, radio),
    )


def _with_rarer(reader: EntryReader, setup: Setup, root: Mapping[str, Node]) -> Setup:
    """Read the sections that many files do not have; their models are loaded where one does."""
    if root.get("balance") is not None:
        from holdshort.setup.balance import read_balance  # noqa: PLC0415  - as above

        setup = replace(setup, balance=read_balance(reader, root["balance"]))
    if root.get("telemetry") is not None:
        from holdshort.setup.telemetry import Reading  # noqa: PLC0415  - as above

        readings = reader.entries(Reading, root["telemetry"], ("telemetry",))
        setup = replace(setup, telemetry=readings)
    if root.get("log") is not None:
        from holdshort.setup.logs import LogColumns  # noqa: PLC0415  - as above

        setup = replace(setup, log=reader.entry(LogColumns, root["log"], ("log",)))
    if root.get("sign-offs") is not None:
        from holdshort.setup.evidence import SignOff  # noqa: PLC0415  - as above

        setup = replace(setup, sign_offs=_listed(reader, SignOff, root, "sign-offs", "test"))
    return setup


def _radio_settings(reader: EntryReader, radio: Mapping[str, Node]) -> RadioSettings:
    """Read the settings of the radio one by one, so that a mistake in one hides no other."""
    found: dict[str, Node] = {}
    for key in _RADIO_SETTINGS:
        if radio.get(key) is None:
            continue
        one = {key: radio[key]}
        if reader.entry(RadioSettings, one, ("radio",), broken=("radio", key)) is not None:
            found[key] = radio[key]
    return RadioSettings.read(found) if found else RadioSettings.model_construct()


def _number(item: tuple[int, object]) -> int:
    return item[0]


def _failsafe(reader: EntryReader, value: Node) -> dict[str, FailsafeEntry]:
    found: dict[str, FailsafeEntry] = {}
    for name, declared in reader.entries(DeviceFailsafe, value, ("failsafe",)).items():
        base = ("failsafe", name, "channels")
        spread = reader.runs(declared.channels or {}, base)
        channels = {
            number: (action, Place(reader.document.name, (*base, key)))
            for number, (key, action) in sorted(spread.items(), key=_number)
        }
        found[name] = FailsafeEntry(
            name, Place(reader.document.name, ("failsafe", name)), declared, channels
        )
    return found


def _in_order(faults: list[Fault], own: str) -> tuple[Fault, ...]:
    """Return faults once each: those of the file itself first, then by place."""

    def key(fault: Fault) -> tuple[bool, str, int, int]:
        line, column = (fault.span.line, fault.span.column) if fault.span else (0, 0)
        return fault.file != own, fault.file, line, column

    once = {(fault.file, fault.path, fault.kind, fault.message): fault for fault in faults}
    return tuple(sorted(once.values(), key=key))
