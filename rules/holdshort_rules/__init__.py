"""The built-in rules: the checks of the trade, each with its page, its cases and its sources."""

from pathlib import Path

from holdshort.api import API_VERSION, Pack
from holdshort_rules import failsafe, gyro, power, receivers, wiring
from holdshort_rules.sources import SOURCES

_HERE = Path(__file__).parent

pack = Pack(
    name="built-in",
    api=API_VERSION,
    rules=(*wiring.RULES, *power.RULES, *receivers.RULES, *failsafe.RULES, *gyro.RULES),
    sources=SOURCES,
    pages=_HERE / "pages",
    cases=_HERE / "cases",
)
