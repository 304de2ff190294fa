"""``holdshort rules``: list the rules, or show the page of one."""

import argparse
from collections.abc import Iterator
from typing import Any

from holdshort.cli import output
from holdshort.cli.packs import installed_rulebook
from holdshort.fixlist.plain import plain, wrap
from holdshort.fixlist.text import NARROWEST, PLAIN_WIDTH, WIDEST
from holdshort.rulebook import Pack, Rule, Rulebook, Source
from holdshort.rulebook.deferrals import PACK as OWN_RULES
from holdshort.setup.mistakes import did_you_mean


def run(arguments: argparse.Namespace) -> int:
    """Print the list or the page, return the exit code."""
    rulebook = installed_rulebook(arguments.pack or ())
    if rulebook is None:
        return 2
    if arguments.format == "markdown":
        return _write_reference(rulebook, arguments.rule)
    as_json = arguments.format == "json"
    if arguments.rule is None:
        output.write(_dump(_list_data(rulebook)) if as_json else _text(_list(rulebook)))
        return 0
    rulebook = Rulebook((*rulebook.packs, OWN_RULES))
    found = rulebook.find(arguments.rule)
    if found is None:
        near = did_you_mean(arguments.rule, [rule.id for _, rule in rulebook])
        output.say(f"There is no rule `{arguments.rule}`. {near}".rstrip())
        return 2
    output.write(_dump(_page_data(*found)) if as_json else _text(_page(*found)))
    return 0


def _write_reference(rulebook: Rulebook, rule: str | None) -> int:
    if rule is not None:
        output.say("The reference in Markdown is of all rules; the page of one is Markdown anyway.")
        return 2
    from holdshort.fixlist.rules_reference import markdown  # noqa: PLC0415  - only when asked

    output.write("".join(f"{plain(line)}\n" for line in markdown(rulebook).splitlines()))
    return 0


def _list(rulebook: Rulebook) -> Iterator[str]:
    """Yield the rules by subject."""
    subjects: dict[str, list[Rule]] = {}
    for _, rule in rulebook:
        subjects.setdefault(rule.subject, []).append(rule)
    widest = max(len(rule.id) for _, rule in rulebook)
    for subject, rules in sorted(subjects.items()):
        yield subject
        for rule in sorted(rules, key=lambda rule: rule.id):
            yield f"  {rule.id:{widest}}  {rule.severity.word}, holds {rule.hold.word}"
            yield f"      {rule.title}"
        yield ""
    yield "`holdshort rules RULE` shows the page of a rule."


def _page(pack: Pack, rule: Rule) -> Iterator[str]:
    """Yield what there is to know about one rule."""
    width = max(NARROWEST, min(output.width() or PLAIN_WIDTH, WIDEST))
    yield rule.id
    yield rule.title
    yield ""
    yield f"A {rule.severity.word} that holds {rule.hold.word}; subject: {rule.subject}."
    yield f"From pack {pack.name}."
    yield ""
    page = _page_text(pack, rule)
    yield from page.split("\n") if page else ("This rule has no page.",)
    yield from _limits(rule, width)
    yield ""
    yield "Sources"
    for source in _sources(pack, rule):
        first, *rest = wrap(f"{source.id}: {source.text} ({source.confidence})", width - 4)
        yield f"  {first}"
        yield from (f"    {line}" for line in rest)


def _limits(rule: Rule, width: int) -> Iterator[str]:
    if not rule.options:
        return
    yield ""
    yield "Limits, which a hangar file may set"
    for option in rule.options:
        first, *rest = wrap(f"{option.name}: {option.text} ({option.default})", width - 4)
        yield f"  {first}"
        yield from (f"    {line}" for line in rest)


def _page_text(pack: Pack, rule: Rule) -> str:
    """Return the page without its heading where that repeats the title; empty: no page."""
    try:
        page = pack.page(rule.id)
    except (OSError, ValueError):
        return ""
    return page.removeprefix(f"# {rule.title}\n").strip("\n")


def _sources(pack: Pack, rule: Rule) -> list[Source]:
    return [pack.sources[source] for source in rule.sources]


def _text(lines: Iterator[str]) -> str:
    return "".join(f"{plain(line)}\n" for line in lines)


def _dump(value: object) -> str:
    from holdshort.fixlist.json_format import dump  # noqa: PLC0415  - only when asked

    return dump(value)


def _list_data(rulebook: Rulebook) -> dict[str, Any]:
    """Return the list as data: ``rules`` holds one mapping a rule, in the order of the packs."""
    rules = [_rule_data(pack, rule) for pack, rule in rulebook]
    return {"format": "holdshort-rules", "version": 1, "rules": rules}


def _page_data(pack: Pack, rule: Rule) -> dict[str, Any]:
    """Return one rule as data, with its page in Markdown or null."""
    page = _page_text(pack, rule) or None
    data = {**_rule_data(pack, rule), "page": page}
    return {"format": "holdshort-rule", "version": 1, "rule": data}


def _rule_data(pack: Pack, rule: Rule) -> dict[str, Any]:
    return {
        "id": rule.id,
        "title": rule.title,
        "severity": rule.severity.word,
        "hold": rule.hold.word,
        "subject": rule.subject,
        "pack": pack.name,
        "options": [
            {
                "name": option.name,
                "default": option.default,
                "text": option.text,
                "source": option.source,
            }
            for option in rule.options
        ],
        "sources": [
            {"id": source.id, "text": source.text, "confidence": source.confidence}
            for source in _sources(pack, rule)
        ],
    }
