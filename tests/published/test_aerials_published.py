"""Losses of aerials against published values and geometry.

Rows `polarisation_*` and `antenna_two_orthogonal_worst` of the project's collection of check
values. Polarisation loss factor |cos a|^2: Balanis, Antenna Theory, section 2.12 (from memory); the
formula and the figures marked FOUND were read on a mailing list of radio amateurs (amsat-bb, 2001
and 2016); DERIVED rows are 20 log10 |cos a|.
"""

import math

import pytest

from holdshort.analysis.aerials import (
    Vector3,
    angle_between,
    polarisation_loss,
    worst_field,
    worst_in_plane,
)

X: Vector3 = (1.0, 0.0, 0.0)
Y: Vector3 = (0.0, 1.0, 0.0)
Z: Vector3 = (0.0, 0.0, 1.0)


@pytest.mark.parametrize(
    ("degrees", "decibels"),
    [
        (0, 0.0),  # DERIVED
        (10, 0.133),  # DERIVED
        (30, 1.2494),  # DERIVED
        (40, 2.3149),  # DERIVED
        (45, 3.0103),  # FOUND: printed as -3 dB
        (60, 6.0206),  # FOUND: printed as -6 dB
        (70, 9.319),  # DERIVED
        (75, 11.7401),  # DERIVED
        (80, 15.2066),  # DERIVED
        (85, 21.1941),  # DERIVED
        (89, 35.1629),  # FOUND: printed as -35 dB
    ],
)
def test_polarisation_loss(degrees: float, decibels: float) -> None:
    assert polarisation_loss(math.radians(degrees)) == pytest.approx(decibels, abs=1e-3)


@pytest.mark.parametrize("degrees", [10, 30, 45, 60, 80, 89])
def test_one_aerial_turned_from_a_field_is_the_same_law(degrees: float) -> None:
    turned = (math.cos(math.radians(degrees)), math.sin(math.radians(degrees)), 0.0)
    angle = angle_between(X, turned)
    assert math.degrees(angle) == pytest.approx(degrees)
    assert polarisation_loss(angle) == pytest.approx(-20 * math.log10(abs(turned[0])))


# Row antenna_two_orthogonal_worst, DERIVED: the worst field in their plane is at 45 degrees.
def test_two_aerials_at_a_right_angle_in_their_plane() -> None:
    assert worst_in_plane(math.pi / 2) == pytest.approx(3.0103, abs=1e-3)


# Two aerials at right angles are both blind to a field along their cross product; three mutually
# perpendicular ones catch 1/sqrt 3 of the voltage at worst, 4.8 dB. DERIVED: geometry.
def test_two_aerials_are_blind_across_their_plane() -> None:
    worst = worst_field([X, Y])
    assert math.isinf(worst.loss)
    assert [abs(part) for part in worst.vector] == [0.0, 0.0, 1.0]


def test_three_aerials_at_right_angles() -> None:
    worst = worst_field([X, Y, Z])
    assert worst.loss == pytest.approx(20 * math.log10(math.sqrt(3)))
    assert round(worst.loss, 1) == 4.8
    assert [abs(part) for part in worst.vector] == pytest.approx([1 / math.sqrt(3)] * 3)


# The six diagonals of an icosahedron: the field of least voltage points to the middle of a face of
# three vertices, at an angle a to each with cos a = sqrt((5 + 2 sqrt 5) / 15), 37.377 degrees: the
# inradius over the circumradius of the solid. Solid geometry, from memory.
def test_six_aerials_along_the_diagonals_of_an_icosahedron() -> None:
    golden = (1 + math.sqrt(5)) / 2
    length = math.hypot(1, golden)
    a, b = 1 / length, golden / length
    lines = [(0.0, a, b), (0.0, a, -b), (a, b, 0.0), (a, -b, 0.0), (b, 0.0, a), (b, 0.0, -a)]
    share = math.sqrt((5 + 2 * math.sqrt(5)) / 15)
    assert worst_field(lines).loss == pytest.approx(-20 * math.log10(share))
