"""The power table, against figures worked out by hand from Ohm's law.

Wire: 22 AWG is 0.127 mm x 92^(14/39) = 0.6438 mm in diameter (ASTM B258), 0.32553 mm2; copper of
1.7241e-8 ohm m (IEC 60028) makes it 53.0 mohm a metre, and half a metre counts out and back.
Cells at rest, common practice, no source: lipo 4.20 V full, 3.83 V at half, 3.73 V at a fifth.
"""

from collections.abc import Iterator

import pytest

from holdshort.analysis import Aircraft
from holdshort.analysis.power_curves import CHARGES, power_curves
from holdshort.analysis.power_rows import (
    DeviceRow,
    Judgement,
    PowerTable,
    RailRow,
    Rating,
    Reading,
    highest,
    judge_volts,
    lowest,
)
from holdshort.analysis.power_table import power_table
from holdshort.document import Document, read_document
from holdshort.setup import load

PARTS = """
holdshort: 1
aircraft: {name: Bench, flight-time: 6 min, flights-per-charge: 2}
parts:
  pack: {kind: battery, chemistry: lipo, cells: 2, resistance: 50 mΩ, capacity: 1000 mAh,
         continuous-current: 2 A, peak-current: 10 A}
  small-pack: {kind: battery, chemistry: lipo, cells: 2, resistance: 500 mΩ}
  bare-pack: {kind: battery, chemistry: lipo, cells: 2}
  rx: {kind: receiver, voltage: {min: 4.0 V, max: 8.0 V}, brown-out: 3.0 V,
       ports: {1..4: servo, supply: supply},
       draws: {rest: 0.1 A, cruise: 3 A, peak: 9 A}}
  any-rx: {kind: receiver, ports: {1..4: servo, supply: supply}}
  linear: {kind: regulator, type: linear, output: 6 V, dropout: 0.6 V, input: {max: 8 V},
           continuous-current: 2 A, heat-limit: 4.3 W, quiescent-current: 0 mA}
  adjustable: {kind: regulator, output: {min: 5 V, max: 6 V}}
  box: {kind: distribution, ports: {a: {does: supply, isolated: true, drop: 0.3 V},
        b: {does: supply, isolated: true, drop: 0.3 V}, out: feed}}
"""
LEAD = "wire: 22 AWG, length: 50 cm"
OHMS = 2 * 0.5 * 1.7241e-8 / 0.32553e-6


def _no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def aircraft_of(devices: str, *leads: str) -> Aircraft:
    text = f"{PARTS}devices: {{{devices}}}\nleads:\n" + "".join(
        f"  - {{{lead}}}\n" for lead in leads
    )
    loaded = load(read_document(text.encode(), "bench.yaml"), _no_catalogue)
    assert loaded.faults == ()
    return Aircraft(loaded.setup)


def table_of(devices: str, *leads: str) -> PowerTable:
    return power_table(aircraft_of(devices, *leads))


def device(table: PowerTable, name: str) -> tuple[RailRow, DeviceRow]:
    found = [(rail, row) for rail in table.rails for row in rail.devices if row.device == name]
    assert len(found) == 1
    return found[0]


def is_known(reading: Reading, value: float) -> bool:
    return reading.state == "known" and reading.value == pytest.approx(value, abs=1e-3)


@pytest.fixture(scope="module")
def plain_table() -> PowerTable:
    return table_of("pack: {part: pack}, rx: {part: rx}", f"from: pack, to: rx.supply, {LEAD}")


