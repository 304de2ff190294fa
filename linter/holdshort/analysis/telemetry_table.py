"""The telemetry of an aircraft as one table, ready to be shown."""

from collections.abc import Iterator
from typing import NamedTuple

from holdshort.analysis.aircraft import Aircraft
from holdshort.analysis.alarm_levels import bounds_told
from holdshort.analysis.data_paths import Broken, DataPath, address_of
from holdshort.analysis.facts import Need
from holdshort.analysis.missing import Missing, missing_in
from holdshort.analysis.telemetry import LevelStudy, ReadingStudy, TelemetryStudy
from holdshort.document import show_path


class LevelRow(NamedTuple):
    """One alarm level as declared, and the level that is just early enough.

    ``wanted`` is empty where nothing is known that it is for, ``why`` what it comes from;
    ``late`` says that the declared level comes after it.
    """

    way: str
    declared: str
    wanted: str
    why: str
    late: bool
    missing: bool


class ReadingRow(NamedTuple):
    """One reading: from what, of what, by which way, and its alarm.

    ``way`` are the devices from sensor to receiver, empty where there is no way; ``trouble`` says
    why there is none, or what is missing to know it.
    """

    name: str
    measures: str
    device: str
    of: str
    shown: bool | None
    way: tuple[str, ...]
    trouble: str
    address: int | None
    levels: tuple[LevelRow, ...]
    delay: float | None
    told_by: tuple[str, ...]


class TelemetryTable(NamedTuple):
    """The whole table of one aircraft."""

    file: str
    aircraft: str | None
    declared: bool
    rows: tuple[ReadingRow, ...]
    watched: tuple[str, ...]
    unwatched: tuple[str, ...]
    landing_time: float
    missing: tuple[Missing, ...]
    unread: tuple[str, ...]
    """Entries with mistakes of form, which are left out."""


def telemetry_table(aircraft: Aircraft) -> TelemetryTable:
    """Return what is measured on ``aircraft``, how it reaches the pilot and where it alarms."""
    setup = aircraft.setup
    study = aircraft.telemetry or TelemetryStudy(aircraft)
    needs = dict.fromkeys(_needs(study))
    return TelemetryTable(
        file=setup.file,
        aircraft=setup.aircraft.name if setup.aircraft else None,
        declared=study.declared,
        rows=tuple(_row(study, one) for one in study.readings),
        watched=study.watched if study.declared else (),
        unwatched=tuple(one.words for one in study.unwatched) if study.declared else (),
        landing_time=float(study.landing_time),
        missing=tuple(missing_in(setup, need) for need in needs),
        unread=tuple(show_path(path) for path in sorted(setup.broken, key=str)),
    )


def _row(study: TelemetryStudy, one: ReadingStudy) -> ReadingRow:
    alarm = one.reading.alarm
    return ReadingRow(
        name=one.name,
        measures=one.reading.measures,
        device=one.device.name,
        of=one.subject.name if one.subject else "",
        shown=one.reading.shown,
        way=one.path.devices if isinstance(one.path, DataPath) else (),
        trouble=_trouble(one),
        address=address_of(one.device),
        levels=tuple(_level(study, level) for level in study.levels if level.of is one),
        delay=float(alarm.delay) if alarm and alarm.delay is not None else None,
        told_by=(alarm.told_by or ()) if alarm else (),
    )


def _trouble(one: ReadingStudy) -> str:
    if isinstance(one.path, Broken):
        return one.path.words
    return f"needs {one.path.text}" if isinstance(one.path, Need) else ""


def _level(study: TelemetryStudy, level: LevelStudy) -> LevelRow:
    governing = level.governing
    return LevelRow(
        way=level.way,
        declared=level.text,
        wanted=study.wanted_text(level) if governing else "",
        why=bounds_told([governing])[0] if governing else "",
        late=bool(level.late),
        missing=bool(level.needs),
    )


def _needs(study: TelemetryStudy) -> Iterator[Need]:
    for one in study.readings:
        if one.subject_need is not None:
            yield one.subject_need
        if one.path_need is not None:
            yield one.path_need
    for level in study.levels:
        yield from level.needs
