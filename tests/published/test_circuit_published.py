"""The circuit solver against a table of published and derived operating points.

Rows `dc_*`, `regulator_*` and the circuit rows of `battery_*` of the project's collection of check
values. Their source and confidence stand beside each: FOUND was read in a public copy, MEMORY is
from memory, DERIVED was computed by an independent formula or by ngspice 39.
"""

import math
from types import ModuleType

import pytest

from holdshort.analysis.circuit import (
    Collapse,
    CurrentLoad,
    Diode,
    Element,
    LinearRegulator,
    PowerLoad,
    ResistanceLoad,
    Resistor,
    Solution,
    Source,
    SwitchingRegulator,
    junction_temperature,
    solve,
)

LEAST = 1e-5
"""Stands for the ideal source of a reference netlist, whose resistance is an element of its own."""


def operating_point(*elements: Element) -> Solution:
    solution = solve(elements)
    assert isinstance(solution, Solution)
    return solution


# Each row: the elements, ngspice's netlist, expected voltages and source current.
# DERIVED: ngspice 39 (.op), cross-checked there with scipy.fsolve or closed form.
DC_NETS: dict[str, tuple[list[Element], str, dict[str, float]]] = {
    "dc_net_A": (
        [
            Source("v1", "bus", 12.0, 0.020),
            Resistor("rw", "bus", "load", 0.050),
            CurrentLoad("i1", "load", 5.0),
        ],
        "V1 src 0 DC 12\nRi src bus 0.020\nRw bus load 0.050\nI1 load 0 DC 5",
        {"bus": 11.9, "load": 11.65},
    ),
    "dc_net_B": (
        [
            Source("v1", "bus", 12.0, 0.020),
            Resistor("rw1", "bus", "n1", 0.050),
            Resistor("rw2", "bus", "n2", 0.080),
            CurrentLoad("i1", "n1", 5.0),
            ResistanceLoad("rr1", "n1", 100.0),
            PowerLoad("b2", "n2", 30.0),
        ],
        (
            "V1 src 0 DC 12\nRi src bus 0.020\nRw1 bus n1 0.050\nRw2 bus n2 0.080\n"
            "I1 n1 0 DC 5\nRr1 n1 0 100\nB2 n2 0 I=30/V(n2)\n.nodeset v(n2)=11 v(n1)=11 v(bus)=11.8"
        ),
        {"bus": 11.84613531, "n1": 11.59034014, "n2": 11.63994884, "v1": 7.69323432},
    ),
    "dc_net_F": (
        [
            Source("v1", "bus", 8.4, 0.05),
            SwitchingRegulator("b1", "bus", "out", 6.0, 0.9, output_resistance=LEAST),
            PowerLoad("p1", "out", 60.0),
        ],
        "V1 a 0 DC 8.4\nR1 a bus 0.05\nB1 bus 0 I=(6*10/0.9)/V(bus)\n.nodeset v(bus)=8",
        {"bus": 7.98241545, "v1": 8.35169092},
    ),
    "dc_net_G": (
        [
            Source("v1", "n1", 6.0, 0.02),
            Resistor("rb", "n1", "n2", 0.02),
            Resistor("rc", "n2", "n3", 0.02),
            Resistor("rd", "n3", "n4", 0.02),
            *(CurrentLoad(f"i{n}", f"n{n}", 1.0) for n in (1, 2, 3, 4)),
        ],
        (
            "V1 s 0 DC 6.0\nRa s n1 0.02\nRb n1 n2 0.02\nRc n2 n3 0.02\nRd n3 n4 0.02\n"
            "I1 n1 0 DC 1\nI2 n2 0 DC 1\nI3 n3 0 DC 1\nI4 n4 0 DC 1"
        ),
        {"n1": 5.92, "n2": 5.86, "n3": 5.82, "n4": 5.8},
    ),
    "dc_net_I": (
        [
            Source("v1", "t", 10.0, LEAST),
            Resistor("r1", "t", "a", 100.0),
            ResistanceLoad("r2", "a", 200.0),
            Resistor("r3", "t", "b", 150.0),
            ResistanceLoad("r4", "b", 250.0),
            Resistor("rg", "a", "b", 50.0),
        ],
        "V1 t 0 DC 10\nR1 t a 100\nR2 a 0 200\nR3 t b 150\nR4 b 0 250\nRg a b 50",
        {"a": 6.53465347, "b": 6.43564356, "v1": 0.05841584},
    ),
    "dc_net_R": (
        [
            Source("v1", "bp", 8.4, 0.02),
            Resistor("rp", "bp", "lp", 0.015),
            CurrentLoad("i1", "lp", 12.0, "ln"),
            Resistor("rn", "ln", "ground", 0.015),
        ],
        "V1 s 0 DC 8.4\nRb s bp 0.02\nRp bp lp 0.015\nI1 lp ln DC 12\nRn ln 0 0.015",
        {"bp": 8.16, "lp": 7.98, "ln": 0.18, "v1": 12.0},
    ),
}


