"""What there is to say about a file, as a client shows it: one diagnostic each, at its place."""

from collections.abc import Iterator
from typing import Final

from lsprotocol.types import (
    Diagnostic,
    DiagnosticRelatedInformation,
    DiagnosticSeverity,
    Location,
)

from holdshort.document import Span
from holdshort.editor.judging import Judged
from holdshort.editor.texts import Texts
from holdshort.fixlist.plain import plain
from holdshort.fixlist.report import (
    FileReport,
    Mistake,
    PlacedFinding,
    Reason,
    Spot,
    plain_file_report,
)
from holdshort.rulebook import Severity

SOURCE: Final = "holdshort"

_SEVERITIES: Final = {
    Severity.WARNING: DiagnosticSeverity.Error,
    Severity.CAUTION: DiagnosticSeverity.Warning,
    Severity.NOTE: DiagnosticSeverity.Information,
}

Told = dict[str, list[Diagnostic]]
"""Diagnostics by the path of the file that they stand in."""


def diagnostics(judged: Judged, texts: Texts) -> Told:
    """Return everything there is to say; what stands in a catalogue is among it."""
    told: Told = {judged.path: []}
    maker = _Maker(texts)
    for path, diagnostic in maker.everything(judged):
        told.setdefault(path, []).append(diagnostic)
    return told


def diagnostic_of(finding: PlacedFinding, texts: Texts) -> Diagnostic:
    """Return the diagnostic of one finding."""
    return _Maker(texts).finding(finding)


class _Maker:
    """Makes the diagnostics of one judgement."""

    def __init__(self, texts: Texts) -> None:
        self.texts = texts

    def everything(self, judged: Judged) -> Iterator[tuple[str, Diagnostic]]:
        report = judged.report
        if report is None:
            return
        for mistake in (*report.mistakes, *_hangar_mistakes(judged)):
            yield mistake.at.file, self._mistake(mistake)
        for finding in report.findings:
            yield finding.at.file, self.finding(finding)
        yield from self._open_questions(report)
        yield from self._failures(judged, report)
        yield from self._packs(judged)

    def _mistake(self, mistake: Mistake) -> Diagnostic:
        return self._diagnostic(
            mistake.at, mistake.kind, DiagnosticSeverity.Error, mistake.message, mistake.do,
            mistake.related,
        )  # fmt: skip

    def finding(self, finding: PlacedFinding) -> Diagnostic:
        """Return the diagnostic of one finding."""
        hold = f"Before {finding.hold.word.replace('-', ' ')}: " if finding.severity.holds else ""
        return self._diagnostic(
            finding.at, finding.rule, _SEVERITIES[finding.severity], hold + finding.message,
            finding.do, finding.because,
        )  # fmt: skip

    def _open_questions(self, report: FileReport) -> Iterator[tuple[str, Diagnostic]]:
        for item in report.not_checked:
            message = f"Not checked ({item.title}): needs {item.needs}."
            hint = DiagnosticSeverity.Hint
            yield item.at.file, self._diagnostic(item.at, item.rule, hint, message)

    def _failures(self, judged: Judged, report: FileReport) -> Iterator[tuple[str, Diagnostic]]:
        spot = Spot(judged.path, 0, 0, 0, 0, "")
        for failed in report.crashes:
            message = f"The rule `{failed.rule}` of pack `{failed.pack}` failed: {failed.error}."
            do = "That is a mistake in the rule; tell whoever keeps the pack."
            error = DiagnosticSeverity.Error
            yield judged.path, self._diagnostic(spot, failed.rule, error, message, do)

    def _packs(self, judged: Judged) -> Iterator[tuple[str, Diagnostic]]:
        """Say which rules are not run here, on the hangar file that asks for them."""
        home = judged.home
        if home is None:
            return
        information = DiagnosticSeverity.Information
        if home.passed_over:
            spot = Spot(judged.path, 0, 0, 0, 0, "")
            message = f"{home.passed_over} is not used: everybody may write to its folder."
            yield judged.path, self._diagnostic(spot, "hangar-passed-over", information, message)
        if home.shared is None:
            return
        document = home.shared.document
        for index in home.skipped:
            spot = _spot(document.name, document.span_at(("packs", index)))
            message = "The rules of this pack are not run in the editor: it is a folder of Python."
            do = (
                "`holdshort lint` runs them. Where the folder is to be trusted, set the "
                "initialization option `packs` to true."
            )
            yield document.name, self._diagnostic(spot, "pack-not-run", information, message, do)

    def _diagnostic(
        self,
        at: Spot,
        code: str,
        severity: DiagnosticSeverity,
        message: str,
        do: str = "",
        related: tuple[Reason, ...] = (),
    ) -> Diagnostic:
        return Diagnostic(
            range=self.texts.lines(at.file).range(self._first_line(at)),
            message="\n".join(plain(text) for text in (message, do) if text),
            severity=severity,
            code=code,
            source=SOURCE,
            related_information=[self._related(reason) for reason in related] or None,
        )

    def _first_line(self, at: Spot) -> Span:
        """Return the span of a place, cut at the end of its first line: a mark, not a flood."""
        if at.end_line <= at.line:
            return _span(at)
        lines = self.texts.lines(at.file).lines
        width = len(lines[at.line - 1]) if at.line <= len(lines) else 0
        return Span(at.line, at.column, at.line, max(at.column, width + 1))

    def _related(self, reason: Reason) -> DiagnosticRelatedInformation:
        where = self.texts.lines(reason.at.file).range(_span(reason.at))
        return DiagnosticRelatedInformation(
            Location(self.texts.uri(reason.at.file), where), plain(reason.text)
        )


def _hangar_mistakes(judged: Judged) -> tuple[Mistake, ...]:
    """Return the mistakes in the hangar file of an aircraft, which may be open nowhere."""
    home = judged.home
    if judged.kind != "aircraft" or home is None or not home.settings.faults:
        return ()
    return plain_file_report(home.name, "hangar", home.settings.faults).mistakes


def _span(spot: Spot) -> Span:
    return Span(spot.line, spot.column, spot.end_line, spot.end_column)


def _spot(file: str, span: Span) -> Spot:
    return Spot(file, *span, "")
