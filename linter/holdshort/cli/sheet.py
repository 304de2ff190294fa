"""``holdshort sheet``: write the sheet of one aircraft, to hand over or to print on A4."""

import argparse
from datetime import date
from pathlib import Path
from typing import Final

from holdshort.analysis import Aircraft
from holdshort.cli import output
from holdshort.cli.files import Files, Opened, open_named
from holdshort.cli.hangars import Hangars, Home
from holdshort.cli.packs import installed_rulebook
from holdshort.cli.targets import cannot_write, write_file
from holdshort.document import Document
from holdshort.fixlist.report import FileReport, Report, make_report, plain_file_report
from holdshort.fixlist.sheet_facts import SheetFacts
from holdshort.rulebook import Hold, Rulebook, judge
from holdshort.rulebook.settings import Settings
from holdshort.setup import load

PAGE_ENDINGS: Final = (".html", ".htm")
"""How the name of a page may end."""


def run(arguments: argparse.Namespace) -> int:
    """Write the sheet, return the exit code that ``lint`` has for the aircraft.

    Nothing is written where there is no aircraft to tell of, or no rule to judge it by.
    """
    target = Path(arguments.output)
    opened = open_named(arguments.file)
    trouble = _cannot(target, arguments.file, opened)
    if trouble:
        output.say(trouble)
        return 2
    if opened.document is None:
        output.complain([opened.fault] if opened.fault else [])
        return 2
    rulebook = installed_rulebook()
    if rulebook is None:
        return 2
    facts = _facts(opened.document, rulebook, arguments.hangar)
    return _exit_code(facts.report) if _write(target, facts) else 2


def _cannot(target: Path, file: str, opened: Opened) -> str:
    """Say why no sheet can be written as asked, or nothing."""
    if target.suffix.lower() not in PAGE_ENDINGS:
        return f"A sheet ends in {' or '.join(PAGE_ENDINGS)}, and {target} does not."
    if opened.is_catalogue or opened.is_hangar:
        kind = "file of parts" if opened.is_catalogue else "hangar file"
        return f"{file} is a {kind}; a sheet is made of one aircraft."
    return cannot_write(target, "the sheet", (file,))


def _facts(document: Document, rulebook: Rulebook, hangar: str | None) -> SheetFacts:
    """Judge the aircraft, telling the mistakes of form on the way."""
    files = Files()
    hangars = Hangars(files, hangar)
    home = hangars.home(document.name)
    settings = hangars.settings(home, rulebook)
    loaded = load(document, files.catalogue_reader(document.name), home.shared)
    output.complain((*settings.faults, *loaded.faults))
    today = date.today()  # noqa: DTZ011  - the day where the owner is
    aircraft = Aircraft(loaded.setup, settings.quantities, today, settings.tests)
    judgement = judge(aircraft, settings.rulebook, severities=settings.severities, today=today)
    report = make_report(loaded, judgement, Hold.FLIGHT, home.name)
    return SheetFacts(aircraft, judgement, _with_hangar(report, home, settings), settings, today)


def _with_hangar(report: FileReport, home: Home, settings: Settings) -> FileReport:
    """Return the report with the mistakes of form in the hangar file, which count as well."""
    mistakes = plain_file_report(home.name, "hangar", settings.faults).mistakes
    return report._replace(
        mistakes=(*mistakes, *report.mistakes),
        tally=report.tally._replace(mistakes=len(mistakes) + len(report.mistakes)),
    )


def _write(target: Path, facts: SheetFacts) -> bool:
    from holdshort.fixlist.sheet_page import render_page  # noqa: PLC0415  - after all refusals

    return write_file(target, render_page(facts))


def _exit_code(report: FileReport) -> int:
    if not Report(Hold.FLIGHT, (report,)).job_done:
        return 2
    return 1 if report.tally.held_in_all else 0
