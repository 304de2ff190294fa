"""Balance: what may not change an answer, what must, and what is missing."""

from collections.abc import Sequence
from itertools import pairwise
from typing import Any, NamedTuple

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from holdshort.analysis import Aircraft
from holdshort.analysis.balance import BalanceStudy
from holdshort.analysis.balance_states import BalanceState
from holdshort.document import Document, read_document
from holdshort.rulebook import judge, load_rulebook
from holdshort.setup import Setup, load
from holdshort.setup.quantities import INCH, POUND


def no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def setup_of(text: str) -> Setup:
    loaded = load(read_document(("holdshort: 1\n" + text).encode(), "x.yaml"), no_catalogue)
    assert [fault.message for fault in loaded.faults] == []
    return loaded.setup


def study_of(text: str) -> BalanceStudy:
    found = Aircraft(setup_of(text)).balance
    assert found is not None
    return found


class Wheel(NamedTuple):
    station: float
    load: float


class Tank(NamedTuple):
    capacity: float
    station: float
    order: int


class Model(NamedTuple):
    """A made-up aircraft: lengths in mm, masses in kg, volumes in litres."""

    wheels: tuple[Wheel, ...]
    tanks: tuple[Tank, ...]
    low: float
    high: float


class Units(NamedTuple):
    length: str = "mm"
    per_mm: float = 1.0
    mass: str = "kg"
    per_kg: float = 1.0


METRIC = Units()
INCHES = Units("in", 1e-3 / INCH, "lb", 1 / POUND)


def text_of(
    model: Model, units: Units = METRIC, datum: float = 0.0, *, backwards: bool = False
) -> str:
    """Write a model down; ``datum`` is how far forward of the old one its datum is, mm."""

    def mm(value: float) -> str:
        return f"{(value + datum) * units.per_mm:.9f} {units.length}"

    def kg(value: float) -> str:
        return f"{value * units.per_kg:.9f} {units.mass}"

    wheels = [
        f"        w{index}: {{station: {mm(wheel.station)}, load: {kg(wheel.load)}}}"
        for index, wheel in enumerate(model.wheels)
    ]
    tanks = [
        f"    t{index}: {{capacity: {tank.capacity:.6f} l, station: {mm(tank.station)}, "
        f"order: {tank.order}}}"
        for index, tank in enumerate(model.tanks)
    ]
    step = -1 if backwards else 1
    return "\n".join(
        [
            "aircraft: {name: Test, propulsion: turbine}",
            "balance:",
            "  accuracy: {load: 5 g, station: 1 mm}",
            f"  range: {{from: {mm(model.low)}, to: {mm(model.high)}}}",
            "  fuel-density: 0.80 kg/l",
            "  landing-fuel: 0.1 l",
            "  ballast: {nose: {station: " + mm(-400.0) + "}, tail: {station: " + mm(1500.0) + "}}",
            "  tanks:",
            *tanks[::step],
            "  weighings:",
            "    wheels:",
            "      on: 2026-05-01",
            "      fuel: empty",
            "      points:",
            *wheels[::step],
            "",
        ]
    )


places = st.integers(0, 1200).map(float)
wheels = st.builds(Wheel, places, st.integers(5, 100).map(lambda tenths: tenths / 10))
tanks = st.builds(
    Tank, st.integers(2, 40).map(lambda tenths: tenths / 10), places, st.integers(1, 3)
)


def model_of(points: list[Wheel], boxes: list[Tank], low: float, width: float) -> Model:
    return Model(tuple(points), tuple(boxes), low, low + width)


models = st.builds(
    model_of,
    st.lists(wheels, min_size=2, max_size=4),
    st.lists(tanks, min_size=1, max_size=3),
    st.integers(100, 900).map(float),
    st.integers(1, 300).map(float),
)


def approx(value: float) -> Any:
    return pytest.approx(value, abs=1e-7)


def figures(states: Sequence[BalanceState]) -> list[tuple[str, float, float, float]]:
    found: list[tuple[str, float, float, float]] = []
    for one in states:
        assert one.mass is not None
        assert one.station is not None
        assert one.station.spread is not None
        assert one.margin is not None
        found.append((one.title, one.mass.value, one.station.value, one.margin))
    return found


