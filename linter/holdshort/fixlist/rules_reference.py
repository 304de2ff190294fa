"""The reference of the rules in Markdown: by subject, with what each looks at and its sources."""

from collections.abc import Iterator

from holdshort.rulebook import Option, Pack, Rule, Rulebook

_HEAD = """\
# The rules

Written by `holdshort rules --format markdown`; do not edit it here. `holdshort rules RULE` shows
the whole page of a rule: why it matters, what to do, what it cannot see.

A warning may injure someone or lose the aircraft, a caution may damage equipment, a note is worth
knowing. A rule holds what may not happen until its finding is dealt with. Limits are set in the
hangar file, by rule and name. A source is marked with how it was read: read, read second-hand, from
memory, derived (arithmetic or physics), or common practice (no published source).

| subject | rules |
|---|---|"""
_LOOKS = "**What it looks at.**"


def markdown(rulebook: Rulebook) -> str:
    """Return the reference of all rules, in the order of subjects and ids."""
    subjects: dict[str, list[tuple[Pack, Rule]]] = {}
    for pack, rule in rulebook:
        subjects.setdefault(rule.subject, []).append((pack, rule))
    lines = [_HEAD]
    for subject, entries in sorted(subjects.items()):
        lines.append(f"| [{_cell(subject)}](#{_anchor(subject)}) | {len(entries)} |")
    for subject, entries in sorted(subjects.items()):
        lines += ["", f"## {subject}"]
        for pack, rule in sorted(entries, key=lambda entry: entry[1].id):
            lines += ["", *_rule_lines(pack, rule)]
    return "\n".join(lines) + "\n"


def looks_at(pack: Pack, rule: Rule) -> str:
    """Return what a rule looks at, on one line, as its page says it; empty: the page does not."""
    try:
        page = pack.page(rule.id)
    except (OSError, ValueError):
        return ""
    paragraph = page.partition(_LOOKS)[2].partition("\n\n")[0]
    return " ".join(paragraph.split())


def _rule_lines(pack: Pack, rule: Rule) -> Iterator[str]:
    yield f"### {rule.id}"
    yield ""
    yield f"**{rule.title}.** A {rule.severity.word} that holds {rule.hold.word}."
    looks = looks_at(pack, rule)
    if looks:
        yield ""
        yield looks
    if rule.options:
        yield ""
        yield "| limit | default | what it is | source |"
        yield "|---|---|---|---|"
        yield from (_option_row(pack, option) for option in rule.options)
    yield ""
    for source in (pack.sources[name] for name in rule.sources):
        yield f"- {source.id}: {source.text} *({source.confidence})*"


def _option_row(pack: Pack, option: Option) -> str:
    source = pack.sources[option.source]
    cited = f"{source.id} ({source.confidence})"
    cells = (f"`{option.name}`", option.default, option.text, cited)
    return f"| {' | '.join(_cell(cell) for cell in cells)} |"


def _cell(text: str) -> str:
    return " ".join(text.split()).replace("|", "\\|")


def _anchor(heading: str) -> str:
    """Return the anchor that renderers of Markdown give a heading of plain words."""
    kept = (c for c in heading.lower() if c.isalnum() or c in " -_")
    return "".join(kept).replace(" ", "-")
