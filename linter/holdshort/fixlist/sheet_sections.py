"""The sections of an aircraft sheet, in order.

To add one: write a function that takes :class:`~holdshort.fixlist.sheet_facts.SheetFacts` and
returns parts (see :mod:`holdshort.fixlist.sheet_parts`), and name it in :data:`SECTIONS`. A section
that needs more than parts names a template ``sheet_<block>.html.jinja``, which finds what its
function returns as ``content``. Where a function returns nothing, its section is left out.
"""

from collections.abc import Callable
from typing import Any, Final, NamedTuple

from holdshort.fixlist.sheet_aircraft import (
    aircraft_parts,
    caution_parts,
    code_parts,
    hold_points,
)
from holdshort.fixlist.sheet_balance import balance
from holdshort.fixlist.sheet_cards import cards
from holdshort.fixlist.sheet_channels import channel_parts, link_loss_parts
from holdshort.fixlist.sheet_drawing import drawing
from holdshort.fixlist.sheet_evidence import evidence_parts, record_parts
from holdshort.fixlist.sheet_facts import SheetFacts
from holdshort.fixlist.sheet_failures import failure_parts
from holdshort.fixlist.sheet_findings import deferred, fix_list, not_checked, rules_told
from holdshort.fixlist.sheet_loads import load_parts
from holdshort.fixlist.sheet_power import power_parts
from holdshort.fixlist.sheet_telemetry import telemetry_parts

PARTS: Final = "parts"
"""The block that shows a section made of parts."""


class SheetSection(NamedTuple):
    """One section: its id in the page, its title, what gathers its content, and its template.

    ``new_page`` is true where it begins a page on paper, ``wide`` where that page lies on its side.
    """

    id: str
    title: str
    build: Callable[[SheetFacts], Any]
    block: str = PARTS
    new_page: bool = True
    wide: bool = False


SECTIONS: Final = (
    SheetSection("aircraft", "The aircraft", aircraft_parts, new_page=False),
    SheetSection("hold-points", "Hold points", hold_points, "hold_points", new_page=False),
    SheetSection("fix-list", "Fix list", fix_list, "fix_list", new_page=False),
    SheetSection("deferred", "Deferred", deferred, "deferred", new_page=False),
    SheetSection("not-checked", "Not checked", not_checked, "not_checked", new_page=False),
    SheetSection("wiring", "Wiring", drawing, "drawing", wide=True),
    SheetSection("power", "Power", power_parts),
    SheetSection("failures", "When something fails", failure_parts, wide=True),
    SheetSection("link-loss", "When the link is lost", link_loss_parts),
    SheetSection("channels", "Channels", channel_parts),
    SheetSection("balance", "Balance", balance, "balance"),
    SheetSection("loads", "Control loads", load_parts, wide=True),
    SheetSection("telemetry", "Telemetry", telemetry_parts, wide=True),
    SheetSection("cards", "Bench cards", cards, "cards"),
    SheetSection("evidence", "Tests and sign-offs", evidence_parts),
    SheetSection("codes", "Codes followed", code_parts),
    SheetSection("rules", "The rules that found something", rules_told, "rules"),
    SheetSection("record", "Release record", record_parts, new_page=False),
    SheetSection("cautions", "Cautions", caution_parts, new_page=False),
)
"""Every section, in the order of the page."""
