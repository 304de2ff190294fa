"""Edits that change one place of a file and leave comments and all other text as they are.

Not imported by the package itself: ruamel.yaml is dear to import and only edits need it.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, TypeAlias

from ruamel.yaml import YAML

from holdshort.document.fault import DocumentError
from holdshort.document.limits import Limits
from holdshort.document.place import Path, Span, show_path
from holdshort.document.reader import read_document
from holdshort.document.tree import Document, Node, TreeList, TreeMap

Plain: TypeAlias = "bool | int | float | str | Sequence[Plain] | Mapping[str, Plain] | None"
"""A value to write; mappings have text as keys."""

_LINE_END = re.compile(r"\r\n|\r|\n")
_PLAIN_KEY = re.compile(r"[A-Za-z0-9_][\w.+-]*( [\w.+-]+)*")
_PLAIN_TEXT = re.compile(r"[\w(+-][\w .+()>%/-]*")
_BYTE_ORDER_MARK = "\ufeff"
_ANY_WIDTH = 1 << 30


class OneLine(dict[str, "Plain"]):
    """A mapping to be written in braces on one line, where what is around it stands in lines."""


class EditError(Exception):
    """An edit that cannot be made without changing something else; the text stays as it was."""


class EditableText:
    """The text of one file, edited in place.

    Every edit is read back and compared with the intended tree before it counts.
    DocumentError when the text is no document to begin with.
    """

    def __init__(self, text: str, name: str = "edited text", limits: Limits | None = None) -> None:
        """Read the text."""
        self._limits = limits or Limits()
        self._mark = _BYTE_ORDER_MARK if text.startswith(_BYTE_ORDER_MARK) else ""
        self._name = name
        self._take(text.removeprefix(_BYTE_ORDER_MARK))

    def dump(self) -> str:
        """Return the text as it is now."""
        return self._mark + self._text

    @property
    def document(self) -> Document:
        """The document that the text holds now."""
        return self._document

    def set_value(self, path: Path, value: Plain) -> None:
        """Replace the value at a path; EditError when there is none or it cannot be done."""
        target = self._existing(path)
        value = _plain(value)
        wanted = _plain(self._document.root)
        _put(wanted, path, value)
        start, end = self._offsets(self._document.span_at(path))
        self._commit(self._replacements(path, target, value, start, end), wanted, path)

    def add(self, path: Path, value: Plain, *, flow: bool | None = None) -> None:
        """Add a key to a mapping, or an item behind the last one of a list.

        `flow` asks for brackets (True) or lines (False); by default a new mapping or list is
        written as its neighbour is. EditError when something stands at the path already, its
        parent does not exist, or the edit cannot be made.
        """
        parent = self._existing(path[:-1]) if path else None
        if not isinstance(parent, TreeMap | TreeList) or not _is_free(parent, path[-1]):
            raise EditError(f"Nothing can be added at {show_path(path)}.")
        value = _plain(value)
        wanted = _plain(self._document.root)
        _put(wanted, path, value)
        if flow is False and not parent and path[1:] and not self._in_flow(path[:-2]):
            texts = self._opened(path[:-1], path[-1], value)
        elif self._in_flow(path[:-1]):
            texts = self._flow_additions(parent, path[-1], value)
        else:
            like = self._is_flow(_last_child(parent)) if flow is None else flow
            texts = self._block_additions(parent, path[-1], value, flow=like)
        self._commit(texts, wanted, path)

    def remove(self, path: Path) -> None:
        """Remove the entry at a path; EditError when there is none or it cannot be done."""
        self._existing(path)
        if not path:
            raise EditError("The whole file cannot be removed.")
        parent = self._existing(path[:-1])
        wanted = _plain(self._document.root)
        _drop(wanted, path)
        if isinstance(parent, TreeMap) and len(path) == len(parent) == 1:
            raise EditError("The last key of a file cannot be removed.")
        if self._in_flow(path[:-1]):
            texts = self._flow_removals(path)
        elif isinstance(parent, TreeMap | TreeList) and len(parent) == 1:
            empty: Plain = {} if isinstance(parent, TreeMap) else []
            start, end = self._offsets(parent.span)
            texts = self._replacements(path[:-1], parent, empty, start, end)
        else:
            texts = self._block_removals(path)
        self._commit(texts, wanted, path)

    def split(self, path: Path, entries: Mapping[str, Plain]) -> None:
        """Put several entries in the place of one entry of a mapping, in their order.

        EditError when there is none, when a comment stands within it, or it cannot be done.
        """
        self._existing(path)
        parent = self._existing(path[:-1]) if path else None
        if not isinstance(parent, TreeMap) or not entries:
            raise EditError(f"{show_path(path)} cannot be split.")
        wanted = _plain(self._document.root)
        mapping = wanted
        for step in path[:-1]:
            mapping = mapping[step]
        kept = list(mapping.items())
        mapping.clear()
        for key, value in kept:
            mapping.update(_plain(entries) if key == path[-1] else {key: value})
        self._commit(self._parted(path, parent, entries), wanted, path)

    # -- reading and committing ------------------------------------------------------------

    def _take(self, text: str) -> None:
        self._document = self._read(text)
        self._text = text
        self._starts = [0, *(found.end() for found in _LINE_END.finditer(text))]
        found = _LINE_END.search(text)
        self._newline = found.group() if found else "\n"

    def _read(self, text: str) -> Document:
        return read_document(text.encode("utf-8", "surrogatepass"), self._name, self._limits)

    def _commit(self, texts: Iterator[str], wanted: Plain, path: Path) -> None:
        """Take the first text that holds exactly the intended tree."""
        for text in texts:
            try:
                found = self._read(text)
            except DocumentError:
                continue
            if _same(_plain(found.root), wanted):
                self._take(text)
                return
        raise EditError(f"{show_path(path)} cannot be changed without changing something else.")

    def _existing(self, path: Path) -> Node:
        try:
            return self._document.node_at(path)
        except LookupError:
            raise EditError(f"There is nothing at {show_path(path)}.") from None

    # -- places ----------------------------------------------------------------------------

    def _offset(self, line: int, column: int) -> int:
        return self._starts[line - 1] + column - 1

    def _offsets(self, span: Span) -> tuple[int, int]:
        start = self._offset(span.line, span.column)
        return start, self._offset(span.end_line, span.end_column)

    def _line_end(self, offset: int) -> int:
        """Return the offset behind the line that holds an offset, its line end included."""
        found = _LINE_END.search(self._text, offset)
        return found.end() if found else len(self._text)

    def _line_start(self, offset: int) -> int:
        return max(start for start in self._starts if start <= offset)

    def _is_flow(self, node: Node) -> bool:
        if not isinstance(node, TreeMap | TreeList):
            return False
        start, _ = self._offsets(node.span)
        sign = "{" if isinstance(node, TreeMap) else "["
        return self._text.startswith(sign, start)

    def _in_flow(self, path: Path) -> bool:
        """Tell whether the value at a path stands in brackets, its own or those around it."""
        ends = range(len(path) + 1)
        return any(self._is_flow(self._document.node_at(path[:end])) for end in ends)

    def _entry_start(self, parent: TreeMap | TreeList, step: str | int) -> int:
        """Return the offset of an entry's key or, in a block list, of its dash."""
        if isinstance(parent, TreeMap) and isinstance(step, str):
            return self._offsets(parent.key_spans[step])[0]
        if not isinstance(parent, TreeList) or not isinstance(step, int):
            raise EditError("A key was looked for in a list, or a position in a mapping.")
        start, _ = self._offsets(parent.value_spans[step])
        if self._is_flow(parent):
            return start
        column = parent.span.column
        line = parent.value_spans[step].line
        while not self._text.startswith("-", self._offset(line, column)):
            line -= 1
        return self._offset(line, column)

    def _entry_end(self, parent: TreeMap | TreeList, step: str | int) -> int:
        if isinstance(parent, TreeMap) and isinstance(step, str):
            ends = (parent.key_spans[step], parent.value_spans[step])
            return max(self._offsets(span)[1] for span in ends)
        if isinstance(parent, TreeList) and isinstance(step, int):
            return self._offsets(parent.value_spans[step])[1]
        raise EditError("A key was looked for in a list, or a position in a mapping.")

    def _neighbours(self, path: Path) -> tuple[TreeMap | TreeList, int, list[str | int]]:
        parent = self._existing(path[:-1])
        if not isinstance(parent, TreeMap | TreeList):
            raise EditError(f"There is nothing at {show_path(path)}.")
        steps = _steps(parent)
        return parent, steps.index(path[-1]), steps

    def _indentation(self) -> tuple[int, int]:
        """Return how far mappings and list dashes are indented under their key, here most often."""
        maps: list[int] = []
        lists: list[int] = []
        self._measure(self._document.root, maps, lists)
        return _most_common(maps, 2), _most_common(lists, 2)

    def _measure(self, node: Node, maps: list[int], lists: list[int]) -> None:
        if not isinstance(node, TreeMap | TreeList) or self._is_flow(node):
            return
        for child in node.values() if isinstance(node, TreeMap) else node:
            if isinstance(node, TreeMap) and not self._is_flow(child):
                if isinstance(child, TreeMap):
                    maps.append(child.span.column - node.span.column)
                elif isinstance(child, TreeList):
                    lists.append(child.span.column - node.span.column)
            self._measure(child, maps, lists)

    # -- candidate texts, the best one first -------------------------------------------------

    def _spliced(self, start: int, end: int, new: str) -> str:
        return self._text[:start] + new.replace("\n", self._newline) + self._text[end:]

    def _replacements(
        self, path: Path, target: Node, value: Plain, start: int, end: int
    ) -> Iterator[str]:
        block = isinstance(target, TreeMap | TreeList) and not self._in_flow(path)
        if block and value and isinstance(value, dict if isinstance(target, TreeMap) else list):
            lines = self._render_block(value)
            indent = " " * (self._document.span_at(path).column - 1)
            yield self._spliced(start, end, ("\n" + indent).join(lines))
        new = _render_flow(value)
        if block and path and isinstance(path[-1], str):
            key_end = self._offsets(self._document.key_span_at(path))[1]
            gap = self._text[key_end:start]
            if gap.strip() == ":":
                yield self._spliced(key_end, end, ": " + new)
            colon = key_end + gap.index(":") + 1
            yield self._spliced(colon, end, f" {new}" + self._text[colon:start].rstrip(" "))
        lead = "" if self._text[:start].endswith((" ", "\n", "\r", "[", "{")) else " "
        yield self._spliced(start, end, lead + new)
        yield self._spliced(start, end, ": " + new)

    def _flow_additions(
        self, parent: TreeMap | TreeList, step: str | int, value: Plain
    ) -> Iterator[str]:
        new = _render_flow(value)
        if isinstance(step, str):
            new = f"{_render_key(step)}: {new}"
        steps = _steps(parent)
        if steps:
            place = self._entry_end(parent, steps[-1])
            new = ", " + new
        else:
            place = self._offsets(parent.span)[0] + 1
        yield self._spliced(place, place, new)
        # One pair in a list may stand without braces of its own.
        start, end = self._offsets(parent.span)
        yield self._spliced(start, end, "{" + self._text[start:end] + new + "}")

    def _block_additions(
        self, parent: TreeMap | TreeList, step: str | int, value: Plain, *, flow: bool
    ) -> Iterator[str]:
        indent = " " * (parent.span.column - 1)
        lines = self._render_entry(step, value, flow=flow)
        new = "".join(f"{indent}{line}\n" for line in lines)
        place = self._line_end(self._entry_end(parent, _steps(parent)[-1]))
        while True:
            lead = "" if self._text[:place].endswith(("\n", "\r")) else "\n"
            yield self._spliced(place, place, lead + new)
            # A block text that keeps its blank lines ends behind them.
            behind = self._line_end(place)
            if behind == place or self._text[place:behind].strip():
                return
            place = behind

    def _opened(self, path: Path, step: str | int, value: Plain) -> Iterator[str]:
        """Yield the text in which the empty brackets at a path have become lines with one entry."""
        start, end = self._offsets(self._document.span_at(path))
        mapping, offset = self._indentation()
        margin = self._document.span_at(path[:-1]).column - 1
        indent = " " * (margin + (mapping if isinstance(step, str) else offset))
        behind = self._line_end(end)
        line = self._text[:start].rstrip(" ") + self._text[end:behind]
        lead = "" if line.endswith(("\n", "\r")) else self._newline
        new = "".join(f"{indent}{text}\n" for text in self._render_entry(step, value, flow=False))
        yield line + lead + new.replace("\n", self._newline) + self._text[behind:]

    def _flow_removals(self, path: Path) -> Iterator[str]:
        parent, index, steps = self._neighbours(path)
        start = self._entry_start(parent, steps[index])
        end = self._entry_end(parent, steps[index])
        if index + 1 < len(steps):
            behind = self._entry_start(parent, steps[index + 1])
            comma = self._text.find(",", end, behind)
            if "#" not in self._text[end:behind]:
                yield self._spliced(start, behind, "")
            if comma >= 0:
                yield self._spliced(start, comma + 1, "")
        elif index:
            before = self._entry_end(parent, steps[index - 1])
            if "#" not in self._text[before:start]:
                yield self._spliced(before, end, "")
        yield self._spliced(start, end, "")
        comma = self._text.find(",", end)
        if comma >= 0:
            yield self._spliced(start, comma + 1, "")
        yield self._spliced(start, end, "{}")

    def _parted(self, path: Path, parent: TreeMap, entries: Mapping[str, Plain]) -> Iterator[str]:
        start, end = self._entry_start(parent, path[-1]), self._entry_end(parent, path[-1])
        if len(entries) == 1:  # perhaps under another key only: what it holds stays as written
            key_start, key_end = self._offsets(self._document.key_span_at(path))
            yield self._spliced(key_start, key_end, _render_key(next(iter(entries))))
        if "#" in self._text[start:end]:
            return  # it may begin a comment, which would be lost
        written = [f"{_render_key(key)}: {_render_flow(value)}" for key, value in entries.items()]
        gap = "\n" + " " * (parent.span.column - 1)
        yield self._spliced(start, end, (", " if self._in_flow(path[:-1]) else gap).join(written))

    def _block_removals(self, path: Path) -> Iterator[str]:
        parent, index, steps = self._neighbours(path)
        start = self._entry_start(parent, steps[index])
        end = self._line_end(self._entry_end(parent, steps[index]))
        line = self._line_start(start)
        before = self._text[line:start]
        if before.strip() in {"", "?"}:
            yield self._spliced(line, end, "")
        if index + 1 < len(steps):
            yield self._spliced(start, self._entry_start(parent, steps[index + 1]), "")

    # -- rendering -------------------------------------------------------------------------

    def _render_block(self, value: Plain) -> list[str]:
        mapping, offset = self._indentation()
        text = _dump(value, flow=False, mapping=mapping, offset=offset)
        lines = text.rstrip("\n").split("\n")
        # At the root ruamel indents a list by its offset too.
        cut = offset if isinstance(value, list) else 0
        return [line[cut:] if line[:cut].isspace() else line for line in lines]

    def _render_entry(self, step: str | int, value: Plain, *, flow: bool) -> list[str]:
        several = isinstance(value, dict | list) and not isinstance(value, OneLine)
        lined = bool(value) and several and not flow
        if isinstance(step, int):
            return self._render_block([value]) if lined else [f"- {_render_flow(value)}"]
        if not lined:
            return [f"{_render_key(step)}: {_render_flow(value)}"]
        mapping, offset = self._indentation()
        indent = " " * (mapping if isinstance(value, dict) else offset)
        return [f"{_render_key(step)}:", *(indent + line for line in self._render_block(value))]


