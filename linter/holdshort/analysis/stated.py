"""The whole setup in the builder's terms: each subject, and what is stated of each aspect of it.

::

    channel 3              drives "left elevator", travel "90 %", centre "0 %", reversed "no"
    device front-rx        kind "receiver", part "receiver-10", port 9 "bus-out"
    part receiver-10       voltage "3.7 V to 8.4 V", brown out "3.2 V"
    lead front-rx.9 to gyro-left.bus-1    carries "signal", length "200 mm"
    failsafe of front-rx   channel 8 "stop", after "1 s"

Two files that say the same in other words give the same subjects, aspects and texts. Nothing is
worked out here but what the file would say if it were written out (the function of a surface that
its name gives, what a lead carries where it does not say); what *follows* from a setup is
:mod:`holdshort.analysis.outcomes`.
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Final, NamedTuple

from holdshort.analysis.canonical import (
    LAST_CHANGED,
    Entry,
    action_text,
    bounded,
    entries_of,
    quantity_text,
    together,
    words_of,
    yes_or_no,
)
from holdshort.analysis.failsafes import functions_of
from holdshort.analysis.senses import named_by, side_of
from holdshort.setup import Cable, ChannelEntry, FailsafeEntry, Fitted, LeadEnd, Port, Setup
from holdshort.setup.functions import control_function
from holdshort.setup.quantities import FREQUENCY, VOLTAGE
from holdshort.setup.runs import expand_run
from holdshort.setup.sections import PortSetting, RadioSettings, Surface

if TYPE_CHECKING:
    from holdshort.analysis.aircraft import Aircraft


class Subject(NamedTuple):
    """What facts are stated of.

    ``name`` alone tells subjects apart, in one aircraft and from one setup to the next; ``topic``
    says where it belongs: ``aircraft``, ``radio``, ``channels``, ``directions``, ``receivers``,
    ``wiring``, ``power``, ``servos``, ``gyro``, ``failsafe``, ``aerials``, ``engine``,
    ``structure``, ``balance``, ``telemetry`` or ``log``.
    """

    topic: str
    name: str


Facts = Mapping[Subject, Mapping[str, str]]
"""Aspects and texts by subject."""

TOPICS: Final = (
    "aircraft",
    "radio",
    "channels",
    "directions",
    "receivers",
    "wiring",
    "power",
    "servos",
    "gyro",
    "failsafe",
    "aerials",
    "engine",
    "structure",
    "balance",
    "telemetry",
    "log",
)
"""All topics, in the order in which an aircraft is gone through."""

DATES: Final[Mapping[str, tuple[str, ...]]] = {
    "travel last changed": ("travel",),
    "centre last changed": ("centre",),
    "reversed last changed": ("reversed",),
    "mounting last changed": ("mounting", "mounting tilt"),
    "told last changed": ("told",),
    "last taught": ("kind",),
    "last learned": ("kind",),
    "last set": ("after", "passes on"),
}
"""Aspects that say when something was last touched, and the aspects that are touched with it.

