"""``holdshort sheet``: write the sheet of one aircraft, to hand over or to print on A4."""

import argparse
from pathlib import Path
from typing import Final

from holdshort.cli import output
from holdshort.cli.files import Opened, open_named
from holdshort.cli.judged import exit_code, judge_document, this_day
from holdshort.cli.packs import installed_rulebook
from holdshort.cli.targets import cannot_write, write_file
from holdshort.document import Document
from holdshort.fixlist.sheet_facts import SheetFacts
from holdshort.rulebook import Rulebook

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
    return exit_code(facts.report) if _write(target, facts) else 2


def _cannot(target: Path, file: str, opened: Opened) -> str:
    """Say why no sheet can be written as asked, or nothing."""
    if target.suffix.lower() not in PAGE_ENDINGS:
        return f"A sheet ends in {' or '.join(PAGE_ENDINGS)}, and {target} does not."
    if opened.other_kind:
        return f"{file} is a {opened.other_kind}; a sheet is made of one aircraft."
    return cannot_write(target, "the sheet", (file,))


def _facts(document: Document, rulebook: Rulebook, hangar: str | None) -> SheetFacts:
    """Judge the aircraft, telling the mistakes of form on the way."""
    today = this_day()
    judged = judge_document(document, rulebook, hangar, today)
    output.complain(judged.faults)
    return SheetFacts(judged.aircraft, judged.judgement, judged.report, judged.settings, today)


def _write(target: Path, facts: SheetFacts) -> bool:
    from holdshort.fixlist.sheet_page import render_page  # noqa: PLC0415  - after all refusals

    return write_file(target, render_page(facts))
