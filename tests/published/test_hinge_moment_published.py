"""Hinge moments and linkages against published theory, an integral, and a solver of equations.

Rows of topic `hinge_moment` of the project's collection of check values. FOUND: the formula was
read (Houghton & Carpenter, Aerodynamics for Engineering Students, section 4.5.1, equations 4.54 to
4.57, after Glauert, R&M 1095; in public copies). DERIVED: computed from the formula, not printed.
"""

import math
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import integrate, optimize

from holdshort.analysis.air import dynamic_pressure
from holdshort.analysis.hinge_moment import (
    hinge_coefficient,
    hinge_moment,
    hinge_slopes,
)
from holdshort.analysis.linkage import LinkGeometry, arm_turn, surface_turn, travel
from holdshort.setup.quantities import TORQUE, QuantityType

ROWS = [
    # rows hinge_thin_aerofoil_E10 to _E50: DERIVED from the FOUND formula, and confirmed there by a
    # lumped-vortex plate of 1200 panels; ratio, b1, b2, a2 per radian
    (0.10, -0.344856, -0.884229, 2.487002),
    (0.25, -0.565347, -0.943608, 3.826446),
    (0.30, -0.627407, -0.965403, 4.151589),
    (0.50, -0.858407, -1.065823, 5.141593),
]


@pytest.mark.parametrize(("ratio", "alpha", "deflection", "lift"), ROWS)
def test_slopes(ratio: float, alpha: float, deflection: float, lift: float) -> None:
    found = hinge_slopes(ratio)
    # ten parts in a million, the tolerance of the rows; their last digit is one in a million
    assert found.alpha == pytest.approx(alpha, rel=1e-5)
    assert found.deflection == pytest.approx(deflection, rel=1e-5)
    assert found.lift == pytest.approx(lift, rel=1e-5)


def moment_by_integral(ratio: float, alpha: float, deflection: float) -> float:
    """Return the hinge-moment coefficient from the pressure on the flap, integrated by SciPy.

    Thin-aerofoil theory from its start: x = c (1 - cos t) / 2, the vorticity that makes the bent
    plate a streamline is 2 U (A0 (1 + cos t) / sin t + sum An sin nt) with, for a flap bent by
    ``deflection`` at t = phi, A0 = alpha + deflection (pi - phi) / pi and
    An = 2 deflection sin(n phi) / (n pi) (Glauert's method; the series is FOUND in Houghton &
    Carpenter, section 4.5). The jump of pressure is rho U times that; its moment about the hinge
    over the flap, by dx = c sin t dt / 2, is referred to q (E c)^2. 400 terms are summed.
    """
    phi = math.acos(2.0 * ratio - 1.0)
    hinge = (1.0 - math.cos(phi)) / 2.0
    assert hinge == pytest.approx(1.0 - ratio)
    mean = alpha + deflection * (math.pi - phi) / math.pi

    def jump(t: float) -> float:
        """Return the pressure jump over q, times dx/dt over c."""
        series = sum(
            2.0 * deflection * math.sin(n * phi) / (n * math.pi) * math.sin(n * t)
            for n in range(1, 401)
        )
        return 4.0 * (mean * (1.0 + math.cos(t)) + series * math.sin(t)) / 2.0

    def integrand(t: float) -> float:
        return jump(t) * ((1.0 - math.cos(t)) / 2.0 - hinge)

    value, _ = integrate.quad(integrand, phi, math.pi, limit=400)
    return -float(value) / (ratio * ratio)


@pytest.mark.parametrize("ratio", [0.1, 0.2, 0.25, 0.3, 0.4, 0.5, 0.7])
def test_slopes_are_the_integral_of_the_pressure(ratio: float) -> None:
    """SciPy's quad on the vorticity of the bent plate: nothing of the closed form is in it."""
    slopes = hinge_slopes(ratio)
    assert moment_by_integral(ratio, 1.0, 0.0) == pytest.approx(slopes.alpha, rel=1e-6)
    # the series of the bend converges slowly at the hinge
    assert moment_by_integral(ratio, 0.0, 1.0) == pytest.approx(slopes.deflection, rel=2e-4)


