"""Cell curves and pack arithmetic: order, inverses, ends."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdshort.analysis.cells import (
    CELL_TYPES,
    Chemistry,
    assumed_resistance,
    cut_off_voltage,
    full_voltage,
    nominal_voltage,
    open_circuit_voltage,
    pack_emf,
    state_of_charge,
    stop_voltage,
    terminal_voltage,
    two_load_resistance,
)

chemistries = st.sampled_from(sorted(CELL_TYPES))
charges = st.floats(0.0, 1.0)


@pytest.mark.parametrize("chemistry", sorted(CELL_TYPES))
def test_the_curve_rises_from_cut_off_to_full(chemistry: Chemistry) -> None:
    cell = CELL_TYPES[chemistry]
    assert cell.open_circuit[0] == (0.0, cell.cut_off.value)
    assert cell.open_circuit[-1] == (1.0, cell.full.value)
    for (charge, volts), (more, higher) in pairwise(cell.open_circuit):
        assert more > charge
        assert higher > volts


@pytest.mark.parametrize("chemistry", sorted(CELL_TYPES))
def test_voltages_stand_in_order(chemistry: Chemistry) -> None:
    cut_off, stop = cut_off_voltage(chemistry, 1), stop_voltage(chemistry, 1)
    assert cut_off < stop < nominal_voltage(chemistry, 1) < full_voltage(chemistry, 1)


@given(chemistries, charges, charges)
def test_more_charge_is_more_voltage(chemistry: Chemistry, one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert open_circuit_voltage(chemistry, low) <= open_circuit_voltage(chemistry, high)


@given(chemistries, charges)
def test_charge_and_voltage_are_inverses(chemistry: Chemistry, charge: float) -> None:
    volts = open_circuit_voltage(chemistry, charge)
    assert state_of_charge(chemistry, volts) == pytest.approx(charge, abs=1e-9)


@given(chemistries, st.integers(1, 14))
def test_a_full_pack_shows_its_full_voltage(chemistry: Chemistry, cells: int) -> None:
    assert pack_emf(chemistry, cells, 1.0) == pytest.approx(full_voltage(chemistry, cells))
    assert pack_emf(chemistry, cells, 0.0) == pytest.approx(cut_off_voltage(chemistry, cells))


@pytest.mark.parametrize("chemistry", sorted(CELL_TYPES))
def test_voltages_past_the_ends(chemistry: Chemistry) -> None:
    assert state_of_charge(chemistry, 0.5) == 0.0
    assert state_of_charge(chemistry, 5.0) == 1.0


@pytest.mark.parametrize("charge", [-0.01, 1.01, float("nan")])
def test_impossible_charge_is_refused(charge: float) -> None:
    with pytest.raises(ValueError, match="state of charge"):
        open_circuit_voltage("lipo", charge)


def test_a_pack_of_two_in_parallel_has_half_the_resistance() -> None:
    single = assumed_resistance("lipo", 2, 2.5 * 3600)
    assert assumed_resistance("lipo", 2, 5.0 * 3600) == pytest.approx(single / 2)
    assert assumed_resistance("lipo", 4, 2.5 * 3600) == pytest.approx(single * 2)
    with pytest.raises(ValueError, match="capacity"):
        assumed_resistance("lipo", 2, 0.0)


@pytest.mark.parametrize("chemistry", sorted(CELL_TYPES))
def test_the_assumed_resistance_says_it_is_one(chemistry: Chemistry) -> None:
    assert CELL_TYPES[chemistry].resistance_charge.source == "common practice, no source"


@given(st.floats(1.0, 60.0), st.floats(0.001, 0.5), st.floats(0.1, 50.0), st.floats(0.1, 50.0))
def test_two_loads_give_the_resistance_back(
    emf: float, resistance: float, one: float, other: float
) -> None:
    measured = two_load_resistance(
        terminal_voltage(emf, resistance, one), one, terminal_voltage(emf, resistance, other), other
    )
    if one == other:
        assert measured is None
    elif abs(one - other) > 1e-3:
        assert measured == pytest.approx(resistance, rel=1e-6)


def test_one_load_leaves_the_resistance_undetermined() -> None:
    assert two_load_resistance(8.0, 3.0, 8.0, 3.0) is None
