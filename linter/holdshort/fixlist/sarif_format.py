"""The fix list as SARIF 2.1.0, for hosts and editors that show results of analysis tools.

Source: Static Analysis Results Interchange Format (SARIF) Version 2.1.0, OASIS, with errata 01;
the numbers of sections below are its own.

========================  =========================================================================
here                      in SARIF
========================  =========================================================================
warning, caution, note    level ``error``, ``warning``, ``note``
a finding                 a result of kind ``fail``; what it rests on are ``relatedLocations``
a deferred finding        the same, with a suppression: ``inSource``, because the deferral stands in
                          a file that was judged, and the place of it is given (3.35)
not checked               a result of kind ``open``: "insufficient information to decide" (3.27.9),
                          whose level is ``none``. It is about one rule at one place, as a result
                          is, and a log without it would look cleaner than the aircraft is.
mistakes of form          notifications of the invocation: configuration where the file is a hangar
                          file, execution otherwise
a rule that failed        an execution notification with the exception
either of them            ``executionSuccessful`` is false
a fix that was proved     a fix (3.55) of one file: each place it deletes, and what it inserts there
clean, nothing to judge   no result: the tally of a file stands in the properties of its artifact
========================  =========================================================================

Lines and columns begin at 1, columns are code points and ends are exclusive, as in the report.
Paths are relative to the folder of the run (``%SRCROOT%``). Standard input is no artifact: what is
told about it has a document path, and its line in words. The text is ASCII.
"""

from datetime import UTC
from typing import Any, Final

from holdshort import __version__
from holdshort.fixlist.identity import STANDARD_INPUT, Fingerprints, uri
from holdshort.fixlist.json_format import dump, tally_values
from holdshort.fixlist.plain import plain
from holdshort.fixlist.report import (
    CAUTIONS,
    Change,
    DeferredFinding,
    FailedRule,
    FileReport,
    Mistake,
    OpenQuestion,
    PlacedFinding,
    Reason,
    Report,
    Spot,
)
from holdshort.fixlist.sarif_rules import FAILED, LEVELS, Descriptors, words
from holdshort.rulebook import Fix

SCHEMA: Final = (
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
)
BASE: Final = "%SRCROOT%"
FINGERPRINT: Final = "ruleAndPlace/v1"
"""The name and version of the fingerprint; how it is made must not change under it."""


def render_sarif(report: Report) -> str:
    """Return the report as a SARIF log with one run."""
    return dump({"$schema": SCHEMA, "version": "2.1.0", "runs": [_Run(report).run()]})


