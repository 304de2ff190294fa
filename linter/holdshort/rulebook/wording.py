"""Small words for messages: lists, counts and plurals."""

from collections.abc import Iterable


def listed(words: Iterable[str], joint: str = "and") -> str:
    """Return ``a, b and c``."""
    items = list(words)
    if len(items) < 2:  # noqa: PLR2004  - a list of one needs no joint
        return "".join(items)
    return f"{', '.join(items[:-1])} {joint} {items[-1]}"


def plural(count: int, one: str, many: str = "") -> str:
    """Return the word for ``count`` things, without the number."""
    return one if count == 1 else many or f"{one}s"


def sentence(text: str) -> str:
    """Return ``text`` with the stop that ends a sentence, unless it has one."""
    return text if text.endswith((".", "?")) else f"{text}."


def counted(count: int, one: str, many: str = "") -> str:
    """Return ``1 servo``, ``3 servos``."""
    return f"{count} {plural(count, one, many)}"
