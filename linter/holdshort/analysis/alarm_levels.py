"""What a low-voltage alarm must stay above: the event it is to warn of must not have happened yet.

All voltages in volts. Where an alarm watches a pack, what the leads lose between pack and device at
the worst of the solved currents is added. The margin above a reset voltage is common practice (row
P39), and so are the voltages at which packs are to be landed (rows C2, C5, C7 and C9).
"""

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Final, NamedTuple

from holdshort.analysis.facts import Because, Need
from holdshort.analysis.rails import (
    minimum,
    missing,
    pack_drop,
    pack_nominal,
    pack_stop,
    regulator_facts,
)
from holdshort.analysis.wiring import is_regulating, nodes_of, show_volts
from holdshort.setup import Fitted, Quantity
from holdshort.setup.parts import Battery, Regulator

if TYPE_CHECKING:
    from holdshort.analysis.aircraft import Aircraft

MARGIN_OPTION: Final = ("rail-below-device-minimum", "margin")
MARGIN: Final = Quantity(0.5, "0.5 V")
"""What a receiver, hub or gyro must stay above the voltage at which it resets (row P39, common
practice), unless the owner has a limit of his own for :data:`MARGIN_OPTION`."""

_SHOWN: Final = 0.005  # V: less prints as 0.00 V
_LOADS: Final = frozenset(
    {
        "receiver", "hub", "gyro", "engine-controller", "servo", "pump", "valve",
        "gear-controller", "brake", "lights", "sensor", "load",
    }
)  # fmt: skip
_CARRIERS: Final = frozenset({"distribution", "switch", "fuse", "splitter"})


class Bound(NamedTuple):
    """A voltage that an alarm must not be set under, and why.

    ``grave`` is True where something stops working there, False where it only works worse. Where a
    device gets too little, ``starved`` is its name and ``words`` stop before it: see
    :func:`bounds_told`.
    """

    voltage: float
    words: str
    because: Because
    grave: bool = True
    starved: str = ""


def bounds_told(bounds: Iterable[Bound]) -> list[str]:
    """Return bounds in words, those told together that several devices share."""
    starved: dict[str, list[str]] = {}
    for bound in bounds:
        names = starved.setdefault(bound.words, [])
        if bound.starved:
            names.append(f"`{bound.starved}`")
    return [
        f"{words} {_together(names)} {'gets' if len(names) == 1 else 'get'} too little"
        if names
        else words
        for words, names in starved.items()
    ]


