"""Devices and parts that only go by another name in a second setup, and a setup told in new names.

A device is the same under a new name where the same leads go from the same ports of a like part to
the same places: told apart as far as its neighbours are, step by step outwards from what keeps its
name. Where two could be meant, none is.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import NamedTuple, TypeVar, cast

from holdshort.analysis.canonical import entries_of
from holdshort.setup import Cable, Fitted, LeadEnd, Quantity, Setup
from holdshort.setup.base import Section


class Renames(NamedTuple):
    """New names by old ones, of devices and of parts; what keeps its name is not in it."""

    devices: Mapping[str, str]
    parts: Mapping[str, str]


_Leads = Mapping[str, list[tuple[str, str, str, str]]]
"""Of each device: its own port, the other device and its port, and what the lead carries."""


def renames(old: Setup, new: Setup) -> Renames:
    """Return what goes by another name in ``new``."""
    parts = _renamed_parts(old, new)
    leads = _leads(old), _leads(new)
    found: dict[str, str] = {}
    while True:
        more = _matched(old, new, leads, Renames(found, parts))
        if not more:
            return Renames(found, parts)
        found |= more


def renamed(setup: Setup, names: Renames) -> Setup:
    """Return ``setup`` as it would be with its devices and parts called by their new names.

    Places stay those of the file as it is.
    """
    if not (names.devices or names.parts):
        return setup
    call = _caller(names.devices)
    return replace(
        setup,
        devices={call(name): _fitted(fitted, names) for name, fitted in setup.devices.items()},
        cables=tuple(_cable(cable, call) for cable in setup.cables),
        links={
            name: link.model_copy(update={"heard_by": tuple(map(call, link.heard_by))})
            for name, link in setup.links.items()
        },
        failsafe={
            call(name): entry._replace(device=call(entry.device))
            for name, entry in setup.failsafe.items()
        },
        surfaces={
            name: surface.model_copy(update={"servo": tuple(map(call, surface.servo))})
            for name, surface in setup.surfaces.items()
        },
        load_cases=_mentions(setup.load_cases, names.devices),
        balance=_mentions(setup.balance, names.devices),
        telemetry=_mentions(setup.telemetry, names.devices),
        log=_mentions(setup.log, names.devices),
    )


_T = TypeVar("_T")


def _mentions(value: _T, names: Mapping[str, str]) -> _T:
    """Return a value with each text that is a device, or a port of one, told by its new name."""
    return cast("_T", _mention(value, names))


def _mention(value: object, names: Mapping[str, str]) -> object:
    if isinstance(value, Quantity):
        return value
    if isinstance(value, str):
        device, dot, port = value.partition(".")
        return f"{names.get(device, device)}{dot}{port}"
    if isinstance(value, Section):
        fields = {key: _mention(getattr(value, key), names) for key in type(value).model_fields}
        return value.model_copy(update=fields)
    if isinstance(value, Mapping):
        items = cast("Mapping[object, object]", value).items()
        return {_mention(key, names): _mention(item, names) for key, item in items}
    return _mentions_in(cast("tuple[object, ...]", value), names) if type(value) is tuple else value


def _mentions_in(items: tuple[object, ...], names: Mapping[str, str]) -> tuple[object, ...]:
    return tuple(_mention(item, names) for item in items)


def _caller(names: Mapping[str, str]) -> Callable[[str], str]:
    def call(name: str) -> str:
        return names.get(name, name)

    return call


def _fitted(fitted: Fitted, names: Renames) -> Fitted:
    name = names.devices.get(fitted.name, fitted.name)
    part = names.parts.get(fitted.part_name, fitted.part_name)
    changed: dict[str, object] = {"part": part}
    backed_up = fitted.device.backs_up
    if backed_up is not None:
        changed["backs_up"] = names.devices.get(backed_up, backed_up)
    return fitted._replace(
        name=name,
        part_name=part,
        device=fitted.device.model_copy(update=changed),
        ports={key: port._replace(device=name) for key, port in fitted.ports.items()},
    )


def _cable(cable: Cable, call: Callable[[str], str]) -> Cable:
    return replace(cable, start=_end(cable.start, call), end=_end(cable.end, call))


def _end(end: LeadEnd, call: Callable[[str], str]) -> LeadEnd:
    name = call(end.device)
    port = end.port._replace(device=name) if end.port is not None else None
    return end._replace(device=name, port=port)


# -- finding them --------------------------------------------------------------------------------


def _renamed_parts(old: Setup, new: Setup) -> dict[str, str]:
    """Return parts of equal ratings under new names, where only one can be meant."""
    before, after = _parts(old), _parts(new)
    gone = {name: rating for name, rating in before.items() if name not in after}
    come = {name: rating for name, rating in after.items() if name not in before}
    return _one_to_one(gone, come)


def _parts(setup: Setup) -> dict[str, tuple[object, ...]]:
    """Return what is stated of each part that is fitted; one of which nothing is, is left out."""
    found: dict[str, tuple[object, ...]] = {}
    for fitted in setup.devices.values():
        stated = tuple(sorted(entries_of(fitted.part, ("ports", "title", "source", "kind"))))
        if stated:
            ports = tuple(sorted(fitted.part.ports or ()))
            found[fitted.part_name] = (fitted.kind, stated, ports)
    return found


def _one_to_one(gone: Mapping[str, object], come: Mapping[str, object]) -> dict[str, str]:
    """Return the pairs of names whose marks are equal and stand once on either side."""
    before, after = _alone(gone), _alone(come)
    return {before[mark]: after[mark] for mark in before if mark in after}


def _alone(marks: Mapping[str, object]) -> dict[object, str]:
    every = list(marks.values())
    return {mark: name for name, mark in marks.items() if every.count(mark) == 1}


def _matched(
    old: Setup, new: Setup, leads: tuple[_Leads, _Leads], known: Renames
) -> dict[str, str]:
    """Return devices that are told apart now that those of ``known`` are."""
    kept = set(old.devices) & set(new.devices)
    gone = set(old.devices) - kept - set(known.devices)
    come = set(new.devices) - kept - set(known.devices.values())
    call = _caller(known.devices)
    sure = kept | set(known.devices.values())
    return _one_to_one(
        _marks(old, gone, leads[0], call, sure, known.parts),
        _marks(new, come, leads[1], _as_it_is, sure, {}),
    )


def _as_it_is(name: str) -> str:
    return name


def _marks(
    setup: Setup,
    names: Iterable[str],
    leads: _Leads,
    call: Callable[[str], str],
    sure: set[str],
    parts: Mapping[str, str],
) -> dict[str, object]:
    """Return what tells each device: its part, where its leads go, and what it moves.

    A device at the other end is named where its name is sure, and else by its part.
    """
    found: dict[str, object] = {}
    for name in sorted(names):
        if not leads.get(name):
            continue
        ends = [
            (own, _shown(setup, call(other), other, sure, parts), port, carries)
            for own, other, port, carries in leads[name]
        ]
        moved = tuple(sorted(key for key, one in setup.surfaces.items() if name in one.servo))
        found[name] = (_part(setup, name, parts), tuple(sorted(ends)), moved)
    return found


def _shown(setup: Setup, called: str, name: str, sure: set[str], parts: Mapping[str, str]) -> str:
    return f"= {called}" if called in sure else f"? {_part(setup, name, parts)}"


def _part(setup: Setup, name: str, parts: Mapping[str, str]) -> str:
    fitted = setup.devices.get(name)
    if fitted is None:
        return ""
    return parts.get(fitted.part_name, fitted.part_name)


def _leads(setup: Setup) -> _Leads:
    found: dict[str, list[tuple[str, str, str, str]]] = {}
    for cable in setup.cables:
        for own, other in ((cable.start, cable.end), (cable.end, cable.start)):
            mark = (_port(own), other.device, _port(other), cable.lead.carries or "")
            found.setdefault(own.device, []).append(mark)
    return found


def _port(end: LeadEnd) -> str:
    return end.port.name if end.port is not None else end.written
