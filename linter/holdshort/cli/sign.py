"""``holdshort sign``: write down that a test was done, with what it proved."""

import argparse
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Final

from holdshort.analysis import Aircraft
from holdshort.analysis.figures import BadFigure, read_figure
from holdshort.analysis.known_tests import KnownTest
from holdshort.analysis.proof import Evidence
from holdshort.analysis.signing import Answers, Entry, new_entry
from holdshort.cli import output
from holdshort.cli.files import STANDARD_INPUT, Files, open_named
from holdshort.cli.hangars import Hangars, Home
from holdshort.cli.packs import installed_rulebook
from holdshort.document import Document, DocumentError
from holdshort.fixlist.sign_text import render_signed, render_tests
from holdshort.rulebook.settings import Settings
from holdshort.setup import load
from holdshort.setup.base import DAY, TEXT, WORDS
from holdshort.setup.mistakes import did_you_mean

if TYPE_CHECKING:
    from holdshort.document.edit import EditableText

_SECTION: Final = "sign-offs"


class CannotSignError(Exception):
    """Nothing can be signed: the message says why, in whole sentences; empty where it was said."""


def run(arguments: argparse.Namespace) -> int:
    """List the tests, or sign for one; 2 where that cannot be done."""
    try:
        bench = _bench(arguments)
        evidence = bench.evidence(bench.document)
        if not arguments.test:
            output.write(render_tests(evidence, arguments.file))
            return 0
        test = _test(evidence, " ".join(arguments.test))
        answers = _answers(arguments, test, bench.today)
        entry = _signed(bench, test, answers, arguments.file)
        opened = open_named(arguments.file)
        now = bench.evidence(opened.document) if opened.document else evidence
        output.write(render_signed(now, entry))
    except CannotSignError as error:
        if str(error):
            output.say(str(error))
        return 2
    except DocumentError as error:
        output.complain([error.fault])
        return 2
    except OSError as error:
        output.say(f"{arguments.file} could not be written: {error.strerror or error}.")
        return 2
    return 0


# -- the file ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Bench:
    """What the file is read with, every time that its text may have changed."""

    document: Document
    files: Files
    home: Home
    settings: Settings
    today: date

    def evidence(self, document: Document) -> Evidence:
        """Return the evidence in a document. Raises CannotSignError for one with mistakes."""
        loaded = load(document, self.files.catalogue_reader(document.name), self.home.shared)
        faults = (*self.settings.faults, *loaded.faults)
        if faults:
            output.complain(faults)
            raise CannotSignError("Nothing is signed while there are mistakes of form.")
        settings = self.settings
        return Aircraft(loaded.setup, settings.quantities, self.today, settings.tests).evidence


def _bench(arguments: argparse.Namespace) -> _Bench:
    if arguments.file == STANDARD_INPUT:
        raise CannotSignError("A sign-off is written to a file: name one.")
    opened = open_named(arguments.file)
    if opened.document is None:
        output.complain([opened.fault] if opened.fault else [])
        raise CannotSignError
    if opened.is_catalogue or opened.is_hangar:
        raise CannotSignError(f"{arguments.file} is no setup file of an aircraft.")
    rulebook = installed_rulebook()
    if rulebook is None:
        raise CannotSignError
    files = Files()
    hangars = Hangars(files, arguments.hangar)
    home = hangars.home(opened.name)
    today = date.today()  # noqa: DTZ011  - the day where the owner is
    return _Bench(opened.document, files, home, hangars.settings(home, rulebook), today)


def _test(evidence: Evidence, name: str) -> KnownTest:
    if name in evidence.tests:
        return evidence.tests[name]
    why = evidence.left_out.get(name)
    if why is not None:
        raise CannotSignError(f"`{name}` is not for this aircraft: {why}.")
    near = did_you_mean(name, evidence.tests)
    raise CannotSignError(f"There is no test `{name}`. {near}".rstrip())


def _signed(bench: _Bench, test: KnownTest, answers: Answers, file: str) -> Entry:
    """Write the sign-off. Raises CannotSignError, DocumentError and OSError: nothing written."""
    from holdshort.document.edit import EditError  # noqa: PLC0415  - only what writes pays
    from holdshort.document.rewrite import rewrite_file  # noqa: PLC0415  - as above

    written: list[Entry] = []

    def change(text: "EditableText") -> None:
        # The proof is that of the file as it stands under the lock, not as it was first read.
        evidence = bench.evidence(text.document)
        _test(evidence, test.name)
        entry = new_entry(evidence, test.name, answers)
        _append(text, entry)
        written.append(entry)

    try:
        rewrite_file(file, change)
    except EditError as error:
        raise CannotSignError(f"{file} is left as it was: {error}") from error
    return written[-1]


def _append(text: "EditableText", entry: Entry) -> None:
    """Add the entry behind the last one, in lines, with each subject of the proof on one line."""
    from holdshort.document.edit import OneLine  # noqa: PLC0415  - as above

    fields = dict(entry.fields)
    if "figures" in fields:
        fields["figures"] = OneLine(fields["figures"])
    if entry.proved is not None:
        fields["proved"] = {name: OneLine(facts) for name, facts in entry.proved.items()}
    fields["fingerprint"] = entry.fingerprint
    root = text.document.root
    if _SECTION not in root:
        text.add((_SECTION,), [fields], flow=False)
        return
    before = root[_SECTION]
    if before is None:
        text.set_value((_SECTION,), [])
    text.add((_SECTION, len(before) if isinstance(before, list) else 0), fields, flow=False)


