"""The circuit solver against ngspice and against two independent methods, on drawn networks.

ngspice solves the same documented laws, written as behavioural sources (see `spice.py`). It stops
at whichever root Newton's method meets from its starting guess and often at none on kinked laws,
so on drawn networks it starts near our answer, 0.02 V low at every node: it then confirms or
denies that this is an operating point to 1e-6 V. That it is the *upper* one is checked against
fixed-point iteration from no load (NumPy), and that the diodes' on and off states are right
against trying every combination (NumPy).
"""

from itertools import product
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import fsolve

from holdshort.analysis.circuit import (
    Collapse,
    Conversion,
    CurrentLoad,
    Diode,
    Element,
    LinearRegulator,
    PowerLoad,
    Regulation,
    ResistanceLoad,
    Resistor,
    Solution,
    Source,
    SwitchingRegulator,
    solve,
)

PACK = Source("pack", "in", 8.0, 0.05)


def switching(
    conversion: Conversion, set_voltage: float, dropout: float = 0.0
) -> SwitchingRegulator:
    return SwitchingRegulator(
        "r", "in", "out", set_voltage, 0.9, dropout, 0.02, conversion=conversion
    )


def linear(set_voltage: float, dropout: float = 0.4) -> LinearRegulator:
    return LinearRegulator("r", "in", "out", set_voltage, dropout, 0.02)


# One network an element and state, with the state the laws put the regulator in.
EACH_KIND: dict[str, tuple[list[Element], Regulation | None]] = {
    "no load": ([PACK, Resistor("w", "in", "out", 0.1)], None),
    "three loads": (
        [
            PACK,
            Resistor("w", "in", "out", 0.1),
            CurrentLoad("i", "out", 2.0),
            PowerLoad("p", "out", 20.0),
            ResistanceLoad("o", "out", 10.0),
        ],
        None,
    ),
    "diode": ([PACK, Diode("d", "in", "out", 0.35, 0.02), PowerLoad("p", "out", 20.0)], None),
    "diode blocking": (
        [PACK, Source("high", "out", 8.4, 0.05), Diode("d", "in", "out", 0.35, 0.02)],
        None,
    ),
    "ideal diodes, equal packs": (
        [
            PACK,
            Source("twin", "in2", 8.0, 0.05),
            Diode("d", "in", "out", 0.0, 0.001),
            Diode("d2", "in2", "out", 0.0, 0.003),
            CurrentLoad("i", "out", 12.0),
        ],
        None,
    ),
    "ideal diodes, unequal packs": (
        [
            PACK,
            Source("low", "in2", 7.9, 0.05),
            Diode("d", "in", "out", 0.0, 0.001),
            Diode("d2", "in2", "out", 0.0, 0.003),
            CurrentLoad("i", "out", 12.0),
        ],
        None,
    ),
    "linear": ([PACK, linear(6.0), CurrentLoad("i", "out", 5.0)], Regulation.IN_REGULATION),
    "linear, power load": (
        [PACK, linear(6.0), PowerLoad("p", "out", 30.0)],
        Regulation.IN_REGULATION,
    ),
    "linear dropped out": (
        [PACK, linear(7.5), CurrentLoad("i", "out", 10.0)],
        Regulation.DROPPED_OUT,
    ),
    "linear held off": (
        [PACK, linear(6.0), Source("high", "out", 6.6, 0.05)],
        Regulation.OFF,
    ),
    "step down": (
        [PACK, switching(Conversion.STEP_DOWN, 5.0, dropout=0.5), PowerLoad("p", "out", 40.0)],
        Regulation.IN_REGULATION,
    ),
    "step down near dropout": (
        [PACK, switching(Conversion.STEP_DOWN, 7.3, dropout=0.1), CurrentLoad("i", "out", 4.0)],
        Regulation.IN_REGULATION,
    ),
    "step down dropped out": (
        [PACK, switching(Conversion.STEP_DOWN, 7.6, dropout=0.6), CurrentLoad("i", "out", 6.0)],
        Regulation.DROPPED_OUT,
    ),
    "step up": (
        [PACK, switching(Conversion.STEP_UP, 12.0), CurrentLoad("i", "out", 3.0)],
        Regulation.IN_REGULATION,
    ),
    "step up passed through": (
        [PACK, switching(Conversion.STEP_UP, 6.0, dropout=0.3), CurrentLoad("i", "out", 3.0)],
        Regulation.PASSED_THROUGH,
    ),
    "step up, input over output": (
        [PACK, switching(Conversion.STEP_UP, 7.0, dropout=1.2), CurrentLoad("i", "out", 3.0)],
        Regulation.IN_REGULATION,
    ),
    "linear into a weaker pack": (
        [
            PACK,
            Resistor("w", "in", "far", 0.45),
            LinearRegulator("r", "far", "out", 6.0, 0.0, 0.02, 0.02),
            Source("weak", "out", 4.7, 0.02),
        ],
        Regulation.DROPPED_OUT,
    ),
    "either, up": (
        [PACK, switching(Conversion.EITHER, 12.0), PowerLoad("p", "out", 36.0)],
        Regulation.IN_REGULATION,
    ),
    "either, down": (
        [PACK, switching(Conversion.EITHER, 5.0), ResistanceLoad("o", "out", 1.5)],
        Regulation.IN_REGULATION,
    ),
    "regulator on a wired return": (
        [
            PACK,
            Resistor("return", "com", "ground", 0.1),
            LinearRegulator("r", "in", "out", 5.0, 0.4, 0.05, common="com"),
            PowerLoad("p", "out", 15.0, "com"),
        ],
        Regulation.IN_REGULATION,
    ),
    "converter on a wired return": (
        [
            PACK,
            Resistor("return", "com", "ground", 0.1),
            SwitchingRegulator("r", "in", "out", 5.0, 0.85, 0.3, 0.05, common="com"),
            PowerLoad("p", "out", 25.0, "com"),
        ],
        Regulation.IN_REGULATION,
    ),
    "cells in series, load on the tap": (
        [
            Source("low", "tap", 3.9, 0.02),
            Source("high", "in", 4.1, 0.02, "tap"),
            CurrentLoad("i", "tap", 2.0),
            PowerLoad("p", "in", 25.0),
            ResistanceLoad("o", "in", 3.0, "tap"),
        ],
        None,
    ),
}


