"""JSON Schema (2020-12) over facts, three-valued and bounded.

A schema says yes or no of a value. Where facts in the value are not known, it is asked twice: once
in the hope that they are as the schema wants them, once in the fear that they are not (strong
three-valued logic of Kleene). Where both answers are the same, the unknown facts do not matter;
where they differ, there is no telling.

This module needs the optional extra ``club``.
"""

import importlib
from collections.abc import Callable, Iterator, Mapping
from typing import Any, Final, NamedTuple, cast

from holdshort.document import Path
from holdshort.rulebook.bounded_patterns import PatternError, compiled, searches
from holdshort.rulebook.open_facts import Unknown, first_unknown
from holdshort.rulebook.work_meter import Meter, TooMuchWorkError
from holdshort.setup.mistakes import any_of, did_you_mean, seen

_jsonschema: Any = importlib.import_module("jsonschema")
_referencing: Any = importlib.import_module("referencing")
_Standard: Any = _jsonschema.Draft202012Validator
_Refused: Any = _jsonschema.ValidationError

DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"

_ONE: Final = (
    "not", "if", "then", "else", "items", "contains", "additionalProperties", "propertyNames",
    "unevaluatedItems", "unevaluatedProperties",
)  # fmt: skip
_MANY: Final = ("allOf", "anyOf", "oneOf", "prefixItems")
_NAMED: Final = ("properties", "patternProperties", "dependentSchemas", "$defs")
_KINDS: Final[Mapping[str, frozenset[str]]] = {
    "number": frozenset(
        {"minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum", "multipleOf"}
    ),
    "string": frozenset({"minLength", "maxLength", "pattern"}),
    "array": frozenset(
        {
            "items", "prefixItems", "contains", "minContains", "maxContains", "minItems",
            "maxItems", "uniqueItems", "unevaluatedItems",
        }
    ),
    "object": frozenset(
        {
            "properties", "patternProperties", "additionalProperties", "propertyNames",
            "required", "minProperties", "maxProperties", "dependentSchemas",
            "dependentRequired", "unevaluatedProperties",
        }
    ),
}  # fmt: skip
"""The keywords that speak of one kind of value only, and let every other pass."""
_ANY_KIND: Final = frozenset(
    {"type", "enum", "const", "$ref", "allOf", "anyOf", "oneOf", "not", "if", "then", "else"}
)
_SILENT: Final = frozenset(
    {
        "$schema", "$defs", "$comment", "title", "description", "default", "examples",
        "deprecated",
    }
)  # fmt: skip
_KNOWN: Final = _ANY_KIND.union(_SILENT, *_KINDS.values())
_WHOLE: Final = frozenset(
    {"const", "enum", "uniqueItems", "unevaluatedItems", "unevaluatedProperties"}
)
"""Keywords that look at a value as a whole, whatever stands in it."""
_QUANTITY: Final = frozenset({"text", "si", "unit"})
"""The keys of a quantity as declared."""
_PROBES: Final[tuple[Any, ...]] = (None, True, 1, "a", [1], {"a": {}})

_KEYWORD_STEPS: Final = 4
"""What one keyword on one value counts for: it takes about as long as four nodes looked at."""

Keyword = Callable[[Any, Any, Any, Any], Iterator[Any]]


class SchemaMistake(NamedTuple):
    """What is wrong with a schema, and where in it; ``at_key`` where the key itself is wrong."""

    path: Path
    text: str
    do: str = ""
    at_key: bool = False


class Verdict(NamedTuple):
    """What a schema says of a value: ``holds`` is None where facts that are not known matter."""

    holds: bool | None
    unknown: tuple[Unknown, ...] = ()


class EmptyJudgementError(Exception):
    """A schema that says nothing at all about the kind of value it is asked about."""


def schema_mistakes(schema: Any) -> list[SchemaMistake]:
    """Return what is wrong with a schema that a club wrote; nothing where it can be used.

    Keywords that are not known are mistakes here, though the standard passes them over: a rule
    with a slip in it would never find anything.
    """
    try:
        found = list(_meta_mistakes(schema)) or list(_own_mistakes(schema))
        return found or list(_probe(schema))
    except RecursionError:
        return [SchemaMistake((), "It stands too deep in itself.")]


