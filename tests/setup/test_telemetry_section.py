"""The telemetry section: names that lead nowhere, levels in the wrong unit, levels in SI."""

from collections.abc import Callable

import pytest

from holdshort.document import Fault
from holdshort.setup import Loaded
from holdshort.setup.measures import DIMENSIONS_OF, LEVEL, MEASURES, level

OnlyFault = Callable[..., Fault]
Reading = Callable[..., Loaded]

BASE = """\
holdshort: 1
parts:
  rx: {kind: receiver, measures: [voltage, link-quality], ports: {tel: data}}
  probe: {kind: sensor}
  pack: {kind: battery, chemistry: lipo, cells: 2}
devices:
  front-rx: {part: rx}
  battery: {part: pack}
  probe: {part: probe}
"""
FAULTS = [
    (
        "unknown-device",
        "telemetry: {a: {from: ^frontrx, measures: voltage}}",
        "`frontrx` is not a fitted device",
        "`front-rx`",
    ),
    (
        "unknown-device",
        "telemetry: {a: {from: probe, measures: voltage, of: ^batery}}",
        "`batery` is neither a fitted device nor a tank",
        "`battery`",
    ),
    ("unknown-device", "  x: {part: probe, senses: ^batery}", "`batery` is neither", "`battery`"),
    ("misplaced-setting", "  x: {part: pack, senses: ^probe}", "it measures nothing", "the sensor"),
    ("misplaced-setting", "  x: {part: pack, address: ^3}", "no address on a telemetry", "sensor"),
    (
        "not-measured",
        "telemetry: {a: {from: front-rx, measures: ^fuel}}",
        "`front-rx` is a `rx`, which does not measure fuel",
        "`voltage` and `link-quality`",
    ),
    (
        "wrong-unit",
        "telemetry: {a: {from: probe, measures: voltage, alarm: {below: ^60 degC}}}",
        "`a` is a reading of voltage, which is never `60 degC`",
        "`8.4 V`",
    ),
    (
        "wrong-unit",
        "telemetry: {a: {from: probe, measures: position, alarm: {above: ^5 m}}}",
        "reading of position",
        "Take the alarm out",
    ),
    (
        "wrong-value",
        "telemetry: {a: {from: probe, measures: voltage, alarm: {below: ^'10.2'}}}",
        "`10.2` is not a level",
        "`10.2 V`",
    ),
]


@pytest.mark.parametrize(("kind", "text", "message", "advice"), FAULTS)
def test_each_mistake_is_told_at_its_place(
    only_fault: OnlyFault, kind: str, text: str, message: str, advice: str
) -> None:
    marked = f"{BASE}{text}\n"
    fault = only_fault(marked.replace("^", ""))
    assert (fault.kind, message in fault.message, advice in fault.do) == (kind, True, True), fault
    before = marked[: marked.index("^")]
    assert fault.span is not None
    assert (fault.span.line, fault.span.column) == (
        before.count("\n") + 1,
        len(before) - before.rfind("\n"),
    )


def test_a_tank_of_the_balance_may_be_measured(reading: Reading) -> None:
    text = f"""{BASE}balance: {{tanks: {{main: {{capacity: 2 l}}}}}}
telemetry: {{fuel: {{from: probe, measures: fuel, of: main, alarm: {{below: 20 %}}}}}}
"""
    assert reading(text).faults == ()


def test_one_broken_reading_hides_no_other(reading: Reading) -> None:
    text = f"{BASE}telemetry: {{a: {{from: probe}}, b: {{from: front-rx, measures: voltage}}}}\n"
    loaded = reading(text)
    assert list(loaded.setup.telemetry) == ["b"]
    assert loaded.setup.broken_under("telemetry") == ("telemetry", "a")


# By the definitions of the units: 60 rpm is one turn a second, 1 mAh is 3.6 C.
@pytest.mark.parametrize(
    ("text", "measures", "size"),
    [
        ("10.2 V", "voltage", 10.2),
        ("120 rpm", "speed", 2.0),
        ("-10 degC", "temperature", -10.0),
        ("1000 mAh", "charge", 3600.0),
        ("20 %", "fuel", 0.2),
        ("250 ml", "fuel", 250e-6),
        ("-90 dBm", "signal-strength", -90.0),
        ("2 bar", "pressure", 200e3),
    ],
)
def test_levels_are_read_in_the_unit_of_what_is_measured(
    text: str, measures: str, size: float
) -> None:
    found = level(text, measures)
    assert found == pytest.approx(size)
    assert found is not None
    assert found.text == text


def test_every_unit_of_every_measure_is_a_level() -> None:
    for measures in MEASURES:
        for dimension in DIMENSIONS_OF[measures]:
            assert LEVEL.fits(dimension.example)
            assert level(dimension.example, measures) is not None
            assert all(LEVEL.fits(f"5 {unit}") for unit in dimension.units)
