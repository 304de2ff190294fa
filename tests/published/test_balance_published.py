"""Centre of gravity against published worked examples and NumPy.

Rows `cg_*` and `fuel_*` of the project's collection of check values. FOUND: read in a public copy;
MEMORY: recalled, not re-read; DERIVED: from the formula named. Pounds and inches are kept as they
are printed: a centre of gravity is a quotient, in which the units of mass cancel.

Erratum: AC 43.13-1B figure 10-13, in the copy that was read, prints 18.6 for 38466/2100, which is
18.32. The quotient is tested, not the misprint.
"""

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdshort.analysis import Aircraft
from holdshort.analysis.balance import BalanceStudy
from holdshort.analysis.balance_sums import (
    EXACT,
    STATION,
    Error,
    Load,
    centre,
    half_width,
    total_mass,
)
from holdshort.document import Document, read_document
from holdshort.setup import Place, load
from holdshort.setup.quantities import DENSITY, INCH, POUND

NOWHERE = Place("", ())


def at(mass: float, station: float, name: str = "") -> Load:
    return Load(name, mass, (station, None, None), EXACT, EXACT, NOWHERE)


def weighted(items: Sequence[tuple[float, float]]) -> tuple[float, float]:
    loads = [at(mass, station) for mass, station in items]
    middle = centre(loads, STATION)
    assert middle is not None
    return total_mass(loads).value, middle.value


def no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def study(text: str) -> BalanceStudy:
    loaded = load(read_document(("holdshort: 1\n" + text).encode(), "x.yaml"), no_catalogue)
    assert loaded.faults == ()
    found = Aircraft(loaded.setup).balance
    assert found is not None
    return found


TABLES = [
    # cg_ac43_fig_10_11_most_rearward (DERIVED: AC 43.13-1B CHG 1, figure 10-11; inputs, 2036 and
    # 43428 FOUND, the quotient 43428/2036 worked out).
    (
        [(1169, 10.6), (17, -49), (170, 16), (340, 48), (240, 22), (100, 75.5)],
        2036, 43428 / 2036, 0.06,
    ),
    # cg_ac43_fig_10_13_max_passengers (DERIVED: the same, figure 10-13; inputs and 38466 FOUND).
    (
        [(1169, 10.6), (17, -49), (170, 16), (170, 16), (340, 48), (234, 22)],
        2100, 38466 / 2100, 0.06,
    ),
    # cg_8083_1_lever_three_weights (72 in FOUND: FAA-H-8083-1B ch. 2, figure 2-11; weights and arms
    # from memory).
    ([(100, 0), (200, 80), (200, 100)], 500, 72.0, 1e-6),
    # cg_faa_test_3664 (FOUND: FAA private pilot question 3664, answer A).
    ([(1495.0, 101.4), (380, 64.0), (180, 96.0)], 2055, 94.01, 0.005),
    # cg_faa_three_weights_2 (from memory: FAA commercial pilot test bank).
    ([(120, 15), (200, 117), (75, 195)], 395, 100.8, 0.05),
    # cg_easa_jacks_6803 (FOUND: EASA ATPL mass and balance, ECQB 2020 q. 7).
    ([(6488, 161), (17783, 775), (17783, 775)], 42054, 680.3, 0.05),
    # cg_alteration_2886 (FOUND: FAA airframe mechanic question, worked explanation): the empty
    # aircraft is given by its moment.
    (
        [(2886, 101673.78 / 2886), (-30, 71), (97, 71), (20, 71), (30, 94)],
        3003, 36.85, 0.01,
    ),
    # cg_phak_shift_100lb (FOUND: FAA-H-8083-25, weight shifting): out at 30, in at 150.
    ([(8000, 616000 / 8000), (-100, 30), (100, 150)], 8000, 78.5, 1e-6),
    # cg_phak_add_140lb (from memory: FAA-H-8083-25, weight addition).
    ([(6860, 80), (140, 150)], 7000, 81.4, 1e-6),
    # cg_faa_fuel_burn_67_79 and cg_faa_fuel_burn_68_83 (from memory: FAA commercial pilot bank).
    ([(4137, 67.8), (-13.7 * 1.5 * 6, 68.0)], 4137 - 123.3, 67.79, 0.006),
    ([(3037, 68.8), (-12.7 * 1.75 * 6, 68.0)], 3037 - 133.35, 68.83, 0.01),
]  # fmt: skip


