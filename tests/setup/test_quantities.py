"""Quantities: units against their definitions, and which texts are read."""

import copy
import pickle
import re
from fractions import Fraction

import pytest
import scipy.constants
from hypothesis import assume, example, given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from pydantic_core import PydanticCustomError

from holdshort.setup import quantities
from holdshort.setup.quantities import (
    DIMENSIONS,
    Dimension,
    PortionType,
    Quantity,
    QuantityType,
)

# Exact definitions. Inch and pound: international yard and pound agreement of 1959. Standard
# gravity: 3rd CGPM, 1901. Nautical mile: 1929 Monaco conference. Mile: 5280 feet of 12 inches.
INCH = Fraction(254, 10_000)
POUND = Fraction(45_359_237, 100_000_000)
GRAVITY = Fraction(980_665, 100_000)
DEFINED = [
    (quantities.LENGTH, "in", INCH),
    (quantities.LENGTH, "ft", 12 * INCH),
    (quantities.MASS, "lb", POUND),
    (quantities.MASS, "oz", POUND / 16),
    (quantities.SPEED, "kt", Fraction(1852, 3600)),
    (quantities.SPEED, "mph", 5280 * 12 * INCH / 3600),
    (quantities.SPEED, "km/h", Fraction(1000, 3600)),
    (quantities.TORQUE, "kg.cm", GRAVITY / 100),
    (quantities.TORQUE, "kg·cm", GRAVITY / 100),
    (quantities.TORQUE, "oz.in", POUND / 16 * GRAVITY * INCH),
    (quantities.TORQUE, "N·m", Fraction(1)),
    (quantities.FORCE, "kgf", GRAVITY),
    (quantities.FORCE, "lbf", POUND * GRAVITY),
    (quantities.CHARGE, "mAh", Fraction(3600, 1000)),
    (quantities.VOLUME, "l", Fraction(1, 1000)),
    (quantities.VOLUME, "ml", Fraction(1, 1_000_000)),
    (quantities.VOLUME, "gal", 231 * INCH**3),
    (quantities.VOLUME, "fl.oz", 231 * INCH**3 / 128),
    (quantities.WIRE, "mm2", Fraction(1, 1_000_000)),
    (quantities.SHARE, "%", Fraction(1, 100)),
    (quantities.DURATION, "min", Fraction(60)),
    (quantities.RESISTANCE, "mohm", Fraction(1, 1000)),
]

# The same factors as CODATA/NIST tabulate them in SciPy.
TABULATED = [
    (quantities.LENGTH, "in", scipy.constants.inch),
    (quantities.LENGTH, "ft", scipy.constants.foot),
    (quantities.MASS, "lb", scipy.constants.pound),
    (quantities.MASS, "oz", scipy.constants.ounce),
    (quantities.SPEED, "kt", scipy.constants.knot),
    (quantities.SPEED, "mph", scipy.constants.mph),
    (quantities.SPEED, "km/h", scipy.constants.kmh),
    (quantities.FORCE, "kgf", scipy.constants.kgf),
    (quantities.FORCE, "lbf", scipy.constants.lbf),
    (quantities.ANGLE, "deg", scipy.constants.degree),
    (quantities.VOLUME, "l", scipy.constants.litre),
    (quantities.VOLUME, "gal", scipy.constants.gallon_US),
    (quantities.VOLUME, "fl.oz", scipy.constants.fluid_ounce_US),
]

# Diameters by the formula of ASTM B258, d = 0.127 mm * 92^((36 - n)/39), and the areas that follow.
GAUGES = {
    12: 3.308773, 14: 2.080908, 16: 1.308696, 18: 0.823047, 20: 0.517619, 22: 0.325534,
    24: 0.20473, 26: 0.128756, 28: 0.080976,
}  # fmt: skip

KINDS = [
    QuantityType(dimension, signed=signed, zero=zero)
    for dimension in DIMENSIONS
    for signed, zero in ((False, False), (False, True), (True, False))
]