def _meta_mistakes(schema: Any) -> Iterator[SchemaMistake]:
    """Check a schema against the schema of schemas."""
    dialect = _Standard(_Standard.META_SCHEMA)
    for error in dialect.iter_errors(schema):
        path = cast("Path", tuple(error.absolute_path))
        text = f"This is not JSON Schema: {_short(error.message)}."
        yield SchemaMistake(path, text, "See JSON Schema 2020-12 for what may stand here.")


def _short(message: str) -> str:
    return message if len(message) <= 120 else f"{message[:117]}..."  # noqa: PLR2004


def _own_mistakes(schema: Any) -> Iterator[SchemaMistake]:
    """Yield what the schema of schemas lets pass."""
    yield from _walk_mistakes(schema, (), schema)
    used = {key for key, _ in _keywords(schema)}
    if {"unevaluatedProperties", "patternProperties"} <= used:
        path = next(path for key, path in _keywords(schema) if key == "unevaluatedProperties")
        text = "`unevaluatedProperties` beside `patternProperties` is not read here."
        yield SchemaMistake(path, text, "Use `additionalProperties`.", at_key=True)


def _keywords(schema: Any, path: Path = ()) -> Iterator[tuple[str, Path]]:
    if isinstance(schema, dict):
        fields = cast("dict[str, Any]", schema)
        yield from ((key, (*path, key)) for key in fields)
        for steps, inner in _inside(fields):
            yield from _keywords(inner, (*path, *steps))


def _walk_mistakes(schema: Any, path: Path, root: Any) -> Iterator[SchemaMistake]:
    """Yield wrong keywords, references and expressions."""
    if not isinstance(schema, dict):
        return
    fields = cast("dict[str, Any]", schema)
    for key in fields:
        yield from _keyword_mistakes(key, path)
    yield from _reference_mistakes(fields, path, root)
    yield from _pattern_mistakes(fields, path)
    for steps, inner in _inside(fields):
        yield from _walk_mistakes(inner, (*path, *steps), root)


def _inside(schema: Mapping[str, Any]) -> Iterator[tuple[Path, Any]]:
    for key in _ONE:
        if key in schema:
            yield (key,), schema[key]
    for key in _MANY:
        for index, inner in enumerate(schema.get(key, ())):
            yield (key, index), inner
    for key in _NAMED:
        for name, inner in schema.get(key, {}).items():
            yield (key, name), inner


def _keyword_mistakes(key: str, path: Path) -> Iterator[SchemaMistake]:
    if key in _KNOWN:
        return
    if key == "format":
        text = "`format` checks nothing: in JSON Schema 2020-12 it only describes."
        yield SchemaMistake((*path, key), text, "Use `pattern`.", at_key=True)
        return
    text = f"{seen(key)} is not a keyword that is read here."
    yield SchemaMistake((*path, key), text, did_you_mean(key, _KNOWN), at_key=True)


def _reference_mistakes(
    schema: Mapping[str, Any], path: Path, root: Any
) -> Iterator[SchemaMistake]:
    if schema.get("$schema", DIALECT) not in {DIALECT, f"{DIALECT}#"}:
        text = f"{seen(schema['$schema'])} is not the dialect that is read here."
        yield SchemaMistake((*path, "$schema"), text, f"Take the line out, or write {DIALECT}.")
    target = schema.get("$ref")
    if target is None:
        return
    do = "Write `#/$defs/name`, and the schema under `$defs`."
    if not target.startswith("#/") and target != "#":
        text = f"{seen(target)} leads out of this schema, and nothing is fetched."
        yield SchemaMistake((*path, "$ref"), text, do)
    elif not _leads_somewhere(target, root):
        yield SchemaMistake((*path, "$ref"), f"{seen(target)} leads nowhere.", do)


def _leads_somewhere(target: str, root: Any) -> bool:
    """Follow a JSON Pointer (RFC 6901) from the root of the schema."""
    node = root
    for step in target.split("/")[1:]:
        name = step.replace("~1", "/").replace("~0", "~")
        if isinstance(node, dict) and name in node:
            node = cast("dict[str, Any]", node)[name]
        elif isinstance(node, list) and _is_index(name, cast("list[object]", node)):
            node = cast("list[object]", node)[int(name)]
        else:
            return False
    return isinstance(node, dict | bool)


def _is_index(name: str, items: list[object]) -> bool:
    return name.isascii() and name.isdecimal() and len(name) < 6 and int(name) < len(items)  # noqa: PLR2004