@pytest.mark.parametrize(("items", "mass", "middle", "within"), TABLES)
def test_tables_of_weights_and_arms(
    items: list[tuple[float, float]], mass: float, middle: float, within: float
) -> None:
    found_mass, found = weighted(items)
    assert found_mass == pytest.approx(mass, abs=1e-6)
    assert found == pytest.approx(middle, abs=within)


def test_the_alteration_moves_the_balance_as_printed() -> None:
    """Row cg_alteration_2886 (FOUND): the shift of 1.62 in."""
    _, before = weighted([(2886, 101673.78 / 2886)])
    _, after = weighted([(2886, 101673.78 / 2886), (-30, 71), (97, 71), (20, 71), (30, 94)])
    assert after - before == pytest.approx(1.62, abs=0.01)


def test_a_seesaw_in_balance_has_no_moment() -> None:
    """Row cg_seesaw_tm55 (FOUND: TM 55-1500-342-23, par. 2-7): 200 lb at -50, 100 lb at 100 in."""
    mass, middle = weighted([(200, -50), (100, 100)])
    assert mass * middle == pytest.approx(0.0, abs=1e-9)


# Weighings on wheels: (name of the row, mains' station, nose or tail wheel's station, its load,
# total, expected). The handbook's formulas are D - F L / W for a nose wheel (minus that for a datum
# aft of the mains) and D + R L / W for a tail wheel.
WHEELS = [
    # cg_8083_1_nosewheel_main_ref (FOUND: FAA-H-8083-1B ch. 10): from the main wheels.
    ("main_ref", 0.0, -78.0, 340.0, 2006.0, -13.2, 0.05),
    # From memory: FAA-H-8083-1B ch. 3 (F, L and W of the first two FOUND).
    ("nosewheel_datum_forward", 128.0, 128.0 - 78.0, 340.0, 2006.0, 114.8, 0.05),
    ("nosewheel_datum_aft", -75.0, -75.0 - 78.0, 340.0, 2006.0, -88.2, 0.05),
    ("tailwheel_datum_forward", 7.5, 7.5 + 222.0, 67.0, 1218.0, 19.7, 0.05),
    ("tailwheel_datum_aft", -80.0, -80.0 + 222.0, 67.0, 1218.0, -67.8, 0.05),
    # cg_easa_nosewheel_837 (FOUND: EASA ATPL mass and balance q. 18): aft of the nose wheel.
    ("easa_837", 92.0, 0.0, 285.0, 285.0 + 1465.0 + 1395.0, 83.7, 0.05),
]


@pytest.mark.parametrize(("name", "mains", "third", "load", "total", "middle", "within"), WHEELS)
def test_weighings_on_wheels(
    name: str, mains: float, third: float, load: float, total: float, middle: float, within: float
) -> None:
    """Through the whole way: text of a file, weighing, state. Pounds stand for kilograms."""
    found = study(
        f"""
aircraft: {{name: {name}, propulsion: none}}
balance:
  weighings:
    wheels:
      on: 2026-05-01
      points:
        mains: {{station: {mains} in, load: {total - load} lb}}
        third: {{station: {third} in, load: {load} lb}}
"""
    )
    state = found.state("ready to fly")
    assert state.station is not None
    assert state.mass is not None
    assert state.station.value / INCH == pytest.approx(middle, abs=within)
    assert state.mass.value / POUND == pytest.approx(total)


def loaded(mass: float, middle: float, extra: str, unit: str = "in", heavy: str = "lb") -> str:
    return f"""
aircraft: {{name: Test, propulsion: none}}
balance:
  weighings:
    hung: {{on: 2026-05-01, points: {{hook: {{station: {middle} {unit}, load: {mass} {heavy}}}}}}}
{extra}
"""


