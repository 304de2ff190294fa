r"""A wiring diagram as JSON, for programs. Keys are promises; prose is free.

The shape, whose JSON Schema lies beside this module in ``diagram.schema.json``. Places are in
drawing units (CSS pixels), x to the right and y downwards::

    {
      "format": "holdshort-diagram",
      "version": 1,                 a change that breaks readers raises it; new keys do not
      "file": "tarn.yaml",          as it was given; "-" is standard input
      "aircraft": "Tarn Swift",     null where it has no name
      "width": 1130.1, "height": 790,
      "texts": [TEXT],              the headings
      "devices": [                  "role" is "unknown" for what is no device of the file
        {"id": "device-1", "name", "role", "kind", "part", "told", "column",
         "area": AREA, "texts": [TEXT],
         "pins": [{"x", "y", "side": "left", "port", "known", "lead": "lead-1"}]}
      ],
      "leads": [                    "points" from the left end to the right end
        {"id": "lead-1", "index", "title", "carries", "from": END, "to": END,
         "points": [[124.4, 440]], "texts": [TEXT]}
      ],
      "marks": [{"device", "lead", "severity", "number", "title"}],
      "unread": ["devices.gyro"],   entries with mistakes of form, left out of all the above
      "caution": "..."
    }

AREA is ``{"left", "top", "right", "bottom"}``. TEXT is ``{"text", "whole", "style", "area":
AREA}``, ``whole`` being the text before it was cut. END is ``{"device": "device-1", "port",
"known", "volts"}``, ``volts`` being null or ``{"rest": READING, "lowest": READING, "case"}``, with
READING as in the power table. Of ``device`` and ``lead`` of a mark one is null; they are ids.

The text is ASCII and holds no control character but line ends.
"""

from collections.abc import Sequence
from typing import Any, Final

from holdshort.analysis import Aircraft
from holdshort.analysis.power_rows import Reading
from holdshort.analysis.wiring_plan import EndVolts, PlanEnd
from holdshort.fixlist.diagram_drawing import Area, Box, Drawing, Mark, Wire, Written
from holdshort.fixlist.diagram_layout import drawing_of
from holdshort.fixlist.diagram_marks import marks_of
from holdshort.fixlist.diagram_words import CAUTION
from holdshort.fixlist.json_format import dump
from holdshort.fixlist.report import FileReport

FORMAT: Final = "holdshort-diagram"
VERSION: Final = 1


def json_text(aircraft: Aircraft, report: FileReport) -> str:
    """Return the wiring diagram of ``aircraft`` as JSON text, marked by ``report``."""
    return render_json(drawing_of(aircraft), marks_of(aircraft.setup, report))


def render_json(drawing: Drawing, marks: Sequence[Mark] = ()) -> str:
    """Return a wiring diagram as JSON text."""
    return dump(
        {
            "format": FORMAT,
            "version": VERSION,
            "file": drawing.file,
            "aircraft": drawing.aircraft or None,
            "width": _number(drawing.width),
            "height": _number(drawing.height),
            "texts": [_text(text) for text in drawing.texts],
            "devices": [_device(number, box) for number, box in enumerate(drawing.boxes, 1)],
            "leads": [_lead(number, wire) for number, wire in enumerate(drawing.wires, 1)],
            "marks": [_mark(drawing, mark) for mark in marks],
            "unread": list(drawing.unread),
            "caution": CAUTION,
        }
    )


def _device(number: int, box: Box) -> dict[str, Any]:
    device = box.device
    return {
        "id": f"device-{number}",
        "name": device.name,
        "role": device.role,
        "kind": device.kind,
        "part": device.part,
        "told": device.told,
        "column": box.column,
        "area": _area(box.area),
        "texts": [_text(text) for text in box.texts],
        "pins": [
            {
                "x": _number(pin.at.x),
                "y": _number(pin.at.y),
                "side": pin.side,
                "port": pin.port,
                "known": pin.known,
                "lead": f"lead-{pin.wire + 1}",
            }
            for pin in box.pins
        ],
    }


def _lead(number: int, wire: Wire) -> dict[str, Any]:
    lead = wire.lead
    return {
        "id": f"lead-{number}",
        "index": lead.index,
        "title": lead.title,
        "carries": lead.carries,
        "from": _end(lead.start),
        "to": _end(lead.end),
        "points": [[_number(point.x), _number(point.y)] for point in wire.points],
        "texts": [_text(text) for text in wire.labels],
    }


def _end(end: PlanEnd) -> dict[str, Any]:
    return {
        "device": f"device-{end.device + 1}",
        "port": end.port,
        "known": end.known,
        "volts": _volts(end.volts),
    }


def _volts(volts: EndVolts | None) -> dict[str, Any] | None:
    if volts is None:
        return None
    return {
        "rest": _reading(volts.rest), "lowest": _reading(volts.lowest), "case": volts.case,
    }  # fmt: skip


def _reading(reading: Reading) -> dict[str, Any]:
    return {"value": reading.value, "state": reading.state}


def _text(text: Written) -> dict[str, Any]:
    return {
        "text": text.text,
        "whole": text.whole,
        "style": text.style,
        "area": _area(text.area),
    }


def _area(area: Area) -> dict[str, float]:
    return {side: _number(value) for side, value in area._asdict().items()}


def _mark(drawing: Drawing, mark: Mark) -> dict[str, Any]:
    device = drawing.device_id(mark.device) if isinstance(mark.device, str) else None
    lead = drawing.lead_id(mark.device) if isinstance(mark.device, int) else None
    return {
        "device": device,
        "lead": lead,
        "severity": mark.severity,
        "number": mark.number,
        "title": mark.title,
    }


def _number(value: float) -> float:
    return round(value, 2)
