"""Statistics of logs against certified and published values, SciPy and NumPy.

Rows `stat_*` and `battery_*` of the project's collection of check values. FOUND: read in a public
copy; MEMORY: from memory, the arithmetic was worked again; DERIVED: from the formula named.
"""

import math
from collections.abc import Sequence

import numpy as np
import pytest
from scipy import stats

from holdshort.analysis.logs.statistics import Integral, Line, LineFit
from holdshort.analysis.logs.student import incomplete_beta, t_quantile

# Row stat_nist_norris (FOUND: NIST StRD linear regression, dataset Norris, certified values, as
# SciPy's own test of it has them).
NORRIS_X = [
    0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5,
    666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2,
    999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
]  # fmt: skip
NORRIS_Y = [
    0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1,
    668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0,
    998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
]  # fmt: skip


def fitted(xs: Sequence[float], ys: Sequence[float], size: int = 7) -> Line:
    fit = LineFit()
    times = [float(at) for at in range(len(xs))]
    for at in range(0, len(xs), size):
        fit.feed(xs[at : at + size], ys[at : at + size], times[at : at + size])
    line = fit.line()
    assert line is not None
    return line


@pytest.mark.parametrize("size", [1, 7, 36])
def test_norris(size: int) -> None:
    line = fitted(NORRIS_X, NORRIS_Y, size)
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-12)
    assert line.intercept == pytest.approx(-0.262323073774029, rel=1e-9)
    assert line.r_squared == pytest.approx(0.9999937459, abs=1e-9)
    assert line.slope_error == pytest.approx(0.0004297968482, abs=1e-12)
    assert line.intercept_error == pytest.approx(0.2328182343, abs=1e-9)


# Rows stat_anscombe_1 and stat_anscombe_3 (MEMORY: Anscombe 1973, The American Statistician 27(1),
# from memory): the printed slope 0.5, intercept 3.0 and r squared 0.67.
@pytest.mark.parametrize(
    "ys",
    [
        [8.04, 6.95, 7.58, 8.81, 8.33, 9.96, 7.24, 4.26, 10.84, 4.82, 5.68],
        [7.46, 6.77, 12.74, 7.11, 7.81, 8.84, 6.08, 5.39, 8.15, 6.42, 5.73],
    ],
)
def test_anscombe(ys: list[float]) -> None:
    line = fitted([10, 8, 13, 9, 11, 14, 6, 4, 12, 7, 5], ys)
    assert line.slope == pytest.approx(0.5, abs=0.005)
    assert line.intercept == pytest.approx(3.0, abs=0.005)
    assert line.r_squared == pytest.approx(0.67, abs=0.005)


def test_a_constant_current_gives_no_resistance() -> None:
    """Row stat_r_undefined_constant_current (DERIVED: Sxx = 0, the slope is undefined)."""
    fit = LineFit()
    fit.feed([5.0, 5.0, 5.0, 5.0], [7.9, 7.91, 7.89, 7.9], [0.0, 1.0, 2.0, 3.0])
    assert fit.line() is None
    assert fit.steady_line() is None


def integral(times: Sequence[float], values: Sequence[float]) -> Integral:
    found = Integral(gap=100.0)
    found.feed(times, values)
    return found


@pytest.mark.parametrize(
    ("intervals", "expected"), [(4, 0.34375), (8, 0.3359375), (16, 0.333984375)]
)
def test_trapezoids_under_a_square(intervals: int, expected: float) -> None:
    """Rows stat_trapezoid_x2_n4, _n8, _n16 (DERIVED: T = 1/3 + 1/(6 n^2), exact for x squared)."""
    at = [step / intervals for step in range(intervals + 1)]
    assert integral(at, [x * x for x in at]).area == pytest.approx(expected, abs=1e-8)


def test_energy_is_the_integral_of_volts_times_amperes() -> None:
    """Row stat_trapezoid_energy (DERIVED: trapezoid of V I, not mean V times charge)."""
    amperes = [2.0, 4.0, 6.0, 3.0, 3.0, 1.0]
    volts = [8.2, 8.1, 8.0, 8.15, 8.15, 8.25]
    power = [volt * ampere for volt, ampere in zip(volts, amperes, strict=True)]
    energy = integral([0.0, 1.0, 2.0, 4.0, 7.0, 10.0], power).area
    assert energy == pytest.approx(259.45, abs=1e-6)
    assert energy / 3600 == pytest.approx(0.072069444, abs=1e-9)


def test_rms_heats_and_the_mean_empties() -> None:
    """Row stat_rms_heating (DERIVED: I_rms = I_peak sqrt(D)): 8 A for a quarter of the time.

    Steps are drawn as two rows a millionth of a second apart.
    """
    step = 1e-6
    times = [0.0, 1.0 - step, 1.0, 2.0 - step, 2.0, 4.0]
    found = integral(times, [0.0, 0.0, 8.0, 8.0, 0.0, 0.0])
    assert found.mean == pytest.approx(2.0, abs=1e-5)
    assert found.rms == pytest.approx(4.0, abs=1e-5)
    assert found.rms is not None
    assert found.rms**2 * 0.05 == pytest.approx(0.8, abs=1e-5)


