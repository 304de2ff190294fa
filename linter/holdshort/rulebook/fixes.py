"""Writing fixes that rules propose into a setup file: each proved by judging the file again.

A fix is made whole or not at all, in the setup file alone. It counts only where the judgement of
the changed file has its finding no more, no mistake of form that was not there, no other finding
that is as grave and holds as early, and where no rule is left unable to judge what it found before.

Not imported by the package itself: only a run that writes fixes pays for it.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from typing import Final, NamedTuple, cast

from holdshort.document import Document, Path, TreeMap, show_path
from holdshort.document.edit import EditableText, EditError, Plain
from holdshort.rulebook.declare import Edit, Fix
from holdshort.rulebook.fix_offers import fix_problem, overlap
from holdshort.rulebook.judge import Found, Judgement, Unjudged
from holdshort.setup import Loaded
from holdshort.setup.runs import expand_run

_MOST_FIXES: Final = 1000
"""Far more than one file has findings."""


class Look(NamedTuple):
    """One text of a setup file as it was read and judged."""

    loaded: Loaded
    judgement: Judgement


LookAt = Callable[[Document], Look]
"""Reads and judges a setup file."""


class WrittenFix(NamedTuple):
    """A fix that was made: the finding it removes, as told of the text ``before``."""

    found: Found
    fix: Fix
    look: Look
    before: str
    after: str


class UnwrittenFix(NamedTuple):
    """A fix that was not made, and a sentence that says why."""

    found: Found
    look: Look
    why: str


class FixRun(NamedTuple):
    """What came of one run over one file: the first and the last judgement of it."""

    first: Look
    last: Look
    written: tuple[WrittenFix, ...]
    unwritten: tuple[UnwrittenFix, ...]


def make_fixes(text: EditableText, look_at: LookAt, wanted: Callable[[Found], bool]) -> FixRun:
    """Make, in ``text``, the fixes of all ``wanted`` findings, in the order of the fix list.

    The text is judged again after each. Of two fixes that touch the same place only the first is
    made. What could not be made is told, and leaves the text as it was.
    """
    first = look = look_at(text.document)
    written: list[WrittenFix] = []
    unwritten: list[UnwrittenFix] = []
    touched: list[Path] = []
    refused: set[tuple[object, ...]] = set()
    while len(written) + len(unwritten) < _MOST_FIXES:
        found = _next(look, wanted, refused)
        if found is None or found.finding.fix is None:
            break
        outcome = _attempt(text, found, look, look_at, touched)
        if isinstance(outcome, str):
            refused.add(_identity(found))
            unwritten.append(UnwrittenFix(found, look, outcome))
            continue
        fix, before = found.finding.fix, text.dump()
        _apply_all(text, fix)
        touched += _places_touched(fix)
        written.append(WrittenFix(found, fix, look, before, text.dump()))
        look = outcome
    return FixRun(first, look, tuple(written), tuple(unwritten))


def _next(
    look: Look, wanted: Callable[[Found], bool], refused: set[tuple[object, ...]]
) -> Found | None:
    for found in look.judgement.found:
        if found.finding.fix and wanted(found) and _identity(found) not in refused:
            return found
    return None


def _identity(found: Found) -> tuple[object, ...]:
    finding = found.finding
    return found.rule.id, finding.at, finding.message


def _attempt(
    text: EditableText, found: Found, look: Look, look_at: LookAt, touched: list[Path]
) -> Look | str:
    """Return the judgement of the text with the fix made, or why it is not to be made."""
    fix = found.finding.fix
    if fix is None:
        return "Its rule proposes none."
    problem = fix_problem(fix, look.loaded) or _touched_already(fix, touched)
    if problem:
        return problem
    trial = EditableText(text.dump(), text.document.name)
    try:
        _apply_all(trial, fix)
    except EditError as error:
        return str(error)
    after = look_at(trial.document)
    return _worse(found, look, after) or after


def _touched_already(fix: Fix, touched: list[Path]) -> str:
    for edit in fix.edits:
        if any(overlap(edit.at.path, other) for other in touched):
            return (
                f"Another fix of this run has changed {show_path(edit.at.path)} already: look at "
                "that one, then run this again."
            )
    return ""


def _places_touched(fix: Fix) -> Iterator[Path]:
    """Yield the places that no other fix of the run may touch.

    An item that was taken out of a list is gone: those behind it move up, and may go as well.
    """
    for edit in fix.edits:
        if edit.act != "remove" or not isinstance(edit.at.path[-1], int):
            yield edit.at.path


def _worse(found: Found, before: Look, after: Look) -> str:
    """Say in a sentence what the change makes worse or leaves; empty where it only mends."""
    known = Counter((fault.kind, fault.message) for fault in before.loaded.faults)
    known.subtract((fault.kind, fault.message) for fault in after.loaded.faults)
    mistake = next((key for key, count in known.items() if count < 0), None)
    if mistake is not None:
        return f"It would bring a mistake of form: {mistake[1]}"
    crashed = {crash.rule.id for crash in before.judgement.crashes}
    for crash in after.judgement.crashes:
        if crash.rule.id not in crashed:
            return f"The rule `{crash.rule.id}` would fail on the changed file."
    if _is_told(found, after):
        return "Its finding would still be there."
    news = _news(found, before, after)
    if news is not None:
        return f"It would bring another finding, of `{news.rule.id}`: {news.finding.message}"
    silenced = _silenced(found, before.judgement, after.judgement)
    if silenced == found.rule.id:
        return "Its finding would go only because its rule could not judge any more."
    if silenced:
        return f"`{silenced}` finds something, and could not judge it any more: nothing is hidden."
    return ""


def _is_told(found: Found, after: Look) -> bool:
    """Tell whether a finding is told once more; of a list, whose items move up, counts tell."""
    path = found.finding.at.path
    if path and isinstance(path[-1], int):
        return False
    return any(_identity(other) == _identity(found) for other in after.judgement.found)


def _news(found: Found, before: Look, after: Look) -> Found | None:
    """Return a finding that was not there and is as grave, and holds as early, or is graver."""
    counts = Counter(_kind(other) for other in before.judgement.found)
    counts[_kind(found)] -= 1  # it is to go, and nothing may come in its place
    for other in after.judgement.found:
        counts[_kind(other)] -= 1
        graver = other.severity < found.severity
        alike = other.severity is found.severity and other.hold <= found.hold
        if counts[_kind(other)] < 0 and (graver or alike):
            return other
    return None


def _kind(found: Found) -> tuple[object, ...]:
    return found.rule.id, found.severity, found.hold


def _silenced(found: Found, before: Judgement, after: Judgement) -> str:
    """Return a rule that has findings less and open questions more: it was silenced, not mended."""
    findings = _counts(before.found, after.found)
    questions = _counts(after.unjudged, before.unjudged)
    rules = dict.fromkeys([found.rule.id, *findings])
    return next((rule for rule in rules if findings[rule] > 0 and questions[rule] > 0), "")


def _counts(more: Iterable[Found | Unjudged], less: Iterable[Found | Unjudged]) -> Counter[str]:
    """Return, by rule, how many things are told in ``more`` and not in ``less``."""
    counts = Counter(item.rule.id for item in more)
    counts.subtract(item.rule.id for item in less)
    return counts


def apply_fix(text: EditableText, fix: Fix) -> None:
    """Make all edits of a fix in ``text``, or none. Raises EditError."""
    trial = EditableText(text.dump(), text.document.name)
    _apply_all(trial, fix)
    _apply_all(text, fix)


def _apply_all(text: EditableText, fix: Fix) -> None:
    for edit in fix.edits:
        _ACTS[edit.act](text, edit)


def _set(text: EditableText, edit: Edit) -> None:
    """Set a value; where its key stands in a run such as ``1..6`` it is taken out of that first."""
    run = _run_with(text.document, edit.at.path)
    if run is None:
        text.set_value(edit.at.path, _value(edit))
        return
    parent, key = edit.at.path[:-1], str(edit.at.path[-1])
    kept = _copied(text.document.node_at((*parent, run)))
    text.split((*parent, run), dict.fromkeys(_parted(run, key), kept) | {key: _value(edit)})


def _add(text: EditableText, edit: Edit) -> None:
    """Add a value, and the mappings around it that are not there yet."""
    path, value = edit.at.path, _value(edit)
    if not all(isinstance(step, str) for step in path):
        text.add(path, value)
        return
    depth = len(path) - 1
    while depth and not _is_there(text.document, path[:depth]):
        depth -= 1
    for step in reversed(path[depth + 1 :]):
        value = {str(step): value}
    if text.document.node_at(path[:depth]) is None:
        text.set_value(path[:depth], {str(path[depth]): value})
    else:
        text.add(path[: depth + 1], value)
    if depth < len(path) - 1 and str(path[-1]).isdecimal():
        text.split(path, {str(path[-1]): _value(edit)})  # a number as people write it: no quotes


def _remove(text: EditableText, edit: Edit) -> None:
    run = _run_with(text.document, edit.at.path)
    if run is None:
        text.remove(edit.at.path)
        return
    parent, key = edit.at.path[:-1], str(edit.at.path[-1])
    kept = _copied(text.document.node_at((*parent, run)))
    text.split((*parent, run), {name: kept for name in _parted(run, key) if name != key})


_ACTS: Final[dict[str, Callable[[EditableText, Edit], None]]] = {
    "set": _set,
    "add": _add,
    "remove": _remove,
}


def _value(edit: Edit) -> Plain:
    return _copied(edit.value)


def _copied(value: object) -> Plain:
    """Return plain data as such; EditError for anything else."""
    if value is None or isinstance(value, bool | int | float | str):
        return value
    if isinstance(value, dict):
        mapping = cast("dict[object, object]", value)
        return {str(key): _copied(entry) for key, entry in mapping.items()}
    if isinstance(value, list | tuple):
        return [_copied(entry) for entry in cast("list[object]", value)]
    raise EditError(f"A {type(value).__name__} cannot be written into a file.")


def _is_there(document: Document, path: Path) -> bool:
    try:
        document.node_at(path)
    except LookupError:
        return False
    return True


def _run_with(document: Document, path: Path) -> str | None:
    """Return the run key in whose numbers the last step of ``path`` stands, if it has no own."""
    key = path[-1] if path else 0
    if not isinstance(key, str) or not _is_there(document, path[:-1]):
        return None
    parent = document.node_at(path[:-1])
    if not isinstance(parent, TreeMap) or key in parent:
        return None
    return next((run for run in parent if ".." in run and key in _names(run)), None)


def _names(run: str) -> tuple[str, ...]:
    try:
        return expand_run(run)
    except ValueError:
        return ()


def _parted(run: str, key: str) -> list[str]:
    """Return the runs that are left of ``run`` around ``key``, and ``key`` itself, in order."""
    names = _names(run)
    at = names.index(key)
    parts = (names[:at], names[at : at + 1], names[at + 1 :])
    return [name for part in parts for name in _run(part)]


def _run(names: tuple[str, ...]) -> Iterator[str]:
    if len(names) == 1:
        yield names[0]
    elif names:
        yield f"{names[0]}..{names[-1].rpartition('-')[2]}"
