"""Vectors in body axes: x forward, y right, z down."""

Vector = tuple[float, float, float]


def dot(one: Vector, other: Vector) -> float:
    """Return the scalar product."""
    return one[0] * other[0] + one[1] * other[1] + one[2] * other[2]


def cross(one: Vector, other: Vector) -> Vector:
    """Return the vector product, by the right-hand rule."""
    return (
        one[1] * other[2] - one[2] * other[1],
        one[2] * other[0] - one[0] * other[2],
        one[0] * other[1] - one[1] * other[0],
    )
