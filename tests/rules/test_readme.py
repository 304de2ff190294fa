"""The README shows what the program really prints, and its first command lints a real example."""

import re
from pathlib import Path

import pytest

from holdshort.cli import main

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_fix_list_in_the_readme_is_the_one_that_prints(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(ROOT)
    shown = re.search(r"```text\n(Fix list for .*?)\n```", README, re.DOTALL)
    assert shown is not None
    named = re.search(r"holdshort lint (\S+)", README)
    assert named is not None
    assert main(["lint", named.group(1)]) == 1
    assert capsys.readouterr().out.strip() == shown.group(1).strip()


def test_the_first_paragraph_states_the_job() -> None:
    first = README.split("\n\n")[1]
    assert first.startswith("Holdshort checks the set-up")
    assert "before it is powered up" in " ".join(first.split())
    assert "fix list" in " ".join(first.split())


def test_the_two_commands_stand_first_and_make_their_own_environment() -> None:
    commands = re.findall(r"```bash\n(.*?)\n```", README, re.DOTALL)[:2]
    assert len(commands) == 2
    for command in commands:
        assert command.startswith("python3 -m venv .venv && ")
        assert "\n" not in command
    assert commands[0].endswith(".yaml")
    assert "pytest" in commands[1]
