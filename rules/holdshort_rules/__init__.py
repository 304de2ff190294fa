"""The built-in rules: the checks of the trade, each with its page, its cases and its sources."""

from pathlib import Path

from holdshort.api import API_VERSION, Pack
from holdshort_rules import (
    aerials,
    backup_receivers,
    code_words,
    currents,
    directions,
    engine_failsafe,
    failsafe,
    failsafe_values,
    frame_rates,
    gyro,
    loose_ends,
    ports,
    power,
    pulses,
    radio,
    receivers,
    redundancy,
    regulators,
    supplies,
    supply_packs,
    switches,
    throttle,
    travels,
    voltages,
    wiring,
)
from holdshort_rules.sources import SOURCES

_HERE = Path(__file__).parent

pack = Pack(
    name="built-in",
    api=API_VERSION,
    rules=(
        *wiring.RULES,
        *ports.RULES,
        *supplies.RULES,
        *loose_ends.RULES,
        *power.RULES,
        *voltages.RULES,
        *regulators.RULES,
        *currents.RULES,
        *supply_packs.RULES,
        *switches.RULES,
        *receivers.RULES,
        *redundancy.RULES,
        *backup_receivers.RULES,
        *failsafe.RULES,
        *engine_failsafe.RULES,
        *failsafe_values.RULES,
        *aerials.RULES,
        *gyro.RULES,
        *directions.RULES,
        *radio.RULES,
        *travels.RULES,
        *pulses.RULES,
        *frame_rates.RULES,
        *throttle.RULES,
    ),
    sources=SOURCES,
    pages=_HERE / "pages",
    cases=_HERE / "cases",
    codes=code_words.CODE_WORDS,
)
