"""What a file may say of the throw, size and linkage of a surface, and of the air at a field."""

import math
from collections.abc import Callable
from typing import Any

import pytest

from holdshort.document import Fault

PLANE = """
holdshort: 1
aircraft: {name: Reed, top-speed: 40 m/s, field: {height: 120 m, temperature: -5 degC}}
parts:
  servo: {kind: servo, throw: {pulse: 400 us, angle: 45 deg}}
devices: {elev: {part: servo}}
surfaces:
  left elevator:
    servo: elev
    deflection: {up: 22 deg, down: 18 deg}
    loads: {chord: 45 mm, span: 420 mm, of-chord: 210 mm, balance: 10 %, speed: 30 m/s, alpha: 2 deg}
    linkage: {arm: 14 mm, horn: 18 mm, arm-angle: -5 deg, horn-angle: 3 deg, pushrod: 9 cm, pushes: up}
  rudder: {servo: elev, deflection: 25 deg, linkage: {swing: 40 deg}}
"""  # noqa: E501  - lines as an owner writes them


def test_what_is_declared_is_read(reading: Callable[..., Any]) -> None:
    loaded = reading(PLANE)
    assert loaded.faults == ()
    setup = loaded.setup
    assert setup.aircraft.field.height == pytest.approx(120.0)
    assert setup.aircraft.field.temperature == pytest.approx(-5.0)
    elevator = setup.surfaces["left elevator"]
    assert elevator.deflection.up == pytest.approx(math.radians(22))
    assert elevator.deflection.each_way is None
    assert elevator.loads.of_chord == pytest.approx(0.21)
    assert elevator.linkage.arm_angle == pytest.approx(-math.radians(5))
    assert elevator.linkage.pushes == "up"
    assert setup.devices["elev"].part.throw.angle == pytest.approx(math.pi / 4)


def test_one_angle_is_the_throw_each_way(reading: Callable[..., Any]) -> None:
    rudder = reading(PLANE).setup.surfaces["rudder"]
    assert rudder.deflection.each_way == pytest.approx(math.radians(25))
    assert (rudder.deflection.left, rudder.deflection.right) == (None, None)
    assert rudder.linkage.swing == pytest.approx(math.radians(40))


@pytest.mark.parametrize(
    ("given", "instead", "said", "line"),
    [
        ("up: 22 deg", "up: -22 deg", "below zero", 10),
        ("deflection: 25 deg", "deflection: 25 mm", "a length, not an angle", 13),
        ("chord: 45 mm", "chord: 45 deg", "an angle, not a length", 11),
        ("pushes: up", "pushes: aft", "`aft`", 12),
        ("angle: 45 deg", "angel: 45 deg", "`angel` is not a key here", 5),
        ("height: 120 m", "height: 120", "without a unit", 3),
    ],
)
def test_mistakes_are_told_in_their_line(
    reading: Callable[..., Any], given: str, instead: str, said: str, line: int
) -> None:
    faults: list[Fault] = list(reading(PLANE.replace(given, instead)).faults)
    hits = [fault for fault in faults if said in fault.message]
    assert hits, [fault.message for fault in faults]
    assert hits[0].span is not None
    assert hits[0].span.line == line
