"""Everything that a file may say is described, and every quantity shows how it is written."""

import re
from collections.abc import Iterator
from typing import Any

import pytest

from holdshort.editor.schema_tree import SchemaTree, tree_of
from holdshort.rulebook import load_rulebook

Json = dict[str, Any]
KINDS = ("aircraft", "parts", "hangar")


def schema(kind: str) -> SchemaTree:
    tree = tree_of(kind, load_rulebook())
    assert tree is not None
    return tree


def inside(node: object, where: str = "") -> Iterator[tuple[str, Json]]:
    """Yield every schema within a schema, with where it stands."""
    if isinstance(node, list):
        for index, entry in enumerate(node):
            yield from inside(entry, f"{where}[{index}]")
    if isinstance(node, dict):
        yield where, node
        for key, value in node.items():
            if key not in {"examples", "enum", "const", "default"}:
                yield from inside(value, f"{where}.{key}")


@pytest.mark.parametrize("kind", KINDS)
def test_every_key_has_words(kind: str) -> None:
    tree = schema(kind)
    bare = [
        f"{where}.{key}"
        for where, node in inside(tree.schema)
        if isinstance(node.get("properties"), dict) and not where.endswith((".if", ".else"))
        for key, value in node["properties"].items()
        if not tree.about(value) and not value.get("title")
    ]
    assert bare == []


@pytest.mark.parametrize("kind", KINDS)
def test_every_quantity_wherever_it_stands_has_an_example_that_fits(kind: str) -> None:
    found = 0
    for where, node in inside(schema(kind).schema):
        pattern = node.get("pattern")
        if isinstance(pattern, str) and "[0-9]{1,9}" in pattern:
            found += 1
            assert node.get("examples"), where
            assert all(re.search(pattern, example) for example in node["examples"]), where
    assert found


@pytest.mark.parametrize("kind", ["aircraft", "parts"])
def test_every_property_of_a_model_has_a_title(kind: str) -> None:
    bare = [
        f"{name}.{key}"
        for name, model in schema(kind).schema["$defs"].items()
        if name != "AnyPart"
        for key, value in model.get("properties", {}).items()
        if not value.get("title")
    ]
    assert bare == []


def test_what_is_described_holds_unit_and_example() -> None:
    tree = schema("aircraft")
    words = tree.describe(("devices", "any", "output"), lambda _: "")
    assert "volts" in words
    assert "`8.4 V`" in words
    assert tree.describe(("parts", "any", "cells"), lambda _: "battery")
    assert tree.describe(("parts", "any", "cells"), lambda _: "servo") == ""
    assert tree.describe(("nowhere", "at", "all"), lambda _: "") == ""
