"""``holdshort show power``: the table, its JSON and its picture from the shell."""

import json
import sys
from pathlib import Path
from typing import Any

import pytest

AIRCRAFT = """\
holdshort: 1
aircraft: {name: Wren}
parts:
  pack: {kind: battery, chemistry: lipo, cells: 2, resistance: 50 mΩ}
  rx: {kind: receiver, voltage: {min: 4 V, max: 9 V}, ports: {1..4: servo, supply: supply},
       draws: {rest: 0.1 A, cruise: 2 A, peak: 3 A}}
devices: {pack: {part: pack}, rx: {part: rx}}
leads:
  - {from: pack, to: rx.supply, wire: 22 AWG, length: 50 cm}
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "wren.yaml"
    path.write_text(AIRCRAFT, encoding="utf-8")
    return path


def test_the_table_is_printed(run: Any, file: Path) -> None:
    result = run("show", "power", file)
    assert (result.code, result.err) == (0, "")
    assert result.out.startswith(f"Power of Wren\n{file}")
    assert "within" in result.out


def test_standard_input_is_read(run: Any) -> None:
    result = run("show", "power", "-", stdin=AIRCRAFT.encode())
    assert result.code == 0
    assert result.out.startswith("Power of Wren\nstandard input\n")


def test_json_is_asked_for(run: Any, file: Path) -> None:
    result = run("show", "power", "--format", "json", file)
    data = json.loads(result.out)
    assert (result.code, data["format"], data["aircraft"]) == (0, "holdshort-power", "Wren")


@pytest.mark.parametrize("form", ["text", "json"])
def test_mistakes_of_form_are_told_and_what_is_left_is_shown(
    run: Any, file: Path, form: str
) -> None:
    file.write_text(AIRCRAFT.replace("name: Wren", "name: Wren, nix: 1"), encoding="utf-8")
    result = run("show", "power", "--format", form, file)
    assert result.code == 2
    assert "`nix` is not a key here." in result.err
    assert "aircraft" in (json.loads(result.out)["unread"] if form == "json" else result.out)


def test_a_file_that_is_not_there_prints_nothing(run: Any, tmp_path: Path) -> None:
    result = run("show", "power", tmp_path / "nix.yaml")
    assert (result.code, result.out) == (2, "")
    assert "nix.yaml" in result.err


@pytest.mark.parametrize(
    ("name", "begins"), [("power.png", b"\x89PNG\r\n"), ("power.SVG", b"<?xml")]
)
def test_a_picture_is_drawn_beside_the_table(
    run: Any, file: Path, tmp_path: Path, name: str, begins: bytes
) -> None:
    pytest.importorskip("matplotlib")
    picture = tmp_path / name
    picture.write_bytes(b"old")
    result = run("show", "power", file, "--plot", picture)
    assert (result.code, result.err) == (0, "")
    assert result.out.startswith("Power of Wren\n")
    assert picture.read_bytes().startswith(begins)
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted([name, "wren.yaml"])


def test_without_matplotlib_one_sentence_says_what_to_do(
    run: Any, file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in [name for name in sys.modules if name.partition(".")[0] == "matplotlib"]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.delitem(sys.modules, "holdshort.fixlist.power_picture", raising=False)
    monkeypatch.setitem(sys.modules, "matplotlib", None)
    result = run("show", "power", file, "--plot", tmp_path / "power.svg")
    assert (result.code, result.out) == (2, "")
    assert "needs matplotlib" in result.err
    assert not (tmp_path / "power.svg").exists()
    assert run("show", "power", file).code == 0


def test_a_picture_of_another_kind_is_refused(run: Any, file: Path, tmp_path: Path) -> None:
    result = run("show", "power", file, "--plot", tmp_path / "power.pdf")
    assert (result.code, result.out) == (2, "")
    assert "ends in .svg or .png" in result.err


def test_a_picture_replaces_neither_the_setup_file_nor_a_folder(
    run: Any, file: Path, tmp_path: Path
) -> None:
    pytest.importorskip("matplotlib")
    link = tmp_path / "link.svg"
    link.symlink_to(file)
    assert run("show", "power", file, "--plot", link).code == 2
    assert file.read_text(encoding="utf-8") == AIRCRAFT
    (tmp_path / "folder.png").mkdir()
    assert run("show", "power", file, "--plot", tmp_path / "folder.png").code == 2
    lost = run("show", "power", file, "--plot", tmp_path / "nowhere" / "power.png")
    assert lost.code == 2
    assert "could not be written" in lost.err


def test_the_help_has_an_example(run: Any) -> None:
    result = run("show", "--help")
    assert result.code == 0
    assert "show power aircraft.yaml --plot power.svg" in result.out
