"""Runs of ports and channels."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holdshort.setup.base import CHANNEL_RUN, PORT_RUN
from holdshort.setup.runs import expand_run, run_problem


@pytest.mark.parametrize(
    ("key", "names"),
    [
        ("1..3", ("1", "2", "3")),
        ("out-1..2", ("out-1", "out-2")),
        ("in-b-9..10", ("in-b-9", "in-b-10")),
        ("bus", ("bus",)),
        ("7", ("7",)),
    ],
)
def test_a_run_stands_for_each_of_its_names(key: str, names: tuple[str, ...]) -> None:
    assert expand_run(key) == names


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("3..1", "does not run upwards"),
        ("4..4", "does not run upwards"),
        ("1..65", "is longer than 64"),
        ("08", "has a leading zero: write `8`"),
        ("01..4", "`01` has a leading zero: write `1`"),
        ("1..04", "`04` has a leading zero: write `4`"),
        ("a..b", "is not a run of numbers"),
        ("1..", "is not a run of numbers"),
        ("1..2..3", "is not a run of numbers"),
        ("²..3", "is not a run of numbers"),
    ],
)
def test_what_is_no_run_is_told_in_words(key: str, words: str) -> None:
    with pytest.raises(ValueError, match=r"^`") as caught:
        expand_run(key)
    assert words in str(caught.value)


@given(low=st.integers(0, 900), size=st.integers(1, 63), name=st.sampled_from(["", "out-", "b c-"]))
def test_runs_count_every_number_once(low: int, size: int, name: str) -> None:
    names = expand_run(f"{name}{low}..{low + size}")
    assert [int(step.removeprefix(name)) for step in names] == list(range(low, low + size + 1))


@given(st.text(max_size=30) | st.text(alphabet="0123456789.-a ", max_size=12))
def test_any_text_is_expanded_or_refused(key: str) -> None:
    problem = run_problem(key)
    if problem:
        with pytest.raises(ValueError, match=r"^`"):
            expand_run(key)
    else:
        assert expand_run(key)


@given(st.text(alphabet="0123456789.", max_size=6))
def test_channel_keys_are_numbers_once_expanded(key: str) -> None:
    if CHANNEL_RUN.fits(key) and not run_problem(key):
        assert all(1 <= int(step) <= 99 for step in expand_run(key))


@given(st.text(alphabet="0123456789.-ab ", max_size=10))
def test_ports_that_fit_are_refused_only_for_their_direction_or_length(key: str) -> None:
    problem = run_problem(key) if PORT_RUN.fits(key) else ""
    assert not problem or "upwards" in problem or "longer" in problem


@given(st.sampled_from(["", "out-", "in b-"]), st.integers(0, 999), st.integers(0, 999))
def test_a_run_that_fits_has_a_problem_just_where_it_turns_or_is_too_long(
    prefix: str, first: int, last: int
) -> None:
    key = f"{prefix}{first}..{last}"
    assert PORT_RUN.fits(key)
    assert bool(run_problem(key)) == (last <= first or last - first >= 64)
