r"""What is measured on board and how it reaches the pilot, as JSON. Keys are promises.

The shape, whose JSON Schema lies beside this module in ``telemetry.schema.json``. Units stand in
the key names; levels are text with their unit, as they would be set::

    {
      "format": "holdshort-telemetry",
      "version": 1,                 a change that breaks readers raises it; new keys do not
      "file": "tarn.yaml",          as it was given; "-" is standard input
      "aircraft": "Tarn Swift",     null where it has no name
      "declared": true,             false where the file has no section of telemetry
      "landing_time_seconds": 120,  the flying time that an alarm is to leave
      "readings": [
        {"reading", "measures", "from", "of", "shown",
         "way": ["probe", "front-rx"],    null where there is none or it is not known
         "trouble": null,           why there is no way, or what is missing to know it
         "address": null, "delay_seconds": null, "told_by": ["sound"],
         "levels": [
           {"alarms": "below", "declared": "10.8 V", "wanted": "10.6 V", "why",
            "late": false, "complete": true}
         ]}
      ],
      "watched": ["the pack `pack-1`"], "unwatched": ["the link `main`"],
      "missing": [{"needs", "file", "line"}],
      "unread": ["devices.gyro"],   entries with mistakes of form, left out of all the above
      "caution": "..."
    }

``wanted`` and ``why`` are null where nothing is known that an alarm is for. Where ``complete`` is
false, more is missing, and the wanted level may be earlier still.

The text is ASCII and holds no control character but line ends.
"""

from typing import Any, Final

from holdshort.analysis import Aircraft
from holdshort.analysis.telemetry_table import (
    LevelRow,
    ReadingRow,
    TelemetryTable,
    telemetry_table,
)
from holdshort.fixlist.json_format import dump
from holdshort.fixlist.telemetry_view import CAUTION

FORMAT: Final = "holdshort-telemetry"
VERSION: Final = 1


def json_text(aircraft: Aircraft) -> str:
    """Return the telemetry of ``aircraft`` as JSON text."""
    return render_json(telemetry_table(aircraft))


def render_json(table: TelemetryTable) -> str:
    """Return the table as JSON text."""
    return dump(
        {
            "format": FORMAT,
            "version": VERSION,
            "file": table.file,
            "aircraft": table.aircraft,
            "declared": table.declared,
            "landing_time_seconds": table.landing_time,
            "readings": [_reading(row) for row in table.rows],
            "watched": list(table.watched),
            "unwatched": list(table.unwatched),
            "missing": [
                {"needs": item.text, "file": item.file, "line": item.line} for item in table.missing
            ],
            "unread": list(table.unread),
            "caution": CAUTION,
        }
    )


def _reading(row: ReadingRow) -> dict[str, Any]:
    return {
        "reading": row.name,
        "measures": row.measures,
        "from": row.device,
        "of": row.of or None,
        "shown": row.shown,
        "way": list(row.way) or None,
        "trouble": row.trouble or None,
        "address": row.address,
        "delay_seconds": row.delay,
        "told_by": list(row.told_by),
        "levels": [_level(level) for level in row.levels],
    }


def _level(level: LevelRow) -> dict[str, Any]:
    return {
        "alarms": level.way,
        "declared": level.declared,
        "wanted": level.wanted or None,
        "why": level.why or None,
        "late": level.late,
        "complete": not level.missing,
    }
