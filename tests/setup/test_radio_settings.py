"""Settings of the radio, flight modes, dates and observations."""

from collections.abc import Callable
from typing import Any

import pytest

from holdshort.document import Fault

RADIO = """
holdshort: 1
radio:
  pulse: {centre: 1500 us, full: 400 us}
  sense: {roll: longer, pitch: shorter}
  throttle-cut: left shoulder switch
  mixes: [{from: rudder, to: [left aileron], share: 10 %}]
  modes:
    landing: {gyro: on, gains: {roll: 30 %}, speed: 25 m/s, travel: {1..2: 120 %}}
  channels:
    1: {drives: aileron, changed: {travel: 2026-05-01}}
observations:
  - {card: roll right, seen: as it must, on: 2026-05-02, by: the owner}
"""


def test_what_is_declared_is_read(reading: Callable[..., Any]) -> None:
    loaded = reading(RADIO)
    assert loaded.faults == ()
    setup = loaded.setup
    assert setup.radio.pulse.full == pytest.approx(400e-6)
    assert setup.radio.sense == {"roll": "longer", "pitch": "shorter"}
    assert setup.modes["landing"].gains["roll"] == pytest.approx(0.3)
    assert setup.modes["landing"].travel["1..2"].high == pytest.approx(1.2)
    assert setup.channels[1].channel.changed == {"travel": "2026-05-01"}
    assert setup.observations[0][1].seen == "as it must"


def test_a_mistake_in_one_setting_of_the_radio_hides_no_other(
    reading: Callable[..., Any],
) -> None:
    loaded = reading(RADIO.replace("full: 400 us", "full: 400 V"))
    assert [fault.path for fault in loaded.faults] == [("radio", "pulse", "full")]
    assert loaded.setup.radio.pulse is None
    assert loaded.setup.radio.throttle_cut == "left shoulder switch"
    assert loaded.setup.channels[1].channel.drives == ("aileron",)
    assert loaded.setup.broken_under("radio", "channels") is None


def test_a_day_that_no_calendar_has_is_a_mistake(only_fault: Callable[..., Fault]) -> None:
    fault = only_fault(RADIO.replace("2026-05-01", "2026-02-30"))
    assert "`2026-02-30` is not a day of the calendar" in fault.message
    assert fault.span is not None
    assert fault.span.line == 11


def test_a_date_in_another_order_is_a_mistake(only_fault: Callable[..., Fault]) -> None:
    fault = only_fault(RADIO.replace("2026-05-01", "01.05.2026"))
    assert "2026-05-31" in fault.message + fault.do


def test_a_back_up_of_a_receiver_that_is_not_fitted(only_fault: Callable[..., Fault]) -> None:
    fault = only_fault(
        """
holdshort: 1
parts: {rx: {kind: receiver, ports: {1: servo}}}
devices:
  front-rx: {part: rx}
  rear-rx: {part: rx, backs-up: fron-rx}
"""
    )
    assert "`fron-rx`" in fault.message
    assert "`front-rx`" in fault.do
