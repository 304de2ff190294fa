"""The public face for rule packs: everything a pack may use, and nothing else.

A pack is a :class:`Pack` that an installed distribution offers in the entry-point group
``holdshort.packs``. Names in this module keep their meaning within one ``API_VERSION``.
"""

from holdshort.analysis import Aircraft, Because, Need
from holdshort.analysis.failsafes import (
    ChannelFailsafe,
    functions_of,
    is_throttle,
    moves_something,
)
from holdshort.analysis.feeds import BoxFeeds
from holdshort.analysis.mounting import (
    AxisBelief,
    Direction,
    ImpossibleMountingError,
    Mounting,
    Sense,
    beliefs,
    felt,
    mounting_from_faces,
)
from holdshort.analysis.wiring import Feed, Supply, exceeds
from holdshort.rulebook.declare import (
    API_VERSION,
    Check,
    Clean,
    Finding,
    Hold,
    NotChecked,
    Option,
    Outcome,
    Pack,
    Rule,
    Severity,
    Source,
    rule,
)
from holdshort.rulebook.wording import counted, listed, plural
from holdshort.setup import Cable, ChannelEntry, Fitted, LeadEnd, Place, Port, Quantity, Setup

__all__ = [
    "API_VERSION",
    "Aircraft",
    "AxisBelief",
    "Because",
    "BoxFeeds",
    "Cable",
    "ChannelEntry",
    "ChannelFailsafe",
    "Check",
    "Clean",
    "Direction",
    "Feed",
    "Finding",
    "Fitted",
    "Hold",
    "ImpossibleMountingError",
    "LeadEnd",
    "Mounting",
    "Need",
    "NotChecked",
    "Option",
    "Outcome",
    "Pack",
    "Place",
    "Port",
    "Quantity",
    "Rule",
    "Sense",
    "Setup",
    "Severity",
    "Source",
    "Supply",
    "beliefs",
    "counted",
    "exceeds",
    "felt",
    "functions_of",
    "is_throttle",
    "listed",
    "mounting_from_faces",
    "moves_something",
    "plural",
    "rule",
]
