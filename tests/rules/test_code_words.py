"""What the built-in pack tells bench cards of the codes, against the reference rows."""

import pytest

from holdshort.analysis.code_words import CodeSaying, sayings, unknown_codes
from holdshort.setup.sections import CODES
from holdshort_rules import pack


def asked(code: str, propulsion: str | None) -> list[CodeSaying]:
    return list(sayings(pack.codes, (code,), propulsion))


def test_every_code_that_a_setup_may_follow_has_words() -> None:
    assert unknown_codes(pack.codes, CODES) == ()
    assert unknown_codes(pack.codes, ("somewhere",)) == ("somewhere",)


# Reference rows F8 (read), F10 and F11 (read second-hand), and F32 for where the clock starts.
@pytest.mark.parametrize(
    ("code", "seconds", "clock", "confidence"),
    [
        ("uk", 3.0, "loss of signal", "read"),
        ("us", 2.0, "failsafe activation", "read second-hand"),
        ("canada", 2.0, "loss of signal", "read second-hand"),
    ],
)
def test_the_time_limits_of_turbines(
    code: str, seconds: float, clock: str, confidence: str
) -> None:
    limits = [saying.line for saying in asked(code, "turbine") if saying.line.seconds is not None]
    assert [(line.seconds, line.clock, line.confidence) for line in limits] == [
        (seconds, clock, confidence)
    ]
    assert not any(saying.line.seconds for saying in asked(code, "electric-fan"))


def test_what_was_not_found_is_told_without_a_source() -> None:
    told = [saying.line for saying in asked("germany", "turbine")]
    (gap,) = [line for line in told if "no time limit was found" in line.words]
    assert (gap.source, gap.confidence, gap.seconds) == ("", "", None)


def test_a_glider_is_told_of_its_controls_alone() -> None:
    (saying,) = asked("eu-c4", "none")
    assert "fixed position of the flight controls" in saying.line.words
    assert asked("uk", "none") == []


def test_where_the_propulsion_is_not_declared_everything_is_told() -> None:
    every = asked("uk", None)
    for propulsion in ("turbine", "piston", "electric-fan", "none"):
        assert set(asked("uk", propulsion)) <= set(every)
