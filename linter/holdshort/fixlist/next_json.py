r"""What to do next as JSON, for programs. Keys are promises; prose is free.

The shape, whose JSON Schema lies beside this module in ``next.schema.json``::

    {
      "format": "holdshort-next",
      "version": 1,
      "file": "tarn.yaml", "aircraft": "Tarn Swift",
      "says": "Now: ...",
      "now": [STEP],                up to the first thing that blocks
      "then": [STEP],               what follows, in order
      "before": ["..."],            what to see to before anything moves
      "nothing_left": false,        true where nothing is left that is known of: no word on safety
      "notes": 0, "deferred": 0,
      "cautions": ["...", "..."]
    }

STEP is ``"kind"`` (mistake, crash, finding, fact, deferral or test), ``"text", "do", "why", "hold",
"rules", "places": [{"file", "line", "path"}], "fixes", "ready"`` and ``"test"``, which is null or
``{"name", "title", "step", "standing", "after", "opens", "cards", "second", "figures": [{"name",
"required"}], "sign", "also", "source": null or {"id", "text", "confidence"}}``.
The text is ASCII and holds no control character but line ends.
"""

from typing import Any, Final

from holdshort.document import show_path
from holdshort.fixlist.json_format import dump
from holdshort.fixlist.next_text import NextReport, now_line, sign_command
from holdshort.fixlist.report import CAUTIONS
from holdshort.rulebook.next_steps import Step
from holdshort.setup import Place

FORMAT: Final = "holdshort-next"
VERSION: Final = 1


def render_json(report: NextReport) -> str:
    """Return what to do as JSON text."""
    steps, setup = report.steps, report.setup
    return dump({
        "format": FORMAT,
        "version": VERSION,
        "file": report.file,
        "aircraft": setup.aircraft.name if setup.aircraft else None,
        "says": now_line(steps),
        "now": [_step(report, step) for step in steps.now],
        "then": [_step(report, step) for step in steps.then],
        "before": list(steps.cautions),
        "nothing_left": not (steps.now or steps.then),
        "notes": steps.notes,
        "deferred": steps.deferred,
        "cautions": list(CAUTIONS),
    })  # fmt: skip


def _step(report: NextReport, step: Step) -> dict[str, Any]:
    return {
        "kind": step.kind,
        "text": step.text,
        "do": step.do,
        "why": step.why,
        "hold": step.hold.word,
        "rules": list(step.rules),
        "places": [_place(report, place) for place in step.places],
        "fixes": step.fixes,
        "ready": step.ready,
        "test": _test(report, step),
    }


def _place(report: NextReport, place: Place) -> dict[str, Any]:
    document = report.setup.documents.get(place.file)
    line = document.key_span_at(place.path).line if document is not None else None
    return {"file": place.file, "line": line or None, "path": show_path(place.path)}


def _test(report: NextReport, step: Step) -> dict[str, Any] | None:
    judged, source = step.judged, step.source
    if judged is None:
        return None
    test = judged.test
    return {
        "name": test.name,
        "title": test.title,
        "step": test.step,
        "standing": judged.standing.value,
        "after": list(test.after),
        "opens": list(step.opens),
        "cards": list(step.cards),
        "second": test.second,
        "figures": [{"name": one.name, "required": one.required} for one in test.figures],
        "sign": sign_command(report.file, step),
        "also": list(step.also),
        "source": source._asdict() if source is not None else None,
    }