def named(states: Sequence[BalanceState]) -> list[BalanceState]:
    return [one for one in states if "on the way" not in one.name]


RULES = [(pack, rule) for pack, rule in load_rulebook() if rule.subject == "balance"]


def findings(text: str) -> list[tuple[str, str]]:
    judgement = judge(Aircraft(setup_of(text)), RULES)
    assert not judgement.crashes
    return sorted((one.rule.id, one.severity.word) for one in judgement.found)


def near_a_limit(states: Sequence[BalanceState]) -> bool:
    """True where rounding in the file may decide."""
    return any(
        abs(edge) < 1e-5
        for one in states
        if one.margin is not None and one.station is not None and one.station.spread is not None
        for edge in (one.margin, one.margin - one.station.spread)
    )


@settings(max_examples=40)
@given(models, st.integers(-2000, 2000).map(float))
def test_another_datum_moves_every_answer_alike_and_changes_no_finding(
    model: Model, datum: float
) -> None:
    here, there = study_of(text_of(model)), study_of(text_of(model, datum=datum))
    assume(not near_a_limit(here.states))
    for old, new in zip(figures(named(here.states)), figures(named(there.states)), strict=True):
        assert new[0] == old[0]
        assert new[1] == pytest.approx(old[1], abs=1e-9)
        assert new[2] == pytest.approx(old[2] + datum * 1e-3, abs=1e-8)
        assert new[3] == pytest.approx(old[3], abs=1e-8)
    assert findings(text_of(model)) == findings(text_of(model, datum=datum))
    for before, after in zip(here.remedies, there.remedies, strict=True):
        assert after.inside == (None if before.inside is None else approx(before.inside))
        assert after.station == approx(before.station + datum * 1e-3)
        assert after.margin == approx(before.margin)


@settings(max_examples=40)
@given(models)
def test_units_and_order_change_nothing(model: Model) -> None:
    here = study_of(text_of(model))
    assume(not near_a_limit(here.states))
    for text in (text_of(model, INCHES), text_of(model, backwards=True)):
        there = study_of(text)
        for old, new in zip(figures(named(here.states)), figures(named(there.states)), strict=True):
            assert new == (old[0], *(pytest.approx(value, abs=1e-8) for value in old[1:]))
        assert findings(text) == findings(text_of(model))


@settings(max_examples=60)
@given(models)
def test_burning_fuel_moves_the_balance_away_from_the_tank_in_use(model: Model) -> None:
    """Source B3 of the trade rules (read second-hand): away from the tank in use."""
    alone = model._replace(tanks=model.tanks[:1])
    found = study_of(text_of(alone))
    path = [one.station for one in found.path("down")]
    tank = alone.tanks[0].station * 1e-3
    assert path
    for before, after in pairwise(path):
        assert before is not None
        assert after is not None
        if abs(tank - before.value) > 1e-6:
            assert (after.value - before.value) * (tank - before.value) <= 1e-15


@settings(max_examples=60)
@given(models)
def test_of_several_tanks_it_is_the_one_in_use(model: Model) -> None:
    """The same, tank by tank as they are used up: whichever lost fuel is what it moves from."""
    several = model._replace(
        tanks=tuple(tank._replace(order=at) for at, tank in enumerate(model.tanks, 1))
    )
    path = study_of(text_of(several)).path("down")
    used: set[str] = set()
    for before, after in pairwise(path):
        left = dict(after.volumes)
        (*lost,) = (name for name, volume in before.volumes if left[name] < volume)
        if not lost:
            continue  # the end of one stage is the start of the next
        (name,) = lost
        used.add(name)
        tank = several.tanks[int(name[1:])].station * 1e-3
        assert before.station is not None
        assert after.station is not None
        here, there = before.station.value, after.station.value
        assert (there - here) * (tank - here) <= 1e-15
        assert (abs(tank - here) < 1e-6) or there != here
    # 0.1 l is left at landing, and each tank holds more
    assert used == {f"t{at}" for at in range(len(several.tanks))}


