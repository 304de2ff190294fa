"""``holdshort start``: starting files for a layout of one's choice."""

import os
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from holdshort.cli.start import LAYOUTS, quoted
from holdshort.document import read_document

NAMES = sorted(file.stem for file in LAYOUTS.glob("*.yaml"))


def test_the_layouts_are_listed_with_a_line_each(run: Any) -> None:
    result = run("start")
    assert result.code == 0
    lines = result.out.splitlines()
    assert [line.split()[0] for line in lines] == NAMES
    assert all(len(line.split()) > 3 for line in lines)


@pytest.mark.parametrize("name", NAMES)
def test_every_layout_is_judged_without_mistakes_of_form(run: Any, name: str) -> None:
    text = run("start", name).out
    result = run("lint", "-", stdin=text.encode())
    assert result.code in {0, 1}, result.out
    assert "Fix list for My aircraft" in result.out
    assert "Mistakes" not in result.out


@pytest.mark.parametrize("name", NAMES)
def test_every_layout_says_what_to_replace(name: str) -> None:
    text = (LAYOUTS / f"{name}.yaml").read_text(encoding="utf-8")
    assert text.startswith("# ")
    assert "replace with the maker's figures" in text


@pytest.mark.parametrize(
    "name",
    ["Wren", 'The "Wren" \\ 2: # no', "Reiher – Ω", "null", "1.0", "{a: b}", "  spaced ", "a\nb"],
)
def test_the_name_is_put_in_and_read_back(run: Any, name: str) -> None:
    result = run("start", "single-receiver", "--name", name)
    assert result.code == 0
    document = read_document(result.out.encode(), "started")
    assert document.node_at(("aircraft", "name")) == name


@pytest.mark.parametrize("name", ["", "\x1b[31m", "\u202e", "x" * 2001, "\udc80"])
def test_a_name_that_no_file_may_hold_is_refused(run: Any, name: str) -> None:
    result = run("start", "single-receiver", "--name", name)
    assert (result.code, result.out) == (2, "")
    assert "cannot have that name" in result.err
    assert "\x1b" not in result.err


@given(st.text(alphabet=st.characters(exclude_categories=["Cs"])))
def test_quoting_is_yaml_by_another_reader(text: str) -> None:
    # PyYAML's safe loader, which is not part of this project, reads back what was quoted.
    assert yaml.safe_load(f"name: {quoted(text)}") == {"name": text}


def test_writing_a_file(run: Any, here: Path) -> None:
    result = run("start", "single-receiver", "-o", "wren.yaml", "--name", "Wren")
    assert (result.code, result.out, result.err) == (0, "", "")
    assert 'name: "Wren"' in (here / "wren.yaml").read_text(encoding="utf-8")
    assert run("lint", "wren.yaml").code == 0
    assert os.listdir(here) == ["wren.yaml"]  # noqa: PTH208  - names only


def test_an_existing_file_is_kept_unless_told_otherwise(run: Any, here: Path) -> None:
    (here / "wren.yaml").write_text("mine", encoding="utf-8")
    refused = run("start", "single-receiver", "-o", "wren.yaml")
    assert refused.code == 2
    assert "--replace" in refused.err
    assert (here / "wren.yaml").read_text(encoding="utf-8") == "mine"
    assert run("start", "single-receiver", "-o", "wren.yaml", "--replace").code == 0
    assert (here / "wren.yaml").read_text(encoding="utf-8").startswith("# ")


def test_a_dangling_link_counts_as_existing(run: Any, here: Path) -> None:
    (here / "link.yaml").symlink_to(here / "elsewhere.yaml")
    assert run("start", "single-receiver", "-o", "link.yaml").code == 2
    assert not (here / "elsewhere.yaml").exists()


def test_what_is_no_file_is_never_replaced(run: Any, here: Path) -> None:
    (here / "folder").mkdir()
    os.mkfifo("pipe")
    for name in ("folder", "pipe", "/dev/null"):
        result = run("start", "single-receiver", "--replace", "-o", name)
        assert result.code == 2
        assert "not a file that can be replaced" in result.err
    assert sorted(os.listdir(here)) == ["folder", "pipe"]  # noqa: PTH208  - names only


@pytest.mark.parametrize("name", ["nowhere/wren.yaml", "a\0b", "x" * 5000, ""])
def test_a_file_that_cannot_be_written(run: Any, here: Path, name: str) -> None:
    result = run("start", "single-receiver", "-o", name)
    assert result.code == 2
    assert result.err.startswith("holdshort: ")
    assert not list(here.iterdir())


def test_an_unknown_layout_gives_the_near_one(run: Any) -> None:
    result = run("start", "single-reciever")
    assert (result.code, result.out) == (2, "")
    assert "Did you mean `single-receiver`?" in result.err
    assert run("start", "../../../etc/passwd").code == 2


def test_a_file_without_a_layout_is_refused(run: Any, here: Path) -> None:
    assert run("start", "-o", "wren.yaml").code == 2
    assert run("start", "--name", "Wren").code == 2
    assert not list(here.iterdir())
