"""The ports of a fitted device: what its part offers, overlaid with what it is set to."""

from holdshort.document import Document, Fault, Path
from holdshort.setup.catalogue import ResolvedPart
from holdshort.setup.mistakes import did_you_mean, duplicate_run_fault, reference_fault
from holdshort.setup.model import Place, Port
from holdshort.setup.parts import STANDARD_PORTS, PortType
from holdshort.setup.reader import EntryReader
from holdshort.setup.runs import expand_run
from holdshort.setup.sections import Device, PortSetting


def ports_of(
    reader: EntryReader, name: str, device: Device, resolved: ResolvedPart, home: Document
) -> dict[str, Port]:
    """Return the ports of the device ``name`` by port name; settings that fit none are noted.

    ``home`` is the document in which the ports of the part are declared.
    """
    offered = _offered(reader, resolved, home)
    base: Path = ("devices", name, "ports")
    settings: dict[str, tuple[PortSetting, str]] = {}
    for key, setting in (device.ports or {}).items():
        for port in _expand(reader, reader.document, base, key):
            if port in settings:
                _note(reader, duplicate_run_fault(reader.document, base, key, settings[port][1]))
                break
            if port not in offered:
                message, do = f"`{name}` has no port `{port}`.", did_you_mean(port, offered)
                reader.fault("unknown-port", message, (*base, key), do, at_key=True)
                break
            settings[port] = (setting, key)
    return {
        port: _port(reader, name, port, kind, place, settings.get(port))
        for port, (kind, place) in offered.items()
    }


def _offered(
    reader: EntryReader, resolved: ResolvedPart, home: Document
) -> dict[str, tuple[PortType, Place]]:
    """Return what each port of a part can do, and where that is declared."""
    part = resolved.part
    if part.ports is None:
        standard = STANDARD_PORTS.get(part.kind, {})  # type: ignore[attr-defined]
        return {
            port: (PortType.read({"does": does}), resolved.root) for port, does in standard.items()
        }
    base: Path = (*resolved.origins["ports"].path, "ports")
    found: dict[str, tuple[PortType, Place]] = {}
    keys: dict[str, str] = {}
    for key, kind in part.ports.items():
        for port in _expand(reader, home, base, key):
            if port in keys:
                _note(reader, duplicate_run_fault(home, base, key, keys[port]))
                break
            keys[port] = key
            found[port] = (kind, Place(home.name, (*base, key)))
    return found


def _expand(reader: EntryReader, document: Document, base: Path, key: str) -> tuple[str, ...]:
    try:
        return expand_run(key)
    except ValueError as error:
        path = (*base, key)
        do = "Write a run upwards, such as `1..6`, of at most 64."
        _note(reader, reference_fault("bad-run", f"{error}", document, path, do, at_key=True))
        return ()


def _note(reader: EntryReader, fault: Fault) -> None:
    """Note a mistake once, however many devices share the part that has it."""
    if fault not in reader.faults:
        reader.faults.append(fault)


def _port(
    reader: EntryReader,
    device: str,
    name: str,
    kind: PortType,
    place: Place,
    setting: tuple[PortSetting, str] | None,
) -> Port:
    choices = kind.can_be or ((kind.does,) if kind.does else ())
    does = kind.does or kind.delivered
    channel = kind.channel
    if setting:
        chosen, key = setting
        place = Place(reader.document.name, ("devices", device, "ports", key))
        channel = chosen.channel or channel
        if chosen.does is not None:
            _check_choice(reader, place.path, device, name, chosen.does, choices)
            does = chosen.does
    return Port(
        device=device,
        name=name,
        does=does,
        can_be=choices,
        delivered=kind.delivered,
        is_set=bool(setting and setting[0].does),
        isolated=kind.isolated,
        drop=kind.drop,
        powered=kind.powered,
        channel=channel,
        set_by=place,
        optical=kind.optical,
    )


def _check_choice(
    reader: EntryReader, path: Path, device: str, port: str, does: str, choices: tuple[str, ...]
) -> None:
    if choices and does not in choices:
        reader.fault(
            "port-cannot-be",
            f"Port `{port}` of `{device}` cannot be `{does}`.",
            path,
            did_you_mean(does, choices),
        )
