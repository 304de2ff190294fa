"""The club's charge book: every pack has a number in it."""

import re
from collections.abc import Iterator

from holdshort.api import Aircraft, Clean, Finding, Hold, NotChecked, Outcome, Severity, rule

_NUMBER = re.compile(r"\bnumber [1-9][0-9]{0,2}\b")


@rule(
    "pack-not-numbered",
    title="A pack without its number in the club's charge book",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="club",
    sources=("committee",),
)
def pack_not_numbered(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether the note of each pack gives its number in the charge book."""
    for pack in aircraft.setup.of_kind("battery"):
        note = pack.device.note
        if note is None:
            yield NotChecked(pack.at(), f"the number of `{pack.name}` in the charge book (`note`)")
        elif not _NUMBER.search(note):
            yield Finding(
                at=pack.at("note"),
                message=f"The note of `{pack.name}` gives no number of the charge book. A pack "
                "that nobody can tell from its sister is charged by guess, and its age is not "
                "known.",
                do="Write the number on the pack and in its note: `number 7`.",
            )
        else:
            yield Clean(pack.at())


RULES = (pack_not_numbered,)
