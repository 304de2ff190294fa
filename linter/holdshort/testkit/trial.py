"""A whole pack on trial: every case of every rule, and the sweep."""

from collections.abc import Iterable
from typing import NamedTuple

from holdshort.rulebook import Pack
from holdshort.rulebook.time_limit import SECONDS
from holdshort.testkit.case_files import CaseError
from holdshort.testkit.flaws import Flaw
from holdshort.testkit.running import CaseResult, run_cases
from holdshort.testkit.sweeping import sweep


class Trial(NamedTuple):
    """What came of one pack.

    ``results`` are the cases that were run, ``flaws`` what the sweep found, ``unreadable`` why
    case files could not be used.
    """

    pack: Pack
    results: tuple[CaseResult, ...]
    flaws: tuple[Flaw, ...]
    unreadable: tuple[str, ...]

    @property
    def failed(self) -> tuple[CaseResult, ...]:
        """The cases that failed."""
        return tuple(result for result in self.results if result.problems)

    @property
    def job_done(self) -> bool:
        """Tell whether every case could be run."""
        return not self.unreadable

    @property
    def passed(self) -> bool:
        """Tell whether every case could be run and nothing is wrong."""
        return self.job_done and not self.failed and not self.flaws


def try_pack(pack: Pack, seconds: float = SECONDS) -> Trial:
    """Run every case of a pack, each for ``seconds`` at most, and sweep the pack."""
    results: list[CaseResult] = []
    unreadable: list[str] = []
    for rule in pack.rules:
        if not (pack.cases / f"{rule.id}.yaml").exists():
            continue  # the sweep tells
        try:
            results += run_cases(pack, rule, seconds)
        except CaseError as error:
            unreadable.append(str(error))
    flaws = _without(sweep(pack), unreadable)
    return Trial(pack, tuple(results), tuple(dict.fromkeys(flaws)), tuple(unreadable))


def _without(flaws: Iterable[Flaw], told: list[str]) -> list[Flaw]:
    return [flaw for flaw in flaws if flaw.text not in told]
