"""``holdshort rules``, ``holdshort schema`` and what stands above the commands."""

import json
import sys
import types
from pathlib import Path
from typing import Any

import jsonschema
import pytest

import holdshort
from holdshort.cli.views import VIEWS, View

COMMANDS = ["lint", "rules", "start", "schema"]


def test_the_list_is_by_subject(run: Any) -> None:
    result = run("rules")
    assert result.code == 0
    lines = result.out.splitlines()
    assert [line for line in lines if line and line[0].islower()] == ["power", "test", "weight"]
    assert "  aircraft-too-heavy          warning, holds flight" in lines
    assert "      The aircraft is heavier than it may be" in lines


def test_the_page_of_a_rule(run: Any) -> None:
    result = run("rules", "aircraft-too-heavy")
    assert result.code == 0
    assert result.out.count("The aircraft is heavier than it may be") == 1
    assert "A warning that holds flight; subject: weight." in result.out
    assert "Why **mass** matters." in result.out
    assert "B1: a book about birds (from memory)" in result.out
    assert "\x1b" not in result.out
    assert "\\x1b[2J" in result.out


@pytest.mark.parametrize("name", ["name-that-hurts", "battery-without-resistance"])
def test_a_rule_without_a_readable_page_says_so(run: Any, name: str) -> None:
    result = run("rules", name)
    assert (result.code, result.err) == (0, "")
    assert "This rule has no page." in result.out


def test_an_unknown_rule_gives_the_near_one(run: Any) -> None:
    result = run("rules", "aircraft-too-hevy")
    assert (result.code, result.out) == (2, "")
    assert "Did you mean `aircraft-too-heavy`?" in result.err


def test_rules_as_json(run: Any) -> None:
    data = json.loads(run("rules", "--format", "json").out)
    assert (data["format"], data["version"]) == ("holdshort-rules", 1)
    assert [rule["id"] for rule in data["rules"]] == [
        "aircraft-too-heavy",
        "battery-without-resistance",
        "name-that-hurts",
    ]
    one = json.loads(run("rules", "aircraft-too-heavy", "--format", "json").out)["rule"]
    assert (one["severity"], one["hold"]) == ("warning", "flight")
    assert "**mass**" in one["page"]
    assert one["sources"][0]["confidence"] == "from memory"


@pytest.mark.parametrize("what", ["setup", "parts"])
def test_the_schema_is_a_json_schema(run: Any, what: str) -> None:
    pytest.importorskip("holdshort.setup.schema")
    schema = json.loads(run("schema", what).out)
    jsonschema.Draft202012Validator.check_schema(schema)
    key = "holdshort" if what == "setup" else "holdshort-parts"
    assert key in schema["properties"]


def test_the_version(run: Any) -> None:
    assert run("--version").out == f"holdshort {holdshort.__version__}\n"


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_helps_with_an_example(run: Any, command: str) -> None:
    result = run(command, "--help")
    assert (result.code, result.err) == (0, "")
    assert f"  holdshort {command}" in result.out.partition("example")[2]


def test_the_help_names_every_command_and_exit_code(run: Any) -> None:
    text = run("--help").out
    for word in [*COMMANDS, "exit codes:"]:
        assert word in text
    assert run().code == 2


def test_show_is_offered_once_there_is_a_view(
    run: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "wren.yaml"
    file.write_text("holdshort: 1\naircraft: {name: Wren}\n", encoding="utf-8")
    for name in reversed(list(VIEWS)):  # put back last in first out
        monkeypatch.delitem(VIEWS, name)
    assert run("show", "name", file).code == 2
    assert "\n    show " not in run("--help").out
    monkeypatch.setitem(VIEWS, "name", View("the aircraft's name", f"{__name__}:name_view"))
    monkeypatch.setitem(sys.modules, __name__, _this_module())
    assert "\n    show " in run("--help").out
    assert "  holdshort show name" in run("show", "--help").out
    result = run("show", "name", file)
    assert (result.code, result.out, result.err) == (0, "Wren\\x1b\n", "")
    assert run("show", "name", tmp_path / "nix.yaml").code == 2
    file.write_text("holdshort: 1\naircraft: {name: Wren, nix: 1}\n", encoding="utf-8")
    broken = run("show", "name", file)
    assert broken.code == 2
    assert "`nix` is not a key here." in broken.err


def name_view(aircraft: Any) -> list[str]:
    return [f"{aircraft.setup.name}\x1b"]


def _this_module() -> Any:
    module = types.ModuleType(__name__)
    module.__dict__["name_view"] = name_view
    return module
