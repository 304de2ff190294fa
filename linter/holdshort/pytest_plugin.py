"""For pytest: the cases of rule packs as tests, one a case.

Off unless asked for, with ``pytest -p holdshort.pytest_plugin`` or in a pack's ``conftest.py``::

    pytest_plugins = ["holdshort.pytest_plugin"]

Every ``cases/<rule id>.yaml`` that pytest meets and that lies in a pack becomes a test for each of
its cases, and one that asks whether the rule is proved all ways. To collect a case, its pack is
loaded, which runs the pack's code.
"""

# pyright: reportUnknownMemberType=false
# (pytest's constructors are not fully typed)

from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import pytest

from holdshort.rulebook import Pack, PackError, Rule
from holdshort.rulebook.packs import load_pack
from holdshort.testkit import (
    CaseError,
    Cases,
    coverage_problems,
    pack_of_cases,
    read_cases,
    run_case,
)

_PACKS: Final = pytest.StashKey[dict[str, Pack]]()


def pytest_collect_file(file_path: Path, parent: pytest.Collector) -> pytest.Collector | None:
    """Take a case file that lies in a pack."""
    if file_path.suffix != ".yaml" or file_path.parent.name != "cases":
        return None
    name = pack_of_cases(file_path)
    if name is None:
        return None
    node: CaseFileNode = CaseFileNode.from_parent(parent, path=file_path, pack_name=name)
    return node


class CaseFileNode(pytest.File):
    """One case file."""

    def __init__(self, *, pack_name: str, **others: Any) -> None:
        """Remember the pack's name; it is loaded when the cases are collected."""
        super().__init__(**others)
        self.pack_name = pack_name

    def collect(self) -> Iterator[pytest.Item]:
        """Yield a test for each case, and one for the set of them."""
        try:
            pack = self._pack()
            rule = self._rule(pack)
            cases = read_cases(pack, rule.id)
        except (PackError, CaseError) as error:
            raise self.CollectError(str(error)) from error
        for index, case in enumerate(cases.content.cases):
            yield CaseItem.from_parent(self, name=case.name, proof=(pack, rule, cases, index))
        yield CoverageItem.from_parent(self, name="proved all ways", pack=pack, rule=rule)

    def _rule(self, pack: Pack) -> Rule:
        for rule in pack.rules:
            if rule.id == self.path.stem:
                return rule
        raise CaseError(f"{self.path}: pack `{pack.name}` has no rule `{self.path.stem}`")

    def _pack(self) -> Pack:
        loaded = self.config.stash.setdefault(_PACKS, {})
        if self.pack_name not in loaded:
            loaded[self.pack_name] = load_pack(self.pack_name)
        return loaded[self.pack_name]


class _CaseFailure(Exception):  # noqa: N818  - a failure of a test, not an error of the program
    """A test of a case that failed; the message is all there is to show."""


class _Item(pytest.Item):
    """A test whose failure is shown as its message alone."""

    def repr_failure(self, excinfo: pytest.ExceptionInfo[BaseException], style: Any = None) -> Any:
        """Show the message of a failed case, and anything else as pytest does."""
        if isinstance(excinfo.value, _CaseFailure):
            return str(excinfo.value)
        return super().repr_failure(excinfo, style)

    def _fail_for(self, problems: list[str]) -> None:
        if problems:
            raise _CaseFailure("\n".join(problems))


class CaseItem(_Item):
    """One case."""

    def __init__(self, *, proof: tuple[Pack, Rule, Cases, int], **others: Any) -> None:
        """Take the pack, the rule, its cases, and the position of this one."""
        super().__init__(**others)
        self.proof = proof

    def runtest(self) -> None:
        """Run the case."""
        result = run_case(*self.proof)
        self._fail_for([str(problem) for problem in result.problems])

    def reportinfo(self) -> tuple[Path, int, str]:
        """Return the file, the line from 0, and the name."""
        _, _, cases, index = self.proof
        return self.path, cases.line("cases", index) - 1, self.name


class CoverageItem(_Item):
    """Whether the cases of a rule show it catching, passing and failing to judge."""

    def __init__(self, *, pack: Pack, rule: Rule, **others: Any) -> None:
        """Take the rule and its pack."""
        super().__init__(**others)
        self.pack = pack
        self.rule = rule

    def runtest(self) -> None:
        """Ask the test kit."""
        self._fail_for(coverage_problems(self.pack, self.rule))

    def reportinfo(self) -> tuple[Path, int, str]:
        """Return the file, its first line, and the name."""
        return self.path, 0, self.name