class _Run:
    """One run being written: what is referred to by index is gathered on the way."""

    def __init__(self, report: Report) -> None:
        self._report = report
        self._descriptors = Descriptors(report)
        self._fingerprints = Fingerprints()
        self._artifacts: dict[str, dict[str, Any]] = {}
        self._notices: dict[str, int] = {}

    def run(self) -> dict[str, Any]:
        for file in self._report.files:
            self._judged(file)
        results = [result for file in self._report.files for result in self._results(file)]
        invocation = self._invocation()
        return {
            "tool": {"driver": self._driver()},
            "columnKind": "unicodeCodePoints",
            "newlineSequences": ["\r\n", "\n", "\r"],  # what ends a line in YAML 1.2 (5.4)
            "originalUriBaseIds": {BASE: {"description": {"text": "The folder of the run."}}},
            "invocations": [invocation],
            "artifacts": list(self._artifacts.values()),
            "results": results,
            "properties": {
                "until": self._report.until.word,
                "cautions": list(CAUTIONS),
                "tally": tally_values(self._report.tally),
            },
        }

    def _driver(self) -> dict[str, Any]:
        return {
            "name": "Holdshort",
            "version": __version__,
            "semanticVersion": __version__,
            "shortDescription": {"text": "Pre-flight setup linter for model aircraft."},
            "fullDescription": {"text": " ".join(CAUTIONS)},
            "rules": self._descriptors.rules,
            "notifications": [{"id": kind} for kind in self._notices],
        }

    def _invocation(self) -> dict[str, Any]:
        execution: list[dict[str, Any]] = []
        configuration: list[dict[str, Any]] = []
        for file in self._report.files:
            told = configuration if file.kind == "hangar" else execution
            told += [self._mistake(mistake) for mistake in file.mistakes]
            execution += [self._crash(crash, file) for crash in file.crashes]
        found: dict[str, Any] = {"executionSuccessful": self._report.job_done}
        if self._report.made is not None:
            ended = self._report.made.astimezone(UTC)
            found["endTimeUtc"] = ended.strftime("%Y-%m-%dT%H:%M:%SZ")
        return {
            **found,
            "toolExecutionNotifications": execution,
            "toolConfigurationNotifications": configuration,
        }

    def _judged(self, file: FileReport) -> None:
        """Describe a file of the run."""
        if file.file == STANDARD_INPUT:
            return
        artifact = self._artifact(file.file)
        role = "userSpecifiedConfiguration" if file.kind == "hangar" else "analysisTarget"
        artifact["roles"] = [role]
        known: dict[str, Any] = {"kind": file.kind}
        if file.kind == "aircraft":
            known |= {"aircraft": plain(file.aircraft), "tally": tally_values(file.tally)}
        artifact["properties"] = known

    def _artifact(self, file: str) -> dict[str, Any]:
        key = uri(file)
        if key not in self._artifacts:
            index = len(self._artifacts)
            self._artifacts[key] = {"location": {**_reference(key), "index": index}}
        return self._artifacts[key]

    def _results(self, file: FileReport) -> list[dict[str, Any]]:
        return [
            *(self._finding(finding, file) for finding in file.findings),
            *(self._deferred(item, file) for item in file.deferred),
            *(self._open(item, file) for item in file.not_checked),
        ]

    def _finding(self, finding: PlacedFinding, file: FileReport) -> dict[str, Any]:
        result = self._result(finding, file, f"{finding.message} {finding.do}".strip())
        result["kind"] = "fail"
        result["level"] = LEVELS[finding.severity]
        if finding.because:
            result["relatedLocations"] = [
                self._related(reason, number) for number, reason in enumerate(finding.because, 1)
            ]
        if finding.fix is not None and finding.changes:
            result["fixes"] = [self._fix(finding.fix, finding.changes)]
        result["properties"] |= {
            "severity": finding.severity.word,
            "hold": finding.hold.word,
            "do": plain(finding.do),
        }
        return result

    def _fix(self, fix: Fix, changes: tuple[Change, ...]) -> dict[str, Any]:
        """Return a fix; the last place comes first, so that none moves another, in either order."""
        replacements = [
            {"deletedRegion": _region(change.at), "insertedContent": {"text": change.new}}
            for change in changes
        ]
        reference = self._artifact(changes[0].at.file)["location"]
        return {
            "description": {"text": words(fix.text)},
            "artifactChanges": [
                {"artifactLocation": dict(reference), "replacements": replacements}
            ],
        }

    def _deferred(self, item: DeferredFinding, file: FileReport) -> dict[str, Any]:
        result = self._finding(item.finding, file)
        names = f"{item.by} and {item.second}" if item.second else item.by
        result["suppressions"] = [
            {
                "kind": "inSource",
                "status": "accepted",
                "justification": plain(f"{item.reason} (by {names}, until {item.until})"),
                "location": self._location(item.at),
            }
        ]
        return result

    def _open(self, item: OpenQuestion, file: FileReport) -> dict[str, Any]:
        result = self._result(item, file, f"Not checked: needs {item.needs}.")
        result["kind"] = "open"
        result["level"] = "none"
        result["properties"]["needs"] = plain(item.needs)
        return result

    def _result(
        self, item: PlacedFinding | OpenQuestion, file: FileReport, message: str
    ) -> dict[str, Any]:
        told = item.rule if isinstance(item, PlacedFinding) else f"{item.rule} needs {item.needs}"
        return {
            "ruleId": plain(item.rule),
            "ruleIndex": self._descriptors.index(item.pack, item.rule),
            "message": {"text": words(message)},
            "locations": [self._location(item.at)],
            "partialFingerprints": {FINGERPRINT: self._fingerprints.of(told, item.at)},
            # All results have them or none has (3.27.23): empty says that it is not suppressed.
            "suppressions": [],
            "properties": {"pack": plain(item.pack), "aircraft": plain(file.aircraft)},
        }

    def _related(self, reason: Reason, number: int) -> dict[str, Any]:
        return {"id": number, **self._location(reason.at, reason.text)}

    def _location(self, at: Spot, text: str = "") -> dict[str, Any]:
        found: dict[str, Any] = {}
        if at.file == STANDARD_INPUT:
            where = f"standard input, line {at.line}" if at.line else "standard input"
            text = f"{text} ({where})" if text else where
        else:
            reference = self._artifact(at.file)["location"]
            found["physicalLocation"] = {"artifactLocation": dict(reference)}
            if at.line:
                found["physicalLocation"]["region"] = _region(at)
        if at.path:
            found["logicalLocations"] = [{"fullyQualifiedName": plain(at.path)}]
        if text:
            found["message"] = {"text": words(text)}
        return found

    def _mistake(self, mistake: Mistake) -> dict[str, Any]:
        places = [self._location(mistake.at)]
        for reason in mistake.related:
            place = self._location(reason.at, reason.text)
            if place not in places:
                places.append(place)
        return {
            "descriptor": self._notice(mistake.kind),
            "level": "error",
            "message": {"text": words(f"{mistake.message} {mistake.do}".strip())},
            "locations": places,
        }

    def _crash(self, crash: FailedRule, file: FileReport) -> dict[str, Any]:
        kind, _, message = crash.error.partition(": ")
        index = self._descriptors.index(crash.pack, crash.rule)
        text = (
            f"Rule {crash.rule} of pack {crash.pack} failed, and nothing it looks for was judged: "
            f"{crash.error}"
        )
        return {
            "descriptor": self._notice(FAILED),
            "associatedRule": {"id": plain(crash.rule), "index": index},
            "level": "error",
            "message": {"text": words(text)},
            "exception": {"kind": plain(kind), "message": plain(message)},
            "locations": [self._location(Spot(file.file, 0, 0, 0, 0, ""))],
        }

    def _notice(self, kind: str) -> dict[str, Any]:
        named = plain(kind)
        return {"id": named, "index": self._notices.setdefault(named, len(self._notices))}


def _reference(key: str) -> dict[str, Any]:
    return {"uri": key} if key.startswith("file:") else {"uri": key, "uriBaseId": BASE}


def _region(at: Spot) -> dict[str, int]:
    return {
        "startLine": at.line,
        "startColumn": at.column,
        "endLine": at.end_line,
        "endColumn": at.end_column,
    }