def _pattern_mistakes(schema: Mapping[str, Any], path: Path) -> Iterator[SchemaMistake]:
    written: list[tuple[Path, str]] = []
    if "pattern" in schema:
        written.append((("pattern",), schema["pattern"]))
    named = schema.get("patternProperties", {})
    written += [(("patternProperties", pattern), pattern) for pattern in named]
    for steps, pattern in written:
        try:
            compiled(pattern)
        except PatternError as error:
            text = f"{seen(pattern)} cannot be read as a regular expression: {error}."
            yield SchemaMistake((*path, *steps), text, at_key=steps[0] == "patternProperties")


def _probe(schema: Any) -> Iterator[SchemaMistake]:
    """Try a schema on a few small values: references that go round in circles show at once."""
    requirement = Requirement(schema, Meter())
    for value in _PROBES:
        requirement.meter.reset()
        try:
            requirement.fits(value)
        except RecursionError:
            yield SchemaMistake((), "Its `$ref`s go round in a circle.", "Break the circle.")
            return
        except TooMuchWorkError as error:
            yield SchemaMistake((), f"Trying it on a small value {error}.", "Make it simpler.")
            return


class Requirement:
    """A schema that facts must satisfy."""

    def __init__(self, schema: Any, meter: Meter) -> None:
        """Take a schema without mistakes, and what counts its work."""
        self.meter = meter
        fields = cast("dict[str, Any]", schema if isinstance(schema, dict) else {"const": schema})
        self._used = frozenset(fields) - _SILENT
        self._named: frozenset[str] = frozenset(fields.get("properties", ()))
        self._hopes = True
        self._met: dict[Unknown, None] = {}
        own: dict[str, Keyword] = {
            "pattern": self._pattern,
            "patternProperties": self._pattern_properties,
            "additionalProperties": self._additional,
            "required": self._required,
            "not": self._not,
            "if": self._if,
            "oneOf": self._one_of,
            "contains": self._contains,
        }
        keywords = {**_Standard.VALIDATORS, **own}
        wrapped = {name: self._wrapped(name, keyword) for name, keyword in keywords.items()}
        extended = _jsonschema.validators.extend(_Standard, validators=wrapped)
        self._validator: Any = extended(schema, registry=_referencing.Registry())

    def judge(self, value: Any) -> Verdict:
        """Say whether ``value`` satisfies the schema.

        Raises EmptyJudgementError where the schema says nothing about such a value, and
        TooMuchWorkError.
        """
        self._refuse_emptiness(value)
        self._met = {}
        hoped = self.fits(value)
        if not self._met or hoped == self.fits(value, hopes=False):
            return Verdict(hoped)
        return Verdict(None, tuple(self._met))

    def fits(self, value: Any, *, hopes: bool = True) -> bool:
        """Say whether ``value`` passes where unknown facts are as hoped, or else as feared."""
        self._hopes = hopes
        return self._passes(self._validator, value)

    def _passes(self, validator: Any, value: Any, *, hopes: bool | None = None) -> bool:
        """Say whether a value passes, with another outlook where one is given."""
        before = self._hopes
        self._hopes = before if hopes is None else hopes
        try:
            passes: bool = validator.is_valid(value)
        finally:
            self._hopes = before
        return passes

    def _bounds(self, validator: Any, value: Any) -> tuple[bool, bool]:
        """Say whether a value is bound to pass, and whether it may."""
        sure, may = (self._passes(validator, value, hopes=hopes) for hopes in (False, True))
        return sure, may

    def _refuse_emptiness(self, value: Any) -> None:
        if isinstance(value, dict) and value.keys() == _QUANTITY and self._named - _QUANTITY:
            raise EmptyJudgementError(
                f"`must` speaks of {any_of(sorted(self._named - _QUANTITY), 'and')} in a quantity, "
                f"which has {any_of(sorted(_QUANTITY), 'and')}"
            )
        kind = _kind_of(value)
        if self._used & _ANY_KIND or self._used & _KINDS.get(kind, frozenset()):
            return
        raise EmptyJudgementError(f"`must` says nothing about {_KIND_WORDS[kind]}")

    def _wrapped(self, name: str, keyword: Keyword) -> Keyword:
        def check(validator: Any, value: Any, instance: Any, schema: Any) -> Any:
            self.meter.spend(_KEYWORD_STEPS)
            unknown = first_unknown(instance) if name in _WHOLE else instance
            if isinstance(unknown, Unknown):
                yield from self._meet(unknown)
            else:
                yield from keyword(validator, value, instance, schema) or ()

        return check

    def _meet(self, unknown: Unknown) -> Iterator[Any]:
        self._met[unknown] = None
        if not self._hopes:
            yield _Refused("not known")

    def _not(self, validator: Any, inner: Any, instance: Any, _schema: Any) -> Iterator[Any]:
        """What is hoped for outside is feared inside."""
        if self._passes(validator.evolve(schema=inner), instance, hopes=not self._hopes):
            yield _Refused("it passes what it must not")

    def _if(self, validator: Any, inner: Any, instance: Any, schema: Any) -> Iterator[Any]:
        sure, may = self._bounds(validator.evolve(schema=inner), instance)
        branches = [key for key, taken in (("then", may), ("else", not sure)) if taken]
        passes = [
            self._passes(validator.evolve(schema=schema.get(key, True)), instance)
            for key in branches
        ]
        if not (any(passes) if self._hopes else all(passes)):
            yield _Refused("it does not pass what follows")

    def _one_of(self, validator: Any, inner: Any, instance: Any, _schema: Any) -> Iterator[Any]:
        bounds = [self._bounds(validator.evolve(schema=one), instance) for one in inner]
        yield from self._counted(bounds, 1, 1)

    def _contains(self, validator: Any, inner: Any, instance: Any, schema: Any) -> Iterator[Any]:
        if not validator.is_type(instance, "array"):
            return
        bounds = [self._bounds(validator.evolve(schema=inner), item) for item in instance]
        least, most = schema.get("minContains", 1), schema.get("maxContains", len(bounds))
        yield from self._counted(bounds, least, most)

    def _counted(self, bounds: list[tuple[bool, bool]], least: float, most: float) -> Iterator[Any]:
        """Refuse where too few or too many pass; those that may are counted as they suit."""
        sure, may = sum(bound[0] for bound in bounds), sum(bound[1] for bound in bounds)
        few, many = (may, sure) if self._hopes else (sure, may)
        if few < least or many > most:
            yield _Refused("too few or too many pass")

    def _required(
        self, validator: Any, required: Any, instance: Any, _schema: Any
    ) -> Iterator[Any]:
        if not validator.is_type(instance, "object"):
            return
        for name in required:
            if name not in instance:
                yield _Refused(f"{name!r} is missing")
            elif isinstance(instance[name], Unknown):
                yield from self._meet(instance[name])

    def _pattern(self, validator: Any, pattern: str, instance: Any, _schema: Any) -> Iterator[Any]:
        if validator.is_type(instance, "string") and not self._found(pattern, instance):
            yield _Refused(f"{instance!r} does not match {pattern!r}")

    def _found(self, pattern: str, text: str) -> bool:
        return searches(compiled(pattern), text, self.meter)

    def _pattern_properties(
        self, validator: Any, patterns: Any, instance: Any, _schema: Any
    ) -> Iterator[Any]:
        if not validator.is_type(instance, "object"):
            return
        for pattern, inner in patterns.items():
            for name, item in instance.items():
                if self._found(pattern, name):
                    yield from validator.descend(item, inner, path=name, schema_path=pattern)

    def _additional(self, validator: Any, inner: Any, instance: Any, schema: Any) -> Iterator[Any]:
        if not validator.is_type(instance, "object"):
            return
        for name, item in instance.items():
            if not self._is_named(name, schema):
                yield from validator.descend(item, inner, path=name)

    def _is_named(self, name: str, schema: Any) -> bool:
        if name in schema.get("properties", ()):
            return True
        return any(self._found(pattern, name) for pattern in schema.get("patternProperties", ()))


_KIND_WORDS: Final[Mapping[str, str]] = {
    "number": "a number",
    "string": "text",
    "array": "a list",
    "object": "a mapping",
    "boolean": "true or false",
    "null": "nothing (null)",
}


def _kind_of(value: Any) -> str:
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "boolean"
    if isinstance(value, int | float):
        return "number"
    if isinstance(value, str):
        return "string"
    return "array" if isinstance(value, list) else "object"