@settings(max_examples=40)
@given(models)
def test_mass_is_the_sum_and_the_way_ends_at_landing(model: Model) -> None:
    found = study_of(text_of(model))
    dry = sum(wheel.load for wheel in model.wheels)
    fuel = sum(tank.capacity for tank in model.tanks)
    masses = {one.name: one.mass.value for one in named(found.states) if one.mass}
    assert masses["dry"] == pytest.approx(dry)
    assert masses["take-off"] == pytest.approx(dry + 0.8 * fuel)
    assert masses["landing"] == pytest.approx(dry + 0.8 * 0.1)
    path = found.path("down")
    assert path[0].mass is not None
    assert path[0].mass.value == pytest.approx(masses["take-off"])
    assert path[-1].mass is not None
    assert path[-1].mass.value == pytest.approx(masses["landing"])


@settings(max_examples=60)
@given(models)
def test_what_is_advised_brings_every_state_inside(model: Model) -> None:
    """The ballast is written into the file as a change, and the file is judged again."""
    found = study_of(text_of(model))
    tried = 0
    for remedy in found.remedies:
        ballast = remedy.inside
        if ballast is None or ballast < 1e-6:
            continue
        tried += 1
        change = (
            f"  changes: {{lead: {{on: 2026-06-01, mass: {ballast:.9f} kg, "
            f"in: {remedy.station * 1e3:.6f} mm}}}}\n"
        )
        exact = text_of(model).replace("accuracy: {load: 5 g, station: 1 mm}", "datum: nose")
        after = study_of(exact + change)
        spreads = {one.title: one.station.spread or 0.0 for one in found.states if one.station}
        margins = [(one.margin or 0.0) - spreads.get(one.title, 0.0) for one in named(after.states)]
        assert min(margins) >= -1e-7
        if not any("on the way" in one.name for one in found.states):
            assert min(margins) == pytest.approx(0.0, abs=1e-6)
    assume(tried)


WEIGHED = """
aircraft: {name: Test, propulsion: none}
devices: {}
balance:
  range: {from: 300 mm, to: 395 mm}
  weighings:
    wheels:
      on: 2026-05-01
      points: {nose: {station: 0 mm, load: 2 kg}, mains: {station: 500 mm, load: 8 kg}}
"""


def test_a_pack_is_advised_to_move_by_what_the_masses_say() -> None:
    """5 mm of 10 kg are 100 mm of 0.5 kg: w d = W dx (FAA-H-8083-1B ch. 2)."""
    text = WEIGHED.replace(
        "devices: {}",
        "parts: {pack: {kind: battery, chemistry: lipo, cells: 2}}\n"
        "devices: {pack: {part: pack, mass: 500 g, at: {station: 300 mm}}}",
    )
    found = study_of(text)
    (remedy,) = found.remedies
    assert remedy.inside == pytest.approx(-0.1, abs=1e-8)
    assert remedy.middle == pytest.approx(-(400 - 347.5) * 10 / 0.5 * 1e-3, abs=1e-8)
    assert found.best_advice() == (
        "Move `pack` (500 g at 300.0 mm) 100.0 mm forward, to 200.0 mm, at least, if there is room "
        "(`balance.movable` does not say). If not, name places for `ballast`, and it is worked out "
        "how much does it."
    )
    roomy = study_of(text + "  movable: {pack: {from: -800 mm}}\n")
    assert roomy.best_advice() == (
        "Move `pack` (500 g at 300.0 mm) 100.0 mm forward, to 200.0 mm, at least; best is "
        "1050.0 mm forward, to -750.0 mm: the worst state is then 47.5 mm inside."
    )


def test_room_that_ends_too_soon_is_said() -> None:
    text = WEIGHED + (
        "  items: {pack: {mass: 500 g, station: 300 mm}}\n"
        "  movable: {pack: {from: 260 mm, to: 320 mm}}\n"
    )
    found = study_of(text)
    (remedy,) = found.remedies
    assert remedy.inside is None
    assert remedy.middle == pytest.approx(-0.04)
    assert "not enough alone in the room there is" in found.best_advice()
    assert "3.0 mm outside" in found.best_advice()  # 5 mm, less 40 mm x 0.5 / 10


def test_a_build_up_has_a_height() -> None:
    """By hand: 9 kg at 10 mm and 1 kg at -40 mm are 50/10 = 5 mm."""
    found = study_of(
        """
aircraft: {name: Test, propulsion: none}
balance:
  items:
    airframe: {mass: 9 kg, station: 400 mm, side: 0 mm, height: 10 mm}
    pack: {mass: 1 kg, station: 200 mm, side: 10 mm, height: -40 mm}
"""
    )
    state = found.state("ready to fly")
    assert state.height is not None
    assert state.side is not None
    assert [state.height.value, state.side.value] == pytest.approx([0.005, 0.001])
    assert state.height.spread is None


