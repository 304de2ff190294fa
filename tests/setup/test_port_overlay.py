"""Ports of fitted devices: what the part offers, overlaid with what is set."""

from collections.abc import Callable

import pytest

from holdshort.setup import Loaded
from holdshort.setup.parts import PART_MODELS, STANDARD_PORTS

Reading = Callable[..., Loaded]

TEXT = """\
holdshort: 1
parts:
  rx:
    kind: receiver
    ports:
      1..2: servo
      3: {can-be: [servo, bus-out], delivered: servo}
      4: {can-be: [servo, bus-in]}
      5: {does: servo, channel: 7}
      supply: {does: supply, isolated: true, powered: false}
devices:
  plain: {part: rx}
  set: {part: rx, ports: {3: bus-out, 4: {does: bus-in}, 1..2: {channel: 9}}}
"""


def test_a_port_is_as_delivered_until_it_is_set(reading: Reading) -> None:
    loaded = reading(TEXT)
    assert loaded.faults == ()
    plain, fitted = loaded.setup.devices["plain"].ports, loaded.setup.devices["set"].ports
    assert [port.does for port in plain.values()] == [
        "servo", "servo", "servo", None, "servo", "supply",
    ]  # fmt: skip
    assert [port.does for port in fitted.values()] == [
        "servo", "servo", "bus-out", "bus-in", "servo", "supply",
    ]  # fmt: skip
    assert [port.is_set for port in fitted.values()] == [False, False, True, True, False, False]
    assert [port.channel for port in fitted.values()] == [9, 9, None, None, 7, None]
    assert fitted["3"].can_be == ("servo", "bus-out")
    assert fitted["3"].delivered == "servo"


def test_a_port_says_where_it_was_set(reading: Reading) -> None:
    devices = reading(TEXT).setup.devices
    assert devices["plain"].ports["2"].set_by.path == ("parts", "rx", "ports", "1..2")
    assert devices["set"].ports["2"].set_by.path == ("devices", "set", "ports", "1..2")
    assert devices["set"].ports["3"].address == "set.3"


def test_isolation_and_power_pins_come_from_the_part(reading: Reading) -> None:
    supply = reading(TEXT).setup.devices["set"].ports["supply"]
    assert (supply.isolated, supply.powered, supply.takes_power_only) == (True, False, True)


def test_a_port_set_twice_is_told_and_the_first_counts(reading: Reading) -> None:
    text = TEXT.replace("1..2: {channel: 9}}", "1..4: {channel: 9}}")
    loaded = reading(text)
    assert [fault.kind for fault in loaded.faults] == ["given-twice"]
    assert loaded.setup.devices["set"].ports["3"].does == "bus-out"


def test_a_port_declared_twice_is_told_once_for_all_devices(reading: Reading) -> None:
    loaded = reading(TEXT.replace("1..2: servo", "1..3: servo"))
    twice = [fault for fault in loaded.faults if fault.kind == "given-twice"]
    (fault,) = twice
    assert fault.path == ("parts", "rx", "ports", "3")
    assert fault.related[0][0] == "`1..3` stands here"


@pytest.mark.parametrize("kind", sorted(STANDARD_PORTS))
def test_a_part_without_ports_has_those_usual_for_its_kind(reading: Reading, kind: str) -> None:
    more = "chemistry: lipo, cells: 3" if kind == "battery" else ""
    text = f"holdshort: 1\nparts: {{p: {{kind: {kind}, {more}}}}}\ndevices: {{x: {{part: p}}}}\n"
    ports = reading(text).setup.devices["x"].ports
    assert {name: port.does for name, port in ports.items()} == STANDARD_PORTS[kind]


def test_every_kind_has_usual_ports_or_must_declare_its_own() -> None:
    assert set(PART_MODELS) - set(STANDARD_PORTS) == {"connector", "receiver", "hub", "gyro"}


@pytest.mark.parametrize(
    ("carries", "power", "signal"),
    [("", True, True), (", carries: power", True, False), (", carries: signal", False, True)],
)
def test_a_lead_carries_what_its_ports_have_unless_it_says_so(
    reading: Reading, carries: str, power: bool, signal: bool
) -> None:
    text = (
        TEXT + f"leads: [{{from: plain.1, to: set.5{carries}}}, {{from: plain.1, to: set.supply}}]"
    )
    plain, supply = reading(text).setup.cables
    assert (plain.carries_power, plain.carries_signal) == (power, signal)
    assert (supply.carries_power, supply.carries_signal) == (False, False)
    assert plain.title == "`plain.1` to `set.5`"
