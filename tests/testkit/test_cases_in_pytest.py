"""The pytest plug-in: cases of a pack as tests; nothing else is touched."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


def run_pytest(folder: Path, *arguments: str) -> tuple[int, str]:
    """Run pytest in a folder, in a process of its own."""
    command = [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", "--rootdir", str(folder)]
    done = subprocess.run(
        [*command, *arguments], cwd=folder, capture_output=True, text=True, check=False
    )
    return done.returncode, done.stdout + done.stderr


def test_each_case_is_a_test(kites: Path) -> None:
    code, out = run_pytest(kites, "-p", "holdshort.pytest_plugin", "-v")
    assert code == 0, out
    assert "kite-too-heavy.yaml::above the limit PASSED" in out
    assert "kite-too-heavy.yaml::proved all ways PASSED" in out
    assert "6 passed" in out


def test_a_failing_case_shows_its_file_and_line_and_no_traceback(kites: Path) -> None:
    file = kites / "cases" / "kite-too-heavy.yaml"
    file.write_text(file.read_text().replace("[11 kg, lighter]", "[12 kg]"))
    code, out = run_pytest(kites, "-p", "holdshort.pytest_plugin")
    assert code == 1, out
    assert f"{file}:11: expected the words '12 kg'" in out
    assert "1 failed, 5 passed" in out
    assert "_fail_for" not in out


def test_a_set_of_cases_that_proves_too_little_fails(kites: Path) -> None:
    file = kites / "cases" / "kite-too-heavy.yaml"
    file.write_text(file.read_text().replace("passes: true", "nothing-to-judge: true"))
    code, out = run_pytest(kites, "-p", "holdshort.pytest_plugin", "-k", "proved")
    assert code == 1, out
    assert "no case that it must let pass" in out


@pytest.mark.parametrize(
    ("file", "text", "words"),
    [
        ("__init__.py", "1/0", "ZeroDivisionError"),
        ("cases/kite-too-heavy.yaml", "rule: [", "kite-too-heavy.yaml:1"),
        ("cases/other-rule.yaml", "rule: other-rule", "has no rule `other-rule`"),
    ],
)
def test_what_cannot_be_collected_is_an_error(
    kites: Path, file: str, text: str, words: str
) -> None:
    (kites / file).write_text(text)
    code, out = run_pytest(kites, "-p", "holdshort.pytest_plugin")
    assert code == 2, out
    assert words in out


def test_without_the_plug_in_pytest_is_left_alone(kites: Path) -> None:
    code, out = run_pytest(kites)
    assert (code, "no tests ran" in out) == (5, True), out


def test_folders_called_cases_that_are_in_no_pack_are_left_alone(tmp_path: Path) -> None:
    (tmp_path / "cases").mkdir()
    (tmp_path / "cases" / "other.yaml").write_text("a: 1")
    (tmp_path / "data.yaml").write_text("holdshort-rules: 1")
    code, out = run_pytest(tmp_path, "-p", "holdshort.pytest_plugin")
    assert (code, "no tests ran" in out) == (5, True), out


def test_a_pack_that_is_installed_is_taken_as_it_is_installed() -> None:
    cases = ROOT / "rules" / "holdshort_rules" / "cases" / "unknown-port.yaml"
    code, out = run_pytest(ROOT, "-p", "holdshort.pytest_plugin", str(cases))
    assert code == 0, out
