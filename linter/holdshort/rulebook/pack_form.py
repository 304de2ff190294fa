"""Checking that a pack is what a pack must be: it is somebody else's code."""

from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any, Final, NamedTuple, cast

from holdshort.analysis.code_words import CodeWords
from holdshort.rulebook.declare import (
    API_VERSION,
    RULE_ID,
    Hold,
    Option,
    Pack,
    Rule,
    Severity,
    Source,
)


class FormMistake(NamedTuple):
    """What is wrong with a pack, to follow its name, and the rule that is to blame, if one is."""

    text: str
    rule: Rule | None = None


def form_mistake(pack: object) -> FormMistake | None:
    """Return the first thing wrong with the form of a pack, or None."""
    if not isinstance(pack, Pack):
        return FormMistake(f"is a {type(pack).__name__}, not a Pack")
    return next(_mistakes(pack), None)


def _mistakes(pack: Pack) -> Iterator[FormMistake]:
    if pack.api != API_VERSION:
        yield FormMistake(
            f"is written for version {pack.api!r} of the pack face; "
            f"this program offers version {API_VERSION}"
        )
        return
    for field, wanted in _PACK_FIELDS.items():
        found: object = getattr(pack, field)
        if not isinstance(found, wanted):
            yield FormMistake(
                f"has a {type(found).__name__} as its `{field}`, not a {wanted.__name__}"
            )
            return
    yield from _foreign(pack.rules, Rule, "a rule")
    yield from _foreign(pack.codes, CodeWords, "a code")
    yield from _foreign(pack.sources.values(), Source, "a source")
    for rule in pack.rules:
        yield from _rule_mistakes(rule, pack)
    yield from _twins(pack.rules)


_PACK_FIELDS: Final[dict[str, type]] = {
    "name": str,
    "rules": tuple,
    "sources": dict,
    "pages": Path,
    "cases": Path,
    "codes": tuple,
}
_RULE_FIELDS: Final[dict[str, type]] = {
    "id": str,
    "title": str,
    "severity": Severity,
    "hold": Hold,
    "subject": str,
    "sources": tuple,
    "options": tuple,
}


def _foreign(entries: Iterable[object], wanted: type, role: str) -> Iterator[FormMistake]:
    for entry in entries:
        if not isinstance(entry, wanted):
            yield FormMistake(f"lists a {type(entry).__name__} as {role}")


def _rule_mistakes(rule: Rule, pack: Pack) -> Iterator[FormMistake]:
    for field, wanted in _RULE_FIELDS.items():
        found: object = getattr(rule, field)
        if not isinstance(found, wanted):
            text = f"has a {type(found).__name__} as its `{field}`, not a {wanted.__name__}"
            yield FormMistake(f"has a rule {rule.id!r} that {text}", rule)
            return
    if not RULE_ID.fullmatch(rule.id):
        yield FormMistake(
            f"has a rule {rule.id!r}, which is not lower-case words joined by hyphens", rule
        )
    if not callable(cast("Callable[..., Any] | None", rule.check)):
        yield FormMistake(f"has a rule `{rule.id}` whose `check` cannot be called", rule)
    for entry in cast("tuple[object, ...]", rule.options):
        if not isinstance(entry, Option):
            text = f"lists a {type(entry).__name__} as an option"
            yield FormMistake(f"has a rule `{rule.id}` that {text}", rule)
            return
    cited = [*rule.sources, *(option.source for option in rule.options)]
    missing = [source for source in cited if source not in pack.sources]
    if missing:
        yield FormMistake(f"has a rule `{rule.id}` that cites unknown source {missing[0]}", rule)


def _twins(rules: tuple[Rule, ...]) -> Iterator[FormMistake]:
    seen: set[str] = set()
    for rule in rules:
        if rule.id in seen:
            yield FormMistake(f"has two rules called `{rule.id}`", rule)
        seen.add(rule.id)
