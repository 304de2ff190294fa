"""What a rule is: declaring, finding packs, running."""

from holdshort.rulebook.declare import (
    API_VERSION,
    Clean,
    Edit,
    Finding,
    Fix,
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
from holdshort.rulebook.judge import Crash, Deferred, Found, Judgement, Unjudged, judge
from holdshort.rulebook.packs import PackError, Rulebook, checked_rulebook, load_rulebook

__all__ = [
    "API_VERSION",
    "Clean",
    "Crash",
    "Deferred",
    "Edit",
    "Finding",
    "Fix",
    "Found",
    "Hold",
    "Judgement",
    "NotChecked",
    "Option",
    "Outcome",
    "Pack",
    "PackError",
    "Rule",
    "Rulebook",
    "Severity",
    "Source",
    "Unjudged",
    "checked_rulebook",
    "judge",
    "load_rulebook",
    "rule",
]
