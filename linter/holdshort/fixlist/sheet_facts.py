"""What an aircraft sheet is made from: one judged aircraft, and what applied when it was judged."""

from datetime import date
from typing import NamedTuple

from holdshort.analysis import Aircraft
from holdshort.analysis.code_words import CodeWords
from holdshort.fixlist.report import FileReport
from holdshort.fixlist.sheet_drawing import SheetDrawing
from holdshort.rulebook import Judgement
from holdshort.rulebook.settings import Settings
from holdshort.setup import Setup


class SheetFacts(NamedTuple):
    """One aircraft, what the rules said of it, and what is told about it on paper.

    ``report`` lists all findings, in the order of ``judgement``; ``made`` is the day,
    ``drawing`` the wiring diagram.
    """

    aircraft: Aircraft
    judgement: Judgement
    report: FileReport
    settings: Settings
    made: date
    drawing: SheetDrawing | None = None

    @property
    def setup(self) -> Setup:
        """The aircraft as declared."""
        return self.aircraft.setup

    @property
    def codes(self) -> tuple[CodeWords, ...]:
        """What the packs tell of published codes."""
        return tuple(code for pack in self.settings.packs for code in pack.codes)
