"""A wiring diagram as PNG, in its light colours.

Needs matplotlib (the optional extra ``plot``), which is imported here and nowhere else; this module
is imported only when a PNG is asked for. The shapes are those of the SVG, and so are their places.
"""

import io
import warnings
from typing import Any, Final

import matplotlib as mpl
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Circle as RoundPatch
from matplotlib.patches import FancyBboxPatch, Polygon
from matplotlib.patheffects import withStroke

from holdshort.fixlist.diagram_scene import Scene
from holdshort.fixlist.diagram_shapes import Circle, Group, Line, Rectangle, Shape, Words
from holdshort.fixlist.diagram_style import LIGHT, LOOKS, Look

_UNITS_PER_INCH: Final = 96.0
_POINT: Final = 72.0 / _UNITS_PER_INCH
_SCALE: Final = 2.0
_MOST_PIXELS: Final = 16_000.0
"""Along a side: beyond it a picture is drawn smaller, as few programs open a larger one."""
_STEADY: Final[Any] = {"text.parse_math": False, "font.family": "DejaVu Sans"}
_ANCHORS: Final = {"start": "left", "middle": "center", "end": "right"}


def png(scene: Scene) -> bytes:
    """Return a scene as the bytes of a PNG file, two pixels to the unit."""
    with warnings.catch_warnings(), mpl.rc_context(_STEADY):  # pyright: ignore[reportUnknownMemberType]
        # A name in a script that the font lacks is drawn as boxes; the text form shows it.
        warnings.filterwarnings("ignore", message="Glyph .* missing")
        size = (scene.width / _UNITS_PER_INCH, scene.height / _UNITS_PER_INCH)
        # The library's own types are open in places: anything may be passed on to its artists.
        figure: Any = Figure(figsize=size)
        FigureCanvasAgg(figure)
        axes: Any = figure.add_axes((0.0, 0.0, 1.0, 1.0))
        axes.set_axis_off()
        axes.set_xlim(0.0, scene.width)
        axes.set_ylim(scene.height, 0.0)
        drawer = _Drawer(axes)
        for group in scene.groups:
            drawer.group(group)
        scale = min(_SCALE, _MOST_PIXELS / max(scene.width, scene.height))
        out = io.BytesIO()
        figure.savefig(out, format="png", dpi=_UNITS_PER_INCH * scale, metadata={"Software": None})
    return out.getvalue()


class _Drawer:
    """Adds shapes to axes, each over the ones before."""

    def __init__(self, axes: Any) -> None:
        self.axes = axes
        self.order = 0

    def group(self, group: Group) -> None:
        for item in group.items:
            if isinstance(item, Group):
                self.group(item)
            else:
                self.shape(item)

    def shape(self, shape: Shape) -> None:
        self.order += 1
        if isinstance(shape, Words):
            self.words(shape)
        elif isinstance(shape, Line) and not shape.closed:
            self.line(shape)
        else:
            self.axes.add_patch(self.patch(shape))

    def words(self, words: Words) -> None:
        look = LOOKS[words.look]
        ground = _colour(look.stroke)
        effects = [withStroke(linewidth=look.width * _POINT, foreground=ground)]
        self.axes.text(
            words.at.x, words.at.y, words.text,
            ha=_ANCHORS[words.anchor], va="baseline", color=_colour(look.fill),
            fontsize=look.size * _POINT, fontweight="bold" if look.bold else "normal",
            zorder=self.order, parse_math=False, path_effects=effects if look.stroke else None,
        )  # fmt: skip

    def line(self, line: Line) -> None:
        look = LOOKS[line.look]
        xs, ys = ([point[axis] for point in line.points] for axis in (0, 1))
        drawn = Line2D(
            xs, ys, color=_colour(look.stroke), linewidth=look.width * _POINT,
            linestyle=_dashes(look), solid_joinstyle="round", dash_joinstyle="round",
            solid_capstyle="butt", dash_capstyle="butt", zorder=self.order,
        )  # fmt: skip
        self.axes.add_line(drawn)

    def patch(self, shape: Rectangle | Circle | Line) -> Any:
        look = LOOKS[shape.look]
        drawn: dict[str, Any] = {
            "facecolor": _colour(look.fill),
            "edgecolor": _colour(look.stroke),
            "linewidth": look.width * _POINT,
            "linestyle": _dashes(look),
            "zorder": self.order,
        }
        if isinstance(shape, Circle):
            return RoundPatch((shape.middle.x, shape.middle.y), shape.radius, **drawn)
        if isinstance(shape, Line):
            return Polygon([tuple(point) for point in shape.points], closed=True, **drawn)
        left, top, right, bottom = shape.area
        style = f"round,pad=0,rounding_size={shape.corner}" if shape.corner else "square,pad=0"
        return FancyBboxPatch((left, top), right - left, bottom - top, boxstyle=style, **drawn)


def _colour(name: str | None) -> str:
    return LIGHT[name] if name else "none"


def _dashes(look: Look) -> Any:
    """Return a line style; matplotlib counts dashes in widths of the line."""
    if not look.dashes:
        return "-"
    return (0.0, [dash / look.width for dash in look.dashes])
