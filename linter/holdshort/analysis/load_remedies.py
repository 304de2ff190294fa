"""What a longer horn would do for a servo that is too weak, worked out and not only hoped for.

A longer horn lets the servo turn further for the same throw, until its arm comes in line with the
pushrod: there is not always one that is long enough and still clear of that.
"""

import math
from typing import TYPE_CHECKING, Final

from holdshort.analysis.control_throws import ThrowTravel

if TYPE_CHECKING:
    from holdshort.analysis.control_loads import ControlLoads, SurfaceLoads

_LONGEST: Final = 4.0
"""How many times longer a horn is looked at (common practice, no source)."""
_STEP: Final = 0.5e-3  # m: a horn is measured no closer; common practice, no source
_HALVINGS: Final = 20
_ROUNDING: Final = 1e-9


def horn_that_serves(
    loads: "ControlLoads", study: "SurfaceLoads", margin: float, clear: float
) -> "SurfaceLoads | None":
    """Return the loads with the shortest horn that serves, to half a millimetre, or None.

    It serves where the weakest servo has ``margin`` times what is asked of it, and arm and horn
    stay ``clear`` (rad) of being in line with the pushrod at the end of every throw. Only the
    length of the horn is changed, up to four times what it is.
    """
    if study.link is None:
        return None
    short, long = study.link.horn, study.link.horn * _LONGEST
    for _ in range(_HALVINGS):
        middle = (short + long) / 2.0
        # Too long is as good as long enough here: the torque falls until the arm is in line.
        if _is_enough(loads.with_horn(study.name, middle), margin):
            long = middle
        else:
            short = middle
    found = loads.with_horn(study.name, math.ceil(long / _STEP) * _STEP)
    enough = not found.stopped and _is_enough(found, margin)
    return found if enough and all(_is_clear(link, clear) for link in found.travels) else None


def _is_enough(study: "SurfaceLoads", margin: float) -> bool:
    if study.stopped:
        return True
    return study.margin is not None and study.margin >= margin - _ROUNDING


def _is_clear(link: ThrowTravel, clear: float) -> bool:
    end = link.travel.positions[-1]
    return max(end.arm_off, end.horn_off) <= math.pi / 2.0 - clear
