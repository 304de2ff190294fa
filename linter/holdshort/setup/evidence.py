"""Sign-offs: evidence that something was tested or set, as the file keeps it."""

from typing import Annotated, Literal

from holdshort.setup.base import Day, Prose, Section, Text, Wording, Words

TEST = Wording(
    "the name of a test",
    "Lower-case words with single spaces, as `holdshort sign FILE` lists them.",
    r"[a-z][a-z0-9]*(?:[ -][a-z0-9]+){0,7}",
    ("failsafe", "voltage under load"),
)
TestName = Annotated[str, TEST]

FINGERPRINT = Wording(
    "a fingerprint",
    "What `holdshort sign` wrote: 16 digits and letters from a to f.",
    r"[0-9a-f]{16}",
    ("0f3a9c27d41be586",),
)
Fingerprint = Annotated[str, FINGERPRINT]


KEY = Prose(600)
"""YAML lets a key on one line have 1024 characters, written out."""
Key = Annotated[str, KEY]


class SignOff(Section):
    """One test that was done: when, by whom, with what result, and what it proved."""

    test: TestName
    """The test that was done."""
    on: Day
    """The day on which it was done."""
    by: Words
    """Who did it."""
    second: Words | None = None
    """Who watched, where a second pair of eyes is called for."""
    outcome: Literal["passed", "failed"]
    """How it ended."""
    figures: dict[Key, Text] | None = None
    """What was measured, each with its unit."""
    note: Text | None = None
    """Anything worth saying."""
    proved: dict[Key, dict[Key, Text]] | None = None
    """What the test proved: each thing as it was then. Written by `holdshort sign`, not by hand.
    Absent where an earlier sign-off of the same test has the same fingerprint."""
    fingerprint: Fingerprint | None = None
    """The fingerprint of what was proved. Written by `holdshort sign`, not by hand."""
