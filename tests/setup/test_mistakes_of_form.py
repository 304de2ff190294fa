"""Mistakes of form: wording, place and advice of each kind, all in one run."""

from collections.abc import Callable

import pytest

from holdshort.document import Fault
from holdshort.setup import Loaded

OnlyFault = Callable[..., Fault]
Reading = Callable[..., Loaded]

PLANE = "holdshort: 1\n"
PARTS = "parts: {s: {kind: servo}, r: {kind: receiver, ports: {1..4: servo}}}\n"
CASES = [
    # kind, text (the place is marked by ^), piece of the message, piece of the advice
    ("unknown-key", "^aircraf: {}", "`aircraf` is not a section", "`aircraft`"),
    ("missing-key", "^aircraft: {}", "`aircraft` does not say its `name`", "Add `name: ...`."),
    ("unknown-key", "aircraft: {name: x, ^mas: 1 kg}", "`mas` is not a key here", "`mass`"),
    (
        "unknown-word",
        "aircraft: {name: x, propulsion: ^turbin}",
        "`turbin` is not a kind of propulsion",
        "Did you mean `turbine`?",
    ),
    (
        "wrong-quantity",
        "aircraft: {name: x, mass: {dry: ^14}}",
        "`dry` is `14`, without a unit",
        "such as `13.9 kg`",
    ),
    (
        "wrong-quantity",
        "aircraft: {name: x, fuel: ^4 kg}",
        "`fuel` is `4 kg`, a mass, not a volume",
        "Write a volume, such as `3.5 l`",
    ),
    ("wrong-value", "aircraft: ^jet", "`aircraft` wants a mapping, found `jet`", "{name: ...}"),
    ("wrong-value", "aircraft: {name: ^5}", "`name` wants text, found `5`", "in quotes"),
    ("wrong-value", 'aircraft: {name: ^""}', "`name` wants some text", "take the key out"),
    (
        "wrong-value",
        "aircraft: {name: x, flights-per-charge: ^0}",
        "`flights-per-charge` is `0`, which is out of range",
        "from 1 to 50",
    ),
    (
        "wrong-value",
        "aircraft: {name: x, flights-per-charge: ^two}",
        "`flights-per-charge` wants a whole number, found `two`",
        "without a unit",
    ),
    ("wrong-value", "follows: ^uk", "`follows` wants a list, found `uk`", "`[..., ...]`"),
    ("unknown-word", "follows: [uk, ^ukk]", "`ukk` is not known in `follows`", "`uk`"),
    ("wrong-value", "catalogues: [^5]", "`catalogues` wants a list of words, found `5`", "quotes"),
    ("wrong-value", "parts: ^[]", "`parts` wants a mapping, found a list", "{kind: ...}"),
    ("wrong-value", "parts: {s: ^servo}", "`s` wants a mapping, found `servo`", "{kind: ...,"),
    ("bad-name", "parts: {^a.b: {kind: servo}}", "`a.b` cannot be a name", "without dots"),
    ("unknown-kind", "parts: {^s: {}}", "Part `s` does not say its `kind`", "`servo`"),
    ("unknown-kind", "parts: {s: {kind: ^srvo}}", "`srvo` is not a kind of part", "`servo`"),
    ("unknown-kind", "parts: {s: {kind: ^[]}}", "A list is not a kind of part", ""),
    (
        "missing-key",
        "parts: {s: {kind: servo, ratings: [{at: 6 V}, ^{}]}}",
        "This rating does not say its `at`",
        "Add `at: 8.4 V`.",
    ),
    (
        "unknown-key",
        "parts: {s: {kind: servo, ratings: [{at: 6 V, ^torqe: 20 kg.cm}]}}",
        "`torqe` is not a key here",
        "Did you mean `torque`?",
    ),
    (
        "wrong-value",
        "parts: {s: {kind: servo, ratings: ^20 kg.cm}}",
        "`ratings` wants a list, found `20 kg.cm`",
        "`[..., ...]`",
    ),
    (
        "wrong-quantity",
        "parts: {b: {kind: regulator, output: ^6 A}}",
        "`output` is `6 A`, a current, not a voltage",
        "such as `8.4 V`",
    ),
    (
        "unknown-word",
        "parts: {r: {kind: receiver, ports: {1: ^serv}}}",
        "`serv` is not something that a port can do",
        "Did you mean `servo`?",
    ),
    (
        "wrong-value",
        "parts: {r: {kind: receiver, ports: {1: {can-be: ^[servo]}}}}",
        "`can-be` wants at least one entry, or two where it is a choice",
        "Add what is missing",
    ),
    (
        "wrong-value",
        "parts: {r: {kind: receiver, ports: {^08: servo}}}",
        "`08` has a leading zero: write `8`",
        "",
    ),
    (
        "wrong-value",
        "parts: {r: {kind: receiver, ports: {^a/b: servo}}}",
        "`a/b` is not a port or a run of ports",
        "such as `1..6`",
    ),
    (
        "bad-run",
        PARTS + "devices: {x: {part: r, ports: {^3..1: servo}}}",
        "`3..1` does not run upwards",
        "",
    ),
    (
        "missing-key",
        "devices: {^ail-left: {}}",
        "`ail-left` does not say its `part`",
        "Add `part: ...`.",
    ),
    (
        "wrong-value",
        PARTS + "devices: {x: ^s}",
        "`x` wants a mapping, found `s`",
        "Write it as `{part: ...}`.",
    ),
    ("bad-name", PARTS + "devices: {^x.y: {part: s}}", "`x.y` cannot be a name", "80 characters"),
    (
        "wrong-value",
        PARTS + "devices: {x: {part: s, mounting: ^up}}",
        "`mounting` wants a mapping, found `up`",
        "Write it as `{plugs: ..., label: ...}`.",
    ),
    (
        "unknown-word",
        PARTS + "devices: {x: {part: r, ports: {1: ^bus-oot}}}",
        "`bus-oot` is not something that a port can do",
        "`bus-out`",
    ),
    (
        "unknown-word",
        PARTS + "devices: {x: {part: r, aerials: [{points: ^upp}]}}",
        "`upp` is not a direction",
        "Did you mean `up`?",
    ),
    ("wrong-value", "leads: ^{}", "`leads` wants a list, found a mapping", "- {from:"),
    ("missing-key", "leads: [^{from: a}]", "This lead does not say its `to`", "Add `to: ...`."),
    (
        "wrong-value",
        "leads: [^7]",
        "This lead wants a mapping, found `7`",
        "Write it as `{from: ..., to: ...}`.",
    ),
    (
        "wrong-value",
        "leads: [{from: ^a.b.c, to: d}]",
        "`a.b.c` is not where a lead ends",
        "`device.port`",
    ),
    (
        "wrong-quantity",
        "leads: [{from: a, to: d, wire: ^50 AWG}]",
        "`wire` is `50 AWG`, which is not a gauge from 1 to 40",
        "such as `20 AWG`",
    ),
    ("unknown-key", "radio: {^chanels: {}}", "`chanels` is not a key here", "`channels`"),
    ("wrong-value", "radio: {transmitter: ^5}", "`transmitter` wants text, found `5`", "quotes"),
    (
        "wrong-value",
        "radio: {channels: {^elevator: {drives: elevator}}}",
        "`elevator` is not a channel or a run of channels",
        "from 1 to 99",
    ),
    (
        "bad-run",
        "radio: {channels: {^6..2: {drives: elevator}}}",
        "`6..2` does not run upwards",
        "`1..6`",
    ),
    (
        "wrong-quantity",
        "radio: {channels: {1: {drives: elevator, travel: ^95}}}",
        "`travel` is `95`, without a unit",
        "such as `92 %`",
    ),
    (
        "wrong-value",
        "radio: {channels: {1: {drives: elevator, reversed: ^yes}}}",
        "`reversed` wants true or false, found `yes`",
        "Write `true` or `false`",
    ),
    (
        "wrong-value",
        "surfaces: {rudder: {servo: ^[]}}",
        "`servo` wants at least one entry",
        "Add what is missing",
    ),
    (
        "wrong-value",
        "surfaces: {rudder: {servo: ^3}}",
        "`servo` wants text, found `3`",
        "Put it in quotes",
    ),
    (
        "unknown-word",
        "surfaces: {rudder: {servo: a, steadied-in: ^yav}}",
        "`yav` is not an axis",
        "Did you mean `yaw`?",
    ),
    (
        "wrong-value",
        "failsafe: {rx: {channels: {1: ^hld}}}",
        "`hld` is not a failsafe action",
        "Did you mean `hold`?",
    ),
    (
        "wrong-value",
        "failsafe: {rx: {channels: {1: ^100}}}",
        "`1` wants text, found `100`",
        "Put it in quotes",
    ),
]