def answered(elements: list[Element]) -> Solution:
    solution = solve(elements)
    assert isinstance(solution, Solution)
    return solution


def guess_near(solution: Solution) -> dict[str, float]:
    return {node: v - 0.02 for node, v in solution.voltages.items() if node != "ground"}


@pytest.mark.parametrize("kind", EACH_KIND)
def test_each_kind_of_element(kind: str, spice: ModuleType) -> None:
    elements, regulation = EACH_KIND[kind]
    solution = answered(elements)
    found = spice.operating_points([elements], [guess_near(solution)])[0]
    assert found is not None
    assert {node: solution.voltages[node] for node in found} == pytest.approx(found, abs=1e-6)
    if regulation is not None:
        assert solution.regulators["r"].regulation is regulation


volts = st.integers(600, 860).map(lambda hundredths: hundredths / 100)
small = st.sampled_from([0.002, 0.01, 0.03, 0.1])
drops = st.sampled_from([0.0, 0.0, 0.3, 0.7])


@st.composite
def feeds(draw: st.DrawFn) -> list[Element]:
    """One to three packs joined plainly, through diodes or through regulators into `bus`."""
    elements: list[Element] = []
    twins = draw(st.booleans())
    emf = draw(volts)
    for pack in range(draw(st.integers(1, 3))):
        emf = emf if twins else draw(volts)
        elements.append(Source(f"pack{pack}", f"p{pack}", emf, draw(small)))
        match draw(st.sampled_from(["wire", "diode", "diode", "regulator"])):
            case "wire":
                elements.append(Resistor(f"lead{pack}", f"p{pack}", "bus", draw(small)))
            case "diode":
                diode = Diode(f"diode{pack}", f"p{pack}", "bus", draw(drops), draw(small))
                elements.append(diode)
            case _:
                elements.append(LinearRegulator(f"pre{pack}", f"p{pack}", "bus", 7.4, 0.2, 0.01))
    return elements


