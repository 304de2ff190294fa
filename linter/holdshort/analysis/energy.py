"""What a pack gives in a flight, what is left of it, and how long it lasts.

Charge is in coulombs (1 A h = 3600 C) and goes by the **mean** current: never by the RMS value,
which heats wires, nor by the peak, which sags voltages. The mean is that of the cruise case, whose
servo and device currents are declared as means in ordinary flight.
"""

from typing import TYPE_CHECKING, NamedTuple

from holdshort.analysis.cells import charge_drawn, endurance, remaining_fraction
from holdshort.analysis.facts import Need
from holdshort.analysis.loading import STEADY_CASE, pack_loading
from holdshort.analysis.supply_paths import packs_of
from holdshort.analysis.wiring import Node, Wiring
from holdshort.setup import Fitted, Setup
from holdshort.setup.parts import Battery

if TYPE_CHECKING:
    from holdshort.analysis.power import PowerStudy


class PackEnergy(NamedTuple):
    """The charge of one pack and what draws on it in steady flight.

    - ``capacity``: rated, C, or None where it is not declared.
    - ``current``: mean, A, or None where the voltage collapses. Where several packs feed one rail
      it is the part this pack gives when all are half full; they share as their voltages and
      resistances make them.
    - ``alone``: the mean current when every other pack of its network is out, A; None where that
      collapses. It is ``current`` where there is no other.
    - ``share``: what it gives of the current of all packs of its network, 0 to 1.
    - ``missing``: facts without which a load is left out: the true current can only be higher.
    """

    pack: Fitted
    capacity: float | None
    current: float | None
    alone: float | None
    share: float | None
    missing: tuple[Need, ...]

    @property
    def first_gap(self) -> Need | None:
        """The first fact that is missing of what draws on the pack, or None."""
        return self.missing[0] if self.missing else None

    def used(self, duration: float) -> float | None:
        """Return the charge drawn in ``duration`` seconds of flight, C: Q = I t."""
        return None if self.current is None else charge_drawn(self.current, duration)

    def remaining(self, duration: float) -> float | None:
        """Return the state of charge after ``duration`` seconds from full: 1 - Q / C."""
        used = self.used(duration)
        if used is None or self.capacity is None:
            return None
        return remaining_fraction(self.capacity, used)

    def lasts(self, reserve: float) -> float | None:
        """Return the time from full until ``reserve`` (0 to 1) is left, s.

        None where it is not known, infinite where nothing draws.
        """
        return _lasts(self.capacity, reserve, self.current)

    def lasts_alone(self, reserve: float) -> float | None:
        """Return the same with every other pack of the network out, s."""
        return _lasts(self.capacity, reserve, self.alone)


def drives_motor(setup: Setup, wiring: Wiring, pack: Fitted) -> bool:
    """True for the flight pack of an electric aircraft."""
    declared = setup.aircraft
    if declared is None or not (declared.propulsion or "").startswith("electric"):
        return False
    controllers = setup.of_kind("engine-controller")
    return any(pack.name in packs_of(wiring, controller) for controller in controllers)


def flights_between_charges(setup: Setup, wiring: Wiring, pack: Fitted) -> int | None:
    """Return for how many flights ``pack`` must last, or None where that is not declared.

    The flight pack of an electric aircraft is charged for every flight (common practice).
    """
    if drives_motor(setup, wiring, pack):
        return 1
    return setup.aircraft.flights_per_charge if setup.aircraft else None


def energy_of(power: "PowerStudy", pack: Fitted) -> PackEnergy:
    """Return the charge of ``pack`` and what draws on it. Coulomb counting, from first principles.

    Packs that a stronger one holds off, or charges, give nothing: their current is 0.
    """
    part = pack.part
    result = power.result(STEADY_CASE)
    given = _given(result.current(pack.name))
    others = _others(power, pack)
    alone = given
    if others:
        case = result.case._replace(name=f"{STEADY_CASE} on {pack.name} alone")
        alone = _given(power.solve(case, without_devices=others).current(pack.name))
    total = sum(_given(result.current(name)) or 0.0 for name in (pack.name, *others))
    return PackEnergy(
        pack=pack,
        capacity=part.capacity if isinstance(part, Battery) else None,
        current=given,
        alone=alone,
        share=given / total if given is not None and total > 0.0 else None,
        missing=pack_loading(power, pack).steady.missing,
    )


def _given(current: float | None) -> float | None:
    return None if current is None else max(0.0, current)


def _others(power: "PowerStudy", pack: Fitted) -> tuple[str, ...]:
    network = power.wiring.network(Node(pack.name, "rail"))
    names = {node.device for node in network} - {pack.name}
    return tuple(sorted(name for name in names if power.setup.devices[name].kind == "battery"))


def _lasts(capacity: float | None, reserve: float, current: float | None) -> float | None:
    if capacity is None or current is None:
        return None
    return endurance(capacity, reserve, current) if current > 0.0 else float("inf")
