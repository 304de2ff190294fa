"""Settings that say which way things go: gyro correction, mixes in boxes, mirrored servos."""

from collections.abc import Callable
from typing import Any

from holdshort.document import Fault

BASE = """
holdshort: 1
parts:
  servo: {kind: servo}
  rx: {kind: receiver, ports: {1: servo}}
  box:
    kind: gyro
    correction: fixed
    normal-gives: {roll: shorter, yaw: longer}
    ports: {bus: bus-in, 1: servo}
devices:
  gyro: {part: box, mixes: [{from: aileron, to: [left elevon, right elevon], share: -50 %}]}
  front: {part: rx}
  one: {part: servo}
  two: {part: servo}
surfaces:
  port elevon: {servo: [one, two], mirrored: two, side: left, longer-pulse: up}
"""


def test_what_is_declared_is_read(reading: Callable[..., Any]) -> None:
    loaded = reading(BASE)
    assert loaded.faults == ()
    gyro = loaded.setup.devices["gyro"]
    assert gyro.part.correction == "fixed"
    assert gyro.part.normal_gives == {"roll": "shorter", "yaw": "longer"}
    assert gyro.device.mixes[0].share < 0
    surface = loaded.setup.surfaces["port elevon"]
    assert surface.mirrored == ("two",)
    assert surface.side == "left"


def test_a_receiver_has_no_mixes_of_its_own(only_fault: Callable[..., Fault]) -> None:
    fault = only_fault(BASE.replace("{part: rx}", "{part: rx, mixes: []}"))
    assert fault.path == ("devices", "front", "mixes")
    assert "it mixes nothing" in fault.message


def test_a_mirrored_servo_is_one_of_the_surface(only_fault: Callable[..., Fault]) -> None:
    fault = only_fault(BASE.replace("mirrored: two", "mirrored: tow"))
    assert fault.path == ("surfaces", "port elevon", "mirrored")
    assert "`tow` is not one of the servos" in fault.message
    assert "`two`" in fault.do
