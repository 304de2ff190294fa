r"""A comparison as JSON, for programs. Keys are promises; prose is free.

The shape, whose JSON Schema lies beside this module in ``compare.schema.json``::

    {
      "format": "holdshort-compare",
      "version": 1,
      "old": {"file", "aircraft"}, "new": {"file", "aircraft"},
      "same_aircraft": true,        false for two aircraft: no sign-off of one counts for the other
      "differs": true,
      "notes": ["..."],             how the files were read
      "renamed": {"devices": {"old": "new"}, "parts": {"old": "new"}},
      "changes": [                  by topic
        {"topic", "subject", "change": "came" | "went" | "changed", "setting": true,
         "aspects": [{"aspect", "was": null, "now": "90 %", "setting": true}]}
      ],
      "moved_leads": [{"stays", "was", "now", "lead_was", "lead_now"}],
      "leftover_channels": [CHANNEL], "unconfirmed_channels": [CHANNEL],
      "findings": {"came": [FINDING], "went": [FINDING], "stayed": [{"was": .., "now": FINDING}]},
      "not_checked": {"came": [QUESTION], "went": [QUESTION]},
      "fallen": [{"test", "was", "standing", "by_name_only", "changes": ["..."], "earlier": [..]}],
      "no_longer_asked": {"test": "why"},
      "again": [{"test", "title", "step", "reason", "after": [..], "standing"}],
      "cautions": ["...", "..."]
    }

CHANNEL is ``"channel", "drives", "copied_from"``; FINDING is ``"rule", "severity", "hold",
"message", "do", "file", "line", "path"``; QUESTION is ``"rule", "needs", "file", "line", "path"``.
The text is ASCII and holds no control character but line ends.
"""

from typing import Any, Final

from holdshort.analysis.compared import CopiedChannel, Fallen, SubjectChange
from holdshort.analysis.proof import Judged
from holdshort.document import show_path
from holdshort.fixlist.compare_report import CompareReport
from holdshort.fixlist.json_format import dump
from holdshort.fixlist.report import CAUTIONS, FileReport
from holdshort.rulebook import Found, Unjudged
from holdshort.setup import Place, Setup

FORMAT: Final = "holdshort-compare"
VERSION: Final = 1


def render_json(report: CompareReport) -> str:
    """Return the comparison as JSON text."""
    compared, found = report.compared, report.findings
    old, new = compared.old.setup, compared.new.setup
    return dump({
        "format": FORMAT,
        "version": VERSION,
        "old": _file(report.old),
        "new": _file(report.new),
        "same_aircraft": compared.same_aircraft,
        "differs": not report.is_empty,
        "notes": list(report.notes),
        "renamed": {
            "devices": dict(compared.renames.devices),
            "parts": dict(compared.renames.parts),
        },
        "changes": [_change(change) for change in compared.changes],
        "moved_leads": [lead._asdict() for lead in compared.moved_leads],
        "leftover_channels": [_channel(one) for one in compared.leftovers],
        "unconfirmed_channels": [_channel(one) for one in compared.unconfirmed],
        "findings": {
            "came": [_finding(one, new) for one in found.came],
            "went": [_finding(one, old) for one in found.went],
            "stayed": [
                {"was": _finding(one.was, old), "now": _finding(one.now, new)}
                for one in found.stayed
            ],
        },
        "not_checked": {
            "came": [_question(one, new) for one in found.asked],
            "went": [_question(one, old) for one in found.answered],
        },
        "fallen": [_fallen(one) for one in compared.fallen],
        "no_longer_asked": dict(compared.no_longer_asked),
        "again": [_test(one) for one in compared.again],
        "cautions": list(CAUTIONS),
    })  # fmt: skip


def _file(report: FileReport) -> dict[str, Any]:
    return {"file": report.file, "aircraft": report.aircraft or None}


def _change(change: SubjectChange) -> dict[str, Any]:
    word = "came" if change.came else "went" if change.went else "changed"
    return {
        "topic": change.topic,
        "subject": change.name,
        "change": word,
        "setting": change.is_setting,
        "aspects": [
            {
                "aspect": one.aspect,
                "was": one.was or None,
                "now": one.now or None,
                "setting": one.is_setting,
            }
            for one in change.aspects
        ],
    }


def _channel(one: CopiedChannel) -> dict[str, Any]:
    return {"channel": one.number, "drives": list(one.drives), "copied_from": one.origin or None}


def _place(at: Place, setup: Setup) -> dict[str, Any]:
    return {"file": at.file, "line": setup.span(at).line or None, "path": show_path(at.path)}


def _finding(one: Found, setup: Setup) -> dict[str, Any]:
    return {
        "rule": one.rule.id,
        "severity": one.severity.word,
        "hold": one.hold.word,
        "message": one.finding.message,
        "do": one.finding.do,
        **_place(one.finding.at, setup),
    }


def _question(one: Unjudged, setup: Setup) -> dict[str, Any]:
    asked = one.not_checked
    return {"rule": one.rule.id, "needs": asked.needs, **_place(asked.at, setup)}


def _fallen(one: Fallen) -> dict[str, Any]:
    return {
        "test": one.now.test.name,
        "was": one.before.standing.value,
        "standing": one.now.standing.value,
        "by_name_only": one.by_name_only,
        "changes": [change.words for change in one.now.changes],
        "earlier": list(one.now.earlier),
    }


def _test(one: Judged) -> dict[str, Any]:
    test = one.test
    return {
        "test": test.name,
        "title": test.title,
        "step": test.step,
        "reason": test.reason,
        "after": list(test.after),
        "standing": one.standing.value,
    }
