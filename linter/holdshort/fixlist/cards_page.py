"""Bench cards as one page: to print on A4, or to tick on a phone at the bench.

The page needs nothing else: no script, no picture, no other file, and its own policy forbids them.
Every text is escaped by the template engine, after :func:`~holdshort.fixlist.plain.plain`.
"""

from collections.abc import Iterator
from typing import Any, Final

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
from holdshort.fixlist.html_page import content_hash, environment, own
from holdshort.fixlist.plain import plain

_ROOM: Final = 20
"""Rows of lines that one card on paper has room for beside its other text."""
_CHARACTERS: Final = 76
"""Characters in a row, at most."""


def render_page(sheet: CardSheet) -> str:
    """Return the cards as one HTML page."""
    style = own("cards.css")
    template = environment().get_template("cards.html.jinja")
    text: str = template.render(
        heading=heading(sheet),
        file=file_name(sheet),
        style=style,
        style_hash=content_hash(style),
        cautions=_plain(sheet.cautions),
        write_back=WRITE_BACK,
        left_out=left_out(sheet),
        groups=card_groups(sheet),
        caution=CAUTION,
    )
    return text + "\n"


def card_groups(sheet: CardSheet) -> list[dict[str, Any]]:
    """Return the groups of cards as the template wants them, each card on one sheet of paper."""
    return [_group(group) for group in sheet.groups]


def _plain(texts: tuple[str, ...]) -> list[str]:
    return [plain(text) for text in texts]


def _group(group: CardGroup) -> dict[str, Any]:
    return {
        "title": plain(group.title),
        "before": _plain(group.before),
        "cards": [part for card in group.cards for part in _card(card)],
        "sources": [source_words(source) for source in group.sources],
    }


def _card(card: BenchCard) -> Iterator[dict[str, Any]]:
    """Yield a card, in as many parts as fit on a sheet of paper each."""
    parts = list(_parts(card.lines))
    for at, lines in enumerate(parts):
        first, last = at == 0, at == len(parts) - 1
        more = "" if len(parts) == 1 else f" ({at + 1} of {len(parts)})"
        yield {
            "title": plain(card.title) + more,
            "cautions": _plain(card.cautions),
            "do": _plain(card.do) if first else [],
            "lines": [
                {"subjects": subjects(line), "must": plain(line.must), "details": details(line)}
                for line in lines
            ],
            "notes": _plain(card.notes) if last else [],
            "sources": [source_words(source) for source in card.sources] if last else [],
            "observation": observation(card) if last else "",
        }


def _parts(lines: tuple[CardLine, ...]) -> Iterator[list[CardLine]]:
    part: list[CardLine] = []
    used = 0
    for line in lines:
        rows = _rows(line)
        if part and used + rows > _ROOM:
            yield part
            part, used = [], 0
        part.append(line)
        used += rows
    yield part


def _rows(line: CardLine) -> int:
    size = len(subjects(line)) + len(line.must) + len(details(line))
    return 1 + size // _CHARACTERS + (0 if line.must else 1)
