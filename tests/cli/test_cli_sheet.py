"""``holdshort sheet`` from the shell."""

from pathlib import Path
from typing import Any

import pytest

AIRCRAFT = """\
holdshort: 1
aircraft: {name: Wren, propulsion: turbine, mass: {ready: 12 kg}}
parts:
  rx: {kind: receiver, ports: {1..4: servo}}
  servo: {kind: servo}
devices: {rx: {part: rx}, tail: {part: servo}}
leads: [{from: rx.1, to: tail}]
radio: {channels: {1: {drives: elevator}}}
surfaces: {elevator: {servo: tail}}
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "wren.yaml"
    path.write_text(AIRCRAFT, encoding="utf-8")
    return path


def test_a_sheet_is_written_and_an_older_one_replaced(run: Any, file: Path, tmp_path: Path) -> None:
    page = tmp_path / "sheet.html"
    page.write_text("an older sheet", encoding="utf-8")
    result = run("sheet", file, "-o", page)
    assert (result.code, result.out, result.err) == (0, "", "")
    text = page.read_text(encoding="utf-8")
    assert text.startswith("<!DOCTYPE html>")
    assert "<bdi>Wren</bdi>" in text
    assert sorted(path.name for path in tmp_path.iterdir()) == ["sheet.html", "wren.yaml"]


def test_standard_input_is_read(run: Any, here: Path) -> None:
    assert run("sheet", "-", "-o", "sheet.html", stdin=AIRCRAFT.encode()).code == 0
    assert "standard input" in (here / "sheet.html").read_text(encoding="utf-8")


def test_what_is_held_gives_the_exit_code_of_lint_and_the_sheet_all_the_same(
    run: Any, file: Path, here: Path
) -> None:
    file.write_text(AIRCRAFT.replace("12 kg", "30 kg"), encoding="utf-8")
    assert run("lint", file).code == run("sheet", file, "-o", "sheet.html").code == 1
    text = (here / "sheet.html").read_text(encoding="utf-8")
    assert "It weighs 30 kg." in text
    assert "Held by 1 warning" in text
    assert "1 where something is held" in " ".join(run("sheet", "--help").out.split())


def test_a_failed_rule_and_a_mistake_of_form_give_a_sheet_and_exit_code_two(
    run: Any, file: Path, here: Path
) -> None:
    file.write_text(AIRCRAFT.replace("Wren", "hurt"), encoding="utf-8")
    assert run("sheet", file, "-o", "failed.html").code == 2
    assert "RuntimeError" in (here / "failed.html").read_text(encoding="utf-8")
    file.write_text(AIRCRAFT + "wings: 2\n", encoding="utf-8")
    result = run("sheet", file, "-o", "mistaken.html")
    assert result.code == 2
    assert "wings" in result.err
    assert "wings" in (here / "mistaken.html").read_text(encoding="utf-8")


def test_a_hangar_file_counts_and_its_mistakes_are_told(
    run: Any, file: Path, tmp_path: Path, here: Path
) -> None:
    hangar = tmp_path / "club.yaml"
    hangar.write_text(
        "holdshort-hangar: 1\nseverities: {aircraft-too-heavy: note}\n", encoding="utf-8"
    )
    file.write_text(AIRCRAFT.replace("12 kg", "30 kg"), encoding="utf-8")
    assert run("sheet", file, "--hangar", hangar, "-o", "sheet.html").code == 0
    text = (here / "sheet.html").read_text(encoding="utf-8")
    assert "1 note, which holds nothing" in text
    assert "club.yaml" in text
    hangar.write_text("holdshort-hangar: 1\nbirds: 3\n", encoding="utf-8")
    result = run("sheet", file, "--hangar", hangar, "-o", "sheet.html")
    assert result.code == 2
    assert "birds" in result.err
    assert "birds" in (here / "sheet.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("-o", "sheet.pdf"), "A sheet ends in .html"),
        (("-o", "nowhere/sheet.html"), "could not be written"),
        (("-o", "folder.html"), "is not a file that can be replaced"),
        ((), "-o"),
    ],
)
def test_what_cannot_be_written_is_said(
    run: Any, file: Path, here: Path, arguments: tuple[str, ...], says: str
) -> None:
    (here / "folder.html").mkdir()
    result = run("sheet", file, *arguments)
    assert (result.code, result.out) == (2, "")
    assert says in result.err


@pytest.mark.parametrize(
    "content", [AIRCRAFT, "holdshort: [1\n", "holdshort-parts: 1\nparts: {}\n"]
)
def test_a_setup_file_is_never_replaced(run: Any, file: Path, tmp_path: Path, content: str) -> None:
    other = tmp_path / "other.html"
    other.write_text(content, encoding="utf-8")
    assert run("sheet", file, "-o", other).code == 2
    assert other.read_text(encoding="utf-8") == content


@pytest.mark.parametrize("kind", ["parts", "hangar"])
def test_a_file_that_is_no_aircraft_has_no_sheet(run: Any, here: Path, kind: str) -> None:
    more = "parts: {}\n" if kind == "parts" else ""
    (here / "other.yaml").write_text(f"holdshort-{kind}: 1\n{more}", encoding="utf-8")
    result = run("sheet", "other.yaml", "-o", "sheet.html")
    assert result.code == 2
    assert "a sheet is made of one aircraft" in result.err
    assert not (here / "sheet.html").exists()


def test_a_file_that_is_not_there_writes_nothing(run: Any, here: Path) -> None:
    result = run("sheet", "nix.yaml", "-o", "sheet.html")
    assert (result.code, result.out) == (2, "")
    assert "nix.yaml" in result.err
    assert list(here.iterdir()) == []
