"""Tests and sign-offs in words, for a terminal.

All text passes through :func:`~holdshort.fixlist.plain.plain`.
"""

from collections.abc import Iterable, Iterator
from typing import Final

from holdshort.analysis.known_tests import KnownTest
from holdshort.analysis.proof import Evidence, Judged, Standing
from holdshort.analysis.signing import Entry, ready
from holdshort.fixlist.paragraphs import paragraph
from holdshort.fixlist.plain import plain
from holdshort.rulebook.wording import counted

_MOST_CHANGES: Final = 6
_CAUTION: Final = (
    "A sign-off says that somebody did a test and what was set then. It does not make an aircraft "
    "safe."
)


def render_tests(evidence: Evidence, file: str) -> str:
    """Return the tests of an aircraft in their order, with what their sign-offs are worth."""
    setup = evidence.aircraft.setup
    lines = [f"Tests of {plain(setup.name)}", plain(file)]
    if "sign-offs" not in setup.sections:
        lines += ["", "Nothing is signed in this file yet."]
    for judged in evidence.standings:
        lines += ["", *_test(judged)]
    for signed in evidence.unknown:
        lines += ["", *paragraph(f"`{signed.sign_off.test}` is signed for, and is no test here.")]
    if evidence.left_out:
        lines += ["", "Not for this aircraft"]
        for name, why in evidence.left_out.items():
            lines += paragraph(f"{name}: {why}", "  ")
    lines += ["", *_next(evidence), *paragraph(_CAUTION)]
    return "".join(f"{line}\n" for line in lines)


def render_signed(evidence: Evidence, entry: Entry) -> str:
    """Return what a sign-off that was just written proved, and what comes next.

    ``evidence`` is that of the file as it is now.
    """
    fields = entry.fields
    name = fields["test"]
    lines = paragraph(f"Signed: {name}, {fields['outcome']}, {fields['on']}, by {fields['by']}.")
    judged = evidence.standing(name)
    lines += _proof(evidence, judged, entry)
    if judged.standing is not Standing.VALID:
        lines += paragraph(f"As it stands it does not count: {_reason(evidence, judged)}.")
    if judged.test.second and not fields.get("second"):
        lines += paragraph("A second person must watch this one, and none is named (`--second`).")
    return "".join(f"{line}\n" for line in (*lines, *_next(evidence)))


def _reason(evidence: Evidence, judged: Judged) -> str:
    """Return why a sign-off that was just written does not count."""
    if judged.standing is Standing.FALLS:
        worth = [f"`{name}` ({evidence.standing(name).standing.value})" for name in judged.earlier]
        return f"it rests on {', '.join(worth)}"
    if judged.standing is Standing.OUT_OF_ORDER:
        return f"{quoted(judged.earlier)} had not been passed by that day"
    return standing_words(judged)


def _proof(evidence: Evidence, judged: Judged, entry: Entry) -> list[str]:
    proved = evidence.proves(judged.test.name)
    count = sum(len(facts) for facts in proved.values())
    if not count:
        return paragraph("It proves nothing that this file states.")
    kept = " (as in an earlier sign-off)" if entry.proved is None else ""
    groups = ", ".join(dict.fromkeys(_group(subject) for subject in proved))
    what = f"{counted(count, 'setting')}{kept}, of: {groups}"
    if judged.standing is Standing.FAILED:
        return paragraph(f"It proved nothing. Kept with it are {what}.")
    until = " It counts until one changes." if judged.standing is Standing.VALID else ""
    return paragraph(f"It proved {what}.{until}")


def _group(subject: str) -> str:
    """Return the subject, or what several of its like are called: channels, leads, ..."""
    for beginning, several in _SEVERAL:
        if subject.startswith(beginning):
            return several
    return subject


_SEVERAL: Final = (
    ("channel ", "channels"),
    ("way of channel ", "their ways"),
    ("device ", "devices"),
    ("part ", "parts"),
    ("place of ", "places"),
    ("lead ", "leads"),
    ("aerials of ", "aerials"),
    ("failsafe of ", "failsafe"),
    ("surface ", "surfaces"),
    ("mode ", "flight modes"),
    ("link ", "links"),
    ("on ", "what a loss of signal does"),
)


def standing_words(judged: Judged) -> str:
    """Return what a test's latest sign-off is worth, and why."""
    standing, signed = judged.standing, judged.signed
    if signed is None:
        return standing.value
    day = signed.sign_off.on
    if standing is Standing.VALID:
        return f"valid, {day} by {signed.sign_off.by}"
    if standing is Standing.VOID:
        return f"void: {changes_words(judged)}"
    if standing is Standing.FALLS:
        return f"signed {day}, falls with {quoted(judged.earlier)}"
    if standing is Standing.OUT_OF_ORDER:
        return f"signed {day}, before {quoted(judged.earlier)} had been passed"
    if standing is Standing.OLD:
        return f"too old: {day}, {judged.age} days ago"
    return f"{standing.value}, {day}"


def changes_words(judged: Judged) -> str:
    """Return the changes that make a sign-off void, the first few in full."""
    words = [change.words for change in judged.changes[:_MOST_CHANGES]]
    more = len(judged.changes) - len(words)
    return "; ".join(words) + (f"; and {more} more" if more else "")


def quoted(names: Iterable[str]) -> str:
    """Return names of tests for the middle of a sentence."""
    return ", ".join(f"`{name}`" for name in names)


def _test(judged: Judged) -> Iterator[str]:
    test = judged.test
    mark = "[x]" if judged.standing is Standing.VALID else "[ ]"
    yield from paragraph(f"{mark} {test.name}: {standing_words(judged)}", "", "    ")
    yield from paragraph(f"{test.title}. {_when(test)}", "    ", "    ")


def _when(test: KnownTest) -> str:
    hold = {"power-up": "power-up", "engine-run": "the engine runs", "flight": "flight"}
    words = f"Before {hold[test.before]}"
    if test.day_of_flying:
        words += ", on each day of flying"
    if test.every is not None:
        words += f", good for {test.every} days"
    asked = [figure.name for figure in test.figures if figure.required]
    figures = f" Figures: {', '.join(asked)}." if asked else ""
    second = " A second person watches." if test.second else ""
    return f"{words}.{second}{figures}"


def _next(evidence: Evidence) -> list[str]:
    due = ready(evidence)
    if not due:
        return paragraph("No test is due.")
    first = due[0].test
    lines = paragraph(f"Next: {first.name}. {first.title}. Why: {first.reason}.")
    if len(due) > 1:
        others = quoted(judged.test.name for judged in due[1:])
        lines += paragraph(f"These can be done now as well: {others}.")
    return lines
