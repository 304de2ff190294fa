"""``holdshort rules test`` and ``holdshort rules new``."""

import json
from pathlib import Path
from typing import Any

import pytest

FILLED = {
    "TO WRITE: what must be found": "found",
    "TO WRITE: what must pass": "passes",
    "TO WRITE: what cannot be judged": "cannot be judged",
}


def written(folder: Path) -> None:
    """Write the rule that `rules new` started in Python: receivers need a note."""
    rule = folder / "no_note_here.py"
    rule.write_text(
        rule.read_text()
        .replace("import Aircraft, Clean,", "import Aircraft, Clean, Finding, NotChecked,")
        .replace("        yield Clean(receiver.at())", BODY)
        .replace("TO WRITE: the condition, in words", "A receiver with no note")
        .replace("TO WRITE: where this comes from", "the club")
    )
    page = folder / "pages" / "no-note-here.md"
    text = page.read_text().replace("TO WRITE: the condition, in words", "A receiver with no note")
    page.write_text(text.replace("TO WRITE", "it is so"))
    (folder / "cases" / "no-note-here.yaml").write_text(CASES)


BODY = """\
        if receiver.device.mass is None:
            yield NotChecked(receiver.at(), "its mass")
        elif receiver.device.note is None:
            yield Finding(receiver.at(), f"`{receiver.name}` has no note.", "Write one.")
        else:
            yield Clean(receiver.at())"""
CASES = """rule: no-note-here
base:
  holdshort: 1
  parts: {box: {kind: receiver}}
  devices: {front: {part: box, mass: 20 g, note: spare}}
cases:
  - name: with a note
    passes: true
  - name: without
    change: {devices: {front: {note: null}}}
    finds: [{at: devices.front, says: [front]}]
  - name: not weighed
    change: {devices: {front: {mass: null}}}
    cannot-judge: [{needs: mass}]
"""


def test_a_new_rule_fails_until_it_is_written(run: Any, here: Path) -> None:
    begun = run("rules", "new", "no-note-here")
    assert begun.code == 0
    assert begun.out.splitlines()[0] == "our-rules/cases/no-note-here.yaml"
    assert "holdshort rules test ./our-rules" in begun.out
    first = run("rules", "test", "./our-rules")
    assert (first.code, first.err) == (1, "")
    assert "our-rules/cases/no-note-here.yaml:11: no-note-here: TO WRITE: what must be" in first.out
    assert "    line 12: expected 1 finding, got 0" in first.out
    assert "our-rules/pages/no-note-here.md:1: no-note-here: the page is still to be" in first.out
    assert "source `no-note-here-source` is still to be written" in first.out
    written(here / "our-rules")
    second = run("rules", "test", "our-rules")
    assert (second.code, second.err) == (0, "")
    assert second.out == (
        "our-rules: 1 rule, 3 cases: 3 as expected, 0 not; 0 other things to put right.\n"
    )


def test_a_second_rule_in_a_pack_says_what_to_add(run: Any, here: Path) -> None:
    assert run("rules", "new", "no-note-here", "-o", "club").code == 0
    before = (here / "club" / "__init__.py").read_text()
    second = run("rules", "new", "no-mass-here", "-o", "club")
    assert second.code == 0
    assert "Add to club/__init__.py" in second.out
    assert "`from . import no_mass_here`" in second.out
    assert (here / "club" / "__init__.py").read_text() == before


@pytest.mark.parametrize("folder", ['a"b', "north field", "12", "{x}", "é", "a.b"])
def test_a_folder_may_be_called_anything(run: Any, here: Path, folder: str) -> None:
    assert run("rules", "new", "no-note-here", "-o", folder).code == 0
    result = run("rules", "test", f"./{folder}")
    assert (result.code, result.err) == (1, "")


def test_a_folder_that_is_a_file_cannot_be_written_to(run: Any, here: Path) -> None:
    (here / "taken").write_text("x")
    result = run("rules", "new", "no-note-here", "-o", "taken")
    assert (result.code, result.out) == (2, "")
    assert "could not be written" in result.err


def test_nothing_is_written_over(run: Any, here: Path) -> None:
    assert run("rules", "new", "no-note-here").code == 0
    kept = here / "our-rules" / "pages" / "no-note-here.md"
    kept.write_text("mine")
    again = run("rules", "new", "no-note-here")
    assert (again.code, again.out) == (2, "")
    assert "exists already; nothing was written" in again.err
    assert kept.read_text() == "mine"


@pytest.mark.parametrize("name", ["Note", "note", "a_b", "a--b", "../x-y", "A-b", ""])
def test_an_id_is_words_and_hyphens(run: Any, here: Path, name: str) -> None:
    result = run("rules", "new", name)
    assert (result.code, result.out) == (2, "")
    assert list(here.iterdir()) == []


