"""JSON Schema (draft 2020-12) of a hangar file, for editors.

Made with the rules that are loaded, so that an editor knows each limit, what it is and how it is
written. What it cannot know are the rules of packs that the file itself names: those pass.
"""

from typing import Any, Final

from holdshort.rulebook.club_tests import ClubTest
from holdshort.rulebook.declare import Option, Rule, Severity
from holdshort.rulebook.hangar_search import HANGAR_KEY
from holdshort.rulebook.packs import Rulebook
from holdshort.setup.base import RULE
from holdshort.setup.catalogue import FORMAT_VERSION
from holdshort.setup.evidence import TEST
from holdshort.setup.sections import CODES

Json = dict[str, Any]

HANGAR_ID: Final = "urn:holdshort:hangar:1"
_DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"


def hangar_schema(rulebook: Rulebook) -> Json:
    """Return the JSON Schema of a hangar file, with the limits of these rules."""
    rules = [rule for _, rule in rulebook]
    return {
        "$schema": _DIALECT,
        "$id": HANGAR_ID,
        "title": "Hangar file: what all aircraft of a club or workshop share",
        "type": "object",
        "required": [HANGAR_KEY],
        "properties": {
            HANGAR_KEY: {
                "description": "The version of this format.",
                "const": FORMAT_VERSION,
            },
            "catalogues": _listed(
                "Files of parts, by their path as seen from this file, for every aircraft.",
                {"type": "string", "minLength": 1},
            ),
            "packs": _listed(
                "Packs of rules: the name of an installed one, or the path of a folder or file.",
                {"type": "string", "minLength": 1},
            ),
            "follows": _listed(
                "The published codes that the owner says apply to every aircraft.",
                {"enum": list(CODES)},
            ),
            "limits": _by_rule(
                "Limits of rules, by rule and name, with their units.",
                {rule.id: _limits(rule) for rule in rules if rule.options},
                {"type": ["object", "null"], "additionalProperties": {"type": "string"}},
            ),
            "severities": _by_rule(
                "Severities of rules, for all that they find.",
                {rule.id: {"title": rule.title, **_SEVERITY} for rule in rules if not rule.fixed},
                _SEVERITY,
            ),
            "skip": _listed(
                "Folders that a lint of a folder passes by, as seen from this file.",
                {"type": "string", "minLength": 1},
            ),
            "tests": _tests(),
        },
        "additionalProperties": False,
    }


_SEVERITY: Final[Json] = {"enum": [severity.word for severity in Severity]}


def _tests() -> Json:
    """Return the schema of a club's own tests, each by its name."""
    schema = ClubTest.model_json_schema()
    return {
        "description": "Tests to be signed for beside those of the trade, by name.",
        "type": ["object", "null"],
        "propertyNames": {"pattern": TEST.pattern},
        "additionalProperties": schema,
    }


def _listed(words: str, items: Json) -> Json:
    return {"description": words, "type": ["array", "null"], "items": items}


def _by_rule(words: str, known: Json, other: Json) -> Json:
    return {
        "description": words,
        "type": ["object", "null"],
        "properties": known,
        "propertyNames": {"pattern": RULE.pattern},
        "additionalProperties": other,
    }


def _limits(rule: Rule) -> Json:
    return {
        "title": rule.title,
        "type": ["object", "null"],
        "properties": {option.name: _limit(option) for option in rule.options},
        "additionalProperties": False,
    }


def _limit(option: Option) -> Json:
    return {
        "description": f"{option.text[0].upper()}{option.text[1:]}. Default: {option.default}.",
        "type": "string",
        "pattern": option.kind.pattern,
        "examples": [option.default],
    }
