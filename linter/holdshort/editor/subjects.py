"""What a figure, a test or a change is of: names to offer in the sections that tell of those.

Telemetry, logs, balance, sensors, sign-offs and observations name devices, tanks, links, surfaces,
tests and cards of the same file. What is declared or signed already comes last.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Final

from holdshort.analysis import Aircraft
from holdshort.analysis.cards import card_sheet
from holdshort.document import Path
from holdshort.editor.offers import Offer, devices, named
from holdshort.setup import Fitted, Setup
from holdshort.setup.logs import UNITS
from holdshort.setup.measures import DIMENSIONS_OF

_OF_LINKS: Final = ("link-quality", "lost-frames", "holds")
_MEASURING: Final = ("sensor", "receiver", "engine-controller")


def subjects(path: Path, present: Mapping[str, str], aircraft: Aircraft) -> Iterator[Offer]:
    """Yield the names that may be the value at ``path``, whose mapping has the keys ``present``."""
    offers = _SECTIONS.get(path[0])
    if offers is not None:
        yield from offers(path, present, aircraft)


def _in_telemetry(path: Path, present: Mapping[str, str], aircraft: Aircraft) -> Iterator[Offer]:
    setup = aircraft.setup
    match path:
        case (_, _, "from"):
            yield from _sources(setup)
        case (_, _, "measures"):
            yield from _measured(setup.devices.get(present.get("from", "")))
        case (_, _, "of"):
            yield from (*devices(setup.devices.values()), *_tanks(setup))
        case _:
            return


def _in_devices(path: Path, _: Mapping[str, str], aircraft: Aircraft) -> Iterator[Offer]:
    if path[2:] == ("senses",):
        fitted = aircraft.setup.devices.values()
        yield from devices(one for one in fitted if one.name != path[1])
        yield from _tanks(aircraft.setup)


def _in_log(path: Path, present: Mapping[str, str], aircraft: Aircraft) -> Iterator[Offer]:
    measures = present.get("measures", "")
    match path:
        case (_, "columns", _, "of"):
            yield from _of_column(aircraft.setup, measures)
        case (_, "columns", _, "unit"):
            yield from (Offer(unit, unit, "word", rank=-1) for unit in UNITS.get(measures, ()))
        case _:
            return


def _in_balance(path: Path, _: Mapping[str, str], aircraft: Aircraft) -> Iterator[Offer]:
    match path:
        case (_, "changes", _, "of") | (_, "weighings", _, "without"):
            yield from _things(aircraft.setup)
        case _:
            return


def _in_sign_offs(path: Path, _: Mapping[str, str], aircraft: Aircraft) -> Iterator[Offer]:
    if path[2:] == ("test",):
        yield from _tests(aircraft)


def _in_observations(path: Path, _: Mapping[str, str], aircraft: Aircraft) -> Iterator[Offer]:
    if path[2:] == ("card",):
        yield from _cards(aircraft)


_SECTIONS: Final[
    Mapping[str | int, Callable[[Path, Mapping[str, str], Aircraft], Iterator[Offer]]]
] = {
    "telemetry": _in_telemetry,
    "devices": _in_devices,
    "log": _in_log,
    "balance": _in_balance,
    "sign-offs": _in_sign_offs,
    "observations": _in_observations,
}


def names_as_keys(
    path: Path, around: Mapping[str, str], aircraft: Aircraft
) -> Iterator[tuple[str, str]]:
    """Yield the names that may be keys at ``path``, each with what it is.

    ``around`` are the keys of the mapping that holds the one at ``path``.
    """
    match path:
        case ("balance", "movable" | "changes"):
            yield from ((one.label, one.what) for one in _things(aircraft.setup))
        case ("balance", "weighings", _, "tanks"):
            yield from ((one.label, one.what) for one in _tanks(aircraft.setup))
        case ("sign-offs", int(), "figures"):
            test = aircraft.evidence.tests.get(around.get("test", ""))
            for figure in test.figures if test else ():
                yield figure.name, figure.text
        case _:
            return


def _sources(setup: Setup) -> Iterator[Offer]:
    """Yield all devices, first those that measure something."""
    for device in setup.devices.values():
        measures: tuple[str, ...] = getattr(device.part, "measures", None) or ()
        known = bool(measures) or device.kind in _MEASURING
        detail = ", ".join(measures) or device.part_name
        yield named(device.name, device.kind, detail, rank=int(not known))


def _measured(device: Fitted | None) -> Iterator[Offer]:
    """Yield everything that can be measured, first what a device measures."""
    measures: tuple[str, ...] = getattr(device.part, "measures", None) or () if device else ()
    for word in DIMENSIONS_OF:
        by = f"`{device.name}` measures it" if device and word in measures else ""
        yield Offer(word, word, "word", by, rank=int(word not in measures))


def _tanks(setup: Setup) -> Iterator[Offer]:
    for name in (setup.balance.tanks or {}) if setup.balance else ():
        yield named(name, "tank")


def _things(setup: Setup) -> Iterator[Offer]:
    """Yield what has a place along the body: devices and items of the balance."""
    yield from devices(setup.devices.values())
    for name in (setup.balance.items or {}) if setup.balance else ():
        yield named(name, "item")


def _of_column(setup: Setup, measures: str) -> Iterator[Offer]:
    """Yield what one column of a log may be of, by what it measures."""
    if measures in _OF_LINKS:
        yield from (named(name, "link") for name in setup.links)
        yield from devices(setup.of_kind("receiver"))
    elif measures == "position":
        yield from (named(name, "surface") for name in setup.surfaces)
        for number, entry in setup.channels.items():
            yield named(f"channel {number}", "channel", ", ".join(entry.channel.drives))
        yield from devices(setup.of_kind("servo"))
    else:
        yield from devices(setup.devices.values())


def _tests(aircraft: Aircraft) -> Iterator[Offer]:
    evidence = aircraft.evidence
    for judged in evidence.standings:
        done = judged.standing.counts
        detail = f"{judged.test.title}; {judged.standing.value}"
        yield named(judged.test.name, "test", detail, rank=int(done))


def _cards(aircraft: Aircraft) -> Iterator[Offer]:
    seen = {observation.card for _, observation in aircraft.setup.observations}
    groups: Iterable[tuple[str, str]] = (
        (card.name, card.title) for group in card_sheet(aircraft).groups for card in group.cards
    )
    for name, title in groups:
        yield named(name, "card", title, rank=int(name in seen))