def test_a_new_rule_in_yaml_fails_until_it_is_written(run: Any, here: Path) -> None:
    pytest.importorskip("jsonpath_rfc9535")
    pytest.importorskip("re2")
    begun = run("rules", "new", "no-note-here", "--yaml", "-o", "club")
    assert begun.out.splitlines()[:2] == ["club/cases/no-note-here.yaml", "club/rules.yaml"]
    first = run("rules", "test", "club/rules.yaml")
    assert (first.code, first.err) == (1, "")
    assert "club/cases/no-note-here.yaml:11: " in first.out
    assert "club/rules.yaml:11: no-note-here: the title is still to be written" in first.out
    pack = here / "club" / "rules.yaml"
    text = pack.read_text().replace("$.computed.devices.front.kind", "$.setup.devices.*")
    text = text.replace("{type: string} ", "{required: [note]}")
    text = text.replace("    reason:", "    page: '**Not checked** never.'\n    reason:")
    text = text.replace(
        "    page: '**Not checked** never.'",
        "    page: '**What it looks at.** x **Why it matters.** x **What to do.** x'",
    )
    pack.write_text(text.replace("TO WRITE: ", ""))
    cases = CASES.replace("{note: null}", "{note: null}").partition("  - name: not weighed")[0]
    cases = cases.replace("cases:", "always-judges: true\ncases:")
    (here / "club" / "cases" / "no-note-here.yaml").write_text(cases)
    second = run("rules", "test", "club/rules.yaml")
    assert (second.code, second.err) == (0, "")
    third = run("rules", "new", "no-mass-here", "--yaml", "-o", "club")
    assert "Add to club/rules.yaml:" in third.out
    assert "  - id: no-mass-here" in third.out


def test_json(run: Any, here: Path) -> None:
    assert run("rules", "new", "no-note-here").code == 0
    result = run("rules", "test", "./our-rules", "--format", "json")
    assert result.code == 1
    data = json.loads(result.out)
    assert (data["format"], data["version"]) == ("holdshort-rules-test", 1)
    (pack,) = data["packs"]
    assert (pack["pack"], pack["rules"], pack["passed"]) == ("our-rules", ["no-note-here"], False)
    failed = [case for case in pack["cases"] if not case["passed"]]
    assert [case["line"] for case in failed] == [11, 17]
    assert failed[0]["problems"][0]["line"] == 12
    assert any(flaw["file"].endswith("no-note-here.md") for flaw in pack["flaws"])


def test_a_pack_that_does_not_load_is_exit_2_and_the_others_are_tried(run: Any, here: Path) -> None:
    assert run("rules", "new", "no-note-here").code == 0
    (here / "sick").mkdir()
    (here / "sick" / "__init__.py").write_text("\n1/0")
    result = run("rules", "test", "./sick", "./our-rules")
    assert result.code == 2
    assert "pack `./sick` does not load: ZeroDivisionError" in result.err
    assert "sick/__init__.py, line 2" in result.err
    assert "our-rules: 1 rule, 4 cases" in result.out


def test_a_case_file_that_cannot_be_read_is_exit_2(run: Any, here: Path) -> None:
    assert run("rules", "new", "no-note-here").code == 0
    written(here / "our-rules")
    (here / "our-rules" / "cases" / "no-note-here.yaml").write_text("rule: [")
    result = run("rules", "test", "./our-rules")
    assert result.code == 2
    assert "our-rules/cases/no-note-here.yaml:1:" in result.err


def test_a_rule_of_the_built_in_pack_cannot_be_taken_again(run: Any, here: Path) -> None:
    assert run("rules", "new", "aircraft-too-heavy").code == 0
    result = run("rules", "test", "./our-rules")
    assert (result.code, result.out) == (2, "")
    assert "`aircraft-too-heavy` is in pack `bench` and in pack `our-rules`" in result.err


def test_with_nothing_named_all_installed_packs_are_tried(run: Any) -> None:
    result = run("rules", "test")
    assert result.code == 1
    assert "bench: 3 rules, 0 cases" in result.out
    assert result.out.count("the rule has no cases: this file is missing") == 3


def test_with_nothing_installed_there_is_nothing_to_test(
    run: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    for module in ("rulebook.packs", "cli.rules_test"):
        monkeypatch.setattr(f"holdshort.{module}.entry_points", list, raising=False)
    result = run("rules", "test")
    assert (result.code, result.out) == (2, "")
    assert "there is nothing to test" in result.err


@pytest.mark.parametrize("command", ["rules test", "rules new"])
def test_both_help_with_an_example(run: Any, command: str) -> None:
    result = run(*command.split(), "--help")
    assert (result.code, result.err) == (0, "")
    assert f"  holdshort {command}" in result.out.partition("example")[2]


def test_rules_of_a_named_pack_are_listed_and_have_pages(run: Any, here: Path) -> None:
    assert run("rules", "new", "no-note-here").code == 0
    written(here / "our-rules")
    listed = run("rules", "--pack", "./our-rules")
    assert listed.code == 0
    assert "  no-note-here " in listed.out
    page = run("rules", "no-note-here", "--pack", "./our-rules")
    assert "From pack our-rules." in page.out
    assert run("rules", "no-note-here").code == 2


def test_the_reference_is_of_all_rules(run: Any) -> None:
    result = run("rules", "--format", "markdown")
    assert result.code == 0
    assert "### aircraft-too-heavy" in result.out
    assert "| [weight](#weight) | 1 |" in result.out
    assert run("rules", "aircraft-too-heavy", "--format", "markdown").code == 2
