"""The page of a rule, taken apart into what a page in HTML can show without a Markdown library.

Pages are short: a title, paragraphs with bold beginnings and code in back ticks, now and then a
list. Anything else is shown as it was written.
"""

from collections.abc import Iterator
from typing import Final, NamedTuple

from holdshort.rulebook import Pack, Rule

_BULLET: Final = ("- ", "* ")
_AS_WRITTEN: Final = ("|", "```", "    ")


class PageBlock(NamedTuple):
    """One paragraph (``lead`` is its bold beginning), list or piece shown as it was written."""

    form: str
    lead: str = ""
    texts: tuple[str, ...] = ()


def page_blocks(pack: Pack, rule: Rule) -> tuple[PageBlock, ...]:
    """Return the page of ``rule`` without its title; nothing where it has none."""
    try:
        page = pack.page(rule.id)
    except (OSError, ValueError):
        return ()
    return tuple(_blocks(page))


def _blocks(page: str) -> Iterator[PageBlock]:
    for block in page.replace("\r\n", "\n").split("\n\n"):
        lines = [line for line in block.split("\n") if line.strip()]
        if lines and lines[0].startswith("# "):
            lines = lines[1:]
        if not lines:
            continue
        if lines[0].startswith(_AS_WRITTEN):
            yield PageBlock("written", texts=tuple(lines))
        else:
            yield from _text_and_list(lines)


def _text_and_list(lines: list[str]) -> Iterator[PageBlock]:
    """Yield the paragraph and the list that lines hold; either may be missing."""
    starts = (at for at, line in enumerate(lines) if line.startswith(_BULLET))
    first = next(starts, len(lines))
    if first:
        yield _paragraph(" ".join(line.strip() for line in lines[:first]))
    if first < len(lines):
        yield PageBlock("list", texts=tuple(_items(lines[first:])))


def _items(lines: list[str]) -> Iterator[str]:
    """Yield the items of a list, each with the lines it runs on to."""
    item = ""
    for line in lines:
        if line.startswith(_BULLET):
            if item:
                yield _unbold(item)
            item = line[2:].strip()
        else:
            item = f"{item} {line.strip()}"
    yield _unbold(item)


def _paragraph(text: str) -> PageBlock:
    if text.startswith("#"):
        return PageBlock("paragraph", lead=text.lstrip("#").strip(), texts=("",))
    first, _, rest = text.partition("**")
    if first or "**" not in rest:
        return PageBlock("paragraph", texts=(_unbold(text),))
    lead, _, after = rest.partition("**")
    return PageBlock("paragraph", lead=lead, texts=(_unbold(after.strip()),))


def _unbold(text: str) -> str:
    return text.replace("**", "")
