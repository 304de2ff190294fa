"""The balance of one aircraft for a terminal: where it is, how far inside, and what to move.

Nothing rests on colour. All text passes through :func:`~holdshort.fixlist.plain.plain`.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from holdshort.analysis import Aircraft
from holdshort.analysis.balance_advice import advice
from holdshort.analysis.facts import Need
from holdshort.document import show_path
from holdshort.fixlist.paragraphs import WIDTH, fold, folded
from holdshort.setup.quantities import INCH, POUND

if TYPE_CHECKING:
    from holdshort.analysis.balance import BalanceState, BalanceStudy

CAUTION: Final = (
    "Worked out from what was weighed and declared: no word on whether the aircraft may fly. Lift "
    "it at the point told, with the tanks as told, and see that it hangs level."
)
_NO_BALANCE: Final = (
    "The file has no `balance`: it needs a datum, a weighing (or items to build up from), the "
    "tanks and the range in which the centre of gravity may lie."
)

_LEVEL: Final = 0.05e-3  # m: shown as 0.0 mm

Row = tuple[str, ...]

HEAD: Final = ("state", "fuel l", "mass kg", "at mm", "chord", "range mm", "inside mm")
INCH_HEAD: Final = ("state", "mass lb", "at in", "range in", "inside in")
_NAMES: Final = {"foremost on the way": "foremost", "rearmost on the way": "rearmost"}


def lines(aircraft: Aircraft) -> list[str]:
    """Return the balance of ``aircraft`` as lines of at most :data:`WIDTH` columns."""
    study = aircraft.balance
    blocks = [_heading(aircraft, study)]
    if study is None:
        blocks.append(folded(_NO_BALANCE))
    else:
        blocks += [
            _table(study),
            folded(told) if (told := sideways_told(study)) else [],
            _listed("It rests on", basis_told(study)),
            _listed("What could be moved or added", advice_told(study)),
            _listed("Not known, as something is missing", missing_told(study)),
            _listed("Taken for granted", study.assumptions),
        ]
    blocks += [_unread(aircraft), folded(CAUTION)]
    text = "\n".join("".join(f"{line.rstrip()}\n" for line in block) for block in blocks if block)
    return text.splitlines()


def _heading(aircraft: Aircraft, study: "BalanceStudy | None") -> list[str]:
    setup = aircraft.setup
    name = setup.aircraft.name if setup.aircraft else "an aircraft without a name"
    file = "standard input" if setup.file == "-" else setup.file
    found = [*folded(f"Balance of {name}"), *folded(file)]
    if study is not None:
        datum = study.balance.datum or "a datum that is not declared"
        found += folded(f"Stations from {datum}, aft positive.")
    return found


def _table(study: "BalanceStudy") -> list[str]:
    found: list[str] = []
    for gear in dict.fromkeys(state.gear for state in study.states):
        states = [state for state in study.states if state.gear == gear]
        found += folded(f"Gear {gear}") if gear else []
        found += _columns([HEAD, *(state_row(study, state) for state in states)])
        if study.words.inches:
            found += _columns([INCH_HEAD, *(inch_row(state) for state in states)])
    return found


def _columns(rows: Sequence[Row]) -> list[str]:
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    lines = (
        "  " + "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True))
        for row in rows
    )
    return [part for line in lines for part in fold(line.rstrip(), WIDTH)]


def state_row(study: "BalanceStudy", state: "BalanceState") -> Row:
    """Return the cells of one state, under :data:`HEAD`."""
    station, mass, limits = state.station, state.mass, state.limits
    share = None if station is None else study.words.share(station.value)
    return (
        _NAMES.get(state.name, state.name),
        "?" if state.fuel is None else f"{state.fuel * 1e3:.2f}",
        "?" if mass is None else f"{mass.value:.2f}",
        "?" if station is None else _spread(station.value, station.spread),
        "?" if share is None else f"{share * 100:.1f} %",
        "?" if limits is None else f"{_mm(limits.forward)} to {_mm(limits.aft)}",
        _inside(state),
    )


def inch_row(state: "BalanceState") -> Row:
    """Return the cells of one state in inches and pounds, under :data:`INCH_HEAD`."""
    station, limits, margin = state.station, state.limits, state.margin
    return (
        _NAMES.get(state.name, state.name),
        "?" if state.mass is None else f"{state.mass.value / POUND:.2f}",
        "?" if station is None else f"{station.value / INCH:.2f}",
        "?" if limits is None else f"{limits.forward / INCH:.2f} to {limits.aft / INCH:.2f}",
        "?" if margin is None else f"{margin / INCH:.2f}",
    )


def _spread(value: float, spread: float | None) -> str:
    return f"{_mm(value)} ± {'?' if spread is None else _mm(spread)}"


def _mm(metres: float) -> str:
    text = f"{metres * 1e3:.1f}"
    return "0.0" if text == "-0.0" else text


def _inside(state: "BalanceState") -> str:
    forward, aft = state.forward_margin, state.aft_margin
    if forward is None or aft is None:
        return "?"
    margin = min(forward, aft)
    if margin < 0.0:
        return f"OUT by {_mm(-margin)}, {'forward' if forward < aft else 'aft'}"
    spread = state.station.spread if state.station else None
    return f"{_mm(margin)}, unsure" if spread and margin < spread else _mm(margin)


def sideways_told(study: "BalanceStudy") -> str:
    """Return how far it is off the centre line, or nothing where that is not known."""
    sides = [(one.side, one.title) for one in study.states if one.side is not None]
    if not sides:
        return ""
    side, title = max(sides, key=lambda one: abs(one[0].value))
    way = "the right" if side.value > 0.0 else "the left"
    figure = study.words.reckoned(side._replace(value=abs(side.value)))
    if abs(side.value) < _LEVEL:
        way = "either side"
    text = f"Sideways it is off the centre line by {figure} to {way} at most ({title})."
    heights = [one.height for one in study.states if one.height is not None]
    if heights:
        text += f" In height it is at {study.words.reckoned(heights[0])}."
    return text


def basis_told(study: "BalanceStudy") -> tuple[str, ...]:
    """Return what the figures rest on, and what was not worked into them."""
    weighings = study.balance.weighings or {}
    found = [f"the weighing `{name}` of {weighings[name].on}" for name in study.weighings]
    weighed = min((weighings[name].on for name in study.weighings), default="")
    changes = study.balance.changes or {}
    found += [
        f"`{name}`, changed on {change.on}"
        for name, change in changes.items()
        if weighed and change.on > weighed
    ]
    if not found and study.balance.items:
        found = ["a build-up from the items and the devices that have a mass"]
    stale = [
        f"NOT worked in: `{one.name}` was fitted or moved on {one.day}, after the weighing of "
        f"{one.weighed}"
        for one in study.stale
    ]
    return (*found, *stale)


def advice_told(study: "BalanceStudy") -> tuple[str, ...]:
    """Return what could be moved or added."""
    found = advice(study)
    if not found and study.known:
        found = (
            "Nothing is declared: give packs a mass and a station, or name places for `ballast`.",
        )
    return found


def missing_told(study: "BalanceStudy") -> tuple[str, ...]:
    """Return what would have to be declared, and for which states."""
    found: dict[Need, list[str]] = {}
    for state in study.states:
        for need in (*state.needs, *state.limit_needs):
            found.setdefault(need, []).append(state.title)
    told = [
        f"{need.text} ({show_path(need.place.path)}): for {', '.join(titles)}"
        for need, titles in found.items()
    ]
    known = [state for state in study.states if state.station is not None]
    if any(one.station and one.station.spread is None for one in known):
        told.append("how closely it is measured (balance.accuracy): for every ±")
    return tuple(told)


def _unread(aircraft: Aircraft) -> list[str]:
    unread = [show_path(path) for path in sorted(aircraft.setup.broken, key=str)]
    if not unread:
        return []
    return folded(f"Left out, as they have mistakes of form: {', '.join(unread)}.")


def _listed(title: str, texts: Sequence[str]) -> list[str]:
    if not texts:
        return []
    return [*folded(title), *(line for text in texts for line in folded(text, "  ", "    "))]
