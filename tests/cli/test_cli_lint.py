"""``holdshort lint``: files, folders, standard input, exit codes."""

import json
import os
from pathlib import Path
from typing import Any

import pytest

from holdshort.document import read_file

GOOD = """holdshort: 1
aircraft:
  name: Wren
  mass: {ready: 7 kg}
"""
HEAVY = GOOD.replace("7 kg", "26 kg").replace("Wren", "Condor")
PARTS = """holdshort-parts: 1
parts:
  pack-2s: {kind: battery, chemistry: lipo, cells: 2}
"""
WITH_PARTS = GOOD + "catalogues: [parts/shelf.yaml]\ndevices: {main: {part: pack-2s}}\n"


def write(path: Path, text: str) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def data_of(run: Any, *arguments: str) -> Any:
    return json.loads(run("lint", "--format", "json", *arguments).out)


def test_nothing_held_exits_0(run: Any, here: Path) -> None:
    write(here / "wren.yaml", GOOD)
    result = run("lint", "wren.yaml")
    assert (result.code, result.err) == (0, "")
    assert result.out.startswith("Fix list for Wren\nwren.yaml\n")
    assert "Held              0\n" in result.out


def test_something_held_exits_1(run: Any, here: Path) -> None:
    write(here / "condor.yaml", HEAVY)
    result = run("lint", "condor.yaml")
    assert (result.code, result.err) == (1, "")
    assert "WARNING  It weighs 26 kg." in result.out
    assert "condor.yaml:4:10, aircraft.mass.ready" in result.out


def test_not_checked_alone_holds_nothing_but_is_told(run: Any, here: Path) -> None:
    write(here / "wren.yaml", GOOD.replace("  mass: {ready: 7 kg}\n", ""))
    result = run("lint", "wren.yaml")
    assert result.code == 0
    assert "the mass ready to fly (line 2), for aircraft-too-heavy" in result.out


def test_until_an_earlier_point(run: Any, here: Path) -> None:
    write(here / "condor.yaml", HEAVY)
    result = run("lint", "condor.yaml", "--until", "engine-run")
    assert result.code == 0
    assert "It weighs" not in result.out
    assert "Held later        1 flight" in result.out
    assert data_of(run, "condor.yaml", "--until", "engine-run")["tally"]["later"]["flight"] == 1


def test_a_mistake_of_form_wins_over_what_is_held(run: Any, here: Path) -> None:
    write(here / "condor.yaml", HEAVY + "devices: {main: {part: nix}}\n")
    result = run("lint", "condor.yaml")
    assert result.code == 2
    assert "`nix` is not a known part." in result.out
    assert "It weighs 26 kg." in result.out


def test_a_unit_typo_is_located(run: Any, here: Path) -> None:
    write(here / "wren.yaml", GOOD.replace("7 kg", "7 KG"))
    result = run("lint", "wren.yaml")
    assert result.code == 2
    assert "wren.yaml:4:17, aircraft.mass.ready" in result.out
    assert "`kg`" in result.out


def test_a_failing_rule_is_told_and_the_rest_is_judged(run: Any, here: Path) -> None:
    write(here / "hurt.yaml", HEAVY.replace("Condor", "hurt"))
    result = run("lint", "hurt.yaml")
    assert result.code == 2
    assert "name-that-hurts, of pack bench" in result.out
    assert "RuntimeError: that \\x1b[31mhurt" in result.out
    assert "\x1b" not in result.out
    assert "It weighs 26 kg." in result.out


def test_a_rule_cannot_end_the_program_as_if_all_were_well(run: Any, here: Path) -> None:
    write(here / "stop.yaml", GOOD.replace("Wren", "stop"))
    result = run("lint", "stop.yaml")
    assert result.code == 2
    assert "SystemExit" in result.out
    assert "of pack bench" in result.out


def test_standard_input_with_a_catalogue_of_this_folder(run: Any, here: Path) -> None:
    write(here / "parts/shelf.yaml", PARTS)
    result = run("lint", "-", stdin=WITH_PARTS.encode())
    assert result.code == 0  # a note is told, and holds nothing
    assert "1, which holds nothing" in result.out
    assert "`main` gives no resistance." in result.out
    assert "standard input:6:11, devices.main" in result.out


def test_json_from_standard_input(run: Any, here: Path) -> None:
    result = run("lint", "-", "--format", "json", stdin=GOOD.encode())
    data = json.loads(result.out)
    assert (result.code, data["files"][0]["file"]) == (0, "-")


def test_catalogues_are_read_beside_the_setup_file(run: Any, here: Path) -> None:
    write(here / "club/parts/shelf.yaml", PARTS.replace("lipo", "lippo"))
    write(here / "club/wren.yaml", WITH_PARTS)
    result = run("lint", "club/wren.yaml")
    assert result.code == 2
    assert f"{Path('club/parts/shelf.yaml')}:3:" in result.out