@pytest.mark.parametrize("name", DC_NETS)
def test_reference_network(name: str) -> None:
    elements, _, expected = DC_NETS[name]
    solution = operating_point(*elements)
    for what, value in expected.items():
        got = solution.currents[what] if what == "v1" else solution.voltages[what]
        assert got == pytest.approx(value, abs=2e-6), what


@pytest.mark.parametrize("name", DC_NETS)
def test_reference_network_in_ngspice_here(name: str, spice: ModuleType) -> None:
    elements, netlist, expected = DC_NETS[name]
    solution = operating_point(*elements)
    found = spice.operating_point(netlist.splitlines())
    for node in expected.keys() - {"v1"}:
        assert solution.voltages[node] == pytest.approx(found[node], abs=1e-6), node
    assert solution.currents["v1"] == pytest.approx(-found["v1#branch"], abs=2e-6)


def test_diode_combined_sources_share_unequally() -> None:
    """Row dc_net_J (DERIVED, ngspice 39): 8.4 and 8.2 V behind 30 milliohm, real diodes, 10 A.

    The reference diode is i = IS (exp(v / VT) - 1), IS 1e-6 A, 27 C. Ours is a drop and a
    resistance; each is set to the reference law's tangent at the current we found last, until
    nothing changes. Only the law and the row's inputs go in.
    """
    saturation, thermal = 1e-6, 1.380649e-23 * 300.15 / 1.602176634e-19
    currents = {"d1": 5.0, "d2": 5.0}
    for _ in range(50):
        diodes = []
        for (name, current), node in zip(currents.items(), "ab", strict=True):
            slope = thermal / (current + saturation)
            drop = thermal * math.log1p(current / saturation)
            diodes.append(Diode(name, node, "bus", drop - slope * current, slope))
        solution = operating_point(
            Source("v1", "a", 8.4, 0.03),
            Source("v2", "b", 8.2, 0.03),
            *diodes,
            CurrentLoad("i1", "bus", 10.0),
        )
        currents = {name: max(solution.currents[name], 0.01) for name in currents}
    assert solution.voltages["bus"] == pytest.approx(7.75586013, abs=2e-4)
    assert solution.currents["v1"] == pytest.approx(7.79018841, abs=2e-4)
    assert solution.currents["v2"] == pytest.approx(2.20981159, abs=2e-4)


def test_power_load_takes_the_upper_of_two_roots() -> None:
    """Row dc_cp_two_roots (DERIVED: V^2 - E V + P R = 0)."""
    solution = operating_point(Source("e", "bus", 7.4, 0.1), PowerLoad("p", "bus", 100.0))
    assert solution.voltages["bus"] == pytest.approx(5.620937, abs=1e-5)


