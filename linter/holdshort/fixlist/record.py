r"""The release record of one aircraft: what was checked, found and signed, with fingerprints.

It is a fingerprint, not a signature: it shows that nothing has changed since, and not who wrote it.
The shape, whose JSON Schema lies beside this module in ``record.schema.json``::

    {
      "format": "holdshort-record",
      "version": 1,
      "says": "Record of ...",      what holds, first
      "note": "...",                what a record is, and is not
      "aircraft": "Tarn Swift",     null where the file gives no name
      "made": "2026-05-31",         the day as of which everything in it is judged
      "file": {"name", "sha256"},
      "catalogues": [{"name", "sha256"}], "hangar": null or {"name", "sha256"},
      "tool": {"name": "holdshort", "version": "0.1.0"},
      "packs": [{"name", "version", "sha256", "files"}],
      "codes": ["uk"],
      "nothing_held_up_to": null, "power-up", "engine-run" or "flight": the last hold point up to
                            which nothing is held and no question is open
      "hold_points": {"power-up": {"held": 0, "not_checked": 2}, ...},
      "rules": {"clean": ["..."], "nothing_to_judge": ["..."], "spoke": ["..."]},
      "mistakes": [{"kind", "message", "do", PLACE}],
      "failed_rules": [{"rule", "pack"}],
      "found": [FINDING],
      "deferred": [{"finding": FINDING, "reason", "by", "second", "until"}],
      "not_checked": [{"rule", "needs", PLACE}],
      "signed": [{"test", "title", "before", "standing", "on", "by", "second", "outcome",
                  "figures", "fingerprint", "proves_now", "why"}],
      "not_asked": {"test": "why"},
      "unknown_tests": ["..."],
      "cautions": ["...", "..."],
      "digest": "..."               SHA-256 over the canonical JSON of all the rest
    }

FINDING is ``"rule", "severity", "hold", "message", "do", PLACE``; PLACE is ``"file", "line",
"path"``. Names of files are as seen from the folder of the setup file. Canonical: keys sorted, no
spaces, ASCII with escapes.
"""

import json
from collections.abc import Callable, Iterable, Mapping
from datetime import date
from hashlib import sha256
from typing import Any, Final, NamedTuple

from holdshort import __version__
from holdshort.analysis import Aircraft
from holdshort.analysis.proof import Judged, fingerprint
from holdshort.fixlist.json_format import dump
from holdshort.fixlist.report import CAUTIONS, FileReport, PlacedFinding, Spot
from holdshort.fixlist.sign_text import standing_words
from holdshort.fixlist.text import hold_point
from holdshort.rulebook import Hold
from holdshort.rulebook.wording import counted, listed, plural

FORMAT: Final = "holdshort-record"
VERSION: Final = 1

NOTE: Final = (
    "This record is a fingerprint, not a signature: it shows whether anything changed since, not "
    "who wrote it. It says nothing about the aircraft beyond what was declared and signed for."
)


class FileMark(NamedTuple):
    """A file by its name, as seen from the folder of the setup file, and its SHA-256."""

    name: str
    sha256: str


class PackMark(NamedTuple):
    """A rule pack: its name, its version (empty: none), how many files it has, and their digest."""

    name: str
    version: str
    sha256: str
    files: int


class RecordFacts(NamedTuple):
    """What a record is made from. ``label`` gives the name of a file that the record uses."""

    aircraft: Aircraft
    report: FileReport
    made: date
    file: FileMark
    catalogues: tuple[FileMark, ...]
    hangar: FileMark | None
    packs: tuple[PackMark, ...]
    label: Callable[[str], str]


def record_value(facts: RecordFacts) -> dict[str, Any]:
    """Return the record as plain data, its digest last."""
    report, evidence = facts.report, facts.aircraft.evidence
    spot = _spotter(facts.label)
    value: dict[str, Any] = {
        "format": FORMAT,
        "version": VERSION,
        "says": says(report, evidence.standings),
        "note": NOTE,
        "aircraft": report.aircraft or None,
        "made": facts.made.isoformat(),
        "file": facts.file._asdict(),
        "catalogues": [mark._asdict() for mark in facts.catalogues],
        "hangar": facts.hangar._asdict() if facts.hangar else None,
        "tool": {"name": "holdshort", "version": __version__},
        "packs": [{**pack._asdict(), "version": pack.version or None} for pack in facts.packs],
        "codes": list(facts.aircraft.setup.follows),
        "nothing_held_up_to": _held_up_to(report),
        "hold_points": {
            hold.word: {"held": _count(report, hold), "not_checked": _open(report, hold)}
            for hold in Hold
        },
        "rules": _rules(report),
        "mistakes": [
            {"kind": one.kind, "message": one.message, "do": one.do, **spot(one.at)}
            for one in report.mistakes
        ],
        "failed_rules": [{"rule": one.rule, "pack": one.pack} for one in report.crashes],
        "found": [_finding(one, spot) for one in report.findings],
        "deferred": [
            {
                "finding": _finding(item.finding, spot),
                "reason": item.reason,
                "by": item.by,
                "second": item.second or None,
                "until": item.until,
            }
            for item in report.deferred
        ],
        "not_checked": [
            {"rule": one.rule, "needs": one.needs, **spot(one.at)} for one in report.not_checked
        ],
        "signed": [_signed(facts, judged) for judged in evidence.standings],
        "not_asked": dict(evidence.left_out),
        "unknown_tests": sorted({one.sign_off.test for one in evidence.unknown}),
        "cautions": list(CAUTIONS),
    }
    return {**value, "digest": digest(value)}


