"""A new sign-off: the entry as the file will hold it, and what comes next."""

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from holdshort.analysis.proof import Evidence, Judged, Proved, Standing, fingerprint


class Answers(NamedTuple):
    """What the person who signs says; figures by name, each with its unit."""

    on: str
    by: str
    outcome: str
    second: str = ""
    figures: Mapping[str, str] = {}
    note: str = ""


class Entry(NamedTuple):
    """One new entry of ``sign-offs``: its fields in order, and the proof it holds, if it does."""

    fields: Mapping[str, Any]
    proved: Proved | None
    fingerprint: str


def new_entry(evidence: Evidence, test: str, answers: Answers) -> Entry:
    """Return the entry for a test of which ``answers`` tells, with what it proves now.

    The proof is left out where the file holds the same one for this test already.
    """
    fields: dict[str, Any] = {"test": test, "on": answers.on, "by": answers.by}
    if answers.second:
        fields["second"] = answers.second
    fields["outcome"] = answers.outcome
    if answers.figures:
        fields["figures"] = dict(answers.figures)
    if answers.note:
        fields["note"] = answers.note
    proved = evidence.proves(test)
    mark = fingerprint(proved)
    kept = evidence.keeps(test, mark)
    return Entry(fields, None if kept else proved, mark)


def ready(evidence: Evidence) -> tuple[Judged, ...]:
    """Return the tests that do not count yet and can be done now: all that they rest on counts."""
    return tuple(_ready(evidence))


def _ready(evidence: Evidence) -> Iterator[Judged]:
    counting = {one.test.name for one in evidence.standings if one.standing.counts}
    for one in evidence.standings:
        due = not one.standing.counts or one.standing is Standing.OLD
        if due and counting.issuperset(evidence.earlier(one.test)):
            yield one