def test_two_weighings_stand_for_the_two_states_of_the_gear() -> None:
    points = "{front: {station: 200 mm, load: 5 kg}, rear: {station: 580 mm, load: 5 kg}}"
    cradle = f"    in the cradle: {{on: 2026-05-01, gear: up, points: {points}}}\n"
    text = WEIGHED.replace("  weighings:\n", f"  weighings:\n{cradle}")
    found = study_of(text)
    stations = {one.title: one.station.value for one in found.states if one.station}
    assert stations == {
        "ready to fly, gear down": pytest.approx(0.4),
        "ready to fly, gear up": pytest.approx(0.39),
    }
    assert set(found.weighings) == {"wheels", "in the cradle"}


def test_tanks_used_together_empty_together() -> None:
    """By hand: 1 l and 3 l of equal order give 1/4 and 3/4; with 2 l left 0.5 l and 1.5 l."""
    found = study_of(
        WEIGHED.replace("propulsion: none", "propulsion: turbine").replace(
            "      on:", "      fuel: empty\n      on:"
        )
        + """  tanks:
    left: {capacity: 1 l, station: 300 mm, order: 1}
    right: {capacity: 3 l, station: 500 mm, order: 1}
  landing-fuel: 2 l
"""
    )
    landing = found.fuel.landing()
    assert isinstance(landing, dict)
    assert landing == {"left": pytest.approx(0.5e-3), "right": pytest.approx(1.5e-3)}
    state = found.state("landing")
    assert state.station is not None
    assert state.station.value == pytest.approx((4.0 + 0.8 * (0.5 * 0.3 + 1.5 * 0.5)) / 11.6)


BROKEN: list[tuple[str, str, str]] = [
    ("load: 8 kg", "load: 8", "ready to fly"),
    ("from: 300 mm", "from: 300", "limits"),
]


@pytest.mark.parametrize(("good", "bad", "what"), BROKEN)
def test_nothing_is_worked_out_of_what_could_not_be_read(good: str, bad: str, what: str) -> None:
    text = WEIGHED.replace(good, bad)
    assert text != WEIGHED
    loaded = load(read_document(("holdshort: 1\n" + text).encode(), "x.yaml"), no_catalogue)
    assert len(loaded.faults) == 1
    found = Aircraft(loaded.setup).balance
    assert found is not None
    state = found.state("ready to fly")
    needs: Any = state.limit_needs if what == "limits" else state.needs
    assert any("mistake of form" in need.text for need in needs)
    assert state.margin is None


def test_a_thing_that_is_moved_makes_the_mass_no_less_certain() -> None:
    """Its mass is wrong alike where it is taken out and where it is put in.

    Two scales of 5 g: 2 x root(2) x 5 g / root(3) (JCGM 100:2008, from memory).
    """
    moved = "  changes: {pack: {on: 2026-05-02, mass: 900 g, out: 0 mm, in: 100 mm}}\n"
    text = WEIGHED.replace("balance:\n", "balance:\n  accuracy: {load: 5 g, station: 0 mm}\n")
    state = study_of(text + moved).state("ready to fly")
    assert state.mass is not None
    assert state.mass.spread == pytest.approx(2 * (2 / 3) ** 0.5 * 0.005)


def test_the_tighter_of_range_and_envelope_counts() -> None:
    """By hand: half-way from 9 to 11 kg the envelope is 350 to 420 mm; the range is 300 to 395."""
    envelope = (
        "  envelope: [{mass: 9 kg, from: 340 mm, to: 410 mm}, "
        "{mass: 11 kg, from: 360 mm, to: 430 mm}]\n"
    )
    state = study_of(WEIGHED + envelope).state("ready to fly")
    assert state.limits is not None
    assert list(state.limits) == pytest.approx([0.350, 0.395])


