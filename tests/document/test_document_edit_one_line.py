"""Adding mappings that stand on one line among lines, and to lists that were empty."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdshort.document import read_document
from holdshort.document.edit import EditableText, OneLine

ENTRY = {"name": "x", "inner": {"one": OneLine({"a": "1 V", "b": "no"}), "two": OneLine({})}}


def added(text: str, path: tuple[str | int, ...], value: Any) -> str:
    edited = EditableText(text)
    edited.add(path, value, flow=False)
    return edited.dump()


def test_one_line_stands_among_lines() -> None:
    assert added("list:\n  - {name: w}   # first\n", ("list", 1), ENTRY) == (
        "list:\n  - {name: w}   # first\n"
        "  - name: x\n    inner:\n      one: {a: 1 V, b: no}\n      two: {}\n"
    )


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("list: []\n", "list:\n  - 1\n"),
        ("list: []", "list:\n  - 1\n"),
        ("list: []  # none\nafter: 1\n", "list:  # none\n  - 1\nafter: 1\n"),
        ("list: [ ]\r\nafter: 1\r\n", "list:\r\n  - 1\r\nafter: 1\r\n"),
        ("list:\n  []\n", "list:\n\n  - 1\n"),  # the line of the brackets stays, empty
    ],
)
def test_an_empty_list_becomes_lines(text: str, expected: str) -> None:
    changed = added(text, ("list", 0), 1)
    assert read_document(changed.encode(), "x").root == read_document(expected.encode(), "x").root
    assert changed == expected


def test_an_empty_mapping_becomes_lines() -> None:
    text = added("top:\n  map: {}   # nothing\n", ("top", "map", "key"), OneLine({"a": 1}))
    assert text == "top:\n  map:   # nothing\n    key: {a: 1}\n"


def test_in_brackets_it_stays_in_brackets() -> None:
    assert added("top: {list: []}\n", ("top", "list", 0), 1) == "top: {list: [1]}\n"


texts = st.text(alphabet="ab:#{}[],-'\"\\ &*!?|>%@`é", min_size=1, max_size=12)


@given(st.dictionaries(texts, texts, max_size=3), texts)
def test_any_text_on_one_line_is_read_back(mapping: dict[str, str], key: str) -> None:
    changed = added("list: []\n", ("list", 0), {key: OneLine(mapping)})
    assert read_document(changed.encode(), "x").root == {"list": [{key: mapping}]}
