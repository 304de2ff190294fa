"""The facts of radio, failsafe, gyros and failures that rules in data pick from.

Pulses in microseconds, times in seconds, travels and trims as shares, frame rates in hertz.
"""

from collections.abc import Iterator
from typing import Any, Final

from holdshort.analysis.aircraft import Aircraft
from holdshort.analysis.channel_ends import ChannelEnd, ends_of, output_rate
from holdshort.analysis.fact_book import FactBook
from holdshort.analysis.facts import Need
from holdshort.analysis.failsafes import functions_of
from holdshort.analysis.failures import LowRail, Outcome
from holdshort.analysis.link_loss import LossCase, Output
from holdshort.analysis.mounting import (
    Direction,
    ImpossibleMountingError,
    Mounting,
    beliefs,
    mounting_from_faces,
)
from holdshort.analysis.pulses import channel_range, channel_travel, modes_of
from holdshort.document import Path
from holdshort.setup import ChannelEntry, Fitted
from holdshort.setup.parts import Faces

_MICROSECOND: Final = 1e-6


def add_channels(book: FactBook, aircraft: Aircraft) -> None:
    """Add the channels by number: what they drive, their pulses, and the devices they end at."""
    setup = aircraft.setup
    base: Path = ("computed", "channels")
    book.put(base, {}, _radio(book))
    for entry in setup.channels.values():
        channel, path = entry.channel, (*base, str(entry.number))
        facts = {
            "drives": list(channel.drives),
            "functions": list(functions_of(entry, setup)),
            "reversed": channel.reversed,
            "centre_share": channel.centre,
            "trim_share": channel.trim,
            "slow_seconds": channel.slow,
            "copied_from": channel.copied_from,
            "pulses": [],
            "ends": [_end(aircraft, end) for end in ends_of(aircraft.channel_ends, entry.number)],
        }
        book.put(path, facts, entry.place)
        for mode in modes_of(setup, entry.number):
            _pulses(book, entry, (*path, "pulses"), mode)


def _radio(book: FactBook) -> Any:
    return book.setup.place("radio") if "radio" in book.setup.sections else book.setup.place()


def _pulses(book: FactBook, entry: ChannelEntry, base: Path, mode: str | None) -> None:
    """Add the pulses of a channel in one mode, or (None) those of its own travel."""
    travel = channel_travel(book.setup, entry.number, mode)
    facts: dict[str, Any] = {"mode": mode}
    if travel is not None:
        facts |= {"low_share": travel.travel.low, "high_share": travel.travel.high}
    path = book.add(base, facts, travel.place if travel else entry.place)
    found = channel_range(book.setup, entry.number, mode)
    if isinstance(found, Need):
        for key in ("low", "centre", "high"):
            book.lack((*path, f"{key}_microseconds"), [found], found)
        return
    place = travel.place if travel else entry.place
    for key, seconds in found._asdict().items():
        book.put((*path, f"{key}_microseconds"), seconds / _MICROSECOND, place)


def _end(aircraft: Aircraft, end: ChannelEnd) -> dict[str, Any]:
    rate = output_rate(aircraft.setup, end.giver)
    return {
        "device": end.device.name,
        "kind": end.device.kind,
        "way": [port.address for port in end.way],
        "reversed": end.reversed,
        "presumed": end.presumed,
        "frame_rate_hertz": rate.hertz if rate else None,
    }


def add_failsafes(book: FactBook, aircraft: Aircraft) -> None:
    """Add what every box that decides is declared to do with every channel."""
    setup = aircraft.setup
    base: Path = ("computed", "failsafe")
    book.put(base, {}, setup.place("failsafe") if setup.failsafe else setup.place())
    for box in aircraft.deciding_boxes:
        entry, path = setup.failsafe.get(box.name), (*base, box.name)
        place = entry.place if entry else box.at()
        book.put(path, {"kind": box.kind, "channels": {}}, place)
        after = entry.declared.after if entry else None
        if after is None:
            need = Need(place, f"how long `{box.name}` holds before it acts (`after`)")
            book.lack((*path, "after_seconds"), [need], need)
        book.put((*path, "after_seconds"), after, place)
        for found in aircraft.failsafes(box):
            number = found.channel.number
            facts = {
                "drives": list(found.channel.channel.drives),
                "functions": list(functions_of(found.channel, setup)),
                "action": found.action,
            }
            book.put((*path, "channels", str(number)), facts, found.at)
            if found.action is None:
                need = Need(found.at, f"what `{box.name}` does with channel {number}")
                book.lack((*path, "channels", str(number), "action"), [need], need)


