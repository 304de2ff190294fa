"""Dips, what moved with them, losses of the link, and curves that lose no dip."""

from collections.abc import Sequence
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.analysis.logs.curves import MOST, Envelope
from holdshort.analysis.logs.dips import KEPT, MERGE, Dip, DipFinder
from holdshort.analysis.logs.layout import find_layout
from holdshort.analysis.logs.links import LossCounter
from holdshort.analysis.logs.moved import median
from holdshort.analysis.logs.study import LogReading, LogStudy, Plan
from holdshort.setup.logs import LogColumns


def dips_of(
    values: Sequence[float], step: float = 0.1, gap: float = 1.0, limit: float = 6.0
) -> DipFinder:
    finder = DipFinder(limit, gap)
    times = [at * step for at in range(len(values))]
    finder.feed(times, range(2, len(values) + 2), values)
    finder.finish()
    return finder


def test_a_dip_lasts_until_the_voltage_is_back() -> None:
    finder = dips_of([7.0] * 5 + [5.5, 5.1, 5.9] + [7.0] * 10)
    (dip,) = finder.told()
    assert (dip.start.time, dip.start.line, dip.lowest.value, dip.lowest.line) == (0.5, 7, 5.1, 8)
    assert dip.duration == pytest.approx(0.3)
    assert (dip.readings, dip.cut, finder.count) == (3, False, 1)
    assert finder.seconds == finder.longest == dip.duration


def test_a_voltage_at_its_limit_is_no_dip() -> None:
    assert dips_of([6.0] * 20).count == 0


def test_dips_close_together_are_one() -> None:
    apart = int(MERGE / 0.1)
    near = dips_of([5.0, *[7.0] * (apart - 1), 5.0, *[7.0] * 20])
    assert near.count == 1
    assert near.told()[0].duration == pytest.approx(MERGE + 0.1)
    assert dips_of([5.0, *[7.0] * (apart + 2), 5.0, *[7.0] * 20]).count == 2


def test_dips_just_so_far_apart_are_two() -> None:
    quarter = MERGE / 2.0  # exact in binary
    assert dips_of([5.0, 7.0, 5.0, 7.0, 7.0, 7.0], quarter).count == 1
    assert dips_of([5.0, 7.0, 7.0, 5.0, 7.0, 7.0], quarter).count == 2


def test_a_dip_at_the_end_of_the_log_is_cut() -> None:
    (dip,) = dips_of([7.0, 7.0, 5.0, 5.0]).told()
    assert dip.cut
    assert dip.duration == pytest.approx(0.1)


def test_a_gap_ends_a_dip() -> None:
    finder = DipFinder(6.0, gap=1.0)
    finder.feed([0.0, 0.1, 30.0, 30.1, 31.0], [2, 3, 4, 5, 6], [5.0, 5.0, 5.0, 7.0, 7.0])
    finder.finish()
    first, second = finder.told()
    assert (first.cut, first.end) == (True, 0.1)
    assert not second.cut
    assert second.duration == pytest.approx(0.1)


def test_the_deepest_are_told_and_all_are_counted() -> None:
    values: list[float] = []
    for number in range(100):
        values += [5.0 - number / 100.0, *[7.0] * 10]
    finder = dips_of(values)
    assert finder.count == 100
    told = finder.told()
    assert len(told) == KEPT
    assert {round(dip.lowest.value, 2) for dip in told} == {
        round(5.0 - number / 100.0, 2) for number in range(80, 100)
    }


@settings(max_examples=100)
@given(st.lists(st.sampled_from([4.0, 5.9, 6.0, 7.0]), max_size=80), st.integers(1, 9))
def test_dips_are_the_runs_under_the_limit(values: list[float], piece: int) -> None:
    """Where rows are further apart than MERGE, dips are the plain runs of readings under it."""
    step = 2 * MERGE
    finder = DipFinder(6.0, gap=10.0)
    times = [at * step for at in range(len(values))]
    for at in range(0, len(values), piece):
        part = slice(at, at + piece)
        finder.feed(times[part], range(at, at + len(values[part])), values[part])
    finder.finish()
    below = [value < 6.0 for value in values]
    starts = [at for at, (one, two) in enumerate(pairwise([False, *below])) if two and not one]
    assert finder.count == len(starts)
    if len(starts) <= KEPT:
        assert [dip.start.line for dip in finder.told()] == starts
    ends = [
        next((at for at in range(start, len(below)) if not below[at]), len(below) - 1)
        for start in starts
    ]
    expected = sum((end - start) * step for start, end in zip(starts, ends, strict=True))
    assert finder.seconds == pytest.approx(expected)


COLUMNS = LogColumns.read(
    {
        "time": "t",
        "columns": {
            "Rx": {"measures": "voltage", "at": "rx"},
            "Pack": {"measures": "voltage", "at": "pack"},
            "Amps": {"measures": "current", "of": "pack"},
            "Ail": {"measures": "position", "of": "channel 1"},
            "Still": {"measures": "position", "of": "channel 2"},
            "Lost": {"measures": "lost-frames", "of": "rx"},
        },
    }
)