@st.composite
def networks(draw: st.DrawFn) -> list[Element]:
    """Feeds, a regulator or two, and under each a tree of leads with loops and mixed loads."""
    elements = draw(feeds())
    tops = ["bus"]
    for place in range(draw(st.integers(0, 2))):
        rail = f"rail{place}"
        tops.append(rail)
        set_voltage = draw(st.sampled_from([5.0, 6.0, 7.2]))
        dropout = draw(st.sampled_from([0.0, 0.3, 1.0]))
        if draw(st.booleans()):
            elements.append(LinearRegulator(f"reg{place}", "bus", rail, set_voltage, dropout, 0.02))
            continue
        conversion = draw(st.sampled_from(Conversion))
        aim = 12.0 if conversion is Conversion.STEP_UP else set_voltage
        elements.append(
            SwitchingRegulator(
                f"reg{place}", "bus", rail, aim, 0.88, dropout, 0.02, conversion=conversion
            )
        )
    nodes = {top: [top] for top in tops}
    for place in range(draw(st.integers(1, 8))):
        tree = nodes[draw(st.sampled_from(tops))]
        node = f"n{place}"
        elements.append(Resistor(f"w{place}", draw(st.sampled_from(tree)), node, draw(small)))
        if len(tree) > 1 and draw(st.booleans()):
            elements.append(Resistor(f"x{place}", draw(st.sampled_from(tree)), node, draw(small)))
        tree.append(node)
    everywhere = [node for tree in nodes.values() for node in tree]
    for place in range(draw(st.integers(0, 6))):
        node = draw(st.sampled_from(everywhere))
        size = draw(st.integers(1, 30)) / 10
        match draw(st.sampled_from(["current", "power", "resistance"])):
            case "current":
                elements.append(CurrentLoad(f"l{place}", node, size))
            case "power":
                elements.append(PowerLoad(f"l{place}", node, 5.0 * size))
            case _:
                elements.append(ResistanceLoad(f"l{place}", node, 10.0 / size))
    return elements


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(batch=st.lists(networks(), min_size=8, max_size=8))
def test_drawn_networks(batch: list[list[Element]], spice: ModuleType) -> None:
    pairs = [(network, solve(network)) for network in batch]
    solved = [(network, found) for network, found in pairs if isinstance(found, Solution)]
    assume(solved)
    answers = spice.operating_points(
        [network for network, _ in solved], [guess_near(found) for _, found in solved]
    )
    judged = [(ours, theirs) for (_, ours), theirs in zip(solved, answers, strict=True) if theirs]
    assume(judged)  # ngspice now and then finds no point at all, mostly on rails with no load
    for ours, theirs in judged:
        assert {node: ours.voltages[node] for node in theirs} == pytest.approx(theirs, abs=1e-6)
    # Networks that ngspice finds no point for may not be the rule, or nothing would be compared.
    assert 2 * len(judged) >= len(solved)


Matrix = np.ndarray[Any, np.dtype[np.float64]]


def node_equations(elements: list[Element], nodes: list[str]) -> tuple[Matrix, Matrix]:
    """Conductance matrix and injected currents of the sources, resistors and steady loads."""
    place = {node: number for number, node in enumerate(nodes)}
    matrix, injected = np.zeros((len(nodes), len(nodes))), np.zeros(len(nodes))
    for element in elements:
        match element:
            case Resistor():
                ends = [place[element.first], place[element.second]]
                matrix[np.ix_(ends, ends)] += np.array([[1, -1], [-1, 1]]) / element.resistance
            case Source():
                matrix[place[element.positive], place[element.positive]] += 1 / element.resistance
                injected[place[element.positive]] += element.emf / element.resistance
            case CurrentLoad():
                injected[place[element.positive]] -= element.current
            case ResistanceLoad():
                matrix[place[element.positive], place[element.positive]] += 1 / element.resistance
            case _:
                pass
    return matrix, injected


@settings(max_examples=200, deadline=None)
@given(
    emfs=st.lists(volts, min_size=1, max_size=3),
    tree=st.lists(st.tuples(st.integers(0, 99), small), min_size=1, max_size=8),
    loops=st.lists(st.tuples(st.integers(0, 99), st.integers(0, 99), small), max_size=3),
    powers=st.lists(st.tuples(st.integers(0, 99), st.integers(1, 60)), min_size=1, max_size=6),
)
def test_the_upper_root_of_power_loads(
    emfs: list[float],
    tree: list[tuple[int, float]],
    loops: list[tuple[int, int, float]],
    powers: list[tuple[int, int]],
) -> None:
    """Against V <- G^-1 (s - P / V) from no load, which falls onto the highest operating point."""
    nodes = [f"n{number}" for number in range(len(tree) + 1)]
    elements: list[Element] = [
        Source(f"e{place}", nodes[place % len(nodes)], emf, 0.03) for place, emf in enumerate(emfs)
    ]
    for place, (parent, ohm) in enumerate(tree):
        elements.append(Resistor(f"w{place}", nodes[parent % (place + 1)], nodes[place + 1], ohm))
    for place, (one, other, ohm) in enumerate(loops):
        ends = nodes[one % len(nodes)], nodes[other % len(nodes)]
        if ends[0] != ends[1]:
            elements.append(Resistor(f"x{place}", *ends, ohm))
    load = np.zeros(len(nodes))
    for place, (node, power) in enumerate(powers):
        elements.append(PowerLoad(f"p{place}", nodes[node % len(nodes)], float(power)))
        load[node % len(nodes)] += power
    matrix, injected = node_equations(elements, nodes)
    voltages = np.linalg.solve(matrix, injected)
    for _ in range(20000):
        before = voltages
        voltages = np.linalg.solve(matrix, injected - load / voltages)
        if not (voltages > 0.1).all() or np.abs(voltages - before).max() < 1e-12:
            break
    solution = solve(elements)
    if not (voltages > 0.1).all():
        assert not isinstance(solution, Solution)
        return
    assume(np.abs(voltages - before).max() < 1e-12)
    assert isinstance(solution, Solution)
    assert [solution.voltages[node] for node in nodes] == pytest.approx(voltages, abs=1e-6)


