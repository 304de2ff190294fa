"""Names, ports, channels and lead ends: the reader takes what the schema's pattern matches."""

import re

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from pydantic_core import PydanticCustomError

from holdshort.setup.base import CHANNEL_RUN, END, NAME, PORT_RUN, Whole, Wording
from holdshort.setup.sections import FAILSAFE_ACTION

WORDINGS = [NAME, PORT_RUN, CHANNEL_RUN, END, FAILSAFE_ACTION]
NEAR = st.text(max_size=20) | st.text(alphabet="0123456789.-+ abus%\n", max_size=12)


@given(wording=st.sampled_from(WORDINGS), text=NEAR)
@example(wording=NAME, text="rx\n")
@example(wording=PORT_RUN, text="bus\n")
@example(wording=CHANNEL_RUN, text="1..6\n")
@example(wording=FAILSAFE_ACTION, text="hold\n")
def test_reader_and_pattern_agree_on_any_text(wording: Wording, text: str) -> None:
    # `$` is the very end in ECMA; Python spells that `\\Z`.
    assert wording.pattern.endswith("$")
    matched = re.search(wording.pattern.removesuffix("$") + r"\Z", text)
    assert wording.fits(text) == bool(matched)


@pytest.mark.parametrize(
    ("wording", "good", "bad"),
    [
        (NAME, ["a", "left aileron", "x" * 80, "é", "ail-left/2"],
         ["", " a", "a ", "x" * 81, "a.b", "a,b", "[a]", "{a", "a\tb"]),
        (PORT_RUN, ["1", "0", "bus", "in-2", "1..6", "out-1..2", "A b_c-d", "x" * 40],
         ["", "08", "00", "01..4", "1..04", "1..", "..2", "-1", "a.b", "x" * 41]),
        (CHANNEL_RUN, ["1", "99", "1..6"], ["0", "100", "01", "1..06", "out-1..2", "x"]),
        (END, ["a", "front rx.in-2", "a.1"], ["a.", ".1", "a.1.2", "a..2", "a.-"]),
        (FAILSAFE_ACTION, ["hold", "-100 %", "100%", "+12.5 %", "1520 us", "900µs", "900 \u03bcs"],
         ["", "Hold", "1000 %", "100", "1520 ms", "-1520 us", "100. %", "0 us",
          "0.00 us"]),
    ],
    ids=["name", "port", "channel", "end", "failsafe"],
)  # fmt: skip
def test_what_fits_and_what_does_not(wording: Wording, good: list[str], bad: list[str]) -> None:
    assert [text for text in good if not wording.fits(text)] == []
    assert [text for text in bad if wording.fits(text)] == []


@pytest.mark.parametrize("wording", WORDINGS, ids=lambda wording: wording.what)
def test_the_examples_fit(wording: Wording) -> None:
    assert all(wording.fits(text) for text in (*wording.examples, *wording.words))


@given(low=st.integers(-5, 5), size=st.integers(0, 9), value=st.integers(-9, 20) | st.floats())
def test_whole_numbers_are_taken_within_their_bounds(low: int, size: int, value: float) -> None:
    inside = low <= value <= low + size and value == int(value)
    if inside:
        assert Whole(low, low + size).read(value) == value
        assert isinstance(Whole(low, low + size).read(value), int)
    else:
        with pytest.raises(PydanticCustomError):
            Whole(low, low + size).read(value)


@pytest.mark.parametrize("value", [None, True, "3", [3]])
def test_what_is_no_number_is_no_whole_number(value: object) -> None:
    with pytest.raises(PydanticCustomError):
        Whole(0, 9).read(value)
