"""Figures of sign-offs: read with their units, held against what can be."""

import pytest

from holdshort.analysis.figures import BadFigure, kind_of, read_figure
from holdshort.analysis.known_tests import KNOWN_TESTS, Figure
from holdshort.setup import Quantity
from holdshort.setup.quantities import DISTANCE, HEADINGS, LENGTH, VOLTAGE, QuantityType


def asked(test: str, name: str) -> Figure:
    found = next(one for one in KNOWN_TESTS if one.name == test)
    return next(figure for figure in found.figures if figure.name == name)


# 1 ft = 0.3048 m (international yard and pound agreement, 1959); a pace of 0.75 m is common
# practice, no source.
@pytest.mark.parametrize(
    ("text", "metres"), [("40 paces", 30.0), ("1 pace", 0.75), ("30 m", 30.0), ("100 ft", 30.48)]
)
def test_a_distance_may_be_paced(text: str, metres: float) -> None:
    found = QuantityType(DISTANCE).read(text)
    assert found == pytest.approx(metres)


def test_a_count_needs_no_unit() -> None:
    figure = asked("range check engine off", "headings")
    found = read_figure(figure, "4")
    assert isinstance(found, Quantity)
    assert (found, found.text) == (4.0, "4 headings")


@pytest.mark.parametrize(
    ("test", "name", "text", "says"),
    [
        ("voltage under load", "lowest voltage", "610 V", "cannot be"),
        ("voltage under load", "lowest voltage", "0.5 V", "cannot be"),
        ("voltage under load", "lowest voltage", "6,1 V", "decimal comma"),
        ("voltage under load", "lowest voltage", "6.1", "without a unit"),
        ("voltage under load", "lowest voltage", "6.1 A", "not a voltage"),
        ("range check engine off", "distance", "0.5 paces", "cannot be"),
        ("range check engine off", "headings", "40", "cannot be"),
        ("failsafe engine running", "time", "90 s", "cannot be"),
        ("failsafe engine running", "time", "\x1b[2J", "not a time"),
    ],
)
def test_what_cannot_be_is_refused(test: str, name: str, text: str, says: str) -> None:
    found = read_figure(asked(test, name), text)
    assert isinstance(found, BadFigure)
    assert says in found.problem


@pytest.mark.parametrize(
    ("example", "dimension"),
    [("7.4 V", VOLTAGE), ("40 paces", DISTANCE), ("4 headings", HEADINGS), ("350 mm", LENGTH)],
)
def test_an_example_tells_the_kind(example: str, dimension: object) -> None:
    kind = kind_of(example)
    assert kind is not None
    assert kind.dimension is dimension


@pytest.mark.parametrize("example", ["", "yes", "12", "7.4 Volt", "V"])
def test_what_is_no_quantity_is_no_example(example: str) -> None:
    assert kind_of(example) is None