They are no settings themselves: to write down when a thing was set changes nothing about it. An
aspect that ends in ``last changed`` and is not here tells of what stands before that:
``aerial 1 at last changed`` of ``aerial 1 at``.
"""

NO_SETTINGS: Final = frozenset({*DATES, "measured", "confirmed", "copied from"})
"""Aspects that tell when, from where or how well something was set, and no setting."""


def is_date(aspect: str) -> bool:
    """Tell whether an aspect says when something was last touched."""
    return aspect in DATES or aspect.endswith(LAST_CHANGED)


def is_setting(aspect: str) -> bool:
    """Tell whether an aspect is a setting, and not when, from where or how well it was set."""
    return aspect not in NO_SETTINGS and not is_date(aspect)


def touches(date_aspect: str, aspect: str) -> bool:
    """Tell whether what an aspect of a date tells of includes another aspect of the subject."""
    if date_aspect in DATES:
        return aspect in DATES[date_aspect]
    thing = date_aspect.removesuffix(LAST_CHANGED).strip()
    return aspect == thing or aspect.startswith(f"{thing} ")


_TOPIC_OF_KIND: Final[Mapping[str, str]] = {
    "receiver": "receivers",
    "servo": "servos",
    "gyro": "gyro",
    "engine-controller": "engine",
    "pump": "engine",
    "valve": "engine",
    "hub": "receivers",
    "sensor": "telemetry",
    "connector": "wiring",
}
_STRUCTURE: Final = ("at", "retained_by", "isolated_by", "near", "mass")
_SENSING: Final = ("address", "senses")
_MEASURING: Final = ("measures", "limits", "address", "needs_address", "sends_back")
_DEVICE_ELSEWHERE: Final = (
    *_STRUCTURE, *_SENSING, "ports", "aerials", "taught", "learned_on", "mounting", "told", "note",
)  # fmt: skip
_PROSE: Final = ("title", "source")
"""Words about a part for people: who it is by and where its ratings come from."""


def stated(aircraft: "Aircraft") -> Facts:
    """Return everything that the setup of ``aircraft`` states, in the order of the file.

    Entries with mistakes of form are not in it.
    """
    found: dict[Subject, dict[str, str]] = {}
    for subject, entries in _everything(aircraft.setup):
        facts = {bounded(aspect): text for aspect, text in entries}
        if facts:
            found.setdefault(_untaken(found, subject), facts)
    return found


def _untaken(found: Mapping[Subject, object], subject: Subject) -> Subject:
    """Return ``subject``, numbered where there is one of that name: two like leads."""
    number, name = 1, subject.name
    names = {other.name for other in found}
    while name in names:
        number += 1
        name = f"{subject.name} ({number})"
    return subject._replace(name=name)


def _everything(setup: Setup) -> Iterator[tuple[Subject, Iterable[Entry]]]:
    yield Subject("aircraft", "aircraft"), _aircraft(setup)
    yield from _devices(setup)
    yield from _parts(setup)
    for cable in setup.cables:
        name = f"lead {_end(setup, cable.start)} to {_end(setup, cable.end)}"
        yield Subject("wiring", name), _lead(cable)
    yield Subject("radio", "radio"), _radio(setup.radio)
    for name, link in setup.links.items():
        yield Subject("radio", f"link {name}"), entries_of(link, ("note",))
    for number, entry in setup.channels.items():
        yield Subject("channels", f"channel {number}"), _channel(setup, entry)
    for name, mode in setup.modes.items():
        yield Subject("radio", f"mode {name}"), entries_of(mode)
    for name, failsafe in setup.failsafe.items():
        yield Subject("failsafe", f"failsafe of {name}"), _failsafe(failsafe)
    for name, surface in setup.surfaces.items():
        yield Subject("directions", f"surface {name}"), _surface(name, surface)
    yield from _rarer(setup)


def _rarer(setup: Setup) -> Iterator[tuple[Subject, Iterable[Entry]]]:
    """Yield the sections that many files do not have."""
    if setup.load_cases is not None:
        yield Subject("power", "load cases"), entries_of(setup.load_cases)
    if setup.balance is not None:
        yield Subject("balance", "balance"), entries_of(setup.balance, ("note",))
    for name, reading in setup.telemetry.items():
        yield Subject("telemetry", f"telemetry {name}"), entries_of(reading, ("note",))
    if setup.log is not None:
        yield Subject("log", "log"), entries_of(setup.log, ("note",))


def _aircraft(setup: Setup) -> Iterator[Entry]:
    if setup.aircraft is not None:
        yield from entries_of(setup.aircraft)
    if setup.follows:
        yield "follows", together(setup.follows)


# -- devices -------------------------------------------------------------------------------------


def _devices(setup: Setup) -> Iterator[tuple[Subject, Iterable[Entry]]]:
    used = {
        end.port.address for cable in setup.cables for end in (cable.start, cable.end) if end.port
    }
    for name, fitted in setup.devices.items():
        topic = _TOPIC_OF_KIND.get(fitted.kind, "power")
        yield Subject(topic, f"device {name}"), _device(fitted, used)
        yield Subject("structure", f"place of {name}"), _structure(fitted)
        sensing = entries_of(fitted.device, set(type(fitted.device).model_fields) - set(_SENSING))
        yield Subject("telemetry", f"sensing of {name}"), sensing
        if fitted.device.aerials is not None:
            yield Subject("aerials", f"aerials of {name}"), _aerials(fitted)


def _device(fitted: Fitted, used: set[str]) -> Iterator[Entry]:
    device = fitted.device
    yield "kind", fitted.kind
    yield from entries_of(device, _DEVICE_ELSEWHERE)
    for key in ("mounting", "told"):
        faces = getattr(device, key)
        if faces is not None:
            yield from entries_of(device, set(type(device).model_fields) - {key})
    if device.taught is not None:
        yield "last taught", device.taught
    if device.learned_on is not None:
        yield "last learned", device.learned_on
    settings = port_settings(fitted)
    for port in fitted.ports.values():
        if port.address in used or port.name in settings:
            yield f"port {port.name}", _port(port, settings.get(port.name))


def _parts(setup: Setup) -> Iterator[tuple[Subject, Iterable[Entry]]]:
    """Yield the parts that are in use, once each, however many devices are of one."""
    parts = {fitted.part_name: fitted.part for fitted in setup.devices.values()}
    for name, part in {**parts, **setup.connectors}.items():
        topic = _TOPIC_OF_KIND.get(part.kind, "power")
        yield Subject(topic, f"part {name}"), entries_of(part, ("ports", *_PROSE, *_MEASURING))
        measuring = entries_of(part, set(type(part).model_fields) - set(_MEASURING))
        yield Subject("telemetry", f"readings of part {name}"), measuring


def port_settings(fitted: Fitted) -> dict[str, PortSetting]:
    """Return what is set of each port of a device, by the port's name, runs spread out."""
    found: dict[str, PortSetting] = {}
    for key, setting in (fitted.device.ports or {}).items():
        for name in _spread(key):
            found.setdefault(name, setting)
    return found


