"""The order of the tests against the order of work when a large jet is re-equipped.

Source: the table of steps of the trade's order of work, with its own reasons (common practice; the
rows that it rests on are named where they were read). The words are those of the table.
"""

import pytest

from holdshort.analysis.known_tests import KNOWN_TESTS

# step: what is done, in the words of the table (common practice, no source, but for the rows in
# brackets: G1 G9 G7 G8 G30 G15 G17 F8 to F11 F22 F24 P21 P37 B1 to B7 R2 R3 R7 T1 T2 T5 T6 T27 R10)
STEPS = {
    5: "Clear sub-trim, trims and mixes; set all channels to 1.5 ms; refit arms square; "
    "set neutral by mechanics",
    7: "Directions: stick to surface, each control, by a second person reading out loud",
    8: "Travels, expo, differential, flap and gear mixes to the design values; check no bind at "
    "all combinations and at current draw",
    9: "Throttle: range, trim, kill; teach turbine controller",
    10: "Gyro mounting declared, oriented, level; learn travels and centres now, after step 8",
    11: "Gyro direction test by hand with gains up, each axis, both ways; then gyro off and stick "
    "again",
    14: "Failsafe bench test: engine cold, one receiver off, other off, both off, transmitter off",
    15: "Power test: each pack alone carries all servos moving, voltage log; switch each feed off "
    "in turn",
    16: "Weigh and balance: zero-fuel and take-off state, gear up and down",
    17: "Range test 1, engine off, range-test power, several angles, at least 30 paces, surfaces "
    "watched; record distance and link quality",
    18: "Ready: extinguishers, helper briefed, blast zone clear, fuel valve proved",
    19: "Engine run, restrained: idle to full; surfaces watched for jitter; both shut-downs "
    "proved; brakes",
    20: "Range test 2 with engine running; failsafe test with engine running, transmitter off, "
    "timed",
    21: "Leave range-test mode; confirm full power and right model memory",
}

# Which words of its step each test stands for.
STANDS_FOR = {
    "centres": (5, "set neutral by mechanics"),
    "directions": (7, "by a second person"),
    "travels": (8, "check no bind"),
    "throttle range": (9, "teach turbine controller"),
    "gyro taught": (10, "learn travels and centres"),
    "gyro correction": (11, "Gyro direction test by hand"),
    "gyro off": (11, "gyro off and stick again"),
    "failsafe": (14, "transmitter off"),
    "failsafe of each receiver": (14, "one receiver off, other off"),
    "receiver switch-over": (14, "one receiver off, other off"),
    "voltage under load": (15, "all servos moving, voltage log"),
    "each supply alone": (15, "each pack alone"),
    "balance": (16, "Weigh and balance"),
    "range check engine off": (17, "engine off"),
    "fuel valve": (18, "fuel valve proved"),
    "extinguisher ready": (18, "extinguishers"),
    "engine run": (19, "idle to full"),
    "both shut-downs": (19, "both shut-downs proved"),
    "range check engine running": (20, "Range test 2 with engine running"),
    "failsafe engine running": (20, "failsafe test with engine running"),
    "model memory and full power": (21, "right model memory"),
}

# What the table does not name: with the power test, since both read the packs (row P24).
BESIDES = {"telemetry alarms": 15}

# The reasons that the table gives for where a step stands, as pairs of earlier and later.
RESTS_ON = [
    ("travels", "gyro taught"),  # 10: "learn ... now, after step 8"
    ("gyro taught", "gyro correction"),
    ("directions", "failsafe"),  # 13: "after directions, travels and learning"
    ("travels", "failsafe"),
    ("gyro taught", "failsafe"),
    ("throttle range", "failsafe"),  # 9: "failsafe value must lie inside a known range"
    ("balance", "range check engine off"),  # 16: "before range tests, since packs may move"
    ("range check engine off", "range check engine running"),
    ("failsafe", "failsafe engine running"),
    ("engine run", "failsafe engine running"),
    ("extinguisher ready", "engine run"),  # 18: "Ready"
    ("fuel valve", "engine run"),
]

TESTS = {test.name: test for test in KNOWN_TESTS}


def test_every_test_stands_at_its_step_of_the_table() -> None:
    assert {name: test.step for name, test in TESTS.items()} == {
        name: step for name, (step, _) in STANDS_FOR.items()
    } | BESIDES
    for step, words in STANDS_FOR.values():
        assert words in STEPS[step]


def test_every_step_of_the_table_that_is_a_test_has_one() -> None:
    assert {step for step, _ in STANDS_FOR.values()} == set(STEPS)


def test_no_test_rests_on_one_of_a_later_step() -> None:
    for test in KNOWN_TESTS:
        for earlier in test.after:
            assert TESTS[earlier].step <= test.step


@pytest.mark.parametrize(("earlier", "later"), RESTS_ON)
def test_what_the_table_gives_as_a_reason_is_kept(earlier: str, later: str) -> None:
    waiting = [later]
    seen: set[str] = set()
    while waiting:
        here = waiting.pop()
        if here not in seen:
            seen.add(here)
            waiting += TESTS[here].after
    assert earlier in seen - {later}


def test_two_people_for_directions_and_corrections() -> None:
    # G7 (read second-hand): a second pair of eyes checks the sense of every control after rigging.
    assert {test.name for test in KNOWN_TESTS if test.second} == {"directions", "gyro correction"}


def test_nothing_that_proves_the_throttle_may_wait_until_the_engine_runs() -> None:
    # F22 (read second-hand): engine stopped for the failsafe test. R3: engine off first.
    held = {test.name for test in KNOWN_TESTS if test.before == "engine-run"}
    assert held >= {"throttle range", "failsafe", "range check engine off"}
    # T1, T5 (read second-hand): extinguisher within reach during all running; a fuel shut-off.
    assert held >= {"extinguisher ready", "fuel valve"}


def test_every_test_says_why_it_is_done_and_where_that_comes_from() -> None:
    rows = {"S1", "G7", "G9", "G15", "G24", "G30", "F22", "F24", "F30", "P24", "P37", "P39", "B7",
            "R3", "R8", "R9", "R10", "T1", "T5", "T6", "part-e"}  # fmt: skip
    assert {test.source for test in KNOWN_TESTS} == rows
    assert all(test.reason for test in KNOWN_TESTS)
