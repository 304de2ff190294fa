"""What is written in a wiring diagram: voltages, words about leads, headings of columns."""

from collections.abc import Iterable, Sequence
from typing import Final

from holdshort.analysis.power_rows import Reading
from holdshort.analysis.wiring_plan import EndVolts, PlanDevice, PlanEnd, PlanLead, Role
from holdshort.fixlist.diagram_drawing import Box, Drawing

CAUTION: Final = (
    "Drawn and computed from what is declared: no measurement, no view of how leads lie in the "
    "aircraft, and no word on whether it may fly."
)
VOLTS_NOTE: Final = (
    "Voltages stand where a lead arrives: at rest (full packs, nothing drawing), and below it the "
    "lowest of all load cases where that is less."
)
MOST_NOTE: Final = (
    "At most: what it rests on is not all declared, so that the voltage may be lower."
)

CARRIES_WORDS: Final[dict[str, str]] = {
    "power": "power",
    "power and signal": "power and signal",
    "signal": "signal",
    "power only": "power only: a servo plug with the signal wire taken out",
    "signal only": "signal only: a servo plug with the supply wire taken out",
    "signal alone": "signal alone: no ground wire",
    "nothing": "joins nothing: its ports let neither power nor signal through",
}
"""The kinds of leads as the legend says them, in its order."""

LEAD_NOTES: Final = {
    "power only": "power only",
    "signal only": "signal only",
    "signal alone": "signal alone",
    "nothing": "joins nothing",
}
"""What is written at a lead itself."""

_COLUMN_WORDS: Final[dict[Role, str]] = {
    "source": "packs",
    "switch": "switches",
    "regulator": "regulators",
    "distribution": "distribution",
    "receiver": "receivers",
    "box": "hubs and gyros",
    "load": "servos and loads",
    "joint": "joints",
    "unknown": "not known",
}


def column_heading(devices: Iterable[PlanDevice]) -> str:
    """Return what stands in a column: ``Receivers``, ``Packs, switches``."""
    roles = {device.role for device in devices}
    words = ", ".join(word for role, word in _COLUMN_WORDS.items() if role in roles)
    return words[:1].upper() + words[1:]


def title_of(aircraft: str) -> str:
    """Return the heading of a diagram."""
    return f"Wiring of {aircraft or 'an aircraft without a name'}"


def file_of(file: str) -> str:
    """Return the name of the setup file as it is shown."""
    return "standard input" if file == "-" else file


def volts_lines(volts: EndVolts | None) -> tuple[str, ...]:
    """Return a voltage as one line, or two where its lowest is another: ``7.40 V``, ``lowest ...``.

    A figure from incomplete facts is the most that it can be, and says so.
    """
    if volts is None:
        return ()
    rest, low = _shown(volts.rest), _shown(volts.lowest)
    if rest == low:
        return (rest,)
    if volts.lowest.state == "collapse":
        return rest, "collapse"
    return rest, f"lowest {low}" if volts.lowest.state == "known" else low


def _shown(reading: Reading) -> str:
    if reading.value is None:
        return "volts not known" if reading.state == "not known" else reading.state
    most = "at most " if reading.state == "incomplete" else ""
    return f"{most}{reading.value:.2f} V"


def volts_sentence(volts: EndVolts | None) -> str:
    """Return a voltage in one piece, with the load case of its lowest."""
    found = volts_lines(volts)
    if volts is None or len(found) < 2:  # noqa: PLR2004
        return found[0] if found else ""
    low = found[1] if found[1].startswith(("lowest", "collapse")) else f"lowest {found[1]}"
    return f"{found[0]}, {low} ({volts.case})"


def end_name(end: PlanEnd, device: PlanDevice) -> str:
    """Return an end of a lead: ``gyro.3``, ``ail-left``; a question mark where it is not known."""
    if not end.known:
        return f"{device.name}.{end.port}?" if end.port else f"{device.name}?"
    return device.name if device.ports == 1 else f"{device.name}.{end.port}"


def lead_sentence(lead: PlanLead, boxes: Sequence[Box]) -> str:
    """Return everything about a lead in one line; ``boxes`` are those of the drawing."""
    start, end = (boxes[each.device].device for each in (lead.start, lead.end))
    words = f"{end_name(lead.start, start)} to {end_name(lead.end, end)}: {lead.carries}"
    volts = volts_sentence(lead.end.volts)
    return f"{words}, {volts}" if volts else words


def device_sentence(device: PlanDevice) -> str:
    """Return what a device is in one line."""
    words = dict.fromkeys((device.kind, device.part, device.told))
    about = ", ".join(word for word in words if word)
    return f"{device.name}: {about}"


def summary(drawing: Drawing, marks: int) -> str:
    """Return in a sentence what a diagram holds, for those who do not see it."""
    devices = sum(box.device.role != "unknown" for box in drawing.boxes)
    told = f"{_count(devices, 'device')} and {_count(len(drawing.wires), 'lead')}"
    marked = f", {_count(marks, 'thing')} marked" if marks else ""
    return f"{told}, from the packs on the left to the servos and loads on the right{marked}."


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"
