"""Time the circuit solver from 30 to 1000 nodes, beside NumPy and SciPy on the same systems.

Run: python tests/bench_circuit.py. Not a test: it prints medians and judges nothing.

- `solve`: the whole job from elements to a checked `Solution`.
- `linear`: one linear step of it, stamping included, order of elimination already chosen.
- `numpy`, `scipy`: numpy.linalg.solve and scipy.sparse.linalg.spsolve on the same linear system,
  matrix already assembled (dense, and compressed sparse columns).
- `collapse`: the whole job for the same network at forty times the load.
"""

import random
import statistics
import time
from collections.abc import Callable, Sequence

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import spsolve

from holdshort.analysis.circuit import (
    Collapse,
    CurrentLoad,
    Diode,
    Element,
    LinearRegulator,
    PowerLoad,
    Resistor,
    Solution,
    Source,
    SwitchingRegulator,
    solve,
)
from holdshort.analysis.circuit_newton import attempt, compile_network, linear_step, start
from holdshort.analysis.circuit_topology import survey

SIZES = (30, 60, 100, 150, 200, 300, 500, 700, 1000)


def aircraft(nodes: int, seed: int = 1, load: float = 60.0) -> list[Element]:
    """Two packs through diodes, two regulators, trees of leads with some loops and mixed loads."""
    draw = random.Random(seed)  # noqa: S311
    elements: list[Element] = [
        Source("pack 1", "p1", 8.3, 0.03),
        Source("pack 2", "p2", 8.2, 0.03),
        Resistor("switch 1", "p1", "s1", 0.01),
        Resistor("switch 2", "p2", "s2", 0.01),
        Diode("input 1", "s1", "bus", 0.3, 0.01),
        Diode("input 2", "s2", "bus", 0.3, 0.01),
        LinearRegulator("rail", "bus", "n0", 6.0, 0.3, 0.02),
        SwitchingRegulator("receiver supply", "bus", "n1", 5.0, 0.9, 0.5, 0.01),
    ]
    for place in range(2, nodes - 5):
        node, parent = f"n{place}", draw.randrange(max(0, place - 8), place)
        elements.append(Resistor(f"w{place}", f"n{parent}", node, draw.uniform(0.005, 0.05)))
        size = draw.uniform(0.2, 1.0) * load / nodes
        if place % 4 == 1:
            elements.append(PowerLoad(f"l{place}", node, size))
        elif place % 4 == 3:
            elements.append(CurrentLoad(f"l{place}", node, size / 6.0))
        if place % 20 == 19:
            elements.append(Resistor(f"x{place}", f"n{draw.randrange(place)}", node, 0.02))
    return elements


def milliseconds(job: Callable[[], object], runs: int = 25) -> float:
    taken: list[float] = []
    for _ in range(runs):
        begin = time.perf_counter()
        job()
        taken.append(time.perf_counter() - begin)
    return 1000.0 * statistics.median(taken)


def linear_system(elements: Sequence[Element]) -> tuple[Callable[[], object], list[list[float]]]:
    """Return one linear step at the operating point and its matrix, column by column."""
    surveyed = survey(elements)
    kept = [island in surveyed.decided for island in surveyed.island]
    network = compile_network(surveyed, kept)
    voltages = attempt(network, 1.0, start(network)).voltages
    count = len(kept)
    base = linear_step(network, 1.0, voltages, [0.0] * count)
    assert base is not None
    inverse = []
    for node in range(1, count):
        right = [0.0] * count
        right[node] = 1.0
        column = linear_step(network, 1.0, voltages, right)
        assert column is not None
        inverse.append([a - b for a, b in zip(column[1:], base[1:], strict=True)])
    return lambda: linear_step(network, 1.0, voltages, [0.0] * count), inverse


def line(nodes: int) -> str:
    """Return the medians for one size."""
    elements = aircraft(nodes)
    assert isinstance(solve(elements), Solution)
    heavy = aircraft(nodes, load=60.0 * 40.0)
    assert isinstance(solve(heavy), Collapse)
    step, inverse = linear_system(elements)
    dense = np.linalg.inv(np.array(inverse).T)
    dense[np.abs(dense) < 1e-6] = 0.0
    columns = sparse.csc_matrix(dense)
    right = np.ones(len(dense))
    return (
        f"{nodes:5d} {len(elements):8d} {milliseconds(lambda: solve(elements)):10.2f}"
        f" {milliseconds(lambda: solve(heavy), 5):12.2f} {milliseconds(step):11.3f}"
        f" {milliseconds(lambda: np.linalg.solve(dense, right)):11.3f}"
        f" {milliseconds(lambda: spsolve(columns, right)):11.3f}"
    )


def main() -> None:
    """Print one line a size."""
    print("nodes elements   solve ms  collapse ms   linear ms    numpy ms    scipy ms")
    for nodes in SIZES:
        print(line(nodes))


if __name__ == "__main__":
    main()
