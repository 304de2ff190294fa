"""Wire and contact arithmetic: inverses, order and refusals."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdshort.analysis.wire import (
    AIRCRAFT_WIRE,
    SwitchedLoad,
    area_of_gauge,
    class_5_maximum,
    contact_current,
    diameter_of_gauge,
    gauge_of_area,
    gauge_of_diameter,
    hot_run_length,
    required_switch_rating,
    resistance_per_metre,
    run_resistance,
    temperature_factor,
    thinnest_wire,
)

gauges = st.integers(-3, 40)


@given(gauges)
def test_gauge_and_size_are_inverses(awg: int) -> None:
    assert gauge_of_diameter(diameter_of_gauge(awg)) == pytest.approx(awg, abs=1e-9)
    assert gauge_of_area(area_of_gauge(awg)) == pytest.approx(awg, abs=1e-9)


@given(gauges)
def test_a_thinner_gauge_has_more_resistance(awg: int) -> None:
    thick, thin = area_of_gauge(awg), area_of_gauge(awg + 1)
    assert resistance_per_metre(thin) > resistance_per_metre(thick)
    # Six gauges halve the diameter, nearly: 92^(6/39) = 2.005.
    assert diameter_of_gauge(awg) / diameter_of_gauge(awg + 6) == pytest.approx(2.005, abs=1e-3)


@given(st.floats(-40.0, 150.0))
def test_a_hot_run_of_shortened_length_has_the_drop_of_the_cold_one(celsius: float) -> None:
    """AC 43.13-1B's shortening and IEC 60028's coefficient are one law (to alpha's rounding)."""
    shortened = hot_run_length(10.0, celsius)
    assert shortened * temperature_factor(celsius) == pytest.approx(10.0, rel=2e-3)


def test_a_run_counts_both_conductors() -> None:
    """Row S14 of the trade rules (computed): 1 m lead out and back at 3 A, 20/22/26 AWG."""
    for awg, drop in ((20, 0.20), (22, 0.32), (26, 0.80)):
        resistance = run_resistance(1.0, resistance_per_metre(area_of_gauge(awg)))
        assert 3.0 * resistance == pytest.approx(drop, abs=0.005)
    assert run_resistance(2.0, 0.03, conductors=1) == pytest.approx(0.06)


@pytest.mark.parametrize(
    ("awg", "milliohms"), [(20, 33.0), (22, 53.0), (24, 84.0), (26, 134.0), (28, 213.0)]
)
def test_lead_resistance(awg: int, milliohms: float) -> None:
    """Row S13 of the trade rules (computed): copper at 20 C, one conductor, mohm/m."""
    per_metre = resistance_per_metre(area_of_gauge(awg))
    assert per_metre * 1e3 == pytest.approx(milliohms, abs=0.5)


@given(st.floats(0.1, 100.0), st.floats(0.1, 40.0), st.floats(0.05, 5.0))
def test_the_thinnest_wire_is_thick_enough_and_the_next_is_not(
    length: float, current: float, allowed: float
) -> None:
    chosen = thinnest_wire(length, current, allowed)
    drops = {
        awg: wire.resistance_per_metre * length * current for awg, wire in AIRCRAFT_WIRE.items()
    }
    fitting = {awg for awg, drop in drops.items() if drop <= allowed}
    assert (chosen.awg if chosen else None) == max(fitting, default=None)


def test_contacts() -> None:
    """Rows S9 to S11 of the trade rules (FOUND): 3 A a contact, 4 A on 22 AWG, -20 % a doubling."""
    assert contact_current(None) == 3.0
    assert contact_current(22) == 4.0
    assert contact_current(28) == 3.0
    assert contact_current(22, 2) == pytest.approx(3.2)
    assert contact_current(22, 4) == pytest.approx(2.56)
    assert contact_current(12) is None


@given(st.integers(1, 63))
def test_more_live_contacts_carry_less_each_and_more_together(count: int) -> None:
    fewer, more = contact_current(24, count), contact_current(24, count + 1)
    assert fewer is not None
    assert more is not None
    assert more < fewer
    assert more * (count + 1) > fewer * count


def test_rows_not_read_are_unknown() -> None:
    lamp: SwitchedLoad = "lamp"
    assert class_5_maximum(4e-6) is None
    assert required_switch_rating(12, lamp, 1.0) is None
    assert 22 not in AIRCRAFT_WIRE


@pytest.mark.parametrize("value", [0.0, -1.0, math.nan])
def test_impossible_sizes_are_refused(value: float) -> None:
    with pytest.raises(ValueError, match="area must be over zero"):
        resistance_per_metre(value)
    with pytest.raises(ValueError, match="area must be over zero"):
        gauge_of_area(value)
    with pytest.raises(ValueError, match="diameter must be over zero"):
        gauge_of_diameter(value)


def test_no_contact_is_refused() -> None:
    with pytest.raises(ValueError, match="live contacts"):
        contact_current(22, 0)
