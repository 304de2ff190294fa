"""``holdshort show diagram``: the text, the JSON and the pictures from the shell."""

import json
import sys
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest

AIRCRAFT = """\
holdshort: 1
aircraft: {name: Wren, mass: {ready: 30 kg}}
parts:
  pack: {kind: battery, chemistry: lipo, cells: 2}
  rx: {kind: receiver, ports: {1..4: servo, supply: supply}}
devices: {pack: {part: pack}, rx: {part: rx}}
leads:
  - {from: pack, to: rx.supply, wire: 22 AWG, length: 50 cm}
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "wren.yaml"
    path.write_text(AIRCRAFT, encoding="utf-8")
    return path


def test_the_wiring_is_printed_with_the_findings(run: Any, file: Path) -> None:
    result = run("show", "diagram", file)
    assert (result.code, result.err) == (0, "")
    assert result.out.startswith(f"Wiring of Wren\n{file}\n\nPacks\n  pack: 2-cell lipo")
    assert "  [see " in result.out
    assert "gives no resistance" not in result.out  # titles only: the fix list tells all
    assert "Findings, by their number in the fix list" in result.out


def test_the_findings_are_those_of_the_fix_list_with_the_club_tests_and_the_day(
    run: Any, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    built_in = [("built-in", "holdshort_rules:pack")]
    monkeypatch.setattr("holdshort.rulebook.packs.entry_points", lambda: built_in)
    (file.parent / "hangar.yaml").write_text(
        "holdshort-hangar: 1\ntests:\n"
        "  wing bolts: {title: Wing bolts tight, proves: [aircraft], every: 30}\n",
        encoding="utf-8",
    )
    by = ("--passed", "--by", "A. Builder", "--on", "2020-02-29")
    assert run("sign", file, "wing bolts", *by).code == 0
    listed = json.loads(run("lint", "--format", "json", file).out)["files"][-1]["findings"]
    assert "A sign-off that is too old" in [found["title"] for found in listed]
    shown = run("show", "diagram", file).out.partition("by their number in the fix list\n")[2]
    for number, found in enumerate(listed, 1):
        assert f"{number:>4}  {found['severity'].upper()}: {found['title']}" in shown
    assert f"{len(listed) + 1:>4}  " not in shown


def test_json_is_asked_for(run: Any, file: Path) -> None:
    result = run("show", "diagram", "--format", "json", file)
    data = json.loads(result.out)
    assert (result.code, data["format"], data["aircraft"]) == (0, "holdshort-diagram", "Wren")
    assert "device-1" in {mark["device"] for mark in data["marks"]}


def test_standard_input_is_read(run: Any) -> None:
    result = run("show", "diagram", "-", stdin=AIRCRAFT.encode())
    assert result.code == 0
    assert result.out.startswith("Wiring of Wren\nstandard input\n")


@pytest.mark.parametrize("option", ["-o", "--output", "--plot"])
def test_svg_needs_no_library(
    run: Any, file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, option: str
) -> None:
    for name in [name for name in sys.modules if name.partition(".")[0] == "matplotlib"]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, "matplotlib", None)
    monkeypatch.delitem(sys.modules, "holdshort.fixlist.diagram_png", raising=False)
    picture = tmp_path / "wiring.svg"
    result = run("show", "diagram", file, option, picture)
    assert (result.code, result.err) == (0, "")
    root = ET.fromstring(picture.read_bytes())  # noqa: S314  - our own text
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    links = [element.get("href") for element in root.iter("{http://www.w3.org/2000/svg}a")]
    assert links
    refused = run("show", "diagram", file, option, tmp_path / "wiring.png")
    assert (refused.code, refused.out) == (2, "")
    assert "needs matplotlib" in refused.err
    assert not (tmp_path / "wiring.png").exists()


def test_png_is_drawn(run: Any, file: Path, tmp_path: Path) -> None:
    pytest.importorskip("matplotlib")
    picture = tmp_path / "wiring.png"
    assert run("show", "diagram", file, "-o", picture).code == 0
    assert picture.read_bytes().startswith(b"\x89PNG\r\n")


def test_the_setup_file_and_files_of_other_kinds_are_refused(run: Any, file: Path) -> None:
    assert "ends in .svg or .png" in run("show", "diagram", file, "-o", file).err
    link = file.with_name("link.svg")
    link.symlink_to(file)
    assert run("show", "diagram", file, "-o", link).code == 2
    assert file.read_text(encoding="utf-8") == AIRCRAFT


def test_views_without_a_picture_say_so(run: Any, file: Path, tmp_path: Path) -> None:
    result = run("show", "channels", file, "-o", tmp_path / "x.svg")
    assert (result.code, result.out) == (2, "")
    assert "`show channels` has no picture" in result.err


def test_mistakes_of_form_are_told_and_what_is_left_is_drawn(run: Any, file: Path) -> None:
    file.write_text(AIRCRAFT.replace("name: Wren", "name: Wren, nix: 1"), encoding="utf-8")
    result = run("show", "diagram", file)
    assert result.code == 2
    assert "`nix` is not a key here." in result.err
    assert "Left out, as they have mistakes of form: aircraft" in result.out


def test_a_rule_that_fails_is_told_and_the_wiring_is_shown(run: Any, file: Path) -> None:
    file.write_text(AIRCRAFT.replace("name: Wren", "name: hurt"), encoding="utf-8")
    result = run("show", "diagram", file)
    assert result.code == 2
    assert "`name-that-hurts`" in result.err
    assert "\x1b" not in result.err
    assert "rx: rx" in result.out
