r"""The load table as JSON, for programs. Keys are promises; prose is free.

The shape, whose JSON Schema lies beside this module in ``loads.schema.json``::

    {
      "format": "holdshort-loads",
      "version": 1,                 a change that breaks readers raises it; new keys do not
      "file": "tarn.yaml",          as it was given; "-" is standard input
      "aircraft": "Tarn Swift",
      "air": {"words", "density_kg_m3"},
      "surfaces": [
        {"surface", "function", "servos": ["..."], "largest_share", "state",
         "worst": {"way", "surface_degrees", "speed_m_s", "dynamic_pressure_pascals",
                   "hinge_newton_metres", "needs_newton_metres"} or null,
         "servo": {"name", "newton_metres", "volts", "case", "basis"} or null,
         "has_over_needs",
         "throws": [
           {"way", "told_by", "surface_degrees", "arm_degrees", "advantage_kept",
            "arm_from_dead_centre_degrees", "horn_from_dead_centre_degrees", "dead_centre",
            "pushing", "points": [{"surface_degrees", "newton_metres"}]}
         ],
         "not_known": ["..."]}
      ],
      "assumptions": [{"text", "surfaces": ["..."]}],
      "unread": ["..."],            entries with mistakes of form, left out of all the above
      "caution": "..."
    }

``state`` is ``known``, ``at most`` where a voltage may be lower than ``servo`` says, or ``not
known``. What is not declared or not known is null.

The text is ASCII and holds no control character but line ends.
"""

import math
from typing import Any, Final

from holdshort.analysis import Aircraft
from holdshort.analysis.load_table import LoadRow, LoadTable, ThrowRow, load_table
from holdshort.fixlist.json_format import dump
from holdshort.fixlist.loads_view import CAUTION

FORMAT: Final = "holdshort-loads"
VERSION: Final = 1


def json_text(aircraft: Aircraft) -> str:
    """Return the load table of ``aircraft`` as JSON text."""
    return render_json(load_table(aircraft))


def render_json(table: LoadTable) -> str:
    """Return the load table as JSON text."""
    return dump(
        {
            "format": FORMAT,
            "version": VERSION,
            "file": table.file,
            "aircraft": table.aircraft,
            "air": {"words": table.air, "density_kg_m3": _rounded(table.density)},
            "surfaces": [_surface(row) for row in table.rows],
            "assumptions": [
                {"text": text, "surfaces": list(names)} for text, names in table.assumptions
            ],
            "unread": list(table.unread),
            "caution": CAUTION,
        }
    )


def _surface(row: LoadRow) -> dict[str, Any]:
    return {
        "surface": row.surface,
        "function": row.function,
        "servos": list(row.servos),
        "largest_share": _rounded(row.share),
        "state": row.state,
        "worst": _worst(row),
        "servo": _servo(row),
        "has_over_needs": _rounded(row.ratio),
        "throws": [_throw(throw) for throw in row.throws],
        "not_known": list(row.missing),
    }


def _worst(row: LoadRow) -> dict[str, Any] | None:
    if row.needs is None:
        return None
    return {
        "way": row.way,
        "surface_degrees": _degrees(row.angle),
        "speed_m_s": _rounded(row.speed),
        "dynamic_pressure_pascals": _rounded(row.pressure),
        "hinge_newton_metres": _rounded(row.moment),
        "needs_newton_metres": _rounded(row.needs),
    }


def _servo(row: LoadRow) -> dict[str, Any] | None:
    if row.has is None:
        return None
    return {
        "name": row.servo,
        "newton_metres": _rounded(row.has),
        "volts": _rounded(row.volts),
        "case": row.case,
        "basis": row.basis,
    }


def _throw(throw: ThrowRow) -> dict[str, Any]:
    return {
        "way": throw.way,
        "told_by": throw.told_by,
        "surface_degrees": _degrees(throw.surface),
        "arm_degrees": _degrees(throw.arm),
        "advantage_kept": _rounded(throw.kept),
        "arm_from_dead_centre_degrees": _degrees(throw.arm_left),
        "horn_from_dead_centre_degrees": _degrees(throw.horn_left),
        "dead_centre": throw.dead_centre or None,
        "pushing": throw.pushing,
        "points": [
            {"surface_degrees": _degrees(point.surface), "newton_metres": _rounded(point.torque)}
            for point in throw.points
        ],
    }


def _degrees(angle: float | None) -> float | None:
    """Return an angle in degrees, to a thousandth: below that it is rounding."""
    return None if angle is None else round(math.degrees(angle), 3)


def _rounded(figure: float | None) -> float | None:
    """Return a figure to six digits: below that it is rounding."""
    return None if figure is None else float(f"{figure:.6g}")
