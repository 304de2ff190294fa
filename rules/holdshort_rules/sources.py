"""Where the rules come from, with how each source was read."""

from typing import Final

from holdshort.api import Source

_READ: Final = "read"
_SECOND: Final = "read second-hand"
_DERIVED: Final = "derived"
_PRACTICE: Final = "common practice"

_ALL: Final = (
    Source("practice", "common practice, no published source", _PRACTICE),
    Source(
        "F3",
        "UK CAA CAP 658 as explained by the national association: a radio that has a failsafe must "
        "use it, at any mass",
        _SECOND,
    ),
    Source(
        "F4",
        "UK CAA CAP 658 as explained by the national association: on loss or corruption of signal "
        "at least throttle closed or idle",
        _SECOND,
    ),
    Source(
        "F7",
        "UK club notices of the CAA rule: the factory default is often to hold the last position; "
        "hold on the throttle is a fault",
        _SECOND,
    ),
    Source(
        "F12",
        "FAI Sporting Code Section 4, F3P requirements: propulsion shuts off or fully idles at the "
        "moment the signal fails",
        _SECOND,
    ),
    Source(
        "F21",
        "trade: declare each channel, neutral or a gentle turn; gear, flaps and brakes explicitly",
        _PRACTICE,
    ),
    Source(
        "F27",
        "UK AAIB record of a 1:5 scale model: link lost, engine stayed near half throttle until "
        "impact",
        _SECOND,
    ),
    Source(
        "F28",
        "MFNZ magazine, March 2024, page 9: throttle failsafe was on hold, the model flew away at "
        "half throttle",
        _READ,
    ),
    Source("F30", "trade: every receiver carries the same failsafe values", _PRACTICE),
    Source(
        "P20",
        "university textbook on small unmanned aircraft: a receiver change-over unit is itself a "
        "single point of failure",
        _READ,
    ),
    Source(
        "P33",
        "arithmetic: judge a servo against the fully charged pack or the regulator setting, not "
        "the nominal voltage",
        _DERIVED,
    ),
    Source(
        "P37",
        "trade: feeds are independent only with two leads and no shared connector",
        _PRACTICE,
    ),
    Source("C1", "battery seller's page: lithium polymer cell full at 4.20 V", _READ),
    Source(
        "C4", "battery sellers' pages: lithium iron phosphate cell at most 3.6 to 3.65 V", _READ
    ),
    Source("C8", "sealed-cell data sheet: NiMH cell about 1.45 V at the end of charge", _READ),
    Source(
        "G23",
        "rotation group of the cube: 24 of the 48 signed permutations are mountings, the other 24 "
        "are mirror images",
        _DERIVED,
    ),
    Source(
        "G24",
        "proof by the work rate of the correcting moment: the trailing edge follows the motion of "
        "the part that carries it",
        _DERIVED,
    ),
    Source(
        "part-b",
        "table of the 24 mountings with the body rates each one makes a gyro feel",
        _DERIVED,
    ),
)

SOURCES: Final = {source.id: source for source in _ALL}