# -- answers -------------------------------------------------------------------------------------


def _answers(arguments: argparse.Namespace, test: KnownTest, today: date) -> Answers:
    """Return what was given, asking for the rest at a terminal."""
    given = _figures_given(arguments.figure or (), test)
    asker = _Asker(asks=_at_terminal())
    on = arguments.on or today.isoformat()
    _check_day(on, today)
    outcome = arguments.outcome or asker.outcome()
    by = arguments.by or asker.name(f"Who did `{test.name}`?", "--by NAME")
    second = arguments.second or (asker.second("Who watched?") if test.second else "")
    if outcome == "passed":
        given |= asker.figures(test, given)
    asker.end(test)
    for name, text in (("--by", by), ("--second", second), ("--note", arguments.note or "")):
        _check_text(name, text)
    return Answers(on, by, outcome, second, given, arguments.note or "")


def _check_day(day: str, today: date) -> None:
    if not DAY.fits(day):
        raise CannotSignError(f"`{day}` is no day: write it as `2026-05-31`.")
    if date.fromisoformat(day) > today:
        raise CannotSignError(f"{day} is still to come: today is {today.isoformat()}.")


def _check_text(name: str, text: str) -> None:
    if text and not text.strip():
        raise CannotSignError(f"{name} says nothing.")
    if not text.isprintable():
        raise CannotSignError(f"{name} is not one line of text that can be seen.")
    if len(text) > WORDS.longest:
        raise CannotSignError(f"{name} is longer than {WORDS.longest} characters.")


def _figures_given(given: "list[str] | tuple[str, ...]", test: KnownTest) -> dict[str, str]:
    found: dict[str, str] = {}
    for pair in given:
        name, equals, value = pair.partition("=")
        if not equals:
            raise CannotSignError(f"`{pair}` is no figure: write it as `NAME=VALUE`.")
        if name in found:
            raise CannotSignError(f"The figure `{name}` is given twice.")
        found[name] = _checked(test, name, value)
    return found


def _checked(test: KnownTest, name: str, value: str) -> str:
    """Return a figure as it is to be written. Raises CannotSignError for one that cannot be."""
    figure = next((one for one in test.figures if one.name == name), None)
    if figure is None:
        near = did_you_mean(name, [one.name for one in test.figures])
        more = near or "Put it into the note."
        raise CannotSignError(f"`{test.name}` has no figure `{name}`. {more}")
    read = read_figure(figure, value.strip()) if len(value) <= TEXT.longest else None
    if read is None or isinstance(read, BadFigure):
        problem = f"{read.problem}. {read.do}" if read else "which is too long."
        raise CannotSignError(f"`{name}` is `{value[:60]}`, {problem}".rstrip())
    return read.text


def _at_terminal() -> bool:
    try:
        return sys.stdin.isatty()
    except (AttributeError, ValueError):
        return False


@dataclass(slots=True)
class _Asker:
    """Asks for what is missing where there is somebody to ask; else gathers what is missing."""

    asks: bool
    missing: list[str] = field(default_factory=list[str])

    def name(self, question: str, option: str) -> str:
        """Return the name of who did it, which there must be."""
        if not self.asks:
            self.missing.append(option)
            return ""
        while True:
            answer = self._name(question)
            if answer:
                return answer

    def second(self, question: str) -> str:
        """Return the name of who watched; empty where nobody did."""
        return self._name(f"{question} (nothing: nobody)") if self.asks else ""

    def _name(self, question: str) -> str:
        while True:
            answer = self._line(question)
            try:
                _check_text("A name", answer)
            except CannotSignError as error:
                output.say(str(error))
            else:
                return answer

    def outcome(self) -> str:
        if not self.asks:
            self.missing.append("--passed or --failed")
            return ""
        while True:
            answer = self._line("Passed or failed?").lower()
            for word in ("passed", "failed"):
                if answer and word.startswith(answer):
                    return word

    def figures(self, test: KnownTest, given: dict[str, str]) -> dict[str, str]:
        return dict(self._figures(test, given))

    def _figures(self, test: KnownTest, given: dict[str, str]) -> Iterator[tuple[str, str]]:
        for figure in test.figures:
            if figure.name in given or not (figure.required or self.asks):
                continue
            example = figure.kind.dimension.example
            if not self.asks:
                self.missing.append(f"--figure {figure.name}='{example}'")
                continue
            value = self._figure(test, figure.name, f"{figure.text}, such as {example}?")
            if value or figure.required:
                yield figure.name, value

    def _figure(self, test: KnownTest, name: str, question: str) -> str:
        required = next(one.required for one in test.figures if one.name == name)
        more = "" if required else " (nothing: not measured)"
        while True:
            answer = self._line(f"{name}: {question}{more}")
            if not answer and not required:
                return ""
            try:
                return _checked(test, name, answer)
            except CannotSignError as error:
                output.say(str(error))

    def _line(self, question: str) -> str:
        output.write(f"{question} ")
        line = sys.stdin.readline()
        if not line:
            output.write("\n")
            raise CannotSignError("The answers ended too early: nothing is signed.")
        return line.strip()

    def end(self, test: KnownTest) -> None:
        """Raise CannotSignError where something is missing that could not be asked for."""
        if self.missing:
            missing = ", ".join(self.missing)
            raise CannotSignError(f"To sign for `{test.name}`, add: {missing}.")
