"""What must be true of every rule of a pack, whatever it judges."""

import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from holdshort.rulebook import Pack, Rule, Source
from holdshort.rulebook.declare import RULE_ID
from holdshort.testkit.case_files import CaseError, Cases, read_cases
from holdshort.testkit.flaws import Flaw, rule_flaw
from holdshort.testkit.scaffold import TO_WRITE

PAGE_PARTS: Final = ("**What it looks at.**", "**Why it matters.**", "**What to do.**")
"""What every page of a rule says."""

CONFIDENCES: Final = ("read", "read second-hand", "from memory", "derived", "common practice")
"""How a source was read."""

_CODE: Final = re.compile(r"\b[A-Z]{1,3}[0-9]{2,4}\b")


def sweep(pack: Pack) -> Iterator[Flaw]:
    """Yield what is wrong with a pack's ids, titles, pages, sources and sets of cases."""
    yield from _id_flaws(pack)
    for rule in pack.rules:
        yield from _title_flaws(pack, rule)
        yield from _page_flaws(pack, rule)
        yield from _coverage(pack, rule)
    yield from _source_flaws(pack)
    yield from _strays(pack)


def coverage_problems(pack: Pack, rule: Rule) -> list[str]:
    """Return what the cases of a rule leave unproved: catching, passing, failing to judge."""
    return [str(flaw) for flaw in _coverage(pack, rule)]


def _id_flaws(pack: Pack) -> Iterator[Flaw]:
    times = Counter(rule.id for rule in pack.rules)
    for rule in pack.rules:
        if not RULE_ID.fullmatch(rule.id):
            text = f"the id `{rule.id}` is not lower-case words joined by hyphens"
            yield rule_flaw(pack, rule, text)
        if times[rule.id] > 1:
            yield rule_flaw(pack, rule, f"the id `{rule.id}` is given {times[rule.id]} times")


def _title_flaws(pack: Pack, rule: Rule) -> Iterator[Flaw]:
    if not rule.title.strip() or TO_WRITE in rule.title:
        yield rule_flaw(pack, rule, "the title is still to be written")
    elif _CODE.search(rule.title):
        yield rule_flaw(pack, rule, "the title holds a code; say the condition in words")
    elif rule.title.endswith("."):
        yield rule_flaw(pack, rule, "the title ends in a full stop; it names a condition")


def _page_flaws(pack: Pack, rule: Rule) -> Iterator[Flaw]:
    try:
        page = pack.page(rule.id)
    except OSError:
        yield _page_flaw(pack, rule, "there is no such page")
        return
    except UnicodeDecodeError:
        yield _page_flaw(pack, rule, "the page is not UTF-8 text")
        return
    if not page.startswith(f"# {rule.title}\n"):
        text = f"the first line of the page is not the rule's title: `# {rule.title}`"
        yield _page_flaw(pack, rule, text, 1)
    for part in PAGE_PARTS:
        if part not in page:
            yield _page_flaw(pack, rule, f"the page does not say {part}")
    if _can_fail_to_judge(pack, rule) and "**Not checked**" not in page:
        text = "the rule cannot always judge, and the page does not say when: **Not checked**"
        yield _page_flaw(pack, rule, text)
    yield from _unwritten(pack, rule, page)


def _unwritten(pack: Pack, rule: Rule, page: str) -> Iterator[Flaw]:
    for number, line in enumerate(page.splitlines(), 1):
        if TO_WRITE in line:
            yield _page_flaw(pack, rule, "the page is still to be written", number)


def _page_flaw(pack: Pack, rule: Rule, text: str, line: int = 0) -> Flaw:
    """Return a flaw of a page: in its file, or where the rule stands if it has the page within."""
    if _has_page_files(pack):
        return Flaw(text, rule.id, str(pack.pages / f"{rule.id}.md"), line)
    return rule_flaw(pack, rule, text)


def _has_page_files(pack: Pack) -> bool:
    return type(pack).page is Pack.page


def _can_fail_to_judge(pack: Pack, rule: Rule) -> bool:
    cases = _readable(pack, rule)
    return cases is not None and any(case.cannot_judge for case in cases.content.cases)


def _readable(pack: Pack, rule: Rule) -> Cases | None:
    try:
        return read_cases(pack, rule.id)
    except CaseError:
        return None


def _coverage(pack: Pack, rule: Rule) -> Iterator[Flaw]:
    path = pack.cases / f"{rule.id}.yaml"
    if not path.exists():
        yield Flaw("the rule has no cases: this file is missing", rule.id, str(path))
        return
    try:
        content = read_cases(pack, rule.id).content
    except CaseError as error:
        yield Flaw(str(error), rule.id, str(path))
        return
    file = str(path)
    if not any(case.finds for case in content.cases):
        yield Flaw(f"{rule.id}: no case that it must catch", rule.id, file)
    if not any(case.passes for case in content.cases):
        yield Flaw(f"{rule.id}: no case that it must let pass", rule.id, file)
    judges_all = not any(case.cannot_judge for case in content.cases)
    if judges_all and not content.always_judges:
        text = f"{rule.id}: no case that it cannot judge, and no `always-judges: true`"
        yield Flaw(text, rule.id, file)


def _source_flaws(pack: Pack) -> Iterator[Flaw]:
    cited: set[str] = set()
    for rule in pack.rules:
        own = {*rule.sources, *(option.source for option in rule.options)}
        cited |= own
        if not rule.sources:
            yield rule_flaw(pack, rule, "cites no source, not even common practice")
        for name in sorted(own - set(pack.sources)):
            yield rule_flaw(pack, rule, f"cites unknown source `{name}`")
    for key, source in pack.sources.items():
        if key not in cited:
            yield Flaw(f"source `{key}` is cited by no rule", "", pack.name)
        for text in _source_problems(key, source):
            yield Flaw(f"source `{key}` {text}", "", pack.name)


def _source_problems(key: str, source: Source) -> Iterator[str]:
    if source.id != key:
        yield f"calls itself `{source.id}`"
    if source.confidence not in CONFIDENCES:
        yield f"does not say how it was read: one of {', '.join(CONFIDENCES)}"
    if not source.text.strip() or TO_WRITE in source.text:
        yield "is still to be written"


def _strays(pack: Pack) -> Iterator[Flaw]:
    if not _has_page_files(pack):
        return  # a pack in one file may share its folder with others
    ids = {rule.id for rule in pack.rules}
    for folder, ending, what in ((pack.pages, ".md", "page"), (pack.cases, ".yaml", "case file")):
        for file in _files(folder, ending):
            if file.stem not in ids:
                yield Flaw(f"this {what} belongs to no rule", "", str(file))


def _files(folder: Path, ending: str) -> list[Path]:
    try:
        return sorted(file for file in folder.iterdir() if file.suffix == ending)
    except OSError:
        return []
