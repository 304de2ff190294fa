"""What a published code says about loss of signal, in words that a rule pack provides.

The engine holds no code. A pack that knows codes offers them in this form, and bench cards repeat
them beside what the aircraft declares.
"""

from collections.abc import Iterable, Iterator
from typing import NamedTuple


class CodeLine(NamedTuple):
    """One thing that a code asks of aircraft with these engines (``propulsion``), in words.

    ``source`` is empty where the line says what was looked for and not found. ``seconds`` is set
    where it is a limit of time, from ``clock``: ``loss of signal`` or ``failsafe activation``.
    """

    words: str
    engines: frozenset[str]
    source: str
    confidence: str
    seconds: float | None = None
    clock: str = ""


class CodeWords(NamedTuple):
    """One code: its name under ``follows``, how it is called, and what it asks."""

    id: str
    title: str
    lines: tuple[CodeLine, ...]


class CodeSaying(NamedTuple):
    """One line of a code that an aircraft follows, with the title of the code."""

    title: str
    line: CodeLine


def sayings(
    known: Iterable[CodeWords], follows: Iterable[str], propulsion: str | None
) -> Iterator[CodeSaying]:
    """Yield what the followed codes ask of an aircraft with this propulsion.

    Where the propulsion is not declared, everything that they ask of any engine.
    """
    by_id: dict[str, list[CodeWords]] = {}
    for code in known:
        by_id.setdefault(code.id, []).append(code)
    for name in follows:
        for code in by_id.get(name, ()):
            for line in code.lines:
                if propulsion is None or propulsion in line.engines:
                    yield CodeSaying(code.title, line)


def unknown_codes(known: Iterable[CodeWords], follows: Iterable[str]) -> tuple[str, ...]:
    """Return the followed codes of which no pack says anything."""
    told = {code.id for code in known}
    return tuple(name for name in follows if name not in told)
