"""What a comparison of two setups tells, gathered for its renderings."""

from typing import NamedTuple

from holdshort.analysis.compared import Compared
from holdshort.fixlist.report import FileReport
from holdshort.rulebook.findings_compared import FindingsCompared


class CompareReport(NamedTuple):
    """One comparison.

    ``old`` and ``new`` are what the rules say of each file; ``notes`` say how the files were read.
    """

    compared: Compared
    findings: FindingsCompared
    old: FileReport
    new: FileReport
    notes: tuple[str, ...] = ()

    @property
    def is_empty(self) -> bool:
        """True where nothing differs."""
        compared, findings = self.compared, self.findings
        facts = compared.changes or compared.renames.devices or compared.renames.parts
        said = findings.went or findings.came or findings.asked or findings.answered
        return not (facts or said or self.new_work or compared.leftovers or compared.unconfirmed)

    @property
    def new_work(self) -> bool:
        """True where a sign-off falls."""
        return bool(self.compared.fallen)

    @property
    def holds_more(self) -> bool:
        """True where something that came holds a hold point, or a sign-off falls."""
        came = any(found.severity.holds for found in self.findings.came)
        return came or self.new_work


def topic_title(topic: str) -> str:
    """Return the heading of a topic."""
    return _TITLES.get(topic, topic.capitalize())


_TITLES = {
    "aircraft": "The aircraft",
    "wiring": "Leads and plugs",
    "structure": "Where things sit, what holds them, what they weigh",
    "gyro": "Gyros",
    "log": "Log",
}