def add_link_loss(book: FactBook, aircraft: Aircraft) -> None:
    """Add what every channel does, and how soon engines act, in every loss case."""
    loss = aircraft.link_loss
    base: Path = ("computed", "link_loss")
    book.put(base, {}, _radio(book))
    for case in loss.cases if aircraft.setup.channels else ():
        path = (*base, case.id)
        facts: dict[str, Any] = {
            "title": case.title,
            "deaf_receivers": sorted(case.deaf),
            "silent": case.silent or None,
            "outputs": [],
            "engines": {},
        }
        silent = aircraft.setup.devices.get(case.silent)
        book.put(path, facts, silent.at() if silent else _radio(book))
        for end in loss.ends:
            if end.channel in aircraft.setup.channels:
                _loss_at(book, aircraft, path, case, end)


def _loss_at(
    book: FactBook, aircraft: Aircraft, path: Path, case: LossCase, end: ChannelEnd
) -> None:
    loss = aircraft.link_loss
    outputs = [output for output in loss.outputs(end, case) if not output.works]
    for output in outputs:
        _output(book, aircraft, path, end, output)
    if not outputs or end.device.kind != "engine-controller":
        return
    time = loss.time(end, case)
    base = (*path, "engines", end.device.name)
    facts: dict[str, Any] = {"waits": [part.text for part in time.parts]}
    sums = {"since_loss_seconds": time.since_loss, "since_failsafe_seconds": time.since_failsafe}
    for key, seconds in sums.items():
        if time.needs:
            facts[f"{key}_at_least"] = seconds
            book.lack((*base, key), time.needs, time.needs[0])
        else:
            facts[key] = seconds
    book.put(base, facts, end.device.at())


def _output(
    book: FactBook, aircraft: Aircraft, path: Path, end: ChannelEnd, output: Output
) -> None:
    """Add what comes to one device for one channel, and what follows from it."""
    number = end.channel or 0
    entry = aircraft.setup.channels[number]
    facts: dict[str, Any] = {
        "channel": number,
        "drives": list(entry.channel.drives),
        "functions": list(functions_of(entry, aircraft.setup)),
        "device": end.device.name,
        "kind": end.device.kind,
        "decided_by": output.decider,
        "action": output.action,
        "surfaces": [
            {"surface": found.surface, "toward": found.toward or None, "share": found.share}
            for found in output.deflections
        ],
    }
    if isinstance(output.pulse, float):
        facts["pulse_microseconds"] = output.pulse / _MICROSECOND
    if output.engine is not None and not isinstance(output.engine, Need):
        facts |= {"engine": output.engine.kind, "power_share": output.engine.share}
    added = book.add((*path, "outputs"), facts, output.at)
    _lacking(book, aircraft, added, end, output)


def _lacking(
    book: FactBook, aircraft: Aircraft, path: Path, end: ChannelEnd, output: Output
) -> None:
    if output.action is None:
        need = Need(output.at, f"what `{output.decider}` does with channel {end.channel}")
        wanted = ["action", "pulse_microseconds"]
        if end.device.kind == "engine-controller":
            wanted.append("engine")
        for key in wanted:
            book.lack((*path, key), [need], need)
    if isinstance(output.pulse, Need):
        book.lack((*path, "pulse_microseconds"), [output.pulse], output.pulse)
    if isinstance(output.engine, Need):
        needs = aircraft.link_loss.needs_of(end, output)
        book.lack((*path, "engine"), needs, output.engine)


