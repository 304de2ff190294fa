"""``holdshort fix``: show, or write, the exact changes that rules propose for a setup file."""

import argparse
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from holdshort.cli import output
from holdshort.cli.files import STANDARD_INPUT, Files, Opened, open_named
from holdshort.cli.hangars import Hangars
from holdshort.cli.judged import Bench, this_day
from holdshort.cli.packs import installed_rulebook
from holdshort.document import Document, DocumentError, Limits, read_document
from holdshort.document.edit import EditableText
from holdshort.document.rewrite import rewrite_file
from holdshort.fixlist.fix_text import Page, render_by_name, render_proposed, render_written
from holdshort.fixlist.text import NARROWEST, PLAIN_WIDTH, WIDEST, file_argument
from holdshort.rulebook import Found, Hold
from holdshort.rulebook.deferrals import PACK
from holdshort.rulebook.fixes import FixRun, Look, make_fixes
from holdshort.setup.mistakes import did_you_mean

_LIMITS: Final = Limits()


def run(arguments: argparse.Namespace) -> int:
    """Show or write the fixes; 0 where none is left unwritten, 1 where one is, else 2."""
    opened, data = _opened(arguments.file)
    trouble = _cannot(opened)
    if trouble or opened.document is None:
        output.complain([opened.fault] if opened.fault else [])
        if trouble:
            output.say(trouble)
        return 2
    bench = _bench(opened.name, arguments)
    if bench is None:
        return 2
    try:
        made = _made(arguments, bench, data)
    except DocumentError as error:
        output.complain([error.fault])
        return 2
    except OSError as error:
        output.say(f"{arguments.file} could not be written: {error.strerror or error}.")
        return 2
    return _exit_code(made, bench, written=arguments.write)


def _opened(file: str) -> tuple[Opened, bytes]:
    """Read the file that is named; what comes from standard input is kept as it came."""
    if file != STANDARD_INPUT:
        return open_named(file), b""
    try:
        data = sys.stdin.buffer.read(_LIMITS.size + 1)
        return Opened(file, read_document(data, file)), data
    except DocumentError as error:
        return Opened(file, None, error.fault), b""
    except (OSError, ValueError, AttributeError):
        output.say("Standard input cannot be read. Name a file instead.")
        return Opened(file, None), b""


def _cannot(opened: Opened) -> str:
    """Say why there is nothing here to fix, or nothing."""
    if opened.other_kind:
        return (
            f"{opened.name} is a {opened.other_kind}; only the setup file of an aircraft is fixed."
        )
    return ""


@dataclass(frozen=True, slots=True)
class _Wanted:
    """What the file is judged with, and which fixes are asked for."""

    judging: Bench
    until: Hold
    rules: frozenset[str]

    def look_at(self, document: Document) -> Look:
        seen = self.judging.look_at(document)
        return Look(seen.loaded, seen.judgement)

    def wants(self, found: Found) -> bool:
        return found.hold <= self.until and (
            found.rule.id in self.rules if self.rules else found.severity.holds
        )

    def tidies(self, found: Found) -> bool:
        """Tell whether a fix waits to be asked for by name: a note may well be meant so."""
        return not self.rules and found.hold <= self.until and not found.severity.holds


def _bench(name: str, arguments: argparse.Namespace) -> _Wanted | None:
    """Return what to judge with, or None after saying what is wrong."""
    rulebook = installed_rulebook()
    if rulebook is None:
        return None
    files = Files()
    hangars = Hangars(files, arguments.hangar)
    home = hangars.home(name)
    settings = hangars.settings(home, rulebook)
    output.complain(settings.faults)
    known = [rule.id for _, rule in settings.rulebook] + [rule.id for rule in PACK.rules]
    asked = frozenset(arguments.rule or ())
    for rule in sorted(asked - set(known)):
        output.say(f"There is no rule `{rule}`. {did_you_mean(rule, known)}".rstrip())
    if asked - set(known):
        return None
    until = next(hold for hold in Hold if hold.word == arguments.until)
    return _Wanted(Bench(files, home, settings, this_day()), until, asked)


def _made(arguments: argparse.Namespace, bench: _Wanted, data: bytes) -> FixRun:
    """Make the fixes and tell of them. Raises DocumentError and OSError; nothing is then told."""
    file = arguments.file
    if file == STANDARD_INPUT or not arguments.write:
        data = data if file == STANDARD_INPUT else Path(file).read_bytes()
        read_document(data, file)  # which refuses what is too large, or no text
        text = EditableText(data.decode(), file)
        made = make_fixes(text, bench.look_at, bench.wants)
        if arguments.write:
            _pass_on(text, made)
        else:
            told = render_proposed(made, file, _command(arguments), _page())
            output.write(f"{told}{render_by_name(_by_name(made, bench), file, _page())}")
        return made
    made = _rewritten(file, bench)
    told = render_written(made, file, _page())
    output.write(f"{told}{render_by_name(_by_name(made, bench), file, _page())}")
    return made


def _by_name(made: FixRun, bench: _Wanted) -> dict[str, None]:
    """Return the rules whose fixes wait to be asked for by name."""
    found = made.last.judgement.found
    return {one.rule.id: None for one in found if one.finding.fix and bench.tidies(one)}


def _rewritten(file: str, bench: _Wanted) -> FixRun:
    runs: list[FixRun] = []

    def change(text: EditableText) -> None:
        runs.append(make_fixes(text, bench.look_at, bench.wants))

    rewrite_file(file, change)
    return runs[-1]


def _pass_on(text: EditableText, made: FixRun) -> None:
    """Write the fixed text to standard output, and what is left to do to standard error."""
    output.write_data(text.dump().encode())
    for item in made.written:
        output.say(f"{item.found.rule.id}: {item.fix.text}")
    for left in made.unwritten:
        output.say(f"{left.found.rule.id} is left: {left.why}")


def _page() -> Page:
    width = output.width() or PLAIN_WIDTH
    return Page(max(NARROWEST, min(width, WIDEST)), output.in_colour())


def _command(arguments: argparse.Namespace) -> str:
    """Return the command that writes what was shown."""
    words = ["holdshort fix", file_argument(arguments.file), "--write"]
    words += [f"--rule {rule}" for rule in arguments.rule or ()]
    if arguments.until != Hold.FLIGHT.word:
        words.append(f"--until {arguments.until}")
    if arguments.hangar is not None:
        words.append(f"--hangar {file_argument(arguments.hangar)}")
    return " ".join(words)


def _exit_code(made: FixRun, bench: _Wanted, *, written: bool) -> int:
    last = made.last
    output.complain(last.loaded.faults)
    for crash in last.judgement.crashes:
        output.say(f"The rule `{crash.rule.id}` failed: {crash.error}")
    if last.loaded.faults or last.judgement.crashes or bench.judging.settings.faults:
        return 2
    return 1 if made.unwritten or (made.written and not written) else 0
