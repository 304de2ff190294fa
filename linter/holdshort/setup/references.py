"""References between sections: names that lead nowhere, with what could be meant."""

from collections.abc import Iterator, Mapping
from typing import Final

from holdshort.document import Document, Fault, Path
from holdshort.setup import functions
from holdshort.setup.catalogue import Shelf
from holdshort.setup.mistakes import did_you_mean, near, reference_fault
from holdshort.setup.model import Fitted, LeadEnd, Place, Setup
from holdshort.setup.parts import REGULATING_KINDS

_LISTENERS: Final = ("receiver",)
_DECIDERS: Final = ("receiver", "hub", "gyro", "engine-controller")


def dangling(setup: Setup, shelf: Shelf, document: Document) -> Iterator[Fault]:
    """Yield a fault for every reference that leads nowhere, leads apart.

    The two ends of a lead are judged by rules, for a lead to nowhere is a fact about the wiring.
    """
    yield from _settings(setup, document)
    yield from _connectors(setup, shelf, document)
    yield from _links(setup, document)
    yield from _failsafe(setup, document)
    yield from _surfaces(setup, document)
    yield from _channels(setup, document)
    if setup.balance is not None:
        from holdshort.setup import balance_references as balance  # noqa: PLC0415  - as below

        yield from balance.balance_faults(setup, setup.balance, document)
    if setup.telemetry or any(device.device.senses for device in setup.devices.values()):
        yield from _telemetry(setup, document)
    if setup.log is not None:
        from holdshort.setup.log_references import log_faults  # noqa: PLC0415  - few files have it

        yield from log_faults(setup, document)


def _telemetry(setup: Setup, document: Document) -> Iterator[Fault]:
    from holdshort.setup import telemetry_references as telemetry  # noqa: PLC0415  - few files have it

    for name, device in setup.devices.items():
        for sensed in device.device.senses or ():
            path = ("devices", name, "senses")
            yield from telemetry.subject_fault(setup, document, path, sensed)
    yield from telemetry.telemetry_faults(setup, document)


def _names(setup: Setup, *kinds: str) -> tuple[str, ...]:
    return tuple(name for name, device in setup.devices.items() if device.kind in kinds)


def _device_fault(
    setup: Setup, document: Document, path: Path, name: str, kinds: tuple[str, ...]
) -> Iterator[Fault]:
    """Yield a fault where ``name`` is not a fitted device of one of the kinds."""
    if "devices" not in setup.sections or setup.broken_under("devices", name):
        return
    device = setup.devices.get(name)
    if device is None:
        broken = [str(path[1]) for path in setup.broken if path[:1] == ("devices",) and path[1:]]
        known = (*(_names(setup, *kinds) or setup.devices), *sorted(set(broken)))
        message = f"`{name}` is not a fitted device."
        yield reference_fault("unknown-device", message, document, path, did_you_mean(name, known))
    elif device.kind not in kinds:
        yield reference_fault(
            "wrong-kind",
            f"`{name}` is a {device.kind}, not a {' or a '.join(kinds)}.",
            document,
            path,
            did_you_mean(name, _names(setup, *kinds)),
        )


_MEASURING: Final = (
    "sensor", "receiver", "hub", "gyro", "engine-controller", "regulator", "distribution",
)  # fmt: skip
_BELONGS: Final = (
    ("output", REGULATING_KINDS, "it has no `output` to set", "the regulator that feeds it"),
    ("told", ("gyro",), "it cannot be told how it sits", "the gyro"),
    ("directions", ("gyro",), "it has no correction to reverse", "the gyro"),
    ("taught", ("gyro",), "it learns no centres", "the gyro"),
    ("mixes", ("hub", "gyro"), "it mixes nothing", "the hub or gyro, or to `radio`"),
    ("learned", ("engine-controller",), "it learns no pulses", "the engine controller"),
    ("learned-on", ("engine-controller",), "it learns no pulses", "the engine controller"),
    ("backs-up", ("receiver",), "it backs up no receiver", "the back-up receiver"),
    ("aerials", ("receiver",), "it has no aerials", "the receiver"),
    ("senses", _MEASURING, "it measures nothing", "the sensor"),
    ("address", _MEASURING, "it has no address on a telemetry bus", "the sensor"),
)


