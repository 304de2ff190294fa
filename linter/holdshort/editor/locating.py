"""Where the things that a file names are declared, and where else they are meant."""

import os
from collections.abc import Iterator
from typing import NamedTuple

from holdshort.document import Document, Path, Span, TreeList, TreeMap
from holdshort.editor.judging import Judged
from holdshort.editor.mentions import Mention, at_point, mentions
from holdshort.editor.positions import Point
from holdshort.setup.runs import expand_run


class Spot(NamedTuple):
    """One piece of one file."""

    file: str
    span: Span


def mention_at(judged: Judged, point: Point) -> Mention | None:
    """Return what is named at a place of a text that could be read."""
    if judged.document is None:
        return None
    return at_point(mentions(judged.document), point.line, point.column)


def path_at(document: Document, point: Point) -> tuple[Path, bool]:
    """Return the path of the narrowest entry at a place, and whether its key is there."""
    path: Path = ()
    node: object = document.root
    while isinstance(node, TreeMap | TreeList):
        step = _step(node, point)
        if step is None:
            return path, False
        path = (*path, step)
        if isinstance(node, TreeMap) and _holds(node.key_spans[str(step)], point):
            return path, True
        node = document.node_at(path)
    return path, False


def _step(node: TreeMap | TreeList, point: Point) -> str | int | None:
    if isinstance(node, TreeMap):
        keys = (key for key in node if _holds(node.key_spans[key], point))
        values = (key for key in node if _holds(node.value_spans[key], point))
        return next(keys, None) or next(values, None)
    items = (index for index, span in enumerate(node.value_spans) if _holds(span, point))
    return next(items, None)


def _holds(span: Span, point: Point) -> bool:
    return (span.line, span.column) <= tuple(point) <= (span.end_line, span.end_column)


def declarations(judged: Judged, mention: Mention) -> list[Spot]:
    """Return where the things of a mention are declared, catalogues among the places."""
    return [spot for name in mention.names for spot in _declared(judged, mention, name)][:64]


def _declared(judged: Judged, mention: Mention, name: str) -> Iterator[Spot]:
    if judged.document is None:
        return
    if mention.thing == "file":
        yield from _file(judged.document, name)
    elif mention.thing == "part":
        yield from _part(judged, name)
    elif mention.thing == "port":
        yield from _port(judged, name)
    elif mention.thing != "rule":
        yield from _by_mentions(judged, mention, name)


def _by_mentions(judged: Judged, mention: Mention, name: str) -> Iterator[Spot]:
    for document in _declaring(judged, mention):
        for one in mentions(document):
            if one.declares and one.thing == mention.thing and name in one.names:
                yield Spot(document.name, one.span)


def _declaring(judged: Judged, mention: Mention) -> list[Document]:
    """Return the documents that declare what is named: the text's own, for a test the club's."""
    own = [judged.document] if judged.document is not None else []
    shared = judged.home.shared if judged.home else None
    if mention.thing == "test" and shared is not None and shared.document.name != judged.path:
        return [*own, shared.document]
    return own


def _file(document: Document, name: str) -> Iterator[Spot]:
    folder = os.path.dirname(document.name)  # noqa: PTH120  - a path as text
    path = os.path.normpath(os.path.join(folder, name))  # noqa: PTH118
    if os.path.isabs(path) and os.path.isfile(path):  # noqa: PTH113, PTH117
        yield Spot(path, Span(1, 1, 1, 1))


def _documents(judged: Judged) -> list[Document]:
    """Return the documents of a judgement, its own first."""
    own = [judged.document] if judged.document is not None else []
    others = judged.look.loaded.setup.documents.values() if judged.look else ()
    return own + [one for one in others if one.name != judged.path]


def _part(judged: Judged, name: str) -> Iterator[Spot]:
    for document in _documents(judged):
        parts = document.root.get("parts")
        if isinstance(parts, TreeMap) and name in parts:
            yield Spot(document.name, parts.key_spans[name])


def _port(judged: Judged, name: str) -> Iterator[Spot]:
    """Yield the line of the part that offers a port, or the part where it has the usual ports."""
    if judged.look is None:
        return
    setup = judged.look.loaded.setup
    device, _, port = name.partition(".")
    fitted = setup.devices.get(device)
    if fitted is None or port not in fitted.ports:
        return
    place = fitted.part_place("ports")
    document = setup.documents[place.file]
    try:
        ports = document.node_at(place.path)
    except LookupError:
        ports = None
    for key in ports if isinstance(ports, TreeMap) else ():
        if port in _names(key):
            place = place._replace(path=(*place.path, key))
    yield Spot(place.file, document.key_span_at(place.path))


def _names(key: str) -> tuple[str, ...]:
    try:
        return expand_run(key)
    except ValueError:
        return ()


def references(judged: Judged, mention: Mention, *, declared: bool) -> list[Spot]:
    """Return every place of one text, and of its catalogues, that names what a mention names."""
    found: list[Spot] = []
    for document in _documents(judged):
        if document.name != judged.path and mention.thing != "part":
            continue
        for one in mentions(document):
            same = one.thing == mention.thing and not set(one.names).isdisjoint(mention.names)
            if same and (declared or not one.declares):
                found.append(Spot(document.name, one.span))
    return found
