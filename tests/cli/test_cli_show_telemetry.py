"""``holdshort show telemetry`` from the shell."""

import json
from pathlib import Path
from typing import Any

AIRCRAFT = """\
holdshort: 1
aircraft: {name: Wren}
parts:
  rx: {kind: receiver, measures: [link-quality], ports: {1..4: servo}}
devices: {rx: {part: rx}}
telemetry: {link: {from: rx, measures: link-quality, alarm: {below: 40 %}}}
"""


def test_the_table_is_printed(run: Any, tmp_path: Path) -> None:
    path = tmp_path / "wren.yaml"
    path.write_text(AIRCRAFT, encoding="utf-8")
    result = run("show", "telemetry", path)
    assert (result.code, result.err) == (0, "")
    assert result.out.startswith(f"Telemetry of Wren\n{path}")
    assert "way: rx > transmitter" in result.out


def test_json_is_asked_for(run: Any) -> None:
    result = run("show", "telemetry", "--format", "json", "-", stdin=AIRCRAFT.encode())
    data = json.loads(result.out)
    assert (result.code, data["format"], data["version"]) == (0, "holdshort-telemetry", 1)
    assert data["readings"][0]["levels"][0]["declared"] == "40 %"


def test_mistakes_of_form_are_told_and_what_is_left_is_shown(run: Any) -> None:
    broken = AIRCRAFT.replace("alarm: {below", "alrm: {below")
    result = run("show", "telemetry", "-", stdin=broken.encode())
    assert result.code == 2
    assert "`alrm` is not a key here." in result.err
    assert "telemetry.link" in result.out
