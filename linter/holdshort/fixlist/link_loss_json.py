r"""What every channel does when a link is lost, as JSON. Keys are promises; prose is free.

The shape, whose JSON Schema lies beside this module in ``link-loss.schema.json``. Units stand in
the key names::

    {
      "format": "holdshort-link-loss",
      "version": 1,                 a change that breaks readers raises it; new keys do not
      "file": "tarn.yaml",          as it was given; "-" is standard input
      "aircraft": "Tarn Swift",     null where it has no name
      "cases": [
        {"case": "all links",       or "link main", or "silent gyro"
         "title", "deaf_receivers": ["..."],
         "silent": null,            the box to which no signal comes, in a case of that kind
         "working": 0,              devices that go on following the transmitter
         "outputs": [
           {"channel", "drives", "device", "decided_by": ["front-rx"], "declared",
            "pulse_microseconds", "effect"}
         ],
         "engines": [
           {"device", "waits": ["1.0 s hold in `front-rx`"], "since_loss_seconds",
            "since_failsafe_seconds", "complete"}
         ]}
      ],
      "channels_presumed": false,   true where a channel is taken from the number on a port
      "missing": [{"needs", "file", "line"}],
      "unread": ["devices.gyro"],   entries with mistakes of form, left out of all the above
      "caution": "..."
    }

``decided_by`` names several boxes where each may decide and they send the same; where they do not,
each has an output of its own. ``declared`` is null where the deciding box declares nothing for the
channel, the pulse where there is none or none is known. Where ``complete`` is false the times are
the least.

The text is ASCII and holds no control character but line ends.
"""

from typing import Any, Final

from holdshort.analysis import Aircraft
from holdshort.analysis.link_loss_table import (
    CaseRows,
    EngineTime,
    LinkLossTable,
    OutputRow,
    link_loss_table,
)
from holdshort.fixlist.json_format import dump
from holdshort.fixlist.link_loss_view import CAUTION

FORMAT: Final = "holdshort-link-loss"
VERSION: Final = 1

_MICROSECOND: Final = 1e-6


def json_text(aircraft: Aircraft) -> str:
    """Return the link-loss table of ``aircraft`` as JSON text."""
    return render_json(link_loss_table(aircraft))


def render_json(table: LinkLossTable) -> str:
    """Return the table as JSON text."""
    return dump(
        {
            "format": FORMAT,
            "version": VERSION,
            "file": table.file,
            "aircraft": table.aircraft,
            "cases": [_case(case) for case in table.cases],
            "channels_presumed": table.presumed,
            "missing": [
                {"needs": item.text, "file": item.file, "line": item.line} for item in table.missing
            ],
            "unread": list(table.unread),
            "caution": CAUTION,
        }
    )


def _case(case: CaseRows) -> dict[str, Any]:
    return {
        "case": case.case.id,
        "title": case.case.title,
        "deaf_receivers": sorted(case.case.deaf),
        "silent": case.case.silent or None,
        "working": case.working,
        "outputs": [_output(row) for row in case.rows],
        "engines": [_engine(engine) for engine in case.engines],
    }


def _output(row: OutputRow) -> dict[str, Any]:
    return {
        "channel": row.channel,
        "drives": row.drives,
        "device": row.device,
        "decided_by": list(row.decided_by),
        "declared": row.declared,
        "pulse_microseconds": None if row.pulse is None else round(row.pulse / _MICROSECOND, 3),
        "effect": row.effect,
    }


def _engine(engine: EngineTime) -> dict[str, Any]:
    return {
        "device": engine.device,
        "waits": list(engine.waits),
        "since_loss_seconds": round(engine.since_loss, 6),
        "since_failsafe_seconds": round(engine.since_failsafe, 6),
        "complete": engine.complete,
    }
