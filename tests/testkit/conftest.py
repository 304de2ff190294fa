"""A small pack in a folder, good in every way, that each test spoils in its own."""

from collections.abc import Callable
from pathlib import Path

import pytest

PACK = '''"""A pack."""
from pathlib import Path
from holdshort.api import (
    Clean, Finding, Hold, MASS, NotChecked, Option, Pack, QuantityType, Severity, Source, rule,
)
MOST = Option("kite-too-heavy", "most", "10 kg", QuantityType(MASS), "the most it may weigh")
@rule("kite-too-heavy", title="A kite heavier than it may be", severity=Severity.WARNING,
      hold=Hold.FLIGHT, subject="mass", sources=("practice",), options=(MOST,))
def kite_too_heavy(aircraft):
    declared = aircraft.setup.aircraft
    if declared is None:
        return
    at = aircraft.setup.place("aircraft", "mass", "ready")
    mass = declared.mass.ready if declared.mass else None
    if mass is None:
        yield NotChecked(at, "the mass ready to fly")
    elif mass > MOST.of(aircraft):
        yield Finding(at, f"It weighs {mass.text}.", "Build a lighter one.")
    else:
        yield Clean(at)
HERE = Path(__file__).parent
pack = Pack("kites", 1, (kite_too_heavy,),
            {"practice": Source("practice", "common practice, no source", "common practice")},
            HERE / "pages", HERE / "cases")
'''
PAGE = """# A kite heavier than it may be

**What it looks at.** The mass ready to fly.

**Why it matters.** Heavy kites fall.

**What to do.** Build a lighter one.

**Not checked** where the mass is not declared.
"""
CASES = """rule: kite-too-heavy
base:
  holdshort: 1
  aircraft: {name: Test, mass: {ready: 10 kg}}
cases:
  - name: at the limit
    passes: true
  - name: above the limit
    change: {aircraft: {mass: {ready: 11 kg}}}
    finds:
      - {at: aircraft.mass.ready, says: [11 kg, lighter], severity: warning, hold: flight}
  - name: at the limit, where the limit is lower
    limits: {most: 9 kg}
    finds:
      - {at: aircraft.mass.ready, says: [10 kg]}
  - name: not weighed
    change: {aircraft: {mass: null}}
    cannot-judge:
      - {needs: mass, at: aircraft.mass.ready}
  - name: no aircraft
    change: {aircraft: null}
    nothing-to-judge: true
"""

Spoil = Callable[[str, str, str], Path]


@pytest.fixture
def kites(tmp_path: Path) -> Path:
    """The folder of the pack."""
    folder = tmp_path / "kites"
    for inner in ("pages", "cases"):
        (folder / inner).mkdir(parents=True)
    (folder / "__init__.py").write_text(PACK)
    (folder / "pages" / "kite-too-heavy.md").write_text(PAGE)
    (folder / "cases" / "kite-too-heavy.yaml").write_text(CASES)
    return folder


@pytest.fixture
def spoil(kites: Path) -> Spoil:
    """Replace a text in one of the pack's files; it has to be there."""

    def replace(file: str, old: str, new: str) -> Path:
        path = kites / file
        text = path.read_text()
        assert old in text
        path.write_text(text.replace(old, new, 1))
        return path

    return replace
