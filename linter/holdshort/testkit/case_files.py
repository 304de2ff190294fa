"""Case files: their form, reading them, and where everything in them stands."""

from pathlib import Path as FilePath
from typing import Annotated, Any, NamedTuple

from pydantic import Field, ValidationError

from holdshort.document import Document, DocumentError, Path, read_file
from holdshort.rulebook import Pack
from holdshort.setup.base import Day, Items, Section, Text
from holdshort.setup.mistakes import faults_of


class ExpectedFinding(Section):
    """One finding that a case must make."""

    at: Text
    says: Annotated[Items[Text], Field(min_length=1)]
    severity: Text | None = None
    hold: Text | None = None
    fixes: dict[str, Any] | None = None
    """What the fix sets or adds, by path; null for what it removes. `{}` for no fix at all."""


class ExpectedGap(Section):
    """One thing that a case must leave not checked."""

    needs: Text
    at: Text | None = None


class Case(Section):
    """One aircraft, as a change to the base, and what the rule must say of it.

    ``today`` is the day on which it is judged; without it nothing is too old.
    """

    name: Text
    change: dict[str, Any] | None = None
    limits: dict[str, Text] | None = None
    today: Day | None = None
    finds: Items[ExpectedFinding] = ()
    cannot_judge: Items[ExpectedGap] = ()
    passes: bool = False
    nothing_to_judge: bool = False


class CaseFile(Section):
    """All cases of one rule."""

    rule: Text
    base: dict[str, Any] | Text
    always_judges: bool = False
    cases: Annotated[Items[Case], Field(min_length=1)]


class CaseError(Exception):
    """A case file that cannot be used; the message names the file, the line and what is wrong."""


class Cases(NamedTuple):
    """A case file with its places; ``base`` is the aircraft that the cases change."""

    path: FilePath
    document: Document
    content: CaseFile
    base: dict[str, Any]

    def line(self, *path: str | int) -> int:
        """Return the line of what stands at ``path``, or of the nearest thing above it."""
        return self.document.key_span_at(path).line

    def change_line(self, case: int, path: Path) -> int:
        """Return the line that gives ``path`` of the aircraft: in the case's change or the base."""
        changed = self.content.cases[case].change or {}
        if path and path[0] in changed:
            return self.line("cases", case, "change", *path)
        return self.line("base", *path)


def read_cases(pack: Pack, rule_id: str) -> Cases:
    """Read the case file of a rule. Raises CaseError."""
    cases = read_case_file(pack.cases / f"{rule_id}.yaml")
    if cases.content.rule != rule_id:
        line = cases.line("rule")
        raise CaseError(f"{cases.path}:{line}: is about `{cases.content.rule}`, not `{rule_id}`")
    return cases


def read_case_file(path: FilePath) -> Cases:
    """Read one case file. Raises CaseError."""
    try:
        document = read_file(path)
    except DocumentError as error:
        raise CaseError(str(error)) from error
    try:
        content = CaseFile.read(document.root)
    except ValidationError as error:
        raise CaseError(_first_mistake(error, document)) from error
    return Cases(path, document, content, _base(path.parent, content.base))


def _first_mistake(error: ValidationError, document: Document) -> str:
    faults = faults_of(error, CaseFile, lambda path: (document, path))
    fault = faults[0]
    line = fault.span.line if fault.span else 1
    return f"{document.name}:{line}: {fault.message} {fault.do}".rstrip()


def _base(folder: FilePath, base: dict[str, Any] | str) -> dict[str, Any]:
    if isinstance(base, dict):
        return base
    try:
        return read_file(folder / "bases" / f"{base}.yaml").root
    except DocumentError as error:
        raise CaseError(str(error)) from error
