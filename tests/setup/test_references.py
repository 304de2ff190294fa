"""References between sections: names that lead nowhere, names that are near, and lead ends."""

from collections.abc import Callable

import pytest

from holdshort.document import Fault
from holdshort.setup import Loaded

OnlyFault = Callable[..., Fault]
Reading = Callable[..., Loaded]

BASE = """\
holdshort: 1
parts:
  servo: {kind: servo}
  rx: {kind: receiver, ports: {1..4: servo, bus: bus-out}}
  reg: {kind: regulator}
  gyro: {kind: gyro, ports: {in: bus-in, 1..2: servo}}
  plug: {kind: connector}
devices:
  ail-left: {part: servo}
  front-rx: {part: rx}
  reg: {part: reg}
  gyro: {part: gyro}
"""
CASES = [
    # kind, further text (the place is marked by ^), piece of the message, piece of the advice
    ("unknown-part", "  x: {part: ^servvo}", "`servvo` is not a known part", "`servo`"),
    ("misplaced-setting", "  x: {part: servo, output: ^5 V}", "no `output` to set", "regulator"),
    (
        "misplaced-setting",
        "  x: {part: rx, told: ^{plugs: up, label: aft}}",
        "`x` is a receiver: it cannot be told",
        "gyro",
    ),
    (
        "unknown-part",
        "leads: [{from: a, to: b, connectors: [^plugg]}]",
        "`plugg` is not a known part",
        "Did you mean `plug`?",
    ),
    (
        "wrong-kind",
        "leads: [{from: a, to: b, connectors: [plug, ^servo]}]",
        "`servo` is a servo, not a connector",
        "",
    ),
    (
        "unknown-device",
        "radio: {links: {main: {heard-by: ^front-rxx}}}",
        "`front-rxx` is not a fitted device",
        "Did you mean `front-rx`?",
    ),
    (
        "wrong-kind",
        "radio: {links: {main: {heard-by: ^reg}}}",
        "`reg` is a regulator, not a receiver",
        "`front-rx`",
    ),
    ("unknown-device", "failsafe: {^front: {after: 1 s}}", "`front` is not a fitted", "`front-rx`"),
    (
        "wrong-kind",
        "failsafe: {^reg: {after: 1 s}}",
        "`reg` is a regulator, not a receiver or a hub",
        "",
    ),
    (
        "unknown-channel",
        "radio: {channels: {1: {drives: rudder}}}\nfailsafe: {gyro: {channels: {^2: hold}}}",
        "`gyro` has a failsafe for channel 2, which the radio does not declare",
        "Declared channels: 1.",
    ),
    (
        "unknown-device",
        "surfaces: {rudder: {servo: ^ail-lft}}",
        "`ail-lft` is not a fitted device",
        "Did you mean `ail-left`?",
    ),
    ("wrong-kind", "surfaces: {rudder: {servo: ^gyro}}", "`gyro` is a gyro, not a servo", ""),
    (
        "unknown-function",
        "surfaces: {^wobble: {servo: ail-left}}",
        "`wobble` does not name a control function",
        "Add `function:`",
    ),
    (
        "unknown-function",
        "surfaces: {wobble: {servo: ail-left, function: ^ruder}}",
        "`ruder` does not name a control function",
        "`rudder`",
    ),
    (
        "unknown-function",
        "radio: {channels: {1: {drives: ^elevater}}}",
        "Channel 1 drives `elevater`, which is neither a surface of this aircraft nor",
        "`elevator`",
    ),
    (
        "given-twice",
        "radio: {channels: {1..3: {drives: rudder}, ^3: {drives: flap}}}",
        "`3` is given twice under radio.channels: also in `1..3`",
        "Give each number once",
    ),
    (
        "given-twice",
        "failsafe: {gyro: {channels: {1..3: hold, ^2..4: hold}}}",
        "`2..4` is given twice under failsafe.gyro.channels: also in `1..3`",
        "Give each number once",
    ),
    (
        "unknown-port",
        "  x: {part: rx, ports: {bus: bus-out, ^9: servo}}",
        "`x` has no port `9`",
        "`bus`",
    ),
    (
        "port-cannot-be",
        "  x: {part: rx, ports: {1: ^bus-in}}",
        "Port `1` of `x` cannot be `bus-in`",
        "Known here: `servo`.",
    ),
]


@pytest.mark.parametrize(("kind", "marked", "message", "advice"), CASES)
def test_each_lost_reference_is_told_where_it_stands(
    only_fault: OnlyFault, kind: str, marked: str, message: str, advice: str
) -> None:
    before = (BASE + marked).partition("^")[0]
    fault = only_fault(BASE + marked.replace("^", ""))
    assert fault.kind == kind
    assert message in fault.message
    assert advice in fault.do
    assert fault.span is not None
    assert fault.span.line == before.count("\n") + 1
    # A name that is a key is told at its value: the entry it heads.
    if fault.path[-1] not in {"front", "reg", "wobble", "2"}:
        assert fault.span.column == len(before) - before.rfind("\n")


def test_names_that_lead_somewhere_are_no_fault(reading: Reading) -> None:
    loaded = reading(
        BASE + "leads: [{from: front-rx.1, to: ail-left, connectors: [plug]}]\n"
        "radio: {links: {main: {heard-by: [front-rx]}}, channels: {1: {drives: left wing}}}\n"
        "failsafe: {front-rx: {channels: {1: hold}}, gyro: {passes-on: true}}\n"
        "surfaces: {left wing: {servo: ail-left, function: aileron}}\n"
    )
    assert loaded.faults == ()


def test_a_reference_to_a_broken_entry_is_not_told_again(reading: Reading) -> None:
    loaded = reading(
        BASE + "  bad-rx: {part: rx, mas: 1 g}\n"
        "radio: {links: {main: {heard-by: bad-rx}}, channels: {1: {drives: my wing}}}\n"
        "failsafe: {bad-rx: {after: 1 s}}\n"
        "surfaces: {my wing: {servos: ail-left}}\n"
    )
    assert [fault.kind for fault in loaded.faults] == ["unknown-key", "unknown-key"]


@pytest.mark.parametrize(
    ("end", "trouble", "near"),
    [
        ("nowhere", "no-device", ()),
        ("front-r", "no-device", ("front-rx",)),
        ("front-rx.buss", "no-port", ("bus",)),
        ("front-rx.zz", "no-port", ("1", "2", "3", "4", "bus")),
        ("front-rx", "which-port", ("1", "2", "3", "4", "bus")),
        ("broken", "unreadable-device", ()),
        ("front-rx.1", "", ()),
        ("ail-left", "", ()),
    ],
)
def test_a_lead_end_says_why_it_has_no_port(
    reading: Reading, end: str, trouble: str, near: tuple[str, ...]
) -> None:
    text = BASE + f"  broken: {{}}\nleads: [{{from: {end}, to: gyro.in}}]\n"
    (cable,) = reading(text).setup.cables
    assert (cable.start.trouble, cable.start.near) == (trouble, near)
    assert (cable.start.port is None) == bool(trouble)
    assert cable.end.port is not None
    assert cable.end.port.address == "gyro.in"
