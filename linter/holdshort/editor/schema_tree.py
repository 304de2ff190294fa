"""The JSON Schema of a file, walked by document paths: what may stand where, and what it means."""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Final, NamedTuple, cast

from holdshort.document import Path
from holdshort.rulebook import Rulebook
from holdshort.rulebook.hangar_schema import hangar_schema
from holdshort.setup.schema import catalogue_schema, setup_schema

Json = dict[str, Any]

PartKind = Callable[[str], str]
"""Returns the kind of the part of a name, be it by what it is like; empty where it is not known."""

_NONE: Final[list[Any]] = []
_TOLD_BY: Final = ("kind", "like")


class Entry(NamedTuple):
    """One key or value that may stand at a place, and what is said of it."""

    name: str
    about: str


@dataclass(frozen=True)
class SchemaTree:
    """One schema. It knows no file: what kind a part is, it is told."""

    schema: Json

    def keys(self, path: Path, kind_of: PartKind) -> list[Entry]:
        """Return the keys that the mapping at ``path`` may have, with what each means."""
        found: dict[str, Entry] = {}
        for schema in self._at(path, kind_of):
            for key, value in schema.get("properties", {}).items():
                found.setdefault(key, Entry(key, self.about(value)))
            for key in schema.get("propertyNames", {}).get("enum", ()):
                found.setdefault(key, Entry(key, ""))
        return list(found.values())

    def values(self, path: Path, kind_of: PartKind) -> list[str]:
        """Return the fixed words that may stand at ``path``."""
        found: dict[str, None] = {}
        for schema in self._at(path, kind_of):
            for word in schema.get("enum", ()):
                found[str(word)] = None
            if "const" in schema:
                found[str(schema["const"])] = None
            if schema.get("type") == "boolean":
                found |= {"true": None, "false": None}
            for word in self._words_of_pattern(schema):
                found[word] = None
        return list(found)

    def takes_list(self, path: Path, kind_of: PartKind) -> bool:
        """Tell whether a list may stand at ``path``."""
        return any(schema.get("type") == "array" for schema in self._at(path, kind_of))

    def describe(self, path: Path, kind_of: PartKind) -> str:
        """Return, in Markdown, what the value at ``path`` is, its unit, examples and words."""
        if not path:
            return ""
        for schema in self._children(self._at(path[:-1], kind_of), path[-1]):
            text = self.about(schema)
            if text:
                return text
        return ""

    def about(self, schema: Json) -> str:
        """Return, in Markdown, the description of a schema with its examples and words."""
        plain = list(self._plain(schema))
        told = [schema, *plain]
        said = str(next((one["description"] for one in told if one.get("description")), ""))
        examples: list[Any] = next((one["examples"] for one in told if one.get("examples")), _NONE)
        words = [str(word) for one in plain for word in one.get("enum", ())]
        lines = [said] if said else []
        if examples:
            lines.append(f"Written as {_listed(examples)}.")
        if words:
            lines.append(f"One of {_listed(words)}.")
        return "\n\n".join(lines)

    def _at(self, path: Path, kind_of: PartKind) -> list[Json]:
        found = list(self._plain(self.schema))
        name = ""
        for depth, step in enumerate(path):
            name = str(step)
            children = list(self._children(found, step))
            is_part = depth == 1 and path[0] == "parts"
            kind = kind_of(name) if is_part else ""
            found = [one for child in children for one in self._plain(child, kind)]
        return found

    def _children(self, schemas: list[Json], step: str | int) -> Iterator[Json]:
        for schema in schemas:
            if isinstance(step, int):
                if isinstance(schema.get("items"), dict):
                    yield schema["items"]
            elif step in schema.get("properties", {}):
                yield schema["properties"][step]
            else:
                yield from _by_name(schema, step)

    def _plain(self, schema: Json, kind: str = "") -> Iterator[Json]:
        """Yield a schema without references and alternatives; "nothing" is none of them."""
        if "$ref" in schema:
            yield from self._plain(self.schema["$defs"][schema["$ref"].rpartition("/")[2]], kind)
            return
        branches = [*schema.get("anyOf", ()), *schema.get("oneOf", ())]
        if branches:
            for branch in branches:
                yield from self._plain(branch, kind)
            return
        if schema.get("type") == "null":
            return
        yield schema
        for chosen in schema.get("else", {}).get("allOf", ()):
            if chosen["if"]["properties"]["kind"]["const"] == kind:
                yield from self._plain(chosen["then"])

    def _words_of_pattern(self, schema: Json) -> list[str]:
        """Return the fixed words among what a pattern lets stand: ``hold|neutral|...``."""
        pattern = schema.get("pattern")
        if not isinstance(pattern, str):
            return []
        found = re.match(r"\^\(\?:((?:[a-z][a-z-]*\|)+)", pattern)
        return found[1].rstrip("|").split("|") if found else []


def _by_name(schema: Json, step: str) -> Iterator[Json]:
    for pattern, value in schema.get("patternProperties", {}).items():
        if re.search(pattern, step):
            yield value
            return
    other = schema.get("additionalProperties")
    if isinstance(other, dict):
        yield cast("Json", other)


def _listed(words: list[Any]) -> str:
    return ", ".join(f"`{word}`" for word in words)


@cache
def _setup() -> SchemaTree:
    return SchemaTree(setup_schema())


@cache
def _catalogue() -> SchemaTree:
    return SchemaTree(catalogue_schema())


def warm_up() -> None:
    """Build the schema of a setup file, so that no question has to wait for it."""
    _setup()


def tree_of(kind: str, rulebook: Rulebook) -> SchemaTree | None:
    """Return the schema of a kind of file, or None where it has none."""
    if kind == "aircraft":
        return _setup()
    if kind == "parts":
        return _catalogue()
    return SchemaTree(hangar_schema(rulebook)) if kind == "hangar" else None


def kind_in(
    parts: Mapping[str, object], name: str, present: Mapping[str, str], others: PartKind
) -> str:
    """Return the kind of a part that is being written, by itself or by what it is like."""
    kind, like = present.get("kind"), present.get("like")
    seen = {name}
    while not kind and like and like not in seen:
        seen.add(like)
        fields = parts.get(like)
        if not isinstance(fields, dict):
            return others(like)
        said = cast("dict[str, object]", fields)
        kind, like = (word if isinstance(word, str) else "" for word in map(said.get, _TOLD_BY))
    return kind or ""