def _dump(value: Plain, *, flow: bool, mapping: int = 2, offset: int = 0) -> str:
    """Write a value with ruamel.yaml, in brackets or in lines."""
    yaml: Any = YAML(typ="safe", pure=True)
    yaml.default_flow_style = flow
    yaml.allow_unicode = True
    yaml.width = _ANY_WIDTH
    yaml.brace_single_entry_mapping_in_flow_sequence = True
    yaml.sort_base_mapping_type_on_output = False
    yaml.indent(mapping=mapping, sequence=offset + 2, offset=offset)
    yaml.representer.ignore_aliases = _never_an_alias
    yaml.representer.add_representer(OneLine, _in_braces)
    stream = io.StringIO()
    yaml.dump(value, stream)
    return stream.getvalue()


def _never_an_alias(data: object) -> bool:  # noqa: ARG001 - ruamel asks with the value
    return True


def _in_braces(representer: Any, data: OneLine) -> Any:
    node = representer.represent_mapping("tag:yaml.org,2002:map", data, flow_style=True)
    for scalar in (one for pair in node.value for one in pair):
        # Between braces readers differ on what may stand without quotes.
        if scalar.tag == "tag:yaml.org,2002:str" and not _PLAIN_TEXT.fullmatch(scalar.value):
            scalar.style = '"'
    return node


