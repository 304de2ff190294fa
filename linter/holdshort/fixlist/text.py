"""The fix list for a terminal: in the order a builder works, one finding after the other."""

import re
from collections.abc import Iterable, Iterator
from typing import Final

from holdshort.fixlist.plain import plain, wrap
from holdshort.fixlist.report import (
    CAUTIONS,
    DeferredFinding,
    FailedRule,
    FileReport,
    Mistake,
    OpenQuestion,
    PlacedFinding,
    Report,
    Spot,
    Tally,
)
from holdshort.rulebook import Hold, Severity

PLAIN_WIDTH: Final = 88
NARROWEST: Final = 72
WIDEST: Final = 100

_LABEL_WIDTH: Final = 9
_TALLY_WIDTH: Final = 18
_SILENT: Final = ("parts", "hangar")
"""Kinds of files of which nothing is told beside an aircraft, unless they have mistakes."""
_MOST_REASONS: Final = 12
_MOST_LINES_OF_TRACEBACK: Final = 24

_BOLD: Final = "1"
_DIM: Final = "2"
_SEVERITY_STYLE: Final = {Severity.WARNING: "1;31", Severity.CAUTION: "1;33", Severity.NOTE: "1;36"}


def render_text(report: Report, width: int = PLAIN_WIDTH, *, colour: bool = False) -> str:
    """Return the fix list as lines of text, with ANSI colours only where ``colour`` asks for it.

    No other control character gets out, whatever stands in the files.
    """
    paper = _Paper(max(NARROWEST, min(width, WIDEST)), colour=colour)
    told = [file for file in report.files if file.kind not in _SILENT or file.mistakes]
    for file in told:
        _write_file(paper, file, report.until)
    aircraft = [file for file in report.files if file.kind == "aircraft"]
    if len(aircraft) > 1:
        paper.heading(f"All {len(aircraft)} aircraft files")
        _write_tally(paper, report.tally, report.until, "rule run")
    if aircraft:
        for caution in CAUTIONS:
            paper.paragraph(caution)
    elif not told:
        _write_silent(paper, report.files)
    return paper.text()


class _Paper:
    """Lines being written. All text passes through here and comes out plain."""

    def __init__(self, width: int, *, colour: bool) -> None:
        self._width = width
        self._colour = colour
        self.lines_told: list[str] = []

    def heading(self, text: str) -> None:
        for line in wrap(plain(text), self._width):
            self.lines_told.append(self._styled(line, _BOLD))

    def paragraph(self, text: str) -> None:
        self.lines_told += wrap(plain(text), self._width)

    def entry(self, label: str, text: str, style: str = _DIM, column: int = _LABEL_WIDTH) -> None:
        """Write a label and, beside it, text that keeps to its own column."""
        lines = wrap(plain(text), self._width - column - 2)
        margin = " " * (column - len(label))
        self.lines_told.append(f"  {self._styled(label, style)}{margin}{next(lines)}".rstrip())
        self.lines_told += [f"  {' ' * column}{line}".rstrip() for line in lines]

    def gap(self) -> None:
        if self.lines_told and self.lines_told[-1]:
            self.lines_told.append("")

    def text(self) -> str:
        return "".join(f"{line}\n" for line in self.lines_told)

    def _styled(self, text: str, style: str) -> str:
        return f"\x1b[{style}m{text}\x1b[0m" if self._colour and text else text


def _write_file(paper: _Paper, file: FileReport, until: Hold) -> None:
    if file.kind == "aircraft":
        upto = "" if until is Hold.FLIGHT else f", up to {hold_point(until)}"
        paper.heading(f"Fix list for {file.aircraft or 'an aircraft without a name'}{upto}")
    else:
        paper.heading(_TITLES.get(file.kind, "Not read"))
    paper.paragraph(file_named(file.file))
    if file.hangar:
        paper.paragraph(f"Hangar file: {file.hangar}")
    paper.gap()
    _write_mistakes(paper, file)
    for hold in Hold:
        found = [finding for finding in file.findings if finding.hold is hold]
        _write_findings(paper, hold, found, file.file)
    _write_deferred(paper, file)
    _write_not_checked(paper, file)
    for crash in file.crashes:
        _write_crash(paper, crash)
    if file.kind == "aircraft":
        _write_tally(paper, file.tally, until)


