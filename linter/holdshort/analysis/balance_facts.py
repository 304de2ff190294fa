"""The facts of balance that rules in data pick from, each with where it came from.

Kilograms, metres, litres; shares of the chord from 0 to 1. A ``spread`` is an expanded uncertainty.
"""

from typing import TYPE_CHECKING, Any, Final

from holdshort.analysis.aircraft import Aircraft
from holdshort.analysis.balance_sums import Reckoned
from holdshort.analysis.fact_book import FactBook
from holdshort.analysis.facts import Need
from holdshort.document import Path

if TYPE_CHECKING:
    from holdshort.analysis.balance import BalanceState, BalanceStudy

_BASE: Final[Path] = ("computed", "balance")
_LITRE: Final = 1e-3


def add_balance(book: FactBook, aircraft: Aircraft) -> None:
    """Add the mass and the centre of gravity of every state."""
    study = aircraft.balance
    if study is None:
        if "aircraft" not in aircraft.setup.sections:
            return
        need = Need(aircraft.setup.place("balance"), "the balance: its weighing, tanks and range")
        book.lack(_BASE, [need], need)
        return
    book.put(_BASE, {"states": {}}, aircraft.setup.place("balance"))
    for name in study.weighings:
        weighing = (study.balance.weighings or {})[name]
        place = aircraft.setup.place("balance", "weighings", name)
        book.put((*_BASE, "weighings", name), {"on": weighing.on}, place)
    for state in study.states:
        _add_state(book, study, state)


def _add_state(book: FactBook, study: "BalanceStudy", state: "BalanceState") -> None:
    path = (*_BASE, "states", state.title)
    book.put(path, _state(study, state), state.place)
    for key in ("mass_kg", "station_m"):
        figure = state.mass if key == "mass_kg" else state.station
        if figure is None:
            needs = state.needs or (Need(state.place, "what the aircraft weighs"),)
            book.lack((*path, key), needs, needs[0])
    if state.limits is None and state.limit_needs:
        book.lack((*path, "forward_limit_m"), state.limit_needs, state.limit_needs[0])


def _state(study: "BalanceStudy", state: "BalanceState") -> dict[str, Any]:
    limits = state.limits
    share = None if state.station is None else study.words.share(state.station.value)
    return {
        "state": state.name,
        "gear": state.gear or None,
        "fuel_litres": None if state.fuel is None else state.fuel / _LITRE,
        **_figure("mass", "kg", state.mass),
        **_figure("station", "m", state.station),
        "chord_share": share,
        **_figure("side", "m", state.side),
        **_figure("height", "m", state.height),
        "forward_limit_m": None if limits is None else limits.forward,
        "aft_limit_m": None if limits is None else limits.aft,
        "inside_m": state.margin,
    }


def _figure(name: str, unit: str, figure: Reckoned | None) -> dict[str, float | None]:
    if figure is None:
        return {}
    return {f"{name}_{unit}": figure.value, f"{name}_spread_{unit}": figure.spread}