def test_ballast_is_judged_by_the_limits_of_the_heavier_aircraft() -> None:
    """By hand: 4000 / (10 + b) = 395 - 10 b, so b = (295 - root(295^2 - 2000)) / 20 kg."""
    text = WEIGHED.replace(
        "  range: {from: 300 mm, to: 395 mm}\n",
        "  envelope: [{mass: 10 kg, from: 300 mm, to: 395 mm}, "
        "{mass: 12 kg, from: 300 mm, to: 375 mm}]\n",
    )
    (remedy,) = study_of(text + "  ballast: {nose: {station: 0 mm}}\n").remedies
    assert remedy.inside == pytest.approx((295 - (295**2 - 2000) ** 0.5) / 20, abs=1e-8)


def test_fuel_in_a_tank_that_is_not_declared_is_missing_not_a_crash() -> None:
    text = WEIGHED.replace("propulsion: none", "propulsion: turbine").replace(
        "      on:", "      fuel: empty\n      tanks: {mian: 1 l}\n      on:"
    )
    text += "  tanks: {main: {capacity: 2 l, station: 300 mm}}\n"
    loaded = load(read_document(("holdshort: 1\n" + text).encode(), "x.yaml"), no_catalogue)
    assert [fault.kind for fault in loaded.faults] == ["unknown-tank"]
    judgement = judge(Aircraft(loaded.setup), RULES)
    assert not judgement.crashes
    assert any("the tank `mian`" in one.not_checked.needs for one in judgement.unjudged)


PACK = "  items: {pack: {mass: 1 kg, station: 400 mm}}\n"
LEFT_OUT = WEIGHED.replace("      on:", "      without: pack\n      on:") + PACK


def test_a_thing_left_out_of_the_weighing_is_added_once_where_it_is_now() -> None:
    """By hand: 10 kg at 400 mm and 1 kg at 290 mm are (4000 + 290) / 11 = 390 mm."""
    text = LEFT_OUT.replace("station: 400 mm", "station: 290 mm")
    for moved in ("", "  changes: {pack: {on: 2026-05-02, mass: 1 kg, out: 90 mm, in: 290 mm}}\n"):
        state = study_of(text + moved).state("ready to fly")
        assert state.station is not None
        assert state.station.value == pytest.approx(0.390)
        assert state.mass is not None
        assert state.mass.value == pytest.approx(11.0)


def test_a_thing_left_out_and_then_taken_out_is_not_guessed() -> None:
    text = LEFT_OUT + "  changes: {pack: {on: 2026-05-02, mass: 1 kg, out: 400 mm}}\n"
    (need,) = study_of(text).state("ready to fly").needs
    assert "whether `pack` is aboard" in need.text


def test_a_mass_at_the_end_of_the_envelope_is_in_it_however_it_was_added_up() -> None:
    """In floating point 2.1 + 4.2 kg are a hair more than 6.3 kg."""
    assert 2.1 + 4.2 > 6.3
    text = WEIGHED.replace("load: 2 kg", "load: 2.1 kg").replace("load: 8 kg", "load: 4.2 kg")
    envelope = (
        "  envelope: [{mass: 5 kg, from: 0 mm, to: 1 m}, {mass: 6.3 kg, from: 0 mm, to: 1 m}]"
    )
    state = study_of(f"{text}{envelope}\n").state("ready to fly")
    assert state.limits is not None
    assert state.limits.aft == pytest.approx(0.395)


def test_a_range_that_runs_forward_once_the_chord_is_known_judges_nothing() -> None:
    """By hand: 90 % of 300 mm from 100 mm on is 370 mm, behind a `to` of 300 mm."""
    text = WEIGHED.replace("from: 300 mm, to: 395 mm", "from: 90 %, to: 300 mm")
    text += "  chord: {length: 300 mm, leading-edge: 100 mm}\n"
    state = study_of(text).state("ready to fly")
    assert state.limits is None
    assert [need.place.path for need in state.limit_needs] == [("balance", "range")]


def test_scales_that_show_nothing_are_no_crash() -> None:
    text = WEIGHED.replace("propulsion: none", "propulsion: none, mass: {dry: 3 kg, ready: 3 kg}")
    text = text.replace("load: 2 kg", "load: 0 kg").replace("load: 8 kg", "load: 0 kg")
    judgement = judge(Aircraft(setup_of(text)), RULES)
    assert not judgement.crashes
    told = {one.rule.id for one in judgement.unjudged}
    assert told == {"cg-outside-range", "mass-differs"}


