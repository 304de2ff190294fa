r"""What applies to one aircraft as JSON, for programs. Keys are promises; prose is free.

The shape, whose JSON Schema lies beside this module in ``settings.schema.json``::

    {
      "format": "holdshort-settings",
      "version": 1,                 a change that breaks readers raises it; new keys do not
      "file": "tarn.yaml",          as it was given; "-" is standard input
      "aircraft": "Tarn Swift",     null where there is none
      "hangar": "hangar.yaml",      the hangar file that counts; null where there is none
      "catalogues": [{"name", PLACE}],
      "packs": [{"name", "rules"}],
      "codes": [{"name", PLACE}],
      "limits": [                   every limit of every rule
        {"rule", "option", "text", "value": "60 deg", "si", "default", "source", "confidence",
         "set_at": {PLACE}}         null: the default counts
      ],
      "severities": [{"rule", "severity", "delivered", PLACE}],
      "tests": [{"name", "title", "before", "after": ["balance"], "every_days", PLACE}],
                                    the club's own; "every_days" is null without a term
      "deferrals": [{"rule", "at", "reason", "by", "second", "until", "state", PLACE}]
    }

PLACE is ``"file", "line", "path"``; ``"state"`` is ``in force`` or ``past``, by the day alone: that
a deferral lacks a second name is a finding of ``lint``. ``"si"`` is the value in SI units (angles
in radians, shares as fractions of 1).

The text is ASCII and holds no control character but line ends.
"""

from typing import Any, Final

from holdshort.document import show_path
from holdshort.fixlist.json_format import dump
from holdshort.fixlist.settings_table import (
    Applied,
    DeferralRow,
    LimitRow,
    NamedRow,
    SettingsTable,
    SeverityRow,
    TestRow,
    settings_table,
)
from holdshort.setup import Place, Setup

FORMAT: Final = "holdshort-settings"
VERSION: Final = 1


def json_text(applied: Applied) -> str:
    """Return what applies as JSON text."""
    return render_json(settings_table(applied), applied.setup)


def render_json(table: SettingsTable, setup: Setup) -> str:
    """Return the table as JSON text; ``setup`` knows the lines of its places."""
    return dump(
        {
            "format": FORMAT,
            "version": VERSION,
            "file": table.file,
            "aircraft": table.aircraft or None,
            "hangar": table.hangar or None,
            "catalogues": [_named(setup, row) for row in table.catalogues],
            "packs": [{"name": row.name, "rules": row.rules} for row in table.packs],
            "codes": [_named(setup, row) for row in table.codes],
            "limits": [_limit(setup, row) for row in table.limits],
            "severities": [_severity(setup, row) for row in table.severities],
            "tests": [_test(setup, row) for row in table.tests],
            "deferrals": [_deferral(setup, row) for row in table.deferrals],
        }
    )


def _place(setup: Setup, place: Place) -> dict[str, Any]:
    line = setup.span(place).line
    return {"file": place.file, "line": line, "path": show_path(place.path)}


def _named(setup: Setup, row: NamedRow) -> dict[str, Any]:
    return {"name": row.name, **_place(setup, row.at)}


def _limit(setup: Setup, row: LimitRow) -> dict[str, Any]:
    return {
        "rule": row.rule,
        "option": row.option,
        "text": row.text,
        "value": row.value,
        "si": row.si,
        "default": row.default,
        "source": row.source,
        "confidence": row.confidence,
        "set_at": _place(setup, row.at) if row.at else None,
    }


def _severity(setup: Setup, row: SeverityRow) -> dict[str, Any]:
    return {
        "rule": row.rule,
        "severity": row.severity,
        "delivered": row.delivered,
        **_place(setup, row.at),
    }


def _test(setup: Setup, row: TestRow) -> dict[str, Any]:
    return {
        "name": row.name,
        "title": row.title,
        "before": row.before,
        "after": list(row.after),
        "every_days": row.every,
        **_place(setup, row.at),
    }


def _deferral(setup: Setup, row: DeferralRow) -> dict[str, Any]:
    return {
        "rule": row.rule,
        "at": row.at,
        "reason": row.reason,
        "by": row.by,
        "second": row.second or None,
        "until": row.until,
        "state": row.state,
        **_place(setup, row.place),
    }
