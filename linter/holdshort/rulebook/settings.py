"""What applies to an aircraft beside its own file: rules, limits, severities, and who says so."""

from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, NamedTuple

from holdshort.document import Document, Fault
from holdshort.rulebook.declare import Option, Pack, Rule, Severity
from holdshort.rulebook.packs import Rulebook
from holdshort.setup import Place, Quantity

if TYPE_CHECKING:
    from holdshort.analysis.known_tests import KnownTest


class Limit(NamedTuple):
    """One limit of a rule: what counts, and the place that sets it, or None for the default."""

    rule: Rule
    option: Option
    quantity: Quantity
    place: Place | None


class Grade(NamedTuple):
    """A severity that the owner gives to all that one rule finds, and the place that says so."""

    rule: Rule
    severity: Severity
    place: Place


class Settings(NamedTuple):
    """The rules that are run, and what a hangar file changes about them.

    ``limits``, ``severities`` and ``tests`` hold the owner's own only. ``hangar`` is the hangar
    file; ``faults`` are the mistakes of form in it.
    """

    rulebook: Rulebook
    hangar: Document | None = None
    limits: Mapping[tuple[str, str], Limit] = MappingProxyType({})
    severities: Mapping[str, Grade] = MappingProxyType({})
    faults: tuple[Fault, ...] = ()
    tests: "tuple[KnownTest, ...]" = ()

    @property
    def quantities(self) -> dict[tuple[str, str], Quantity]:
        """The owner's limits by rule id and option name, as an aircraft takes them."""
        return {key: limit.quantity for key, limit in self.limits.items()}

    def every_limit(self) -> Iterator[Limit]:
        """Yield what counts for every option of every rule, in the order of the rulebook."""
        for _, rule in self.rulebook:
            for option in rule.options:
                default = Limit(rule, option, option.kind.read(option.default), None)
                yield self.limits.get((rule.id, option.name), default)

    @property
    def packs(self) -> tuple[Pack, ...]:
        """The packs whose rules are run."""
        return self.rulebook.packs