def test_the_weight_to_shift_back_to_the_limit() -> None:
    """Row cg_phak_weight_to_shift (FOUND: FAA-H-8083-25, second example).

    7800 lb at 81.5 with an aft limit of 80.5: 65 lb have to go from 150 to 30. So a thing of 65 lb
    at 150 must move at least to 30. All lengths are halved, as no more than 3 m is looked at: the
    shift goes with them.
    """
    scale = 0.5
    found = study(
        loaded(
            7800,
            81.5 * scale,
            f"""  range: {{from: 0 in, to: {80.5 * scale} in}}
  items: {{cargo: {{mass: 65 lb, station: {150 * scale} in}}}}
  movable: {{cargo: {{from: 0 in, to: {150 * scale} in}}}}""",
        )
    )
    (remedy,) = found.remedies
    assert remedy.inside is not None
    assert remedy.inside / INCH == pytest.approx((30 - 150) * scale, abs=1e-4)


def test_how_far_to_shift_to_a_target() -> None:
    """Row cg_8083_1_lever_shift_B (50 in FOUND: FAA-H-8083-1B ch. 2): 200 of 500 lb by -55 in."""
    found = study(
        loaded(
            500,
            72,
            """  range: {from: 49 in, to: 51 in}
  items: {B: {mass: 200 lb, station: 80 in}}
  movable: {B: {}}""",
        )
    )
    (remedy,) = found.remedies
    assert remedy.middle / INCH == pytest.approx(-55.0, abs=1e-4)
    assert remedy.margin / INCH == pytest.approx(1.0, abs=1e-4)


def test_ballast_to_a_target() -> None:
    """Row cg_ballast_formula (DERIVED: w = W (target - x) / (arm - target), AMT courses)."""
    found = study(
        loaded(
            22.0,
            212.0,
            """  range: {from: 195 mm, to: 215 mm}
  ballast: {nose: {station: -450 mm}}""",
            "mm",
            "kg",
        )
    )
    (remedy,) = found.remedies
    assert remedy.middle == pytest.approx(0.235115, abs=1e-5)
    mass, after = weighted([(22.0, 212.0), (remedy.middle, -450.0)])
    assert after == pytest.approx(205.0, abs=1e-5)
    assert mass == pytest.approx(22.235115, abs=1e-5)


def test_least_ballast_is_the_formula_at_the_limit() -> None:
    """The same equation with the aft limit as the target."""
    found = study(
        loaded(
            22.0,
            212.0,
            "  range: {from: 195 mm, to: 208 mm}\n  ballast: {nose: {station: -450 mm}}",
            "mm",
            "kg",
        )
    )
    (remedy,) = found.remedies
    assert remedy.inside == pytest.approx(22.0 * (208.0 - 212.0) / (-450.0 - 208.0), abs=1e-8)


def test_share_of_the_chord() -> None:
    """Row cg_percent_mac (formula FOUND: FAA-H-8083-1B ch. 3; numbers from memory)."""
    found = study(loaded(10, 161, "  chord: {length: 62 in, leading-edge: 144 in}"))
    state = found.state("ready to fly")
    assert state.station is not None
    share = found.words.share(state.station.value)
    assert share is not None
    assert share * 100 == pytest.approx(27.4, abs=0.05)


def test_fuel_to_drain() -> None:
    """Row fuel_drain_110lb (FOUND: FAA question 3662): 110 lb at 6 lb to the gallon are 18.4 gal.

    A US gallon is 231 cubic inches.
    """
    litres = 110 * POUND / (6 * DENSITY.units["lb/gal"]) * 1e3
    assert litres / 3.785411784 == pytest.approx(18.4, abs=0.1)


@given(st.lists(st.tuples(st.floats(0.01, 30.0), st.floats(-2.0, 2.0)), min_size=1, max_size=12))
def test_weighted_means_as_numpy_has_them(items: list[tuple[float, float]]) -> None:
    masses, stations = zip(*items, strict=True)
    mass, middle = weighted(items)
    assert mass == pytest.approx(float(np.sum(masses)), rel=1e-12)
    expected = float(np.average(stations, weights=masses))
    assert middle == pytest.approx(expected, rel=1e-9, abs=1e-9)


def uncertain(masses: Sequence[float], stations: Sequence[float]) -> list[Load]:
    return [
        Load(
            f"{index}", mass, (station, None, None),
            Error(f"m{index}", half_width(0.005)), Error(f"x{index}", half_width(0.001)), NOWHERE,
        )
        for index, (mass, station) in enumerate(zip(masses, stations, strict=True))
    ]  # fmt: skip


