"""The bench card on which every surface is held against the load that the air may put on it.

A force F at the trailing edge turns a surface of chord c about its hinge by F c: the force told is
the hinge moment over the chord (statics). The moment is an upper estimate; see there.
"""

from collections.abc import Iterator
from typing import Final

from holdshort.analysis.aircraft import Aircraft
from holdshort.analysis.bench_cards import BenchCard, CardGroup, CardLine, CardSource
from holdshort.analysis.control_loads import SurfaceLoads
from holdshort.analysis.control_throws import EACH_WAY, show_angle
from holdshort.setup.quantities import GRAVITY

CARD: Final = "surfaces held by hand"

_SOURCES: Final = (
    CardSource(
        "thin-aerofoil theory of a hinged flap (Glauert, R&M 1095), as printed in Houghton & "
        "Carpenter, section 4.5.1: an upper estimate of the moment about the hinge",
        "derived",
    ),
    CardSource("every surface pushed by hand to feel for play and give", "common practice"),
)
_PULL: Final = (
    "Pull slowly with a spring scale, square to the surface, at its trailing edge in the middle of "
    "its span, over a padded strip, back toward neutral. Stop at the figure."
)
_FULLER: Final = (
    "On the bench a pack is fuller than at the end of a flight: a servo that holds here may not "
    "hold there. `holdshort show loads` reckons with the lowest voltage."
)
_SHORT: Final = (
    "No longer than two seconds a surface: a servo that is held back draws its stall current. Stop "
    "at once where the structure gives, whatever the figure."
)


def hold_cards(aircraft: Aircraft) -> CardGroup | None:
    """Return the group of that card, or None where the size of no surface is declared."""
    studies = [study for study in aircraft.control_loads.surfaces if study.hinged]
    surfaces = aircraft.setup.surfaces
    if not any(surfaces[study.name].loads is not None for study in studies):
        return None
    card = BenchCard(
        CARD,
        "Hold each surface against a hand",
        (
            "Packs charged, radio on, engine made safe. Move the surface to the angle told.",
            _PULL,
            "Let go, and look whether it comes back to where it was.",
        ),
        tuple(_line(aircraft, study) for study in studies),
        cautions=(_SHORT,),
        notes=(_FULLER,),
    )
    before = ("After the linkages are set, and after any change to servo, arm, horn or pushrod.",)
    return CardGroup("held by hand", "Surfaces held by hand", before, (card,), _SOURCES)


def _line(aircraft: Aircraft, study: SurfaceLoads) -> CardLine:
    worst, size = study.worst, aircraft.setup.surfaces[study.name].loads
    if study.stopped:
        return CardLine((study.name,), "", "a linkage that goes through its whole throw")
    if worst is None or size is None or not size.chord:
        return CardLine((study.name,), "", "; ".join(_missing(study)))
    loaded, point = worst
    force = point.moment / float(size.chord)
    way = loaded.link.throw.way
    at = f"{show_angle(point.surface)} {way}" if way != EACH_WAY else show_angle(point.surface)
    must = f"at {at} does not give to {force:.3g} N ({force / GRAVITY:.2g} kg)"
    return CardLine((study.name,), must, note=_too_much(study))


def _too_much(study: SurfaceLoads) -> str:
    if study.margin is None or study.margin >= 1.0:
        return ""
    return "more than its servo has at the lowest voltage: put that right first"


def _missing(study: SurfaceLoads) -> Iterator[str]:
    yield from study.gaps
    yield from study.load_gaps
    yield from (need.text for need in study.needs)
