"""Telemetry that cannot be: names that lead nowhere, units that do not fit what is measured."""

from collections.abc import Iterator

from holdshort.document import Document, Fault, Path
from holdshort.setup.measures import DIMENSIONS_OF, level
from holdshort.setup.mistakes import did_you_mean, reference_fault
from holdshort.setup.model import Setup
from holdshort.setup.telemetry import Reading


def telemetry_faults(setup: Setup, document: Document) -> Iterator[Fault]:
    """Yield a fault for every reading from nowhere, of nothing, or with a level of another kind."""
    for name, reading in setup.telemetry.items():
        path: Path = ("telemetry", name)
        yield from _source(setup, document, path, reading)
        if reading.of is not None:
            yield from subject_fault(setup, document, (*path, "of"), reading.of)
        yield from _levels(document, path, name, reading)


def subject_fault(setup: Setup, document: Document, path: Path, name: str) -> Iterator[Fault]:
    """Yield a fault where ``name`` is neither a fitted device nor a tank of the balance."""
    tanks = tuple((setup.balance.tanks or {}) if setup.balance else ())
    hurt = setup.broken_under("devices", name) or setup.broken_under("balance")
    if name in setup.devices or name in tanks or hurt:
        return
    known = (*setup.devices, *tanks)
    message = f"`{name}` is neither a fitted device nor a tank."
    yield reference_fault("unknown-device", message, document, path, did_you_mean(name, known))


def _source(setup: Setup, document: Document, path: Path, reading: Reading) -> Iterator[Fault]:
    name = reading.from_
    device = setup.devices.get(name)
    if device is None:
        if not setup.broken_under("devices", name):
            message = f"`{name}` is not a fitted device."
            do = did_you_mean(name, setup.devices)
            yield reference_fault("unknown-device", message, document, (*path, "from"), do)
        return
    measured = getattr(device.part, "measures", None)
    if measured is not None and reading.measures not in measured:
        message = f"`{name}` is a `{device.part_name}`, which does not measure {reading.measures}."
        do = did_you_mean(reading.measures, measured) or "Add it to `measures` of the part, if so."
        yield reference_fault("not-measured", message, document, (*path, "measures"), do)


def _levels(document: Document, path: Path, name: str, reading: Reading) -> Iterator[Fault]:
    alarm = reading.alarm
    for key in ("below", "above"):
        text: str | None = getattr(alarm, key) if alarm else None
        if text is None or level(text, reading.measures) is not None:
            continue
        kinds = DIMENSIONS_OF[reading.measures]
        do = f"Write it as `{kinds[0].example}`." if kinds else "Take the alarm out."
        message = f"`{name}` is a reading of {reading.measures}, which is never `{text}`."
        yield reference_fault("wrong-unit", message, document, (*path, "alarm", key), do)
