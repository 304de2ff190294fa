"""``holdshort show failures``: the table, its JSON and its pairs from the shell."""

import json
from pathlib import Path
from typing import Any

import pytest

AIRCRAFT = """\
holdshort: 1
aircraft: {name: Wren}
parts:
  pack: {kind: battery, chemistry: lipo, cells: 2, resistance: 50 mΩ}
  rx: {kind: receiver, ports: {1..4: servo, supply: supply}}
  servo: {kind: servo}
devices: {pack: {part: pack}, rx: {part: rx}, left: {part: servo}, right: {part: servo}}
leads:
  - {from: pack, to: rx.supply}
  - {from: rx.1, to: left}
  - {from: rx.2, to: right}
radio:
  channels: {1: {drives: left aileron}, 2: {drives: right aileron}}
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "wren.yaml"
    path.write_text(AIRCRAFT, encoding="utf-8")
    return path


def test_the_table_is_printed(run: Any, file: Path) -> None:
    result = run("show", "failures", file)
    assert (result.code, result.err) == (0, "")
    assert result.out.startswith(f"What is left of Wren when something fails\n{file}")
    assert "  lead rx.1 to left\n  lead rx.2 to right\n    half" in result.out


def test_pairs_come_with_the_table(run: Any, file: Path) -> None:
    result = run("show", "failures", file, "--pairs")
    assert result.code == 0
    assert "  lead rx.1 to left and lead rx.2 to right\n    LOST" in result.out


def test_json_is_asked_for(run: Any, file: Path) -> None:
    result = run("show", "failures", "--format", "json", "--pairs", file)
    data = json.loads(result.out)
    assert (result.code, data["format"], data["version"]) == (0, "holdshort-failures", 1)
    assert [sorted(pair["failed"]) for pair in data["pairs"]] == [[3, 4]]
    assert json.loads(run("show", "failures", "--format", "json", file).out)["pairs"] is None


def test_progress_is_told_on_standard_error_while_pairs_take_long(
    run: Any, file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    clock = iter(range(0, 10_000, 2))
    monkeypatch.setattr("holdshort.cli.show.time.monotonic", lambda: next(clock))
    result = run("show", "failures", file, "--pairs")
    assert "holdshort: 1 of 10 pairs\n" in result.err
    assert "pairs\n" not in result.out


def test_other_views_have_no_pairs(run: Any, file: Path) -> None:
    result = run("show", "power", file, "--pairs")
    assert (result.code, result.out) == (2, "")
    assert "no pairs" in result.err


def test_mistakes_of_form_are_told_and_what_is_left_is_shown(run: Any, file: Path) -> None:
    file.write_text(AIRCRAFT.replace("name: Wren", "name: Wren, nix: 1"), encoding="utf-8")
    result = run("show", "failures", file)
    assert result.code == 2
    assert "`nix` is not a key here." in result.err
    assert "Left out, as they have mistakes of form: aircraft." in result.out
