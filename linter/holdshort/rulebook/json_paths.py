"""JSONPath (RFC 9535) over facts, bounded in length, nesting, nodes and work.

This module needs the optional extra ``club``.
"""

from collections.abc import Iterator
from functools import lru_cache
from typing import Any, Final, cast

from jsonpath_rfc9535 import JSONPathEnvironment, JSONPathNode, JSONPathQuery
from jsonpath_rfc9535.filter_expressions import FunctionExtension, StringLiteral
from jsonpath_rfc9535.function_extensions import ExpressionType, FilterFunction

from holdshort.rulebook.bounded_patterns import (
    PatternError,
    compiled_iregexp,
    matches,
    searches,
)
from holdshort.rulebook.work_meter import Meter, TooMuchWorkError

LONGEST_QUERY: Final = 1000
DEEPEST_QUERY: Final = 20
MOST_NODES: Final = 10_000

_OPEN: Final = frozenset("[(")
_CLOSE: Final = frozenset("])")
_PARTS: Final = ("segments", "selectors", "expression", "left", "right", "args", "query")


class QueryError(ValueError):
    """A query that cannot be read; the text says why."""


class _Regular(FilterFunction):
    """``match()`` or ``search()`` with an engine that cannot run for long."""

    @property
    def arg_types(self) -> list[ExpressionType]:
        """A text and an expression."""
        return [ExpressionType.VALUE, ExpressionType.VALUE]

    @property
    def return_type(self) -> ExpressionType:
        """Yes or no."""
        return ExpressionType.LOGICAL

    def __init__(self, meter: Meter, *, whole: bool) -> None:
        """Take what counts the work, and whether the whole text has to match."""
        self._meter = meter
        self._run = matches if whole else searches

    def __call__(self, text: object, pattern: object) -> bool:
        """Return False for what is no text or no I-Regexp: RFC 9535 sections 2.4.6 and 2.4.7."""
        if not isinstance(text, str) or not isinstance(pattern, str):
            return False
        expression = _cached(pattern)
        return expression is not None and self._run(expression, text, self._meter)


@lru_cache(maxsize=128)
def _cached(pattern: str) -> Any:
    try:
        return compiled_iregexp(pattern)
    except PatternError:
        return None


class Paths(JSONPathEnvironment):
    """Reads and runs queries; ``meter`` counts their work."""

    def __init__(self, meter: Meter) -> None:
        """Take the meter that the data were counted with."""
        self.meter = meter
        super().__init__()

    def setup_function_extensions(self) -> None:
        """Put bounded functions in the place of those that can run for ever."""
        super().setup_function_extensions()
        self.function_extensions["match"] = _Regular(self.meter, whole=True)
        self.function_extensions["search"] = _Regular(self.meter, whole=False)

    def read(self, text: str) -> JSONPathQuery:
        """Read a query. Raises QueryError."""
        if len(text) > LONGEST_QUERY:
            raise QueryError(f"it has more than {LONGEST_QUERY} characters")
        if _depth(text) > DEEPEST_QUERY:
            raise QueryError(f"brackets stand more than {DEEPEST_QUERY} deep in each other")
        try:
            query = self.compile(text)
        except RecursionError:
            raise QueryError("it stands too deep in itself") from None
        except Exception as error:
            raise QueryError(str(error) or type(error).__name__) from error
        for pattern in _patterns(query):
            try:
                compiled_iregexp(pattern)
            except PatternError as error:
                raise QueryError(f"the expression {pattern!r}: {error}") from None
        return query

    def pick(self, query: JSONPathQuery, root: Any) -> list[JSONPathNode]:
        """Return the nodes that a query selects. Raises TooMuchWorkError."""
        found: list[JSONPathNode] = []
        for node in query.finditer(root):
            if len(found) == MOST_NODES:
                raise TooMuchWorkError(f"picks more than {MOST_NODES:,} facts")
            self.meter.spend()
            found.append(node)
        return found


def _depth(text: str) -> int:
    """Return how deep brackets stand in each other, those inside quotes left out."""
    depth = deepest = 0
    quote = ""
    characters = iter(text)
    for character in characters:
        if quote:
            if character == "\\":
                next(characters, None)
            elif character == quote:
                quote = ""
        elif character in "'\"":
            quote = character
        elif character in _OPEN:
            depth += 1
            deepest = max(deepest, depth)
        elif character in _CLOSE:
            depth -= 1
    return deepest


def _patterns(query: JSONPathQuery) -> Iterator[str]:
    """Yield the regular expressions that are written out in a query."""
    queue: list[Any] = [query]
    for item in queue:
        if isinstance(item, list | tuple):
            queue += cast("list[Any]", item)
            continue
        if isinstance(item, FunctionExtension) and item.name in {"match", "search"}:
            for argument in item.args[1:]:
                if isinstance(argument, StringLiteral):
                    yield argument.value
        queue += [getattr(item, part) for part in _PARTS if hasattr(item, part)]
