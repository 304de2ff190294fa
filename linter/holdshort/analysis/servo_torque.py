"""What torque a servo has: from its sheet, at the voltage that the solved power network gives it.

Between two stated voltages the torque is interpolated. Below the lowest it goes down with the
voltage, as that of a motor with a magnet does (common practice, no source: a stalled motor's
current goes with its voltage); above the highest nothing is added. All are stall torques: what a
servo holds for a moment, not what it may carry for long.
"""

from collections.abc import Iterable
from itertools import pairwise
from typing import TYPE_CHECKING, Final, Literal, NamedTuple

from holdshort.analysis.facts import Need
from holdshort.analysis.load_cases import LoadCase
from holdshort.analysis.wiring import Node, nodes_of
from holdshort.setup import Fitted
from holdshort.setup.parts import Servo
from holdshort.setup.quantities import GRAVITY

if TYPE_CHECKING:
    from holdshort.analysis.power import PowerStudy

ON_THE_GROUND: Final = frozenset({"rest", "engine-start"})
"""Load cases in which no air loads a surface."""
KILOGRAM_CENTIMETRE: Final = GRAVITY * 1e-2
"""One kg.cm in N m."""
STEADY: Final = frozenset({"cruise"})

Basis = Literal["stated", "between", "above", "below"]


class Torque(NamedTuple):
    """A torque in N m, and how it follows from the sheet.

    ``basis`` is ``stated`` at a stated voltage, ``between`` two of them, ``above`` the highest
    (its torque), ``below`` the lowest (in proportion to the voltage).
    """

    newton_metres: float
    basis: Basis


class ServoTorque(NamedTuple):
    """The torque of one fitted servo at its lowest voltage over some load cases.

    ``volts`` is that voltage and ``case`` where it is. ``needs`` is what is missing to know the
    voltage; the true voltage and torque are then at most these.
    """

    servo: str
    torque: float
    basis: Basis
    volts: float
    case: LoadCase
    needs: tuple[Need, ...]


def torque_at(part: Servo, volts: float) -> Torque | None:
    """Return the stall torque of a servo at ``volts``; None where its sheet states none."""
    stated = _stated(part)
    if not stated:
        return None
    lowest, highest = stated[0], stated[-1]
    if volts < lowest[0]:
        return Torque(lowest[1] * max(volts, 0.0) / lowest[0], "below")
    if volts > highest[0]:
        return Torque(highest[1], "above")
    for at, torque in stated:
        if volts == at:
            return Torque(torque, "stated")
    for (low, weak), (high, strong) in pairwise(stated):
        if low < volts < high:
            return Torque(weak + (strong - weak) * (volts - low) / (high - low), "between")
    return None


def servo_torque(
    power: "PowerStudy", servo: Fitted, cases: Iterable[LoadCase] | None = None
) -> ServoTorque | tuple[Need, ...]:
    """Return what torque ``servo`` has at its lowest voltage, or what is missing to know it.

    ``cases`` are those that count: all that happen in the air where None.
    """
    part = servo.part
    if not isinstance(part, Servo) or not _stated(part):
        what = f"the torque of servo `{servo.part_name}` at a voltage"
        return (Need(servo.part_place("ratings"), what),)
    node = next(nodes_of(servo))
    chosen = in_the_air(power) if cases is None else tuple(cases)
    found: list[tuple[float, LoadCase]] = []
    for case in chosen:
        volts = power.result(case.name).voltage(node)
        if volts is None:
            return _dark(power, servo, node, case)
        found.append((volts, case))
    volts, case = min(found, key=lambda one: one[0])
    torque = torque_at(part, volts)
    if torque is None:
        return (Need(servo.part_place("ratings"), f"a torque of servo `{servo.part_name}`"),)
    needs = dict.fromkeys(need for one in chosen for need in power.needs(one, node))
    return ServoTorque(servo.name, torque.newton_metres, torque.basis, volts, case, tuple(needs))


def in_the_air(power: "PowerStudy") -> tuple[LoadCase, ...]:
    """Return the load cases that happen in flight."""
    return tuple(case for case in power.cases if case.name not in ON_THE_GROUND)


def in_steady_flight(power: "PowerStudy") -> tuple[LoadCase, ...]:
    """Return the load case of steady flight."""
    return tuple(case for case in power.cases if case.name in STEADY)


def highest_torque(part: Servo) -> float | None:
    """Return the greatest torque that a servo's sheet states, N m, or None."""
    return max((torque for _, torque in _stated(part)), default=None)


def show_torque(torque: float) -> str:
    """Return a torque in N m for messages, in N.m and in the trade's own unit."""
    return f"{torque:.3g} N.m ({torque / KILOGRAM_CENTIMETRE:.3g} kg.cm)"


def _stated(part: Servo) -> tuple[tuple[float, float], ...]:
    """Return the stated voltages with their torques, lowest first; the weaker of two at one."""
    found: dict[float, float] = {}
    for rating in part.ratings or ():
        if rating.torque is not None:
            at = float(rating.at)
            found[at] = min(float(rating.torque), found.get(at, float(rating.torque)))
    return tuple(sorted(found.items()))


def _dark(power: "PowerStudy", servo: Fitted, node: Node, case: LoadCase) -> tuple[Need, ...]:
    """Say what is missing where a servo has no voltage in a load case."""
    needs = power.needs(case, node)
    if needs:
        return needs
    if power.result(case.name).collapse is not None:
        text = f"a supply of `{servo.name}` that does not collapse with {case.title}"
        return (Need(servo.at(), text),)
    return (Need(servo.at(), f"a lead that brings power to `{servo.name}`"),)