def studied(rows: Sequence[str], piece: int = 1000) -> LogReading:
    lines = ["t,Rx,Pack,Amps,Ail,Still,Lost", *rows]
    layout = find_layout(lines, COLUMNS)
    assert layout is not None
    study = LogStudy(layout, Plan(COLUMNS.columns or {}, {"Rx": 6.0}))
    for at in range(1, len(lines), piece):
        study.feed(lines[at : at + piece])
    return study.finish()


def quiet(at: int, *, still: bool = True) -> str:
    """A row in which all is at rest but for noise in the current."""
    ail = 0 if still else (90 if at % 7 < 4 else -90)
    return f"{at / 10},7.4,12.0,{1.0 + (at % 3) * 0.05},{ail},{at % 2},0"


def the_dip(reading: LogReading) -> Dip:
    dips = reading.columns["Rx"].dips
    assert dips is not None
    return dips.told[0]


@pytest.mark.parametrize("before", [100, 4095, 4096, 4097, 5000])
def test_what_moved_with_a_dip_is_told(before: int) -> None:
    """Wherever in the blocks the dip lies: what was still and then moved, the cause first."""
    rows = [quiet(at) for at in range(before)]
    rows += [f"{at / 10},5.1,11.8,22,95,0,{at}" for at in range(before, before + 4)]
    rows += [quiet(at) for at in range(before + 4, before + 60)]
    moved = the_dip(studied(rows)).moved
    assert [one.column for one in moved] == ["Amps", "Ail", "Pack"]
    assert moved[0].before == pytest.approx(1.05)
    assert moved[0].after == 22.0
    assert (moved[1].before, moved[1].after) == (0.0, 95.0)


def test_what_moved_all_the_time_is_not_told() -> None:
    rows = [quiet(at, still=False) for at in range(100)]
    rows += [f"{at / 10},5.1,12.0,1.05,90,0,0" for at in range(100, 104)]
    rows += [quiet(at, still=False) for at in range(104, 160)]
    assert the_dip(studied(rows)).moved == ()


def test_a_dip_in_the_first_row_has_nothing_before_it() -> None:
    dip = the_dip(studied(["0,5.0,12,1,0,0,0", "0.1,7.4,12,1,0,0,0", "0.2,7.4,12,1,0,0,0"]))
    assert (dip.start.line, dip.moved) == (2, ())


def losses(values: Sequence[float], *, each_row: bool = False, gap: float = 1.0) -> LossCounter:
    counter = LossCounter(each_row, gap)
    times = [at * 0.1 for at in range(len(values))]
    counter.feed(times, range(2, len(values) + 2), values)
    return counter


def test_losses_are_counted_from_the_first_row_on() -> None:
    counter = losses([12, 12, 13, 15, 18, 18, 19, 19])
    assert counter.total == 7
    assert counter.longest is not None
    assert counter.longest.duration == pytest.approx(0.3)  # from the last row that lost none
    assert counter.longest.start == pytest.approx(0.1)
    assert counter.longest.line == 4


def test_a_counter_that_falls_began_anew() -> None:
    assert losses([250, 252, 3, 4]).total == 2 + 3 + 1


def test_losses_given_row_by_row() -> None:
    counter = losses([0, 2, 3, 0, 1], each_row=True)
    assert counter.total == 6
    assert counter.longest is not None
    assert counter.longest.duration == pytest.approx(0.2)


def test_no_losses_have_no_run() -> None:
    assert (losses([5] * 9).total, losses([5] * 9).longest) == (0.0, None)


@settings(max_examples=50)
@given(st.lists(st.integers(0, 5), min_size=1, max_size=60), st.integers(1, 9))
def test_losses_do_not_depend_on_the_pieces(steps: list[int], piece: int) -> None:
    values = [float(sum(steps[: at + 1])) for at in range(len(steps))]
    counter = LossCounter(each_row=False, gap=1.0)
    times = [at * 0.1 for at in range(len(values))]
    for at in range(0, len(values), piece):
        part = slice(at, at + piece)
        counter.feed(times[part], range(at, at + len(values[part])), values[part])
    assert counter.total == values[-1] - values[0]
    assert counter.longest == losses_at(values)


def losses_at(values: Sequence[float]) -> object:
    counter = LossCounter(each_row=False, gap=1.0)
    counter.feed([at * 0.1 for at in range(len(values))], range(len(values)), values)
    return counter.longest


@settings(max_examples=40)
@given(st.integers(0, 40), st.integers(0, 9_999), st.integers(100, 3000))
def test_a_curve_of_any_length_keeps_the_dip_and_stays_short(
    low: int, where: int, piece: int
) -> None:
    values = [50.0] * 10_000
    values[where] = float(low)
    curve = Envelope()
    for at in range(0, len(values), piece):
        part = values[at : at + piece]
        curve.feed([float(at + step) for step in range(len(part))], part)
    points = curve.finish()
    assert len(points) <= MOST
    assert min(point.low for point in points) == low
    assert max(point.high for point in points) == 50.0
    times = [point.time for point in points]
    assert times == sorted(times)


@pytest.mark.parametrize(
    ("values", "expected"), [([3.0], 3.0), ([1.0, 9.0], 5.0), ([9.0, 1.0, 2.0], 2.0)]
)
def test_median(values: list[float], expected: float) -> None:
    assert median(values) == expected