def test_a_device_has_its_voltage_and_current_in_every_case(plain_table: PowerTable) -> None:
    rail, row = device(plain_table, "rx")
    assert rail.sources == ("pack",)
    emf_half, emf_low = 2 * 3.83, 2 * 3.73
    expected = {
        "rest": (2 * 4.20, 0.0),
        "cruise": (emf_half - 3.0 * (0.050 + OHMS), 3.0),
        "hard-manoeuvre": (emf_low - 9.0 * (0.050 + OHMS), 9.0),
        "stalled-pair": (emf_low - 3.0 * (0.050 + OHMS), 3.0),
        "engine-start": (emf_low - 0.1 * (0.050 + OHMS), 0.1),
    }
    for case, (volts, amperes) in expected.items():
        assert is_known(row.volts[case], volts), case
        assert is_known(row.amperes[case], amperes), case
        assert rail.amperes[case].value == pytest.approx(amperes, abs=1e-9), case
    assert rail.volts["cruise"].value == pytest.approx(emf_half - 3.0 * 0.050)
    low, high = lowest(row.volts), highest(row.volts)
    assert low is not None
    assert high is not None
    assert (low.case, high.case) == ("hard-manoeuvre", "rest")


def test_the_full_pack_is_above_the_rating(plain_table: PowerTable) -> None:
    assert device(plain_table, "rx")[1].judgements == ("too high",)


def test_a_lead_is_told_in_the_case_where_it_loses_most(plain_table: PowerTable) -> None:
    (lead,) = plain_table.leads
    assert (lead.start, lead.end, lead.wire, lead.length) == ("pack", "rx.supply", "22 AWG", 0.5)
    assert lead.case == "hard-manoeuvre"
    assert is_known(lead.volts, 9.0 * OHMS)
    assert lead.amperes.value == pytest.approx(9.0)
    assert not lead.wire_assumed


def test_a_pack_tells_what_a_flight_uses_and_what_is_left(plain_table: PowerTable) -> None:
    (pack,) = plain_table.packs
    # 3 A for 6 min is 0.3 Ah; twice that of 1 Ah leaves 40 %.
    assert is_known(pack.use.used, 0.3 * 3600)
    assert is_known(pack.use.left, 0.4)
    assert pack.marks["cruise"] == ("above continuous",)
    assert pack.marks["hard-manoeuvre"] == ("above continuous",)
    assert pack.marks["engine-start"] == ()


def test_a_linear_regulator_drops_out_and_heats() -> None:
    table = table_of(
        "pack: {part: pack}, reg: {part: linear}, rx: {part: rx}",
        f"from: pack, to: reg.in, {LEAD}",
        f"from: reg.out, to: rx.supply, {LEAD}",
    )
    (reg,) = table.regulators
    assert (reg.set_to, reg.continuous, reg.heat_limit) == (6.0, 2.0, 4.3)
    point = reg.points["cruise"]
    assert point is not None
    before = 2 * 3.83 - 3.0 * (0.050 + OHMS)
    assert point.input_voltage == pytest.approx(before, abs=1e-3)
    assert point.regulation.value == "in regulation"
    # 3 A through the difference; the output stands 3 A x 1 mohm below 6 V.
    assert point.heat == pytest.approx((before - 5.997) * 3.0, abs=5e-3)
    assert reg.marks["cruise"] == ("above continuous",)
    hard = reg.points["hard-manoeuvre"]
    assert hard is not None
    assert hard.regulation.value == "dropped out"
    assert hard.output_voltage == pytest.approx(hard.input_voltage - 0.6 - 9.0 * 1e-3, abs=1e-3)
    assert reg.marks["hard-manoeuvre"] == ("above continuous", "too hot")
    assert reg.marks["rest"] == ("input too high",)  # 8.4 V full, rated to 8 V


