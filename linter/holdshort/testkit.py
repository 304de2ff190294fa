"""The test kit for rule packs: run the cases that prove each rule.

A case file is ``<rule id>.yaml`` in the pack's folder of cases::

    rule: regulator-above-servo-rating
    base: {...}               # a small aircraft, or the name of one in the folder `bases`
    cases:
      - name: regulator set above what a servo takes
        change: {devices: {regulator: {output: 8.4 V}}}     # JSON Merge Patch, RFC 7396
        finds:
          - {at: devices.regulator.output, says: [8.4 V, 7.4 V]}
      - name: regulator set to what the servos take
        passes: true
      - name: the servo's rating is not known
        change: {parts: {servo: {voltage: null}}}
        cannot-judge:
          - {needs: rated to}
      - name: no servo at all
        change: {devices: {servo: null}}
        nothing-to-judge: true

``finds`` lists every finding of the rule, in the order of the fix list. A rule that can always
judge says ``always-judges: true`` instead of giving a ``cannot-judge`` case.
"""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any, cast

from pydantic import Field, ValidationError

from holdshort.analysis import Aircraft
from holdshort.document import DocumentError, read_document, read_file, show_path
from holdshort.rulebook import Hold, Judgement, Pack, Rule, Severity, judge
from holdshort.setup import load
from holdshort.setup.base import Items, Section, Text


class ExpectedFinding(Section):
    """One finding that a case must make."""

    at: Text
    says: Annotated[Items[Text], Field(min_length=1)]
    severity: Text | None = None
    hold: Text | None = None


class ExpectedGap(Section):
    """One thing that a case must leave not checked."""

    needs: Text
    at: Text | None = None


class Case(Section):
    """One aircraft, as a change to the base, and what the rule must say of it."""

    name: Text
    change: dict[str, Any] | None = None
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
    """A case file that cannot be used; the message names it."""


@dataclass(frozen=True, slots=True)
class CaseResult:
    """How one case came out; ``problems`` is empty where it passed."""

    rule: str
    name: str
    problems: tuple[str, ...]


def read_cases(pack: Pack, rule_id: str) -> CaseFile:
    """Read the case file of a rule. Raises CaseError naming the file and what is wrong."""
    path = pack.cases / f"{rule_id}.yaml"
    try:
        found = CaseFile.model_validate(read_file(path, path.name).root)
    except DocumentError as error:
        raise CaseError(f"{path.name}: {error.fault.message}") from error
    except ValidationError as error:
        raise CaseError(f"{path.name}: {error}") from error
    if found.rule != rule_id:
        raise CaseError(f"{path.name}: is about `{found.rule}`")
    return found


def run_cases(pack: Pack, rule: Rule) -> Iterator[CaseResult]:
    """Run every case of one rule."""
    file = read_cases(pack, rule.id)
    base = _base(pack, file.base)
    for case in file.cases:
        yield CaseResult(rule.id, case.name, tuple(_problems(pack, rule, base, case)))


def coverage_problems(pack: Pack, rule: Rule) -> list[str]:
    """Return what the cases of a rule leave unproved: catching, passing, failing to judge."""
    try:
        file = read_cases(pack, rule.id)
    except CaseError as error:
        return [str(error)]
    problems: list[str] = []
    if not any(case.finds for case in file.cases):
        problems.append(f"{rule.id}: no case that it must catch")
    if not any(case.passes for case in file.cases):
        problems.append(f"{rule.id}: no case that it must let pass")
    judges_all = not any(case.cannot_judge for case in file.cases)
    if judges_all and not file.always_judges:
        problems.append(f"{rule.id}: no case that it cannot judge, and no `always-judges: true`")
    return problems


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


def _base(pack: Pack, base: dict[str, Any] | str) -> dict[str, Any]:
    if isinstance(base, dict):
        return base
    path = pack.cases / "bases" / f"{base}.yaml"
    try:
        return read_file(path, path.name).root
    except DocumentError as error:
        raise CaseError(f"base `{base}`: {error.fault.message}") from error


def _problems(pack: Pack, rule: Rule, base: dict[str, Any], case: Case) -> Iterator[str]:
    tree = merge_patch(base, case.change or {})
    document = read_document(json.dumps(tree).encode(), "case.yaml")
    loaded = load(document, lambda name: read_file(pack.cases / "bases" / name, name))
    for fault in loaded.faults:
        yield f"mistake of form at {show_path(fault.path)}: {fault.message}"
    judgement = judge(Aircraft(loaded.setup), [(pack, rule)])
    for crash in judgement.crashes:
        yield f"the rule failed: {crash.traceback}"
    if not judgement.crashes:
        yield from _differences(judgement, case)


def _differences(judgement: Judgement, case: Case) -> Iterator[str]:
    yield from _finding_differences(judgement, case)
    yield from _gap_differences(judgement, case)
    if case.passes and not judgement.clean:
        yield "expected the rule to judge something and find it clean"
    if case.nothing_to_judge and not judgement.idle:
        yield "expected nothing to judge"
    expectations = [bool(case.finds or case.cannot_judge), case.passes, case.nothing_to_judge]
    if sum(expectations) != 1:
        yield "give one of `finds` / `cannot-judge`, `passes` or `nothing-to-judge`"


def _finding_differences(judgement: Judgement, case: Case) -> Iterator[str]:
    if len(judgement.found) != len(case.finds):
        seen = [f"{show_path(f.finding.at.path)}: {f.finding.message}" for f in judgement.found]
        yield f"expected {len(case.finds)} findings, got {len(seen)}: {seen}"
        return
    for expected, found in zip(case.finds, judgement.found, strict=True):
        place = show_path(found.finding.at.path)
        text = " ".join(
            [found.finding.message, found.finding.do, *(b.text for b in found.finding.because)]
        )
        if place != expected.at:
            yield f"expected a finding at {expected.at}, got one at {place}: {text}"
        for words in expected.says:
            if words not in text:
                yield f"expected the words {words!r} in: {text}"
        yield from _grade_differences(expected, found.severity, found.hold)


def _grade_differences(expected: ExpectedFinding, severity: Severity, hold: Hold) -> Iterator[str]:
    if expected.severity not in {None, severity.word}:
        yield f"expected severity {expected.severity}, got {severity.word}"
    if expected.hold not in {None, hold.word}:
        yield f"expected hold point {expected.hold}, got {hold.word}"


def _gap_differences(judgement: Judgement, case: Case) -> Iterator[str]:
    gaps = [item.not_checked for item in judgement.unjudged]
    if len(gaps) != len(case.cannot_judge):
        seen = [f"{show_path(gap.at.path)}: needs {gap.needs}" for gap in gaps]
        yield f"expected {len(case.cannot_judge)} not checked, got {len(gaps)}: {seen}"
        return
    for expected, gap in zip(case.cannot_judge, gaps, strict=True):
        if expected.needs not in gap.needs:
            yield f"expected it to need {expected.needs!r}, got: {gap.needs}"
        if expected.at not in {None, show_path(gap.at.path)}:
            yield f"expected not checked at {expected.at}, got {show_path(gap.at.path)}"
