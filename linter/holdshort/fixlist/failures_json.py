r"""What is left after every failure, as JSON. Keys are promises; prose is free.

The shape, whose JSON Schema lies beside this module in ``failures.schema.json``. Units stand in
the key names::

    {
      "format": "holdshort-failures",
      "version": 1,                 a change that breaks readers raises it; new keys do not
      "file": "tarn.yaml",          as it was given; "-" is standard input
      "aircraft": "Tarn Swift",     null where it has no name
      "functions": ["pitch", ...],  those that the aircraft has
      "failures": [                 everything that was failed; others refer to it by index
        {"kind": "regulator", "name", "label", "file", "line", "assumed"}
      ],
      "intact": LEFT,               with nothing failed
      "singles": [LEFT],            one for each failure, worst first
      "pairs": [LEFT],              those that take more than their two do alone, worst first; null
                                    where pairs were not asked for
      "ways": [
        {"channel", "links": ["main"], "way": "front-rx.9 > gyro.bus > ...", "device", "moves",
         "serves": ["pitch"]}
      ],
      "assumptions": ["..."],       common practice
      "unread": ["devices.gyro"],   entries with mistakes of form, left out of all the above
      "caution": "..."
    }

LEFT is ``{"failed": [indices], "lost": [functions], "functions": {name: STATE}, "rails":
[RAIL]}``; STATE is ``{"state", "words", "moving", "still"}`` with ``state`` one of ``works``,
``half``, ``part``, ``stops``, ``failsafe``, ``undeclared`` and ``dead``; RAIL is ``{"case",
"state", "device", "lowest_volts", "starved"}`` with ``state`` one of ``known``, ``incomplete`` (at
most this), ``collapse``, ``dead`` and ``not known``, and ``lowest_volts`` null in the last three.

The text is ASCII and holds no control character but line ends.
"""

from typing import Any, Final

from holdshort.analysis import Aircraft
from holdshort.analysis.control_ways import ControlWay
from holdshort.analysis.failure_modes import Failure
from holdshort.analysis.failure_table import FailureTable, failure_table
from holdshort.analysis.failures import LowRail, Outcome, Progress
from holdshort.fixlist.failures_view import CAUTION
from holdshort.fixlist.json_format import dump

FORMAT: Final = "holdshort-failures"
VERSION: Final = 1


def json_text(aircraft: Aircraft, pairs: Progress | None = None) -> str:
    """Return the table of ``aircraft`` as JSON text; with ``pairs``, also two at a time."""
    return render_json(failure_table(aircraft, pairs=pairs is not None, progress=pairs))


def render_json(table: FailureTable) -> str:
    """Return the table as JSON text."""
    failures = sorted(
        (failure for outcome in table.singles for failure in outcome.failures),
        key=lambda failure: failure.number,
    )
    pairs = None if table.pairs is None else [_left(outcome) for outcome in table.pairs]
    return dump(
        {
            "format": FORMAT,
            "version": VERSION,
            "file": table.file,
            "aircraft": table.aircraft or None,
            "functions": list(table.functions),
            "failures": [_failure(table, failure) for failure in failures],
            "intact": _left(table.intact),
            "singles": [_left(outcome) for outcome in table.singles],
            "pairs": pairs,
            "ways": [_way(way) for way in table.ways],
            "assumptions": list(table.assumptions),
            "unread": list(table.unread),
            "caution": CAUTION,
        }
    )


def _failure(table: FailureTable, failure: Failure) -> dict[str, Any]:
    return {
        "kind": failure.kind,
        "name": failure.name,
        "label": failure.label,
        "file": failure.place.file,
        "line": table.lines[failure.number],
        "assumed": failure.assumed or None,
    }


def _left(outcome: Outcome) -> dict[str, Any]:
    return {
        "failed": [failure.number for failure in outcome.failures],
        "lost": list(outcome.lost),
        "functions": {
            name: {
                "state": state.state,
                "words": state.words,
                "moving": list(state.moving),
                "still": list(state.still),
            }
            for name, state in outcome.functions.items()
        },
        "rails": [_rail(rail) for rail in outcome.rails],
    }


def _rail(rail: LowRail) -> dict[str, Any]:
    return {
        "case": rail.case,
        "state": rail.state,
        "device": rail.device or None,
        "lowest_volts": rail.volts,
        "starved": list(rail.starved),
    }


def _way(way: ControlWay) -> dict[str, Any]:
    return {
        "channel": way.channel,
        "links": list(way.links),
        "way": way.end.shown,
        "device": way.end.device.name,
        "moves": way.effector.name,
        "serves": list(way.effector.serves),
    }
