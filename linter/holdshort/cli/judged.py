"""One aircraft file, read and judged for a command that tells of it at length."""

from datetime import date
from typing import NamedTuple

from holdshort.analysis import Aircraft
from holdshort.cli import output
from holdshort.cli.files import Files, open_named
from holdshort.cli.hangars import Hangars, Home
from holdshort.document import Document, Fault
from holdshort.fixlist.report import FileReport, make_report, plain_file_report
from holdshort.rulebook import Hold, Judgement, Rulebook, judge
from holdshort.rulebook.settings import Settings
from holdshort.setup import Loaded, Setup, load
from holdshort.setup.catalogue import ReadCatalogue


class Seen(NamedTuple):
    """One text of a setup file, read and judged."""

    aircraft: Aircraft
    loaded: Loaded
    judgement: Judgement


class Bench(NamedTuple):
    """What an aircraft file is read and judged with, however often its text changes."""

    files: Files
    home: Home
    settings: Settings
    today: date

    def look_at(self, document: Document, read: ReadCatalogue | None = None) -> Seen:
        """Read and judge one text; ``read`` reads catalogues, if not those beside the file."""
        read = read or self.files.catalogue_reader(document.name)
        return self.judge(load(document, read, self.home.shared))

    def judge(self, loaded: Loaded) -> Seen:
        """Judge what was read."""
        settings, today = self.settings, self.today
        aircraft = Aircraft(loaded.setup, settings.quantities, today, settings.tests)
        judgement = judge(aircraft, settings.rulebook, severities=settings.severities, today=today)
        return Seen(aircraft, loaded, judgement)


class JudgedFile(NamedTuple):
    """One aircraft, what applied to it, and what was found; mistakes of form are in the report."""

    aircraft: Aircraft
    loaded: Loaded
    judgement: Judgement
    report: FileReport
    settings: Settings
    home: Home

    @property
    def setup(self) -> Setup:
        """The aircraft as declared."""
        return self.loaded.setup

    @property
    def faults(self) -> tuple[Fault, ...]:
        """The mistakes of form, in the hangar file and then in the setup."""
        return (*self.settings.faults, *self.loaded.faults)


def open_aircraft(file: str) -> Document | None:
    """Return the document of an aircraft, or None after saying why there is none."""
    opened = open_named(file)
    if opened.document is None:
        output.complain([opened.fault] if opened.fault else [])
        return None
    if opened.other_kind:
        output.say(f"{file} is a {opened.other_kind}; name the setup file of an aircraft.")
        return None
    return opened.document


def judge_document(
    document: Document,
    rulebook: Rulebook,
    hangar: str | None,
    today: date,
    *,
    read: ReadCatalogue | None = None,
    seen_from: str | None = None,
) -> JudgedFile:
    """Judge one aircraft on a day.

    ``read`` reads catalogues, where they are not those beside the file; ``seen_from`` is the file
    whose folder the hangar file is looked for from, where that is not the document's own name.
    """
    files = Files()
    hangars = Hangars(files, hangar)
    home = hangars.home(seen_from or document.name)
    settings = hangars.settings(home, rulebook)
    seen = Bench(files, home, settings, today).look_at(document, read)
    report = make_report(seen.loaded, seen.judgement, Hold.FLIGHT, home.name)
    mistakes = plain_file_report(home.name, "hangar", settings.faults).mistakes
    report = report._replace(
        mistakes=(*mistakes, *report.mistakes),
        tally=report.tally._replace(mistakes=len(mistakes) + len(report.mistakes)),
    )
    return JudgedFile(*seen, report, settings, home)


def exit_code(report: FileReport) -> int:
    """Return the exit code that ``lint`` has for a file."""
    if report.mistakes or report.crashes:
        return 2
    return 1 if report.tally.held_in_all else 0


def this_day() -> date:
    """Return today, where the owner is."""
    return date.today()  # noqa: DTZ011  - the day where the owner is
