"""``holdshort show loads`` from the shell."""

import json
from pathlib import Path
from typing import Any

import pytest

AIRCRAFT = """\
holdshort: 1
aircraft: {name: Wren, top-speed: 40 m/s}
parts: {servo: {kind: servo}}
devices: {elev: {part: servo}}
surfaces:
  elevator: {servo: elev, deflection: 20 deg, linkage: {arm: 10 mm, horn: 20 mm}}
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "wren.yaml"
    path.write_text(AIRCRAFT, encoding="utf-8")
    return path


def test_the_table_is_printed(run: Any, file: Path) -> None:
    result = run("show", "loads", file)
    assert (result.code, result.err) == (0, "")
    assert result.out.startswith(f"Control loads of Wren\n{file}")
    assert "the torque of servo `servo` at a voltage" in " ".join(result.out.split())


def test_json_is_asked_for(run: Any, file: Path) -> None:
    result = run("show", "loads", "--format", "json", file)
    data = json.loads(result.out)
    assert (result.code, data["format"], data["surfaces"][0]["state"]) == (
        0,
        "holdshort-loads",
        "not known",
    )


def test_a_picture_is_drawn_beside_the_table(run: Any, file: Path, tmp_path: Path) -> None:
    pytest.importorskip("matplotlib")
    picture = tmp_path / "loads.png"
    result = run("show", "loads", file, "--plot", picture)
    assert (result.code, result.err) == (0, "")
    assert picture.read_bytes().startswith(b"\x89PNG\r\n")


def test_what_cannot_be_read_is_told_and_left_out(run: Any, file: Path) -> None:
    file.write_text(AIRCRAFT.replace("arm: 10 mm", "arm: 10 V"), encoding="utf-8")
    result = run("show", "loads", file)
    assert result.code == 2
    assert "Left out, for mistakes of form: surfaces.elevator." in result.out
    assert "arm" in result.err
