"""The moment of the air about the hinge of a surface: thin-aerofoil theory of a hinged flap.

H. Glauert, "Theoretical Relationships for an Aerofoil with Hinged Flap", R&M 1095 (1927), as
printed in Houghton & Carpenter, *Aerodynamics for Engineering Students*, section 4.5.1, equations
(4.54) to (4.57). With E the chord of the flap over the whole chord, cos(phi) = 2 E - 1, angles in
radians and the moment per unit span referred to q (E c)^2:

    b1 = -1/E^2 * integral from phi to pi of (1 + cos t) (cos phi - cos t) dt
       = -1/(4 E^2) * [2 (pi - phi) (2 cos phi - 1) + 4 sin phi - sin 2phi]
    b2 = -1/(4 pi E^2) * [(1 - cos 2phi) - 2 (pi - phi)^2 (1 - 2 cos phi) + 4 (pi - phi) sin phi]
    a2 = 2 (pi - phi + sin phi)

The closed form of b1 is derived from the integral. The theory is two-dimensional and linear, for
attached flow on a thin section without a balance area ahead of the hinge or a gap: a real surface
of finite span loads its hinge less, and less still at large angles.
"""

import math
from typing import NamedTuple


class HingeSlopes(NamedTuple):
    """Slopes of a hinged flap, per radian; a moment against the deflection is negative.

    ``alpha`` is b1 and ``deflection`` b2, of the hinge-moment coefficient; ``lift`` is a2, how the
    lift coefficient of the whole section grows with the deflection.
    """

    alpha: float
    deflection: float
    lift: float


def hinge_slopes(chord_ratio: float) -> HingeSlopes:
    """Return the slopes for ``chord_ratio``, the flap's chord over the whole chord.

    Raises ValueError where that is not between 0 and 1.
    """
    if not 0.0 < chord_ratio < 1.0:
        raise ValueError(f"{chord_ratio} is not a share of the chord between 0 and 1")
    phi = math.acos(2.0 * chord_ratio - 1.0)
    rest, cosine, sine = math.pi - phi, math.cos(phi), math.sin(phi)
    square = chord_ratio * chord_ratio
    alpha = 2.0 * rest * (2.0 * cosine - 1.0) + 4.0 * sine - math.sin(2.0 * phi)
    deflection = (
        (1.0 - math.cos(2.0 * phi)) - 2.0 * rest * rest * (1.0 - 2.0 * cosine) + 4.0 * rest * sine
    )
    return HingeSlopes(
        alpha=-alpha / (4.0 * square),
        deflection=-deflection / (4.0 * math.pi * square),
        lift=2.0 * (rest + sine),
    )


def hinge_coefficient(
    slopes: HingeSlopes, deflection: float, alpha: float = 0.0, at_rest: float = 0.0
) -> float:
    """Return C_H = b0 + b1 alpha + b2 delta, angles in radians.

    ``at_rest`` is b0, the coefficient of the undeflected surface at no angle of attack: zero for a
    symmetrical section.
    """
    return at_rest + slopes.alpha * alpha + slopes.deflection * deflection


def hinge_moment(pressure: float, span: float, chord: float, coefficient: float) -> float:
    """Return H = C_H q S_f c_f, N m, with the flap's area S_f = span times chord.

    ``pressure`` is the dynamic pressure in Pa; ``span`` and ``chord`` are those of the flap behind
    its hinge, m. Exact for a constant chord; a surface whose tip chord is half its root chord
    takes 4 % more at the same mean chord (derived: the mean square of the chord counts).
    """
    return coefficient * pressure * span * chord * chord