def test_the_uncertainty_of_a_weighing_against_draws_at_random() -> None:
    """Independent check: the spread of 400,000 weighings drawn with NumPy.

    Each scale is wrong by anything up to 5 g, each station by anything up to 1 mm.
    """
    masses, stations = np.array([1.87, 6.03, 6.0]), np.array([0.322, 0.947, 0.947])
    draw = np.random.default_rng(20260501)
    count = 400_000
    drawn_masses = masses + draw.uniform(-0.005, 0.005, (count, 3))
    drawn_stations = stations + draw.uniform(-0.001, 0.001, (count, 3))
    middles = (drawn_masses * drawn_stations).sum(axis=1) / drawn_masses.sum(axis=1)
    loads = uncertain(masses.tolist(), stations.tolist())
    middle, total = centre(loads, STATION), total_mass(loads)
    assert middle is not None
    assert middle.spread is not None
    assert total.spread is not None
    assert middle.value == pytest.approx(float(middles.mean()), abs=1e-5)
    assert middle.spread == pytest.approx(2 * float(middles.std()), rel=0.01)
    assert total.spread == pytest.approx(2 * float(drawn_masses.sum(axis=1).std()), rel=0.01)
    inside = np.abs(middles - middle.value) <= middle.spread
    assert 0.93 < float(inside.mean()) < 0.98


FILE = """
aircraft: {name: Test, propulsion: turbine}
balance:
  accuracy: {load: 8 g, mass: 3 g, station: 2 mm}
  weighings:
    wheels:
      on: 2026-05-01
      tanks: {main: 1 l}
      points:
        nose: {station: 0 mm, load: 2.5 kg}
        mains: {station: 600 mm, load: 9.5 kg}
  changes: {pack: {on: 2026-05-02, mass: 450 g, out: 150 mm, in: 400 mm}}
  tanks: {main: {capacity: 3 l, station: 350 mm}}
  fuel-density: 0.80 kg/l
"""


def test_the_uncertainty_of_a_whole_aircraft_against_draws_at_random() -> None:
    """The same with fuel taken off and put in, and a pack that is as heavy here as there.

    The station of the tank is wrong alike for the litre that was in it and the three that will be.
    """
    state = study(FILE).state("take-off")
    draw = np.random.default_rng(7)
    count = 400_000

    def about(value: float, within: float) -> "np.ndarray[tuple[int], np.dtype[np.float64]]":
        return value + draw.uniform(-within, within, count)

    nose, mains = about(2.5, 0.008), about(9.5, 0.008)
    pack, tank = about(0.45, 0.003), about(0.35, 0.002)
    moment = nose * about(0.0, 0.002) + mains * about(0.6, 0.002)
    moment += pack * (about(0.4, 0.002) - about(0.15, 0.002))
    moment += (3.0 - 1.0) * 0.8 * tank
    middles = moment / (nose + mains + (3.0 - 1.0) * 0.8)
    assert state.station is not None
    assert state.station.spread is not None
    assert state.station.value == pytest.approx(float(middles.mean()), abs=1e-5)
    assert state.station.spread == pytest.approx(2 * float(middles.std()), rel=0.01)


def test_the_turn_on_the_way_against_a_fine_grid() -> None:
    """A tank whose fuel moves aft as it empties: the foremost point of 20,001 tried with NumPy."""
    found = study(
        """
aircraft: {name: Test, propulsion: turbine}
balance:
  range: {from: 0 mm, to: 1000 mm}
  weighings: {hung: {on: 2026-05-01, fuel: empty, points: {hook: {station: 400 mm, load: 10 kg}}}}
  tanks: {main: {capacity: 5 l, station: 400 mm, station-empty: 150 mm}}
  fuel-density: 0.80 kg/l
  landing-fuel: 0 l
"""
    )
    part = np.linspace(0.0, 1.0, 20_001)
    fuel = 4.0 * part
    middles = (10.0 * 0.4 + fuel * (0.15 + 0.25 * part)) / (10.0 + fuel)
    state = found.state("foremost on the way")
    assert state.station is not None
    assert state.fuel is not None
    assert state.station.value == pytest.approx(float(middles.min()), abs=1e-9)
    assert state.fuel * 1e3 == pytest.approx(5.0 * float(part[middles.argmin()]), abs=5e-4)
