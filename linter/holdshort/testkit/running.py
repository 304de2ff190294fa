"""Running cases: what the rule should say against what it says."""

import json
from collections.abc import Iterator
from datetime import date
from typing import NamedTuple, cast

from pydantic_core import PydanticCustomError

from holdshort.analysis import Aircraft
from holdshort.document import read_document, read_file, show_path
from holdshort.rulebook import Fix, Hold, Judgement, Pack, Rule, Severity, judge
from holdshort.rulebook.time_limit import SECONDS
from holdshort.rulebook.wording import counted
from holdshort.setup import Quantity, load
from holdshort.testkit.case_files import Case, Cases, ExpectedFinding, read_cases
from holdshort.testkit.flaws import Flaw


class CaseResult(NamedTuple):
    """How one case came out; ``problems`` is empty where it passed."""

    rule: str
    name: str
    file: str
    line: int
    problems: tuple[Flaw, ...]


class _Run(NamedTuple):
    """One case being run; ``number`` is its position in the file."""

    rule: Rule
    cases: Cases
    number: int

    @property
    def case(self) -> Case:
        return self.cases.content.cases[self.number]

    def flaw(self, text: str, *path: str | int) -> Flaw:
        line = self.cases.line("cases", self.number, *path)
        return Flaw(text, self.rule.id, str(self.cases.path), line)


def run_cases(pack: Pack, rule: Rule, seconds: float = SECONDS) -> Iterator[CaseResult]:
    """Run every case of one rule, each for ``seconds`` at most. Raises CaseError."""
    cases = read_cases(pack, rule.id)
    for index in range(len(cases.content.cases)):
        yield run_case(pack, rule, cases, index, seconds)


def run_case(
    pack: Pack, rule: Rule, cases: Cases, index: int, seconds: float = SECONDS
) -> CaseResult:
    """Run the case at position ``index`` of a file that has been read."""
    run = _Run(rule, cases, index)
    problems = tuple(_problems(pack, run, seconds))
    return CaseResult(rule.id, run.case.name, str(cases.path), cases.line("cases", index), problems)


def merge_patch(target: object, patch: object) -> object:
    """Return ``target`` with ``patch`` applied: JSON Merge Patch, RFC 7396 section 2."""
    if not isinstance(patch, dict):
        return patch
    merged = _mapping(target)
    for key, value in _mapping(cast("object", patch)).items():
        if value is None:
            merged.pop(key, None)
        else:
            merged[key] = merge_patch(merged.get(key), value)
    return merged


def _mapping(value: object) -> dict[str, object]:
    """Return a JSON object as such, and anything else as an empty one."""
    return dict(cast("dict[str, object]", value)) if isinstance(value, dict) else {}


def _problems(pack: Pack, run: _Run, seconds: float) -> Iterator[Flaw]:
    tree = merge_patch(run.cases.base, run.case.change or {})
    document = read_document(json.dumps(tree).encode(), "case.yaml")
    bases = run.cases.path.parent / "bases"
    loaded = load(document, lambda name: read_file(bases / name, name))
    for fault in loaded.faults:
        text = f"mistake of form at {show_path(fault.path)}: {fault.message}"
        line = run.cases.change_line(run.number, fault.path)
        yield Flaw(text, run.rule.id, str(run.cases.path), line)
    limits: dict[tuple[str, str], Quantity] = {}
    yield from _read_limits(run, limits)
    today = date.fromisoformat(run.case.today) if run.case.today else None
    judgement = judge(Aircraft(loaded.setup, limits, today), [(pack, run.rule)], seconds)
    for crash in judgement.crashes:
        yield run.flaw(f"the rule failed: {crash.error}")
    if not judgement.crashes:
        yield from _differences(judgement, run)


