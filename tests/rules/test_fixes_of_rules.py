"""The fixes that built-in rules propose: each mends its finding and leaves other lines alone."""

import difflib
import io
import json
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from ruamel.yaml import YAML

from holdshort.analysis import Aircraft
from holdshort.document import Document, read_document, read_file
from holdshort.document.edit import EditableText
from holdshort.rulebook import Found, Judgement, Rule, judge, load_rulebook
from holdshort.rulebook.fixes import FixRun, Look, LookAt, make_fixes
from holdshort.setup import load
from holdshort.testkit import merge_patch, read_cases
from holdshort.testkit.case_files import Case, Cases
from holdshort_rules import pack

ROOT = Path(__file__).resolve().parents[2]
RULEBOOK = load_rulebook()
BASES = pack.cases / "bases"
TODAY = date(2026, 6, 1)
NEVER = {
    "mounting", "measured", "at", "station", "mass", "observations", "sign-offs", "taught",
    "learned", "learned-on", "set-on", "confirmed", "longer-pulse", "mirrored", "surfaces",
    "directions", "reversed", "balance",
}  # fmt: skip


class Proposal(NamedTuple):
    """A case of a rule that must be caught, and expects a fix."""

    rule: Rule
    cases: Cases
    case: Case

    @property
    def tree(self) -> Any:
        return merge_patch(self.cases.base, self.case.change or {})

    @property
    def limits(self) -> dict[tuple[str, str], Any]:
        options = {option.name: option.kind for option in self.rule.options}
        limits = self.case.limits or {}
        return {(self.rule.id, name): options[name].read(text) for name, text in limits.items()}


def every_case() -> Iterator[Proposal]:
    for rule in pack.rules:
        if (pack.cases / f"{rule.id}.yaml").exists():
            cases = read_cases(pack, rule.id)
            yield from (Proposal(rule, cases, case) for case in cases.content.cases)


def catalogue(name: str) -> Document:
    return read_file(BASES / name, name)


EXPECTING = [one for one in every_case() if any(expected.fixes for expected in one.case.finds)]


def judged_alone(one: Proposal) -> Judgement:
    document = read_document(json.dumps(one.tree).encode(), "case.yaml")
    aircraft = Aircraft(load(document, catalogue).setup, one.limits)
    return judge(aircraft, [(pack, one.rule)])


def looking(limits: Mapping[tuple[str, str], Any], read: Callable[[str], Document]) -> LookAt:
    def look(document: Document) -> Look:
        loaded = load(document, read)
        return Look(loaded, judge(Aircraft(loaded.setup, limits), RULEBOOK, today=TODAY))

    return look


def in_lines(tree: Any) -> str:
    """Write a file as people do, with a comment above each line and one behind some."""
    stream = io.StringIO()
    writer: Any = YAML(typ="safe", pure=True)
    writer.default_flow_style = False
    writer.width = 1000
    writer.sort_base_mapping_type_on_output = False
    writer.dump(json.loads(json.dumps(tree)), stream)
    lines = stream.getvalue().splitlines()
    told = [
        f"{' ' * (len(line) - len(line.lstrip()))}# {number}\n{line}"
        f"{f'  # behind {number}' if number % 3 == 0 else ''}\n"
        for number, line in enumerate(lines)
    ]
    return "".join(told)


def in_brackets(tree: Any) -> str:
    """Write a file with every section on one line."""
    sections = [f"{key}: {json.dumps(value, ensure_ascii=False)}" for key, value in tree.items()]
    return "# first\n" + "  # behind\n".join(sections) + "\n# last"


def one_by_one(text: str, look: LookAt, rule: str) -> Iterator[tuple[Found, FixRun, str]]:
    """Yield each finding of a rule that has a fix, and what came of fixing that one alone."""
    for found in look(read_document(text.encode(), "case.yaml")).judgement.found:
        if found.finding.fix is None or found.rule.id not in {rule, ""}:
            continue
        editable = EditableText(text, "case.yaml")
        yield found, make_fixes(editable, look, only(found)), editable.dump()


def only(wanted: Found) -> Callable[[Found], bool]:
    """Pick one finding, and it alone, for one fix."""

    def pick(found: Found) -> bool:
        return key(found) == key(wanted)

    return pick


def key(found: Found) -> tuple[object, ...]:
    return found.rule.id, found.finding.at.path, found.finding.message


def check(found: Found, made: FixRun, before: str, after: str) -> None:
    """Check what a fix must keep to."""
    assert [left.why for left in made.unwritten] == []
    assert len(made.written) == 1
    assert key(found) not in {key(other) for other in made.last.judgement.found}
    assert not as_bad(made.last.judgement, found) - as_bad(made.first.judgement, found)
    messages = [fault.message for fault in made.first.loaded.faults]
    assert [fault.message for fault in made.last.loaded.faults] == messages
    check_lines(made, before, after)


