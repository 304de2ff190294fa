"""``holdshort show facts`` from the shell."""

import json
from pathlib import Path
from typing import Any

AIRCRAFT = """\
holdshort: 1
aircraft: {name: "W\\u200bren"}
parts: {pack: {kind: battery, chemistry: lipo, cells: 2, capacity: 2000 mAh}}
devices: {main: {part: pack}}
"""


def test_facts_are_json_in_both_formats(run: Any, tmp_path: Path) -> None:
    path = tmp_path / "wren.yaml"
    path.write_text(AIRCRAFT, encoding="utf-8")
    text, form = run("show", "facts", path), run("show", "facts", "--format", "json", path)
    assert (text.code, text.err, text.out) == (0, "", form.out)
    data = json.loads(form.out)
    assert (data["format"], data["version"]) == ("holdshort-facts", 1)
    assert data["setup"]["parts"]["pack"]["capacity"]["si"] == 7200.0
    assert form.out.isascii()


def test_mistakes_of_form_are_told_and_what_is_left_is_shown(run: Any) -> None:
    broken = AIRCRAFT.replace("{part: pack}", "{part: pack, nix: 1}")
    result = run("show", "facts", "-", stdin=broken.encode())
    assert result.code == 2
    assert "`nix` is not a key here." in result.err
    assert json.loads(result.out)["unread"] == ["devices.main"]
