"""Colours, lines and letters of wiring diagrams, once for all forms of picture.

Nothing rests on colour alone: kinds of leads differ in width and dashes, marks in shape. Letters
stand out from their ground by 4.5 to 1 at least and lines by 3 to 1, in light and in dark
(WCAG 2.2, success criteria 1.4.3 and 1.4.11).
"""

from dataclasses import dataclass
from typing import Final

from holdshort.fixlist.diagram_drawing import BOLD, TEXT_SIZES

SCOPE: Final = "holdshort-diagram"
"""The class of a picture, under which all of its style stands."""
FONT: Final = '"DejaVu Sans", Verdana, Arial, Helvetica, sans-serif'

LIGHT: Final = {
    "ground": "#ffffff", "box": "#f3f5f8", "edge": "#3d4855", "ink": "#141c26", "soft": "#4a5664",
    "power": "#a61b1b", "both": "#5f2a8c", "signal": "#0a5a9c", "idle": "#66717f",
    "warning": "#b3261e", "on-warning": "#ffffff", "caution": "#f5b000", "on-caution": "#141c26",
    "note": "#1f5fa8", "on-note": "#ffffff",
}  # fmt: skip
DARK: Final = {
    "ground": "#11161c", "box": "#1d252f", "edge": "#9eabba", "ink": "#eef2f6", "soft": "#b9c4d0",
    "power": "#ff8f85", "both": "#cda8f7", "signal": "#7fc1ff", "idle": "#98a3b1",
    "warning": "#ff8f85", "on-warning": "#11161c", "caution": "#f5b000", "on-caution": "#141c26",
    "note": "#8cc2ff", "on-note": "#11161c",
}  # fmt: skip
"""What each colour is in the light and in the dark."""


@dataclass(frozen=True, slots=True)
class Look:
    """How one class of shapes looks. Colours are names; None is none. Lengths in drawing units.

    The stroke of letters lies under them: it is their ground where they reach over a mark's edge.
    """

    fill: str | None = None
    stroke: str | None = None
    width: float = 0.0
    dashes: tuple[float, ...] = ()
    size: float = 0.0
    bold: bool = False


def _letters() -> dict[str, Look]:
    soft = {"told", "heading", "note"}
    return {
        style: Look("soft" if style in soft else "ink", size=size, bold=style in BOLD)
        for style, size in TEXT_SIZES.items()
    }


LOOKS: Final[dict[str, Look]] = {
    "ground": Look("ground"),
    "halo": Look(None, "ground", 7.0),
    "box": Look("box", "edge", 1.4),
    "stranger": Look("ground", "edge", 1.4, (4.0, 3.0)),
    "pin": Look("edge", "edge", 1.0),
    "bar": Look(None, "edge", 4.0),
    "wire-power": Look(None, "power", 3.4),
    "wire-power-only": Look(None, "power", 3.4, (14.0, 5.0)),
    "wire-both": Look(None, "both", 4.6),
    "wire-core": Look(None, "ground", 1.5),
    "wire-signal": Look(None, "signal", 1.5),
    "wire-signal-only": Look(None, "signal", 1.5, (7.0, 3.0)),
    "wire-signal-alone": Look(None, "signal", 1.5, (2.0, 3.0)),
    "wire-nothing": Look(None, "idle", 1.5, (1.5, 5.0)),
    "mark-warning": Look("warning", "ground", 1.0),
    "mark-caution": Look("caution", "ink", 1.0),
    "mark-note": Look("note", "ground", 1.0),
    "mark-not-checked": Look("ground", "ink", 1.2),
    "number-warning": Look("on-warning", "warning", 2.4, size=9.0, bold=True),
    "number-caution": Look("on-caution", "caution", 2.4, size=9.0, bold=True),
    "number-note": Look("on-note", "note", 2.4, size=9.0, bold=True),
    "number-not-checked": Look("ink", size=9.0, bold=True),
    **{f"text-{style}": look for style, look in _letters().items()},
}
"""How each class of shapes looks."""

WIRES: Final[dict[str, tuple[str, ...]]] = {
    "power": ("wire-power",),
    "power only": ("wire-power-only",),
    "power and signal": ("wire-both", "wire-core"),
    "signal": ("wire-signal",),
    "signal only": ("wire-signal-only",),
    "signal alone": ("wire-signal-alone",),
    "nothing": ("wire-nothing",),
}
"""The lines that a lead is drawn with, one over the other, by what it carries."""


def style_sheet() -> str:
    """Return the style of a picture: the same for all, and all of it under one class."""
    light = [_rule(name, look) for name, look in LOOKS.items()]
    dark = [_colours(name, look) for name, look in LOOKS.items()]
    focus = f".{SCOPE} a:focus{{outline:3px solid {LIGHT['note']};outline-offset:2px}}"
    # What a link of the page led to stands out, by its width too.
    target = f".{SCOPE} :target .hd-halo{{stroke:{LIGHT['caution']};stroke-width:13}}"
    target_box = f".{SCOPE} :target .hd-box{{stroke:{LIGHT['caution']};stroke-width:5}}"
    return "\n".join([
        f".{SCOPE}{{font-family:{FONT}}}",
        *light,
        focus,
        "@media screen and (prefers-color-scheme: dark){",
        *dark,
        "}",
        target,
        target_box,
    ])  # fmt: skip


def _rule(name: str, look: Look) -> str:
    said = [f"fill:{LIGHT[look.fill] if look.fill else 'none'}"]
    if look.stroke:
        said += [f"stroke:{LIGHT[look.stroke]}", f"stroke-width:{look.width:g}"]
        said.append("stroke-linejoin:round")
    if look.dashes:
        said.append(f"stroke-dasharray:{' '.join(f'{dash:g}' for dash in look.dashes)}")
    if look.size:
        said.append(f"font-size:{look.size:g}px")
        if look.stroke:
            said.append("paint-order:stroke")
        said.append(f"font-weight:{'bold' if look.bold else 'normal'}")
    return f".{SCOPE} .hd-{name}{{{';'.join(said)}}}"


def _colours(name: str, look: Look) -> str:
    said = [f"fill:{DARK[look.fill] if look.fill else 'none'}"]
    if look.stroke:
        said.append(f"stroke:{DARK[look.stroke]}")
    return f".{SCOPE} .hd-{name}{{{';'.join(said)}}}"