def _settings(setup: Setup, document: Document) -> Iterator[Fault]:
    """Yield a fault for every setting on a device of a kind that has no such setting."""
    for name, fitted in setup.devices.items():
        path = ("devices", name)
        for key, kinds, why, owner in _BELONGS:
            declared = getattr(fitted.device, key.replace("-", "_"))
            if declared is not None and fitted.kind not in kinds:
                yield reference_fault(
                    "misplaced-setting",
                    f"`{name}` is a {fitted.kind}: {why}.",
                    document,
                    (*path, key),
                    f"Give `{key}` to {owner}.",
                )
        if fitted.device.backs_up is not None:
            where = (*path, "backs-up")
            yield from _device_fault(setup, document, where, fitted.device.backs_up, _LISTENERS)


def _connectors(setup: Setup, shelf: Shelf, document: Document) -> Iterator[Fault]:
    for cable in setup.cables:
        for index, name in enumerate(cable.lead.connectors or ()):
            path = ("leads", cable.index, "connectors", index)
            if name not in shelf.names:
                yield reference_fault(
                    "unknown-part",
                    f"`{name}` is not a known part.",
                    document,
                    path,
                    did_you_mean(name, shelf.names),
                )
                continue
            resolved = shelf.find(name)
            kind = getattr(resolved.part, "kind", "") if resolved else "connector"
            if kind != "connector":
                yield reference_fault(
                    "wrong-kind", f"`{name}` is a {kind}, not a connector.", document, path
                )


def _links(setup: Setup, document: Document) -> Iterator[Fault]:
    for name, link in setup.links.items():
        for device in link.heard_by:
            path = ("radio", "links", name, "heard-by")
            yield from _device_fault(setup, document, path, device, _LISTENERS)


def _failsafe(setup: Setup, document: Document) -> Iterator[Fault]:
    for name, entry in setup.failsafe.items():
        yield from _device_fault(setup, document, ("failsafe", name), name, _DECIDERS)
        if not setup.channels:
            continue
        for number, (_, place) in entry.channels.items():
            if number not in setup.channels and not setup.broken_under("radio", "channels"):
                yield reference_fault(
                    "unknown-channel",
                    f"`{name}` has a failsafe for channel {number}, "
                    "which the radio does not declare.",
                    document,
                    place.path,
                    f"Declared channels: {', '.join(str(known) for known in setup.channels)}.",
                )


def _surfaces(setup: Setup, document: Document) -> Iterator[Fault]:
    for name, surface in setup.surfaces.items():
        path = ("surfaces", name)
        for device in surface.servo:
            yield from _device_fault(setup, document, (*path, "servo"), device, ("servo",))
        for device in surface.mirrored or ():
            if device not in surface.servo:
                yield reference_fault(
                    "unknown-device",
                    f"`{device}` is not one of the servos of `{name}`.",
                    document,
                    (*path, "mirrored"),
                    did_you_mean(device, surface.servo),
                )
        words = surface.function or name
        if functions.control_function(words) is None:
            where = (*path, "function") if surface.function else path
            yield reference_fault(
                "unknown-function",
                f"`{words}` does not name a control function.",
                document,
                where,
                did_you_mean(words, functions.ALL) or "Add `function:` with one such as `flap`.",
            )


def _channels(setup: Setup, document: Document) -> Iterator[Fault]:
    known = (*setup.surfaces, *functions.ALL)
    for number, entry in setup.channels.items():
        for words in entry.channel.drives:
            if words in setup.surfaces or functions.control_function(words):
                continue
            if setup.broken_under("surfaces"):
                continue
            yield reference_fault(
                "unknown-function",
                f"Channel {number} drives `{words}`, which is neither a surface of this aircraft "
                "nor a control function.",
                document,
                (*entry.place.path, "drives"),
                did_you_mean(words, known)
                or "Name a surface, a control function, or `auxiliary ...` for anything else.",
            )


def resolve_end(
    written: str, place: Place, devices: Mapping[str, Fitted], broken: set[Path]
) -> LeadEnd:
    """Return the port that ``device.port`` (or ``device`` alone) names, or why there is none."""
    name, _, port = written.partition(".")
    fitted = devices.get(name)
    if fitted is None:
        hurt = ("devices", name) in broken
        if hurt:
            return LeadEnd(written, place, name, None, "unreadable-device")
        return LeadEnd(written, place, name, None, "no-device", near(name, devices))
    if port:
        found = fitted.ports.get(port)
        if found is None:
            ports = near(port, fitted.ports) or tuple(fitted.ports)
            return LeadEnd(written, place, name, None, "no-port", ports)
        return LeadEnd(written, place, name, found)
    if len(fitted.ports) == 1:
        return LeadEnd(written, place, name, next(iter(fitted.ports.values())))
    return LeadEnd(written, place, name, None, "which-port", tuple(fitted.ports))
