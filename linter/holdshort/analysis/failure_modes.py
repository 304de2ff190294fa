"""What can fail, one thing at a time: packs, regulators, boxes, switches, leads, plugs and links.

A failed box neither passes power nor gives a signal, and a failed pack, regulator, switch or fuse
is open. Short circuits, jammed servos, broken linkages and failures of the transmitter itself are
not among them.
"""

from collections.abc import Iterator
from itertools import chain
from typing import Final, NamedTuple

from holdshort.analysis.signals import GIVERS
from holdshort.analysis.wiring import is_regulating
from holdshort.setup import Cable, Fitted, Place, Port, Setup
from holdshort.setup.parts import Switch

DEVICE_KINDS: Final = (
    "battery", "regulator", "distribution", "switch", "fuse", "splitter", "receiver", "hub", "gyro",
)  # fmt: skip
"""Kinds of device that are failed, in the order of the table."""

_NOUNS: Final = {
    "battery": "pack", "distribution": "distribution box", "splitter": "splitter",
}  # fmt: skip


class Failure(NamedTuple):
    """One thing that fails, and what is out of circuit with it.

    ``kind`` is a kind of device, ``output`` (the supply that an engine controller gives), ``lead``,
    ``plug`` (a port on which several leads end) or ``link``. ``name`` is the device, the port, the
    link or the two ends of the lead. ``assumed`` says what was taken for granted, or nothing;
    ``number`` is its place among the failures of the aircraft.
    """

    kind: str
    name: str
    place: Place
    devices: tuple[str, ...] = ()
    outputs: tuple[str, ...] = ()
    cables: tuple[Cable, ...] = ()
    links: tuple[str, ...] = ()
    assumed: str = ""
    number: int = 0

    def __hash__(self) -> int:
        """Hash by number: the leads in it are costly to hash, and no two failures share one."""
        return self.number

    @property
    def label(self) -> str:
        """How tables name it: ``pack main-pack``, ``lead rx.1 to ail-left``."""
        return f"{self._noun} {self.name}"

    @property
    def words(self) -> str:
        """How messages name it: ``the pack `main-pack` ``."""
        if self.kind == "lead":
            return f"the lead {self.cables[0].title}{self._connectors}"
        return f"the {self._noun} `{self.name}`"

    @property
    def _noun(self) -> str:
        if self.kind == "output":
            return "supply of"
        return _NOUNS.get(self.kind, self.kind)

    @property
    def _connectors(self) -> str:
        names = self.cables[0].lead.connectors or ()
        if not names:
            return ""
        return f" (or {' or '.join(f'`{name}`' for name in dict.fromkeys(names))} in it)"


def failure_modes(setup: Setup) -> tuple[Failure, ...]:
    """Return everything that is failed: devices first, then links, leads and shared plugs."""
    found = chain(_devices(setup), _outputs(setup), _links(setup), _leads(setup), _plugs(setup))
    return tuple(failure._replace(number=number) for number, failure in enumerate(found))


def _devices(setup: Setup) -> Iterator[Failure]:
    for kind in DEVICE_KINDS:
        for device in setup.of_kind(kind):
            assumed = _assumed(device)
            if assumed is not None:
                yield Failure(kind, device.name, device.at(), (device.name,), assumed=assumed)


def _assumed(device: Fitted) -> str | None:
    """Return what is assumed of its failure; None for a switch whose failure changes nothing."""
    if not isinstance(device.part, Switch) or device.part.fails == "off":
        return ""
    if device.part.fails == "on":
        return None
    return f"`{device.name}` is taken to fail off: what it does when it fails is not declared"


def _outputs(setup: Setup) -> Iterator[Failure]:
    for engine in setup.of_kind("engine-controller"):
        if is_regulating(engine):
            yield Failure("output", engine.name, engine.at(), outputs=(engine.name,))


def _links(setup: Setup) -> Iterator[Failure]:
    for name in setup.links:
        yield Failure("link", name, setup.place("radio", "links", name), links=(name,))


def _leads(setup: Setup) -> Iterator[Failure]:
    for cable in setup.cables:
        if cable.start.port is None or cable.end.port is None:
            continue
        if cable.carries_power or cable.carries_signal:
            name = f"{cable.start.written} to {cable.end.written}"
            yield Failure("lead", name, cable.place, cables=(cable,))


def _plugs(setup: Setup) -> Iterator[Failure]:
    """Yield the ports of boxes on which several leads end: one plug, or one solder joint."""
    on: dict[str, list[Cable]] = {}
    ports: dict[str, Port] = {}
    for cable in setup.cables:
        for end in (cable.start, cable.end):
            if end.port is not None:
                on.setdefault(end.port.address, []).append(cable)
                ports[end.port.address] = end.port
    for address, cables in on.items():
        if len(cables) > 1:
            place = setup.devices[ports[address].device].at()
            yield Failure("plug", address, place, cables=tuple(dict.fromkeys(cables)))


def upper_end(cable: Cable) -> Port | None:
    """Return the end that power, or the signal, comes from: that of the giving port."""
    start, end = cable.start.port, cable.end.port
    if start is None or end is None:
        return None
    for port, other in ((start, end), (end, start)):
        if port.does == "feed" or (port.does in GIVERS and other.does not in GIVERS):
            return port
    return start


def lower_end(cable: Cable) -> Port | None:
    """Return the end that power, or the signal, goes to."""
    upper = upper_end(cable)
    return cable.end.port if upper is cable.start.port else cable.start.port
