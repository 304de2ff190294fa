"""A wiring diagram for a terminal: every lead in a line, from the packs to the servos."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from holdshort.analysis import Aircraft
from holdshort.analysis.wiring_plan import PlanLead
from holdshort.fixlist.diagram_drawing import Box, Drawing, Mark, Wire
from holdshort.fixlist.diagram_layout import drawing_of
from holdshort.fixlist.diagram_marks import marks_of
from holdshort.fixlist.diagram_words import (
    CAUTION,
    column_heading,
    end_name,
    file_of,
    title_of,
    volts_sentence,
)
from holdshort.fixlist.plain import plain, wrap
from holdshort.fixlist.report import FileReport

WIDTH: Final = 88
_WIDEST_LEAD: Final = 32


def lines(aircraft: Aircraft, report: FileReport) -> list[str]:
    """Return the wiring of ``aircraft`` as lines of text, with what ``report`` finds at it."""
    return render_text(drawing_of(aircraft), report, marks_of(aircraft.setup, report)).splitlines()


def render_text(drawing: Drawing, report: FileReport, marks: Sequence[Mark] = ()) -> str:
    """Return a diagram as text: a block for each column, then the findings."""
    blocks = [
        [title_of(drawing.aircraft), file_of(drawing.file)],
        *_columns(drawing, marks),
        list(_findings(report, marks)),
        list(_left_out(drawing)),
        list(wrap(CAUTION, WIDTH)),
    ]
    return "\n".join("".join(f"{plain(line)}\n" for line in block) for block in blocks if block)


def _columns(drawing: Drawing, marks: Sequence[Mark]) -> Iterator[list[str]]:
    last = max((box.column for box in drawing.boxes), default=-1)
    grid = _grid(drawing)
    for column in (*range(last + 1), -1):
        boxes = [number for number, box in enumerate(drawing.boxes) if box.column == column]
        if not boxes:
            continue
        devices = [drawing.boxes[number].device for number in boxes]
        found = ["No lead declared" if column < 0 else column_heading(devices)]
        for number in sorted(boxes, key=lambda number: _from_the_top(drawing.boxes[number])):
            found += _device(drawing, number, grid, marks)
        yield found


def _from_the_top(box: Box) -> tuple[float, float]:
    return box.area.top, box.area.left


def _grid(drawing: Drawing) -> tuple[int, int]:
    """Return how wide the names of leads are, and what they carry."""
    names = [len(_lead_name(wire.lead, drawing.boxes)) for wire in drawing.wires]
    carried = [len(wire.carries) for wire in drawing.wires]
    return min(max(names, default=0), _WIDEST_LEAD), max(carried, default=0)


def _lead_name(lead: PlanLead, boxes: Sequence[Box]) -> str:
    port = lead.start.port if lead.start.known else f"{lead.start.port}?"
    return plain(f"{port} to {end_name(lead.end, boxes[lead.end.device].device)}")


def _device(
    drawing: Drawing, number: int, grid: tuple[int, int], marks: Sequence[Mark]
) -> Iterator[str]:
    device = drawing.boxes[number].device
    known = device.role != "unknown"
    own = [mark for mark in marks if mark.kind == "device" and mark.device == device.name and known]
    yield f"  {device.name}: {device.told}{_see(own)}"
    leads = [wire for wire in drawing.wires if wire.lead.start.device == number]
    for wire in sorted(leads, key=lambda wire: wire.lead.start.order):
        yield from _lead(wire, drawing.boxes, grid, marks)


def _lead(
    wire: Wire, boxes: Sequence[Box], grid: tuple[int, int], marks: Sequence[Mark]
) -> Iterator[str]:
    """Yield a lead on one line, or its voltage on a second where one is too long."""
    lead = wire.lead
    own = [mark for mark in marks if mark.kind == "lead" and mark.device == lead.index]
    name = f"    {_lead_name(lead, boxes):{grid[0]}}  {lead.carries:{grid[1]}}"
    volts = f"{volts_sentence(lead.end.volts)}{_see(own)}"
    line = f"{name}  {volts}".rstrip()
    if len(line) <= WIDTH:
        yield line
    else:
        yield name.rstrip()
        yield f"        {volts.strip()}"


def _see(marks: Iterable[Mark]) -> str:
    numbers = ", ".join(mark.number for mark in marks)
    return f"  [see {numbers}]" if numbers else ""


def _findings(report: FileReport, marks: Iterable[Mark]) -> Iterator[str]:
    if report.findings:
        yield "Findings, by their number in the fix list"
    placed = {mark.number for mark in marks}
    for number, found in enumerate(report.findings, 1):
        where = "" if str(number) in placed else " (at no device and no lead)"
        text = f"{number:>4}  {found.severity.name}: {found.title}{where}; {found.at.path}"
        first, *rest = wrap(plain(text), WIDTH)
        yield first
        yield from (f"      {line.strip()}" for line in rest)
    if report.deferred:
        yield f"Accepted for now, and not marked: {len(report.deferred)}."
    if report.not_checked:
        yield f"Not checked, and not marked: {len(report.not_checked)}; `holdshort lint` tells why."


def _left_out(drawing: Drawing) -> Iterator[str]:
    if drawing.unread:
        text = f"Left out, as they have mistakes of form: {', '.join(drawing.unread)}."
        yield from wrap(plain(text), WIDTH)
