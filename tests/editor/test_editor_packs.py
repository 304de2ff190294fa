"""Opening a file runs nothing that lies beside it, unless the client was told so."""

import os
import shutil
from pathlib import Path

import pytest

from holdshort.editor.session import News, Session
from holdshort.editor.texts import Texts
from holdshort.rulebook import load_rulebook

from .conftest import EXAMPLES

SPY = "from pathlib import Path\nPath(__file__).with_name('ran').write_text('yes')\n"
AIRCRAFT = "holdshort: 1\naircraft: {name: Test}\n"


def opened(folder: Path, *, runs_folders: bool = False) -> list[News]:
    made = Session(Texts(), load_rulebook(), runs_folders)
    made.open((folder / "a.yaml").as_uri(), AIRCRAFT, 1)
    return made.judge_next()


@pytest.fixture
def club(tmp_path: Path) -> Path:
    (tmp_path / ".git").mkdir()
    for name in ("rules", "rules.yaml"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "__init__.py").write_text(SPY, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize(
    "name", ["./rules", "./rules.yaml", "rules.yaml", "rules/", "rules/__init__.py", "./x/../rules"]
)
def test_a_folder_of_python_is_not_run_and_that_is_told(club: Path, name: str) -> None:
    hangar = club / "hangar.yaml"
    hangar.write_text(f"holdshort-hangar: 1\npacks: [{name}]\n", encoding="utf-8")
    news = {one.uri: one.diagnostics for one in opened(club)}
    assert not list(club.glob("*/ran"))
    (told,) = news[hangar.as_uri()]
    assert told.code == "pack-not-run"
    assert "not run in the editor" in told.message
    assert told.range.start.line == 1


def test_it_is_run_where_the_client_says_so(club: Path) -> None:
    hangar = club / "hangar.yaml"
    hangar.write_text("holdshort-hangar: 1\npacks: [./rules]\n", encoding="utf-8")
    news = {one.uri: one.diagnostics for one in opened(club, runs_folders=True)}
    assert (club / "rules" / "ran").exists()
    (told,) = news[hangar.as_uri()]
    assert told.code == "unusable-pack"  # the spy is no pack


def test_rules_that_are_data_count_and_are_read_anew_when_they_change(club: Path) -> None:
    pack, hangar = club / "own.yaml", club / "hangar.yaml"
    hangar.write_text("holdshort-hangar: 1\npacks: [./own.yaml]\n", encoding="utf-8")
    pack.write_text("holdshort-rules: 1\nnonsense: 1\n", encoding="utf-8")
    made = Session(Texts(), load_rulebook())
    uri = (club / "a.yaml").as_uri()
    made.open(uri, "holdshort: 1\naircraft: {name: Test, flights-per-charge: 3}\n", 1)
    news = {one.uri: one.diagnostics for one in made.judge_next()}
    assert [one.code for one in news[hangar.as_uri()]] == ["unusable-pack"]
    shutil.copy(EXAMPLES / "club" / "field-rules.yaml", pack)  # which allows two flights
    made.all_changed()
    news = {one.uri: one.diagnostics for one in made.judge_next()}
    assert news[hangar.as_uri()] == []
    assert "too-many-flights-on-a-charge" in [one.code for one in news[uri]]


def test_a_deferral_of_a_rule_that_is_not_run_is_no_fault(club: Path) -> None:
    hangar = club / "hangar.yaml"
    hangar.write_text("holdshort-hangar: 1\npacks: [./rules]\n", encoding="utf-8")
    deferral = "{rule: rule-of-club, at: aircraft, reason: r, by: me, until: 2099-01-01}"
    made = Session(Texts(), load_rulebook())
    uri = (club / "a.yaml").as_uri()
    made.open(uri, f"{AIRCRAFT}deferrals: [{deferral}]\n", 1)
    news = {one.uri: one.diagnostics for one in made.judge_next()}
    assert "deferral-unused" not in [one.code for one in news[uri]]
    hangar.write_text("holdshort-hangar: 1\n", encoding="utf-8")
    made.all_changed()
    news = {one.uri: one.diagnostics for one in made.judge_next()}
    assert "deferral-unused" in [one.code for one in news[uri]]


def test_a_hangar_file_that_anybody_may_have_left_is_passed_over(club: Path) -> None:
    (club / "hangar.yaml").write_text("holdshort-hangar: 1\n", encoding="utf-8")
    club.chmod(0o777)
    (news,) = opened(club)
    assert "hangar-passed-over" in [one.code for one in news.diagnostics]


def test_no_device_and_no_pipe_is_opened(club: Path) -> None:
    os.mkfifo(club / "pipe.yaml")
    (club / "zero.yaml").symlink_to("/dev/zero")
    hangar = club / "hangar.yaml"
    hangar.write_text(
        "holdshort-hangar: 1\npacks: [./pipe.yaml, ./zero.yaml]\n"
        "catalogues: [pipe.yaml, zero.yaml]\n",
        encoding="utf-8",
    )
    news = {one.uri: one.diagnostics for one in opened(club)}
    codes = [one.code for one in news[hangar.as_uri()]]
    assert codes.count("unusable-pack") == 2
    assert codes.count("unreadable-catalogue") == 2
