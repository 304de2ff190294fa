"""What is wrong with a pack, and where it can be put right."""

from typing import NamedTuple

from holdshort.rulebook import Pack, Rule
from holdshort.rulebook.blame import declared_at


class Flaw(NamedTuple):
    """One thing wrong with a pack.

    ``rule`` is the id of the rule it is about, empty where it is about the pack as a whole.
    ``line`` is 0 where no line is to blame.
    """

    text: str
    rule: str
    file: str
    line: int = 0

    def __str__(self) -> str:
        """Return ``file:line: text``."""
        place = f"{self.file}:{self.line}" if self.line else self.file
        return f"{place}: {self.text}"


def rule_flaw(pack: Pack, rule: Rule, text: str) -> Flaw:
    """Return a flaw of a rule's declaration, where that stands."""
    place = declared_at(rule)
    return Flaw(text, rule.id, *place) if place else Flaw(text, rule.id, pack.name)