def _read_limits(run: _Run, limits: dict[tuple[str, str], Quantity]) -> Iterator[Flaw]:
    """Read the case's own limits into ``limits``; yield what is wrong with them."""
    options = {option.name: option for option in run.rule.options}
    for name, text in (run.case.limits or {}).items():
        if name not in options:
            yield run.flaw(f"`{name}` is no option of the rule", "limits", name)
            continue
        try:
            limits[run.rule.id, name] = options[name].kind.read(text)
        except PydanticCustomError as error:
            yield run.flaw(f"`{name}`: {error.message()}", "limits", name)


def _differences(judgement: Judgement, run: _Run) -> Iterator[Flaw]:
    case = run.case
    yield from _finding_differences(judgement, run)
    yield from _gap_differences(judgement, run)
    if case.passes and not judgement.clean:
        yield run.flaw("expected the rule to judge something and find it clean", "passes")
    if case.nothing_to_judge and not judgement.idle:
        yield run.flaw("expected nothing to judge", "nothing-to-judge")
    expectations = [bool(case.finds or case.cannot_judge), case.passes, case.nothing_to_judge]
    if sum(expectations) != 1:
        yield run.flaw("give one of `finds` / `cannot-judge`, `passes` or `nothing-to-judge`")


def _finding_differences(judgement: Judgement, run: _Run) -> Iterator[Flaw]:
    wanted = run.case.finds
    if len(judgement.found) != len(wanted):
        seen = [f"{show_path(f.finding.at.path)}: {f.finding.message}" for f in judgement.found]
        yield run.flaw(_count_text(counted(len(wanted), "finding"), seen), "finds")
        return
    for index, (expected, found) in enumerate(zip(wanted, judgement.found, strict=True)):
        path = ("finds", index)
        place = show_path(found.finding.at.path)
        text = " ".join(
            [found.finding.message, found.finding.do, *(b.text for b in found.finding.because)]
        )
        if place != expected.at:
            yield run.flaw(
                f"expected a finding at {expected.at}, got one at {place}: {text}", *path
            )
        for words in expected.says:
            if words not in text:
                yield run.flaw(f"expected the words {words!r} in: {text}", *path)
        for difference in _grade_differences(expected, found.severity, found.hold):
            yield run.flaw(difference, *path)
        proposed = _changes(found.finding.fix)
        if expected.fixes is not None and expected.fixes != proposed:
            yield run.flaw(f"expected the fix {expected.fixes}, got {proposed}", *path, "fixes")


def _changes(fix: Fix | None) -> dict[str, object]:
    """Return what a fix would leave at each place, as a case file gives it."""
    edits = fix.edits if fix is not None else ()
    return {show_path(edit.at.path): edit.value for edit in edits}


def _count_text(wanted: str, seen: list[str]) -> str:
    shown = f": {'; '.join(seen)}" if seen else ""
    return f"expected {wanted}, got {len(seen)}{shown}"


def _grade_differences(expected: ExpectedFinding, severity: Severity, hold: Hold) -> Iterator[str]:
    if expected.severity not in {None, severity.word}:
        yield f"expected severity {expected.severity}, got {severity.word}"
    if expected.hold not in {None, hold.word}:
        yield f"expected hold point {expected.hold}, got {hold.word}"


def _gap_differences(judgement: Judgement, run: _Run) -> Iterator[Flaw]:
    gaps = [item.not_checked for item in judgement.unjudged]
    wanted = run.case.cannot_judge
    if len(gaps) != len(wanted):
        seen = [f"{show_path(gap.at.path)}: needs {gap.needs}" for gap in gaps]
        yield run.flaw(_count_text(f"{len(wanted)} not checked", seen), "cannot-judge")
        return
    for index, (expected, gap) in enumerate(zip(wanted, gaps, strict=True)):
        path = ("cannot-judge", index)
        if expected.needs not in gap.needs:
            yield run.flaw(f"expected it to need {expected.needs!r}, got: {gap.needs}", *path)
        place = show_path(gap.at.path)
        if expected.at not in {None, place}:
            yield run.flaw(f"expected not checked at {expected.at}, got {place}", *path)
