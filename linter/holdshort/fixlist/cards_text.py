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
from holdshort.fixlist.paragraphs import WIDTH, folded
from holdshort.fixlist.plain import plain

BOX: Final = "[ ] "
BLANK: Final = "_" * 24


def render_text(sheet: CardSheet) -> str:
    """Return the cards as text."""
    blocks = [
        [*folded(heading(sheet)), *folded(file_name(sheet))],
        ["Before anything moves", *_listed(sheet.cautions)],
        *(block for group in sheet.groups for block in _group(group)),
        [line for text in left_out(sheet) for line in folded(text)],
        folded(WRITE_BACK),
        folded(CAUTION),
    ]
    return "\n".join("".join(f"{line}\n" for line in block) for block in blocks if block)


def _group(group: CardGroup) -> Iterator[list[str]]:
    title = plain(group.title)
    yield [*folded(title), "=" * min(len(title), WIDTH), *_listed(group.before)]
    for card in group.cards:
        yield _card(card)
    if group.sources:
        sources = tuple(source_words(source) for source in group.sources)
        yield [*folded(f"Sources of these cards: {group.name}"), *_listed(sources)]


def _card(card: BenchCard) -> list[str]:
    found = folded(card.title)
    for caution in card.cautions:
        found += folded(f"WARNING  {caution}", "  ")
    for step in card.do:
        found += folded(step, "  ")
    for line in card.lines:
        found += _line(line)
    for note in card.notes:
        found += folded(note, "  ")
    for source in card.sources:
        found += folded(source_words(source), "  Source: ", "    ")
    return [*found, f"  {observation(card)}"]


def _line(line: CardLine) -> list[str]:
    more = details(line)
    text = f"{subjects(line)}: {line.must or BLANK}{f' ({more})' if more else ''}"
    return folded(text, f"  {BOX}", "      ")


def _listed(texts: tuple[str, ...]) -> list[str]:
    return [line for text in texts for line in folded(text, "  - ", "    ")]
