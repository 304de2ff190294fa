"""One entry of a mapping taken apart into several, in its place."""

from typing import Any

import pytest

from holdshort.document import read_document
from holdshort.document.edit import EditableText, EditError

BLOCK = """\
failsafe:
  front:
    channels:
      # the sticks
      1..6: hold   # as delivered
      8: on
"""


def split(text: str, path: tuple[str, ...], entries: dict[str, Any]) -> str:
    editable = EditableText(text)
    editable.split(path, entries)
    return editable.dump()


def test_lines_are_split_into_lines_in_their_place() -> None:
    path = ("failsafe", "front", "channels", "1..6")
    text = split(BLOCK, path, {"1..2": "hold", "3": "stop", "4..6": "hold"})
    assert text == BLOCK.replace("1..6: hold", "1..2: hold\n      3: stop\n      4..6: hold")


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_brackets_stay_on_their_line(end: str) -> None:
    text = f"front: {{channels: {{1..6: hold, 8: on}}}}   # why{end}rear: 1{end}"
    after = split(text, ("front", "channels", "1..6"), {"1": "neutral", "2..6": "hold"})
    assert after == text.replace("1..6: hold", "1: neutral, 2..6: hold")


def test_line_ends_are_those_of_the_file() -> None:
    text = BLOCK.replace("\n", "\r\n")
    after = split(text, ("failsafe", "front", "channels", "1..6"), {"1": "hold", "2..6": "hold"})
    assert after.count("\r\n") == after.count("\n") == text.count("\n") + 1


def test_an_entry_that_only_changes_its_name_keeps_what_is_written_in_it() -> None:
    text = "a:\n  1..2:\n    # why\n    does:  servo   # here\n"
    assert split(text, ("a", "1..2"), {"2": {"does": "servo"}}) == text.replace("1..2", "2")


def test_a_comment_within_is_never_lost() -> None:
    text = "a:\n  1..3:\n    # why\n    does: servo\n"
    with pytest.raises(EditError, match="without changing something else"):
        split(text, ("a", "1..3"), {"1": {"does": "servo"}, "2..3": {"does": "servo"}})


def test_a_name_that_is_there_already_is_refused_and_nothing_changes() -> None:
    editable = EditableText(BLOCK)
    path = ("failsafe", "front", "channels", "1..6")
    with pytest.raises(EditError):
        editable.split(path, {"8": "hold", "1": "hold"})
    assert editable.dump() == BLOCK


@pytest.mark.parametrize("path", [(), ("failsafe", "none"), ("failsafe", "front", "x", "y")])
def test_what_is_not_there_cannot_be_split(path: tuple[str, ...]) -> None:
    with pytest.raises(EditError):
        split(BLOCK, path, {"1": "hold"})


def test_no_entries_are_no_split() -> None:
    with pytest.raises(EditError):
        split(BLOCK, ("failsafe", "front", "channels", "1..6"), {})


def test_a_list_is_not_split() -> None:
    with pytest.raises(EditError):
        EditableText("a: [1, 2]").split(("a", 0), {"1": 1})


@pytest.mark.parametrize("value", ["a # b", "x: y", "[", "'", '"', "- ", "012", "true"])
def test_values_come_back_as_they_were(value: str) -> None:
    text = split("a: {1..2: x, 3: y}", ("a", "1..2"), {"1": value, "2": "x"})
    assert read_document(text.encode(), "t").root["a"] == {"1": value, "2": "x", "3": "y"}


def test_a_value_that_no_file_may_hold_is_refused() -> None:
    with pytest.raises(EditError):
        split("a: {1..2: x}", ("a", "1..2"), {"1": "\u202e", "2": "x"})
