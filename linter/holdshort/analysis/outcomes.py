"""What a test shows of a setup beyond what is stated: what follows from it, as worked out.

In the same shape as :mod:`holdshort.analysis.stated`, so that a test may prove both: the way of
each channel from the receiver to each device, the lowest voltage at each box that flying hangs on,
and what each loss of signal does to the engine.
"""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from holdshort.analysis.canonical import together, yes_or_no
from holdshort.analysis.facts import Need
from holdshort.analysis.failsafes import functions_of, is_throttle
from holdshort.analysis.link_loss import LossCase, Output
from holdshort.analysis.stated import Facts, Subject, is_steadied
from holdshort.analysis.wiring import nodes_of

if TYPE_CHECKING:
    from holdshort.analysis.aircraft import Aircraft

VOLTAGES: Final = "voltages worked out"
_BY_CHOICE: Final = "stalled pair"
"""The load case left out: which of several like servos are stalled in it hangs on their order in
the file, and no test stalls any."""
_SURE: Final = 6
"""To so many decimals a voltage worked out in another order of sums is the same."""
_BOXES: Final = ("receiver", "hub", "gyro", "engine-controller")


def outcomes(aircraft: "Aircraft") -> Facts:
    """Return what follows for ways, voltages and losses of signal, as subjects and aspects."""
    found: dict[Subject, dict[str, str]] = {}
    for subject, aspect, text in _everything(aircraft):
        found.setdefault(subject, {})[aspect] = text
    return found


def _everything(aircraft: "Aircraft") -> Iterator[tuple[Subject, str, str]]:
    yield from _ways(aircraft)
    yield from _voltages(aircraft)
    yield from _losses(aircraft)


def _ways(aircraft: "Aircraft") -> Iterator[tuple[Subject, str, str]]:
    setup = aircraft.setup
    for end in aircraft.channel_ends:
        entry = setup.channels.get(end.channel or 0)
        if entry is None:
            continue
        subject = Subject("channels", f"way of channel {entry.number}")
        turned = ", reversed on the way" if end.reversed else ""
        yield subject, f"to {end.device.name}", f"{end.shown}{turned}"
        yield subject, "functions", together(functions_of(entry, setup))
        yield subject, "steadied", yes_or_no(is_steadied(setup, entry))


def _voltages(aircraft: "Aircraft") -> Iterator[tuple[Subject, str, str]]:
    for box in aircraft.setup.of_kind(*_BOXES):
        nodes = tuple(nodes_of(box))
        voltages = [
            volts
            for result in aircraft.power.results
            if result.case.servos != _BY_CHOICE
            for node in nodes
            if (volts := result.voltage(node)) is not None
        ]
        if voltages:
            yield Subject("power", VOLTAGES), f"lowest at {box.name}", _voltage_text(min(voltages))


def _voltage_text(voltage: float) -> str:
    """Return a voltage to 0.01 V; what rounding errors may add is rounded away first."""
    return f"{round(voltage, _SURE):.2f} V"


def _losses(aircraft: "Aircraft") -> Iterator[tuple[Subject, str, str]]:
    loss = aircraft.link_loss
    for number, entry in aircraft.setup.channels.items():
        if not is_throttle(entry, aircraft.setup):
            continue
        for end in loss.throttle_ends(number):
            for case in loss.cases:
                outputs = loss.outputs(end, case)
                yield _loss(case), f"engine at {end.device.name}", _engine_words(outputs)
            time = loss.time(end, loss.all_lost)
            least = " at least" if time.needs else ""
            seconds = f"{time.since_loss:.2f} s{least}"
            yield _loss(loss.all_lost), f"time to act at {end.device.name}", seconds


def _loss(case: LossCase) -> Subject:
    return Subject("failsafe", f"on {case.title}")


def _engine_words(outputs: tuple[Output, ...]) -> str:
    return together({_engine(output) for output in outputs})


def _engine(output: Output) -> str:
    if output.works:
        return "follows the transmitter"
    if output.action is None:
        return "not declared"
    if output.engine is None or isinstance(output.engine, Need):
        return f"{output.action}, not known what follows"
    return output.engine.words