_TITLES: Final = {"parts": "A file of parts", "hangar": "A hangar file"}


def _write_mistakes(paper: _Paper, file: FileReport) -> None:
    if not file.mistakes:
        return
    if file.kind != "not-read":
        effect = "counts for nothing" if file.kind == "hangar" else "is not judged"
        paper.heading(f"Mistakes of form ({len(file.mistakes)}): what they touch {effect}")
        paper.gap()
    for mistake in file.mistakes:
        _write_mistake(paper, mistake)


def _write_mistake(paper: _Paper, mistake: Mistake) -> None:
    paper.entry("MISTAKE", mistake.message, _BOLD)
    paper.entry("at", where(mistake.at))
    for reason in mistake.related:
        paper.entry("see", f"{line_told(reason.at, mistake.at.file)}: {reason.text}")
    if mistake.do:
        paper.entry("do", mistake.do)
    paper.gap()


def _write_findings(
    paper: _Paper, hold: Hold, findings: list[PlacedFinding], own_file: str
) -> None:
    if not findings:
        return
    paper.heading(f"Before {hold_point(hold)} ({len(findings)})")
    paper.gap()
    for finding in findings:
        _write_finding(paper, finding, own_file)


def _write_finding(paper: _Paper, finding: PlacedFinding, own_file: str) -> None:
    paper.entry(finding.severity.name, finding.message, _SEVERITY_STYLE[finding.severity])
    paper.entry("at", where(finding.at))
    for reason in finding.because[:_MOST_REASONS]:
        paper.entry("because", f"{reason.text} ({line_told(reason.at, finding.at.file)})")
    unsaid = len(finding.because) - _MOST_REASONS
    if unsaid > 0:
        paper.entry("because", f"and {unsaid} more, which the JSON report lists")
    paper.entry("do", finding.do)
    if finding.fix is not None:
        paper.entry("fix", f"`{fix_command(finding.rule, own_file)}` can write this")
    paper.entry("rule", finding.rule)
    paper.gap()


_PLAIN_NAME: Final = re.compile(r"[\w./+,:@%-]+")


def fix_command(rule: str, file: str) -> str:
    """Return the command that shows the fixes of a rule in a file."""
    return f"holdshort fix {file_argument(file)} --rule {rule}"


def file_argument(file: str) -> str:
    """Return the name of a file as an argument: quoted where a shell asks it, and no option."""
    if file.startswith("-") and file != "-":
        file = f"./{file}"
    return file if _PLAIN_NAME.fullmatch(file) else "'" + file.replace("'", "'\\''") + "'"


def _write_deferred(paper: _Paper, file: FileReport) -> None:
    if not file.deferred:
        return
    paper.heading(f"Deferred ({len(file.deferred)}): found, and accepted for now")
    paper.gap()
    for item in file.deferred:
        _write_deferral(paper, item, file.file)


def _write_deferral(paper: _Paper, item: DeferredFinding, own_file: str) -> None:
    finding = item.finding
    paper.entry(finding.severity.name, finding.message, _SEVERITY_STYLE[finding.severity])
    paper.entry("at", where(finding.at))
    paper.entry("holds", hold_point(finding.hold))
    paper.entry("reason", f"{item.reason} ({line_told(item.at, own_file)})")
    paper.entry("by", f"{item.by} and {item.second}" if item.second else item.by)
    paper.entry("until", item.until)
    paper.entry("do", finding.do)
    paper.entry("rule", finding.rule)
    paper.gap()


def _write_not_checked(paper: _Paper, file: FileReport) -> None:
    if not file.not_checked:
        return
    paper.heading(f"Not checked ({len(file.not_checked)}): facts that are not declared")
    paper.gap()
    for needs, items in by_needs(file.not_checked).items():
        rules = ", ".join(dict.fromkeys(item.rule for item in items))
        places = lines_told([item.at for item in items], file.file)
        paper.entry("needs", f"{needs} ({places}), for {rules}")
    paper.gap()


