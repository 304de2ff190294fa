"""Pulses against what reference pages on servo control state.

Sources are named beside each check, with the confidence of the reference row.
"""

import pytest

from holdshort.analysis.pulses import ChannelRange, channel_range
from holdshort.api import Aircraft
from holdshort.document import read_document
from holdshort.rulebook import Finding
from holdshort.setup import Setup, load
from holdshort_rules.frame_rates import frame_rate_too_high


def setup_of(text: str) -> Setup:
    loaded = load(read_document(text.encode(), "case.yaml"), lambda name: read_document(b"", name))
    assert loaded.faults == ()
    return loaded.setup


def test_an_ordinary_radio_gives_the_ordinary_servo_range() -> None:
    # 1.5 ms at centre for standard servos, https://owiki.org/wiki/Servo_control (read);
    # 1.0 to 2.0 ms in full, same page (read).
    setup = setup_of(
        "holdshort: 1\n"
        "radio:\n"
        "  pulse: {centre: 1.5 ms, full: 0.5 ms}\n"
        "  channels: {1: {drives: rudder, travel: 100 %}}\n"
    )
    found = channel_range(setup, 1)
    assert isinstance(found, ChannelRange)
    assert found.low == pytest.approx(1.0e-3)
    assert found.centre == pytest.approx(1.5e-3)
    assert found.high == pytest.approx(2.0e-3)


# A frame period must be longer than the longest pulse and a gap. 333 Hz = 3.0 ms: in order to
# 2.5 ms; 400 Hz = 2.5 ms: the pulse must not be longer than 2.2 ms. Arithmetic (derived).
@pytest.mark.parametrize(
    ("rate", "longest", "fits"),
    [
        ("333 Hz", "2.5 ms", True),
        ("400 Hz", "2.2 ms", True),
        ("400 Hz", "2.201 ms", False),
        ("400 Hz", "2.5 ms", False),
    ],
)
def test_the_longest_pulse_that_fits_a_frame(rate: str, longest: str, fits: bool) -> None:
    high = round((float(longest.split(maxsplit=1)[0]) - 1.5) / 0.5 * 100, 1)
    setup = setup_of(
        "holdshort: 1\n"
        "parts:\n"
        "  rx: {kind: receiver, ports: {1: servo}}\n"
        "  servo: {kind: servo, frame-rate: 600 Hz}\n"
        f"devices: {{rx: {{part: rx, frame-rate: {rate}}}, tail: {{part: servo}}}}\n"
        "leads: [{from: rx.1, to: tail}]\n"
        "radio:\n"
        "  pulse: {centre: 1.5 ms, full: 0.5 ms}\n"
        f"  channels: {{1: {{drives: rudder, travel: {{low: 100 %, high: {high} %}}}}}}\n"
    )
    outcomes = list(frame_rate_too_high.check(Aircraft(setup)))
    assert any(isinstance(outcome, Finding) for outcome in outcomes) is not fits


@pytest.mark.parametrize(("rate", "fits"), [("50 Hz", True), ("60 Hz", True), ("61 Hz", False)])
def test_an_analogue_servo_takes_the_classic_frame(rate: str, fits: bool) -> None:
    # 20 ms (50 Hz), https://owiki.org/wiki/Servo_control (read); at most 60 Hz for an analogue
    # servo unless stated (common practice, no source).
    setup = setup_of(
        "holdshort: 1\n"
        "parts:\n"
        "  rx: {kind: receiver, ports: {1: servo}}\n"
        "  servo: {kind: servo, type: analogue}\n"
        f"devices: {{rx: {{part: rx, frame-rate: {rate}}}, tail: {{part: servo}}}}\n"
        "leads: [{from: rx.1, to: tail}]\n"
    )
    outcomes = list(frame_rate_too_high.check(Aircraft(setup)))
    assert any(isinstance(outcome, Finding) for outcome in outcomes) is not fits