def test_b1_is_its_printed_integral() -> None:
    """b1 = -(1/E^2) integral from phi to pi of (1 + cos t)(cos phi - cos t) dt: FOUND, eq. 4.55."""
    for ratio in (0.05, 0.15, 0.33, 0.6, 0.9):
        phi = math.acos(2.0 * ratio - 1.0)
        value, _ = integrate.quad(
            lambda t, phi=phi: (1.0 + math.cos(t)) * (math.cos(phi) - math.cos(t)), phi, math.pi
        )
        assert hinge_slopes(ratio).alpha == pytest.approx(-value / ratio**2, rel=1e-10)


def test_a_flap_of_the_whole_chord_moves_as_the_angle_of_attack_does() -> None:
    """E = 1: b1 = b2 = -pi/2, for the lift 2 pi alpha acts at the quarter chord; DERIVED."""
    found = hinge_slopes(1.0 - 1e-9)
    assert found.alpha == pytest.approx(-math.pi / 2.0, rel=1e-4)
    assert found.deflection == pytest.approx(-math.pi / 2.0, rel=1e-4)
    assert found.lift == pytest.approx(2.0 * math.pi, rel=1e-4)


def test_moment_of_a_surface() -> None:
    """Row hinge_moment_simple (DERIVED: H = C_H q S_f c_f)."""
    pressure = dynamic_pressure(1.225, 50.0)
    assert pressure == pytest.approx(1531.25, rel=1e-9)
    coefficient = hinge_coefficient(hinge_slopes(0.25), math.radians(25.0), 0.0)
    moment = hinge_moment(pressure, 0.8, 0.12, coefficient)
    assert abs(moment) == pytest.approx(7.26286, rel=1e-5)
    assert moment < 0.0, "the air turns the surface back"


def test_moment_grows_with_the_square_of_the_speed() -> None:
    """Row hinge_moment_v_squared (DERIVED: 1.5 times as fast, 2.25 times the moment)."""
    slow, fast = (
        hinge_moment(dynamic_pressure(1.2, speed), 0.5, 0.1, -0.3) for speed in (40.0, 60.0)
    )
    assert fast / slow == pytest.approx(2.25, abs=1e-12)


@pytest.mark.parametrize(
    ("servo", "surface", "torque"),
    [
        (0.0, 0.0, 0.666667),  # row linkage_torque_parallel: DERIVED
        (45.0, 28.125506, 0.534522),  # row linkage_torque_deflected: DERIVED
    ],
)
def test_torque_of_a_linkage(servo: float, surface: float, torque: float) -> None:
    """Arm 20 mm, horn 30 mm, long pushrod, 1 N m on the surface; DERIVED: statics."""
    link = LinkGeometry(0.020, 0.030)
    end = travel(link, math.radians(servo), "arm").positions[-1]
    assert math.degrees(end.surface) == pytest.approx(surface, rel=1e-6)
    assert end.ratio * 1.0 == pytest.approx(torque, rel=1e-5)


def test_units_of_torque() -> None:
    """Rows unit_kgfcm_to_Nm and unit_ozin_to_Nm (DERIVED: standard gravity, pound and inch)."""
    kind = QuantityType(TORQUE)
    assert kind.read("10 kg.cm") == pytest.approx(0.980665, abs=1e-9)
    assert kind.read("100 oz.in") == pytest.approx(0.706155, rel=1e-6)


links = st.builds(
    LinkGeometry,
    st.floats(0.008, 0.03),
    st.floats(0.008, 0.04),
    st.floats(-0.5, 0.5),
    st.floats(-0.5, 0.5),
    st.floats(0.04, 0.4),
)