def by_needs(items: Iterable[OpenQuestion]) -> dict[str, list[OpenQuestion]]:
    """Return open questions by what they need."""
    merged: dict[str, list[OpenQuestion]] = {}
    for item in items:
        merged.setdefault(item.needs, []).append(item)
    return merged


def _write_crash(paper: _Paper, crash: FailedRule) -> None:
    paper.heading("A rule failed: a mistake in the rule, not in the aircraft")
    paper.gap()
    paper.entry("rule", f"{crash.rule}, of pack {crash.pack}")
    paper.entry("error", crash.error)
    lines = crash.traceback.splitlines()[-_MOST_LINES_OF_TRACEBACK:]
    for line in lines:
        paper.entry("", line)
    paper.entry("do", "Tell whoever keeps the pack; nothing this rule looks for was judged.")
    paper.gap()


def _write_tally(paper: _Paper, tally: Tally, until: Hold, counted: str = "rule") -> None:
    for label, text in _tally_rows(tally, until, counted):
        paper.entry(label, text, _BOLD, _TALLY_WIDTH)
    paper.gap()


def _tally_rows(tally: Tally, until: Hold, counted: str) -> Iterator[tuple[str, str]]:
    if tally.mistakes:
        yield "Mistakes", f"{tally.mistakes}"
    if tally.crashes:
        yield "Failed rules", f"{tally.crashes}"
    yield "Held", _held(tally)
    if tally.later:
        points = " and ".join(
            f"{count} {hold_point(hold)}" for hold, count in sorted(tally.later.items())
        )
        yield "Held later", f"{points}; not listed, as only {hold_point(until)} was asked about"
    if tally.notes:
        yield "Notes", f"{tally.notes}, which {'hold' if tally.notes > 1 else 'holds'} nothing"
    yield "Deferred", f"{tally.deferred}"
    yield "Not checked", f"{tally.not_checked}"
    yield "Clean", _of(tally.clean, counted)
    yield "Nothing to judge", _of(tally.nothing_to_judge, counted)


def _held(tally: Tally) -> str:
    parts = [
        f"{count} {severity.word}{'' if count == 1 else 's'} before {hold_point(hold)}"
        for (hold, severity), count in sorted(tally.held.items())
        if severity.holds
    ]
    return f"{tally.held_in_all}: {', '.join(parts)}" if parts else "0"


def _of(count: int, counted: str) -> str:
    return f"{count} {counted}{'' if count == 1 else 's'}"


def _write_silent(paper: _Paper, files: Iterable[FileReport]) -> None:
    for file in files:
        if file.kind == "hangar":
            paper.paragraph(
                f"{file_named(file.file)} is a hangar file without mistakes of form. What it says "
                "counts for the aircraft in its folder and below."
            )
            continue
        paper.paragraph(
            f"{file_named(file.file)} is a file of parts without mistakes of form. "
            "Parts are judged in the aircraft that they are fitted to."
        )


def hold_point(hold: Hold) -> str:
    """Return how a hold point is called in running text."""
    return "engine run" if hold is Hold.ENGINE_RUN else hold.word


def file_named(name: str) -> str:
    """Return how a file is called, standard input by these words."""
    return "standard input" if name == "-" else name


def where(spot: Spot) -> str:
    """Return a place in full, in the form that terminals and editors can follow."""
    file = file_named(spot.file)
    place = f"{file}:{spot.line}:{spot.column}" if spot.line else file
    return f"{place}, {spot.path}" if spot.path else place


def line_told(spot: Spot, own_file: str) -> str:
    """Return a place in short: its line, with the file where that is another one."""
    line = f"line {spot.line}" if spot.line else ""
    if spot.file == own_file:
        return line or "this file"
    return f"{file_named(spot.file)} {line}".rstrip()


def lines_told(spots: Iterable[Spot], own_file: str) -> str:
    """Return places in short, those in one file together."""
    by_file: dict[str, list[int]] = {}
    for spot in spots:
        lines = by_file.setdefault(spot.file, [])
        if spot.line not in lines:
            lines.append(spot.line)
    shown: list[str] = []
    for file, lines in by_file.items():
        words = f"line{'' if len(lines) == 1 else 's'} {', '.join(str(line) for line in lines)}"
        shown.append(words if file == own_file else f"{file_named(file)} {words}")
    return "; ".join(shown)
