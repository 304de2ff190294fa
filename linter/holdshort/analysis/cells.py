"""What battery cells are: voltages, state of charge, internal resistance, charge arithmetic.

Ids such as C1 are rows of the collection of trade rules the rules cite. Confidence: FOUND, the
text was read; PRACTICE, common practice with no source; MEMORY, from memory. Charge is in coulombs
(1 A h = 3600 C), time in seconds, voltage in volts, resistance in ohms.
"""

import math
from bisect import bisect_right
from types import MappingProxyType
from typing import Final, Literal, NamedTuple

Chemistry = Literal["lipo", "lihv", "li-ion", "life", "nimh"]
Confidence = Literal["FOUND", "PRACTICE", "MEMORY"]

COULOMBS_PER_AMPERE_HOUR: Final = 3600.0


class Sourced(NamedTuple):
    """A number with where it comes from."""

    value: float
    source: str
    confidence: Confidence


class CellType(NamedTuple):
    """One chemistry, per cell.

    - `nominal`, `full` (end of charge), `loaded_stop` (land: lowest under load that keeps control
      power), `cut_off` (empty: not to be passed): V.
    - `open_circuit`: (state of charge 0 to 1, V), rising, from `cut_off` to `full`. The inner
      points are common practice, no source; for flat chemistries voltage is a poor fuel gauge.
    - `resistance_charge`: internal resistance times capacity, ohm C; an assumption for a healthy
      warm cell. A measured resistance is always better.
    """

    chemistry: Chemistry
    nominal: Sourced
    full: Sourced
    loaded_stop: Sourced
    cut_off: Sourced
    open_circuit: tuple[tuple[float, float], ...]
    resistance_charge: Sourced


_PRACTICE: Final = "common practice, no source"


def _assumed(ohm_ampere_hours: float) -> Sourced:
    return Sourced(ohm_ampere_hours * COULOMBS_PER_AMPERE_HOUR, _PRACTICE, "PRACTICE")


_LIPO: Final = CellType(
    chemistry="lipo",
    nominal=Sourced(3.7, "C1, cell seller's page", "FOUND"),
    full=Sourced(4.20, "C1, cell seller's page", "FOUND"),
    loaded_stop=Sourced(3.3, "C2, low end of 3.3 to 3.5 V, common practice", "PRACTICE"),
    cut_off=Sourced(3.0, "C1, low end of the zone 3.0 to 4.2 V", "FOUND"),
    open_circuit=(
        (0.0, 3.00),
        (0.05, 3.55),
        (0.1, 3.68),
        (0.2, 3.73),
        (0.3, 3.77),
        (0.4, 3.79),
        (0.5, 3.83),
        (0.6, 3.88),
        (0.7, 3.95),
        (0.8, 4.02),
        (0.9, 4.11),
        (1.0, 4.20),
    ),
    resistance_charge=_assumed(0.015),
)

_LIHV: Final = CellType(
    chemistry="lihv",
    nominal=Sourced(3.8, "from memory", "MEMORY"),
    full=Sourced(4.35, "C3, battery seller's technical note (4.35 V and more exist)", "FOUND"),
    loaded_stop=Sourced(3.3, "C2 taken over from lipo, common practice", "PRACTICE"),
    cut_off=Sourced(3.0, "C1 taken over from lipo, common practice", "PRACTICE"),
    open_circuit=(
        (0.0, 3.00),
        (0.05, 3.58),
        (0.1, 3.70),
        (0.2, 3.76),
        (0.3, 3.80),
        (0.4, 3.83),
        (0.5, 3.88),
        (0.6, 3.95),
        (0.7, 4.03),
        (0.8, 4.12),
        (0.9, 4.22),
        (1.0, 4.35),
    ),
    resistance_charge=_assumed(0.015),
)

_LI_ION: Final = CellType(
    chemistry="li-ion",
    nominal=Sourced(3.6, "C6, low end of 3.6 to 3.7 V", "FOUND"),
    full=Sourced(4.20, "C6", "FOUND"),
    loaded_stop=Sourced(3.0, "C7, common practice", "PRACTICE"),
    cut_off=Sourced(2.6, "C6", "FOUND"),
    open_circuit=(
        (0.0, 2.60),
        (0.05, 3.10),
        (0.1, 3.30),
        (0.2, 3.45),
        (0.3, 3.55),
        (0.4, 3.62),
        (0.5, 3.68),
        (0.6, 3.77),
        (0.7, 3.86),
        (0.8, 3.96),
        (0.9, 4.06),
        (1.0, 4.20),
    ),
    resistance_charge=_assumed(0.055),
)

_LIFE: Final = CellType(
    chemistry="life",
    nominal=Sourced(3.2, "C4, low end of 3.2 to 3.3 V", "FOUND"),
    full=Sourced(3.65, "C4, high end of 3.6 to 3.65 V, just off the charger", "FOUND"),
    loaded_stop=Sourced(2.8, "C5, common practice", "PRACTICE"),
    cut_off=Sourced(2.5, "C5, absolute, common practice", "PRACTICE"),
    open_circuit=(
        (0.0, 2.50),
        (0.05, 3.00),
        (0.1, 3.15),
        (0.2, 3.22),
        (0.3, 3.25),
        (0.5, 3.28),
        (0.7, 3.30),
        (0.9, 3.33),
        (0.98, 3.38),
        (1.0, 3.65),
    ),
    resistance_charge=_assumed(0.025),
)

