"""Signal wires joined together: which ports stand on one wire, and whether they fit each other.

A net is every port that one signal wire joins, through leads and three-wire Y-leads. One port of a
net gives the signal and the others take it; two givers drive the wire against each other.
"""

from collections.abc import Iterable, Iterator, Sequence
from enum import Enum
from itertools import product
from typing import Final, NamedTuple

from holdshort.analysis.signals import GIVERS, TAKERS
from holdshort.setup import Cable, Port, Setup
from holdshort.setup.parts import PortFunction

_MOST_SETTINGS: Final = 4096
"""More combinations of settings than this are not searched for one that fits."""


class Misfit(Enum):
    """What is wrong with the ports on one signal wire."""

    UNUSED = "unused"
    """A port on it is set to do nothing."""
    DATA = "data"
    """A telemetry bus meets something else."""
    TWO_OUTPUTS = "two outputs"
    """Two ports drive it."""
    TWO_INPUTS = "two inputs"
    """No port drives it."""
    BUS_INTO_PULSE = "bus into pulse"
    """A bus output meets an input that takes one pulse."""
    PULSE_INTO_BUS = "pulse into bus"
    """A servo output meets an input that takes a bus."""


class SignalNet(NamedTuple):
    """The ports that one signal wire joins (Y-leads left out), and the leads that join them."""

    ports: tuple[Port, ...]
    cables: tuple[Cable, ...]

    @property
    def givers(self) -> tuple[Port, ...]:
        """The ports that drive the wire."""
        return tuple(port for port in self.ports if port.does in GIVERS)


def signal_nets(setup: Setup) -> tuple[SignalNet, ...]:
    """Return the signal nets of a setup, in the order of its leads."""
    through = _y_leads(setup)
    joined = [cable for cable in setup.cables if _joins_signal(cable, through)]
    group: dict[str, str] = {}
    for cable in joined:
        ends = [_wire(end.port, through) for end in (cable.start, cable.end) if end.port]
        _join(group, ends[0], ends[1])
    return tuple(_gather(joined, group, through))


def misfit(functions: Sequence[str]) -> Misfit | None:
    """Return what is wrong with ports of these functions on one wire, or None.

    The trade's own meaning of the plugs; no published source.
    """
    if "unused" in functions:
        return Misfit.UNUSED
    if "data" in functions:
        return None if set(functions) == {"data"} else Misfit.DATA
    givers = [function for function in functions if function in GIVERS]
    takers = {function for function in functions if function in TAKERS}
    if len(givers) > 1:
        return Misfit.TWO_OUTPUTS
    if not givers:
        return Misfit.TWO_INPUTS
    if givers[0] == "bus-out" and "pulse-in" in takers:
        return Misfit.BUS_INTO_PULSE
    if givers[0] == "servo" and "bus-in" in takers:
        return Misfit.PULSE_INTO_BUS
    return None


def fitting_settings(ports: Sequence[Port]) -> dict[str, PortFunction] | None:
    """Return the fewest settings, by port address, that make the ports fit each other.

    None where no choice that their parts offer does. Idle settings (``unused``) do not count.
    """
    return next(iter(_fewest_settings(ports)), None)


def only_fitting_settings(ports: Sequence[Port]) -> dict[str, PortFunction] | None:
    """Return the fewest settings that make the ports fit, where no others are as few; or None."""
    found = _fewest_settings(ports)
    return found[0] if len(found) == 1 else None


def _fewest_settings(ports: Sequence[Port]) -> list[dict[str, PortFunction]]:
    offered = [_choices(port) for port in ports]
    count = 1
    for choices in offered:
        count *= len(choices)
    if not 0 < count <= _MOST_SETTINGS:
        return []
    best: list[dict[str, PortFunction]] = []
    for functions in product(*offered):
        if misfit(functions) is not None:
            continue
        changed: dict[str, PortFunction] = {
            port.address: function
            for port, function in zip(ports, functions, strict=True)
            if function != port.does
        }
        if not best or len(changed) < len(best[0]):
            best = [changed]
        elif len(changed) == len(best[0]):
            best.append(changed)
    return best


def _choices(port: Port) -> list[PortFunction]:
    now: tuple[PortFunction, ...] = (port.does,) if port.does else ()
    every = dict.fromkeys((*now, *port.can_be))
    return [function for function in every if function not in {"unused", "supply", "feed"}]


def _y_leads(setup: Setup) -> frozenset[str]:
    """Return the splitters that are three-wire Y-leads.

    A splitter whose ports are declared to carry signal is one. One with plain ports is one unless
    power alone comes to it: then it is a terminal block in a supply lead, and so is what hangs on
    it.
    """
    splitters = {device.name: device for device in setup.of_kind("splitter")}
    declared = {
        name
        for name, device in splitters.items()
        if any(not port.takes_power_only for port in device.ports.values())
    }
    plain = set(splitters) - declared
    leads = {
        name: [cable for cable in setup.cables if name in (cable.start.device, cable.end.device)]
        for name in plain
    }
    while True:
        power = {name for name in plain if _is_terminal(leads[name], name, plain | declared)}
        if not power:
            return frozenset(plain | declared)
        plain -= power


def _is_terminal(leads: Iterable[Cable], name: str, y_leads: set[str]) -> bool:
    for cable in leads:
        ends = (cable.start, cable.end)
        if cable.lead.carries == "power":
            return True
        far = [end for end in ends if end.device != name and end.device not in y_leads]
        if any(end.port is None or end.port.takes_power_only for end in far):
            return True
    return False


def _joins_signal(cable: Cable, through: frozenset[str]) -> bool:
    if cable.start.port is None or cable.end.port is None or cable.lead.carries == "power":
        return False
    return all(
        end.port is not None and (end.device in through or not end.port.takes_power_only)
        for end in (cable.start, cable.end)
    )


def _wire(port: Port, through: frozenset[str]) -> str:
    """Return the key of the wire on which ``port`` stands: a Y-lead is one wire."""
    return port.device if port.device in through else port.address


def _join(group: dict[str, str], one: str, other: str) -> None:
    first, second = _root(group, one), _root(group, other)
    group[second] = first


def _root(group: dict[str, str], key: str) -> str:
    group.setdefault(key, key)
    while group[key] != key:
        key = group[key]
    return key


def _gather(
    joined: Iterable[Cable], group: dict[str, str], through: frozenset[str]
) -> Iterator[SignalNet]:
    cables: dict[str, list[Cable]] = {}
    ports: dict[str, dict[str, Port]] = {}
    for cable in joined:
        for end in (cable.start, cable.end):
            if end.port is None:
                continue
            root = _root(group, _wire(end.port, through))
            found = cables.setdefault(root, [])
            if cable not in found:
                found.append(cable)
            standing = ports.setdefault(root, {})
            if end.device not in through:
                standing.setdefault(end.port.address, end.port)
    for root, found in cables.items():
        yield SignalNet(tuple(ports[root].values()), tuple(found))
