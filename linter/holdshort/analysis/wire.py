"""Wire, contacts and the published tables on them.

Lengths in m, areas in m2, temperatures in degrees Celsius, resistances in ohm or ohm/m.

Three copper resistances are published and not to be mixed. Which one this module gives:

- `resistance_per_metre` is bare solid annealed copper, rho / A with rho20 = 1.7241e-8 ohm m
  (IEC 60028), the law of the wire-gauge tables. All voltage drops computed from a gauge or an area
  use it. It is the least a wire can have.
- `class_5_maximum` is the most a flexible plain copper conductor may have (IEC 60228), 11 to 16 %
  over rho / A. Use it where a drop must not be flattered.
- `AIRCRAFT_WIRE[...].resistance_per_metre` is the maximum of AC 43.13-1B Table 11-9 for tin-plated
  stranded aircraft wire, whose metal area is larger than the gauge's.

Two temperature laws are published too: 1 + 0.00393 (T - 20), used here, equal to (234.5 + T) /
254.5; and IEC 60228's correction table, (230 + T) / 250. They differ by 0.4 % at 100 C.
"""

import math
from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Final, Literal, NamedTuple

COPPER_RESISTIVITY: Final = 1.7241e-8
"""Annealed copper at 20 C, ohm m (IEC 60028: 1/58 ohm mm2/m)."""

COPPER_TEMPERATURE_COEFFICIENT: Final = 0.00393
"""Of resistance at 20 C, 1/K (IEC 60028)."""

METRES_PER_FOOT: Final = 0.3048
CIRCULAR_MIL: Final = math.pi / 4.0 * 0.0254e-3**2
"""Area of a circle one thousandth of an inch across, m2."""


def diameter_of_gauge(awg: int) -> float:
    """Return the diameter of solid wire of an American gauge, m.

    d = 0.127 mm * 92^((36 - n) / 39) (ASTM B258); gauges 00, 000 and 0000 are -1, -2 and -3.
    """
    return 0.127e-3 * math.pow(92.0, (36 - awg) / 39.0)


def area_of_gauge(awg: int) -> float:
    """Return the metal area of solid wire of an American gauge, m2 (ASTM B258)."""
    return math.pi / 4.0 * diameter_of_gauge(awg) ** 2


def gauge_of_diameter(diameter: float) -> float:
    """Return the American gauge, not rounded, of a diameter in m: the inverse of ASTM B258."""
    if not diameter > 0.0:
        raise ValueError(f"diameter must be over zero, not {diameter}")
    return 36.0 - 39.0 * math.log(diameter / 0.127e-3, 92.0)


def gauge_of_area(area: float) -> float:
    """Return the American gauge, not rounded, of a metal area in m2."""
    if not area > 0.0:
        raise ValueError(f"area must be over zero, not {area}")
    return gauge_of_diameter(math.sqrt(4.0 * area / math.pi))


def temperature_factor(temperature: float) -> float:
    """Return R(T) / R(20 C) of copper: 1 + 0.00393 (T - 20) (IEC 60028)."""
    return 1.0 + COPPER_TEMPERATURE_COEFFICIENT * (temperature - 20.0)


def iec_60228_correction(temperature: float) -> float:
    """Return the factor that takes a resistance measured at T to 20 C: 250 / (230 + T).

    IEC 60228's own table, for comparing with its limits; not the law used for drops here.
    """
    return 250.0 / (230.0 + temperature)


def resistance_per_metre(area: float, temperature: float = 20.0) -> float:
    """Return the resistance of one bare copper conductor of metal area `area`, ohm/m."""
    if not area > 0.0:
        raise ValueError(f"area must be over zero, not {area}")
    return COPPER_RESISTIVITY / area * temperature_factor(temperature)


def run_resistance(
    one_way_length: float, resistance_per_metre: float, conductors: int = 2
) -> float:
    """Return the resistance of a run as the load sees it, ohm: out and back unless told.

    AC 43.13-1B takes the whole conductor length, ground wire included; so `one_way_length` times
    two. Use `conductors=1` where the return is drawn on its own or is common metal.
    """
    return one_way_length * conductors * resistance_per_metre


def voltage_drop(resistance_per_metre: float, whole_length: float, current: float) -> float:
    """Return the drop, V, over the whole conductor length (out and back): R' L I.

    AC 43.13-1B par. 11-66 and Tables 11-7 and 11-8.
    """
    return resistance_per_metre * whole_length * current


