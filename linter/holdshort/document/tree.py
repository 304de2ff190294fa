"""The tree that a file holds: ordinary mappings and lists that know their places."""

from __future__ import annotations

from typing import NamedTuple, TypeAlias

from holdshort.document.place import Path, Span

Node: TypeAlias = "bool | int | float | str | TreeMap | TreeList | None"


class TreeMap(dict[str, Node]):
    """A mapping: keys are text as written; spans of itself, its keys and its values.

    `written` holds the text of the plain values that were read as something other than text
    (`017`, which is the number 17), and of no others.
    """

    __slots__ = ("key_spans", "span", "value_spans", "written")

    def __init__(self, span: Span) -> None:
        """Start empty."""
        super().__init__()
        self.span = span
        self.key_spans: dict[str, Span] = {}
        self.value_spans: dict[str, Span] = {}
        self.written: dict[str, str] = {}


class TreeList(list[Node]):
    """A list: spans of itself and its items; `written` as in `TreeMap`, by position."""

    __slots__ = ("span", "value_spans", "written")

    def __init__(self, span: Span) -> None:
        """Start empty."""
        super().__init__()
        self.span = span
        self.value_spans: list[Span] = []
        self.written: dict[int, str] = {}


class Document(NamedTuple):
    """One file as a tree; `name` is how the file is shown to people."""

    name: str
    root: TreeMap

    def node_at(self, path: Path) -> Node:
        """Return the value at a path; LookupError when the document has none there."""
        node: Node = self.root
        for step in path:
            if not _leads_on(node, step):
                raise LookupError(path)
            node = _child(node, step)
        return node

    def span_at(self, path: Path) -> Span:
        """Return the span of the value at a path, or of the nearest ancestor there is."""
        parent, step = self._nearest(path)
        if isinstance(parent, TreeMap) and isinstance(step, str):
            return parent.value_spans[step]
        if isinstance(parent, TreeList) and isinstance(step, int):
            return parent.value_spans[step]
        return self.root.span

    def key_span_at(self, path: Path) -> Span:
        """Return the span of the key that leads to a path (of the item itself in a list).

        Where the path is absent: that of the nearest ancestor there is.
        """
        parent, step = self._nearest(path)
        if isinstance(parent, TreeMap) and isinstance(step, str):
            return parent.key_spans[step]
        return self.span_at(path)

    def written_at(self, path: Path) -> str | None:
        """Return how a plain value that is not text was written (`017` for 17), else None."""
        self.node_at(path)
        parent, step = self._nearest(path)
        if isinstance(parent, TreeMap) and isinstance(step, str):
            return parent.written.get(step)
        if isinstance(parent, TreeList) and isinstance(step, int):
            return parent.written.get(step)
        return None

    def _nearest(self, path: Path) -> tuple[Node, str | int | None]:
        """Return the parent and the step of the deepest value on the path; (None, None): root."""
        parent: Node = None
        taken: str | int | None = None
        node: Node = self.root
        for step in path:
            if not _leads_on(node, step):
                break
            parent, taken, node = node, step, _child(node, step)
        return parent, taken


def _leads_on(node: Node, step: str | int) -> bool:
    if isinstance(node, TreeMap):
        return isinstance(step, str) and step in node
    if isinstance(node, TreeList):
        return isinstance(step, int) and 0 <= step < len(node)
    return False


def _child(node: Node, step: str | int) -> Node:
    if isinstance(node, TreeMap) and isinstance(step, str):
        return node[step]
    if isinstance(node, TreeList) and isinstance(step, int):
        return node[step]
    raise LookupError(step)