def test_power_over_the_limit_collapses() -> None:
    """Row dc_cp_max_power (DERIVED: Pmax = E^2 / 4R = 136.9 W at E / 2 = 3.7 V)."""
    collapse = solve([Source("e", "bus", 7.4, 0.1), PowerLoad("p", "bus", 137.0)])
    assert isinstance(collapse, Collapse)
    (place,) = collapse.places
    assert place.share * 137.0 == pytest.approx(136.9, abs=2e-4)
    assert place.voltage == pytest.approx(3.7, abs=5e-3)
    below = operating_point(Source("e", "bus", 7.4, 0.1), PowerLoad("p", "bus", 136.9 - 1e-6))
    assert below.voltages["bus"] == pytest.approx(3.7, abs=1e-3)


def test_parallel_sources() -> None:
    """Row dc_millman (DERIVED: V = (sum E/R - I) / sum 1/R)."""
    packs = Source("e1", "bus", 8.4, 0.03), Source("e2", "bus", 8.2, 0.03)
    loaded = operating_point(*packs, CurrentLoad("i", "bus", 10.0))
    assert loaded.voltages["bus"] == pytest.approx(8.15, abs=1e-9)
    at_rest = operating_point(*packs)
    circulating = 0.2 / 0.06
    assert at_rest.currents["e1"] == pytest.approx(circulating, abs=1e-9)
    assert at_rest.currents["e2"] == pytest.approx(-circulating, abs=1e-9)


def test_linear_regulator_heat() -> None:
    """Row regulator_linear_heat (DERIVED: P = (Vin - Vout) I): 7.9 V to 6 V at 10 A."""
    solution = operating_point(
        Source("e", "in", 7.9 + 10.0 * LEAST, LEAST),
        LinearRegulator("r", "in", "out", 6.0 + 10.0 * LEAST, 0.5, output_resistance=LEAST),
        CurrentLoad("i", "out", 10.0),
    )
    point = solution.regulators["r"]
    assert point.heat == pytest.approx(19.0, abs=1e-6)
    efficiency = solution.delivered["i"] / (point.input_voltage * point.input_current)
    assert efficiency == pytest.approx(0.759494, abs=1e-6)


def test_junction_temperature() -> None:
    """Row regulator_linear_junction (DERIVED, JEDEC JESD51 definition from memory)."""
    assert junction_temperature(2.4, 35.0, 40.0) == pytest.approx(124.0, abs=1e-9)


# (source, emf V, internal ohm, load ohm, current A, terminal V, relative tolerance)
BATTERY_AND_RESISTOR = {
    "battery_openstax_R10_r0p1": (12.0, 0.1, 10.0, 1.188, 11.9, 0.002),  # MEMORY, from memory
    "battery_openstax_R0p5_r0p1": (12.0, 0.1, 0.5, 20.0, 10.0, 0.002),  # MEMORY, from memory
    "battery_jamb_2023": (24.0, 1.0, 5.0, 4.0, 20.0, 1e-9),  # FOUND, JAMB Physics 2023
}


@pytest.mark.parametrize("name", BATTERY_AND_RESISTOR)
def test_battery_with_internal_resistance(name: str) -> None:
    emf, internal, load, current, terminal, tolerance = BATTERY_AND_RESISTOR[name]
    solution = operating_point(Source("e", "bus", emf, internal), ResistanceLoad("r", "bus", load))
    assert solution.currents["e"] == pytest.approx(current, rel=tolerance)
    assert solution.voltages["bus"] == pytest.approx(terminal, rel=tolerance)
    if name == "battery_openstax_R0p5_r0p1":
        assert solution.delivered["r"] == pytest.approx(200.0, rel=0.002)


def test_cells_in_series() -> None:
    """Row battery_series_cells (DERIVED: V = n E - I (n r + r_c)), each cell drawn."""
    solution = operating_point(
        Source("cell 1", "tap", 4.1, 0.008),
        Source("cell 2", "top", 4.1, 0.008, "tap"),
        Resistor("connector", "top", "out", 0.004),
        CurrentLoad("i", "out", 15.0),
    )
    assert solution.voltages["out"] == pytest.approx(7.9, abs=1e-9)
    assert solution.voltages["tap"] == pytest.approx(4.1 - 15.0 * 0.008, abs=1e-9)