@pytest.mark.parametrize(("kind", "marked", "message", "advice"), CASES)
def test_each_mistake_is_told_where_it_stands(
    only_fault: OnlyFault, kind: str, marked: str, message: str, advice: str
) -> None:
    before = (PLANE + marked).partition("^")[0]
    fault = only_fault(PLANE + marked.replace("^", ""))
    assert fault.kind == kind
    assert message in fault.message
    assert advice in fault.do
    assert fault.message.endswith(".")
    assert fault.span is not None
    line, column = before.count("\n") + 1, len(before) - before.rfind("\n")
    assert (fault.span.line, fault.span.column) == (line, column)


@pytest.mark.parametrize(
    ("text", "kind", "message"),
    [
        ("aircraft: {name: x}", "missing-key", "`holdshort` is missing"),
        ("holdshort: 2", "unknown-version", "`holdshort` is `2`, which is not a version"),
        ("holdshort: true", "unknown-version", "`holdshort` is `true`"),
        ("holdshort: '1'", "unknown-version", "is not a version that this program reads"),
    ],
)
def test_the_version_comes_first(only_fault: OnlyFault, text: str, kind: str, message: str) -> None:
    fault = only_fault(text)
    assert fault.kind == kind
    assert message in fault.message
    assert "`holdshort: 1`" in fault.do


