"""What a rule is: its declaration, its three outcomes, and the pack it comes in."""

import re
from collections.abc import Callable, Iterable, Iterator
from enum import IntEnum
from pathlib import Path as FilePath
from typing import Final, Literal, NamedTuple

from holdshort.analysis import Aircraft
from holdshort.analysis.code_words import CodeWords
from holdshort.analysis.facts import Because
from holdshort.setup import Place, Quantity
from holdshort.setup.quantities import QuantityType

API_VERSION: Final = 1
"""The version of the face that packs are written against."""


class Severity(IntEnum):
    """How bad a finding is, in the sense these words have in aviation manuals; worst first."""

    WARNING = 0
    """May injure someone or lose the aircraft."""
    CAUTION = 1
    """May damage equipment."""
    NOTE = 2
    """Worth knowing; it holds nothing."""

    @property
    def holds(self) -> bool:
        """True where something may not happen until the finding is dealt with."""
        return self is not Severity.NOTE

    @property
    def word(self) -> str:
        """The word shown to people and written to JSON."""
        return self.name.lower()


class Hold(IntEnum):
    """What may not happen until a finding is dealt with, in the order things happen."""

    POWER_UP = 0
    ENGINE_RUN = 1
    FLIGHT = 2

    @property
    def word(self) -> str:
        """The word shown to people and written to JSON: ``power-up``."""
        return self.name.lower().replace("_", "-")


class Source(NamedTuple):
    """Where a rule comes from.

    ``confidence`` says how the source was read: ``read``, ``read second-hand``, ``from memory``,
    ``derived`` (arithmetic or physics) or ``common practice`` (no published source).
    """

    id: str
    text: str
    confidence: str


class Edit(NamedTuple):
    """One change to a setup file: ``set`` or ``remove`` what stands at ``at``, or ``add`` to it.

    ``value`` is plain text, number, list or mapping, as the file would hold it. What is set or
    removed may stand in a run such as ``1..6``, which is then taken apart; what is added brings
    the mappings around it where they are not there yet.
    """

    act: Literal["set", "add", "remove"]
    at: Place
    value: object = None


class Fix(NamedTuple):
    """An exact change to the setup file that a rule proposes: what it does, and its edits.

    ``text`` says what the change is and what the builder must still do on the aircraft. A rule
    proposes one only where the file alone decides what is right: never which way a box really
    faces, what was measured, or what was seen.
    """

    text: str
    edits: tuple[Edit, ...]


class Finding(NamedTuple):
    """One thing a rule says, at one place.

    ``message`` is what is wrong, with its numbers, and why it matters; ``do`` is what to do.
    Severity and hold point are the rule's own unless given. ``fix`` is the change to the file that
    would do it, where one can be named exactly.
    """

    at: Place
    message: str
    do: str
    because: tuple[Because, ...] = ()
    severity: Severity | None = None
    hold: Hold | None = None
    fix: Fix | None = None


class NotChecked(NamedTuple):
    """Something a rule could not judge: ``needs`` completes "not checked: needs ..."."""

    at: Place
    needs: str


class Clean(NamedTuple):
    """Something a rule judged and found nothing wrong with."""

    at: Place


class Option(NamedTuple):
    """A limit of a rule that its owner may set.

    ``default`` is text with a unit, read by ``kind``; ``text`` says what the limit is, ``source``
    is the id of the source it comes from.
    """

    rule: str
    name: str
    default: str
    kind: QuantityType
    text: str
    source: str = "practice"

    def of(self, aircraft: Aircraft) -> Quantity:
        """Return the limit that counts for ``aircraft``, in SI, with its text."""
        own = aircraft.limits.get((self.rule, self.name))
        return own if own is not None else self.kind.read(self.default)


Outcome = Finding | NotChecked | Clean
Check = Callable[[Aircraft], Iterator[Outcome]]


class Rule(NamedTuple):
    """One declared rule. Made by :func:`rule`; ``check`` judges an aircraft.

    Where ``fixed`` is true, no hangar file may change its severity.
    """

    id: str
    title: str
    severity: Severity
    hold: Hold
    subject: str
    sources: tuple[str, ...]
    check: Check
    options: tuple[Option, ...] = ()
    fixed: bool = False


RULE_ID: Final = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)+")
"""A rule's id: lower-case words joined by hyphens, two at least."""


def rule(  # noqa: PLR0913  - a declaration, all by keyword
    id: str,  # noqa: A002  - the word a reader of a rule expects
    *,
    title: str,
    severity: Severity,
    hold: Hold,
    subject: str,
    sources: Iterable[str],
    options: Iterable[Option] = (),
    fixed: bool = False,
) -> Callable[[Check], Rule]:
    """Declare the decorated generator as a rule.

    ``id`` names the condition in words joined by hyphens and never changes; ``sources`` are ids
    of the pack's sources, at least one; ``options`` are its limits; the severity of a
    ``fixed`` rule is not the owner's to change. Raises ValueError for a malformed declaration.
    """
    if not RULE_ID.fullmatch(id):
        raise ValueError(f"rule id {id!r} is not lower-case words joined by hyphens")
    cited = tuple(sources)
    if not cited:
        raise ValueError(f"rule {id} cites no source, not even common practice")

    limits = tuple(options)
    for option in limits:
        if option.rule != id:
            raise ValueError(f"option {option.name} of rule {id} says it belongs to {option.rule}")

    def declare(check: Check) -> Rule:
        return Rule(id, title, severity, hold, subject, cited, check, limits, fixed)

    return declare


class Pack(NamedTuple):
    """A set of rules with their sources, pages and cases.

    ``pages`` and ``cases`` are folders with ``<rule id>.md`` and ``<rule id>.yaml``. ``codes`` are
    the published codes that the pack knows, in words for bench cards.
    """

    name: str
    api: int
    rules: tuple[Rule, ...]
    sources: dict[str, Source]
    pages: FilePath
    cases: FilePath
    codes: tuple[CodeWords, ...] = ()

    def page(self, rule_id: str) -> str:
        """Return the page of a rule, in Markdown. Raises OSError where there is none."""
        return (self.pages / f"{rule_id}.md").read_text(encoding="utf-8")