def gap(link: LinkGeometry, arm: float, surface: float) -> float:
    """Return how much the holes are too far apart: complex numbers instead of our vectors.

    The holes of arm and horn turn about two fixed axes; at neutral the pushrod lies along the real
    axis, and a turn is a rotation clockwise, toward the surface.
    """
    assert link.pushrod is not None
    one = link.arm * 1j * complex(math.cos(link.arm_angle), -math.sin(link.arm_angle))
    other = link.horn * 1j * complex(math.cos(link.horn_angle), -math.sin(link.horn_angle))
    hinge = one + link.pushrod - other
    turned = one * complex(math.cos(arm), -math.sin(arm))
    moved = hinge + other * complex(math.cos(surface), -math.sin(surface))
    return abs(moved - turned) - link.pushrod


@settings(max_examples=150, deadline=None)
@given(links, st.floats(-0.9, 0.9))
def test_four_bars_close_as_scipy_closes_them(link: LinkGeometry, arm: float) -> None:
    """SciPy's hybr, which fsolve is, on the equation that holds four bars together; small steps."""
    end = travel(link, arm, "arm")
    assume(not end.dead_centre)

    def off(surface: Any, turned: float) -> list[float]:
        return [gap(link, turned, float(surface[0]))]

    guess = 0.0
    for step in range(1, 41):
        turned = arm * step / 40
        found = optimize.root(off, guess, args=(turned,), tol=1e-10)
        assume(found.success)
        guess = float(found.x[0])
    assert end.positions[-1].surface == pytest.approx(guess, abs=1e-7)


@settings(max_examples=150, deadline=None)
@given(links, st.floats(-0.8, 0.8))
def test_the_ratio_is_the_slope_of_the_motion(link: LinkGeometry, arm: float) -> None:
    """A central difference of the motion: the ratio comes from the geometry of forces instead."""
    end = travel(link, arm, "arm")
    assume(not end.dead_centre)
    last = end.positions[-1]
    assume(max(last.arm_off, last.horn_off) < math.radians(80.0))
    step = 1e-5
    ahead, behind = surface_turn(link, arm + step), surface_turn(link, arm - step)
    assert ahead is not None
    assert behind is not None
    assert last.ratio == pytest.approx((ahead - behind) / (2 * step), rel=1e-5, abs=1e-7)


@settings(max_examples=150, deadline=None)
@given(links, st.floats(-0.8, 0.8), st.booleans())
def test_there_and_back(link: LinkGeometry, arm: float, long: bool) -> None:
    chosen = link._replace(pushrod=None) if long else link
    end = travel(chosen, arm, "arm")
    assume(not end.dead_centre)
    back = arm_turn(chosen, end.positions[-1].surface)
    assert back == pytest.approx(arm, abs=1e-6)


@settings(max_examples=100, deadline=None)
@given(links, st.floats(-0.6, 0.6))
def test_a_very_long_pushrod_is_the_parallel_one(link: LinkGeometry, arm: float) -> None:
    parallel = travel(link._replace(pushrod=None), arm, "arm")
    assume(not parallel.dead_centre)
    last = parallel.positions[-1]
    assume(max(last.arm_off, last.horn_off) < math.radians(75.0))
    exact = surface_turn(link._replace(pushrod=1000.0), arm)
    assert exact == pytest.approx(last.surface, abs=1e-3)


@settings(max_examples=60, deadline=None)
@given(st.floats(0.01, 0.03), st.floats(-1.0, 1.0), st.floats(-1.2, 1.2))
def test_a_parallelogram_turns_both_alike(radius: float, lean: float, arm: float) -> None:
    """Opposite bars alike: the pushrod stays parallel to itself at any length (plane geometry)."""
    link = LinkGeometry(radius, radius, lean, lean, 0.1)
    assume(abs(lean + arm) < math.radians(85.0))
    end = travel(link, arm, "arm")
    assert not end.dead_centre
    assert end.positions[-1].surface == pytest.approx(arm, abs=1e-9)
    assert end.positions[-1].ratio == pytest.approx(1.0, abs=1e-9)
