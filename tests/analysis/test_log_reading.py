"""Rows of a log: what is read, what is left out and told, and that pieces change nothing."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.analysis.logs import rows as rows_module
from holdshort.analysis.logs.clock import form_of, seconds, show_moment
from holdshort.analysis.logs.layout import Layout, find_layout
from holdshort.analysis.logs.numbers import NotANumberError, number
from holdshort.analysis.logs.study import LogReading, LogStudy, Pair, Plan
from holdshort.setup.logs import LogColumns

BENCH = {
    "time": "Time",
    "columns": {
        "V": {"measures": "voltage", "at": "rx"},
        "A": {"measures": "current", "of": "pack"},
    },
}


def declared(**changes: Any) -> LogColumns:
    return LogColumns.read({**BENCH, **changes})


def read(
    text: str, columns: LogColumns | None = None, piece: int = 10_000, **plan: Any
) -> LogReading:
    columns = columns or declared()
    lines = text.splitlines()
    layout = find_layout(lines, columns)
    assert layout is not None
    pair = Pair("V", "A")
    form = columns.time.unit if columns.time else None
    gap = columns.time.gap if columns.time else None
    given: dict[str, Any] = {
        "limits": {"V": 6.0}, "fits": (pair,), "energies": (pair,), "form": form, "gap": gap, **plan
    }  # fmt: skip
    study = LogStudy(layout, Plan(columns=columns.columns or {}, **given))
    body = lines[layout.first_line - 1 :]
    for at in range(0, len(body), piece):
        study.feed(body[at : at + piece])
    return study.finish()


def layout_of(text: str, **changes: Any) -> Layout:
    found = find_layout(text.splitlines(), declared(**changes))
    assert found is not None
    return found


def flaws(reading: LogReading) -> Mapping[tuple[str, str], tuple[int, int, str]]:
    return {key: (tally.count, tally.line, tally.text) for key, tally in reading.flaws.items()}


def volts(reading: LogReading) -> Sequence[float | None]:
    extremes = reading.columns["V"].extremes
    return [
        extremes.lowest.value if extremes.lowest else None,
        extremes.highest.value if extremes.highest else None,
        extremes.mean,
    ]


def test_a_plain_log_is_read() -> None:
    reading = read("Time,V,A\n0,7.4,1\n1,7.0,3\n2,7.2,2\n")
    assert (reading.rows, reading.left_out, reading.flaws) == (3, 0, {})
    assert volts(reading) == [7.0, 7.4, pytest.approx(7.2)]
    lowest = reading.columns["V"].extremes.lowest
    assert lowest is not None
    assert (lowest.time, lowest.line) == (1.0, 3)
    assert (reading.start, reading.end, reading.interval, reading.form) == (0.0, 2.0, 1.0, "s")
    integral = reading.columns["A"].integral
    assert integral is not None
    assert integral.area == pytest.approx(4.5)  # 1 s at 2 A on average, 1 s at 2.5 A
    assert reading.energies[0].joules == pytest.approx((7.4 + 21.0) / 2 + (21.0 + 14.4) / 2)


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_the_delimiter_is_found_by_the_headings(delimiter: str) -> None:
    text = "Time,V,A\n0,7.4,1\n1,7.0,3\n".replace(",", delimiter)
    assert layout_of(text).delimiter == delimiter
    assert read(text).rows == 2


def test_decimal_commas() -> None:
    reading = read("Time;V;A\n0,0;7,40;1,5\n0,5;7,00;3\n")
    assert volts(reading)[:2] == [7.0, 7.4]
    quoted = read('Time,V,A\n"0,0","7,40",1\n"0,5","7,00",3\n', declared(decimal="comma"))
    assert volts(quoted)[:2] == [7.0, 7.4]


def test_a_comma_in_a_table_of_commas_is_not_guessed_at() -> None:
    reading = read('Time,V,A\n0,"1,234",1\n1,7.0,3\n')
    assert flaws(reading) == {("cell", "V"): (1, 2, "1,234")}
    assert volts(reading)[:2] == [7.0, 7.0]


def test_headings_may_be_quoted_hold_spaces_and_follow_other_lines() -> None:
    text = 'Model: Wren\n# rate 10 Hz\n\n "Time" , "V" ,A\n0,7.4,1\n'
    layout = layout_of(text.replace(' "Time" , "V" ,A', '"Time ","V",A'))
    assert (layout.headings, layout.first_line) == (("Time", "V", "A"), 5)


def test_a_log_without_headings_is_read_by_numbers() -> None:
    columns = LogColumns.read(
        {"time": "column 1", "columns": {"column 2": {"measures": "voltage", "at": "rx"}}}
    )
    layout = find_layout(["0,7.4", "1,7.0"], columns)
    assert layout is not None
    assert (layout.first_line, layout.time, layout.columns) == (1, 0, {"column 2": 1})


def test_missing_and_doubled_headings_are_told() -> None:
    layout = layout_of("Time,V,Time,V\n")
    assert (layout.missing, layout.doubled) == (("A",), ("V", "Time"))
    assert (layout.time, layout.columns) == (0, {"V": 1})


@pytest.mark.parametrize("text", ["", "\n \n\n"])
def test_an_empty_log_has_no_layout(text: str) -> None:
    assert find_layout(text.splitlines(), declared()) is None


def test_rows_of_the_wrong_length_are_left_out_and_told() -> None:
    reading = read("Time,V,A\n0,7.4,1\n1,7.0\n2,7.1,2,9\n3,7.2,2,\n\n4,7.3,1\n")
    assert (reading.rows, reading.left_out) == (3, 2)
    assert flaws(reading) == {("short", ""): (1, 3, "1,7.0"), ("long", ""): (1, 4, "2,7.1,2,9")}
    lowest = reading.columns["V"].extremes.lowest
    assert lowest is not None
    assert (lowest.value, lowest.line) == (7.2, 5)


def test_cells_that_are_no_numbers_leave_the_others_of_their_row() -> None:
    reading = read("Time,V,A\n0,7.4,1\n1,low,3\n2,,2\n3,inf,2\n4,1e13,2\n5,1_0,2\n6,7.0 V,n/a\n")
    assert reading.rows == 7
    assert flaws(reading) == {("cell", "V"): (5, 3, "low")}
    assert reading.columns["V"].extremes.count == 1
    assert reading.columns["A"].extremes.count == 6


def test_a_unit_behind_a_figure_is_taken_off_where_it_is_declared() -> None:
    columns = declared(columns={"V": {"measures": "voltage", "at": "rx", "unit": "mV"}})
    reading = read("Time,V\n0,7400 mV\n1,7000\n", columns, fits=(), energies=())
    assert volts(reading)[:2] == [7.0, pytest.approx(7.4)]


def test_times_that_cannot_be_read_leave_their_row_out() -> None:
    reading = read("Time,V,A\n0,7.4,1\n,5.0,3\nsoon,5.0,2\nnan,5.0,1\n3,7.2,2\n")
    assert (reading.rows, reading.left_out) == (2, 3)
    assert flaws(reading) == {("time", ""): (3, 3, "")}


def test_a_row_from_before_is_left_out_and_a_new_start_is_not() -> None:
    rows = [f"{at},7.4,1" for at in range(20)]
    strayed = [*rows[:10], "3,5.0,1", *rows[10:]]
    reading = read("\n".join(["Time,V,A", *strayed]))
    assert (reading.rows, reading.left_out, reading.restart_count) == (20, 1, 0)
    assert volts(reading)[0] == 7.4
    reading = read("\n".join(["Time,V,A", *rows, *rows]))
    assert reading.restart_count == 1
    assert reading.restarts == (rows_module.Restart(line=22, before=19.0, after=0.0),)
    assert (reading.rows, reading.left_out, dict(reading.flaws)) == (40, 0, {})
    integral = reading.columns["A"].integral
    assert integral is not None
    assert integral.seconds == reading.span == 19 + 19


def test_the_first_rows_after_a_new_start_may_hold_the_lowest_voltage() -> None:
    """A supply that fails makes a logger begin anew: what it wrote first tells why."""
    before = [f"{at},7.4,1" for at in range(20)]
    after = [f"{at},{4.1 if at == 1 else 7.4},1" for at in range(20)]
    reading = read("\n".join(["Time,V,A", *before, *after]))
    assert volts(reading)[0] == 4.1


def test_rows_from_before_that_come_to_no_new_start_stay_left_out() -> None:
    rows = [f"{at},7.4,1" for at in range(30)]
    few = [f"{at},5.0,1" for at in range(rows_module.RESTART - 1)]
    reading = read("\n".join(["Time,V,A", *rows[:15], *few, *rows[15:]]))
    assert (reading.rows, reading.left_out, reading.restart_count) == (30, len(few), 0)
    assert flaws(reading) == {("back", ""): (len(few), 17, "0")}
    unsteady = ["2,5.0,1", "1,5.0,1"]  # the first is before neither: only the second begins anew
    again = read("\n".join(["Time,V,A", *rows, *unsteady, *[f"{at},7.4,1" for at in range(2, 20)]]))
    assert (again.rows, again.left_out) == (30 + 19, 1)
    assert again.restarts == (rows_module.Restart(line=33, before=29.0, after=1.0),)


def test_a_new_start_across_two_blocks_counts_what_is_left_of_it() -> None:
    rows = [f"{at},7.4,1" for at in range(rows_module.BLOCK - 4)]
    reading = read("\n".join(["Time,V,A", *rows, *[f"{at},7.4,1" for at in range(50)]]))
    assert reading.restart_count == 1
    assert (reading.rows, reading.left_out) == (len(rows) + 46, 4)


def test_gaps_are_told_and_no_charge_is_counted_in_them() -> None:
    reading = read("Time,V,A\n0,7.4,1\n1,7.4,1\n2,7.4,1\n60,7.4,1\n61,7.4,1\n")
    assert reading.gaps == (1, 58.0, 58.0, 5)
    integral = reading.columns["A"].integral
    assert integral is not None
    assert (integral.area, integral.seconds, integral.lost) == (3.0, 3.0, 58.0)


def test_the_owner_may_say_how_long_a_gap_is() -> None:
    columns = declared(time={"column": "Time", "gap": "100 s"})
    reading = read("Time,V,A\n0,7.4,1\n1,7.4,1\n60,7.4,1\n", columns)
    assert reading.gaps.number == 0


def test_blank_cells_are_bridged() -> None:
    reading = read("Time,V,A\n0,7.4,1\n1,,\n2,7.4,3\n")
    integral = reading.columns["A"].integral
    assert integral is not None
    assert integral.area == pytest.approx(4.0)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("0:00:01.5", 1.5), ("1:02:03", 3723.0), ("12:34", 754.0), ("12:34,5", 754.5),
        ("2026-05-04T10:00:00", 1777888800.0), ("2026-05-04 10:00:00.250", 1777888800.25),
        ("2026-05-04T12:00:00+02:00", 1777888800.0), ("2026/05/04 10:00:00", 1777888800.0),
        ("75:00.5", 4500.5), ("3.25", 3.25), (" 4 ", 4.0), ("-1.5", -1.5),
    ],
)  # fmt: skip
def test_times_are_known_by_their_look(text: str, expected: float) -> None:
    """The date counts by `date -u -d 2026-05-04T10:00:00 +%s` of GNU coreutils."""
    assert seconds(text, form_of(text)) == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(
    "text",
    [
        "1:99:00",
        "12:34:61",
        "04.05.2026 10:00:00",
        "1:00:00 PM",
        "2026-13-01 10:00:00",
        "a:b:c",
        "::",
    ],
)
def test_times_that_are_none(text: str) -> None:
    with pytest.raises(NotANumberError):
        seconds(text, form_of(text))


@pytest.mark.parametrize(("unit", "end"), [("s", 2000.0), ("ms", 2.0), ("us", 0.002)])
def test_units_of_time(unit: str, end: float) -> None:
    columns = declared(time={"column": "Time", "unit": unit})
    assert read("Time,V,A\n0,7.4,1\n2000,7.4,1\n", columns).end == pytest.approx(end)


def test_a_clock_goes_past_midnight() -> None:
    reading = read(
        "Time,V,A\n23:59:59.0,7.4,2\n23:59:59.5,7.4,2\n0:00:00.0,7.4,2\n0:00:00.5,7.4,2\n"
    )
    assert (reading.rows, reading.left_out) == (4, 0)
    integral = reading.columns["A"].integral
    assert integral is not None
    assert integral.area == pytest.approx(3.0)
    assert show_moment(reading.end, reading.form) == "00:00:00.50"


@pytest.mark.parametrize(
    ("text", "comma", "expected"),
    [("7.4", False, 7.4), ("-.5", False, -0.5), ("1e-3", False, 1e-3), ("7,4", True, 7.4),
     (" 12 ", True, 12.0)],
)  # fmt: skip
def test_numbers(text: str, comma: bool, expected: float) -> None:
    assert number(text, comma=comma) == expected


@pytest.mark.parametrize("text", ["", " ", "-", "--", "NaN", "N/A", "null"])
def test_blank_cells_are_missing(text: str) -> None:
    assert math.isnan(number(text))


@pytest.mark.parametrize("text", ["inf", "-Infinity", "1e400", "0x10", "1_000", "١٢", "7,4,1", "x"])
def test_what_is_no_number(text: str) -> None:
    with pytest.raises(NotANumberError):
        number(text, comma=True)


cells = st.one_of(
    st.floats(-50, 50).map(lambda value: f"{value:.3f}"),
    st.sampled_from(["", "nan", "x", "inf", "1e999", '"', '"7,5"', "5", "1_0", "\x00", "é"]),
)
line = st.lists(cells, min_size=0, max_size=5).map(",".join)


@settings(max_examples=60)
@given(st.lists(line, max_size=60), st.integers(1, 7), st.data())
def test_the_pieces_in_which_a_log_comes_change_nothing(
    lines: list[str], piece: int, data: st.DataObject
) -> None:
    """Times out of order, cells of rubbish, rows of any length: read alike, and never a crash."""
    text = "\n".join(["Time,V,A", *lines])
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("holdshort.analysis.logs.study.BLOCK", data.draw(st.integers(2, 9)))
        whole, cut = read(text), read(text, piece=piece)
    assert repr(whole) == repr(cut)
    told = sum(tally.count for (flaw, _), tally in whole.flaws.items() if flaw != "cell")
    assert told == whole.left_out
    assert whole.rows + whole.left_out == sum(1 for row in lines if row.strip())


@settings(max_examples=60)
@given(
    st.lists(
        st.tuples(st.floats(5, 13), st.floats(0.1, 40)), min_size=5, max_size=40
    ),
    st.floats(0.01, 100),
)  # fmt: skip
def test_resistance_goes_by_one_over_the_current(
    pairs: list[tuple[float, float]], factor: float
) -> None:
    rows = [f"{at},{volt!r},{ampere!r}" for at, (volt, ampere) in enumerate(pairs)]
    scaled = [f"{at},{volt!r},{ampere * factor!r}" for at, (volt, ampere) in enumerate(pairs)]
    one, other = (read("\n".join(["Time,V,A", *text])).fits[0].line for text in (rows, scaled))
    spread = max(ampere for _, ampere in pairs) - min(ampere for _, ampere in pairs)
    if spread < 0.5 or one is None or other is None:
        return
    assert other.slope == pytest.approx(one.slope / factor, rel=1e-6, abs=1e-9 / factor)
    assert other.half_width == pytest.approx(one.half_width / factor, rel=1e-5, abs=1e-7 / factor)


@settings(max_examples=40)
@given(st.lists(st.floats(0, 20), min_size=2, max_size=60))
def test_block_by_block_is_row_by_row(values: list[float]) -> None:
    """The quick way through a whole block gives what the cell by cell way gives."""
    quick = [f"{at},{value!r},{value!r}" for at, value in enumerate(values)]
    slow = [f'"{at}",{value!r},{value!r}' for at, value in enumerate(values)]
    one, other = (read("\n".join(["Time,V,A", *text])) for text in (quick, slow))
    assert repr(one) == repr(other)