def _render_flow(value: Plain) -> str:
    """Write a value on one line, so that it may stand between brackets too."""
    return _dump([value], flow=True).strip()[1:-1]


def _render_key(key: str) -> str:
    return key if _PLAIN_KEY.fullmatch(key) else _render_flow(key)


def _plain(node: Plain | Node) -> Any:
    """Return a copy of a tree in dicts and lists."""
    if isinstance(node, Mapping):
        plain = {key: _plain(value) for key, value in node.items()}
        return OneLine(plain) if isinstance(node, OneLine) else plain
    if isinstance(node, Sequence) and not isinstance(node, str):
        return [_plain(value) for value in node]
    return node


def _same(left: Plain, right: Plain) -> bool:
    """Tell whether two trees are equal in types, values and order: 1, 1.0 and True differ."""
    return repr(left) == repr(right)


def _put(tree: Any, path: Path, value: Plain) -> None:
    if not path:
        raise EditError("The whole file cannot be replaced.")
    for step in path[:-1]:
        tree = tree[step]
    if path[-1] == len(tree):
        tree.append(None)
    tree[path[-1]] = value


def _drop(tree: Any, path: Path) -> None:
    for step in path[:-1]:
        tree = tree[step]
    del tree[path[-1]]


def _steps(parent: TreeMap | TreeList) -> list[str | int]:
    return list(parent) if isinstance(parent, TreeMap) else list(range(len(parent)))


def _is_free(parent: TreeMap | TreeList, step: str | int) -> bool:
    if isinstance(parent, TreeMap):
        return isinstance(step, str) and step not in parent
    return step == len(parent)


def _last_child(parent: TreeMap | TreeList) -> Node:
    children = list(parent.values()) if isinstance(parent, TreeMap) else list(parent)
    return children[-1] if children else None


def _most_common(widths: list[int], otherwise: int) -> int:
    return max(widths, key=widths.count) if widths else otherwise
