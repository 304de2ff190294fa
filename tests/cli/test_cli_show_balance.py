"""``holdshort show balance``: the table, its JSON and its picture from the shell."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

AIRCRAFT = """\
holdshort: 1
aircraft: {name: Wren, propulsion: none}
balance:
  range: {from: 370 mm, to: 410 mm}
  weighings:
    wheels:
      on: 2026-05-01
      points: {nose: {station: 0 mm, load: 2 kg}, mains: {station: 500 mm, load: 8 kg}}
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "wren.yaml"
    path.write_text(AIRCRAFT, encoding="utf-8")
    return path


def test_the_table_is_printed(run: Any, file: Path) -> None:
    result = run("show", "balance", file)
    assert (result.code, result.err) == (0, "")
    assert result.out.startswith(f"Balance of Wren\n{file}")
    assert "400.0" in result.out


def test_json_is_asked_for(run: Any, file: Path) -> None:
    result = run("show", "balance", "--format", "json", file)
    data = json.loads(result.out)
    assert (result.code, data["format"], data["aircraft"]) == (0, "holdshort-balance", "Wren")


def test_mistakes_of_form_are_told_and_what_is_left_is_shown(run: Any, file: Path) -> None:
    file.write_text(AIRCRAFT.replace("to: 410 mm", "to: 410"), encoding="utf-8")
    result = run("show", "balance", file)
    assert result.code == 2
    assert "without a unit" in result.err
    assert "400.0" in result.out
    assert "balance.range" in result.out


def test_a_picture_is_drawn_beside_the_table(run: Any, file: Path, tmp_path: Path) -> None:
    pytest.importorskip("matplotlib")
    picture = tmp_path / "balance.png"
    result = run("show", "balance", file, "--plot", picture)
    assert (result.code, result.err) == (0, "")
    assert picture.read_bytes().startswith(b"\x89PNG\r\n")


MINIMAL = Path(__file__).resolve().parents[2] / "examples" / "minimal.yaml"
LINT = f"""
import io, sys
from holdshort.cli import main
kept, sys.stdout = sys.stdout, io.StringIO()
code = main(["lint", {str(MINIMAL)!r}])
sys.stdout = kept
print(code in (0, 1), sorted(name for name in sys.modules if "balance" in name))
"""


def test_a_file_without_balance_does_not_load_what_works_it_out() -> None:
    done = subprocess.run([sys.executable, "-c", LINT], capture_output=True, text=True, check=False)
    assert (done.stdout.strip(), done.stderr) == ("True ['holdshort_rules.balance']", "")
