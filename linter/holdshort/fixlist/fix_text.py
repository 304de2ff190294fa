"""Fixes for a terminal: each as the lines that it changes, and what is left to do by hand."""

import difflib
import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from typing import Final, NamedTuple

from holdshort.document import show_path
from holdshort.fixlist.plain import plain, wrap
from holdshort.fixlist.text import fix_command
from holdshort.rulebook import Found, Hold
from holdshort.rulebook.fixes import FixRun, Look, UnwrittenFix, WrittenFix
from holdshort.rulebook.wording import counted

CAUTION: Final = (
    "A fix changes what the file says, never the aircraft: until the box itself is set the same, "
    "the file is wrong about it."
)
"""What goes with every fix."""

_LINE_END: Final = re.compile(r"\r\n|\r|\n")
_SENTENCE: Final = re.compile(r"(?<=[^.])\. ")
_NO_LINE_END: Final = "\\ No newline at end of file"
_CONTEXT: Final = 2
_LABEL_WIDTH: Final = 9
_BOLD, _RED, _GREEN, _CYAN, _DIM = "1", "31", "32", "36", "2"


class Page(NamedTuple):
    """How wide the text is, and whether it may be coloured."""

    width: int
    colour: bool = False

    def styled(self, text: str, style: str) -> str:
        """Return ``text`` in a style, where there is colour."""
        return f"\x1b[{style}m{text}\x1b[0m" if self.colour and text else text

    def entry(self, label: str, text: str) -> Iterator[str]:
        """Yield a label and, beside it, text that keeps to its own column."""
        lines = wrap(plain(text), self.width - _LABEL_WIDTH - 2)
        margin = " " * (_LABEL_WIDTH - len(label))
        yield f"  {self.styled(label, _DIM)}{margin}{next(lines)}".rstrip()
        yield from (f"  {' ' * _LABEL_WIDTH}{line}".rstrip() for line in lines)


def render_proposed(run: FixRun, file: str, command: str, page: Page) -> str:
    """Return what could be written to ``file``, as unified diffs; nothing was.

    Each diff begins where the one before it ended. ``command`` is what writes them.
    """
    lines: list[str] = []
    for item in run.written:
        lines += [*_change(item, file, page), ""]
    lines += _left(run.unwritten, page)
    if run.written:
        lines += page.entry("to write", f"`{command}`")
        lines += ["", *wrap(CAUTION, page.width)]
    elif not run.unwritten:
        lines += wrap("Nothing to fix: no finding here has a fix that can be written.", page.width)
    return _text(lines)


def render_written(run: FixRun, file: str, page: Page) -> str:
    """Return what was written to ``file``: which findings went, which stayed, which are new."""
    heading = f"Written to {file}: {counted(len(run.written), 'fix', 'fixes')}"
    lines = [*_bold(heading if run.written else f"Nothing was written to {file}", page), ""]
    for item in run.written:
        lines += page.entry("fixed", _named(item.found, item.look))
        lines += [*page.entry("then", item.fix.text), ""]
    lines += _left(run.unwritten, page)
    fixed = Counter(_key(item.found) for item in run.written)
    went, came, stayed = _compared(run)
    others = went - fixed
    lines += _listed("went", run.first, _taken(others), page)
    lines += _listed("new", run.last, _taken(came), page)
    lines += _listed("stayed", run.last, _taken(stayed), page)
    if run.written:
        lines += wrap(CAUTION, page.width)
    return _text(lines)


def render_by_name(rules: Iterable[str], file: str, page: Page) -> str:
    """Return the commands that show the fixes which are left out unless they are asked for."""
    shown = "; ".join(f"`{fix_command(rule, file)}`" for rule in rules)
    return _text(
        ["", *page.entry("by name", f"{shown} shows a change that only tidies")] if shown else []
    )


def _text(lines: Iterable[str]) -> str:
    return "".join(f"{line}\n" for line in lines)


def _bold(text: str, page: Page) -> list[str]:
    return [page.styled(line, _BOLD) for line in wrap(plain(text), page.width)]


def _change(item: WrittenFix, file: str, page: Page) -> Iterator[str]:
    """Yield one fix: its finding in a line, the lines that change, and what is left to do."""
    found = item.found
    said = plain(_SENTENCE.split(found.finding.message)[0].removesuffix("."))
    yield page.styled(f"{found.severity.name} before {_point(found.hold)}: {said}", _BOLD)
    before, after = _lines(item.before), _lines(item.after)
    name = plain(file)
    for line in difflib.unified_diff(before, after, name, name, n=_CONTEXT, lineterm=""):
        shown, _, mark = line.partition("\n")
        yield page.styled(plain(shown), _style(line))
        if mark:
            yield page.styled(mark, _DIM)
    yield from page.entry("rule", found.rule.id)
    yield from page.entry("then", item.fix.text)


def _lines(text: str) -> list[str]:
    """Return the lines of a file; one without a line end says so, as ``patch`` reads it."""
    lines = _LINE_END.split(text)
    last = lines.pop()
    return [*lines, f"{last}\n{_NO_LINE_END}"] if last else lines


def _style(line: str) -> str:
    if line.startswith(("--- ", "+++ ")):
        return _BOLD
    return {"-": _RED, "+": _GREEN, "@": _CYAN}.get(line[:1], _DIM)


def _left(unwritten: Iterable[UnwrittenFix], page: Page) -> Iterator[str]:
    for item in unwritten:
        yield from page.entry("left", f"{_named(item.found, item.look)}. {item.why}")
        yield ""


def _named(found: Found, look: Look) -> str:
    setup, place = look.loaded.setup, found.finding.at
    where = f"line {setup.span(place).line}"
    if place.file != setup.file:
        where = f"{place.file} {where}"
    path = show_path(place.path)
    return f"{found.severity.word} {found.rule.id} at {path} ({where})"


def _point(hold: Hold) -> str:
    return "engine run" if hold is Hold.ENGINE_RUN else hold.word


_Key = tuple[str, str]


def _key(found: Found) -> _Key:
    return found.rule.id, found.finding.message


def _compared(run: FixRun) -> tuple[Counter[_Key], Counter[_Key], Counter[_Key]]:
    """Return the findings that are there no more, that are new, and that are there still."""
    first = Counter(_key(found) for found in run.first.judgement.found)
    last = Counter(_key(found) for found in run.last.judgement.found)
    return first - last, last - first, first & last


def _taken(counts: Counter[_Key]) -> Callable[[Found], bool]:
    """Return what picks each finding as often as it is counted."""
    left = Counter(counts)

    def take(found: Found) -> bool:
        left[_key(found)] -= 1
        return left[_key(found)] >= 0

    return take


def _listed(label: str, look: Look, picked: Callable[[Found], bool], page: Page) -> Iterator[str]:
    chosen = [found for found in look.judgement.found if picked(found)]
    for found in chosen:
        yield from page.entry(label, _named(found, look))
    if chosen:
        yield ""
