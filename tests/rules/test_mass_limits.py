"""The masses in the table of codes against the trade rules that they were taken from."""

from holdshort_rules.codes import CODES
from holdshort_rules.sources import SOURCES

# Rows of the trade rules, with how each was read: T17 25 kg with fuel (second-hand); P7 25 to 35,
# 35 to 56.7, turbines 35 to 45.4 kg (read); P11 from 25 kg dry (second-hand); P14 above 25 kg
# (read); P15 above 25 to 150 kg (read); F17 less than 25 kg (read).
READ = {
    ("uk", "P14", 25.0): "read",
    ("us", "P7", 25.0): "read",
    ("us", "P7", 35.0): "read",
    ("us", "P7", 45.4): "read",
    ("us", "P7", 56.7): "read",
    ("australia", "P11", 25.0): "read second-hand",
    ("germany", "P15", 25.0): "read",
    ("germany", "P15", 150.0): "read",
    ("eu-c4", "F17", 25.0): "read",
    ("fai-aerobatics", "T17", 25.0): "read second-hand",
}


def test_the_masses_are_those_of_the_sources_and_say_how_they_were_read() -> None:
    found = {
        (code.id, limit.source, limit.above): limit.confidence
        for code in CODES.values()
        for limit in code.masses
    }
    assert found == READ
    for (_, source, _), confidence in found.items():
        assert SOURCES[source].confidence == confidence


def test_which_limits_count_dry_and_which_from_the_figure_on() -> None:
    every = [(code.id, limit) for code in CODES.values() for limit in code.masses]
    assert {name for name, limit in every if limit.dry} == {"australia"}
    assert {name for name, limit in every if limit.reached} == {"australia", "eu-c4"}
