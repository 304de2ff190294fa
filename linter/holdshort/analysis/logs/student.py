"""Student's t distribution: how far a figure from few readings is to be trusted."""

import math
from typing import Final

_SMALLEST: Final = 1e-300
_STEPS: Final = 20000


def t_quantile(probability: float, freedom: float) -> float:
    """Return the t below which ``probability`` (0.5 to 1) of the distribution lies.

    ``freedom`` are its degrees of freedom. Found by bisection of P(T > t) = I_x(f/2, 1/2) / 2
    with x = f / (f + t^2), I the regularised incomplete beta function (Abramowitz and Stegun
    26.7.1, from memory). Raises ValueError outside those bounds.
    """
    if not 0.5 <= probability < 1.0 or not freedom > 0.0:  # noqa: PLR2004  - the upper half
        raise ValueError(f"no quantile {probability} with {freedom} degrees of freedom")
    low, high = 0.0, 1.0
    while 1.0 - _upper_tail(high, freedom) < probability:
        low, high = high, high * 2.0
    while high - low > 1e-12 * high:
        middle = (low + high) / 2.0
        if middle in {low, high}:
            break
        if 1.0 - _upper_tail(middle, freedom) < probability:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0


def _upper_tail(t: float, freedom: float) -> float:
    return incomplete_beta(freedom / 2.0, 0.5, freedom / (freedom + t * t)) / 2.0


def incomplete_beta(a: float, b: float, x: float) -> float:
    """Return the regularised incomplete beta function I_x(a, b), for x from 0 to 1.

    By its continued fraction (Abramowitz and Stegun 26.5.8, from memory), on the side of
    x = (a + 1) / (a + b + 2) where that converges fast: I_x(a, b) = 1 - I_(1-x)(b, a).
    """
    if x <= 0.0 or x >= 1.0:
        return 0.0 if x <= 0.0 else 1.0
    front = math.exp(
        math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x)
    )
    if x < (a + 1.0) / (a + b + 2.0):
        return front * _fraction(a, b, x) / a
    return 1.0 - front * _fraction(b, a, 1.0 - x) / b


def _fraction(a: float, b: float, x: float) -> float:
    """Evaluate the continued fraction from its head (Lentz's method, from memory)."""
    above, below = 1.0, _not_zero(1.0 - (a + b) * x / (a + 1.0))
    below = 1.0 / below
    value = below
    for step in range(1, _STEPS):
        even = step * (b - step) * x / ((a + 2 * step - 1.0) * (a + 2 * step))
        odd = -(a + step) * (a + b + step) * x / ((a + 2 * step) * (a + 2 * step + 1.0))
        for term in (even, odd):
            below = 1.0 / _not_zero(1.0 + term * below)
            above = _not_zero(1.0 + term / above)
            value *= above * below
        if abs(above * below - 1.0) < 1e-15:  # noqa: PLR2004  - as near as a float goes
            break
    return value


def _not_zero(value: float) -> float:
    return value if abs(value) > _SMALLEST else _SMALLEST
