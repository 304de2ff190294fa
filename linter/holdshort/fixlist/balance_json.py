r"""The balance of one aircraft as JSON. Keys are promises; prose is free.

The shape, whose JSON Schema lies beside this module in ``balance.schema.json``. Units stand in the
key names, a ``spread`` is twice the standard uncertainty, and null is not known::

    {
      "format": "holdshort-balance",
      "version": 1,                 a change that breaks readers raises it; new keys do not
      "file": "tarn.yaml",          as it was given; "-" is standard input
      "aircraft": "Tarn Swift",     null where it has no name
      "datum": "the nose",          null where it is not declared
      "states": [
        {"state", "gear", "fuel_litres", "mass_kg": FIGURE, "station_m": FIGURE, "chord_share",
         "side_m": FIGURE, "height_m": FIGURE, "forward_limit_m", "aft_limit_m", "inside_m",
         "needs": ["..."]}
      ],
      "weighings": [{"name", "on"}],
      "not_worked_in": [{"name", "changed", "weighing"}],
      "remedies": [
        {"kind", "name", "station_m", "mass_kg", "least", "middle", "inside_m", "words"}
      ],
      "assumptions": ["..."],
      "unread": ["balance.tanks.main"],
      "caution": "..."
    }

FIGURE is ``{"value", "spread"}`` or null. ``least`` and ``middle`` are metres aft (forward below
zero) for a ``move``, and kilograms for ``ballast``; ``least`` is null where it is not enough.

The text is ASCII and holds no control character but line ends.
"""

from typing import TYPE_CHECKING, Any, Final

from holdshort.analysis import Aircraft
from holdshort.analysis.balance_advice import advice
from holdshort.analysis.balance_sums import Reckoned
from holdshort.analysis.declared_tree import figure
from holdshort.document import show_path
from holdshort.fixlist.balance_view import CAUTION
from holdshort.fixlist.json_format import dump

if TYPE_CHECKING:
    from holdshort.analysis.balance import BalanceState, BalanceStudy

FORMAT: Final = "holdshort-balance"
VERSION: Final = 1


def json_text(aircraft: Aircraft) -> str:
    """Return the balance of ``aircraft`` as JSON text."""
    setup, study = aircraft.setup, aircraft.balance
    found: dict[str, Any] = {
        "format": FORMAT,
        "version": VERSION,
        "file": setup.file,
        "aircraft": setup.aircraft.name if setup.aircraft else None,
        "datum": None,
        "states": [],
        "weighings": [],
        "not_worked_in": [],
        "remedies": [],
        "assumptions": [],
        "unread": [show_path(path) for path in sorted(setup.broken, key=str)],
        "caution": CAUTION,
    }
    if study is not None:
        found.update(_study(study))
    return dump(found)


def _study(study: "BalanceStudy") -> dict[str, Any]:
    weighings = study.balance.weighings or {}
    return {
        "datum": study.balance.datum,
        "states": [_state(study, state) for state in study.states],
        "weighings": [{"name": name, "on": weighings[name].on} for name in study.weighings],
        "not_worked_in": [
            {"name": one.name, "changed": one.day, "weighing": one.weighing} for one in study.stale
        ],
        "remedies": _remedies(study),
        "assumptions": list(study.assumptions),
    }


def _state(study: "BalanceStudy", state: "BalanceState") -> dict[str, Any]:
    share = None if state.station is None else study.words.share(state.station.value)
    limits = state.limits
    return {
        "state": state.name,
        "gear": state.gear or None,
        "fuel_litres": _tidy(None if state.fuel is None else state.fuel * 1e3),
        "mass_kg": _figure(state.mass),
        "station_m": _figure(state.station),
        "chord_share": _tidy(share),
        "side_m": _figure(state.side),
        "height_m": _figure(state.height),
        "forward_limit_m": _tidy(limits.forward if limits else None),
        "aft_limit_m": _tidy(limits.aft if limits else None),
        "inside_m": _tidy(state.margin),
        "needs": [need.text for need in (*state.needs, *state.limit_needs)],
    }


def _remedies(study: "BalanceStudy") -> list[dict[str, Any]]:
    return [
        {
            "kind": remedy.kind,
            "name": remedy.name,
            "station_m": _tidy(remedy.station),
            "mass_kg": _tidy(remedy.mass) if remedy.kind == "move" else None,
            "least": _tidy(remedy.inside),
            "middle": _tidy(remedy.middle),
            "inside_m": _tidy(remedy.margin),
            "words": words,
        }
        for remedy, words in zip(study.remedies, advice(study), strict=True)
    ]


def _figure(found: Reckoned | None) -> dict[str, float | None] | None:
    if found is None:
        return None
    return {"value": _tidy(found.value), "spread": _tidy(found.spread)}


def _tidy(value: float | None) -> float | None:
    return None if value is None else figure(value)