def _together(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def margin(aircraft: "Aircraft") -> Quantity:
    """Return what a box must stay above the voltage at which it resets, V."""
    return aircraft.limits.get(MARGIN_OPTION, MARGIN)


def watched_packs(aircraft: "Aircraft", device: Fitted) -> list[Fitted]:
    """Return the packs whose voltage an alarm on ``device`` watches."""
    if device.kind == "battery":
        return [device]
    fed = [aircraft.setup.devices[feed.device] for feed in aircraft.supply(device).feeds]
    return [other for other in fed if other.kind == "battery"]


def alarm_bounds(aircraft: "Aircraft", device: Fitted, reserve: Quantity) -> Iterator[Bound]:
    """Yield what an alarm that watches ``device`` must stay above.

    On a regulator the alarm watches its input; on a receiver and the like, its own supply.
    """
    for pack in watched_packs(aircraft, device):
        stop = pack_stop(pack)
        if stop is not None:
            words = f"at {show_volts(stop)} under load `{pack.name}` must be on the ground"
            text = f"`{pack.part_name}` is {pack_words(pack)}"
            yield Bound(stop, words, Because(pack.part_place("cells"), text))
    if device.kind != "battery":
        yield from own_bounds(device, 0.0, reserve)
        return
    for other in aircraft.setup.devices.values():
        drop = drop_between(aircraft, device, other)
        if drop is not None:
            yield from own_bounds(other, drop, reserve)


_VOWEL_FIRST: Final = frozenset({8, 11, 18})
"""Numbers of cells, up to 40, that are spoken with a vowel first."""


def pack_words(pack: Fitted) -> str:
    """Return what a pack is: ``a 3-cell lipo pack``, ``an 8-cell lipo pack``."""
    part = pack.part
    if not isinstance(part, Battery):
        return "a pack"
    article = "an" if part.cells in _VOWEL_FIRST else "a"
    return f"{article} {part.cells}-cell {part.chemistry} pack"


def drop_between(aircraft: "Aircraft", pack: Fitted, other: Fitted) -> float | None:
    """Return the most that is lost from a pack to a device that hangs on it, V, or None."""
    if other is pack or all(feed.device != pack.name for feed in aircraft.supply(other).feeds):
        return None
    return pack_drop(aircraft.power, pack, next(nodes_of(other)))


def own_bounds(device: Fitted, drop: float, reserve: Quantity) -> Iterator[Bound]:
    """Yield what ``device`` itself needs, ``drop`` volts further up."""
    lost = f", with {show_volts(drop)} lost on the way," if drop >= _SHOWN else ""
    if is_regulating(device):
        yield from _regulator_bounds(device, drop, lost)
    limit = minimum(device, reserve)
    if limit is not None and not (is_regulating(device) and device.kind != "engine-controller"):
        words = f"below {show_volts(limit.voltage + drop)}{lost}"
        because = Because(
            limit.place, f"`{device.part_name}` needs {show_volts(limit.voltage)}: {limit.words}"
        )
        yield Bound(limit.voltage + drop, words, because, starved=device.name)


def _regulator_bounds(device: Fitted, drop: float, lost: str) -> Iterator[Bound]:
    facts = regulator_facts(device)
    if facts.input and facts.input.min:
        least = facts.input.min
        words = f"below {show_volts(least + drop)}{lost} `{device.name}` may switch off"
        place = device.part_place(input_field(device), "min")
        because = Because(place, f"`{device.part_name}` works from {least.text}")
        yield Bound(least + drop, words, because)
    if facts.setting is not None:
        holds = facts.setting + facts.dropout
        words = f"below {show_volts(holds + drop)}{lost} `{device.name}` "
        words += f"no longer holds {facts.setting.text}"
        because = Because(device.at(), f"`{device.name}` is set to {facts.setting.text}")
        yield Bound(holds + drop, words, because, grave=False)


def switched_off_at(device: Fitted) -> Bound | None:
    """Return the highest that the output of a regulator can still be when its input is too low.

    A rail that is watched at its output shows no more than V_in - V_dropout, and the regulator may
    switch off at the lowest V_in. None where its setting lies below that: then the rail shows
    nothing before it goes.
    """
    facts = regulator_facts(device)
    if facts.input is None or facts.input.min is None or facts.setting is None:
        return None
    volts = facts.input.min - facts.dropout
    if not 0.0 < volts < facts.setting:
        return None
    words = f"at {show_volts(volts)} `{device.name}`, down to {facts.input.min.text} at its input, "
    place = device.part_place(input_field(device), "min")
    because = Because(place, f"`{device.part_name}` works from {facts.input.min.text}")
    return Bound(volts, f"{words}may switch off", because)


def input_field(device: Fitted) -> str:
    """Return the field of a regulating part that states its input."""
    return "input" if isinstance(device.part, Regulator) and device.part.input else "voltage"


def alarm_needs(
    aircraft: "Aircraft", device: Fitted, bounds: list[Bound], reserve: Quantity
) -> Iterator[Need]:
    """Yield what is missing to know everything that an alarm on ``device`` must stay above."""
    if not bounds:
        yield Need(device.at(), f"what `{device.name}` needs, or the pack that feeds it")
    if device.kind != "battery":
        yield from own_needs(device, reserve)
        return
    for other in aircraft.setup.devices.values():
        if drop_between(aircraft, device, other) is not None:
            yield from own_needs(other, reserve)
    power = aircraft.power
    yield from missing(power, next(nodes_of(device)), power.cases)


def own_needs(device: Fitted, reserve: Quantity) -> Iterator[Need]:
    """Yield what is missing to know what ``device`` itself needs."""
    if is_regulating(device):
        facts = regulator_facts(device)
        if facts.setting is None:
            yield Need(device.at(), f"the output voltage that `{device.name}` is set to")
        if device.kind != "engine-controller" and not (facts.input and facts.input.min):
            yield _part_need(device, "the lowest input voltage", input_field(device))
    elif needs_voltage(device) and minimum(device, reserve) is None:
        yield _part_need(device, "the lowest supply voltage", "voltage")


def _part_need(device: Fitted, words: str, field: str) -> Need:
    return Need(device.part_place(field, "min"), f"{words} of `{device.part_name}`")


def needs_voltage(device: Fitted) -> bool:
    """True for a device that works only above some supply voltage, other than a regulator."""
    if device.kind in _CARRIERS:
        return bool(device.part.voltage and device.part.voltage.min) and not is_regulating(device)
    return device.kind in _LOADS


def sounds_when_charged(packs: list[Fitted], level: float) -> bool:
    """True where an alarm at ``level`` volts sounds on a pack that is still well charged."""
    nominal = [volts for pack in packs if (volts := pack_nominal(pack)) is not None]
    return bool(nominal) and level > min(nominal)
