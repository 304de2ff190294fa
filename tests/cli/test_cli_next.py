"""``holdshort next`` from the shell."""

import json
from pathlib import Path
from typing import Any, cast

import jsonschema
import pytest

import holdshort.fixlist

SCHEMA = Path(holdshort.fixlist.__path__[0]) / "next.schema.json"
AIRCRAFT = """\
holdshort: 1
aircraft: {name: Wren, propulsion: none, mass: {ready: 9 kg}}
parts:
  rx: {kind: receiver, ports: {1..4: servo}}
  servo: {kind: servo}
devices: {rx: {part: rx}, tail: {part: servo}}
leads: [{from: rx.1, to: tail}]
radio: {channels: {1: {drives: elevator}}}
surfaces: {elevator: {servo: tail}}
"""
HEAVY = AIRCRAFT.replace("9 kg", "30 kg")
UNKNOWN = AIRCRAFT.replace(", mass: {ready: 9 kg}", "")


def close(schema: dict[str, Any]) -> dict[str, Any]:
    return {**schema, "additionalProperties": False} if schema.get("properties") else schema


def checked(text: str) -> Any:
    schema: Any = json.loads(SCHEMA.read_text(encoding="utf-8"), object_hook=close)
    jsonschema.Draft202012Validator.check_schema(schema)
    data = json.loads(text)
    cast("Any", jsonschema.Draft202012Validator(schema)).validate(data)
    return data


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "wren.yaml"
    path.write_text(AIRCRAFT, encoding="utf-8")
    return path


def test_the_first_line_says_what_to_do_now(run: Any, file: Path) -> None:
    result = run("next", file)
    assert (result.code, result.err) == (1, "")
    assert result.out.startswith("Now: do the test `centres`.\n")
    assert f"holdshort sign {file} centres --passed --by NAME" in " ".join(result.out.split())


def test_what_is_held_comes_first(run: Any) -> None:
    result = run("next", "-", stdin=HEAVY.encode())
    assert result.code == 1
    assert result.out.startswith("Now: put right 1 thing that holds flight.")
    assert result.out.index("It weighs 30 kg") < result.out.index("Test `centres`")


def test_missing_facts_are_asked_for(run: Any) -> None:
    result = run("next", "-", stdin=UNKNOWN.encode())
    assert result.out.startswith("Now: declare 1 thing that rules miss and then do the test `cen")
    assert "1. Declare the mass ready to fly" in result.out


def test_all_tells_each_step_in_full(run: Any, file: Path) -> None:
    short, full = run("next", file).out, run("next", file, "--all").out
    assert short.count("sign     ") == 1
    assert full.count("sign     ") == len(json.loads(run("next", "--format", "json", file).out)[
        "then"]) + 1  # fmt: skip


def signed_for_all(run: Any, file: Path) -> None:
    """Sign for every test that is told, one after the other, as the program asks for it."""
    for _ in range(20):
        data = json.loads(run("next", "--format", "json", file).out)
        tests = [step["test"] for step in data["now"] if step["test"]]
        if not tests:
            return
        figures = [
            f"--figure={figure['name']}={value}"
            for figure in tests[0]["figures"]
            for value in [{"distance": "60 paces", "headings": "4"}.get(figure["name"], "")]
            if value
        ]
        done = run("sign", file, tests[0]["name"], "--passed", "--by", "A. Builder",
                   "--second", "B. Helper", *figures)  # fmt: skip
        assert done.code == 0, done.err


def test_following_it_to_the_end_leaves_nothing_and_calls_nothing_safe(
    run: Any, file: Path
) -> None:
    signed_for_all(run, file)
    result = run("next", file)
    assert (result.code, result.err) == (0, "")
    assert result.out.startswith("Now: nothing to do.\n")
    assert "Nothing is left that holdshort knows of in what was declared." in result.out
    assert "not that the aircraft is safe" in " ".join(result.out.split())
    data = checked(run("next", "--format", "json", file).out)
    assert (data["nothing_left"], data["now"], data["then"]) == (True, [], [])


@pytest.mark.parametrize("text", [AIRCRAFT, HEAVY, UNKNOWN, AIRCRAFT + "nix: 1\n"])
def test_json_fits_its_schema(run: Any, text: str) -> None:
    data = checked(run("next", "--format", "json", "-", stdin=text.encode()).out)
    assert data["says"].startswith("Now: ")
    assert (data["file"], data["aircraft"]) == ("-", "Wren")


def test_mistakes_of_form_come_first_and_end_with_two(run: Any) -> None:
    result = run("next", "-", stdin=(AIRCRAFT + "nix: 1\n").encode())
    assert result.code == 2
    assert result.out.startswith("Now: correct 1 mistake in the file.")


def test_a_failed_rule_is_told(run: Any) -> None:
    result = run("next", "-", stdin=AIRCRAFT.replace("Wren", "hurt").encode())
    assert result.code == 2
    assert result.out.startswith("Now: have 1 failed rule put right.")
    assert "\x1b" not in result.out


def test_a_file_that_is_no_aircraft_is_refused(run: Any, file: Path) -> None:
    other = file.with_name("parts.yaml")
    other.write_text("holdshort-parts: 1\nparts: {}\n", encoding="utf-8")
    for path in (other, file.with_name("nix.yaml")):
        result = run("next", path)
        assert (result.code, result.out) == (2, "")
        assert result.err


def test_hostile_names_are_written_out(run: Any, file: Path) -> None:
    hostile = file.rename(file.with_name("\u202e\x1b[2Jw.yaml"))
    assert not {"\x1b", "\u202e"} & set(run("next", hostile, "--all").out)
    assert run("next", hostile, "--format", "json").out.isascii()
