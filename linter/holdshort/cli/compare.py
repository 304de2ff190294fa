"""``holdshort compare``: two setups side by side, or one file at two times."""

import argparse
from typing import NamedTuple

from holdshort.analysis.compared import Compared
from holdshort.cli import output
from holdshort.cli.files import STANDARD_INPUT
from holdshort.cli.judged import JudgedFile, judge_document, open_aircraft, this_day
from holdshort.cli.packs import installed_rulebook
from holdshort.cli.revisions import Revision, RevisionError, revision_problem
from holdshort.document import Document, DocumentError
from holdshort.fixlist.compare_report import CompareReport
from holdshort.rulebook import Rulebook
from holdshort.rulebook.findings_compared import findings_compared


class _CannotCompareError(Exception):
    """Nothing can be compared; the message says why, or is empty where that was said."""


def run(arguments: argparse.Namespace) -> int:
    """Print the comparison; 1 where something came that holds or a sign-off falls, else 0 or 2."""
    try:
        report = _report(arguments)
    except (_CannotCompareError, RevisionError) as error:
        if str(error):
            output.say(str(error))
        return 2
    except DocumentError as error:
        output.complain([error.fault])
        return 2
    if arguments.format == "json":
        from holdshort.fixlist.compare_json import render_json  # noqa: PLC0415  - only when asked

        output.write(render_json(report))
    else:
        from holdshort.fixlist.compare_text import render_text  # noqa: PLC0415  - as above

        output.write(render_text(report))
    if report.old.crashes or report.new.crashes:
        return 2
    return 1 if report.holds_more else 0


class _Pair(NamedTuple):
    old: JudgedFile
    new: JudgedFile
    notes: tuple[str, ...] = ()


def _report(arguments: argparse.Namespace) -> CompareReport:
    trouble = _problem(arguments)
    if trouble:
        raise _CannotCompareError(trouble)
    rulebook = installed_rulebook()
    if rulebook is None:
        raise _CannotCompareError
    pair = _revisions(arguments, rulebook) if arguments.revision else _two(arguments, rulebook)
    old, new = pair.old, pair.new
    faults = (*old.faults, *new.faults)
    if faults:
        output.complain(faults)
        raise _CannotCompareError("Nothing is compared while there are mistakes of form.")
    for crash in (*old.report.crashes, *new.report.crashes):
        output.say(f"Rule `{crash.rule}` of pack `{crash.pack}` failed: {crash.error}")
    same = arguments.same_aircraft or old.report.aircraft == new.report.aircraft
    compared = Compared(old.aircraft, new.aircraft, same_aircraft=same)
    found = findings_compared(
        (old.setup, old.judgement), (new.setup, new.judgement), compared.renames
    )
    return CompareReport(compared, found, old.report, new.report, pair.notes)


def _problem(arguments: argparse.Namespace) -> str:
    """Say why what was asked for cannot be done, or nothing."""
    if arguments.revision is None:
        if arguments.new is None:
            return "Name two files, or one file and a `--revision` that git keeps of it."
        if arguments.old == arguments.new == STANDARD_INPUT:
            return "Only one of the two files can come from standard input."
        return ""
    if arguments.new is not None:
        return "With `--revision`, name one file."
    if arguments.old == STANDARD_INPUT:
        return "Standard input has no revisions: name a file."
    return revision_problem(arguments.revision)


def _two(arguments: argparse.Namespace, rulebook: Rulebook) -> _Pair:
    documents = [_opened(name) for name in (arguments.old, arguments.new)]
    today = this_day()
    old, new = (judge_document(one, rulebook, arguments.hangar, today) for one in documents)
    return _Pair(old, new)


def _opened(file: str) -> Document:
    document = open_aircraft(file)
    if document is None:
        raise _CannotCompareError
    return document


def _revisions(arguments: argparse.Namespace, rulebook: Rulebook) -> _Pair:
    file, today = arguments.old, this_day()
    present = _opened(file)
    revision = Revision(arguments.revision, file)
    then, still = set[str](), set[str]()
    old = judge_document(
        revision.document(),
        rulebook,
        arguments.hangar,
        today,
        read=revision.reader(then, still),
        seen_from=file,
    )
    new = judge_document(present, rulebook, arguments.hangar, today)
    return _Pair(old, new, tuple(_how_read(arguments.revision, then, still, old.home.name)))


def _how_read(revision: str, then: set[str], still: set[str], hangar: str) -> list[str]:
    notes: list[str] = []
    if then:
        notes.append(f"Read as of {revision}: {', '.join(sorted(then))}.")
    if still:
        notes.append(f"Read as now, not being in {revision}: {', '.join(sorted(still))}.")
    if hangar:
        notes.append(f"The hangar file {hangar} counts as it is now for both, with its parts.")
    return notes
