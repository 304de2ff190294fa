"""The standard atmosphere and dynamic pressure against published values and a library.

Rows of topic `air` of the project's collection of check values: ISO 2533 (ICAO Doc 7488), DERIVED
there with two libraries that agree. `ambiance` is a general-purpose implementation of the ICAO
standard atmosphere from PyPI.
"""

import math

import pytest
from ambiance import Atmosphere  # type: ignore[import-untyped]
from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.analysis.air import (
    HIGHEST,
    LOWEST,
    density,
    dynamic_pressure,
    standard_pressure,
    standard_temperature,
)


@pytest.mark.parametrize(
    ("height", "air", "kelvin"),
    [
        (0.0, 1.225, 288.15),  # row isa_density_0m
        (1000.0, 1.11166, 281.651),  # row isa_density_1000m
        (1500.0, 1.0581, 278.402),  # row isa_density_1500m
        (2000.0, 1.00655, 275.154),  # row isa_density_2000m
    ],
)
def test_standard_atmosphere(height: float, air: float, kelvin: float) -> None:
    assert density(height) == pytest.approx(air, rel=2e-5)
    assert standard_temperature(height) == pytest.approx(kelvin, rel=2e-5)


@settings(max_examples=200)
@given(st.floats(LOWEST, HIGHEST))
def test_the_library_says_the_same(height: float) -> None:
    library = Atmosphere(height)
    # the library begins its upper layer at a pressure rounded to a few parts in a million
    assert density(height) == pytest.approx(float(library.density[0]), rel=5e-6)
    assert standard_pressure(height) == pytest.approx(float(library.pressure[0]), rel=5e-6)
    assert standard_temperature(height) == pytest.approx(float(library.temperature[0]), rel=1e-9)


@pytest.mark.parametrize(
    ("speed", "pressure"),
    [
        (15.0, 137.8125),  # row dynamic_pressure_15
        (30.0, 551.25),  # row dynamic_pressure_30
        (50.0, 1531.25),  # row dynamic_pressure_50
    ],
)
def test_dynamic_pressure(speed: float, pressure: float) -> None:
    """DERIVED: q = 0.5 rho V^2."""
    assert dynamic_pressure(1.225, speed) == pytest.approx(pressure, abs=1e-6)


def test_dynamic_pressure_at_200_miles_an_hour() -> None:
    """The note of the trade rules under row G3: 0.5 x 1.225 x 89.4^2 = 4.9 kPa; DERIVED."""
    assert dynamic_pressure(density(0.0), 200 * 0.44704) == pytest.approx(4900.0, rel=2e-3)


def test_warm_air_is_thinner_by_the_gas_law() -> None:
    """By rho = p / (R T): at one pressure the density goes with one over the temperature."""
    warm, cold = density(300.0, 308.15), density(300.0, 278.15)
    assert warm / cold == pytest.approx(278.15 / 308.15, rel=1e-12)


@pytest.mark.parametrize("height", [LOWEST - 1.0, HIGHEST + 1.0, math.nan, math.inf])
def test_heights_that_no_atmosphere_is_given_for(height: float) -> None:
    with pytest.raises(ValueError, match="outside"):
        density(height)


@pytest.mark.parametrize("kelvin", [0.0, -5.0])
def test_temperatures_that_cannot_be(kelvin: float) -> None:
    with pytest.raises(ValueError, match="absolute zero"):
        density(0.0, kelvin)
