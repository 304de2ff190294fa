"""The rules of Blackmoss Large Model Flyers that need Python. The club is invented."""

from pathlib import Path

from holdshort.api import API_VERSION, Pack

from . import charge_book, power
from .sources import SOURCES

_HERE = Path(__file__).parent

pack = Pack(
    name="blackmoss",
    api=API_VERSION,
    rules=(*charge_book.RULES, *power.RULES),
    sources=SOURCES,
    pages=_HERE / "pages",
    cases=_HERE / "cases",
)