def accepts(kind: QuantityType, text: str) -> bool:
    try:
        kind.read(text)
    except PydanticCustomError:
        return False
    return True


def matches(kind: QuantityType, text: str) -> bool:
    """Match as ECMA does, where ``$`` is the very end; Python's also stands before a last break."""
    plain = Draft202012Validator({"type": "string", "pattern": kind.pattern}).is_valid(text)
    return plain and not text.endswith("\n")


@pytest.mark.parametrize(("dimension", "unit", "size"), DEFINED)
def test_units_have_their_defined_size(dimension: Dimension, unit: str, size: Fraction) -> None:
    read = QuantityType(dimension).read(f"1 {unit}")
    assert float(read) == pytest.approx(float(size), rel=4e-16)


@pytest.mark.parametrize(("dimension", "unit", "size"), TABULATED)
def test_units_agree_with_the_tables_of_scipy(dimension: Dimension, unit: str, size: float) -> None:
    assert float(QuantityType(dimension).read(f"1 {unit}")) == pytest.approx(size, rel=1e-15)


@pytest.mark.parametrize(("gauge", "square_millimetres"), GAUGES.items())
def test_wire_gauges_have_the_areas_of_the_standard(gauge: int, square_millimetres: float) -> None:
    read = QuantityType(quantities.WIRE).read(f"{gauge} AWG")
    assert float(read) == pytest.approx(square_millimetres * 1e-6, rel=1e-4)


def test_gauge_36_is_the_anchor_of_the_scale() -> None:
    # ASTM B258 fixes number 36 at 0.005 inch.
    area = float(QuantityType(quantities.WIRE).read("36 AWG"))
    assert area == pytest.approx(scipy.constants.pi / 4 * (0.005 * scipy.constants.inch) ** 2)


@pytest.mark.parametrize("text", ["0 AWG", "41 AWG", "20.5 AWG", "-20 AWG", "020 AWG"])
def test_gauges_off_the_scale_are_refused(text: str) -> None:
    assert not accepts(QuantityType(quantities.WIRE), text)


@given(
    kind=st.sampled_from(KINDS),
    number=st.decimals(0, 999_999_999, allow_nan=False, places=4),
    data=st.data(),
)
def test_number_and_unit_come_back(kind: QuantityType, number: object, data: st.DataObject) -> None:
    units = {unit: size for unit, size in kind.dimension.units.items() if unit != "AWG"}
    unit = data.draw(st.sampled_from(sorted(units)))
    gap = data.draw(st.sampled_from(["", " "]))
    text = f"{number}{gap}{unit}"
    if float(str(number)) == 0.0 and not kind.zero:
        assert not accepts(kind, text)
        return
    read = kind.read(text)
    assert read.text == text
    assert float(read) / units[unit] == pytest.approx(float(str(number)), rel=1e-12)


@given(kind=st.sampled_from(KINDS), other=st.sampled_from(DIMENSIONS), data=st.data())
def test_a_unit_of_something_else_is_refused_by_name(
    kind: QuantityType, other: Dimension, data: st.DataObject
) -> None:
    foreign = sorted(set(other.units) - set(kind.dimension.units))
    assume(foreign)
    unit = data.draw(st.sampled_from(foreign))
    with pytest.raises(PydanticCustomError) as caught:
        kind.read(f"3 {unit}")
    assert caught.value.type == "quantity"
    problem = str((caught.value.context or {})["problem"])
    assert f"not a {kind.dimension.name}" in problem or f"not an {kind.dimension.name}" in problem


