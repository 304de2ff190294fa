"""When a test applies to an aircraft: each condition says why not, or nothing where it does."""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Final

from holdshort.analysis.failsafes import functions_of, is_throttle
from holdshort.analysis.wiring import nodes_of

if TYPE_CHECKING:
    from holdshort.analysis.aircraft import Aircraft

_BOXES: Final = ("receiver", "hub", "gyro")
_TWO: Final = 2


def _always(_: "Aircraft") -> str:
    return ""


def _channels(aircraft: "Aircraft") -> str:
    return "" if aircraft.setup.channels else "no channel is declared"


def _receiver(aircraft: "Aircraft") -> str:
    return "" if aircraft.setup.of_kind("receiver") else "no receiver is declared"


def _receivers(aircraft: "Aircraft") -> str:
    several = len(aircraft.setup.of_kind("receiver")) >= _TWO
    return "" if several else "there are no two receivers"


def _gyro(aircraft: "Aircraft") -> str:
    return "" if aircraft.setup.of_kind("gyro") else "no gyro is fitted"


def _gyro_that_learns(aircraft: "Aircraft") -> str:
    gyros = aircraft.setup.of_kind("gyro")
    if not gyros:
        return "no gyro is fitted"
    learns = any(getattr(gyro.part, "correction", None) != "fixed" for gyro in gyros)
    return "" if learns else "no gyro here learns anything: its correction is fixed"


def _engine(aircraft: "Aircraft") -> str:
    setup = aircraft.setup
    propulsion = setup.aircraft.propulsion if setup.aircraft else None
    if propulsion == "none":
        return "it has no engine"
    throttle = any(is_throttle(entry, setup) for entry in setup.channels.values())
    controlled = bool(setup.of_kind("engine-controller"))
    return "" if propulsion or throttle or controlled else "no engine is declared"


def _turbine(aircraft: "Aircraft") -> str:
    declared = aircraft.setup.aircraft
    is_turbine = declared is not None and declared.propulsion == "turbine"
    return "" if is_turbine else "no turbine is declared"


def _fuel_valve(aircraft: "Aircraft") -> str:
    setup = aircraft.setup
    if not _turbine(aircraft):
        return ""
    functions = {name for entry in setup.channels.values() for name in functions_of(entry, setup)}
    valve = setup.of_kind("valve") or "fuel valve" in functions
    return "" if valve else "no turbine and no fuel valve is declared"


def _engine_behind_a_box(aircraft: "Aircraft") -> str:
    without = _engine(aircraft)
    if without:
        return without
    box = aircraft.setup.of_kind("distribution", "hub", "gyro")
    return "" if box else "no distribution unit, hub or gyro is fitted"


def _packs(aircraft: "Aircraft") -> str:
    """Judge whether two packs or more feed what the controls hang on."""
    setup, wiring = aircraft.setup, aircraft.wiring
    fed = {
        node.device
        for box in setup.of_kind(*_BOXES)
        for start in nodes_of(box)
        for node in wiring.network(start)
    }
    packs = [pack for pack in setup.of_kind("battery") if pack.name in fed]
    return "" if len(packs) >= _TWO else "there are no two packs for the controls"


def _power(aircraft: "Aircraft") -> str:
    return "" if aircraft.setup.of_kind("battery") else "no battery is declared"


def _alarms(aircraft: "Aircraft") -> str:
    alarms = [reading.alarm for reading in aircraft.setup.telemetry.values()]
    has = any(alarm is not None and (alarm.below or alarm.above) for alarm in alarms)
    return "" if has else "no alarm under `telemetry` is declared"


CONDITIONS: Final[Mapping[str, Callable[["Aircraft"], str]]] = {
    "always": _always,
    "channels": _channels,
    "receiver": _receiver,
    "several receivers": _receivers,
    "gyro": _gyro,
    "gyro that learns": _gyro_that_learns,
    "engine": _engine,
    "turbine": _turbine,
    "fuel valve": _fuel_valve,
    "engine behind a box": _engine_behind_a_box,
    "several packs": _packs,
    "power": _power,
    "alarms": _alarms,
}
"""Conditions by name, as :class:`holdshort.analysis.known_tests.KnownTest` gives them."""