def add_gyros(book: FactBook, aircraft: Aircraft) -> None:
    """Add how every box sits and, of gyros, what it was told and believes in each axis."""
    setup = aircraft.setup
    place = setup.place("devices") if setup.devices else setup.place()
    for key in ("mountings", "gyros"):
        book.put(("computed", key), {}, place)
    for device in setup.devices.values():
        declared = device.device.mounting
        if declared is not None:
            path: Path = ("computed", "mountings", device.name)
            book.put(path, {"kind": device.kind, **_faces(declared)}, device.at("mounting"))
    for gyro in setup.of_kind("gyro"):
        _gyro(book, gyro)


def _gyro(book: FactBook, gyro: Fitted) -> None:
    base: Path = ("computed", "gyros", gyro.name)
    book.put(base, {"part": gyro.part_name}, gyro.at())
    real = _sitting(book, base, gyro, "mounting", gyro.device.mounting, "how it sits")
    told = _sitting(book, base, gyro, "told", gyro.device.told, "what it was told about that")
    if real is None or told is None:
        gaps = [need for key in ("mounting", "told") for need in book.gaps.get((*base, key), {})]
        book.lack((*base, "beliefs"), gaps, gaps[0])
        return
    for belief in beliefs(real, told):
        facts = {
            "sense": belief.sense.value,
            "driven_by": belief.driven_by,
            "sign": belief.sign,
        }
        book.put((*base, "beliefs", belief.axis), facts, gyro.at("mounting"))


def _sitting(
    book: FactBook, base: Path, gyro: Fitted, key: str, declared: Faces | None, words: str
) -> Mounting | None:
    """Put one mounting of a gyro, or what is missing of it; None where there is none to use."""
    path = (*base, key)
    if declared is None:
        need = Need(gyro.at(), f"of `{gyro.name}`, {words} (`{key}`)")
        book.lack(path, [need], need)
        return None
    try:
        right = Direction(declared.right) if declared.right else None
        found = mounting_from_faces(Direction(declared.plugs), Direction(declared.label), right)
    except ImpossibleMountingError:
        need = Need(gyro.at(key), f"of `{gyro.name}`, faces under `{key}` that can be")
        book.lack(path, [need], need)
        return None
    facts = {"plugs": found.plugs.value, "label": found.label.value, "right": found.right.value}
    book.put(path, facts, gyro.at(key))
    return found


def _faces(declared: Faces) -> dict[str, Any]:
    return {"plugs": declared.plugs, "label": declared.label, "right": declared.right}


def add_failures(book: FactBook, aircraft: Aircraft) -> None:
    """Add what is left of every control function, and of the rails, after each single failure."""
    base: Path = ("computed", "failures")
    book.put(base, [], book.setup.place())
    for outcome in aircraft.failures.singles():
        failure = outcome.failures[0]
        facts = {
            "kind": failure.kind,
            "name": failure.name,
            "assumed": failure.assumed or None,
            "lost": list(outcome.lost),
            "functions": dict(_functions(outcome)),
            "rails": {rail.case: _low_rail(rail) for rail in outcome.rails},
        }
        path = book.add(base, facts, failure.place)
        for rail in outcome.rails:
            if rail.state in {"incomplete", "not known"}:
                need = Need(failure.place, f"everything that draws power in {rail.case}")
                needs = _needs_in(book, rail.case)
                book.lack((*path, "rails", rail.case, "lowest_volts"), needs, need)


def _functions(outcome: Outcome) -> Iterator[tuple[str, dict[str, Any]]]:
    for name, state in outcome.functions.items():
        yield (
            name,
            {
                "state": state.state,
                "moving": list(state.moving),
                "still": list(state.still),
            },
        )


def _low_rail(rail: LowRail) -> dict[str, Any]:
    key = "lowest_volts" if rail.state == "known" else "lowest_volts_at_most"
    return {
        "state": rail.state,
        "device": rail.device or None,
        key: rail.volts,
        "starved": list(rail.starved),
    }


def _needs_in(book: FactBook, case: str) -> list[Need]:
    """Return everything that is missing to know voltages on rails in a load case."""
    found: dict[Need, None] = {}
    for path, needs in book.gaps.items():
        if path[:2] == ("computed", "rails") and path[3:5] == ("volts", case):
            found |= needs
    return list(found)
