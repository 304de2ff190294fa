"""What was measured, as sign-offs and the results of logs keep it; and where a voltage is measured.

Rules read these figures. No rule reads a log.
"""

import math
from collections.abc import Iterator, Mapping
from typing import Final, NamedTuple

from pydantic_core import PydanticCustomError

from holdshort.analysis.wiring import Node, is_regulating, node_of, nodes_of
from holdshort.setup import Fitted, Place, Quantity, Setup
from holdshort.setup.quantities import DURATION, VOLTAGE, QuantityType
from holdshort.setup.references import resolve_end

OVERALL: Final = "lowest voltage"
"""The lowest that showed at any receiver: what the test asks for."""
LOWEST: Final = f"{OVERALL} at "
LONGEST: Final = "longest dip at "
LOAD_TESTS: Final = ("voltage under load", "each supply alone")
"""The tests of which rules judge the overall figure, where they are signed as passed."""

_VOLTS: Final = QuantityType(VOLTAGE, zero=True)
_SECONDS: Final = QuantityType(DURATION, zero=True)


def measuring_point(setup: Setup, written: str) -> tuple[Fitted, Node] | None:
    """Return the device and rail that ``device.port``, or ``device`` alone, stands for.

    A regulator without a port is measured at its output. None where there is no such place.
    """
    name, _, port = written.partition(".")
    device = setup.devices.get(name)
    if device is None:
        return None
    if port:
        end = resolve_end(written, setup.place("log"), setup.devices, set())
        return None if end.port is None else (device, node_of(device, end.port))
    if is_regulating(device):
        return device, Node(name, "out")
    return device, next(nodes_of(device))


def show_low(voltage: float) -> str:
    """Return a lowest voltage in volts to two places, rounded down: what it says was reached."""
    return f"{math.floor(voltage * 100.0 + 1e-6) / 100.0:.2f} V"


class MeasuredLow(NamedTuple):
    """The lowest voltage measured at a place, as a sign-off or a log's results keep it.

    ``at`` is empty where only the lowest at any receiver is stated. ``voltage`` is None where the
    figure is no voltage. ``dip`` is the longest time under the limit that the same log told, s, or
    None. ``signed_overall`` is True where its sign-off states the lowest at any receiver as the
    figure of a load test that was passed: that one figure then speaks for all receivers.
    """

    at: str
    voltage: Quantity | None
    written: str
    dip: Quantity | None
    place: Place
    on: str
    what: str
    signed_overall: bool = False


def measured_lows(setup: Setup) -> tuple[MeasuredLow, ...]:
    """Return the lowest voltages measured, the newest of each place; on one day the lowest.

    The lowest at any receiver is newer than an older figure of one receiver.
    """
    newest: dict[str, MeasuredLow] = {}
    for low in _all_lows(setup):
        before = newest.get(low.at)
        if before is None or _rank(low) > _rank(before):
            newest[low.at] = low
    overall = newest.get("")
    return tuple(
        low
        for low in newest.values()
        if overall is None or low.on >= overall.on or not _is_receiver(setup, low.at)
    )


def _is_receiver(setup: Setup, at: str) -> bool:
    device = setup.devices.get(at.partition(".")[0])
    return device is not None and device.kind == "receiver"


def _rank(low: MeasuredLow) -> tuple[str, float]:
    return low.on, -(float("-inf") if low.voltage is None else float(low.voltage))


def _all_lows(setup: Setup) -> Iterator[MeasuredLow]:
    for place, sign_off in setup.sign_offs:
        figures = sign_off.figures or {}
        what = f"the sign-off of {sign_off.test}"
        passed = sign_off.outcome == "passed" and sign_off.test in LOAD_TESTS
        for low in _lows(figures, place, sign_off.on, what):
            stands_for = not low.at or _is_receiver(setup, low.at)
            yield low._replace(signed_overall=passed and OVERALL in figures and stands_for)
    for index, result in enumerate((setup.log.results or ()) if setup.log else ()):
        place = setup.place("log", "results", index)
        what = f"the log {result.file}" if result.file else "a log"
        yield from _lows(result.figures, place, result.on, what)


def _lows(figures: Mapping[str, str], place: Place, on: str, what: str) -> Iterator[MeasuredLow]:
    for name, text in figures.items():
        if name != OVERALL and not name.startswith(LOWEST):
            continue
        at = name.removeprefix(OVERALL).removeprefix(" at ").strip()
        dip = figures.get(f"{LONGEST}{at}")
        where = Place(place.file, (*place.path, "figures", name))
        seconds = None if dip is None else _quantity(_SECONDS, dip)
        yield MeasuredLow(at, _quantity(_VOLTS, text), text, seconds, where, on, what)


def _quantity(kind: QuantityType, text: str) -> Quantity | None:
    try:
        return kind.read(text)
    except PydanticCustomError:
        return None