def hot_run_length(length_at_20: float, temperature: float) -> float:
    """Return the run that has at T the drop `length_at_20` has at 20 C: 254.5 L / (234.5 + T).

    AC 43.13-1B par. 11-66, copper.
    """
    return 254.5 * length_at_20 / (234.5 + temperature)


CLASS_5_MAXIMUM: Final[Mapping[float, float]] = MappingProxyType(
    {0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98, 10.0: 1.91}
)
"""Nominal area, mm2 -> greatest resistance of one class 5 plain copper conductor at 20 C, ohm/km.

IEC 60228:2004 Table 3, read in three copies that agree. Sizes not read are not listed.
"""


def class_5_maximum(nominal_area: float) -> float | None:
    """Return the greatest resistance of a class 5 conductor of a nominal area (m2), ohm/m at 20 C.

    None for an area whose row was not read.
    """
    for square_millimetres, ohm_per_kilometre in CLASS_5_MAXIMUM.items():
        if math.isclose(nominal_area, square_millimetres * 1e-6, rel_tol=1e-6):
            return ohm_per_kilometre / 1000.0
    return None


class AmpacityConditions(NamedTuple):
    """What the currents of AC 43.13-1B Table 11-9 hold for. They are not free-air ratings."""

    ambient: float
    least_wires_in_bundle: int
    greatest_harness_load: float
    altitude: float


class AircraftWire(NamedTuple):
    """One row of AC 43.13-1B Table 11-9: tin-plated stranded copper.

    `continuous_current`: rated conductor temperature (C) -> A, under `conditions`.
    `greatest_resistance`: of one conductor at 20 C, ohm per 1000 ft, as printed. `circular_mils`
    as printed.
    """

    awg: int
    continuous_current: Mapping[int, float]
    greatest_resistance: float
    circular_mils: float
    conditions: AmpacityConditions

    @property
    def resistance_per_metre(self) -> float:
        """Greatest resistance of one conductor at 20 C, ohm/m."""
        return self.greatest_resistance / (1000.0 * METRES_PER_FOOT)

    @property
    def area(self) -> float:
        """Metal area, m2."""
        return self.circular_mils * CIRCULAR_MIL


_FULL_BUNDLE: Final = AmpacityConditions(70.0, 33, 0.20, 60000 * METRES_PER_FOOT)
_SMALL_BUNDLE: Final = AmpacityConditions(70.0, 9, 0.20, 60000 * METRES_PER_FOOT)
_TABLE_11_9: Final = (
    (24, 2.5, 4.0, 5.0, 28.40, 475.0, _FULL_BUNDLE),
    (20, 4.0, 7.0, 9.0, 9.88, 1216.0, _FULL_BUNDLE),
    (16, 7.0, 11.0, 14.0, 4.81, 2426.0, _FULL_BUNDLE),
    (14, 10.0, 14.0, 18.0, 3.06, 3831.0, _FULL_BUNDLE),
    (12, 13.0, 19.0, 25.0, 2.02, 5874.0, _FULL_BUNDLE),
    (10, 17.0, 26.0, 32.0, 1.26, 9354.0, _FULL_BUNDLE),
    (8, 38.0, 57.0, 71.0, 0.70, 16983.0, _SMALL_BUNDLE),
    (6, 50.0, 76.0, 97.0, 0.44, 26818.0, _SMALL_BUNDLE),
    (4, 68.0, 103.0, 133.0, 0.28, 42615.0, _SMALL_BUNDLE),
)

AIRCRAFT_WIRE: Final[Mapping[int, AircraftWire]] = MappingProxyType(
    {
        awg: AircraftWire(
            awg, MappingProxyType({105: at_105, 150: at_150, 200: at_200}), ohm, mils, conditions
        )
        for awg, at_105, at_150, at_200, ohm, mils, conditions in _TABLE_11_9
    }
)
"""American gauge -> row of AC 43.13-1B Table 11-9, p. 11-23. Rows not read are not listed."""


