"""A comparison in words, for a terminal.

All text passes through :func:`~holdshort.fixlist.plain.plain`.
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from holdshort.analysis.compared import CopiedChannel, Fallen, SubjectChange
from holdshort.analysis.proof import Judged
from holdshort.fixlist.compare_report import CompareReport, topic_title
from holdshort.fixlist.paragraphs import paragraph
from holdshort.fixlist.report import CAUTIONS
from holdshort.fixlist.sign_text import quoted, standing_words
from holdshort.fixlist.text import file_argument, file_named, hold_point
from holdshort.rulebook import Found, Severity
from holdshort.rulebook.wording import counted, listed
from holdshort.setup import Setup

_MOST_FACTS: Final = 12
_NOTHING: Final = "No setting differs, the same was found, and no sign-off falls."


def render_text(report: CompareReport) -> str:
    """Return the comparison as text."""
    blocks = [
        _head(report),
        *(_block(title, lines) for title, lines in _blocks(report)),
        [*paragraph(_NOTHING)] if report.is_empty else [],
        [line for caution in CAUTIONS for line in paragraph(caution)],
    ]
    return "\n".join("".join(f"{line}\n" for line in block) for block in blocks if block)


def _head(report: CompareReport) -> list[str]:
    old, new = report.old, report.new
    names = dict.fromkeys(file.aircraft or "an aircraft without a name" for file in (old, new))
    lines = paragraph(f"Compared: {' and '.join(names)}")
    lines += paragraph(f"was  {file_named(old.file)}", "  ", "       ")
    lines += paragraph(f"is   {file_named(new.file)}", "  ", "       ")
    return [*lines, *(line for note in report.notes for line in paragraph(note))]


def _blocks(report: CompareReport) -> Iterator[tuple[str, Iterable[str]]]:
    compared = report.compared
    yield "Only called otherwise", _renames(report)
    moved = _only_moved(report)
    for topic in dict.fromkeys(change.topic for change in compared.changes):
        settings = [one for one in compared.changes if one.topic == topic and one.is_setting]
        own = [one for one in settings if one.name not in moved]
        yield topic_title(topic), _listed(map(change_words, own))
    quiet = [one for one in compared.changes if not one.is_setting]
    yield "Dates and origins, which are no settings", _listed(map(change_words, quiet))
    yield (
        "Leads to move",
        _listed(
            f"the lead at {lead.stays}: out of {lead.was}, into {lead.now}"
            for lead in compared.moved_leads
        ),
    )
    yield (
        "Channels left over: set as before, and nothing here is driven by them",
        _channels(compared.leftovers),
    )
    yield "Channels copied and not confirmed on this aircraft", _channels(compared.unconfirmed)
    yield from _findings(report)
    yield from _sign_offs(report)


def _renames(report: CompareReport) -> list[str]:
    names = report.compared.renames
    told = {**names.devices, **names.parts}
    return _listed(f"`{old}` is now called `{new}`" for old, new in told.items())


def _only_moved(report: CompareReport) -> frozenset[str]:
    """Return the leads that are the same but for one end: to be told as moved, and only so."""
    compared = report.compared
    gone = {one.name: _lead_facts(one) for one in compared.changes if one.went}
    come = {one.name: _lead_facts(one) for one in compared.changes if one.came}
    return frozenset(
        name
        for lead in compared.moved_leads
        for name in (lead.lead_was, lead.lead_now)
        if lead.lead_was in gone and gone[lead.lead_was] == come.get(lead.lead_now)
    )


def _lead_facts(change: SubjectChange) -> dict[str, str]:
    return {one.aspect: one.was or one.now for one in change.aspects if one.aspect != "joins"}


def change_words(change: SubjectChange) -> str:
    """Return how one subject changed, in a line."""
    if change.came or change.went:
        word = "new" if change.came else "gone"
        facts = [f"{one.aspect} {one.now or one.was}" for one in change.aspects[:_MOST_FACTS]]
        more = len(change.aspects) - len(facts)
        rest = f", and {more} more" if more else ""
        return f"{change.name} is {word}: {', '.join(facts)}{rest}"
    return f"{change.name}: {'; '.join(_aspects(change))}"


def _aspects(change: SubjectChange) -> Iterator[str]:
    for one in change.aspects:
        if not one.was:
            yield f"{one.aspect} is now {one.now}, and was not stated"
        elif not one.now:
            yield f"{one.aspect} was {one.was}, and is no longer stated"
        else:
            yield f"{one.aspect} was {one.was}, is {one.now}"


def _channels(channels: Iterable[CopiedChannel]) -> list[str]:
    return _listed(
        f"channel {one.number}, which drives {listed(one.drives)}"
        + (f" (copied from {one.origin})" if one.origin else "")
        for one in channels
    )


# -- findings ------------------------------------------------------------------------------------


def _findings(report: CompareReport) -> Iterator[tuple[str, Iterable[str]]]:
    found = report.findings
    old, new = report.compared.old.setup, report.compared.new.setup
    yield "Found now and not before", _told(found.came, new)
    yield "Found before and no more", _told(found.went, old)
    changed = [
        one.now for one in found.stayed if one.was.finding.message != one.now.finding.message
    ]
    yield "Found on both, in other words now", _told(changed, new)
    same = len(found.stayed) - len(changed)
    if same and not report.is_empty:
        yield "Found on both", _listed([f"{counted(same, 'finding')}, the same as before"])
    yield (
        "Not checked now, and no question before",
        _listed(f"needs {one.not_checked.needs} ({one.rule.id})" for one in found.asked),
    )
    yield (
        "Not checked before, and no question now",
        _listed(f"needed {one.not_checked.needs} ({one.rule.id})" for one in found.answered),
    )


def _told(several: Iterable[Found], setup: Setup) -> list[str]:
    lines: list[str] = []
    for found in several:
        span = setup.span(found.finding.at)
        where = f"{file_named(found.finding.at.file)}:{span.line}"
        holds = f"; holds {hold_point(found.hold)}" if found.severity is not Severity.NOTE else ""
        text = f"{found.severity.word}{holds}: {found.finding.message} ({where}, {found.rule.id})"
        lines += paragraph(text, "  ", "    ")
    return lines


# -- sign-offs -----------------------------------------------------------------------------------


def _sign_offs(report: CompareReport) -> Iterator[tuple[str, Iterable[str]]]:
    compared = report.compared
    if not compared.same_aircraft:
        if compared.old.setup.sign_offs:
            yield (
                "Sign-offs",
                paragraph(
                    "These are two aircraft: no sign-off of the one says anything about the other, "
                    "however alike they are set. If it is one aircraft under a new name, add "
                    "`--same-aircraft`.",
                    "  ",
                    "  ",
                ),
            )
        yield "To do on the second one, in this order", _steps(compared.again, report.new.file)
        return
    yield "Sign-offs that fall", _fallen(compared.fallen)
    yield "Signed for before, and not asked here", _left_out(compared.no_longer_asked)
    yield "To do again, in this order; less will not do", _steps(compared.again, report.new.file)


def _fallen(fallen: Iterable[Fallen]) -> list[str]:
    lines: list[str] = []
    for one in fallen:
        text = f"`{one.now.test.name}`: {standing_words(one.now)}"
        if one.by_name_only:
            text += (
                ". Nothing but a name makes it so: with the old name back in the file, it counts"
            )
        lines += paragraph(f"{text}.", "  ", "    ")
    return lines


def _left_out(tests: Mapping[str, str]) -> list[str]:
    return _listed(f"`{name}`: {why}" for name, why in tests.items())


def _steps(tests: Iterable[Judged], file: str) -> list[str]:
    lines: list[str] = []
    for number, one in enumerate(tests, 1):
        after = f" Rests on {quoted(one.test.after)}." if one.test.after else ""
        lines += paragraph(
            f"{number}. {one.test.name}: {one.test.title}. Why: {one.test.reason}.{after}",
            "  ",
            "     ",
        )
    if lines:
        lines += paragraph(
            f"Sign for each with `holdshort sign {file_argument(file)} TEST`, in this order.",
            "  ",
            "  ",
        )
    return lines


# -- lines ---------------------------------------------------------------------------------------


def _block(title: str, lines: Iterable[str]) -> list[str]:
    body = list(lines)
    if not body:
        return []
    return [*paragraph(title), *body]


def _listed(texts: Iterable[str]) -> list[str]:
    return [line for text in texts for line in paragraph(text, "  ", "    ")]
