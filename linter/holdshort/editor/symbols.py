"""What a file is made of, for the outline that a client shows beside it."""

from typing import Final

from lsprotocol.types import DocumentSymbol, SymbolKind

from holdshort.document import Document, Node, Path, Span, TreeList, TreeMap
from holdshort.editor.positions import Lines
from holdshort.fixlist.plain import plain

_MOST: Final = 5000
_ENTRIES: Final = {
    "devices": SymbolKind.Object,
    "parts": SymbolKind.Class,
    "leads": SymbolKind.Interface,
    "surfaces": SymbolKind.Field,
    "failsafe": SymbolKind.Event,
    "deferrals": SymbolKind.Event,
    "observations": SymbolKind.Event,
    "sign-offs": SymbolKind.Event,
    "telemetry": SymbolKind.Variable,
    "tests": SymbolKind.Event,
    "limits": SymbolKind.Constant,
    "severities": SymbolKind.Constant,
}
_HOLDERS: Final = frozenset({"radio", "balance", "log"})
_INNER: Final[dict[Path, SymbolKind]] = {
    ("radio", "channels"): SymbolKind.Number,
    ("radio", "links"): SymbolKind.Interface,
    ("radio", "modes"): SymbolKind.Enum,
    ("balance", "weighings"): SymbolKind.Event,
    ("balance", "changes"): SymbolKind.Event,
    ("balance", "tanks"): SymbolKind.Object,
    ("balance", "items"): SymbolKind.Object,
    ("balance", "gear"): SymbolKind.Object,
    ("balance", "ballast"): SymbolKind.Object,
    ("balance", "movable"): SymbolKind.Object,
    ("log", "columns"): SymbolKind.Variable,
}


def symbols(document: Document, lines: Lines) -> list[DocumentSymbol]:
    """Return the sections of a file with the devices, leads and so on in each."""
    maker = _Maker(document, lines)
    return [
        maker.symbol((name,), name, value, SymbolKind.Module)
        for name, value in document.root.items()
    ]


class _Maker:
    """Makes symbols of one document, up to a number that no client should be sent more of."""

    def __init__(self, document: Document, lines: Lines) -> None:
        self.document = document
        self.lines = lines
        self.made = 0

    def symbol(self, path: Path, name: str, value: Node, kind: SymbolKind) -> DocumentSymbol:
        self.made += 1
        key, span = self.document.key_span_at(path), self.document.span_at(path)
        whole = Span(key.line, key.column, *max(key[2:], span[2:]))
        selection = self.lines.range(key if isinstance(path[-1], str) else _start(key))
        return DocumentSymbol(
            name=plain(name) or "-",
            detail=_detail(value),
            kind=kind,
            range=self.lines.range(whole),
            selection_range=selection,
            children=self._children(path, value) or None,
        )

    def _children(self, path: Path, value: Node) -> list[DocumentSymbol]:
        kind = _ENTRIES.get(str(path[0])) if len(path) == 1 else _INNER.get(path)
        if len(path) == 1 and path[0] in _HOLDERS:
            kind = SymbolKind.Namespace
        if kind is None or len(path) > 2:  # noqa: PLR2004  - sections, entries, theirs
            return []
        if isinstance(value, TreeMap):
            pairs = [((*path, key), key, entry) for key, entry in value.items()]
        elif isinstance(value, TreeList):
            pairs = [
                ((*path, index), _title(entry, index), entry) for index, entry in enumerate(value)
            ]
        else:
            return []
        return [self.symbol(*pair, kind) for pair in pairs if self.made < _MOST]


def _start(span: Span) -> Span:
    return Span(span.line, span.column, span.line, span.column)


def _title(entry: Node, index: int) -> str:
    """Return what an entry of a list is called: a lead by its ends, others by their first value."""
    if isinstance(entry, TreeMap):
        start, end = entry.get("from"), entry.get("to")
        if isinstance(start, str) and isinstance(end, str):
            return f"{start} to {end}"
        first = next(iter(entry.values()), None)
        if isinstance(first, str):
            return first
    return str(index + 1)


def _detail(value: Node) -> str | None:
    if isinstance(value, TreeMap):
        part = value.get("part") or value.get("kind") or value.get("drives")
        return plain(part) if isinstance(part, str) else None
    return plain(str(value)) if isinstance(value, str | int | float) else None
