"""A wiring diagram as SVG: one text without scripts, without inline styles, without outside files.

Every text is escaped, after :func:`~holdshort.fixlist.plain.plain`; ids are numbers of our own. All
style stands in one ``<style>`` element, whose text (:data:`STYLE_SHEET`) is always the same, so
that a page can allow it by its hash.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from holdshort.fixlist.diagram_drawing import Area, Drawing, Mark, Point
from holdshort.fixlist.diagram_scene import Scene, scene_of
from holdshort.fixlist.diagram_shapes import Circle, Group, Line, Rectangle, Shape, Words
from holdshort.fixlist.diagram_style import SCOPE, style_sheet
from holdshort.fixlist.plain import plain

STYLE_SHEET: Final = f"\n{style_sheet()}\n"
"""What stands between ``<style>`` and ``</style>``."""

ROOT: Final = "wiring-drawing"
"""The id of the group that holds all of an embedded drawing."""

_ESCAPES: Final = {
    ord("&"): "&amp;", ord("<"): "&lt;", ord(">"): "&gt;", ord('"'): "&quot;", ord("'"): "&#39;",
}  # fmt: skip


def diagram_svg(
    drawing: Drawing, marks: Sequence[Mark] = (), *, embedded: bool = False, style: bool = True
) -> str:
    """Return a drawing with marks as SVG.

    ``embedded`` is for a place in an HTML page, whose style says how broad it is shown; what the
    marks say is left to the page, which has the targets they lead to. A page that has
    :data:`STYLE_SHEET` in its own style may leave it out here with ``style``.
    """
    return scene_svg(scene_of(drawing, marks, listed=not embedded), embedded=embedded, style=style)


def scene_svg(scene: Scene, *, embedded: bool = False, style: bool = True) -> str:
    """Return a scene as SVG; ``embedded`` and ``style`` as in :func:`diagram_svg`.

    An embedded one holds all that it shows in a group with the id :data:`ROOT`, of which a page may
    show parts with :func:`part_svg`.
    """
    head = "" if embedded else '<?xml version="1.0" encoding="UTF-8"?>\n'
    return head + "\n".join(_document(scene, embedded=embedded, style=style)) + "\n"


def _document(scene: Scene, *, embedded: bool, style: bool) -> Iterator[str]:
    width, height = _number(scene.width), _number(scene.height)
    # An image has no parts for a screen reader; a drawing with links must not be one.
    role = "group" if any(_links(scene.groups)) else "img"
    size = f' width="{width}"' + ("" if embedded else f' height="{height}"')
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="{SCOPE}" role="{role}" '
        f'aria-labelledby="diagram-title diagram-description" viewBox="0 0 {width} {height}"{size}>'
    )
    yield f'<title id="diagram-title">{_text(scene.title)}</title>'
    yield f'<desc id="diagram-description">{_text(scene.description)}</desc>'
    if style:
        yield f"<style>{STYLE_SHEET}</style>"
    if embedded:
        yield f'<g id="{ROOT}" class="{SCOPE}">'
    for group in scene.groups:
        yield from _group(group)
    if embedded:
        yield "</g>"
    yield "</svg>"


def part_svg(area: Area) -> str:
    """Return a part of the drawing that is embedded in the same page, at its own size."""
    width, height = _number(area.right - area.left), _number(area.bottom - area.top)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="{SCOPE}" aria-hidden="true" '
        f'viewBox="{_number(area.left)} {_number(area.top)} {width} {height}">'
        f'<use href="#{ROOT}"/></svg>'
    )


def _links(groups: Iterable[Group]) -> Iterator[bool]:
    for group in groups:
        yield bool(group.link)
        yield from _links(item for item in group.items if isinstance(item, Group))


def _group(group: Group) -> Iterator[str]:
    own_id = f' id="{_text(group.id)}"' if group.id else ""
    if group.link:
        name = f' aria-label="{_text(group.title)}"' if group.title else ""
        yield f'<a href="#{_text(group.link)}"{name}>'
    # The link has the name already: what is in it is not to be read out once more.
    hidden = ' aria-hidden="true"' if group.link and group.title else ""
    yield f"<g{own_id}{hidden}>"
    if group.title:
        yield f"<title>{_text(group.title)}</title>"
    for item in group.items:
        if isinstance(item, Group):
            yield from _group(item)
        else:
            yield _shape(item)
    yield "</g>"
    if group.link:
        yield "</a>"


def _shape(shape: Shape) -> str:
    if isinstance(shape, Rectangle):
        left, top, right, bottom = shape.area
        corner = f' rx="{_number(shape.corner)}"' if shape.corner else ""
        return (
            f'<rect class="hd-{shape.look}" x="{_number(left)}" y="{_number(top)}" '
            f'width="{_number(right - left)}" height="{_number(bottom - top)}"{corner}/>'
        )
    if isinstance(shape, Line):
        name = "polygon" if shape.closed else "polyline"
        return f'<{name} class="hd-{shape.look}" points="{_points(shape.points)}"/>'
    if isinstance(shape, Circle):
        x, y = (_number(value) for value in shape.middle)
        return f'<circle class="hd-{shape.look}" cx="{x}" cy="{y}" r="{_number(shape.radius)}"/>'
    return _words(shape)


def _words(words: Words) -> str:
    x, y = (_number(value) for value in words.at)
    anchor = "" if words.anchor == "start" else f' text-anchor="{words.anchor}"'
    return f'<text class="hd-{words.look}" x="{x}" y="{y}"{anchor}>{_text(words.text)}</text>'


def _points(points: Iterable[Point]) -> str:
    return " ".join(f"{_number(point.x)},{_number(point.y)}" for point in points)


def _number(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")


def _text(text: str) -> str:
    return plain(text).translate(_ESCAPES)
