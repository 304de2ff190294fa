"""The bench cards on an aircraft sheet: those of ``holdshort cards``, without their own page."""

from typing import Any

from holdshort.analysis.cards import card_sheet
from holdshort.fixlist.card_words import CAUTION, WRITE_BACK, left_out
from holdshort.fixlist.cards_page import card_groups
from holdshort.fixlist.sheet_facts import SheetFacts


def cards(facts: SheetFacts) -> dict[str, Any] | None:
    """Return what the template of the cards wants; None where there is no card."""
    sheet = card_sheet(facts.aircraft, facts.codes)
    if not any(group.cards for group in sheet.groups):
        return None
    return {
        "cautions": sheet.cautions,
        "write_back": WRITE_BACK,
        "left_out": left_out(sheet),
        "groups": card_groups(sheet),
        "caution": CAUTION,
    }