def test_more_taken_out_than_there_is_leaves_nothing_to_look_at_on_the_way() -> None:
    text = WEIGHED.replace("propulsion: none", "propulsion: turbine").replace(
        "      on:", "      fuel: empty\n      on:"
    )
    text += (
        "  tanks: {main: {capacity: 3 l, station: 300 mm}}\n  landing-fuel: 0 l\n"
        "  changes: {lead: {on: 2026-05-02, mass: 11 kg, out: 150 mm}}\n"
    )
    found = study_of(text)
    assert found.state("dry").mass is None
    assert [one.name for one in found.states] == ["dry", "landing", "take-off"]


@pytest.mark.parametrize("propulsion", [", propulsion: piston", ""])
def test_a_tank_with_a_mistake_of_form_is_still_a_tank(propulsion: str) -> None:
    text = WEIGHED.replace(", propulsion: none", propulsion)
    text += "  tanks: {main: {capacity: 3 kg, station: 300 mm}}\n"
    loaded = load(read_document(("holdshort: 1\n" + text).encode(), "x.yaml"), no_catalogue)
    landing = [rule for rule in load_rulebook() if rule[1].id == "cg-not-checked-at-landing-fuel"]
    judgement = judge(Aircraft(loaded.setup), landing)
    assert judgement.found == []
    assert [one.not_checked.needs for one in judgement.unjudged] == [
        "the tank with a mistake of form"
    ]


TANKED = WEIGHED.replace("propulsion: none", "propulsion: turbine").replace(
    "      on:", "      fuel: empty\n      on:"
)


def test_what_cannot_be_used_is_weighed_and_is_not_filled_again() -> None:
    """By hand: of 10 kg at 400 mm 0.25 l x 0.8 kg/l = 0.2 kg at 300 mm are fuel; 2.5 l are 2 kg.

    Full (10 - 0.2 + 2) kg = 11.8 kg at (4000 - 60 + 600) / 11.8 mm; empty as it was weighed.
    """
    tank = "  tanks: {main: {capacity: 2.5 l, station: 300 mm, unusable: 0.25 l}}\n"
    found = study_of(TANKED + tank + "  landing-fuel: 0.25 l\n")
    for name, mass, station in (
        ("dry", 10.0, 0.4), ("landing", 10.0, 0.4), ("take-off", 11.8, 4.54 / 11.8),
    ):  # fmt: skip
        state = found.state(name)
        assert state.mass is not None
        assert state.station is not None
        assert state.mass.value == pytest.approx(mass)
        assert state.station.value == pytest.approx(station)
    assert found.empty_mass is not None
    assert found.empty_mass.value == pytest.approx(10.0)


def test_tanks_used_together_give_of_what_can_be_used() -> None:
    """By hand: 1 l with 0.2 l of no use and 3 l give 0.8 : 3; 1.9 l of 3.8 l are half of each."""
    found = study_of(
        TANKED
        + """  tanks:
    left: {capacity: 1 l, station: 300 mm, order: 1, unusable: 200 ml}
    right: {capacity: 3 l, station: 500 mm, order: 1}
  landing-fuel: 2.1 l
"""
    )
    landing = found.fuel.landing()
    assert isinstance(landing, dict)
    assert landing == {"left": pytest.approx(0.6e-3), "right": pytest.approx(1.5e-3)}


def test_less_than_what_cannot_be_used_is_no_landing() -> None:
    tank = "  tanks: {main: {capacity: 2.5 l, station: 300 mm, unusable: 0.25 l}}\n"
    state = study_of(TANKED + tank + "  landing-fuel: 0.2 l\n").state("landing")
    assert state.station is None
    assert any("between what cannot be used (0.25 l)" in need.text for need in state.needs)


def test_a_weighing_on_the_main_wheels_alone_is_said_to_be_taken_for_a_hanging() -> None:
    mains = (
        "{left: {station: 500 mm, side: -300 mm, load: 4 kg}, "
        "right: {station: 500.4 mm, side: 300 mm, load: 4 kg}}"
    )
    start = WEIGHED.index("{nose:")
    alone = study_of(WEIGHED[:start] + mains + "\n")
    assert any("`wheels` are at one station" in text for text in alone.assumptions)
    assert not any("at one station" in text for text in study_of(WEIGHED).assumptions)