def digest(value: Mapping[str, Any]) -> str:
    """Return SHA-256, in hexadecimal, over the canonical JSON of all of a record but its digest."""
    rest = {key: item for key, item in value.items() if key != "digest"}
    text = json.dumps(rest, sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return sha256(text.encode("ascii")).hexdigest()


def render_record(value: Mapping[str, Any]) -> str:
    """Return a record as JSON text: for one value there is one text."""
    return dump(dict(value))


def says(report: FileReport, standings: Iterable[Judged]) -> str:
    """Return the first line of a record: what holds, what was not judged, what is signed."""
    tests = list(standings)
    counting = sum(one.standing.counts for one in tests)
    signed = f"{counting} of {counted(len(tests), 'test')} {plural(counting, 'counts', 'count')}"
    return f"Record of an aircraft {_what_holds(report)}; {signed}."


def _what_holds(report: FileReport) -> str:
    trouble: list[str] = []
    if report.mistakes:
        trouble.append(counted(len(report.mistakes), "mistake") + " of form")
    if report.crashes:
        trouble.append(counted(len(report.crashes), "failed rule"))
    held = [
        f"{count} {plural(count, 'finding holds', 'findings hold')} {hold_point(hold)}"
        for hold in Hold
        if (count := _count(report, hold))
    ]
    open_questions = counted(report.tally.not_checked, "question")
    words = f"{open_questions} not checked"
    if trouble:
        rest = f"; {listed(held)}" if held else ""
        return f"that could not be judged in full: {listed(trouble)}{rest}; {words}"
    if held:
        return f"that is held: {listed(held)}; {words}"
    return f"on which nothing that was judged is held; {words}"


def _count(report: FileReport, hold: Hold) -> int:
    return sum(one.hold is hold and one.severity.holds for one in report.findings)


def _open(report: FileReport, hold: Hold) -> int:
    """Return how many questions are open of rules that hold a hold point."""
    holds = {run.rule.id: run.rule.hold for run in report.rules}
    return sum(holds.get(one.rule) is hold for one in report.not_checked)


def _held_up_to(report: FileReport) -> str | None:
    """Return the last hold point up to which nothing is held or open; None where there is none."""
    if report.mistakes or report.crashes:
        return None
    found = None
    for hold in Hold:
        if _count(report, hold) or _open(report, hold):
            break
        found = hold.word
    return found


def _rules(report: FileReport) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {"clean": [], "nothing_to_judge": [], "spoke": []}
    for run in report.rules:
        found[run.outcome.replace("-", "_")].append(run.rule.id)
    return found


_Spotter = Callable[[Spot], dict[str, Any]]


def _spotter(label: Callable[[str], str]) -> _Spotter:
    def spot(at: Spot) -> dict[str, Any]:
        return {"file": label(at.file), "line": at.line or None, "path": at.path}

    return spot


def _finding(one: PlacedFinding, spot: _Spotter) -> dict[str, Any]:
    return {
        "rule": one.rule,
        "severity": one.severity.word,
        "hold": one.hold.word,
        "message": one.message,
        "do": one.do,
        **spot(one.at),
    }


def _signed(facts: RecordFacts, judged: Judged) -> dict[str, Any]:
    test, signed = judged.test, judged.signed
    sign_off = signed.sign_off if signed else None
    return {
        "test": test.name,
        "title": test.title,
        "before": test.before,
        "standing": judged.standing.value,
        "on": sign_off.on if sign_off else None,
        "by": sign_off.by if sign_off else None,
        "second": sign_off.second if sign_off else None,
        "outcome": sign_off.outcome if sign_off else None,
        "figures": dict(sign_off.figures or {}) if sign_off else {},
        "fingerprint": sign_off.fingerprint if sign_off else None,
        "proves_now": fingerprint(facts.aircraft.evidence.proves(test.name)),
        "why": standing_words(judged),
    }