def test_internal_resistance_of_a_worked_example() -> None:
    """Rows battery_openstax_* (MEMORY: OpenStax College Physics 21.2, from memory).

    12 V behind 0.1 ohm gives 1.188 A into 10 ohm and 20 A at 10 V into 0.5 ohm: the line through
    both, and through no load, has that EMF and resistance.
    """
    line = fitted([0.0, 12.0 / 10.1, 20.0], [12.0, 12.0 / 10.1 * 10.0, 10.0])
    assert -line.slope == pytest.approx(0.1, rel=0.002)
    assert line.intercept == pytest.approx(12.0, rel=0.002)


@pytest.mark.parametrize("freedom", [1, 2, 3, 5, 10, 29, 100, 1000, 1e5, 1e7])
@pytest.mark.parametrize("probability", [0.5, 0.9, 0.975, 0.999])
def test_students_t_agrees_with_scipy(freedom: float, probability: float) -> None:
    expected = float(stats.t.ppf(probability, freedom))
    assert t_quantile(probability, freedom) == pytest.approx(expected, rel=1e-8, abs=1e-9)


def test_students_t_of_the_printed_table() -> None:
    """Two-sided 95 %: 12.706 for 1, 2.228 for 10, 1.960 for many (from memory, any t table)."""
    assert t_quantile(0.975, 1) == pytest.approx(12.706, abs=5e-4)
    assert t_quantile(0.975, 10) == pytest.approx(2.228, abs=5e-4)
    assert t_quantile(0.975, 1e6) == pytest.approx(1.960, abs=5e-4)


def test_incomplete_beta_at_its_ends_and_half_way() -> None:
    """DERIVED: I_0 = 0, I_1 = 1, and by symmetry I_1/2(a, a) = 1/2."""
    assert incomplete_beta(2.0, 3.0, 0.0) == 0.0
    assert incomplete_beta(2.0, 3.0, 1.0) == 1.0
    assert incomplete_beta(4.2, 4.2, 0.5) == pytest.approx(0.5, abs=1e-14)


def test_least_squares_agree_with_scipy() -> None:
    rng = np.random.default_rng(7)
    amperes = rng.uniform(0.5, 25.0, 10_000)
    volts = 12.6 - 0.0143 * amperes + rng.normal(0.0, 0.01, amperes.size)
    expected = stats.linregress(amperes, volts)
    line = fitted(amperes.tolist(), volts.tolist(), 4096)
    assert line.slope == pytest.approx(float(expected.slope), rel=1e-10)
    assert line.intercept == pytest.approx(float(expected.intercept), rel=1e-10)
    assert line.slope_error == pytest.approx(float(expected.stderr), rel=1e-9)
    assert line.intercept_error == pytest.approx(float(expected.intercept_stderr), rel=1e-9)
    half = float(stats.t.ppf(0.975, amperes.size - 2)) * float(expected.stderr)
    assert line.half_width == pytest.approx(half, rel=1e-8)


def test_the_drift_is_taken_out_as_by_a_fit_of_two_regressors() -> None:
    """NumPy's least squares of V on 1, I and t, with the covariance from the normal equations."""
    rng = np.random.default_rng(11)
    times = np.arange(5_000) * 0.1
    amperes = 3.0 + times / 100.0 + rng.uniform(0.0, 4.0, times.size)
    volts = 12.5 - 0.02 * amperes - 0.0009 * times + rng.normal(0.0, 0.005, times.size)
    design = np.column_stack([np.ones_like(times), amperes, times])
    best, left, _, _ = np.linalg.lstsq(design, volts)
    variance = float(left[0]) / (times.size - 3)
    error = math.sqrt(variance * np.linalg.inv(design.T @ design)[1, 1])
    fit = LineFit()
    for at in range(0, times.size, 777):
        part = slice(at, at + 777)
        fit.feed(amperes[part].tolist(), volts[part].tolist(), times[part].tolist())
    line = fit.steady_line()
    assert line is not None
    assert line.slope == pytest.approx(float(best[1]), rel=1e-8)
    assert line.slope_error == pytest.approx(error, rel=1e-7)
    assert abs(line.slope + 0.02) < line.half_width * 1.5
    plain = fit.line()
    assert plain is not None
    assert abs(plain.slope + 0.02) > 10 * plain.half_width


def test_integrals_agree_with_numpy() -> None:
    rng = np.random.default_rng(3)
    times = np.cumsum(rng.uniform(0.01, 0.3, 20_000))
    values = rng.normal(5.0, 3.0, times.size)
    found = Integral(gap=1.0)
    for at in range(0, times.size, 4096):
        found.feed(times[at : at + 4096].tolist(), values[at : at + 4096].tolist())
    span = float(times[-1] - times[0])
    assert found.seconds == pytest.approx(span, rel=1e-12)
    assert found.area == pytest.approx(float(np.trapezoid(values, times)), rel=1e-12)
    rms = math.sqrt(float(np.trapezoid(values**2, times)) / span)
    assert found.rms == pytest.approx(rms, rel=1e-12)
