"""A wiring diagram as a file of a picture: SVG, or PNG where matplotlib is installed."""

from holdshort.analysis import Aircraft
from holdshort.fixlist.diagram_layout import drawing_of
from holdshort.fixlist.diagram_marks import marks_of
from holdshort.fixlist.diagram_scene import scene_of
from holdshort.fixlist.diagram_svg import diagram_svg
from holdshort.fixlist.report import FileReport


def picture(aircraft: Aircraft, ending: str, report: FileReport) -> bytes:
    """Return the diagram of ``aircraft`` as ``ending`` says, svg or png, marked by ``report``.

    Raises ModuleNotFoundError for png where matplotlib is not installed.
    """
    drawing, marks = drawing_of(aircraft), marks_of(aircraft.setup, report)
    if ending == "svg":
        return diagram_svg(drawing, marks).encode()
    from holdshort.fixlist.diagram_png import png  # noqa: PLC0415  - only this needs matplotlib

    return png(scene_of(drawing, marks))
