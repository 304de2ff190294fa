"""Fixes that rules propose, as the least that has to change in the text of an editor."""

from collections.abc import Iterator
from difflib import SequenceMatcher
from typing import NamedTuple

from lsprotocol.types import Range, TextEdit

from holdshort.document import Document, DocumentError
from holdshort.document.edit import EditableText
from holdshort.editor.judging import Bench, Judged
from holdshort.editor.positions import Lines
from holdshort.fixlist.plain import plain
from holdshort.fixlist.report import PlacedFinding
from holdshort.rulebook import Found
from holdshort.rulebook.fixes import Look, make_fixes


class Mend(NamedTuple):
    """A fix of one finding, proved by judging the text that it makes; its title and its edits."""

    finding: PlacedFinding
    title: str
    edits: tuple[TextEdit, ...]


def mends(judged: Judged, findings: list[PlacedFinding], bench: Bench, lines: Lines) -> list[Mend]:
    """Return the fixes of some findings of a text that can be made."""
    made = (_mend(judged, finding, bench, lines) for finding in findings)
    return [one for one in made if one is not None]


def _mend(judged: Judged, finding: PlacedFinding, bench: Bench, lines: Lines) -> Mend | None:
    if finding.fix is None or judged.look is None or judged.home is None:
        return None
    first, home = judged.look, judged.home

    def look_at(document: Document) -> Look:
        known = document.root == first.loaded.setup.documents[judged.path].root
        return first if known else bench.look_at(document, home)

    try:
        text = EditableText(judged.text, judged.path)
    except DocumentError:
        return None
    run = make_fixes(text, look_at, lambda found: _is_of(found, finding))
    if not run.written:
        return None
    changed = run.written[0].after
    return Mend(finding, plain(finding.fix.text), tuple(text_edits(lines, changed)))


def _is_of(found: Found, finding: PlacedFinding) -> bool:
    return found.rule.id == finding.rule and found.finding.fix is finding.fix


def text_edits(lines: Lines, changed: str) -> Iterator[TextEdit]:
    """Yield the edits that turn one text into another: of whole lines' middles only."""
    before = lines.text.splitlines(keepends=True)
    after = changed.splitlines(keepends=True)
    starts = [0]
    for line in before:
        starts.append(starts[-1] + len(line))
    matcher = SequenceMatcher(a=before, b=after, autojunk=False)
    for tag, low, high, new_low, new_high in matcher.get_opcodes():
        if tag != "equal":
            new = "".join(after[new_low:new_high])
            yield _narrowed(lines, starts[low], starts[high], new)


def _narrowed(lines: Lines, start: int, end: int, new: str) -> TextEdit:
    """Return an edit without what is the same at both of its ends."""
    old = lines.text[start:end]
    same = 0
    while same < min(len(old), len(new)) and old[same] == new[same]:
        same += 1
    while _cuts_line_end(old, same) or _cuts_line_end(new, same):
        same -= 1
    tail = 0
    while tail < min(len(old), len(new)) - same and old[-1 - tail] == new[-1 - tail]:
        tail += 1
    while _cuts_line_end(old, len(old) - tail) or _cuts_line_end(new, len(new) - tail):
        tail -= 1
    place = Range(lines.position_at(start + same), lines.position_at(end - tail))
    return TextEdit(place, new[same : len(new) - tail])


def _cuts_line_end(text: str, at: int) -> bool:
    """Tell whether a place is inside a line end, where no client can put it."""
    return text[max(at - 1, 0) : at + 1] == "\r\n"
