"""What an engine's start does to the radio that shares its pack."""

from collections.abc import Iterable
from typing import TYPE_CHECKING, Final, NamedTuple

from holdshort.analysis.facts import Need
from holdshort.analysis.wiring import Node, nodes_of
from holdshort.setup import Fitted, Quantity
from holdshort.setup.parts import Gyro, Hub, Receiver

if TYPE_CHECKING:
    from holdshort.analysis.power import CaseResult, PowerStudy

START_CASE: Final = "engine-start"


class Dip(NamedTuple):
    """The voltage at one device before the start and during it, V; None where it collapses.

    ``minimum`` is the lowest that the device is rated for, or at which it resets, or None.
    """

    device: Fitted
    before: float | None
    during: float | None
    minimum: Quantity | None

    @property
    def left(self) -> float | None:
        """What is left above the minimum during the start, V, or None where that is not known."""
        if self.during is None or self.minimum is None:
            return None
        return self.during - self.minimum


class StartDip(NamedTuple):
    """What happens at the packs and at the radio when the engine starts.

    ``missing`` are facts without which it cannot be told. The state of charge is that of the
    engine-start case both before and during the start.
    """

    packs: tuple[Dip, ...]
    radio: tuple[Dip, ...]
    missing: tuple[Need, ...]

    @property
    def worst(self) -> Dip | None:
        """The radio device with the least left above its minimum; the lowest where none is rated.

        One at which the voltage collapses comes first.
        """
        return min(self.radio, key=_margin, default=None)


def _margin(dip: Dip) -> tuple[int, float, str]:
    """Order the worst first; the name decides between equals, so that file order does not."""
    if dip.during is None:
        return 0, 0.0, dip.device.name
    if dip.left is not None:
        return 1, round(dip.left, 6), dip.device.name
    return 2, round(dip.during, 6), dip.device.name


def start_dip(power: "PowerStudy", packs: Iterable[Fitted], radio: Iterable[Fitted]) -> StartDip:
    """Return the voltages before and during the start of the engine, from the solved network.

    Before the start is the engine-start case with every device, the engine's controller too, at
    its current at rest.
    """
    packs, radio = tuple(packs), tuple(radio)
    case = next(case for case in power.cases if case.name == START_CASE)
    quiet = case._replace(name=f"before {START_CASE}", others="rest")
    before, during = power.solve(quiet), power.result(START_CASE)
    missing: dict[Need, None] = {}
    for pack in packs:
        for moment in (case, quiet):
            missing.update(dict.fromkeys(power.needs(moment, Node(pack.name, "rail"))))
    return StartDip(
        tuple(_dip(pack, before, during) for pack in packs),
        tuple(_dip(device, before, during) for device in radio),
        tuple(missing),
    )


def _dip(device: Fitted, before: "CaseResult", during: "CaseResult") -> Dip:
    node = next(nodes_of(device))
    return Dip(device, before.voltage(node), during.voltage(node), _minimum(device))


def _minimum(device: Fitted) -> Quantity | None:
    part = device.part
    if part.voltage is not None and part.voltage.min is not None:
        return part.voltage.min
    return part.brown_out if isinstance(part, Receiver | Hub | Gyro) else None
