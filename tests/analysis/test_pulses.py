"""From per cent to pulses, against pulses worked by hand from the formula."""

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holdshort.analysis.facts import Need
from holdshort.analysis.pulses import (
    ChannelRange,
    channel_pulse,
    channel_range,
    channel_travel,
    mirrored,
    modes_of,
    show_pulse,
    show_share,
    slow,
    trim_shift,
)
from holdshort.document import read_document
from holdshort.setup import Setup, load


def setup_of(radio: dict[str, Any]) -> Setup:
    text = json.dumps({"holdshort": 1, "radio": radio}).encode()
    loaded = load(read_document(text, "case.yaml"), lambda name: read_document(b"", name))
    assert loaded.faults == ()
    return loaded.setup


def radio(modes: dict[str, Any] | None = None, **channel: object) -> dict[str, Any]:
    return {
        "pulse": {"centre": "1520 us", "full": "400 us"},
        "channels": {"1": {"drives": "rudder", **channel}},
        "modes": modes or {},
    }


def micro(found: ChannelRange | float | Need) -> Any:
    if isinstance(found, float):
        return pytest.approx(found * 1e6)
    assert isinstance(found, ChannelRange)
    return [pytest.approx(pulse * 1e6) for pulse in found]


TRAVEL = {"low": "90 %", "high": "110 %"}


def test_low_and_high_travel_each_count_on_their_side() -> None:
    # 1520 - 400 x 0.9 = 1160; 1520 + 400 x 1.1 = 1960
    found = channel_range(setup_of(radio(travel=TRAVEL)), 1)
    assert micro(found) == [1160, 1520, 1960]


def test_a_reversed_channel_goes_the_other_way_with_the_same_sides() -> None:
    # low: 1520 + 400 x 0.9 = 1880; high: 1520 - 400 x 1.1 = 1080
    found = channel_range(setup_of(radio(travel=TRAVEL, reversed=True)), 1)
    assert micro(found) == [1880, 1520, 1080]


@pytest.mark.parametrize("is_reversed", [False, True])
def test_the_centre_shifts_all_three_the_same_way_however_the_channel_runs(
    is_reversed: bool,
) -> None:
    # centre -5 %: 400 x 0.05 = 20 less; 1520 - 20 = 1500, 1500 -+ 400
    found = channel_range(setup_of(radio(travel="100 %", centre="-5 %", reversed=is_reversed)), 1)
    low, high = (1900, 1100) if is_reversed else (1100, 1900)
    assert micro(found) == [low, 1500, high]


def test_half_command_gives_half_the_travel() -> None:
    # 1520 + 400 x 1.1 x 0.5 = 1740
    found = channel_pulse(setup_of(radio(travel=TRAVEL)), 1, 0.5)
    assert micro(found) == 1740


def test_a_mode_has_its_own_travel_and_the_others_the_channel_s() -> None:
    # 50 %: 1520 -+ 200; the mode without a travel has the channel's own 100 %: 1520 -+ 400
    setup = setup_of(radio({"slow": {"travel": {"1..3": "50 %"}}, "fast": {}}, travel="100 %"))
    assert micro(channel_range(setup, 1, "slow")) == [1320, 1520, 1720]
    assert micro(channel_range(setup, 1, "fast")) == [1120, 1520, 1920]
    assert modes_of(setup, 1) == (None, "slow")
    found = channel_travel(setup, 1, "slow")
    assert found is not None
    assert found.place.path == ("radio", "modes", "slow", "travel", "1..3")


def test_where_every_mode_has_its_own_travel_the_channel_s_is_never_in_use() -> None:
    setup = setup_of(radio({"slow": {"travel": {"1": "50 %"}}}, travel="100 %"))
    assert modes_of(setup, 1) == ("slow",)


def test_what_is_missing_is_named() -> None:
    whole = radio(travel="100 %")
    no_pulse = channel_range(setup_of({**whole, "pulse": None}), 1)
    no_travel = channel_range(setup_of(radio()), 1)
    no_channel = channel_range(setup_of(whole), 2)
    assert isinstance(no_pulse, Need)
    assert "`pulse` of the radio" in no_pulse.text
    assert isinstance(no_travel, Need)
    assert no_travel.text == "the travel of channel 1"
    assert isinstance(no_channel, Need)
    assert no_channel.text == "channel 2 of the radio"


def test_the_pulse_at_neutral_needs_no_travel() -> None:
    assert micro(channel_pulse(setup_of(radio()), 1, 0.0)) == 1520


def test_trim_follows_the_stick_through_a_reversal() -> None:
    # 10 % of 400 us
    assert trim_shift(setup_of(radio(trim="10 %")), 1) == pytest.approx(40e-6)
    assert trim_shift(setup_of(radio(trim="10 %", reversed=True)), 1) == pytest.approx(-40e-6)
    assert trim_shift(setup_of(radio()), 1) == 0.0


def test_a_slowed_channel_says_how_long_it_takes() -> None:
    setup = setup_of(radio(slow="2 s"))
    assert slow(setup, 1) == 2.0
    assert slow(setup, 2) is None


def test_figures_are_shown_to_a_tenth_at_most() -> None:
    assert show_pulse(1520e-6) == "1520 us"
    assert show_pulse(1132.5e-6) == "1132.5 us"
    assert show_share(0.925) == "92.5 %"
    assert show_share(1.1) == "110 %"


shares = st.integers(0, 1500).map(lambda tenths: f"{tenths / 10} %")
signed = st.integers(-1000, 1000).map(lambda tenths: f"{tenths / 10} %")


@settings(max_examples=40)
@given(shares, shares, signed)
def test_reversal_mirrors_the_range_about_the_centre(low: str, high: str, centre: str) -> None:
    travel = {"low": low, "high": high}
    plain = channel_range(setup_of(radio(travel=travel, centre=centre)), 1)
    turned = channel_range(setup_of(radio(travel=travel, centre=centre, reversed=True)), 1)
    assert isinstance(plain, ChannelRange)
    assert isinstance(turned, ChannelRange)
    assert turned.centre == plain.centre
    assert turned.low - turned.centre == pytest.approx(plain.centre - plain.low, abs=1e-12)
    assert turned.high - turned.centre == pytest.approx(plain.centre - plain.high, abs=1e-12)


@settings(max_examples=40)
@given(shares, shares, shares, st.booleans())
def test_more_travel_never_shortens_the_range(
    low: str, one: str, other: str, is_reversed: bool
) -> None:
    less, more = sorted((one, other), key=lambda text: float(text.split()[0]))
    ranges: list[ChannelRange] = []
    for high in (less, more):
        made = radio(travel={"low": low, "high": high}, reversed=is_reversed)
        found = channel_range(setup_of(made), 1)
        assert isinstance(found, ChannelRange)
        ranges.append(found)
    narrow, wide = ranges
    assert wide.shortest <= narrow.shortest
    assert wide.longest >= narrow.longest


@settings(max_examples=30)
@given(st.integers(300, 2500))
def test_turning_a_pulse_round_twice_gives_it_back(micro_seconds: int) -> None:
    setup = setup_of(radio())
    pulse = micro_seconds * 1e-6
    assert mirrored(setup, mirrored(setup, pulse)) == pytest.approx(pulse, abs=1e-12)
