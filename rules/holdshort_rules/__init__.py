"""The built-in rules: the checks of the trade, each with its page, its cases and its sources."""

from pathlib import Path

from holdshort.api import API_VERSION, Pack
from holdshort_rules.failsafe import channel_without_failsafe, throttle_failsafe_holds
from holdshort_rules.gyro import gyro_mounting_mismatch, mounting_impossible
from holdshort_rules.power import regulator_above_servo_rating
from holdshort_rules.receivers import backup_receiver_without_power_only_feed
from holdshort_rules.sources import SOURCES
from holdshort_rules.wiring import lead_to_nowhere, unknown_port

_HERE = Path(__file__).parent

pack = Pack(
    name="built-in",
    api=API_VERSION,
    rules=(
        lead_to_nowhere,
        unknown_port,
        regulator_above_servo_rating,
        backup_receiver_without_power_only_feed,
        channel_without_failsafe,
        throttle_failsafe_holds,
        gyro_mounting_mismatch,
        mounting_impossible,
    ),
    sources=SOURCES,
    pages=_HERE / "pages",
    cases=_HERE / "cases",
)
