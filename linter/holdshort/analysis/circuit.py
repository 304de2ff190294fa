"""The steady-state DC operating point of an on-board power network.

Draw the network from the elements below, call `solve`, and get a `Solution` or a `Collapse`.
"""

from collections.abc import Sequence

from holdshort.analysis.circuit_collapse import raise_load
from holdshort.analysis.circuit_elements import (
    GROUND,
    LEAST_RESISTANCE,
    Collapse,
    CollapsePlace,
    ConvergenceError,
    Conversion,
    CurrentLoad,
    Diode,
    Element,
    LinearRegulator,
    Load,
    PowerLoad,
    Regulation,
    Regulator,
    RegulatorPoint,
    ResistanceLoad,
    Resistor,
    Solution,
    Source,
    SwitchingRegulator,
)
from holdshort.analysis.circuit_newton import Attempt, Outcome, attempt, compile_network, start
from holdshort.analysis.circuit_reading import read
from holdshort.analysis.circuit_topology import Survey, joined, survey

__all__ = [
    "GROUND",
    "LEAST_RESISTANCE",
    "Collapse",
    "CollapsePlace",
    "ConvergenceError",
    "Conversion",
    "CurrentLoad",
    "Diode",
    "Element",
    "LinearRegulator",
    "Load",
    "PowerLoad",
    "Regulation",
    "Regulator",
    "RegulatorPoint",
    "ResistanceLoad",
    "Resistor",
    "Solution",
    "Source",
    "SwitchingRegulator",
    "junction_temperature",
    "solve",
]


def solve(elements: Sequence[Element]) -> Solution | Collapse:
    """Find the operating point of a network.

    Of several operating points the one with the highest voltages is taken: the one reached by
    raising the load from nothing. Raises `ValueError` when two elements share a name and
    `ConvergenceError` when the method fails, which is a fault of the method and never stands for
    a collapse.
    """
    _check_names(elements)
    surveyed = survey(elements)
    kept = [island in surveyed.decided for island in surveyed.island]
    whole = compile_network(surveyed, kept)
    tried = attempt(whole, 1.0, start(whole))
    if tried.outcome is Outcome.FOUND:
        return read(surveyed, kept, tried)
    return _solve_by_part(surveyed, kept)


def _check_names(elements: Sequence[Element]) -> None:
    names = {element.name for element in elements}
    if len(names) == len(elements):
        return
    seen: set[str] = set()
    for element in elements:
        if element.name in seen:
            raise ValueError(f"two elements are named {element.name!r}")
        seen.add(element.name)


def _solve_by_part(surveyed: Survey, kept: list[bool]) -> Solution | Collapse:
    """Solve each part that hangs together otherwise than through ground on its own."""
    group = joined(len(kept), surveyed.parts.links())
    places: list[CollapsePlace] = []
    voltages = [0.0] * len(kept)
    stands = [True] + [False] * (len(kept) - 1)
    iterations = 0
    for part in sorted({group[node] for node in range(1, len(kept)) if kept[node]}):
        mine = [keep and group[node] in {0, part} for node, keep in enumerate(kept)]
        result = raise_load(compile_network(surveyed, mine))
        if isinstance(result, CollapsePlace):
            places.append(result)
            continue
        iterations += result.iterations
        for node, inside in enumerate(mine):
            if inside:
                voltages[node], stands[node] = result.voltages[node], True
    found = Attempt(Outcome.FOUND, voltages, iterations)
    elsewhere = read(surveyed, stands, found) if any(stands[1:]) else None
    if not places and elsewhere is not None:
        return elsewhere
    places.sort(key=lambda place: place.share)
    return Collapse(tuple(places), elsewhere, surveyed.floating())


def junction_temperature(heat: float, resistance: float, ambient: float) -> float:
    """Return the junction temperature of a part giving off `heat`, in the unit of `ambient`.

    T_J = T_A + theta_JA * P, the definition of thermal resistance junction to ambient in JEDEC
    JESD51 (from memory). `heat` in W, `resistance` in K/W, `ambient` in degrees Celsius or K.
    """
    return ambient + resistance * heat