def thinnest_wire(
    whole_length: float,
    current: float,
    allowed_drop: float,
    wires: Iterable[AircraftWire] = tuple(AIRCRAFT_WIRE.values()),
) -> AircraftWire | None:
    """Return the thinnest wire whose drop over its whole length (out and back) is allowed.

    AC 43.13-1B par. 11-68 by its table instead of its chart; None when even the thickest is too
    thin. Judges the drop only, not the heat.
    """
    fit = [
        wire
        for wire in wires
        if voltage_drop(wire.resistance_per_metre, whole_length, current) <= allowed_drop
    ]
    return max(fit, key=lambda wire: wire.awg, default=None)


class AllowedDrop(NamedTuple):
    """Drop allowed on a system of a nominal voltage, V, for continuous and intermittent use."""

    continuous: float
    intermittent: float


ALLOWED_DROP: Final[Mapping[int, AllowedDrop]] = MappingProxyType(
    {
        14: AllowedDrop(0.5, 1.0),
        28: AllowedDrop(1.0, 2.0),
        115: AllowedDrop(4.0, 8.0),
        200: AllowedDrop(7.0, 14.0),
    }
)
"""AC 43.13-1B Table 11-6, p. 11-21, from memory; Tables 11-7 and 11-8 bear out the first column."""

BUS_DROP_SHARE: Final = 0.02
"""Main power wires from battery to bus: drop allowed, of the regulated voltage (FAA AMT handbook,
Allowable Voltage Drop)."""

GROUND_RETURN_RESISTANCE: Final = 0.005
"""From ground point to a device's ground terminal: satisfactory, ohm (FAA AMT handbook)."""


class Protection(NamedTuple):
    """Greatest breaker and fuse for a wire, A."""

    breaker: float
    fuse: float


PROTECTION: Final[Mapping[int, Protection]] = MappingProxyType(
    {
        22: Protection(5.0, 5.0),
        20: Protection(7.5, 5.0),
        18: Protection(10.0, 10.0),
        16: Protection(15.0, 10.0),
        14: Protection(20.0, 15.0),
        12: Protection(30.0, 20.0),
        8: Protection(50.0, 50.0),
    }
)
"""American gauge -> AC 43.13-1B Table 11-3, p. 11-15 (columns assigned to gauges in order)."""

SwitchedLoad = Literal["lamp", "inductive", "resistive", "motor"]

SWITCH_DERATING: Final[Mapping[tuple[int, SwitchedLoad], float]] = MappingProxyType(
    {
        (28, "lamp"): 8.0,
        (28, "inductive"): 4.0,
        (28, "resistive"): 2.0,
        (28, "motor"): 3.0,
        (12, "inductive"): 2.0,
        (12, "resistive"): 1.0,
    }
)
"""(System voltage, load) -> AC 43.13-1B Table 11-4, p. 11-17. Rows not read are not listed."""


def required_switch_rating(system_voltage: int, load: SwitchedLoad, current: float) -> float | None:
    """Return the nominal rating a switch needs for a continuous current, A.

    Current times the factor (AC 43.13-1B Table 11-4 note 1); None for a row that was not read.
    """
    factor = SWITCH_DERATING.get((system_voltage, load))
    return None if factor is None else factor * current


PIN_CONTACT_CURRENT: Final = 3.0
"""2.54 mm pin contact, about, A (row S9, a connector guide; not a vibration-rated family)."""

CONTACT_CURRENT: Final[Mapping[int, float]] = MappingProxyType(
    {22: 4.0, 24: 3.75, 26: 3.5, 28: 3.0}
)
"""American gauge -> current of one live 2.54 mm crimp contact for a 30 K rise, A (row S10, a
published specification of the contact, maker withheld)."""

CONTACT_DERATING: Final = 0.8
"""Share of its current a contact keeps for each doubling of live contacts (row S11, two connector
guides). The same row also says about 0.7 each in a 12-way; the harder figure is used."""


def contact_current(awg: int | None, live_contacts: int = 1) -> float | None:
    """Return the current each contact of a 2.54 mm servo connector may carry, A.

    The figure for the wire (S10) or, for None, the family's (S9), times 0.8^log2(live contacts)
    (S11). None for a gauge the specification does not list.
    """
    if live_contacts < 1:
        raise ValueError(f"live contacts must be 1 or more, not {live_contacts}")
    single = PIN_CONTACT_CURRENT if awg is None else CONTACT_CURRENT.get(awg)
    if single is None:
        return None
    return single * math.pow(CONTACT_DERATING, math.log2(live_contacts))
