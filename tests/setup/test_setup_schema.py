"""The JSON Schemas for editors: well formed, described throughout, and true of the examples."""

import json
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from holdshort.document import read_file
from holdshort.setup.quantities import QuantityType
from holdshort.setup.schema import catalogue_schema, setup_schema

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
SCHEMAS = [setup_schema(), catalogue_schema()]
Json = dict[str, Any]


def properties(schema: Json) -> Iterator[tuple[str, Json]]:
    for name, definition in schema["$defs"].items():
        for key, value in definition.get("properties", {}).items():
            yield f"{name}.{key}", value
    yield from schema["properties"].items()


def patterns(node: object) -> Iterator[str]:
    if isinstance(node, dict):
        if isinstance(node.get("pattern"), str):
            yield node["pattern"]
        yield from node.get("patternProperties", {})
    for child in (
        node.values() if isinstance(node, dict) else node if isinstance(node, list) else ()
    ):
        yield from patterns(child)


@pytest.mark.parametrize("schema", SCHEMAS, ids=["setup", "catalogue"])
def test_the_schema_is_valid_and_self_contained(schema: Json) -> None:
    Draft202012Validator.check_schema(schema)
    text = json.dumps(schema)
    for name in {part.split('"')[0] for part in text.split("#/$defs/")[1:]}:
        assert name in schema["$defs"]


@pytest.mark.parametrize("schema", SCHEMAS, ids=["setup", "catalogue"])
def test_every_property_has_a_description(schema: Json) -> None:
    bare = [name for name, value in properties(schema) if not value.get("description")]
    assert bare == []


@pytest.mark.parametrize("schema", SCHEMAS, ids=["setup", "catalogue"])
def test_every_property_that_is_a_quantity_has_an_example_that_fits(schema: Json) -> None:
    found = 0
    for name, value in properties(schema):
        shape = value.get("anyOf", [value])[0]
        if "[0-9]{1,9}" in shape.get("pattern", ""):
            found += 1
            assert value["examples"], name
            for example in value["examples"]:
                assert Draft202012Validator(shape).is_valid(example), name
    assert found > 20


def test_descriptions_say_the_units() -> None:
    dropout = setup_schema()["$defs"]["Regulator"]["properties"]["dropout"]
    assert dropout["description"] == (
        "How far the input must stay above the output, in volts. A voltage, in V or mV."
    )
    assert dropout["title"] == "Dropout"


@pytest.mark.skipif(shutil.which("node") is None, reason="needs a JavaScript engine")
def test_every_pattern_is_a_regular_expression_of_ecma() -> None:
    texts = sorted({pattern for schema in SCHEMAS for pattern in patterns(schema)})
    assert len(texts) > 15
    script = f"for (const p of {json.dumps(texts)}) new RegExp(p, 'u'); console.log('read')"
    done = subprocess.run(["node", "-e", script], capture_output=True, text=True, check=False)
    assert done.stdout.strip() == "read", done.stderr


@pytest.mark.parametrize("path", sorted(EXAMPLES.rglob("*.yaml")), ids=lambda path: path.name)
def test_every_example_that_is_a_setup_or_a_shelf_fits(path: Path) -> None:
    root = read_file(path).root
    schema = {"holdshort": SCHEMAS[0], "holdshort-parts": SCHEMAS[1]}.get(next(iter(root)))
    if schema is None:
        pytest.skip("another kind of file")
    errors = [error.message for error in Draft202012Validator(schema).iter_errors(root)]
    assert errors == []


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("parts", {"a": {"kind": "servo", "torque": "1 N.m"}}),
        ("parts", {"a": {"title": "x"}}),
        ("parts", {"a": {"kind": "srvo"}}),
        ("parts", {"a": {"like": 5}}),
        ("devices", {"a.b": {"part": "s"}}),
        ("devices", {"a": {"part": "s", "ports": {"08": "servo"}}}),
        ("leads", [{"from": "a"}]),
        ("radio", {"channels": {"0": {"drives": "rudder"}}}),
        ("failsafe", {"rx": {"channels": {"1": "hld"}}}),
        ("follows", ["ukk"]),
        ("sections", {}),
    ],
)
def test_what_is_wrong_does_not_fit(key: str, value: object) -> None:
    assert Draft202012Validator(SCHEMAS[0]).is_valid({"holdshort": 1})
    assert not Draft202012Validator(SCHEMAS[0]).is_valid({"holdshort": 1, key: value})


def test_schema_patterns_come_from_the_readers() -> None:
    held = set(patterns(SCHEMAS[0]))
    mass = setup_schema()["$defs"]["Device"]["properties"]["mass"]["anyOf"][0]["pattern"]
    from holdshort.setup.quantities import MASS  # noqa: PLC0415

    assert mass == QuantityType(MASS).pattern
    assert mass in held


START = """
import sys
from pathlib import Path
from holdshort.document import read_document
from holdshort.setup import load
text = b"holdshort: 1\\nparts: {s: {kind: servo}}\\ndevices: {x: {part: s}}\\n"
assert load(read_document(text, "x"), None).faults == ()
barred = {"importlib.metadata", "difflib", "jsonschema", "holdshort.setup.schema",
          "pydantic.plugin._loader", "logging", "asyncio", "numpy"}
print(sorted(barred & set(sys.modules)))
"""


def test_reading_a_clean_file_loads_only_what_it_needs() -> None:
    command = [sys.executable, "-S", "-c", f"import sys; sys.path[:] = {sys.path!r}\n{START}"]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert (done.stdout.strip(), done.stderr) == ("[]", "")
