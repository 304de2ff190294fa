"""What to move, or to add, to put the balance right: in words."""

from typing import TYPE_CHECKING, Final

from holdshort.analysis.balance_remedies import Remedy

if TYPE_CHECKING:
    from holdshort.analysis.balance import BalanceStudy

_FEW: Final = 2
_NOTHING: Final = 0.5e-3
"""A move of less than half a millimetre, or ballast of less than half a gram, is none
(common practice, no source)."""


def advice(study: "BalanceStudy") -> tuple[str, ...]:
    """Return a sentence or two for each remedy."""
    return tuple(_sentence(study, remedy) for remedy in study.remedies)


def best_advice(study: "BalanceStudy") -> str:
    """Return the advice that serves best: a move that is enough, or else ballast; or nothing.

    Packs are moved before lead is added (common practice, no source). Of several that are enough
    it is the one with the smallest move; of those that are not, the two that bring it farthest.
    """
    enough = [one for one in study.remedies if one.inside is not None]
    if not enough:
        best_first = sorted(study.remedies, key=lambda one: one.margin, reverse=True)
        return " ".join(_sentence(study, one) for one in best_first[:_FEW])
    best = min(enough, key=lambda one: (one.kind == "ballast", abs(one.inside or 0.0)))
    return _sentence(study, best)


def _sentence(study: "BalanceStudy", remedy: Remedy) -> str:
    gain = abs(remedy.middle) >= _NOTHING
    inside = "inside" if remedy.margin >= 0.0 else "outside"
    then = f"the worst state is then {study.words.length(abs(remedy.margin))} {inside}"
    best = f"; best is {_amount(study, remedy, remedy.middle)}: {then}." if gain else f": {then}."
    if remedy.inside is None:
        verdict = f"is not enough alone{_room(remedy)}" if gain else f"does not help{_room(remedy)}"
        return f"{_named(study, remedy)} {verdict}{best}"
    if abs(remedy.inside) < _NOTHING:
        return f"{_named(study, remedy)} {'is not needed' if gain else 'gains nothing'}{best}"
    order = f"{_order(study, remedy, remedy.inside)}, at least"
    if remedy.kind == "move" and not remedy.roomy:
        return f"{order}, if there is room (`balance.movable` does not say).{_or_lead(study)}"
    return f"{order}{best}"


def _named(study: "BalanceStudy", remedy: Remedy) -> str:
    words = study.words
    at = words.length(remedy.station)
    if remedy.kind == "move":
        return f"Moving `{remedy.name}` ({words.mass(remedy.mass)} at {at})"
    return f"Ballast at `{remedy.name}` ({at})"


def _order(study: "BalanceStudy", remedy: Remedy, amount: float) -> str:
    words = study.words
    at, told = words.length(remedy.station), _amount(study, remedy, amount)
    if remedy.kind == "ballast":
        return f"Fit {told} at `{remedy.name}` ({at})"
    return f"Move `{remedy.name}` ({words.mass(remedy.mass)} at {at}) {told}"


def _amount(study: "BalanceStudy", remedy: Remedy, amount: float) -> str:
    words = study.words
    if remedy.kind == "ballast":
        return words.mass(amount)
    way = "aft" if amount > 0.0 else "forward"
    return f"{words.length(abs(amount))} {way}, to {words.length(remedy.station + amount)}"


def _or_lead(study: "BalanceStudy") -> str:
    if study.balance.ballast:
        return ""
    return " If not, name places for `ballast`, and it is worked out how much does it."


def _room(remedy: Remedy) -> str:
    """Say that the declared room is used up, where it is."""
    at_end = any(abs(remedy.middle - end) < _NOTHING for end in remedy.bound)
    return " in the room there is" if at_end else ""
