"""``holdshort cards`` from the shell."""

import json
from pathlib import Path
from typing import Any

import pytest

from holdshort.analysis.code_words import CodeLine, CodeWords
from holdshort.rulebook import Pack

AIRCRAFT = """\
holdshort: 1
aircraft: {name: Wren, propulsion: turbine}
follows: [uk]
parts:
  rx: {kind: receiver, ports: {1..4: servo}}
  servo: {kind: servo}
devices: {rx: {part: rx}, tail: {part: servo}}
leads: [{from: rx.1, to: tail}]
radio: {channels: {1: {drives: elevator}}}
surfaces: {elevator: {servo: tail}}
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "wren.yaml"
    path.write_text(AIRCRAFT, encoding="utf-8")
    return path


def test_the_cards_are_printed(run: Any, file: Path) -> None:
    result = run("cards", file)
    assert (result.code, result.err) == (0, "")
    assert result.out.startswith(f"Bench cards of Wren\n{file}\n")
    assert "  [ ] elevator: trailing edge up\n" in result.out


def test_standard_input_is_read(run: Any) -> None:
    result = run("cards", "-", stdin=AIRCRAFT.encode())
    assert result.code == 0
    assert result.out.startswith("Bench cards of Wren\nstandard input\n")


def test_json_is_asked_for(run: Any, file: Path) -> None:
    data = json.loads(run("cards", "--format", "json", file).out)
    assert (data["format"], data["aircraft"]) == ("holdshort-cards", "Wren")


def test_what_a_pack_tells_of_a_code_stands_on_the_cards(
    run: Any, file: Path, bench_pack: Pack, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "What `uk` asks is not known" in run("cards", file).out
    line = CodeLine("stop the birds", frozenset({"turbine"}), "a book about birds", "from memory")
    pack = bench_pack._replace(codes=(CodeWords("uk", "the bird code", (line,)),))
    monkeypatch.setattr("bench_pack_for_tests.pack", pack, raising=False)
    monkeypatch.setitem(__import__("sys").modules["bench_pack_for_tests"].__dict__, "pack", pack)
    told = run("cards", file).out
    assert "The bird code: stop the birds. Source: a book about birds (from memory)." in told


def test_a_page_is_written_and_an_older_one_replaced(run: Any, file: Path, tmp_path: Path) -> None:
    page = tmp_path / "cards.html"
    for _ in range(2):
        result = run("cards", file, "-o", page)
        assert (result.code, result.out, result.err) == (0, "", "")
        assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["cards.html", "wren.yaml"]


@pytest.mark.parametrize(
    "content",
    [
        AIRCRAFT,
        "holdshort: [1\n",
        '{"holdshort": 1, "aircraft": {"name": "Wren"}}',
        "holdshort-parts: 1\nparts: {}\n",
    ],
)
def test_a_setup_file_is_never_replaced(run: Any, file: Path, tmp_path: Path, content: str) -> None:
    other = tmp_path / "other.html"
    other.write_text(content, encoding="utf-8")
    result = run("cards", file, "-o", other)
    assert (result.code, result.out) == (2, "")
    assert "is a setup file" in result.err
    assert other.read_text(encoding="utf-8") == content


def test_the_file_itself_is_not_replaced_through_a_link(
    run: Any, file: Path, tmp_path: Path
) -> None:
    link = tmp_path / "link.html"
    link.symlink_to(file)
    assert run("cards", file, "-o", link).code == 2
    assert file.read_text(encoding="utf-8") == AIRCRAFT


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("-o", "cards.pdf"), "ends in .html"),
        (("-o", "cards.html", "--format", "json"), "use one of them"),
        (("-o", "nowhere/cards.html"), "could not be written"),
        (("-o", "folder.html"), "is not a file that can be replaced"),
    ],
)
def test_what_cannot_be_written_is_said(
    run: Any, file: Path, here: Path, arguments: tuple[str, ...], says: str
) -> None:
    (here / "folder.html").mkdir()
    result = run("cards", file, *arguments)
    assert (result.code, result.out) == (2, "")
    assert says in result.err


def test_mistakes_of_form_are_told_and_what_is_left_has_cards(run: Any, file: Path) -> None:
    file.write_text(AIRCRAFT + "observations: [{card: x}]\n", encoding="utf-8")
    result = run("cards", file)
    assert result.code == 2
    assert "observations" in result.out
    assert "Elevator stick back" in result.out
    assert str(file) in result.err


def test_a_file_that_is_not_there_prints_and_writes_nothing(run: Any, here: Path) -> None:
    result = run("cards", here / "nix.yaml", "-o", here / "cards.html")
    assert (result.code, result.out) == (2, "")
    assert "nix.yaml" in result.err
    assert list(here.iterdir()) == []


def test_the_help_has_an_example(run: Any) -> None:
    result = run("cards", "--help")
    assert result.code == 0
    assert "holdshort cards aircraft.yaml -o cards.html" in result.out
