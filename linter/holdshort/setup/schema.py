"""JSON Schemas (draft 2020-12) for editors: of a setup file and of a file of parts.

Made from the models that the reader uses, with the docstrings in their sources as descriptions.
Nothing that lints imports this module.

What a schema cannot say is left to the reader: whether names lead anywhere, whether a run goes
upwards, whether a part that is like another fits that other's kind.
"""

import ast
from pathlib import Path
from typing import Any, Final, cast

from pydantic.json_schema import models_json_schema

from holdshort.setup import (
    balance,
    base,
    evidence,
    linkages,
    logs,
    measures,
    parts,
    sections,
    telemetry,
)
from holdshort.setup.balance import Balance
from holdshort.setup.base import NAME, Section, hyphenated
from holdshort.setup.catalogue import CATALOGUE_KEY, FORMAT_VERSION
from holdshort.setup.evidence import SignOff
from holdshort.setup.load import FORMAT_KEY
from holdshort.setup.logs import LogColumns
from holdshort.setup.parts import PART_MODELS, DerivedPart
from holdshort.setup.sections import (
    CODES,
    Aircraft,
    Deferral,
    Device,
    DeviceFailsafe,
    Lead,
    LoadCases,
    Observation,
    Radio,
    Surface,
)
from holdshort.setup.telemetry import Reading

Json = dict[str, Any]

SETUP_ID: Final = "urn:holdshort:setup:1"
CATALOGUE_ID: Final = "urn:holdshort:parts:1"
_DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"
_REFERENCE: Final = "#/$defs/{model}"

_MODULES: Final = (base, parts, sections, linkages, balance, evidence, logs, measures, telemetry)
_SECTION_WORDS: Final = {
    FORMAT_KEY: "The version of this format.",
    CATALOGUE_KEY: "The version of this format.",
    "aircraft": "What the aircraft is.",
    "follows": "The published codes that the owner says apply.",
    "catalogues": "Files of parts, by their path as seen from this file.",
    "parts": "Part types and their ratings, by name.",
    "devices": "What is fitted, by a name of the owner's choosing.",
    "leads": "The cables, each from one port to another.",
    "radio": "The radio: its links and channels.",
    "failsafe": "What each box does when it hears nothing, by the name of the device.",
    "surfaces": "The moving surfaces, by name.",
    "observations": "What was seen in bench tests, written back by hand.",
    "balance": "Where the aircraft balances: datum, range, weighings, tanks and items.",
    "telemetry": "What is measured on board and shown or alarmed at the transmitter, by name.",
    "log": "What the columns of a measured log mean.",
    "sign-offs": "Tests that were done, and what each proved; written by `holdshort sign`.",
    "deferrals": "Findings that are accepted for now, each until a day.",
    "load-cases": "Changes to the load cases in which the power network is solved.",
}


def setup_schema() -> Json:
    """Return the JSON Schema of a setup file."""
    definitions = _definitions(
        [
            Aircraft,
            Device,
            Lead,
            Radio,
            DeviceFailsafe,
            Surface,
            LoadCases,
            Observation,
            Deferral,
            Balance,
            Reading,
            LogColumns,
            SignOff,
            DerivedPart,
            *_part_models(),
        ]
    )
    properties: Json = {
        FORMAT_KEY: {"const": FORMAT_VERSION},
        "aircraft": _or_nothing(_reference(Aircraft)),
        "follows": _or_nothing({"type": "array", "items": {"enum": list(CODES)}}),
        "catalogues": _or_nothing({"type": "array", "items": {"type": "string", "minLength": 1}}),
        "parts": _or_nothing(_named({"$ref": "#/$defs/AnyPart"})),
        "devices": _or_nothing(_named(_reference(Device))),
        "leads": _or_nothing({"type": "array", "items": _reference(Lead)}),
        "radio": _or_nothing(_reference(Radio)),
        "failsafe": _or_nothing(_named(_reference(DeviceFailsafe))),
        "surfaces": _or_nothing(_named(_reference(Surface))),
        "load-cases": _or_nothing(_reference(LoadCases)),
        "balance": _or_nothing(_reference(Balance)),
        "telemetry": _or_nothing(_named(_reference(Reading))),
        "log": _or_nothing(_reference(LogColumns)),
        "sign-offs": _or_nothing({"type": "array", "items": _reference(SignOff)}),
        "observations": _or_nothing({"type": "array", "items": _reference(Observation)}),
        "deferrals": _or_nothing({"type": "array", "items": _reference(Deferral)}),
    }
    return _file(SETUP_ID, "Setup file of one aircraft", FORMAT_KEY, properties, definitions)


def catalogue_schema() -> Json:
    """Return the JSON Schema of a file of parts."""
    definitions = _definitions([DerivedPart, *_part_models()])
    properties: Json = {
        CATALOGUE_KEY: {"const": FORMAT_VERSION},
        "parts": _or_nothing(_named({"$ref": "#/$defs/AnyPart"})),
    }
    return _file(CATALOGUE_ID, "File of parts", CATALOGUE_KEY, properties, definitions)


