r"""The fix list as JSON, for programs. Keys are promises; prose is free.

The shape, whose JSON Schema lies beside this module in ``fix-list.schema.json``::

    {
      "format": "holdshort-fix-list",
      "version": 1,                 a change that breaks readers raises it; new keys do not
      "until": "flight",            the last hold point asked about
      "files": [
        {
          "file": "tarn.yaml",      as it was given; "-" is standard input
          "kind": "aircraft",       or "parts" (a file of parts), "hangar", or "not-read"
          "aircraft": "Tarn Swift", null where there is none
          "hangar": "hangar.yaml",  the hangar file that counts for it; null where there is none
          "mistakes": [             mistakes of form
            {"kind", "message", PLACE, "do", "related": [{PLACE, "text"}]}
          ],
          "findings": [FINDING],    by hold point, then severity, then place
          "deferred": [             found, and accepted for now; all of them, whatever they hold
            {"finding": FINDING, "reason", "by", "until": "2026-05-31",
             "second": null, PLACE}
          ],
          "not_checked": [{"rule", "title", "pack", "needs", PLACE}],
          "crashes": [{"rule", "pack", "error", "traceback"}],
          "tally": TALLY
        }
      ],
      "tally": TALLY,               the sum over all files
      "cautions": ["...", "..."]
    }

FINDING is ``"rule", "title", "pack", "severity", "hold", "message", PLACE, "because": [{PLACE,
"text"}], "do", "sources": [{"id", "text", "confidence"}], "fix": FIX``. FIX is null, or
``{"text", "edits": [{"act": "set", "at", "value"}]}``: the exact change to the setup file that the
rule proposes, with ``act`` one of set, add and remove and ``at`` a document path in words. What is
set or removed may stand in a run such as ``1..6``, which is then to be taken apart.

PLACE is ``"file", "line", "column", "end_line", "end_column", "path"``: lines and columns from
1, columns in code points, ends exclusive, all four null where the file as a whole is meant;
``path`` is the document path in words, or empty.

TALLY is ``"held"`` (hold point to severity to number of findings; notes are counted there and hold
nothing), ``"later"`` (hold point to number of findings that hold a later point than was asked
about, which are not listed),
``"deferred"``, ``"not_checked"``, ``"clean"`` and ``"nothing_to_judge"`` (rules), ``"mistakes"``
and ``"crashes"``.

The text is ASCII and holds no control character but line ends: names stand in it with ``\u``
escapes.
"""

import json
from typing import Any, Final

from holdshort.document import show_path
from holdshort.fixlist.report import (
    CAUTIONS,
    DeferredFinding,
    FailedRule,
    FileReport,
    Mistake,
    OpenQuestion,
    PlacedFinding,
    Reason,
    Report,
    Spot,
    Tally,
)
from holdshort.rulebook import Fix, Hold, Severity

FORMAT: Final = "holdshort-fix-list"
VERSION: Final = 1


def render_json(report: Report) -> str:
    """Return the report as JSON text."""
    return dump(
        {
            "format": FORMAT,
            "version": VERSION,
            "until": report.until.word,
            "files": [_file(file) for file in report.files],
            "tally": tally_values(report.tally),
            "cautions": list(CAUTIONS),
        }
    )


def dump(value: object) -> str:
    """Return ``value`` as indented JSON text that is safe on any terminal."""
    # DEL is the one control character that JSON lets through unescaped.
    return json.dumps(value, indent=2, ensure_ascii=True).replace("\x7f", "\\u007f") + "\n"


def _file(file: FileReport) -> dict[str, Any]:
    return {
        "file": file.file,
        "kind": file.kind,
        "aircraft": file.aircraft or None,
        "hangar": file.hangar or None,
        "mistakes": [_mistake(mistake) for mistake in file.mistakes],
        "findings": [_finding(finding) for finding in file.findings],
        "deferred": [_deferred(item) for item in file.deferred],
        "not_checked": [_open_question(item) for item in file.not_checked],
        "crashes": [_failed(crash) for crash in file.crashes],
        "tally": tally_values(file.tally),
    }


def _spot(spot: Spot) -> dict[str, Any]:
    return {
        "file": spot.file,
        "line": spot.line or None,
        "column": spot.column or None,
        "end_line": spot.end_line or None,
        "end_column": spot.end_column or None,
        "path": spot.path,
    }


def _reason(reason: Reason) -> dict[str, Any]:
    return {**_spot(reason.at), "text": reason.text}


def _mistake(mistake: Mistake) -> dict[str, Any]:
    return {
        "kind": mistake.kind,
        "message": mistake.message,
        **_spot(mistake.at),
        "do": mistake.do,
        "related": [_reason(reason) for reason in mistake.related],
    }


def _finding(finding: PlacedFinding) -> dict[str, Any]:
    return {
        "rule": finding.rule,
        "title": finding.title,
        "pack": finding.pack,
        "severity": finding.severity.word,
        "hold": finding.hold.word,
        "message": finding.message,
        **_spot(finding.at),
        "because": [_reason(reason) for reason in finding.because],
        "do": finding.do,
        "sources": [
            {"id": source.id, "text": source.text, "confidence": source.confidence}
            for source in finding.sources
        ],
        "fix": _fix(finding.fix),
    }


def _fix(fix: Fix | None) -> dict[str, Any] | None:
    if fix is None:
        return None
    edits = [
        {"act": edit.act, "at": show_path(edit.at.path), "value": edit.value} for edit in fix.edits
    ]
    return {"text": fix.text, "edits": edits}


def _deferred(item: DeferredFinding) -> dict[str, Any]:
    return {
        "finding": _finding(item.finding),
        "reason": item.reason,
        "by": item.by,
        "until": item.until,
        "second": item.second or None,
        **_spot(item.at),
    }


def _open_question(item: OpenQuestion) -> dict[str, Any]:
    return {
        "rule": item.rule,
        "title": item.title,
        "pack": item.pack,
        "needs": item.needs,
        **_spot(item.at),
    }


def _failed(crash: FailedRule) -> dict[str, Any]:
    return {
        "rule": crash.rule,
        "pack": crash.pack,
        "error": crash.error,
        "traceback": crash.traceback,
    }


def tally_values(tally: Tally) -> dict[str, Any]:
    """Return what was counted, as TALLY above."""
    return {
        "held": {
            hold.word: {severity.word: tally.held.get((hold, severity), 0) for severity in Severity}
            for hold in Hold
        },
        "later": {hold.word: tally.later.get(hold, 0) for hold in Hold},
        "deferred": tally.deferred,
        "not_checked": tally.not_checked,
        "clean": tally.clean,
        "nothing_to_judge": tally.nothing_to_judge,
        "mistakes": tally.mistakes,
        "crashes": tally.crashes,
    }