def test_a_collapse_leaves_no_figure_and_names_the_share() -> None:
    table = table_of(
        "pack: {part: small-pack}, rx: {part: rx}, other: {part: pack}, spare: {part: rx}",
        f"from: pack, to: rx.supply, {LEAD}",
        f"from: other, to: spare.supply, {LEAD}",
    )
    # 7.46 V behind 0.5 ohm and the lead gives at most 7.46 / 0.553 = 13.5 A: 9 A hold.
    assert table.collapses == ()
    heavy = table_of(
        "pack: {part: small-pack}, split: {part: any-rx}, one: {part: rx}, two: {part: rx}, "
        "other: {part: pack}, spare: {part: rx}",
        f"from: pack, to: split.supply, {LEAD}",
        f"from: split.1, to: one.supply, carries: power, {LEAD}",
        f"from: split.2, to: two.supply, carries: power, {LEAD}",
        f"from: other, to: spare.supply, {LEAD}",
    )
    (row,) = heavy.collapses
    assert row.case == "hard-manoeuvre"
    assert {row.device, *row.also_falling} & {"one", "two"}
    # 2 x share x 9 A through 0.5 ohm and the first lead, share x 9 A through the other.
    assert row.share == pytest.approx(7.46 / (18.0 * (0.5 + OHMS) + 9.0 * OHMS), rel=1e-3)
    rail, one = device(heavy, "one")
    assert one.volts["hard-manoeuvre"] == (None, "collapse")
    assert one.amperes["hard-manoeuvre"] == (None, "collapse")
    assert rail.amperes["hard-manoeuvre"] == (None, "collapse")
    assert one.judgements[0] == "collapse"
    # What does not hang together with it keeps its figures.
    spare = device(heavy, "spare")[1]
    assert spare.volts["hard-manoeuvre"].value == pytest.approx(7.46 - 9 * (0.05 + OHMS), abs=1e-3)


def test_what_nothing_feeds_has_no_supply() -> None:
    table = table_of(
        "pack: {part: pack}, reg: {part: linear}, rx: {part: rx}, lone: {part: rx}",
        f"from: reg.out, to: rx.supply, {LEAD}",
    )
    for name in ("rx", "lone"):
        rail, row = device(table, name)
        assert rail.sources == ()
        assert row.judgements == ("no supply",)
        assert set(row.volts.values()) == {Reading(None, "no supply")}
    assert set(table.regulators[0].states.values()) == {"no supply"}
    assert set(table.regulators[0].points.values()) == {None}


def test_a_regulator_of_unknown_output_leaves_its_rail_not_known() -> None:
    table = table_of(
        "pack: {part: pack}, reg: {part: adjustable}, rx: {part: rx}",
        f"from: pack, to: reg.in, {LEAD}",
        f"from: reg.out, to: rx.supply, {LEAD}",
    )
    row = device(table, "rx")[1]
    assert row.judgements == ("not known",)
    assert {reading.state for reading in row.volts.values()} == {"not known"}
    assert any("set to" in need.text for need in table.missing)


def test_what_is_missing_makes_figures_incomplete_and_is_listed() -> None:
    table = table_of("pack: {part: bare-pack}, rx: {part: any-rx}", "from: pack, to: rx.supply")
    row = device(table, "rx")[1]
    assert {reading.state for reading in row.volts.values()} == {"incomplete"}
    assert row.amperes["rest"] == (0.0, "known")
    assert row.amperes["cruise"] == (None, "not known")
    texts = " ".join(need.text for need in table.missing)
    assert "wire size and length" in texts
    assert "capacity or internal resistance" in texts
    draws = [need for need in table.missing if "(peak)" in need.text]
    assert [need.cases for need in draws] == [("hard-manoeuvre",)]
    assert table.leads[0].wire is None
    assert table.leads[0].volts.state == "not known"
    line = table.missing[0].line
    assert "bare-pack" in PARTS.splitlines()[line - 1]


def test_isolated_inputs_make_a_rail_of_their_own() -> None:
    table = table_of(
        "one: {part: pack}, two: {part: pack}, box: {part: box}, rx: {part: rx}",
        f"from: one, to: box.a, {LEAD}",
        f"from: two, to: box.b, {LEAD}",
        f"from: box.out, to: rx.supply, {LEAD}",
    )
    rail, row = device(table, "rx")
    assert rail.sources == ("box",)
    assert rail.amperes["cruise"].value == pytest.approx(3.0)
    # Each pack gives half, through its lead and a diode of 5 mohm and 0.3 V.
    volts = 2 * 3.83 - 1.5 * (0.05 + OHMS + 0.005) - 0.3 - 3.0 * OHMS
    assert row.volts["cruise"].value == pytest.approx(volts, abs=2e-3)