def _file(identity: str, title: str, first: str, properties: Json, definitions: Json) -> Json:
    for key, value in properties.items():
        value["description"] = _SECTION_WORDS[key]
    return {
        "$schema": _DIALECT,
        "$id": identity,
        "title": title,
        "type": "object",
        "required": [first],
        "properties": properties,
        "additionalProperties": False,
        "$defs": {**definitions, "AnyPart": _any_part()},
    }


def _part_models() -> list[type[Section]]:
    return list(dict.fromkeys(PART_MODELS.values()))


def _reference(model: type[Section]) -> Json:
    return {"$ref": _REFERENCE.format(model=model.__name__)}


def _or_nothing(schema: Json) -> Json:
    """Let a key stand without a value."""
    return {"anyOf": [schema, {"type": "null"}]}


def _named(schema: Json) -> Json:
    return {
        "type": "object",
        "propertyNames": {"pattern": NAME.pattern},
        "additionalProperties": schema,
    }


def _any_part() -> Json:
    """Return the schema of one entry under ``parts``: told apart by ``like`` and ``kind``."""
    kinds = [
        {
            "if": {"required": ["kind"], "properties": {"kind": {"const": kind}}},
            "then": _reference(model),
        }
        for kind, model in PART_MODELS.items()
    ]
    return {
        "title": "Part",
        "description": "A part type with its ratings, or one that is like another part.",
        "type": "object",
        "properties": {
            "kind": {"description": "What kind of part this is."},
            "like": {"description": "The part whose ratings this one has, but for those here."},
        },
        "if": {"required": ["like"]},
        "then": _reference(DerivedPart),
        "else": {
            "required": ["kind"],
            "properties": {"kind": {"enum": list(PART_MODELS)}},
            "allOf": kinds,
        },
    }


def _definitions(models: list[type[Section]]) -> Json:
    """Return the schemas of the models and of all they hold, by class name."""
    _, made = models_json_schema(
        [(model, "validation") for model in models], by_alias=True, ref_template=_REFERENCE
    )
    definitions: Json = made["$defs"]
    texts = _docstrings()
    for name, definition in definitions.items():
        _tidy(definition)
        _describe(definition, _model_named(name), texts)
    definitions[DerivedPart.__name__]["additionalProperties"] = True
    return definitions


def _tidy(node: object) -> None:
    """Tidy every schema inside ``node``."""
    if isinstance(node, list):
        for item in cast("list[object]", node):
            _tidy(item)
    elif isinstance(node, dict):
        schema = cast("Json", node)
        _tidy_one(schema)
        for key, value in schema.items():
            if key != "examples":
                _tidy(value)


def _tidy_one(schema: Json) -> None:
    """Close a mapping with patterned keys; drop a title and empty default made from a name."""
    if isinstance(schema.get("title"), str):
        del schema["title"]
    if "default" in schema and schema["default"] is None:
        del schema["default"]
    if "patternProperties" in schema:
        schema["additionalProperties"] = False
        schema.pop("propertyNames", None)


def _describe(definition: Json, model: type[Section], texts: dict[tuple[str, str], str]) -> None:
    """Give a model and each of its properties the words of their docstrings."""
    definition["description"] = texts[model.__name__, ""]
    for field in model.model_fields:
        text = next(
            texts[owner.__name__, field]
            for owner in model.__mro__
            if (owner.__name__, field) in texts
        )
        key = hyphenated(field)
        own = definition["properties"][key]
        shape = own.get("anyOf", [own])[0]
        definition["properties"][key] = {
            **own,
            **({"examples": shape["examples"]} if "examples" in shape else {}),
            "title": key.replace("-", " ").capitalize(),
            "description": f"{text} {shape.get('description', '')}".strip(),
        }


def _model_named(name: str) -> type[Section]:
    for module in _MODULES[1:]:
        model = getattr(module, name, None)
        if isinstance(model, type) and issubclass(model, Section):
            return model
    raise LookupError(name)


def _docstrings() -> dict[tuple[str, str], str]:
    """Return the docstrings in the sources of the models, by class and field ("": the class)."""
    found: dict[tuple[str, str], str] = {}
    for module in _MODULES:
        tree = ast.parse(Path(str(module.__file__)).read_text(encoding="utf-8"))
        for node in tree.body:
            if isinstance(node, ast.ClassDef):
                found[node.name, ""] = " ".join((ast.get_docstring(node) or "").split())
                found.update(_field_docstrings(node))
    return found


def _field_docstrings(node: ast.ClassDef) -> dict[tuple[str, str], str]:
    found: dict[tuple[str, str], str] = {}
    for field, text in zip(node.body, node.body[1:], strict=False):
        if (
            isinstance(field, ast.AnnAssign)
            and isinstance(field.target, ast.Name)
            and isinstance(text, ast.Expr)
            and isinstance(text.value, ast.Constant)
            and isinstance(text.value.value, str)
        ):
            found[node.name, field.target.id] = " ".join(text.value.value.split())
    return found
