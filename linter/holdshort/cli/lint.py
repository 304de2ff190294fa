"""``holdshort lint``: judge setup files and print the fix list; also write it to files if asked."""

import argparse
import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Final

from holdshort.cli import output
from holdshort.cli.files import STANDARD_INPUT, Files, Opened, is_ours
from holdshort.cli.hangars import Hangars, Home
from holdshort.cli.judged import Bench, this_day
from holdshort.cli.packs import installed_rulebook
from holdshort.document import Document
from holdshort.fixlist.formats import render
from holdshort.fixlist.report import FileReport, Kind, Report, make_report, plain_file_report
from holdshort.rulebook import Hold, Judgement, Rulebook
from holdshort.setup import Loaded, check_catalogue

if TYPE_CHECKING:
    from holdshort.cli.outputs import Output


_SHOW_CHANGES: Final = ("sarif",)
"""The formats that give the exact change of each fix."""


def run(arguments: argparse.Namespace) -> int:
    """Judge what was named, print the fix list, write it where asked, return the exit code."""
    wanted = _outputs(arguments)
    rulebook = None if wanted is None else installed_rulebook()
    if wanted is None or rulebook is None:
        return 2
    until = next(hold for hold in Hold if hold.word == arguments.until)
    paths = ours(arguments.paths) if arguments.only_ours else arguments.paths
    forms = {arguments.format, *(one.form for one in wanted)}
    proves = not forms.isdisjoint(_SHOW_CHANGES)
    found = tuple(reports(paths, rulebook, until, hangar=arguments.hangar, proves=proves))
    report = Report(until, found, datetime.now(UTC))
    written = [one.write(report) for one in wanted]
    output.write(_rendered(report, arguments.format))
    if not report.job_done or not all(written):
        return 2
    return 1 if report.tally.held_in_all else 0


def ours(paths: Iterable[str]) -> list[str]:
    """Return ``paths`` without the files that are none of ours; say so where nothing is left."""
    kept = [
        path
        for path in paths
        if path == STANDARD_INPUT or not os.path.isfile(path) or is_ours(path)  # noqa: PTH113
    ]
    if not kept:
        output.say("None of the files named is one of ours: nothing was judged.")
    return kept


def _outputs(arguments: argparse.Namespace) -> "tuple[Output, ...] | None":
    """Return the files to write, or None after saying why they cannot be written as asked."""
    if not arguments.output:
        return ()
    from holdshort.cli.outputs import outputs  # noqa: PLC0415  - only when asked

    inputs = [*arguments.paths, *([arguments.hangar] if arguments.hangar else [])]
    return outputs(arguments.output, inputs)


def reports(
    paths: Iterable[str],
    rulebook: Rulebook,
    until: Hold,
    *,
    hangar: str | None = None,
    today: date | None = None,
    proves: bool = False,
) -> Iterator[FileReport]:
    """Yield what there is to say about each file that ``paths`` name, and each hangar file.

    ``hangar`` is the hangar file that counts for all of them, in place of the one that each has.
    Deferrals are judged on the day ``today``, by default the present one. ``proves`` asks what each
    fix does to the text of its file, which is proved by judging the changed text.
    """
    files = Files()
    hangars = Hangars(files, hangar)
    files.passes_by = hangars.passes_by
    run = LintRun(files, hangars, rulebook, until, today or this_day(), proves=proves)
    for path in paths:
        for opened in files.open(path):
            yield from run.reports(opened)


@dataclass(slots=True)
class LintRun:
    """What one run judges with, and the hangar files it has told of."""

    files: Files
    hangars: Hangars
    rulebook: Rulebook
    until: Hold
    today: date
    told: set[str] = field(default_factory=set[str])
    proves: bool = False

    def reports(self, opened: Opened) -> Iterator[FileReport]:
        """Yield what there is to say about one file, and first about the hangar file it has."""
        document = opened.document
        if document is None:
            if self._is_news(opened.name):
                faults = [opened.fault] if opened.fault else []
                yield plain_file_report(opened.name, "not-read", faults)
        elif opened.is_catalogue:
            yield plain_file_report(opened.name, "parts", check_catalogue(document))
        elif opened.is_hangar:
            yield from self._hangar(self.hangars.read(opened.name, document), asked=True)
        else:
            home = self.hangars.home(opened.name)
            yield from self._hangar(home, asked=False)
            yield self._aircraft(document, home)

    def _hangar(self, home: Home, *, asked: bool) -> Iterator[FileReport]:
        """Yield what there is to say about a hangar file: once, and only trouble unless asked."""
        if not home.name:
            return
        faults = self.hangars.settings(home, self.rulebook).faults
        if (faults or asked) and self._is_news(home.name):
            kind: Kind = "not-read" if home.hangar is None else "hangar"
            yield plain_file_report(home.name, kind, faults)

    def _is_news(self, name: str) -> bool:
        """Tell whether nothing was said of a file yet that is no aircraft; something is now."""
        key = os.path.realpath(name) if "\0" not in name else name
        news = key not in self.told
        self.told.add(key)
        return news

    def _aircraft(self, document: Document, home: Home) -> FileReport:
        loaded, judgement = self.look_at(document, home)
        changes = None
        if self.proves and document.name != STANDARD_INPUT:
            from holdshort.cli.proved_fixes import ProvedFixes  # noqa: PLC0415  - only when asked

            proved = ProvedFixes(
                document, (loaded, judgement), lambda text: self.look_at(text, home)
            )
            changes = proved.changes
        return make_report(loaded, judgement, self.until, home.name, changes)

    def look_at(self, document: Document, home: Home) -> tuple[Loaded, Judgement]:
        """Read and judge one aircraft, for which the hangar file of ``home`` counts."""
        settings = self.hangars.settings(home, self.rulebook)
        seen = Bench(self.files, home, settings, self.today).look_at(document)
        seen.aircraft.forget()
        return seen.loaded, seen.judgement


def _rendered(report: Report, form: str) -> str:
    if form != "text":
        return render(report, form)
    from holdshort.fixlist.text import PLAIN_WIDTH, render_text  # noqa: PLC0415  - only when asked

    return render_text(report, output.width() or PLAIN_WIDTH, colour=output.in_colour())
