"""The air that an aircraft flies in: the International Standard Atmosphere, and dynamic pressure.

ISO 2533 (the same as ICAO Doc 7488 up to 32 km): sea level 288.15 K and 101325 Pa, 6.5 K less each
kilometre of geopotential height up to 11 km, then 216.65 K up to 20 km. Dry air: damp air is a
little thinner.
"""

import math
from typing import Final

SEA_LEVEL_TEMPERATURE: Final = 288.15  # K, ISO 2533
SEA_LEVEL_PRESSURE: Final = 101325.0  # Pa, ISO 2533
LAPSE_RATE: Final = 0.0065  # K/m of geopotential height, ISO 2533
TROPOPAUSE: Final = 11000.0  # m, geopotential, ISO 2533
GAS_CONSTANT: Final = 287.05287  # J/(kg K), dry air, ISO 2533
GRAVITY: Final = 9.80665  # m/s2, ISO 2533
EARTH_RADIUS: Final = 6356766.0  # m, nominal, ISO 2533
ZERO_CELSIUS: Final = 273.15  # K, exact: the definition of the degree Celsius
LOWEST: Final = -2000.0
"""The lowest height that the atmosphere is given for here, m (that of ISO 2533 from memory)."""
HIGHEST: Final = 20000.0
"""The greatest height that the atmosphere is given for here, m: the top of the isothermal layer of
ISO 2533."""

_GROWTH: Final = GRAVITY / (GAS_CONSTANT * LAPSE_RATE)


def geopotential(height: float) -> float:
    """Return the geopotential height, m, of a geometric ``height`` above sea level, m: ISO 2533."""
    return EARTH_RADIUS * height / (EARTH_RADIUS + height)


def standard_temperature(height: float) -> float:
    """Return the temperature, K, at ``height`` (m, geometric) in the standard atmosphere.

    Raises ValueError outside :data:`LOWEST` to :data:`HIGHEST`.
    """
    return SEA_LEVEL_TEMPERATURE - LAPSE_RATE * min(_checked(height), TROPOPAUSE)


def standard_pressure(height: float) -> float:
    """Return the pressure, Pa, at ``height`` (m, geometric) in the standard atmosphere.

    p = p0 (T / T0)^(g / (R L)) up to the tropopause, p = p1 exp(-g (H - H1) / (R T1)) above it.
    Raises ValueError outside :data:`LOWEST` to :data:`HIGHEST`.
    """
    level = _checked(height)
    temperature = SEA_LEVEL_TEMPERATURE - LAPSE_RATE * min(level, TROPOPAUSE)
    pressure = SEA_LEVEL_PRESSURE * math.pow(temperature / SEA_LEVEL_TEMPERATURE, _GROWTH)
    above = max(level - TROPOPAUSE, 0.0)
    return pressure * math.exp(-GRAVITY * above / (GAS_CONSTANT * temperature))


def density(height: float, temperature: float | None = None) -> float:
    """Return the density of the air, kg/m3, at ``height`` (m, geometric).

    ``temperature`` is that of the air in K, or None for the standard one; the pressure is the
    standard one either way. rho = p / (R T). Raises ValueError outside :data:`LOWEST` to
    :data:`HIGHEST`, or for a temperature that is not above absolute zero.
    """
    kelvin = standard_temperature(height) if temperature is None else temperature
    if kelvin <= 0.0:
        raise ValueError(f"{kelvin} K is not above absolute zero")
    return standard_pressure(height) / (GAS_CONSTANT * kelvin)


def dynamic_pressure(air: float, speed: float) -> float:
    """Return q = rho V^2 / 2, Pa, of ``air`` (kg/m3) at ``speed`` (m/s)."""
    return 0.5 * air * speed * speed


def _checked(height: float) -> float:
    if not LOWEST <= height <= HIGHEST:
        raise ValueError(f"{height} m is outside {LOWEST:.0f} to {HIGHEST:.0f} m")
    return geopotential(height)
