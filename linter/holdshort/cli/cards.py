"""``holdshort cards``: what to do on the bench with one aircraft, and what must be seen."""

import argparse
from pathlib import Path
from typing import Final

from holdshort.analysis import Aircraft
from holdshort.analysis.bench_cards import CardSheet
from holdshort.analysis.cards import card_sheet
from holdshort.analysis.code_words import CodeWords
from holdshort.cli import output
from holdshort.cli.files import Files, open_named
from holdshort.cli.hangars import Hangars, Home
from holdshort.cli.packs import installed_rulebook
from holdshort.cli.targets import cannot_write, write_file
from holdshort.rulebook.settings import Settings
from holdshort.setup import load

PAGE_ENDINGS: Final = (".html", ".htm")
"""How the name of a page may end."""


def run(arguments: argparse.Namespace) -> int:
    """Print the cards or write the page; 2 where the file has mistakes of form.

    Nothing is written where there is no setup to write of.
    """
    if arguments.output is not None:
        trouble = _cannot_write(Path(arguments.output), arguments)
        if trouble:
            output.say(trouble)
            return 2
    opened = open_named(arguments.file)
    if opened.document is None:
        output.complain([opened.fault] if opened.fault else [])
        return 2
    files = Files()
    hangars = Hangars(files, arguments.hangar)
    home = hangars.home(opened.name)
    loaded = load(opened.document, files.catalogue_reader(opened.name), home.shared)
    settings = _settings(hangars, home)
    faults = (*(settings.faults if settings else home.faults), *loaded.faults)
    output.complain(faults)
    sheet = card_sheet(Aircraft(loaded.setup), _codes(settings))
    done = _give(sheet, arguments)
    return 0 if done and settings is not None and not faults else 2


def _settings(hangars: Hangars, home: Home) -> Settings | None:
    """Return what applies under a hangar file, or None after saying why no rules can be loaded."""
    rulebook = installed_rulebook()
    return None if rulebook is None else hangars.settings(home, rulebook)


def _codes(settings: Settings | None) -> tuple[CodeWords, ...]:
    """Return what the packs tell of codes."""
    return tuple(code for pack in settings.packs for code in pack.codes) if settings else ()


def _give(sheet: CardSheet, arguments: argparse.Namespace) -> bool:
    if arguments.output is not None:
        from holdshort.fixlist.cards_page import render_page  # noqa: PLC0415  - only a page pays

        return write_file(Path(arguments.output), render_page(sheet))
    if arguments.format == "json":
        from holdshort.fixlist.cards_json import render_json  # noqa: PLC0415  - as above

        output.write(render_json(sheet))
        return True
    from holdshort.fixlist.cards_text import render_text  # noqa: PLC0415  - as above

    output.write(render_text(sheet))
    return True


def _cannot_write(file: Path, arguments: argparse.Namespace) -> str:
    """Say why the page cannot be written as asked, or nothing."""
    if arguments.format != "text":
        return "`-o` writes a page, and `--format` says how to print: use one of them."
    if file.suffix.lower() not in PAGE_ENDINGS:
        return f"A page ends in {' or '.join(PAGE_ENDINGS)}, and {file} does not."
    return cannot_write(file, "the page", (arguments.file,))