@settings(max_examples=200, deadline=None)
@given(
    emfs=st.lists(volts, min_size=4, max_size=4),
    leads=st.lists(st.tuples(st.integers(0, 3), st.integers(0, 3), small), max_size=3),
    diodes=st.lists(
        st.tuples(st.integers(0, 3), st.integers(0, 3), drops, small), min_size=1, max_size=5
    ),
    load=st.integers(0, 150),
)
def test_the_states_of_diodes(
    emfs: list[float],
    leads: list[tuple[int, int, float]],
    diodes: list[tuple[int, int, float, float]],
    load: int,
) -> None:
    """Against trying every on and off: the one combination where all agree with themselves."""
    nodes = ["a", "b", "c", "d"]
    elements: list[Element] = [
        Source(f"e{node}", node, emf, 0.05) for node, emf in zip(nodes, emfs, strict=True)
    ]
    elements += [
        Resistor(f"w{place}", nodes[one], nodes[other], ohm)
        for place, (one, other, ohm) in enumerate(leads)
        if one != other
    ]
    elements.append(CurrentLoad("l", "d", load / 10))
    fitted = [d for d in diodes if d[0] != d[1]]
    plain, injected = node_equations(elements, nodes)
    agreeing = []
    for states in product([False, True], repeat=len(fitted)):
        matrix, right = plain.copy(), injected.copy()
        for (one, other, drop, ohm), on in zip(fitted, states, strict=True):
            if on:
                ends = [one, other]
                matrix[np.ix_(ends, ends)] += np.array([[1, -1], [-1, 1]]) / ohm
                right[ends] += np.array([1, -1]) * drop / ohm
        voltages = np.linalg.solve(matrix, right)
        over = [voltages[one] - voltages[other] - drop for one, other, drop, _ in fitted]
        if all(v >= -1e-9 if on else v <= 1e-9 for v, on in zip(over, states, strict=True)):
            agreeing.append(voltages)
    elements += [
        Diode(f"d{place}", nodes[one], nodes[other], drop, ohm)
        for place, (one, other, drop, ohm) in enumerate(fitted)
    ]
    assume(agreeing and (agreeing[0] > 0.1).all())
    solution = answered(elements)
    for voltages in agreeing:
        assert [solution.voltages[node] for node in nodes] == pytest.approx(voltages, abs=1e-6)


NOSE: list[Element] = [
    Source("pack", "bus", 7.4, 0.03),
    Resistor("trunk", "bus", "hub", 0.04),
    Resistor("left", "hub", "a", 0.06),
    Resistor("right", "hub", "b", 0.15),
]


def with_powers(share: float) -> list[Element]:
    return [*NOSE, PowerLoad("pa", "a", share * 70.0), PowerLoad("pb", "b", share * 90.0)]


def test_the_limit_of_coupled_loads() -> None:
    """Against SciPy: node equations and a singular Jacobian, solved together for the share."""
    matrix, injected = node_equations(NOSE, ["bus", "hub", "a", "b"])
    power = np.array([0.0, 0.0, 70.0, 90.0])

    def at_the_nose(unknown: Matrix) -> Matrix:
        voltages, share = unknown[:4], unknown[4]
        balance = matrix @ voltages - injected + share * power / voltages
        slope = np.linalg.det(matrix - np.diag(share * power / voltages**2))
        return np.append(balance, slope / np.linalg.det(matrix))

    begin = np.array([6.0, 5.0, 4.5, 3.5, 0.7])
    found, _, fine, said = fsolve(at_the_nose, begin, xtol=1e-13, full_output=True)
    assert fine == 1, said
    collapse = solve(with_powers(1.0))
    assert isinstance(collapse, Collapse)
    (place,) = collapse.places
    assert place.consumer == "pb"
    assert place.share == pytest.approx(found[4], abs=1.1e-6)
    assert place.share <= found[4] + 1e-9
    assert isinstance(solve(with_powers(found[4] - 1e-5)), Solution)
    assert isinstance(solve(with_powers(found[4] + 1e-5)), Collapse)


def test_close_to_the_limit(spice: ModuleType) -> None:
    collapse = solve(with_powers(1.0))
    assert isinstance(collapse, Collapse)
    elements = with_powers(0.9995 * collapse.places[0].share)
    solution = answered(elements)
    guess = dict.fromkeys(["bus", "hub", "a", "b"], 7.4)
    found = spice.operating_points([elements], [guess])[0]
    assert found is not None
    assert {node: solution.voltages[node] for node in found} == pytest.approx(found, abs=1e-6)