def test_all_mistakes_are_told_in_one_run_in_the_order_of_the_file(reading: Reading) -> None:
    loaded = reading(
        PLANE + "aircraft: {nam: x, fuel: 4}\n"
        "follows: [ukk]\n"
        "devices: {x: {part: s, tld: 1}}\n"
        "leads: [{from: x}]\n"
        "radio: {channels: {1: {drives: 5}}}\n"
        "failsafe: {x: {channels: {1: hld}}}\n"
        "surfaces: 4\n"
        "parts: {s: {kind: srvo}}\n"
    )
    lines = [fault.span.line for fault in loaded.faults if fault.span]
    assert lines == [2, 2, 3, 4, 5, 6, 7, 8, 9]


def test_broken_entries_are_left_out_and_remembered_and_the_rest_is_read(reading: Reading) -> None:
    loaded = reading(
        PLANE + PARTS + "devices: {x: {part: s}, y: {part: s, mas: 1 g}, z: {part: r}}\n"
        "leads: [{from: z.1, to: x}, {from: z.2}, {from: z.3, to: y}]\n"
        "radio: {channels: {1: {drives: rudder}, 2: {drive: elevator}}}\n"
        "surfaces: {rudder: {servo: x}, elevator: {servo: 5}}\n"
    )
    setup = loaded.setup
    assert set(setup.devices) == {"x", "z"}
    assert [cable.index for cable in setup.cables] == [0, 2]
    assert set(setup.channels) == {1}
    assert set(setup.surfaces) == {"rudder"}
    assert setup.broken == {
        ("devices", "y"),
        ("leads", 1),
        ("radio", "channels", "2"),
        ("surfaces", "elevator"),
    }
    assert setup.cables[1].end.trouble == "unreadable-device"
    assert setup.broken_under("devices", "y") == ("devices", "y")
    assert setup.broken_under("devices", "x") is None
    assert len(loaded.faults) == 4


def test_a_misspelt_key_is_not_told_as_missing_too(only_fault: OnlyFault) -> None:
    fault = only_fault(PLANE + "devices: {x: {prat: s}}")
    assert fault.kind == "unknown-key"
    assert fault.do.startswith("Did you mean `part`")


def test_a_wrong_short_form_is_told_once(only_fault: OnlyFault) -> None:
    fault = only_fault(PLANE + "parts: {b: {kind: regulator, output: 6}}")
    assert fault.path == ("parts", "b", "output")
    assert "`output` is `6`" in fault.message


def test_an_empty_key_is_as_good_as_none(reading: Reading) -> None:
    loaded = reading(PLANE + "aircraft:\ndevices:\nleads:\nradio: {links: , channels: }\nparts:\n")
    assert loaded.faults == ()
    assert loaded.setup.aircraft is None


def test_long_texts_are_cut_in_messages(only_fault: OnlyFault) -> None:
    fault = only_fault(PLANE + f"aircraft: {{name: x, fuel: {'9' * 2000} l}}")
    assert len(fault.message) < 200


def test_more_aerials_than_any_receiver_has_are_refused(only_fault: OnlyFault) -> None:
    aerials = ", ".join(["{points: up}"] * 900)
    fault = only_fault(
        PLANE + "parts: {r: {kind: receiver}}\n"
        f"devices: {{rx: {{part: r, aerials: [{aerials}]}}}}\n"
    )
    assert fault.path == ("devices", "rx", "aerials")
    assert "`aerials` wants at most 16 entries, found 900." in fault.message
