"""``holdshort compare`` from the shell: two files, and one file at two times."""

import json
import os
import shutil
import subprocess
from pathlib import Path
from typing import Any, cast

import jsonschema
import pytest

import holdshort.fixlist

SCHEMA = Path(holdshort.fixlist.__path__[0]) / "compare.schema.json"
PAIRS = Path(__file__).resolve().parents[1] / "analysis" / "pairs"
NAMES = ("radio-before.yaml", "radio-after.yaml", "layout-giver.yaml", "layout-taker.yaml")


def close(schema: dict[str, Any]) -> dict[str, Any]:
    return {**schema, "additionalProperties": False} if schema.get("properties") else schema


def checked(text: str) -> Any:
    schema: Any = json.loads(SCHEMA.read_text(encoding="utf-8"), object_hook=close)
    jsonschema.Draft202012Validator.check_schema(schema)
    data = json.loads(text)
    cast("Any", jsonschema.Draft202012Validator(schema)).validate(data)
    return data


def one_line(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("old", NAMES)
@pytest.mark.parametrize("new", NAMES)
def test_every_pair_fits_the_schema_and_only_a_file_itself_does_not_differ(
    run: Any, old: str, new: str
) -> None:
    result = run("compare", PAIRS / old, PAIRS / new, "--format", "json")
    data = checked(result.out)
    assert data["differs"] == (old != new)
    assert data["same_aircraft"] == (data["old"]["aircraft"] == data["new"]["aircraft"])
    assert result.err == ""


def test_a_change_of_the_radio_is_told_in_the_builders_words(run: Any) -> None:
    result = run("compare", PAIRS / "radio-before.yaml", PAIRS / "radio-after.yaml")
    told = one_line(result.out)
    assert "device main-rx is gone: kind receiver, part rx" in told
    assert "the lead at ail-left: out of box.1, into left-rx.1" in told
    assert "lead box.1 to ail-left is gone" not in told  # said once, as a lead to move
    assert "not that the aircraft is safe" in told


def test_a_copied_layout_is_told(run: Any) -> None:
    result = run("compare", PAIRS / "layout-giver.yaml", PAIRS / "layout-taker.yaml")
    told = one_line(result.out)
    assert "and nothing here is driven by them channel 6, which drives gear" in told
    assert "channel 2, which drives elevator (copied from Fell Wren)" in told
    assert "To do on the second one, in this order 1. centres" in told


def test_nothing_that_differs_is_said_to_differ(run: Any) -> None:
    result = run("compare", PAIRS / NAMES[0], PAIRS / NAMES[0])
    assert result.code == 0
    assert "No setting differs" in result.out


def test_a_finding_that_came_ends_with_one(run: Any, tmp_path: Path) -> None:
    text = (PAIRS / NAMES[0]).read_text(encoding="utf-8")
    heavy = text.replace("mass: {dry: 7.1 kg}", "mass: {ready: 30 kg}")
    result = run("compare", PAIRS / NAMES[0], "-", stdin=heavy.encode())
    assert result.code == 1
    assert "Found now and not before warning; holds flight: It weighs 30 kg" in one_line(result.out)
    data = checked(run("compare", "--format", "json", PAIRS / NAMES[0], "-",
                       stdin=heavy.encode()).out)  # fmt: skip
    assert [one["rule"] for one in data["findings"]["came"]] == ["aircraft-too-heavy"]
    assert [one["rule"] for one in data["not_checked"]["went"]] == ["aircraft-too-heavy"]
    back = run("compare", "-", PAIRS / NAMES[0], stdin=heavy.encode())
    assert back.code == 0
    assert "Found before and no more" in back.out


def signed(run: Any, tmp_path: Path) -> Path:
    path = tmp_path / "wren.yaml"
    shutil.copy(PAIRS / NAMES[0], path)
    for test in ("centres", "directions"):
        done = run("sign", path, test, "--passed", "--by", "A. B.", "--second", "C. D.",
                   "--on", "2026-06-05")  # fmt: skip
        assert done.code == 0, done.err
    return path


def test_a_sign_off_that_falls_ends_with_one_and_the_way_back(run: Any, tmp_path: Path) -> None:
    path = signed(run, tmp_path)
    new = tmp_path / "new.yaml"
    text = path.read_text(encoding="utf-8")
    new.write_text(text.replace("100 %, centre: 0 %}", "100 %, centre: 4 %}", 1), encoding="utf-8")
    result = run("compare", path, new)
    told = one_line(result.out)
    assert result.code == 1
    assert "`centres`: void: centre of channel 1 was 0 %, is 4 %." in told
    assert "less will not do 1. centres" in told
    renamed = tmp_path / "renamed.yaml"
    renamed.write_text(text.replace("name: Fell Wren", "name: Moor Wren"), encoding="utf-8")
    told = one_line(run("compare", path, renamed).out)
    assert "These are two aircraft: no sign-off of the one says anything" in told
    told = one_line(run("compare", path, renamed, "--same-aircraft").out)
    assert "These are two aircraft" not in told


# -- revisions -----------------------------------------------------------------------------------


@pytest.fixture
def kept(tmp_path: Path) -> Path:
    """A folder that git keeps: two revisions of an aircraft and of its parts, and later changes."""
    git = shutil.which("git")
    if git is None:
        pytest.skip("git is not installed")
    folder = tmp_path / "hangar"
    folder.mkdir()
    parts = "holdshort-parts: 1\nparts: {lamp: {kind: lights, ports: {in: pulse-in}}}\n"
    (folder / "lamps.yaml").write_text(parts, encoding="utf-8")
    text = (PAIRS / NAMES[0]).read_text(encoding="utf-8")
    wren = folder / "wren.yaml"
    who = {"GIT_AUTHOR_NAME": "A", "GIT_AUTHOR_EMAIL": "a@example.org"}
    who |= {"GIT_COMMITTER_NAME": "A", "GIT_COMMITTER_EMAIL": "a@example.org"}
    where = {"GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_SYSTEM": os.devnull}

    def run_git(*words: str) -> None:
        command = [git, "-C", str(folder), *words]
        subprocess.run(command, check=True, capture_output=True, env={**os.environ, **who, **where})

    run_git("init", "-q")
    text = text.replace("holdshort: 1\n", "holdshort: 1\ncatalogues: [lamps.yaml]\n")
    wren.write_text(text, encoding="utf-8")
    run_git("add", "wren.yaml", "lamps.yaml")
    run_git("commit", "-q", "-m", "as built")
    wren.write_text(text.replace("travel: 90 %", "travel: 80 %"), encoding="utf-8")
    run_git("commit", "-q", "-a", "-m", "less elevator")
    (folder / "later.yaml").write_text(text, encoding="utf-8")
    return wren


def test_a_file_is_compared_with_itself_as_git_keeps_it(run: Any, kept: Path) -> None:
    data = checked(run("compare", kept, "--revision", "HEAD~1", "--format", "json").out)
    assert [one["subject"] for one in data["changes"]] == ["channel 2"]
    assert data["old"]["file"] == f"{kept} at HEAD~1"
    assert data["notes"] == ["Read as of HEAD~1: lamps.yaml."]
    data = checked(run("compare", kept, "--revision", "HEAD", "--format", "json").out)
    assert not data["differs"]


def test_a_catalogue_that_the_revision_lacks_is_read_as_now_and_said(run: Any, kept: Path) -> None:
    lamps = kept.with_name("lamps.yaml")
    lamps.rename(kept.with_name("lights.yaml"))
    command = ["git", "-C", str(kept.parent), "rm", "-q", "--cached", "lamps.yaml"]
    subprocess.run(command, check=True, capture_output=True)
    identity = ["-c", "user.name=A", "-c", "user.email=a@example.org"]
    command = ["git", "-C", str(kept.parent), *identity, "commit", "-q", "-m", "no lamps"]
    subprocess.run(command, check=True, capture_output=True)
    lamps.write_text("holdshort-parts: 1\nparts: {}\n", encoding="utf-8")
    data = checked(run("compare", kept, "--revision", "HEAD", "--format", "json").out)
    assert data["notes"] == ["Read as now, not being in HEAD: lamps.yaml."]


@pytest.mark.parametrize(
    ("revision", "says"),
    [
        ("--output=x", "no name of a revision"),
        ("-p", "no name of a revision"),
        ("HEAD:wren.yaml", "no name of a revision"),
        ("HEAD\x1b", "no name of a revision"),
        ("nix", "Git knows no revision `nix`"),
        (" ", "A revision is named"),
        ("HEAD; touch x", "no name of a revision"),
    ],
)
def test_what_is_no_revision_is_said(run: Any, kept: Path, revision: str, says: str) -> None:
    result = run("compare", kept, f"--revision={revision}")
    assert (result.code, result.out) == (2, "")
    assert says in result.err
    assert "\x1b" not in result.err
    assert not (kept.parent / "x").exists()


def test_a_file_that_the_revision_lacks_is_said(run: Any, kept: Path) -> None:
    result = run("compare", kept.with_name("later.yaml"), "--revision", "HEAD")
    assert (result.code, result.out) == (2, "")
    assert "is not in the revision `HEAD`" in result.err


def test_a_missing_git_is_said(
    run: Any, kept: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    result = run("compare", kept, "--revision", "HEAD")
    assert (result.code, result.out) == (2, "")
    assert "Git is not installed here" in result.err


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ((PAIRS / NAMES[0],), "Name two files"),
        (("-", "-"), "Only one of the two"),
        ((PAIRS / NAMES[0], PAIRS / NAMES[1], "--revision", "HEAD"), "name one file"),
        (("-", "--revision", "HEAD"), "has no revisions"),
        ((PAIRS / NAMES[0], PAIRS / "nix.yaml"), "nix.yaml"),
    ],
)
def test_what_cannot_be_compared_is_said(run: Any, arguments: tuple[Any, ...], says: str) -> None:
    result = run("compare", *arguments)
    assert (result.code, result.out) == (2, "")
    assert says in result.err


def test_nothing_is_compared_while_there_are_mistakes_of_form(run: Any) -> None:
    result = run("compare", PAIRS / NAMES[0], "-", stdin=b"holdshort: 1\nnix: 1\n")
    assert (result.code, result.out) == (2, "")
    assert "Nothing is compared" in result.err


def test_hostile_names_are_written_out(run: Any, tmp_path: Path) -> None:
    hostile = tmp_path / "\u202e\x1b[2Jw.yaml"
    shutil.copy(PAIRS / NAMES[1], hostile)
    result = run("compare", PAIRS / NAMES[0], hostile)
    assert result.code in {0, 1}
    assert not {"\x1b", "\u202e"} & set(result.out)
    assert run("compare", PAIRS / NAMES[0], hostile, "--format", "json").out.isascii()
