"""The change of an output voltage that is set too high for what hangs on it."""

from collections.abc import Iterable

from holdshort.api import Aircraft, Edit, Fitted, Fix, Quantity, exceeds


def lower_output(aircraft: Aircraft, source: str, limits: Iterable[Quantity]) -> Fix | None:
    """Return the change that sets ``source`` to the lowest of ``limits`` (V).

    None where its output is not set in the setup file, or cannot be set to that, and where a
    meter showed more: then the file does not say what is really there.
    """
    device = aircraft.setup.devices[source]
    limit = min(limits, key=float, default=None)
    if limit is None or device.device.output is None or not _can_give(device, limit):
        return None
    if device.device.measured is not None and exceeds(device.device.measured, limit):
        return None
    return Fix(
        f"Sets `{source}` to {limit.text} in the file. Set the regulator itself to the same before "
        "anything is plugged into it, or to its next lower step, and measure its output.",
        (Edit("set", device.at("output"), limit.text),),
    )


def _can_give(device: Fitted, limit: Quantity) -> bool:
    part = device.part
    if part.kind not in {"regulator", "distribution", "engine-controller"}:
        return False
    offered = getattr(part, "output", None)
    if offered is None:
        return True
    low, high = offered.min, offered.max
    return not (low is not None and exceeds(low, limit)) and not (
        high is not None and exceeds(limit, high)
    )