def test_one_catalogue_serves_two_aircraft_and_is_parsed_once(
    run: Any, here: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(here / "parts/shelf.yaml", PARTS)
    write(here / "wren.yaml", WITH_PARTS)
    write(here / "north/heron.yaml", WITH_PARTS.replace("parts/shelf", "../parts/shelf"))
    read: list[str] = []

    def counted(path: str) -> Any:
        read.append(path)
        return read_file(path)

    monkeypatch.setattr("holdshort.cli.files.read_regular", counted)
    run("lint", "wren.yaml", "north/heron.yaml")
    assert sorted(read) == ["north/heron.yaml", "parts/shelf.yaml", "wren.yaml"]


def test_a_folder_is_searched_in_order(run: Any, here: Path) -> None:
    write(here / "hangar/b.yml", GOOD)
    write(here / "hangar/a.yaml", GOOD)
    write(here / "hangar/inner/c.YAML", GOOD)
    write(here / "hangar/shelf.yaml", PARTS)
    write(here / "hangar/.hidden/d.yaml", GOOD)
    write(here / "hangar/other.yaml", "services: {}\n")
    write(here / "hangar/broken.yaml", "a: [\n")
    write(here / "hangar/names-it.yaml", "note: holdshort\n")
    write(here / "hangar/broken-names-it.yaml", "note: holdshort\nb: [\n")
    write(here / "hangar/notes.txt", GOOD)
    result = run("lint", "hangar")
    assert result.code == 0
    assert [file["file"] for file in data_of(run, "hangar")["files"]] == [
        "hangar/a.yaml",
        "hangar/b.yml",
        "hangar/shelf.yaml",
        "hangar/inner/c.YAML",
    ]
    assert "shelf" not in result.out


def test_a_broken_setup_file_in_a_folder_is_told(run: Any, here: Path) -> None:
    write(here / "hangar/a.yaml", GOOD)
    write(here / "hangar/b.yaml", GOOD + "devices: [\n")
    write(here / "hangar/c.yaml", "holdshort-parts: 1\nparts: {a: {kind: nix}}\n")
    result = run("lint", "hangar")
    assert result.code == 2
    files = data_of(run, "hangar")["files"]
    assert [(file["kind"], len(file["mistakes"])) for file in files] == [
        ("aircraft", 0),
        ("not-read", 1),
        ("parts", 1),
    ]


def test_a_folder_and_a_file_in_it_are_judged_once(run: Any, here: Path) -> None:
    write(here / "hangar/a.yaml", GOOD)
    files = data_of(run, "hangar/a.yaml", "hangar", "./hangar/a.yaml")["files"]
    assert [file["file"] for file in files] == ["hangar/a.yaml"]


def test_links_do_not_lead_round_in_circles(run: Any, here: Path) -> None:
    write(here / "hangar/a.yaml", GOOD)
    (here / "hangar/round").symlink_to(here / "hangar", target_is_directory=True)
    (here / "hangar/gone.yaml").symlink_to(here / "nothing.yaml")
    (here / "hangar/self.yaml").symlink_to(here / "hangar/self.yaml")
    result = run("lint", "hangar")
    assert result.code == 0
    assert result.out.count("Fix list for") == 1


def test_a_file_of_parts_given_by_name_is_checked(run: Any, here: Path) -> None:
    write(here / "shelf.yaml", PARTS)
    assert run("lint", "shelf.yaml").code == 0
    write(here / "shelf.yaml", PARTS + "  twin: {like: twin}\n")
    result = run("lint", "shelf.yaml")
    assert result.code == 2
    assert "Part `twin` is like itself" in result.out


def test_nothing_is_written(run: Any, here: Path) -> None:
    write(here / "condor.yaml", HEAVY)
    run("lint", ".")
    assert os.listdir(here) == ["condor.yaml"]  # noqa: PTH208  - names only
    assert (here / "condor.yaml").read_text(encoding="utf-8") == HEAVY


def test_json_carries_mistakes_and_findings_together(run: Any, here: Path) -> None:
    write(here / "condor.yaml", HEAVY)
    data = data_of(run, "condor.yaml", "nix.yaml")
    assert [file["kind"] for file in data["files"]] == ["aircraft", "not-read"]
    assert data["tally"]["held"]["flight"]["warning"] == 1
    assert data["tally"]["mistakes"] == 1
    assert data["files"][0]["findings"][0]["sources"][0]["confidence"] == "from memory"


def test_without_any_rules_nothing_is_called_clean(
    run: Any, here: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(here / "wren.yaml", GOOD)
    monkeypatch.setattr("holdshort.rulebook.packs.entry_points", list)
    result = run("lint", "wren.yaml")
    assert (result.code, result.out) == (2, "")
    assert "No rule pack is installed" in result.err


def test_a_broken_pack_is_named(run: Any, here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write(here / "wren.yaml", GOOD)
    offered = [("built-in", "no_such_module_anywhere:pack")]
    monkeypatch.setattr("holdshort.rulebook.packs.entry_points", lambda: offered)
    result = run("lint", "wren.yaml")
    assert (result.code, result.out) == (2, "")
    assert "pack `built-in` (no_such_module_anywhere:pack) does not load" in result.err