def _spread(key: str) -> tuple[str, ...]:
    try:
        return expand_run(key)
    except ValueError:
        return ()


def _port(port: Port, setting: PortSetting | None) -> str:
    """Return what a port does, and how it differs from a plain one."""
    words: list[str] = [port.does or "not stated"]
    if port.channel is not None:
        words.append(f"channel {port.channel}")
    if setting is not None and setting.reversed:
        words.append("reversed")
    if setting is not None and setting.frame_rate is not None:
        words.append(f"at {quantity_text(setting.frame_rate, FREQUENCY)}")
    if port.isolated:
        words.append("isolated")
    if port.drop is not None:
        words.append(f"drops {quantity_text(port.drop, VOLTAGE)}")
    if not port.powered:
        words.append("without power")
    if port.optical:
        words.append("optical")
    return ", ".join(words)


def _structure(fitted: Fitted) -> Iterator[Entry]:
    device = fitted.device
    found = tuple(entries_of(device, set(type(device).model_fields) - set(_STRUCTURE)))
    if found:
        yield "kind", fitted.kind
    yield from found


def _aerials(fitted: Fitted) -> Iterator[Entry]:
    device = fitted.device
    yield from entries_of(device, set(type(device).model_fields) - {"aerials"})


# -- leads ---------------------------------------------------------------------------------------


def _end(setup: Setup, end: LeadEnd) -> str:
    """Return a lead's end in full, or the device alone where it has only one port."""
    if end.port is None:
        return end.written
    return end.device if len(setup.devices[end.device].ports) == 1 else end.port.address


def _lead(cable: Cable) -> Iterator[Entry]:
    yield "carries", _carried(cable)
    yield "joins", f"{_does(cable.start)} to {_does(cable.end)}"
    yield from entries_of(cable.lead, ("from_", "to", "carries", "connectors", "note"))
    for number, name in enumerate(cable.lead.connectors or (), 1):
        yield f"connector {number}", name


def _does(end: LeadEnd) -> str:
    return (end.port.does if end.port else None) or "not known"


def _carried(cable: Cable) -> str:
    if not cable.carries_ground:
        return "signal without ground"
    if cable.carries_power:
        return "power and signal" if cable.carries_signal else "power"
    return "signal" if cable.carries_signal else "nothing"


# -- radio, channels, failsafe, surfaces ---------------------------------------------------------


def _radio(radio: RadioSettings) -> Iterator[Entry]:
    yield from entries_of(radio)


def _channel(setup: Setup, entry: ChannelEntry) -> Iterator[Entry]:
    channel = entry.channel
    yield from entries_of(channel, ("changed", "note"))
    yield "functions", together(functions_of(entry, setup))
    yield "steadied", yes_or_no(is_steadied(setup, entry))
    for key, day in (channel.changed or {}).items():
        yield f"{words_of(key)} {LAST_CHANGED}", day


def is_steadied(setup: Setup, entry: ChannelEntry) -> bool:
    """Tell whether a channel drives a surface that a gyro is declared to move."""
    return any(
        surface.steadied_in and named_by(words, name, surface)
        for words in entry.channel.drives
        for name, surface in setup.surfaces.items()
    )


def _failsafe(entry: FailsafeEntry) -> Iterator[Entry]:
    declared = entry.declared
    yield from entries_of(declared, ("channels", "set_on", "note"))
    for number, (action, _) in entry.channels.items():
        yield f"channel {number}", action_text(action)
    if declared.set_on is not None:
        yield "last set", declared.set_on


def _surface(name: str, surface: Surface) -> Iterator[Entry]:
    yield from entries_of(surface, ("function", "side", "note"))
    words = surface.function or name
    yield "function", control_function(words) or bounded(words)
    side = side_of(name, surface)
    if side is not None:
        yield "side", side
