"""The test kit: what it asks of a pack, and that it says so, with the place, when it is missing."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdshort.rulebook.packs import load_pack
from holdshort.testkit import CaseError, Trial, merge_patch, read_cases, sweep, try_pack

CASE_FILE = "cases/kite-too-heavy.yaml"
GAP = "cannot-judge:\n      - {needs: mass, at: aircraft.mass.ready}"
PAGE_FILE = "pages/kite-too-heavy.md"
Spoil = Callable[[str, str, str], Path]


def tried(folder: Path) -> Trial:
    return try_pack(load_pack(str(folder)))


def test_a_good_pack_passes(kites: Path) -> None:
    trial = tried(kites)
    assert trial.passed
    assert [result.line for result in trial.results] == [6, 8, 12, 16, 20]
    assert not trial.flaws


@pytest.mark.parametrize(
    ("old", "new", "line", "words"),
    [
        ("passes: true", "nothing-to-judge: true", 7, "expected nothing to judge"),
        ("ready: 11 kg", "ready: 9 kg", 10, "expected 1 finding, got 0"),
        ("at: aircraft.mass.ready, says: [11", "at: aircraft.mass, says: [11", 11, "got one at"),
        ("[11 kg, lighter]", "[11 kg, heavier]", 11, "expected the words 'heavier' in: It weighs"),
        ("severity: warning", "severity: note", 11, "expected severity note, got warning"),
        ("hold: flight", "hold: power-up", 11, "expected hold point power-up, got flight"),
        ("most: 9 kg", "most: 11 kg", 14, "expected 1 finding, got 0"),
        ("most: 9 kg", "most: 9 V", 13, "`most`: "),
        ("most: 9 kg", "least: 9 kg", 13, "`least` is no option of the rule"),
        ("needs: mass", "needs: weight", 19, "expected it to need 'weight', got: the mass"),
        (
            "mass, at: aircraft.mass.ready}",
            "mass, at: devices}",
            19,
            "expected not checked at devices, got",
        ),
        ("    nothing-to-judge: true", "    passes: true", 22, "judge something and find it clean"),
        ("    passes: true", "    passes: true\n    nothing-to-judge: true", 6, "give one of"),
        ("ready: 11 kg", "redy: 11 kg", 9, "mistake of form at aircraft.mass.redy"),
        ("name: Test,", "nam: Test,", 4, "mistake of form at aircraft"),
    ],
)
def test_a_case_that_does_not_hold_is_told_with_its_line(
    kites: Path, spoil: Spoil, old: str, new: str, line: int, words: str
) -> None:
    file = spoil(CASE_FILE, old, new)
    trial = tried(kites)
    problems = [problem for result in trial.failed for problem in result.problems]
    assert trial.job_done
    assert not trial.passed
    assert {problem.file for problem in problems} == {str(file)}
    assert any(words in problem.text for problem in problems if problem.line == line)


@pytest.mark.parametrize(
    ("old", "new", "line", "words"),
    [
        ("passes: true", "pases: true", 7, "`pases` is not a key here."),
        ("rule: kite-too-heavy", "rule: other-rule", 1, "is about `other-rule`"),
        ("cases:", "cases: [", 5, ""),
        ("base:", "base: none-such\nbese:", 1, ""),
    ],
)
def test_a_case_file_that_cannot_be_read_is_named_with_its_line(
    kites: Path, spoil: Spoil, old: str, new: str, line: int, words: str
) -> None:
    file = spoil(CASE_FILE, old, new)
    trial = tried(kites)
    (problem,) = trial.unreadable
    assert str(file) in problem
    assert words in problem
    if words:
        assert f"{file}:{line}: " in problem
    assert not trial.job_done
    assert not trial.passed


def test_a_base_may_have_a_file_of_its_own(kites: Path, spoil: Spoil) -> None:
    base = "{holdshort: 1, aircraft: {name: Test, mass: {ready: 10 kg}}}"
    (kites / "cases" / "bases").mkdir()
    (kites / "cases" / "bases" / "kite.yaml").write_text(base)
    spoil(
        CASE_FILE,
        "base:\n  holdshort: 1\n  aircraft: {name: Test, mass: {ready: 10 kg}}\n",
        "base: kite\n",
    )
    assert tried(kites).passed
    (kites / "cases" / "bases" / "kite.yaml").unlink()
    with pytest.raises(CaseError, match=r"bases/kite\.yaml"):
        read_cases(load_pack(str(kites)), "kite-too-heavy")


def test_a_rule_that_fails_fails_its_cases_and_names_the_line(kites: Path, spoil: Spoil) -> None:
    spoil("__init__.py", "    elif mass", "    elif mass.nix and mass")
    trial = tried(kites)
    assert len(trial.failed) == 3
    text = trial.failed[0].problems[0].text
    assert "AttributeError" in text
    assert "__init__.py, line 17" in text


def test_a_rule_that_never_ends_is_ended(kites: Path, spoil: Spoil) -> None:
    spoil("__init__.py", "    elif mass", "    while True: pass\n    if mass")
    spoil(
        "__init__.py", "    if mass is None:", "    if mass is not None: pass\n    if mass is None:"
    )
    trial = try_pack(load_pack(str(kites)), seconds=0.05)
    assert any("OutOfTimeError" in p.text for result in trial.failed for p in result.problems)


@pytest.mark.parametrize(
    ("file", "old", "new", "where", "words"),
    [
        (PAGE_FILE, "# A kite", "# The kite", PAGE_FILE, "is not the rule's title"),
        (PAGE_FILE, "**Why it matters.**", "Why", PAGE_FILE, "does not say **Why it matters.**"),
        (PAGE_FILE, "**Not checked** where", "Not where", PAGE_FILE, "cannot always judge"),
        (PAGE_FILE, "Heavy kites fall.", "TO WRITE", PAGE_FILE, "still to be written"),
        ("__init__.py", '"A kite heavier than it may be"', '"K12 kite"', "__init__.py:7", "a code"),
        ("__init__.py", "it may be", "it may be.", "__init__.py:7", "a full stop"),
        ("__init__.py", '"common practice")', '"heard")', "kites", "how it was read"),
        ("__init__.py", 'Source("practice"', 'Source("custom"', "kites", "calls itself `custom`"),
        (
            "__init__.py",
            '{"practice":',
            '{"idle": Source("idle", "x", "read"), "practice":',
            "kites",
            "`idle` is cited by no rule",
        ),
        (CASE_FILE, "passes: true", "nothing-to-judge: true", CASE_FILE, "let pass"),
        (CASE_FILE, GAP, "passes: true", CASE_FILE, "no case that it cannot judge"),
    ],
)  # fmt: skip
def test_the_sweep_tells_what_is_missing_and_where(
    kites: Path, spoil: Spoil, file: str, old: str, new: str, where: str, words: str
) -> None:
    spoil(file, old, new)
    found = [str(flaw) for flaw in sweep(load_pack(str(kites)))]
    assert any(words in flaw and where in flaw.partition(": ")[0] for flaw in found), found


def test_the_sweep_misses_whole_files_and_sees_strays(kites: Path) -> None:
    (kites / PAGE_FILE).rename(kites / "pages" / "stray-page.md")
    (kites / CASE_FILE).rename(kites / "cases" / "stray-case.yaml")
    trial = tried(kites)
    told = "\n".join(str(flaw) for flaw in trial.flaws)
    assert "kite-too-heavy.md: there is no such page" in told
    assert "the rule has no cases" in told
    assert "stray-page.md: this page belongs to no rule" in told
    assert "stray-case.yaml: this case file belongs to no rule" in told
    assert not trial.passed
    assert trial.job_done


def test_the_sweep_holds_packs_made_by_hand_to_the_same(kites: Path) -> None:
    pack = load_pack(str(kites))
    (rule,) = pack.rules
    bad = pack._replace(rules=(rule, rule._replace(sources=()), rule._replace(id="Kite")))
    told = "\n".join(str(flaw) for flaw in sweep(bad))
    assert "`kite-too-heavy` is given 2 times" in told
    assert "`Kite` is not lower-case words" in told
    assert "cites no source" in told


# The test cases of RFC 7396, appendix A (read in full): original, patch, result.
RFC_7396 = [
    ('{"a":"b"}', '{"a":"c"}', '{"a":"c"}'),
    ('{"a":"b"}', '{"b":"c"}', '{"a":"b","b":"c"}'),
    ('{"a":"b"}', '{"a":null}', "{}"),
    ('{"a":"b","b":"c"}', '{"a":null}', '{"b":"c"}'),
    ('{"a":["b"]}', '{"a":"c"}', '{"a":"c"}'),
    ('{"a":"c"}', '{"a":["b"]}', '{"a":["b"]}'),
    ('{"a":{"b":"c"}}', '{"a":{"b":"d","c":null}}', '{"a":{"b":"d"}}'),
    ('{"a":[{"b":"c"}]}', '{"a":[1]}', '{"a":[1]}'),
    ('["a","b"]', '["c","d"]', '["c","d"]'),
    ('{"a":"b"}', '["c"]', '["c"]'),
    ('{"a":"foo"}', "null", "null"),
    ('{"a":"foo"}', '"bar"', '"bar"'),
    ('{"e":null}', '{"a":1}', '{"e":null,"a":1}'),
    ("[1,2]", '{"a":"b","c":null}', '{"a":"b"}'),
    ("{}", '{"a":{"bb":{"ccc":null}}}', '{"a":{"bb":{}}}'),
]


@pytest.mark.parametrize(("original", "patch", "result"), RFC_7396)
def test_changes_are_merged_as_the_standard_has_it(original: str, patch: str, result: str) -> None:
    assert merge_patch(json.loads(original), json.loads(patch)) == json.loads(result)


values = st.recursive(
    st.none() | st.integers() | st.text(max_size=3),
    lambda inner: (
        st.lists(inner, max_size=2) | st.dictionaries(st.text(max_size=2), inner, max_size=3)
    ),
    max_leaves=8,
)


@given(values, values)
def test_a_change_made_twice_is_the_change_made_once(target: Any, patch: Any) -> None:
    once = merge_patch(target, patch)
    assert merge_patch(once, patch) == once