KNOWN_LOW, KNOWN_HIGH = Reading(5.0, "known"), Reading(7.0, "known")
MORE_LOW, MORE_HIGH = Reading(5.0, "incomplete"), Reading(7.0, "incomplete")


def judged() -> Iterator[tuple[Reading, Reading, Rating, bool, tuple[Judgement, ...]]]:
    yield KNOWN_LOW, KNOWN_HIGH, Rating(5.0, 7.0), False, ("within",)
    yield KNOWN_LOW, KNOWN_HIGH, Rating(5.01, 7.0), False, ("too low",)
    yield KNOWN_LOW, KNOWN_HIGH, Rating(5.0, 6.99), False, ("too high",)
    yield KNOWN_LOW, KNOWN_HIGH, Rating(5.5, 6.5), False, ("too low", "too high")
    yield KNOWN_LOW, KNOWN_HIGH, Rating(4.0, 8.0, 5.1), False, ("brown-out",)
    yield KNOWN_LOW, KNOWN_HIGH, Rating(None, 8.0), False, ("min not stated",)
    yield KNOWN_LOW, KNOWN_HIGH, Rating(4.0, None), False, ("max not stated",)
    yield KNOWN_LOW, KNOWN_HIGH, Rating(None, None), False, ("no rating",)
    yield MORE_LOW, KNOWN_HIGH, Rating(4.0, 8.0), False, ("not known",)
    yield MORE_LOW, KNOWN_HIGH, Rating(5.5, 8.0), False, ("too low",)
    yield MORE_LOW, MORE_HIGH, Rating(None, 6.0), False, ("not known",)
    yield MORE_LOW, MORE_HIGH, Rating(None, 6.0), True, ("too high",)
    yield Reading(None, "collapse"), KNOWN_HIGH, Rating(4.0, 6.0), True, ("collapse", "too high")
    yield Reading(None, "no supply"), Reading(None, "no supply"), Rating(4.0, 6.0), True, (
        "no supply",
    )  # fmt: skip


@pytest.mark.parametrize(("low", "high", "rating", "at_rest", "expected"), list(judged()))
def test_a_judgement_never_rests_on_what_is_missing(
    low: Reading, high: Reading, rating: Rating, at_rest: bool, expected: tuple[Judgement, ...]
) -> None:
    assert judge_volts(low, high, rating, at_rest=at_rest) == expected


def test_curves_run_from_full_to_a_tenth() -> None:
    aircraft = aircraft_of(
        "pack: {part: small-pack}, reg: {part: linear}, rx: {part: rx}, more: {part: rx}",
        f"from: pack, to: reg.in, {LEAD}",
        f"from: reg.out, to: rx.supply, {LEAD}",
        f"from: rx.1, to: more.supply, carries: power, {LEAD}",
    )
    pack, reg = power_curves(aircraft)
    assert (pack.source, reg.source) == ("pack", "reg")
    assert reg.minimum == ("rx", 4.0)
    by_case = {curve.case: curve.volts for curve in pack.curves}
    assert (CHARGES[0], CHARGES[-1], len(CHARGES)) == (1.0, 0.1, 19)
    assert by_case["rest"][0] == pytest.approx(8.4, abs=1e-3)
    assert by_case["rest"][CHARGES.index(0.5)] == pytest.approx(7.66, abs=1e-3)
    # 18 A through half an ohm is more than the pack has.
    assert set(by_case["hard-manoeuvre"]) == {None}
    assert all(a >= b for a, b in zip(by_case["cruise"], by_case["cruise"][1:], strict=False)  # type: ignore[operator]
               if a is not None)  # fmt: skip
