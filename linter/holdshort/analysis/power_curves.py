"""How the rails sink as the packs empty: every load case solved at every state of charge."""

from collections.abc import Iterator
from typing import Final, NamedTuple

from holdshort.analysis.aircraft import Aircraft
from holdshort.analysis.wiring import Node, is_regulating, nodes_of
from holdshort.setup import Fitted
from holdshort.setup.parts import Regulator, VoltageRange

CHARGES: Final = tuple(percent / 100 for percent in range(100, 9, -5))
"""The states of charge that are solved: full down to a tenth."""


class Curve(NamedTuple):
    """The voltage of one rail in one load case, at each of :data:`CHARGES`.

    None where there is no operating point, or where nothing gives the rail a known voltage.
    ``incomplete`` where facts are missing: the true voltage is then lower.
    """

    case: str
    volts: tuple[float | None, ...]
    incomplete: bool


class Minimum(NamedTuple):
    """The highest of the minimum voltages that the devices on a rail are rated for, V."""

    device: str
    volts: float


class RailCurves(NamedTuple):
    """One rail, named by the pack or regulator that makes it, in every load case."""

    source: str
    minimum: Minimum | None
    curves: tuple[Curve, ...]


def power_curves(aircraft: Aircraft) -> tuple[RailCurves, ...]:
    """Return the curves of every pack and every regulator's output, packs first."""
    power = aircraft.power
    nodes = tuple(_sources(aircraft))
    found: dict[Node, list[Curve]] = {node: [] for node in nodes}
    for case in power.cases:
        solved = [power.solve(case._replace(charge=charge)) for charge in CHARGES]
        for node in nodes:
            volts = tuple(result.voltage(node) for result in solved)
            incomplete = bool(power.needs(case, node))
            found[node].append(Curve(case.name, volts, incomplete))
    return tuple(
        RailCurves(node.device, _minimum(aircraft, node), tuple(curves))
        for node, curves in found.items()
    )


def _sources(aircraft: Aircraft) -> Iterator[Node]:
    devices = aircraft.setup.devices.values()
    yield from (Node(device.name, "rail") for device in devices if device.kind == "battery")
    for device in devices:
        node = Node(device.name, "out")
        if is_regulating(device) and aircraft.wiring.supply(node).feeds:
            yield node


def _minimum(aircraft: Aircraft, node: Node) -> Minimum | None:
    found: list[Minimum] = []
    for place in aircraft.wiring.rail(node):
        device = aircraft.setup.devices[place.device]
        least = _rated_from(device)
        if place in nodes_of(device) and least is not None and device.kind != "battery":
            found.append(Minimum(device.name, least))
    return max(found, key=lambda minimum: minimum.volts, default=None)


def _rated_from(device: Fitted) -> float | None:
    part = device.part
    stated: VoltageRange | None = part.voltage
    if isinstance(part, Regulator) and part.input is not None:
        stated = part.input
    return stated.min if stated else None
