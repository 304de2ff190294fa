"""The bench card of the balance: where the aircraft must hang level, with which fuel in which tank.

The card tells what follows from the weighing; hanging the aircraft is the check on it that has
nothing to do with scales.
"""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from holdshort.analysis.aircraft import Aircraft
from holdshort.analysis.bench_cards import BenchCard, CardGroup, CardLine, CardSource

if TYPE_CHECKING:
    from holdshort.analysis.balance import BalanceState, BalanceStudy

CARD: Final = "weigh and balance"

_SOURCES: Final = (
    CardSource(
        "FAA-H-8083-1: checks of the loadings that bring the centre of gravity farthest forward "
        "and farthest aft",
        "read",
    ),
    CardSource(
        "jet practice: balance is checked with main tanks empty, the header full, gear down and up",
        "common practice",
    ),
    CardSource("hanging or lifting the level aircraft as a check on the scales", "common practice"),
)
_SPREAD: Final = (
    "The ± is that of the weighing; add what the stand is off. Where it hangs level elsewhere, "
    "weigh again: one of the two is wrong."
)
_FUEL: Final = "With fuel aboard: no flame, no spark and nobody smoking; wipe up what is spilt."


def balance_cards(aircraft: Aircraft) -> CardGroup | None:
    """Return the group of the balance card, or None where no balance is declared."""
    study = aircraft.balance
    if study is None:
        return None
    before = (
        "Everything fitted that flies: packs, hatches, ballast. Level, in still air.",
        "After every weighing, and again after anything is moved, fitted or taken out.",
    )
    card = BenchCard(
        CARD,
        "Weigh, and hang level",
        (
            f"Measure stations from {study.balance.datum or 'the datum'}, aft positive.",
            "Lift or hang it at the station told, with the tanks and the undercarriage as told.",
        ),
        tuple(_lines(study)),
        cautions=(_FUEL,) if study.fuel.carried is not False else (),
        notes=(_SPREAD,),
    )
    return CardGroup("balance", "Weight and balance", before, (card,), _SOURCES)


def _lines(study: "BalanceStudy") -> Iterator[CardLine]:
    yield _mass_line(study)
    for state in study.states:
        yield _state_line(study, state)


def _mass_line(study: "BalanceStudy") -> CardLine:
    subjects = ("mass with only the fuel that cannot be used",)
    if study.fuel.carried is False:
        subjects = ("mass",)
    mass = study.empty_mass
    if mass is None:
        return CardLine(subjects, "", "a weighing that adds up to it")
    return CardLine(subjects, study.words.mass(mass.value, mass.spread))


def _state_line(study: "BalanceStudy", state: "BalanceState") -> CardLine:
    words = study.words
    if state.station is None:
        return CardLine((state.title,), "", "; ".join(need.text for need in state.needs))
    must = f"hangs level at {words.station(state.station)}"
    if state.limits is None:
        return CardLine((state.title,), must, note=_tanks(state))
    allowed = f"allowed: {words.limits(state.limits)}"
    outside = state.margin is not None and state.margin < 0.0
    if outside:
        allowed += ". That is outside: put it right first"
    note = "; ".join(text for text in (_tanks(state), allowed) if text)
    return CardLine((state.title,), must, note=note)


def _tanks(state: "BalanceState") -> str:
    return ", ".join(f"{name} {volume * 1e3:.2f} l" for name, volume in state.volumes)
