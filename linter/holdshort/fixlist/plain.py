"""Text that is safe and readable on any terminal: no hidden characters, wrapped lines."""

from collections.abc import Iterator
from typing import Final

_BYTE: Final = 0x100
_PLANE: Final = 0x10000


def plain(text: str) -> str:
    r"""Return ``text`` as one line, with every character that cannot be seen written out.

    Control characters, escape sequences, line ends, characters that reorder text and spaces
    other than the ordinary one become ``\x1b``, ``\u202e`` and the like.
    """
    if text.isprintable():
        return text
    return "".join(
        character if character.isprintable() else _written_out(character) for character in text
    )


def _written_out(character: str) -> str:
    code = ord(character)
    if character in "\n\r\t":
        return {"\n": r"\n", "\r": r"\r", "\t": r"\t"}[character]
    if code < _BYTE:
        return f"\\x{code:02x}"
    return f"\\u{code:04x}" if code < _PLANE else f"\\U{code:08x}"


def wrap(text: str, width: int) -> Iterator[str]:
    """Break ``text`` at spaces into lines of at most ``width``; longer words stay whole."""
    line, *words = text.split(" ")
    for word in words:
        if line.strip() and len(line) + 1 + len(word) > width:
            yield line.rstrip()
            line = word
        else:
            line = f"{line} {word}"
    yield line.rstrip()
