"""The circuit solver: laws that hold whatever the network, collapse, floating and odd parts."""

import math
import random
import re
from collections import defaultdict
from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from holdshort.analysis.circuit import (
    GROUND,
    LEAST_RESISTANCE,
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

PACK = Source("pack", "bus", 8.0, 0.05)


def answered(elements: list[Element]) -> Solution:
    solution = solve(elements)
    assert isinstance(solution, Solution)
    return solution


def collapsed(elements: list[Element]) -> Collapse:
    collapse = solve(elements)
    assert isinstance(collapse, Collapse)
    return collapse


nodes = st.sampled_from([f"n{number}" for number in range(7)])
apart = st.tuples(nodes, nodes).filter(lambda pair: pair[0] != pair[1])
ohms = st.sampled_from([0.001, 0.01, 0.05, 0.3])


@st.composite
def networks(draw: st.DrawFn) -> list[Element]:
    """Anything on seven nodes: loops, antiparallel diodes, parts with no supply or no ground."""
    elements: list[Element] = []
    for place in range(draw(st.integers(1, 3))):
        emf = draw(st.sampled_from([6.0, 6.6, 7.4, 8.4]))
        elements.append(Source(f"e{place}", draw(nodes), emf, draw(ohms)))
    elements += [
        Resistor(f"w{place}", *draw(apart), draw(ohms)) for place in range(draw(st.integers(0, 9)))
    ]
    for place in range(draw(st.integers(0, 4))):
        drop = draw(st.sampled_from([0.0, 0.35]))
        elements.append(Diode(f"d{place}", *draw(apart), drop, draw(ohms)))
    for place in range(draw(st.integers(0, 2))):
        rail = f"rail{place}"
        if draw(st.booleans()):
            elements.append(LinearRegulator(f"r{place}", draw(nodes), rail, 5.0, 0.5, 0.01))
        else:
            way = draw(st.sampled_from(Conversion))
            elements.append(
                SwitchingRegulator(
                    f"r{place}", draw(nodes), rail, 5.5, 0.9, 0.2, 0.01, conversion=way
                )
            )
        elements.append(CurrentLoad(f"s{place}", rail, draw(st.integers(0, 40)) / 10))
    for place in range(draw(st.integers(0, 5))):
        node, size = draw(nodes), draw(st.integers(1, 30)) / 10
        load = draw(st.sampled_from([CurrentLoad, PowerLoad, ResistanceLoad]))
        elements.append(load(f"l{place}", node, 5.0 * size))
    return elements


@settings(max_examples=400)
@given(networks())
def test_currents_balance_at_every_node(elements: list[Element]) -> None:
    """Kirchhoff's current law, summed from the reported currents alone."""
    solution = solve(elements)
    assume(isinstance(solution, Solution))
    assert isinstance(solution, Solution)
    leaving: defaultdict[str, float] = defaultdict(float)
    for element in elements:
        if element.name not in solution.currents:
            continue
        current = solution.currents[element.name]
        match element:
            case Source():
                ends = (element.negative, element.positive)
            case Resistor():
                ends = (element.first, element.second)
            case Diode():
                ends = (element.input, element.output)
            case LinearRegulator() | SwitchingRegulator():
                ends = (element.input, element.output)
                point = solution.regulators.get(element.name)
                extra = point.input_current - point.output_current if point else 0.0
                leaving[element.input] += extra
                leaving[element.common] -= extra
            case _:
                ends = (element.positive, element.negative)
        leaving[ends[0]] += current
        leaving[ends[1]] -= current
    assert max(map(abs, leaving.values()), default=0.0) < 1e-6


@settings(max_examples=400)
@given(networks())
def test_energy_is_conserved(elements: list[Element]) -> None:
    solution = solve(elements)
    assume(isinstance(solution, Solution))
    assert isinstance(solution, Solution)
    supplied = sum(solution.supplied.values())
    spent = sum(solution.losses.values()) + sum(solution.delivered.values())
    assert spent == pytest.approx(supplied, abs=1e-6 * (1.0 + abs(supplied)))
    assert all(loss >= -1e-9 for loss in solution.losses.values())


@settings(max_examples=300)
@given(networks())
def test_laws_hold_across_every_element(elements: list[Element]) -> None:
    solution = solve(elements)
    assume(isinstance(solution, Solution))
    assert isinstance(solution, Solution)
    for element in elements:
        if element.name not in solution.currents or element.name in solution.unserved:
            continue
        current, volts = solution.currents[element.name], solution.voltages
        match element:
            case Resistor():
                across = volts[element.first] - volts[element.second]
                assert current * element.resistance == pytest.approx(across, abs=1e-9)
            case Diode():
                across = volts[element.input] - volts[element.output]
                assert current >= 0.0
                if current > 1e-6:
                    drop = element.forward_drop + current * element.resistance
                    assert across == pytest.approx(drop, abs=1e-9)
                else:
                    assert across <= element.forward_drop + 1e-6
            case PowerLoad():
                assert volts[element.positive] * current == pytest.approx(element.power)
            case LinearRegulator():
                point = solution.regulators[element.name]
                assert point.input_current == pytest.approx(point.output_current + 0.01)
                assert point.output_voltage <= element.set_voltage + 1e-9
            case _:
                pass


@settings(max_examples=150)
@given(networks(), st.randoms(use_true_random=False))
def test_the_order_of_elements_changes_nothing(
    elements: list[Element], shuffler: random.Random
) -> None:
    first = solve(elements)
    mixed = elements[:]
    shuffler.shuffle(mixed)
    second = solve(mixed)
    assert type(first) is type(second)
    if isinstance(first, Solution) and isinstance(second, Solution):
        assert first.floating == second.floating
        assert sorted(first.unserved) == sorted(second.unserved)
        assert dict(first.voltages) == pytest.approx(dict(second.voltages), abs=1e-6)


@settings(max_examples=150)
@given(
    tree=st.lists(st.tuples(st.integers(0, 99), ohms), min_size=1, max_size=8),
    loops=st.lists(st.tuples(st.integers(0, 99), st.integers(0, 99), ohms), max_size=3),
    loads=st.lists(st.integers(0, 10), min_size=9, max_size=9),
    doubled=st.integers(0, 99),
)
def test_a_second_wire_beside_one_never_lowers_a_voltage(
    tree: list[tuple[int, float]],
    loops: list[tuple[int, int, float]],
    loads: list[int],
    doubled: int,
) -> None:
    """One pack, constant-current loads, source of the law: Rayleigh's monotonicity theorem.

    In a tree no voltage falls; with loops a voltage may, but the power lost in the wires does not
    rise, so the loads together never get less.
    """
    names = [f"n{number}" for number in range(len(tree) + 1)]
    elements: list[Element] = [Source("pack", "n0", 8.0, 0.05)]
    wires = [
        Resistor(f"w{place}", names[parent % (place + 1)], names[place + 1], ohm)
        for place, (parent, ohm) in enumerate(tree)
    ]
    wires += [
        Resistor(f"x{place}", names[one % len(names)], names[other % len(names)], ohm)
        for place, (one, other, ohm) in enumerate(loops)
        if one % len(names) != other % len(names)
    ]
    drawn = [
        CurrentLoad(f"l{place}", name, amperes / 10)
        for place, (name, amperes) in enumerate(zip(names, loads, strict=False))
    ]
    before = answered([*elements, *wires, *drawn])
    second = replace(wires[doubled % len(wires)], name="second")
    after = answered([*elements, *wires, second, *drawn])
    if len(wires) == len(tree):
        for node, voltage in before.voltages.items():
            assert after.voltages[node] >= voltage - 1e-9
    assert sum(after.delivered.values()) >= sum(before.delivered.values()) - 1e-9


@settings(max_examples=100)
@given(
    emf=st.integers(30, 250).map(lambda tenths: tenths / 10),
    source=ohms,
    lead=ohms,
    part=st.one_of(st.floats(0.01, 0.999999), st.floats(1.000002, 3.0)),
)
def test_collapse_comes_at_the_closed_form(
    emf: float, source: float, lead: float, part: float
) -> None:
    """A power load has a point up to E^2 / 4R (maximum power transfer), V^2 - E V + P R = 0."""
    resistance = source + lead
    most = emf**2 / (4.0 * resistance)
    power = part * most
    result = solve(
        [
            Source("pack", "bus", emf, source),
            Resistor("lead", "bus", "load", lead),
            PowerLoad("motor", "load", power),
        ]
    )
    if part < 1.0:
        assert isinstance(result, Solution)
        upper = (emf + math.sqrt(emf**2 - 4.0 * power * resistance)) / 2.0
        assert result.voltages["load"] == pytest.approx(upper, abs=1e-6)
        return
    assert isinstance(result, Collapse)
    (place,) = result.places
    assert (place.cause, place.consumer, place.node) == ("no operating point", "motor", "load")
    assert place.share == pytest.approx(1.0 / part, abs=1.1e-6)
    assert place.share <= 1.0 / part
    assert place.no_load_voltage == pytest.approx(emf)
    assert place.voltage == pytest.approx(emf / 2.0, rel=2e-3)


def test_collapse_names_the_load_that_falls_fastest() -> None:
    collapse = collapsed(
        [
            PACK,
            Resistor("short lead", "bus", "near", 0.01),
            Resistor("long lead", "bus", "far", 0.5),
            PowerLoad("receiver", "near", 5.0),
            PowerLoad("pump", "far", 60.0),
        ]
    )
    (place,) = collapse.places
    assert (place.consumer, place.node) == ("pump", "far")
    assert "receiver" not in place.also_falling


def test_collapse_at_the_input_of_a_converter_names_the_converter() -> None:
    collapse = collapsed(
        [
            PACK,
            Resistor("lead", "bus", "in", 0.4),
            SwitchingRegulator("boost", "in", "rail", 12.0, 0.9, conversion=Conversion.STEP_UP),
            CurrentLoad("lights", "rail", 4.0),
        ]
    )
    (place,) = collapse.places
    assert (place.consumer, place.node) == ("boost", "in")
    # The closed form for a converter: E^2 / 4R carried at 90 % into 12 V.
    assert place.share == pytest.approx(0.9 * 8.0**2 / (4 * 0.45) / 48.0, rel=5e-3)


def test_collapse_elsewhere_leaves_the_rest_solved() -> None:
    collapse = collapsed(
        [
            PACK,
            PowerLoad("receiver", "bus", 10.0),
            Source("engine pack", "engine bus", 7.4, 0.2),
            PowerLoad("pump", "engine bus", 100.0),
            ResistanceLoad("lost", "nowhere", 10.0, "nothing"),
        ]
    )
    assert [place.consumer for place in collapse.places] == ["pump"]
    assert collapse.floating == {"nowhere", "nothing"}
    assert collapse.elsewhere is not None
    assert collapse.elsewhere.voltages["bus"] == pytest.approx(
        (8.0 + math.sqrt(64.0 - 4 * 10.0 * 0.05)) / 2.0
    )
    assert "engine bus" not in collapse.elsewhere.voltages
    assert collapse.elsewhere.unserved == ("lost",)


def test_collapses_come_worst_first() -> None:
    collapse = collapsed(
        [
            Source("a", "a bus", 7.4, 0.2),
            PowerLoad("a load", "a bus", 80.0),
            Source("b", "b bus", 7.4, 0.2),
            PowerLoad("b load", "b bus", 160.0),
        ]
    )
    assert [place.consumer for place in collapse.places] == ["b load", "a load"]
    assert collapse.elsewhere is None


def test_a_current_load_past_the_short_circuit_current_collapses() -> None:
    collapse = collapsed([PACK, CurrentLoad("starter", "bus", 200.0)])
    (place,) = collapse.places
    assert (place.cause, place.consumer) == ("no voltage left", "starter")
    assert place.share == pytest.approx(160.0 / 200.0, abs=1.1e-6)


def test_a_load_under_its_minimum_is_told_and_keeps_its_power() -> None:
    solution = answered([PACK, PowerLoad("gyro", "bus", 200.0, minimum_voltage=7.0)])
    assert solution.below_minimum == ("gyro",)
    assert solution.currents["gyro"] * solution.voltages["bus"] == pytest.approx(200.0)


def test_a_converter_under_its_minimum_input_is_told() -> None:
    converter = SwitchingRegulator("bec", "bus", "rail", 5.0, 0.9, minimum_input=8.0)
    solution = answered([PACK, converter, CurrentLoad("receiver", "rail", 1.0)])
    assert solution.below_minimum == ("bec",)


def test_floating_nodes_are_told_and_the_rest_is_solved() -> None:
    solution = answered(
        [
            PACK,
            CurrentLoad("receiver", "bus", 1.0),
            Source("loose pack", "p", 7.4, 0.05, "q"),
            Resistor("loose lead", "p", "r", 0.05),
            PowerLoad("loose load", "r", 5.0, "q"),
            Diode("empty input", "plug", "bus", 0.3),
        ]
    )
    assert solution.floating == {"p", "q", "r", "plug"}
    assert solution.voltages == {GROUND: 0.0, "bus": pytest.approx(7.95)}
    assert "loose lead" not in solution.currents
    assert solution.unserved == ("loose load",)


def test_a_load_without_supply_is_told_not_guessed() -> None:
    solution = answered(
        [
            PACK,
            Diode("backwards", "rail", "bus", 0.3),
            ResistanceLoad("bleeder", "rail", 1000.0),
            CurrentLoad("servo", "rail", 1.0),
            LinearRegulator("dead", "rail", "out", 5.0, 0.3, 0.02),
        ]
    )
    assert sorted(solution.unserved) == ["bleeder", "dead", "servo"]
    assert solution.currents["servo"] == 0.0
    assert solution.voltages["rail"] == pytest.approx(0.0, abs=1e-9)
    assert solution.floating == {"out"}


def test_rails_with_no_load_stand_at_their_highest() -> None:
    solution = answered(
        [
            PACK,
            Source("lower", "bus2", 7.5, 0.05),
            Diode("d1", "bus", "or", 0.3),
            Diode("d2", "bus2", "or", 0.3),
            LinearRegulator("reg", "or", "rail", 6.0, 0.4),
            SwitchingRegulator("bec", "or", "rx", 5.0, 0.9, 0.4),
            LinearRegulator("high", "or", "high rail", 8.4, 0.4),
        ]
    )
    expected = {"or": 7.7, "rail": 6.0, "rx": 5.0, "high rail": 7.3}
    assert {n: solution.voltages[n] for n in expected} == pytest.approx(expected, abs=1e-6)
    assert solution.regulators["reg"].regulation is Regulation.IN_REGULATION
    assert solution.regulators["high"].regulation is Regulation.DROPPED_OUT


@pytest.mark.parametrize("drop", [0.0, 0.35])
@pytest.mark.parametrize("count", [2, 3, 6])
def test_equal_packs_through_equal_diodes_share_equally(drop: float, count: int) -> None:
    elements: list[Element] = [CurrentLoad("load", "bus", 12.0)]
    for place in range(count):
        elements.append(Source(f"pack{place}", f"p{place}", 8.4, 0.03))
        elements.append(Diode(f"diode{place}", f"p{place}", "bus", drop, 0.002))
    solution = answered(elements)
    for place in range(count):
        assert solution.currents[f"diode{place}"] == pytest.approx(12.0 / count, abs=1e-6)


def test_a_diode_joins_in_only_when_the_first_pack_sags() -> None:
    elements: list[Element] = [
        Source("high", "a", 8.4, 0.1),
        Source("low", "b", 8.0, 0.1),
        Diode("da", "a", "bus", 0.0, 0.001),
        Diode("db", "b", "bus", 0.0, 0.001),
    ]
    light = answered([*elements, CurrentLoad("load", "bus", 3.0)])
    heavy = answered([*elements, CurrentLoad("load", "bus", 20.0)])
    assert light.currents["db"] == 0.0
    # Two equal branches of 0.101 ohm: 20 A split with a difference of 0.4 V / 0.101 ohm.
    assert heavy.currents["db"] == pytest.approx((20.0 - 0.4 / 0.101) / 2.0, abs=1e-6)


def test_antiparallel_diodes() -> None:
    solution = answered(
        [
            PACK,
            Diode("there", "bus", "far", 0.3, 0.01),
            Diode("back", "far", "bus", 0.3, 0.01),
            CurrentLoad("load", "far", 2.0),
        ]
    )
    assert solution.voltages["far"] == pytest.approx(8.0 - 2.0 * 0.06 - 0.3, abs=1e-9)
    assert solution.currents["back"] == 0.0


def test_nothing_drawn_is_a_solution_of_nothing() -> None:
    solution = answered([])
    assert solution.voltages == {GROUND: 0.0}
    assert solution.currents == {}


def test_a_deep_chain_is_no_trouble() -> None:
    count = 3000
    elements: list[Element] = [Source("pack", "n0", 8.0, 0.05)]
    elements += [Resistor(f"w{n}", f"n{n}", f"n{n + 1}", 0.001) for n in range(count)]
    elements.append(CurrentLoad("load", f"n{count}", 1.0))
    solution = answered(elements)
    assert solution.voltages[f"n{count}"] == pytest.approx(8.0 - 0.05 - 0.001 * count, abs=1e-9)


def test_small_and_large_resistances_side_by_side() -> None:
    solution = answered(
        [
            Source("pack", "a", 8.0, 1e6),
            Resistor("joint", "a", "b", LEAST_RESISTANCE),
            Resistor("joint2", "b", "c", LEAST_RESISTANCE),
            ResistanceLoad("probe", "c", 1e6),
        ]
    )
    assert solution.voltages["c"] == pytest.approx(4.0, abs=1e-8)


def test_two_elements_of_one_name_are_refused() -> None:
    with pytest.raises(ValueError, match="two elements are named 'pack'"):
        solve([PACK, Source("pack", "other", 8.0, 0.1)])


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: Source("s", "a", 8.0, 0.0), "'s': resistance must be at least"),
        (lambda: Source("s", "a", -1.0, 0.1), "'s': emf must be zero or more"),
        (lambda: Source("s", "a", math.inf, 0.1), "'s': emf must be"),
        (lambda: Resistor("r", "a", "a", 0.1), "'r': its terminals must stand on different"),
        (lambda: Resistor("r", "a", "b", math.nan), "'r': resistance must be"),
        (lambda: Diode("d", "a", "b", -0.1), "'d': forward_drop must be"),
        (lambda: LinearRegulator("l", "a", "b", 5.0, math.nan), "'l': dropout must be"),
        (lambda: SwitchingRegulator("w", "a", "b", 5.0, 1.2), "'w': efficiency must be"),
        (lambda: SwitchingRegulator("w", "a", "b", 0.0, 0.9), "'w': set voltage must be"),
        (lambda: CurrentLoad("c", "a", math.inf), "'c': current must be"),
        (lambda: PowerLoad("p", "a", -5.0), "'p': power must be"),
        (lambda: ResistanceLoad("o", "a", 0.0), "'o': resistance must be"),
    ],
)
def test_impossible_values_are_refused(make: Callable[[], Element], says: str) -> None:
    with pytest.raises(ValueError, match=re.escape(says)):
        make()
