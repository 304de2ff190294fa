"""What the codes say on loss of signal, against the published figures as they were read.

Sources and how each was read: F1, F2, F4, F6, F10, F11, F12, F32 read second-hand (club and press
pages that report the code); F8, F9, F14, F17 read. F14 breaks off after "stopped".
"""

import pytest

from holdshort.setup.sections import CODES as WORDS
from holdshort_rules.codes import ANY_ENGINE, CODES, Engine
from holdshort_rules.sources import SOURCES


@pytest.mark.parametrize(
    ("code", "seconds", "clock", "source"),
    [
        # UK joint turbine code, May 2008: "within a maximum of 3 s" of signal loss
        ("uk", 3.0, "loss of signal", "F8"),
        # US academy Document 513 (2004): "within 2 s of failsafe activation"
        ("us", 2.0, "failsafe activation", "F10"),
        # Canadian turbine guidelines, item 8: "within 2 s of signal loss"
        ("canada", 2.0, "loss of signal", "F11"),
    ],
)
def test_time_limits_for_turbines(code: str, seconds: float, clock: str, source: str) -> None:
    (limit,) = CODES[code].limits
    assert (limit.seconds, limit.clock, limit.source) == (seconds, clock, source)
    assert limit.engines == {"turbine"}


@pytest.mark.parametrize("code", ["general", "australia", "germany", "eu-c4", "fai-aerobatics"])
def test_no_other_code_that_was_read_names_a_time(code: str) -> None:
    assert CODES[code].limits == ()
    assert any(gap.subject == "time" for gap in CODES[code].gaps)


def test_uk_makes_it_compulsory_above_7_kg_and_for_any_turbine() -> None:
    mass, turbine = CODES["uk"].compulsory
    assert (mass.above, mass.source) == (7.0, "F1")
    assert set(turbine.engines) == {"turbine"}
    assert (turbine.above, turbine.source) == (None, "F2")


@pytest.mark.parametrize(
    ("code", "engine", "idle"),
    [
        ("canada", "turbine", "refused"),  # F11: idle is not enough
        ("uk", "turbine", "with consent"),  # F9: authorised by the event organiser
        ("uk", "piston", "allowed"),  # F4: throttle closed or idle
        ("uk", "electric-fan", "refused"),  # F6: electric motor off
        ("us", "turbine", "allowed"),  # F10: idle, preferably off
        ("germany", "piston", "unclear"),  # F14: drives are stopped (text cut)
        ("fai-aerobatics", "electric-propeller", "allowed"),  # F12: shut off or fully idle
    ],
)
def test_what_idle_is_worth(code: str, engine: Engine, idle: str) -> None:
    (action,) = [action for action in CODES[code].actions if engine in action.engines]
    assert action.idle == idle


def test_class_c4_wants_a_fixed_position_of_the_flight_controls() -> None:
    assert CODES["eu-c4"].surfaces is not None
    assert CODES["eu-c4"].surfaces.source == "F17"
    assert [code.id for code in CODES.values() if code.surfaces] == ["eu-c4"]


def test_every_code_that_a_setup_may_follow_is_here() -> None:
    assert tuple(CODES) == WORDS


READ = {"F8", "F9", "F14", "F17"}
SECOND_HAND = {"F1", "F2", "F3", "F4", "F6", "F10", "F11", "F12", "F32"}


def test_sources_are_marked_as_they_were_read() -> None:
    for source in READ:
        assert SOURCES[source].confidence == "read", source
    for source in SECOND_HAND & SOURCES.keys():
        assert SOURCES[source].confidence == "read second-hand", source
    assert len(SECOND_HAND & SOURCES.keys()) >= 7


def test_every_value_repeats_how_its_source_was_read() -> None:
    for code in CODES.values():
        marks = [(value.source, value.confidence) for value in code.compulsory]
        marks += [(value.source, value.confidence) for value in code.actions]
        marks += [(value.source, value.confidence) for value in code.limits]
        marks += [(code.surfaces.source, code.surfaces.confidence)] if code.surfaces else []
        for source, confidence in marks:
            assert confidence == SOURCES[source].confidence, (code.id, source)


def test_each_engine_has_at_most_one_action_and_a_gap_is_told_where_it_has_none() -> None:
    for code in CODES.values():
        for engine in ANY_ENGINE:
            actions = [action for action in code.actions if engine in action.engines]
            gaps = [gap for gap in code.gaps if gap.subject == "action" and engine in gap.engines]
            assert len(actions) + len(gaps) == 1, (code.id, engine)
