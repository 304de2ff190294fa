"""A tree of facts in the making: each fact with the place it came from, each gap with its needs."""

import re
from collections.abc import Iterable, Mapping
from typing import Any, Final, cast

from holdshort.analysis.declared_tree import figure
from holdshort.analysis.facts import Need
from holdshort.document import Path
from holdshort.setup import Place, Setup

_ESCAPES: Final = {
    "\b": "\\b", "\t": "\\t", "\n": "\\n", "\f": "\\f", "\r": "\\r", "'": "\\'", "\\": "\\\\",
}  # fmt: skip
_LETTERS: Final = {escape[1]: character for character, escape in _ESCAPES.items()}
_STEP: Final = re.compile(r"\[(?:([0-9]+)|'((?:[^'\\]|\\.)*)')\]", re.DOTALL)
_ESCAPE: Final = re.compile(r"\\(?:([btnfr'\\])|u([0-9a-f]{4}))")
_FIRST_PRINTABLE: Final = " "

SETUP: Final = "setup"
"""The key under which the setup stands as declared, at the paths that it has in its file."""


def normalised_path(path: Path) -> str:
    """Write a path as a Normalized Path of JSONPath: ``$['computed']['packs']['main']``.

    RFC 9535 section 2.7: names in single quotes, control characters escaped, indices plain.
    """
    return "$" + "".join(
        f"[{step}]" if isinstance(step, int) else f"['{_escaped(step)}']" for step in path
    )


def path_of(normalised: str) -> Path:
    """Return the path that a Normalized Path stands for. Raises ValueError for anything else."""
    steps: list[str | int] = []
    at = 1
    while at < len(normalised):
        found = _STEP.match(normalised, at)
        if found is None:
            raise ValueError(normalised)
        index, name = found.groups()
        steps.append(int(index) if index is not None else _ESCAPE.sub(_unescaped, name))
        at = found.end()
    if normalised[:1] != "$":
        raise ValueError(normalised)
    return tuple(steps)


def _unescaped(found: re.Match[str]) -> str:
    letter, code = found.groups()
    return _LETTERS[letter] if letter else chr(int(code, 16))


def _escaped(name: str) -> str:
    return "".join(_ESCAPES.get(character) or _code(character) for character in name)


def _code(character: str) -> str:
    return character if character >= _FIRST_PRINTABLE else f"\\u{ord(character):04x}"


class FactBook:
    """Facts by path, below a root of their own.

    A fact that is not known is absent; :meth:`lack` says what is needed to know it.
    """

    def __init__(self, setup: Setup) -> None:
        """Start empty."""
        self.setup = setup
        self.tree: dict[str, Any] = {}
        self.places: dict[Path, Place] = {}
        self.gaps: dict[Path, dict[Need, None]] = {}

    def put(self, path: Path, value: object, place: Place) -> None:
        """Note a fact that came from ``place``; None is no fact.

        A mapping is added to what is known there already.
        """
        if value is None:
            return
        home: dict[str, Any] = self._home(path[:-1])
        last, tidy = str(path[-1]), _tidy(value)
        known: object = home.get(last)
        if isinstance(known, dict) and isinstance(tidy, dict):
            cast("dict[str, Any]", known).update(cast("dict[str, Any]", tidy))
        else:
            home[last] = tidy
        self.places.setdefault(path, place)

    def declare(self, path: Path, value: object, place: Place, words: str) -> None:
        """Note a declared fact, or that it is not declared: ``words`` say what it would be."""
        if value is None:
            need = Need(place, words)
            self.lack(path, [need], need)
        else:
            self.put(path, value, place)

    def add(self, path: Path, value: object, place: Place) -> Path:
        """Add a fact to the list at ``path``, and return the path it got."""
        home = self._home(path[:-1])
        items = home.setdefault(path[-1], [])
        items.append(_tidy(value))
        added = (*path, len(items) - 1)
        self.places[added] = place
        return added

    def lack(self, path: Path, needs: Iterable[Need], otherwise: Need) -> None:
        """Note that the fact at ``path`` is not known, and what is missing to know it."""
        self._home(path[:-1])
        found = dict.fromkeys(needs) or {otherwise: None}
        self.gaps.setdefault(path, {}).update(found)

    def _home(self, path: Path) -> Any:
        """Return what stands at ``path``, made where it is not there yet."""
        node: Any = self.tree
        for step in path:
            node = node[step] if isinstance(step, int) else node.setdefault(step, {})
        return node

    def missing(self) -> list[dict[str, Any]]:
        """Return what is not known: where it would stand, what is needed, and where to say it."""
        return [self._missing(path, needs) for path, needs in self.gaps.items()]

    def _missing(self, path: Path, needs: Mapping[Need, None]) -> dict[str, Any]:
        first = next(iter(needs)).place
        return {
            "path": normalised_path(path),
            "needs": list(dict.fromkeys(need.text for need in needs)),
            "file": first.file,
            "line": self.setup.span(first).line,
        }

    def origins(self) -> dict[str, Place]:
        """Return the place of every node of the tree, by its normalised path.

        What has no place of its own has that of what it stands in.
        """
        found: dict[str, Place] = {}
        queue: list[tuple[Path, Any, Place]] = [((), self.tree, self.setup.place())]
        for path, node, inherited in queue:
            place = self._place(path, inherited)
            found[normalised_path(path)] = place
            if isinstance(node, dict):
                for key, value in cast("dict[str, Any]", node).items():
                    queue.append(((*path, key), value, place))
            elif isinstance(node, list):
                for index, value in enumerate(cast("list[object]", node)):
                    queue.append(((*path, index), value, place))
        for path, needs in self.gaps.items():
            found[normalised_path(path)] = next(iter(needs)).place
        return found

    def _place(self, path: Path, inherited: Place) -> Place:
        if path[:1] == (SETUP,):
            return self.setup.place(*path[1:])
        return self.places.get(path, inherited)


def _tidy(value: Any) -> Any:
    """Return plain data: figures without noise, and nothing where nothing is known."""
    if isinstance(value, dict):
        fields = cast("dict[object, Any]", value)
        return {str(key): _tidy(item) for key, item in fields.items() if item is not None}
    if isinstance(value, list | tuple):
        return [_tidy(item) for item in cast("Iterable[Any]", value)]
    return figure(value) if isinstance(value, float) else value
