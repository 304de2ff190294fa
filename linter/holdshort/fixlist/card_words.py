"""What bench cards say in every form: how results are written back, and the last caution."""

from typing import Final

from holdshort.analysis.bench_cards import BenchCard, CardLine, CardSheet, CardSource
from holdshort.fixlist.plain import plain
from holdshort.rulebook.wording import listed

CAUTION: Final = (
    "A ticked card tells what was seen that day, and nothing of whether the aircraft may fly. "
    "Directions come from where each surface sits; wrong sides and wrong names in the setup file "
    "make wrong cards."
)
WRITE_BACK: Final = (
    "When a card is done, add its last line to the setup file under `observations:`, with the day "
    "and your name. Where it was not as it must be, write `seen: reversed`, `seen: nothing` or "
    "`seen: something else` instead."
)


def heading(sheet: CardSheet) -> str:
    """Return the title of the whole sheet."""
    return plain(f"Bench cards of {sheet.aircraft or file_name(sheet)}")


def file_name(sheet: CardSheet) -> str:
    """Return how the setup file is called."""
    return "standard input" if sheet.file == "-" else plain(sheet.file)


def subjects(line: CardLine) -> str:
    """Return the things that a line is about, in words."""
    return plain(listed(line.subjects))


def details(line: CardLine) -> str:
    """Return what is not declared about a line and what else is to be said, or nothing."""
    told = [f"not declared: {line.lacks}" if line.lacks else "", line.note]
    return plain("; ".join(text for text in told if text))


def source_words(source: CardSource) -> str:
    """Return a source with how it was read."""
    return plain(f"{source.text} ({source.confidence})")


def left_out(sheet: CardSheet) -> tuple[str, ...]:
    """Return a sentence for all that there are no cards for, and for what was not read."""
    found = [f"No cards for {item.cards}: {item.why}." for item in sheet.left_out]
    if sheet.unread:
        named = listed(f"`{name}`" for name in sheet.unread)
        found.append(f"Not read, because of mistakes of form, and left out of all cards: {named}.")
    return tuple(plain(text) for text in found)


def observation(card: BenchCard) -> str:
    """Return the line to add to the setup file."""
    return plain(card.observation)
