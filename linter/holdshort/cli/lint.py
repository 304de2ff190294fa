"""``holdshort lint``: judge setup files and print the fix list. Nothing is written to files."""

import argparse
from collections.abc import Iterable, Iterator

from holdshort.analysis import Aircraft
from holdshort.cli import output
from holdshort.cli.files import Files, Opened
from holdshort.cli.packs import installed_rulebook
from holdshort.fixlist.report import FileReport, Report, make_report, plain_file_report
from holdshort.rulebook import Hold, Rulebook, judge
from holdshort.setup import check_catalogue, load


def run(arguments: argparse.Namespace) -> int:
    """Judge what was named, print the fix list, return the exit code."""
    rulebook = installed_rulebook()
    if rulebook is None:
        return 2
    until = next(hold for hold in Hold if hold.word == arguments.until)
    report = Report(until, tuple(reports(arguments.paths, rulebook, until)))
    output.write(_rendered(report, arguments.format))
    if not report.job_done:
        return 2
    return 1 if report.tally.held_in_all else 0


def reports(paths: Iterable[str], rulebook: Rulebook, until: Hold) -> Iterator[FileReport]:
    """Yield what there is to say about each file that ``paths`` name."""
    files = Files()
    for path in paths:
        for opened in files.open(path):
            yield _report(opened, files, rulebook, until)


def _report(opened: Opened, files: Files, rulebook: Rulebook, until: Hold) -> FileReport:
    document = opened.document
    if document is None:
        faults = [opened.fault] if opened.fault else []
        return plain_file_report(opened.name, "not-read", faults)
    if opened.is_catalogue:
        return plain_file_report(opened.name, "parts", check_catalogue(document))
    loaded = load(document, files.catalogue_reader(opened.name))
    return make_report(loaded, judge(Aircraft(loaded.setup), rulebook), until)


def _rendered(report: Report, form: str) -> str:
    if form == "json":
        from holdshort.fixlist.json_format import render_json  # noqa: PLC0415  - only when asked

        return render_json(report)
    from holdshort.fixlist.text import PLAIN_WIDTH, render_text  # noqa: PLC0415  - only when asked

    return render_text(report, output.width() or PLAIN_WIDTH, colour=output.in_colour())
