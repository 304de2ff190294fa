"""Where channels end, followed port by port through receivers, buses, hubs and gyros."""

import pytest

from holdshort.analysis.channel_ends import (
    ChannelEnd,
    channel_ends,
    ends_of,
    output_rate,
    pulse_at,
)
from holdshort.document import read_document
from holdshort.setup import Setup, load

AIRCRAFT = """
holdshort: 1
parts:
  rx: {kind: receiver, frame-rate: 60 Hz, ports: {1..4: servo, bus: bus-out, in: bus-in}}
  hub: {kind: hub, ports: {bus: bus-in, 1..4: servo, out: bus-out}}
  gyro: {kind: gyro, frame-rate: 120 Hz, ports: {bus: bus-in, 1..4: servo}}
  y: {kind: splitter, ports: {in: pulse-in, out-1..2: servo}}
  servo: {kind: servo}
  ecu: {kind: engine-controller}
devices:
  front: {part: rx, ports: {3: {channel: 8}}}
  rear: {part: rx}
  hub: {part: hub, frame-rate: 200 Hz, ports: {2: {reversed: true, frame-rate: 333 Hz}}}
  gyro: {part: gyro}
  one: {part: servo}
  two: {part: servo}
  three: {part: servo}
  engine: {part: ecu}
leads:
  - {from: rear.bus, to: front.in}
  - {from: front.bus, to: hub.bus}
  - {from: hub.out, to: gyro.bus}
  - {from: hub.2, to: one}
  - {from: gyro.4, to: two}
  - {from: front.1, to: three}
  - {from: front.3, to: engine.throttle}
radio:
  pulse: {centre: 1500 us, full: 500 us}
  frame-rate: 50 Hz
  channels:
    2: {drives: aileron, travel: {low: 80 %, high: 100 %}}
    8: {drives: throttle}
"""


def setup_of(text: str) -> Setup:
    loaded = load(read_document(text.encode(), "case.yaml"), lambda name: read_document(b"", name))
    assert loaded.faults == ()
    return loaded.setup


def end_of(setup: Setup, device: str) -> ChannelEnd:
    (found,) = [end for end in channel_ends(setup) if end.device.name == device]
    return found


@pytest.mark.parametrize(
    ("device", "channel", "way", "presumed"),
    [
        ("one", 2, "front.bus > hub.bus > hub.2 > one", True),
        ("two", 4, "front.bus > hub.bus > hub.out > gyro.bus > gyro.4 > two", True),
        ("three", 1, "front.1 > three", True),
        ("engine", 8, "front.3 > engine.throttle", False),
    ],
)
def test_each_device_and_the_way_to_it(device: str, channel: int, way: str, presumed: bool) -> None:
    end = end_of(setup_of(AIRCRAFT), device)
    assert (end.channel, end.shown, end.presumed) == (channel, way, presumed)


def test_the_frame_rate_is_the_port_s_then_the_device_s_then_the_part_s_then_the_radio_s() -> None:
    setup = setup_of(AIRCRAFT)
    hub, gyro, front = (setup.devices[name] for name in ("hub", "gyro", "front"))
    rates = [
        output_rate(setup, port)
        for port in (hub.ports["2"], hub.ports["1"], gyro.ports["1"], front.ports["1"])
    ]
    assert [float(rate.hertz) if rate else 0.0 for rate in rates] == [333, 200, 120, 60]
    assert rates[0] is not None
    assert rates[0].place.path == ("devices", "hub", "ports", "2", "frame-rate")
    plain = setup_of(AIRCRAFT.replace(" frame-rate: 60 Hz,", ""))
    last = output_rate(plain, plain.devices["front"].ports["1"])
    assert last is not None
    assert float(last.hertz) == 50
    silent = setup_of(
        AIRCRAFT.replace(" frame-rate: 60 Hz,", "").replace("  frame-rate: 50 Hz\n", "")
    )
    assert output_rate(silent, silent.devices["front"].ports["1"]) is None


def test_a_reversing_output_mirrors_the_pulse_about_neutral() -> None:
    # channel 2: 1500 - 500 x 0.8 = 1100 and 1500 + 500 = 2000; turned round: 1900 and 1000
    setup = setup_of(AIRCRAFT)
    end = end_of(setup, "one")
    assert end.reversed
    assert pulse_at(setup, end, -1.0, None) == pytest.approx(1900e-6)
    assert pulse_at(setup, end, 1.0, None) == pytest.approx(1000e-6)


def test_what_hears_no_receiver_is_no_end() -> None:
    setup = setup_of(AIRCRAFT.replace("  - {from: front.bus, to: hub.bus}\n", ""))
    assert [end.device.name for end in channel_ends(setup)] == ["three", "engine"]


def test_both_servos_on_a_y_lead_are_ends_of_one_channel() -> None:
    text = AIRCRAFT.replace("  gyro: {part: gyro}\n", "  gyro: {part: gyro}\n  y: {part: y}\n")
    text = text.replace(
        "  - {from: front.1, to: three}\n",
        "  - {from: front.1, to: y.in}\n  - {from: y.out-1, to: three}\n",
    )
    text = text.replace("  - {from: gyro.4, to: two}\n", "  - {from: y.out-2, to: two}\n")
    ends = ends_of(channel_ends(setup_of(text)), 1)
    assert [end.device.name for end in ends] == ["two", "three"]


def test_an_unnumbered_port_leaves_the_channel_unknown_and_says_so() -> None:
    text = AIRCRAFT.replace(
        "1..4: servo, bus: bus-out, in", "1..4: servo, x: servo, bus: bus-out, in"
    )
    setup = setup_of(text.replace("{from: front.1, to: three}", "{from: front.x, to: three}"))
    end = end_of(setup, "three")
    assert end.channel is None
    assert end.need is not None
    assert end.need.text == "the channel that `front.x` gives"