_NIMH: Final = CellType(
    chemistry="nimh",
    nominal=Sourced(1.2, "C8, sealed-cell data sheet", "FOUND"),
    full=Sourced(1.45, "C8, end of charge", "FOUND"),
    loaded_stop=Sourced(1.1, "C9, common practice", "PRACTICE"),
    cut_off=Sourced(1.0, "C8, voltage to which capacity is stated at 0.2 C", "FOUND"),
    open_circuit=(
        (0.0, 1.00),
        (0.05, 1.12),
        (0.1, 1.18),
        (0.2, 1.21),
        (0.5, 1.25),
        (0.8, 1.29),
        (0.95, 1.36),
        (1.0, 1.45),
    ),
    resistance_charge=_assumed(0.05),
)

CELL_TYPES: Final = MappingProxyType(
    {cell.chemistry: cell for cell in (_LIPO, _LIHV, _LI_ION, _LIFE, _NIMH)}
)
"""Every known chemistry by its name."""


def nominal_voltage(chemistry: Chemistry, cells: int) -> float:
    """Return a pack's nominal voltage, V."""
    return cells * CELL_TYPES[chemistry].nominal.value


def full_voltage(chemistry: Chemistry, cells: int) -> float:
    """Return a pack's voltage at the end of charge with no load, V: the highest it shows."""
    return cells * CELL_TYPES[chemistry].full.value


def stop_voltage(chemistry: Chemistry, cells: int) -> float:
    """Return the loaded pack voltage under which control power is not to be trusted, V."""
    return cells * CELL_TYPES[chemistry].loaded_stop.value


def cut_off_voltage(chemistry: Chemistry, cells: int) -> float:
    """Return the voltage of an empty pack with no load, V."""
    return cells * CELL_TYPES[chemistry].cut_off.value


def open_circuit_voltage(chemistry: Chemistry, state_of_charge: float) -> float:
    """Return a cell's voltage with no load at a state of charge from 0 to 1, V.

    Straight lines between points that are common practice, no source, and whose ends are the full
    and cut-off voltages. Raises `ValueError` outside 0 to 1.
    """
    if not 0.0 <= state_of_charge <= 1.0:
        raise ValueError(f"state of charge must be from 0 to 1, not {state_of_charge}")
    return _interpolate(CELL_TYPES[chemistry].open_circuit, state_of_charge)


def state_of_charge(chemistry: Chemistry, voltage: float) -> float:
    """Return the state of charge, 0 to 1, at a rested cell voltage; the inverse of the above.

    Voltages past the ends give 0 and 1.
    """
    curve = tuple((volts, charge) for charge, volts in CELL_TYPES[chemistry].open_circuit)
    return _interpolate(curve, min(max(voltage, curve[0][0]), curve[-1][0]))


def _interpolate(curve: tuple[tuple[float, float], ...], at: float) -> float:
    place = min(bisect_right(curve, at, key=lambda point: point[0]), len(curve) - 1)
    (left, low), (right, high) = curve[place - 1], curve[place]
    part = (at - left) / (right - left)
    return low * (1.0 - part) + high * part


def pack_emf(chemistry: Chemistry, cells: int, state_of_charge: float) -> float:
    """Return the EMF of cells in series at a state of charge from 0 to 1, V."""
    return cells * open_circuit_voltage(chemistry, state_of_charge)


def assumed_resistance(chemistry: Chemistry, cells: int, capacity: float) -> float:
    """Return the internal resistance assumed for a pack of this capacity (C), ohm.

    Larger cells have less: the product with capacity is taken as fixed for a chemistry (common
    practice, no source). An assumption to be shown as one.
    """
    if not capacity > 0.0:
        raise ValueError(f"capacity must be over zero, not {capacity}")
    return cells * CELL_TYPES[chemistry].resistance_charge.value / capacity


def terminal_voltage(emf: float, resistance: float, current: float) -> float:
    """Return V = E - I R; also for a pack, with the sum of cell EMFs and of resistances."""
    return emf - current * resistance


def internal_resistance(emf: float, terminal: float, current: float) -> float:
    """Return R = (E - V) / I from one loaded reading, ohm. Current must not be zero."""
    return (emf - terminal) / current


def two_load_resistance(
    first_voltage: float, first_current: float, second_voltage: float, second_current: float
) -> float | None:
    """Return R = (V1 - V2) / (I2 - I1), ohm, from two loads; None when the currents are equal.

    The two-load method of battery testing (from memory: IEC 61960).
    """
    if first_current == second_current:
        return None
    return (first_voltage - second_voltage) / (second_current - first_current)


def charge_drawn(mean_current: float, duration: float) -> float:
    """Return the charge drawn, C. Charge goes by the mean current, never by its RMS value."""
    return mean_current * duration


def remaining_fraction(capacity: float, drawn: float) -> float:
    """Return the state of charge after drawing `drawn` C from a full pack: 1 - Q / C."""
    return 1.0 - drawn / capacity


def endurance(capacity: float, floor: float, mean_current: float) -> float:
    """Return the time from full to a floor of the state of charge, s.

    t = (1 - floor) C / I. The floor is the owner's choice; no published standard sets one.
    """
    return (1.0 - floor) * capacity / mean_current


def peukert_endurance(
    capacity: float, rated_duration: float, exponent: float, current: float
) -> float:
    """Return t = H (C / (I H))^k, s: Peukert's law (1897) with capacity C stated at H.

    Made for lead-acid; k is near 1 for lithium cells.
    """
    return rated_duration * math.pow(capacity / (current * rated_duration), exponent)
