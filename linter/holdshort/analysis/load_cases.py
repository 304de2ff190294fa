"""The load cases in which the power network is solved. All figures: common practice, no source."""

from typing import Final, Literal, NamedTuple

from holdshort.setup import Setup

ServoLoad = Literal["none", "idle", "cruise", "moving", "stalled pair"]
Column = Literal["none", "rest", "cruise", "peak", "start"]


class LoadCase(NamedTuple):
    """One moment in the life of the power network.

    ``charge`` is the packs' state of charge, 0 to 1. ``servos`` says how the servos are loaded:
    not at all, idle, cruise current, all moving with ``share`` of their stall current, or the two
    strongest stalled and the others in cruise. ``others`` is the column of a part's ``draws`` that
    all other devices take.
    """

    name: str
    title: str
    charge: float
    servos: ServoLoad
    share: float
    others: Column


REST: Final = LoadCase("rest", "full packs, nothing drawing", 1.0, "none", 0.0, "none")
CRUISE: Final = LoadCase("cruise", "half-full packs, steady flight", 0.5, "cruise", 0.0, "cruise")
HARD: Final = LoadCase(
    "hard-manoeuvre", "nearly empty packs, all servos moving hard", 0.2, "moving", 0.5, "peak"
)
STALLED: Final = LoadCase(
    "stalled-pair", "nearly empty packs, the two strongest servos stalled", 0.2, "stalled pair",
    1.0, "cruise",
)  # fmt: skip
START: Final = LoadCase(
    "engine-start", "nearly empty packs, engine starting", 0.2, "idle", 0.0, "start"
)

DEFAULT_CASES: Final = (REST, CRUISE, HARD, STALLED, START)


def load_cases(setup: Setup) -> tuple[LoadCase, ...]:
    """Return the load cases, with what the setup file changes in them."""
    return tuple(_changed(case, setup) for case in DEFAULT_CASES)


def _changed(case: LoadCase, setup: Setup) -> LoadCase:
    declared = setup.load_cases
    setting = getattr(declared, case.name.replace("-", "_")) if declared else None
    if setting is None:
        return case
    if setting.charge is not None:
        case = case._replace(charge=min(float(setting.charge), 1.0))
    if setting.servos is not None and case.servos in {"moving", "stalled pair"}:
        case = case._replace(share=min(float(setting.servos), 1.0))
    return case
