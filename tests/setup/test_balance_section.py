"""The section on balance: short forms, mistakes that hide nothing, and names that lead nowhere."""

from collections.abc import Callable

import pytest

from holdshort.document import Fault
from holdshort.setup import Loaded
from holdshort.setup.balance import Balance

Reading = Callable[..., Loaded]

HEAD = "holdshort: 1\n"
WHOLE = """\
balance:
  datum: the nose
  range: {from: 24 %, to: 310 mm}
  sideways: 5 mm
  tanks: {main: {capacity: 2 l, station: -30 mm}}
  changes: {pack: {on: 2026-05-02, mass: 12 oz, in: 14.5 in, out: {station: 2 ft, side: 0 mm}}}
  weighings:
    wheels:
      on: 2026-05-01
      fuel: empty
      tanks: {main: 0 l}
      without: canopy
      points: {nose: {station: -120 mm, load: 0 kg}, mains: {load: 8 kg, tare: 120 g}}
  items: {canopy: {mass: 300 g, station: 1 m}}
  movable: {canopy: {}}
"""


def balance_of(loaded: Loaded) -> Balance:
    assert [fault.message for fault in loaded.faults] == []
    assert loaded.setup.balance is not None
    return loaded.setup.balance


def test_short_forms_and_units(reading: Reading) -> None:
    balance = balance_of(reading(HEAD + WHOLE))
    assert balance.range is not None
    assert [float(balance.range.from_), float(balance.range.to)] == pytest.approx([0.24, 0.31])
    assert balance.sideways is not None
    assert (balance.sideways.left, balance.sideways.right) == (0.005, 0.005)
    change = (balance.changes or {})["pack"]
    assert change.in_ is not None
    assert change.out is not None
    # An inch is 25.4 mm, a foot 12 of them, and 16 ounces a pound of 0.45359237 kg (1959).
    assert change.in_.station == pytest.approx(14.5 * 0.0254)
    assert change.out.station == pytest.approx(24 * 0.0254)
    assert change.mass == pytest.approx(0.75 * 0.45359237)
    assert (balance.weighings or {})["wheels"].without == ("canopy",)
    assert (balance.tanks or {})["main"].station == pytest.approx(-0.03)


# (what is spoilt, by what, where it is told, part of what is told)
MISTAKES = [
    ("capacity: 2 l", "capacity: 2 kg", ("tanks", "main", "capacity"), "a mass, not a volume"),
    ("load: 8 kg", "loud: 8 kg", ("weighings", "wheels", "points", "mains", "loud"), "not a key"),
    ("fuel: empty", "fuel: emtpy", ("weighings", "wheels", "fuel"), "not one of the words"),
    ("to: 310 mm", "to: 310", ("range", "to"), "without a unit"),
    ("from: 24 %", "from: 24 deg", ("range", "from"), "an angle"),
    ("sideways: 5 mm", "sideways: [5]", ("sideways",), "a mapping"),
    ("in: 14.5 in", "in: 14.5 inch", ("changes", "pack", "in", "station"), "`inch`"),
    ("datum: the nose", "datums: the nose", ("datums",), "not a key"),
    ("from: 24 %", "from: 320 mm", ("range",), "runs forward"),
    ("without: canopy", "without: canoe", ("weighings", "wheels", "without"), "neither a fitted"),
    ("tanks: {main: 0 l}", "tanks: {mian: 0 l}", ("weighings", "wheels", "tanks", "mian"), "tank"),
    ("main: 0 l", "main: 3 l", ("weighings", "wheels", "tanks", "main"), "holds 2 l, not 3 l"),
    ("2 l, s", "2 l, unusable: 3 l, s", ("tanks", "main", "unusable"), "holds 2 l, not 3 l"),
    (
        "tare: 120 g",
        "tare: 8.1 kg",
        ("weighings", "wheels", "points", "mains", "tare"),
        "less than",
    ),
    ("12 oz,", "12 oz, of: canopy,", ("changes", "pack", "in"), "sits at 1 m"),
    ("movable: {canopy", "movable: {battery", ("movable", "battery"), "neither a fitted"),
]


@pytest.mark.parametrize(("good", "bad", "path", "words"), MISTAKES)
def test_a_mistake_is_told_at_its_place(
    only_fault: Callable[..., Fault], good: str, bad: str, path: tuple[str, ...], words: str
) -> None:
    assert good in WHOLE
    fault = only_fault(HEAD + WHOLE.replace(good, bad))
    told = fault.path[1:]
    assert told == path[: len(told)]
    assert len(told) >= min(2, len(path))
    assert words in fault.message


def test_one_mistake_hides_no_other_and_nothing_that_reads_well(reading: Reading) -> None:
    spoilt = WHOLE.replace("2 l", "2").replace("12 oz", "12").replace("24 %", "24")
    spoilt += "  gear: {leg: {mass: 1 kg, down: 3 mm, up: 4 mm}, tail: {mass: 2}}\n"
    loaded = reading(HEAD + spoilt)
    assert [fault.path[1:3] for fault in loaded.faults] == [
        ("range", "from"), ("tanks", "main"), ("changes", "pack"), ("gear", "tail"),
        ("gear", "tail"), ("gear", "tail"),
    ]  # fmt: skip
    balance = loaded.setup.balance
    assert balance is not None
    assert balance.datum == "the nose"
    assert balance.range is None
    assert (balance.tanks, balance.changes) == ({}, {})
    assert set(balance.gear or {}) == {"leg"}
    assert set(balance.weighings or {}) == {"wheels"}
    assert ("balance", "tanks", "main") in loaded.setup.broken
    assert ("balance", "range") in loaded.setup.broken


@pytest.mark.parametrize("value", ["3", "[1]", "word"])
def test_what_is_no_mapping_is_told_once(reading: Reading, value: str) -> None:
    loaded = reading(f"{HEAD}balance: {value}\n")
    assert len(loaded.faults) == 1
    assert ("balance",) in loaded.setup.broken


def test_an_item_may_not_have_the_name_of_a_device(only_fault: Callable[..., Fault]) -> None:
    text = (
        f"{HEAD}parts: {{pack: {{kind: battery, chemistry: lipo, cells: 2}}}}\n"
        "devices: {canopy: {part: pack}}\n" + WHOLE
    )
    fault = only_fault(text)
    assert fault.kind == "given-twice"
    assert fault.path == ("balance", "items", "canopy")


MOVED = """\
parts: {box: {kind: battery, chemistry: lipo, cells: 2}}
devices: {box: {part: box, mass: 340 g, at: {station: 20 in, changed: 2026-05-03}}}
balance:
  weighings: {wheels: {on: 2026-05-01, points: {mains: {station: 0 mm, load: 8 kg}}}}
  changes: {box: {on: 2026-05-03, mass: 12 oz, in: 14.5 in, out: 2 ft}}
"""


@pytest.mark.parametrize(
    ("good", "bad"),
    [
        ("at: {station: 20 in", "at: {station: 14.5 in"),  # where it was put
        ("on: 2026-05-03, m", "on: 2026-05-02, m"),  # moved again the day after
        ("on: 2026-05-01", "on: 2026-05-04"),  # weighed since
    ],
)
def test_a_thing_that_sits_where_it_was_not_put_is_told_but_not_one_moved_since(
    only_fault: Callable[..., Fault], reading: Reading, good: str, bad: str
) -> None:
    fault = only_fault(HEAD + MOVED)
    assert fault.kind == "places-differ"
    assert "put at 14.5 in on 2026-05-03, and sits at 20 in" in fault.message
    assert good in MOVED
    assert reading(HEAD + MOVED.replace(good, bad)).faults == ()
