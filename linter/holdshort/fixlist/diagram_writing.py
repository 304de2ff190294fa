"""Lines of text for a wiring diagram, fitted to their room."""

from typing import Final, NamedTuple

from holdshort.analysis.wiring_plan import PlanEnd, PlanLead
from holdshort.fixlist.diagram_drawing import (
    BOLD,
    TEXT_SIZES,
    Anchor,
    Point,
    TextStyle,
    Written,
)
from holdshort.fixlist.diagram_letters import fitted, text_width
from holdshort.fixlist.diagram_words import LEAD_NOTES, volts_lines

_OVER: Final = 5.0
_UNDER: Final = 13.0
"""How far the base lines of labels stand over and under their lead."""


def written(
    text: str, at: Point, style: TextStyle, room: float, anchor: Anchor = "start"
) -> Written:
    """Return ``text`` as one line, cut where it does not fit into ``room``."""
    size, bold = TEXT_SIZES[style], style in BOLD
    shown = fitted(text, size, room, bold=bold)
    return Written(shown, at, anchor, style, text_width(shown, size, bold=bold), text)


class LeadLabel(NamedTuple):
    """One line that stands over or under a lead."""

    text: str
    width: float
    above: bool

    def placed(self, at: Point) -> Written:
        """Return it with its end at ``at`` on the lead."""
        y = at.y - _OVER if self.above else at.y + _UNDER
        return Written(self.text, Point(at.x, y), "end", "label", self.width, self.text)


def lead_labels(lead: PlanLead, end: PlanEnd) -> tuple[LeadLabel, ...]:
    """Return what is written at a lead: its kind where it matters, and the voltage at ``end``."""
    over, *under = volts_lines(end.volts) or ("",)
    note = LEAD_NOTES.get(lead.carries, "")
    first = ", ".join(word for word in (note, over) if word)
    lines = [(first, True), *((text, False) for text in under)]
    size = TEXT_SIZES["label"]
    return tuple(LeadLabel(text, text_width(text, size), above) for text, above in lines if text)
