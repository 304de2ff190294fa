"""What the codes say about loss of signal, in the words that bench cards repeat."""

from collections.abc import Iterator
from typing import Final

from holdshort.api import CodeLine, CodeWords
from holdshort_rules.codes import ANY_ENGINE, CODES, Code
from holdshort_rules.sources import SOURCES

_GLIDERS_TOO: Final[frozenset[str]] = ANY_ENGINE | {"none"}


def _lines(code: Code) -> Iterator[CodeLine]:
    for action in code.actions:
        words = f"on loss of signal: {action.words}; stopping the engine is enough"
        yield _line(words, action.engines, action.source)
    for limit in code.limits:
        words = f"the engine must have acted within {limit.seconds:g} s of {limit.clock}"
        yield _line(words, limit.engines, limit.source)._replace(
            seconds=limit.seconds, clock=limit.clock
        )
    if code.surfaces is not None:
        yield _line(code.surfaces.words, _GLIDERS_TOO, code.surfaces.source)
    for gap in code.gaps:
        if gap.subject != "compulsory":
            words = f"{_GAPS[gap.subject]} not known: {gap.words}"
            yield CodeLine(words, frozenset(gap.engines), "", "")


_GAPS: Final = {"action": "its demands on the engine are", "time": "its time limit is"}


def _line(words: str, engines: frozenset[str], source: str) -> CodeLine:
    found = SOURCES[source]
    return CodeLine(words, engines, found.text, found.confidence)


CODE_WORDS: Final = tuple(
    CodeWords(code.id, code.title, tuple(_lines(code))) for code in CODES.values()
)