SPELLINGS = sorted({unit for dimension in DIMENSIONS for unit in dimension.units})
NEAR_QUANTITIES = st.one_of(
    st.builds(
        "{}{}{}{}{}".format,
        st.sampled_from(["", "", "", "+", "-", " ", "\t"]),
        st.sampled_from(["0", "0.0", "007", "1", "12.5", "3.", ".5", "1,5", "1e3", "٣",
                         "1234567890", "0.0000000001", "999999999.999999999"]),
        st.sampled_from(["", " ", "  ", "\n", "\u00a0"]),
        st.sampled_from([*SPELLINGS, "v", "KG", "inch", "", "N m", "%%"]),
        st.sampled_from(["", "", "", " ", "\n", "."]),
    ),
    st.text(max_size=20),
)  # fmt: skip


@given(kind=st.sampled_from([*KINDS, PortionType()]), text=NEAR_QUANTITIES)
@example(kind=KINDS[0], text="8.4 V\n")
@example(kind=KINDS[0], text="８.4 V")
def test_reader_and_pattern_agree_on_any_text(kind: QuantityType, text: str) -> None:
    assert accepts(kind, text) == matches(kind, text)


@given(
    kind=st.sampled_from([*KINDS, PortionType()]),
    value=st.one_of(
        st.none(), st.booleans(), st.integers(), st.floats(), st.text(), st.lists(st.integers()),
        st.dictionaries(st.text(), st.integers()), NEAR_QUANTITIES,
    ),
)  # fmt: skip
def test_anything_is_read_or_refused_in_words(kind: QuantityType, value: object) -> None:
    try:
        read = kind.read(value)
    except PydanticCustomError as error:
        context = error.context or {}
        assert context["problem"]
        assert str(context["advice"]).endswith((".", "?"))
    else:
        assert read.text == value


@pytest.mark.parametrize(
    ("text", "problem", "advice"),
    [
        ("14", "without a unit", "Write a mass with its unit, such as `13.9 kg`."),
        ("14 m", "a length, not a mass", "Write a mass, such as `13.9 kg`."),
        ("13,9 kg", "with a decimal comma", "Write `13.9 kg`."),
        ("13.9 Kg", "in `Kg`, which is not a unit", "Did you mean `kg`?"),
        ("3 stone", "in `stone`, which is not a unit of mass", "Units of mass: kg, g, lb, oz."),
        ("-2 kg", "below zero", "Write a mass, such as `13.9 kg`."),
        ("0 kg", "which is zero", "Write a mass, such as `13.9 kg`."),
        ("heavy", "not a mass", "Write a mass, such as `13.9 kg`."),
    ],
)
def test_problems_are_told_in_plain_words(text: str, problem: str, advice: str) -> None:
    with pytest.raises(PydanticCustomError) as caught:
        QuantityType(quantities.MASS).read(text)
    assert caught.value.context == {"problem": problem, "advice": advice}


@pytest.mark.parametrize("dimension", DIMENSIONS, ids=lambda dimension: dimension.name)
def test_the_example_of_each_dimension_is_read(dimension: Dimension) -> None:
    assert QuantityType(dimension).read(dimension.example).text == dimension.example
    assert re.search(QuantityType(dimension).pattern, dimension.example)


def test_a_quantity_survives_copying_and_pickling() -> None:
    quantity = Quantity(8.4, "8.4 V")
    for twin in (copy.deepcopy(quantity), pickle.loads(pickle.dumps(quantity))):  # noqa: S301
        assert (float(twin), twin.text) == (8.4, "8.4 V")


@pytest.mark.parametrize(
    "text", ["0.000000001 %", "92%", "100 %", "000000100.000 %", "000000099 %"]
)
def test_a_portion_is_up_to_all_of_it(text: str) -> None:
    assert accepts(PortionType(), text)
    assert matches(PortionType(), text)


@pytest.mark.parametrize(
    ("text", "problem"),
    [("0 %", "which is zero"), ("100.000000001 %", "above 100 %"), ("920 %", "above 100 %")],
)
def test_a_portion_of_nothing_or_of_more_than_all_is_refused(text: str, problem: str) -> None:
    assert not matches(PortionType(), text)
    with pytest.raises(PydanticCustomError) as caught:
        PortionType().read(text)
    assert (caught.value.context or {})["problem"] == problem
