"""The example club: its hangar file, its rules in YAML and in Python, installed and not."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

pytest.importorskip("jsonpath_rfc9535", reason="rules in YAML need the extra `club`")
pytest.importorskip("re2", reason="rules in YAML need the extra `club`")

CLUB = Path(__file__).resolve().parents[2] / "examples" / "club"
FOUND = {
    ("pack-not-numbered", "blackmoss", "devices.radio-pack.note", "warning"),
    ("too-many-flights-on-a-charge", "blackmoss-field", "aircraft.flights-per-charge", "caution"),
    ("single-failure-loses-control", "built-in", "devices.radio-pack", "note"),
}


def holdshort(folder: Path, *arguments: str, path: Path | None = None) -> tuple[int, str, str]:
    """Run the program in a folder, with ``path`` in front of what can be imported."""
    before = os.environ.get("PYTHONPATH", "")
    environment = {
        **os.environ,
        "PYTHONPATH": os.pathsep.join(str(entry) for entry in (path, before) if entry),
    }
    command = [sys.executable, "-m", "holdshort", *arguments]
    done = subprocess.run(
        command, cwd=folder, capture_output=True, text=True, check=False, env=environment
    )
    return done.returncode, done.stdout, done.stderr


def found(report: str) -> set[tuple[str, ...]]:
    """Return rule, pack, path and severity of every finding in a report in JSON."""
    data: dict[str, Any] = json.loads(report)
    (file,) = [entry for entry in data["files"] if entry["file"].endswith("moss-kite.yaml")]
    assert file["crashes"] == []
    assert file["mistakes"] == []
    return {
        (item["rule"], item["pack"], item["path"], item["severity"]) for item in file["findings"]
    }


@pytest.fixture(scope="module")
def club(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the club's folder."""
    copy = tmp_path_factory.mktemp("copy") / "club"
    shutil.copytree(CLUB, copy)
    return copy


def test_the_aircraft_has_one_finding_of_each_pack(club: Path) -> None:
    before = sorted(club.rglob("*"))
    code, out, err = holdshort(club, "lint", "--format", "json", "moss-kite.yaml")
    assert (code, err) == (1, "")
    assert found(out) == FOUND
    assert sorted(club.rglob("*")) == before


@pytest.mark.parametrize("pack", ["./field-rules.yaml", "./blackmoss-rules/src/blackmoss_rules"])
def test_the_clubs_rules_are_proved(club: Path, pack: str) -> None:
    code, out, err = holdshort(club, "rules", "test", pack)
    assert (code, err) == (0, ""), out
    assert " 0 not; 0 other things to put right." in out


@pytest.fixture(scope="module")
def installed(club: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder in which the club's distribution is installed, built from its source."""
    pytest.importorskip("hatchling", reason="building the example needs hatchling")
    site = tmp_path_factory.mktemp("site")
    command = [
        *(sys.executable, "-m", "pip", "install", "--quiet", "--no-index", "--no-deps"),
        *("--no-build-isolation", "--disable-pip-version-check", "--target", str(site)),
        str(club / "blackmoss-rules"),
    ]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return site


def test_the_distribution_installs_and_is_found_by_name(club: Path, installed: Path) -> None:
    assert (installed / "blackmoss_rules" / "pages" / "pack-not-numbered.md").is_file()
    code, out, err = holdshort(club, "rules", "test", "blackmoss", path=installed)
    assert (code, err) == (0, ""), out
    assert out.startswith("blackmoss: 2 rules, 12 cases: 12 as expected")
    assert holdshort(club, "rules", "test", "blackmoss")[0] == 2


def test_the_installed_pack_judges_as_the_folder_does(club: Path, installed: Path) -> None:
    text = (club / "hangar.yaml").read_text()
    assert text.count("- ./blackmoss-rules/src/blackmoss_rules ") == 1
    hangar = club / "installed.yaml"
    hangar.write_text(text.replace("./blackmoss-rules/src/blackmoss_rules ", "blackmoss "))
    arguments = ("lint", "--hangar", "installed.yaml", "--format", "json", "moss-kite.yaml")
    code, out, err = holdshort(club, *arguments, path=installed)
    assert (code, err) == (1, "")
    assert found(out) == FOUND


def test_installed_and_not_named_it_says_nothing(club: Path, installed: Path) -> None:
    alone = club.parent / "moss-kite.yaml"
    text = (club / "moss-kite.yaml").read_text()
    alone.write_text(
        text.replace("holdshort: 1\n", "holdshort: 1\ncatalogues: [club/parts.yaml]\n")
    )
    code, out, err = holdshort(club.parent, "lint", "--format", "json", alone.name, path=installed)
    assert code != 2, err
    assert found(out) == {entry for entry in FOUND if entry[1] == "built-in"}
