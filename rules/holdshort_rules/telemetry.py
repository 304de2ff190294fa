"""Telemetry: whether what is measured reaches the pilot, and in time to land."""

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Final

from holdshort.api import (
    DURATION,
    Aircraft,
    Because,
    Bound,
    Clean,
    Edit,
    Finding,
    Fitted,
    Fix,
    Hold,
    Need,
    NotChecked,
    Option,
    Outcome,
    Place,
    QuantityType,
    Severity,
    bounds_told,
    listed,
    plural,
    rule,
)
from holdshort_rules.naming import few

if TYPE_CHECKING:
    from holdshort.api import Broken, LevelStudy, ReadingStudy, TelemetryStudy


@rule(
    "sensor-without-data-path",
    title="A reading that no lead brings to the transmitter",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="telemetry",
    sources=("practice",),
)
def sensor_without_data_path(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether each reading that is shown or alarmed gets from its sensor to the pilot."""
    study = aircraft.telemetry
    if study is None:
        return
    yield from _broken_section(aircraft)
    told: dict[str, list[ReadingStudy]] = {}
    for one in study.readings:
        if one.used:
            told.setdefault(one.device.name, []).append(one)
    for readings in told.values():
        yield _pathless(readings)


def _broken_section(aircraft: Aircraft) -> Iterator[NotChecked]:
    """Yield what hides readings: an entry with a mistake of form."""
    if aircraft.setup.broken_under("telemetry") is not None:
        yield NotChecked(aircraft.setup.place("telemetry"), "a telemetry section without mistakes")


def _pathless(readings: "list[ReadingStudy]") -> Outcome:
    """Judge the readings of one device, which share their way."""
    first = readings[0]
    if first.path_need is not None:
        return NotChecked(first.path_need.place, first.path_need.text)
    broken = first.broken
    if broken is None:
        return Clean(first.at("from"))
    alarmed = any(one.reading.alarm is not None for one in readings)
    names = listed(f"`{one.name}`" for one in readings)
    verb = plural(len(readings), "is", "are")
    of_it = plural(len(readings), "it", "them")
    grave = "The alarm that you count on never sounds." if alarmed else "What you see is not there."
    return Finding(
        at=first.at("from"),
        message=f"{names} {verb} read by `{first.device.name}`, and nothing of {of_it} reaches "
        f"the transmitter: {broken.words}.{_as_far(broken)} {grave}",
        do=broken.do,
        because=() if _is_plain(broken) else (Because(broken.at, broken.words),),
        severity=None if alarmed else Severity.NOTE,
    )


def _is_plain(broken: "Broken") -> bool:
    """True where something is missing altogether, so that no place says more than the message."""
    return broken.trouble in {"no lead", "no receiver"}


def _as_far(broken: "Broken") -> str:
    """Say how far the data gets where that is not plain already."""
    if not _is_plain(broken) or len(broken.reached) < 2:  # noqa: PLR2004  - itself, and more
        return ""
    return f" Its data gets as far as {listed(f'`{name}`' for name in broken.reached[1:])}."


@rule(
    "sensor-shown-nowhere",
    title="A sensor that nobody is shown",
    severity=Severity.NOTE,
    hold=Hold.FLIGHT,
    subject="telemetry",
    sources=("practice",),
)
def sensor_shown_nowhere(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether something of each fitted sensor is shown or alarms."""
    study = aircraft.telemetry
    if study is None:
        return
    sensors = aircraft.setup.of_kind("sensor")
    if sensors and not study.declared:
        names = few(f"`{sensor.name}`" for sensor in sensors)
        yield NotChecked(sensors[0].at(), f"what the transmitter shows of {names} (`telemetry`)")
        return
    hidden = bool(aircraft.setup.broken_under("telemetry"))
    for sensor in sensors:
        readings = study.readings_of(sensor)
        untold = [one for one in readings if not one.used and one.reading.shown is None]
        if any(one.used for one in readings):
            yield Clean(sensor.at())
        elif hidden or untold:
            place = untold[0].at("shown") if untold else aircraft.setup.place("telemetry")
            yield NotChecked(place, f"whether the transmitter shows what `{sensor.name}` reads")
        else:
            yield _shown_nowhere(sensor)


def _shown_nowhere(sensor: Fitted) -> Finding:
    return Finding(
        at=sensor.at(),
        message=f"`{sensor.name}` is fitted, and nothing that it reads is shown or alarms. It "
        "costs weight and current, and tells nobody anything.",
        do=f"Add a reading `from: {sensor.name}` under `telemetry` with `shown: true` or an alarm, "
        "or take the sensor out.",
    )


@rule(
    "no-alarm-for",
    title="Something that fails without an alarm",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="telemetry",
    sources=("P21", "P24", "R13", "T9", "practice"),
)
def no_alarm_for(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether an alarm tells of each pack, rail and link, and of what a turbine does."""
    study = aircraft.telemetry
    if study is None or not study.declared:
        if aircraft.setup.of_kind("receiver"):
            place = aircraft.setup.place()
            yield NotChecked(place, "what the transmitter shows and alarms on (`telemetry`)")
        return
    yield from _broken_section(aircraft)
    if aircraft.setup.broken_under("telemetry") is not None:
        return
    unknown = [one for one in study.readings if one.subject_need is not None]
    yield from _needs(one.subject_need for one in unknown)
    for missing in study.unwatched:
        yield Finding(
            at=missing.at,
            message=f"No telemetry alarm tells of {missing.words}. {missing.why}",
            do=missing.do,
            severity=None if missing.grave else Severity.NOTE,
        )
    if study.watched:
        yield Clean(aircraft.setup.place("telemetry"))


def _needs(needs: Iterable[Need | None]) -> Iterator[NotChecked]:
    for need in dict.fromkeys(needs):
        if need is not None:
            yield NotChecked(need.place, need.text)


TIME_TO_LAND = Option(
    "alarm-too-late",
    "time-to-land",
    "2 min",
    QuantityType(DURATION, zero=True),
    "the flying time that an alarm on a pack or on fuel is to leave",
)


@rule(
    "alarm-too-late",
    title="A telemetry alarm that leaves too little",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="telemetry",
    sources=("P24", "P26", "P39", "C2", "C5", "C7", "C9", "C11", "practice"),
    options=(TIME_TO_LAND,),
)
def alarm_too_late(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge each alarm level against what must not have happened yet when it sounds."""
    study = aircraft.telemetry
    if study is None:
        return
    yield from _broken_section(aircraft)
    needs: list[Need] = []
    for level in study.levels:
        if level.late:
            yield _late(study, level)
            continue
        needs += level.needs
        if level.bounds and not level.needs:
            yield Clean(level.of.at("alarm", level.way))
    yield from _needs(needs)


def _late(study: "TelemetryStudy", level: "LevelStudy") -> Finding:
    one = level.of
    grave = any(bound.grave for bound in level.late)
    so = (
        "When it sounds, what it should warn of has already happened."
        if grave
        else "It sounds later than it should."
    )
    return Finding(
        at=one.at("alarm", level.way),
        message=f"`{one.name}` alarms {level.way} {level.text}, but "
        f"{listed(bounds_told(level.late))}. {so}",
        do=_earlier(study, level),
        because=_reasons(level.late),
        severity=None if grave else Severity.CAUTION,
        fix=_sooner(study, level),
    )


def _reasons(bounds: Iterable[Bound]) -> tuple[Because, ...]:
    return tuple({bound.because.place: bound.because for bound in bounds}.values())


def _earlier(study: "TelemetryStudy", level: "LevelStudy") -> str:
    wanted = study.wanted_text(level)
    if study.sounds_at_once(level):
        return (
            f"No alarm helps here: it would have to be at {wanted}, where it sounds on a well "
            "charged pack. Fit a larger pack or more cells, or set the regulator lower."
        )
    more = "more" if level.way == "below" else "less"
    cells = level.of.reading.alarm.cells if level.of.reading.alarm else None
    all_cells = " for the whole pack" if cells is not None else ""
    return (
        f"Set the alarm to {wanted} or {more}{all_cells}, and try it on the bench."
        f"{_by_the_cell(level)}"
    )


_CELL_AT_MOST: Final = 1.5
"""A full cell has less than this many times what it has when the pack must be on the
ground (derived from rows C1 to C9)."""


def _by_the_cell(level: "LevelStudy") -> str:
    """Say what to declare where a level is so low that it must be that of one cell."""
    subject = level.of.subject.device if level.of.subject else None
    cells = getattr(subject.part, "cells", None) if subject else None
    alarm = level.of.reading.alarm
    if cells is None or cells == 1 or alarm is None or alarm.cells is not None:
        return ""
    of_a_cell = next((bound.voltage for bound in level.bounds if bound.grave), 0.0) / cells
    if level.of.reading.measures != "voltage" or level.level > _CELL_AT_MOST * of_a_cell:
        return ""
    return f" If {level.text} is meant for one cell, add `cells: {cells}` to the alarm."


def _sooner(study: "TelemetryStudy", level: "LevelStudy") -> Fix | None:
    """Return the change of the level, where it is one number and an alarm there can help."""
    alarm = level.of.reading.alarm
    if study.sounds_at_once(level) or alarm is None or alarm.cells is not None or level.needs:
        return None
    wanted = study.wanted_text(level)
    return Fix(
        f"Sets the alarm of `{level.of.name}` to {wanted} in the file, the least that is early "
        "enough. Set the transmitter to the same, and try it on the bench.",
        (Edit("set", level.of.at("alarm", level.way), wanted),),
    )


@rule(
    "alarm-out-of-range",
    title="An alarm set where it always sounds or never does",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="telemetry",
    sources=("practice",),
)
def alarm_out_of_range(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge each alarm level of which it is known what the reading is in ordinary flight."""
    study = aircraft.telemetry
    if study is None:
        return
    yield from _broken_section(aircraft)
    over = {id(beyond.level): beyond for beyond in study.beyond}
    for level in study.levels:
        beyond = over.get(id(level))
        if beyond is not None:
            yield Finding(
                at=level.of.at("alarm", level.way),
                message=f"`{level.of.name}` alarms {level.way} {level.text}, but {beyond.words}. "
                f"{beyond.why}",
                do="Set it between what is seen in ordinary flight and what must not happen; "
                "`holdshort show telemetry` gives the latest level.",
                because=(beyond.because,) if beyond.because else (),
            )
            continue
        need = study.range_need(level)
        if need is not None:
            yield NotChecked(need.place, need.text)
        elif study.ranged(level):
            yield Clean(level.of.at("alarm", level.way))


@rule(
    "address-clash",
    title="Two sensors at one address of a telemetry bus",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="telemetry",
    sources=("practice",),
)
def address_clash(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether the devices on each telemetry bus have addresses of their own."""
    study = aircraft.telemetry
    if study is None:
        return
    for clash in study.clashes:
        devices = [aircraft.setup.devices[name] for name in clash.devices]
        where = (
            f"on the telemetry of `{clash.bus.receiver}`" if clash.bus.receiver else "on one bus"
        )
        together = plural(len(devices) - 1, "both", "all")
        yield Finding(
            at=_address_place(devices[-1]),
            message=f"{listed(f'`{name}`' for name in clash.devices)} {together} answer at address "
            f"{clash.address} {where}. They talk at once, and what is shown may be of either.",
            do=f"Set `{devices[-1].name}` to another address, and declare it.",
            because=tuple(
                Because(_address_place(device), f"`{device.name}` is at address {clash.address}")
                for device in devices[:-1]
            ),
        )
    yield from _addressed(aircraft, study)


def _addressed(aircraft: Aircraft, study: "TelemetryStudy") -> Iterator[Outcome]:
    """Yield what is judged of each bus, and in one go what states no address."""
    clashing = {clash.bus.receiver for clash in study.clashes}
    silent: dict[str, Fitted] = {}
    for bus in study.buses:
        unknown = study.unaddressed(bus)
        silent |= {device.name: device for device in unknown}
        if not unknown and bus.receiver not in clashing:
            yield Clean(aircraft.setup.devices[bus.devices[0]].at())
    if silent:
        first = next(iter(silent.values()))
        names = few(f"`{name}`" for name in silent)
        many = plural(len(silent), "address", "addresses")
        yield NotChecked(first.at("address"), f"the {many} of {names} on the telemetry bus")


def _address_place(device: Fitted) -> Place:
    if device.device.address is not None:
        return device.at("address")
    return device.part_place("address")


RULES = (
    sensor_without_data_path,
    sensor_shown_nowhere,
    no_alarm_for,
    alarm_too_late,
    alarm_out_of_range,
    address_clash,
)
