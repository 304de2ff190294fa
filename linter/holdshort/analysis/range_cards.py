"""The bench cards of the range check: engine off, engine running, and range-test mode left.

No published number of paces for 2.4 GHz was found: 30 paces is a classic figure for a collapsed
aerial, and common practice in range-test mode.
"""

from collections.abc import Iterator
from typing import Final

from holdshort.analysis.bench_cards import BenchCard, CardGroup, CardLine, CardSource
from holdshort.setup import Setup

HEADINGS: Final = ("nose", "right side", "tail", "left side")

_REDUCED: Final = CardSource(
    "textbook on small unmanned aircraft: range test at reduced power before flying", "read"
)
_CLASSIC: Final = CardSource(
    "UK club course: 10 m, 30 ft or about 30 paces at least with the aerial collapsed, engine off "
    "first; full control throughout, no missed movement, no judder",
    "read second-hand",
)
_PACES: Final = CardSource(
    "30 paces in range-test mode on all headings, or the radio handbook's own figure",
    "common practice",
)
_ANGLES: Final = CardSource(
    "UK AAIB record AAIB-27831: range check from several angles (an example, not a rule)", "read"
)
_BOTH: Final = CardSource(
    "engine off and running: loss or judder that appears with the engine is noise or vibration",
    "common practice",
)
_JITTER: Final = CardSource(
    "UK achievement-scheme examiner list: check for jitter at full power", "read second-hand"
)
_LEAVE: Final = CardSource(
    "model-flying forum: a crash at about 50 m with the radio left in range-test mode",
    "read second-hand",
)
_MEMORY: Final = CardSource(
    "Australian procedure: the right model memory is confirmed first", "read second-hand"
)
_WHEN: Final = CardSource(
    "US academy safety code: a ground radio check before the first flight of a new or repaired "
    "model",
    "read second-hand",
)
_WHEN_ELSE: Final = CardSource(
    "again after a moved aerial, a hard landing or a repair, and at the first flight of the day",
    "common practice",
)


_RUNNING: Final = (
    "Only after the range check with the engine off. Nobody in the plane of a propeller or rotor, "
    "in front of an intake or behind a tail pipe; an extinguisher at hand."
)


def range_cards(setup: Setup) -> CardGroup:
    """Return the group of range-check cards; a glider has none with the engine running."""
    propulsion = setup.aircraft.propulsion if setup.aircraft else None
    cards = [_off(setup)]
    if propulsion != "none":
        cards.append(_running())
    cards.append(_left(setup))
    before = (
        "After the last change to aerials, receivers and packs; again after a hard landing.",
        "Use the radio handbook's own distance and method where it gives one; write it in.",
    )
    sources = (
        _WHEN, _WHEN_ELSE, _REDUCED, _CLASSIC, _PACES, _ANGLES, _BOTH, _JITTER, _LEAVE, _MEMORY
    )  # fmt: skip
    return CardGroup("range check", "Range check", before, tuple(cards), sources)


def _name(setup: Setup) -> str:
    return f"`{setup.aircraft.name}`" if setup.aircraft else "this aircraft"


def _headings() -> Iterator[CardLine]:
    for heading in HEADINGS:
        yield CardLine(
            (f"{heading} towards the transmitter",), "full control, no missed movement, no judder"
        )


_DISTANCE: Final = CardLine(("distance in paces",), "", note="30 paces or more")
_QUALITY: Final = CardLine(("link quality and lost frames",), "", note="what your radio shows")


def _off(setup: Setup) -> BenchCard:
    return BenchCard(
        "range check engine off",
        "Range check, engine off",
        (
            f"Engine made safe. Model memory of {_name(setup)} selected. Range-test mode on.",
            "Walk 30 paces or more. Move every control in turn; a helper calls what it does.",
            "Turn the aircraft to each heading and do it again.",
        ),
        (*_headings(), _DISTANCE, _QUALITY),
    )


def _running() -> BenchCard:
    return BenchCard(
        "range check engine running",
        "Range check, engine running",
        (
            "Aircraft held back. Range-test mode on.",
            "The same walk at idle, then with the engine at full power.",
        ),
        (
            *_headings(),
            CardLine(("surfaces at full power",), "no jitter"),
            CardLine(("distance",), "as with the engine off"),
            _QUALITY,
        ),
        cautions=(_RUNNING,),
    )


def _left(setup: Setup) -> BenchCard:
    return BenchCard(
        "range test mode left",
        "Leave range-test mode",
        ("Switch range-test mode off, and look at the transmitter's display.",),
        (
            CardLine(("transmitter",), "at full power"),
            CardLine(("model memory",), f"{_name(setup)} selected"),
        ),
    )