def as_bad(judgement: Judgement, than: Found) -> Counter[str]:
    """Count, by rule, the findings that are graver, or as grave and hold no later."""
    return Counter(
        found.rule.id
        for found in judgement.found
        if (found.severity, found.hold if found.severity is than.severity else 0)
        <= (than.severity, than.hold)
    )


def check_lines(made: FixRun, before: str, after: str) -> None:
    """Check that lines go only where something is taken out, and that no comment is lost."""
    fix = made.written[0].fix
    gone = [line[2:] for line in difflib.ndiff(before.split("\n"), after.split("\n"))
            if line.startswith("- ")]  # fmt: skip
    removals = [edit for edit in fix.edits if edit.act == "remove"]
    if not removals:
        assert len(gone) <= len(fix.edits)
        assert [line for line in before.split("\n") if line.lstrip().startswith("#")] == [
            line for line in after.split("\n") if line.lstrip().startswith("#")
        ]
    document = read_document(before.encode(), "case.yaml")
    spans = [(document.key_span_at(edit.at.path), document.span_at(edit.at.path))
             for edit in removals]  # fmt: skip
    inside = {n for start, end in spans for n in range(start.line, end.end_line + 1)}
    outside = [line for number, line in enumerate(before.split("\n"), 1) if number not in inside]
    lost = [line for line in outside if line.lstrip().startswith("#") and line not in after]
    assert lost == []
    for edit in fix.edits:
        if edit.act != "remove":
            assert not NEVER & {str(step) for step in edit.at.path}, edit


@pytest.mark.parametrize("one", EXPECTING, ids=lambda one: f"{one.rule.id}: {one.case.name[:40]}")
@pytest.mark.parametrize("layout", [in_lines, in_brackets])
def test_a_fix_mends_its_finding_and_nothing_else(
    one: Proposal, layout: Callable[[Any], str]
) -> None:
    text = layout(one.tree)
    look = looking(one.limits, catalogue)
    seen = 0
    for found, made, after in one_by_one(text, look, one.rule.id):
        check(found, made, text, after)
        again = EditableText(after, "case.yaml")
        assert make_fixes(again, look, only(found)).written == ()
        assert again.dump() == after
        seen += 1
    assert seen == sum(bool(expected.fixes) for expected in one.case.finds)


@pytest.mark.parametrize(
    "path",
    [path for folder in ("faults", "studies", "") for path in
     sorted((ROOT / "examples" / folder).glob("*.yaml"))],
    ids=lambda path: path.stem,
)  # fmt: skip
def test_the_fixes_of_the_examples_mend_them(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    look = looking({}, lambda name: read_file(path.parent / name, name))
    for found in look(read_document(text.encode(), "case.yaml")).judgement.found:
        if found.finding.fix is not None:
            editable = EditableText(text, "case.yaml")
            made = make_fixes(editable, look, only(found))
            check(found, made, text, editable.dump())


def test_one_example_at_least_has_a_fix() -> None:
    path = ROOT / "examples" / "faults" / "gyro-mounting-mismatch.yaml"
    look = looking({}, lambda name: read_file(path.parent / name, name))
    editable = EditableText(path.read_text(encoding="utf-8"), "case.yaml")
    made = make_fixes(editable, look, lambda _: True)
    assert [item.found.rule.id for item in made.written] == ["gyro-mounting-mismatch"]
    assert "told: {plugs: aft, label: up}" in editable.dump()
    assert made.last.judgement.found == []


def test_each_rule_that_proposes_a_fix_has_a_case_that_expects_one() -> None:
    proposing = {
        one.rule.id
        for one in every_case()
        for found in judged_alone(one).found
        if found.finding.fix is not None
    }
    assert proposing
    assert proposing == {one.rule.id for one in EXPECTING}
    refusing = {one.rule.id for one in every_case() if any(e.fixes == {} for e in one.case.finds)}
    # These can always say exactly what must stand there.
    assert proposing - refusing == {"battery-outside-regulator-input", "frame-rate-too-high"}


@pytest.mark.parametrize("one", EXPECTING, ids=lambda one: f"{one.rule.id}: {one.case.name[:40]}")
def test_a_fix_says_what_is_left_to_do(one: Proposal) -> None:
    for found in judged_alone(one).found:
        fix = found.finding.fix
        if fix is not None:
            assert "in the file" in fix.text or "from the file" in fix.text
            assert " itself" in fix.text or "transmitter" in fix.text or "Nothing is to" in fix.text


def test_the_page_of_each_rule_that_proposes_a_fix_says_which() -> None:
    told = {rule.id for rule in pack.rules if "**What can be written.**" in pack.page(rule.id)}
    assert told == {one.rule.id for one in EXPECTING}
