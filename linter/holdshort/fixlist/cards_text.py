"""Bench cards as text: to read from a terminal, or to print plainly.

All text passes through :func:`~holdshort.fixlist.plain.plain`. Lines have at most :data:`WIDTH`
columns, but for the entry to copy into the setup file: breaking that would spoil it.
"""

from collections.abc import Iterator
from typing import Final

from holdshort.analysis.bench_cards import BenchCard, CardGroup, CardLine, CardSheet
from holdshort.fixlist.card_words import (
    CAUTION,
    WRITE_BACK,
    details,
    file_name,
    heading,
    left_out,
    observation,
    source_words,
    subjects,
)
from holdshort.fixlist.plain import plain, wrap

WIDTH: Final = 88
BOX: Final = "[ ] "
BLANK: Final = "_" * 24


def render_text(sheet: CardSheet) -> str:
    """Return the cards as text."""
    blocks = [
        [*_paragraph(heading(sheet)), *_paragraph(file_name(sheet))],
        ["Before anything moves", *_listed(sheet.cautions)],
        *(block for group in sheet.groups for block in _group(group)),
        [line for text in left_out(sheet) for line in _paragraph(text)],
        _paragraph(WRITE_BACK),
        _paragraph(CAUTION),
    ]
    return "\n".join("".join(f"{line}\n" for line in block) for block in blocks if block)


def _group(group: CardGroup) -> Iterator[list[str]]:
    title = plain(group.title)
    yield [*_paragraph(title), "=" * min(len(title), WIDTH), *_listed(group.before)]
    for card in group.cards:
        yield _card(card)
    if group.sources:
        sources = tuple(source_words(source) for source in group.sources)
        yield [*_paragraph(f"Sources of these cards: {group.name}"), *_listed(sources)]


def _card(card: BenchCard) -> list[str]:
    found = _paragraph(card.title)
    for caution in card.cautions:
        found += _hung("  ", "  ", f"WARNING  {caution}")
    for step in card.do:
        found += _hung("  ", "  ", step)
    for line in card.lines:
        found += _line(line)
    for note in card.notes:
        found += _hung("  ", "  ", note)
    for source in card.sources:
        found += _hung("  Source: ", "    ", source_words(source))
    return [*found, f"  {observation(card)}"]


def _line(line: CardLine) -> list[str]:
    more = details(line)
    text = f"{subjects(line)}: {line.must or BLANK}{f' ({more})' if more else ''}"
    return _hung(f"  {BOX}", "      ", text)


def _listed(texts: tuple[str, ...]) -> list[str]:
    return [line for text in texts for line in _hung("  - ", "    ", text)]


def _paragraph(text: str) -> list[str]:
    return _hung("", "", text)


def _hung(first: str, rest: str, text: str) -> list[str]:
    """Break ``text`` behind an indent of ``first``, and ``rest`` for the lines after it."""
    broken = list(_broken(plain(text), WIDTH - max(len(first), len(rest))))
    return [f"{first if at == 0 else rest}{line}" for at, line in enumerate(broken)]


def _broken(text: str, width: int) -> Iterator[str]:
    """Break ``text`` at spaces, and words longer than a line anywhere."""
    for line in wrap(text, width):
        for start in range(0, max(len(line), 1), width):
            yield line[start : start + width]
