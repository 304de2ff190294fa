"""``holdshort show link-loss`` from the shell."""

import json
from pathlib import Path
from typing import Any

AIRCRAFT = """\
holdshort: 1
aircraft: {name: Wren}
parts:
  rx: {kind: receiver, ports: {1..4: servo}}
  servo: {kind: servo}
devices: {rx: {part: rx}, ail: {part: servo}}
leads: [{from: rx.1, to: ail}]
radio: {channels: {1: {drives: aileron}}}
failsafe: {rx: {channels: {1: hold}}}
"""


def test_the_table_is_printed(run: Any, tmp_path: Path) -> None:
    path = tmp_path / "wren.yaml"
    path.write_text(AIRCRAFT, encoding="utf-8")
    result = run("show", "link-loss", path)
    assert (result.code, result.err) == (0, "")
    assert result.out.startswith("Loss of link of Wren\n")
    assert "stays where it was" in result.out


def test_json_is_asked_for(run: Any) -> None:
    result = run("show", "link-loss", "--format", "json", "-", stdin=AIRCRAFT.encode())
    data = json.loads(result.out)
    assert (result.code, data["format"], data["version"]) == (0, "holdshort-link-loss", 1)
    assert data["cases"][0]["outputs"][0]["declared"] == "hold"


def test_mistakes_of_form_are_told_and_what_is_left_is_shown(run: Any) -> None:
    broken = AIRCRAFT.replace("failsafe: {rx: {channels: {1: hold}}}", "failsafe: {rx: {nix: 1}}")
    result = run("show", "link-loss", "-", stdin=broken.encode())
    assert result.code == 2
    assert "`nix` is not a key here." in result.err
    assert "failsafe.rx" in result.out
    assert "not declared" in result.out
