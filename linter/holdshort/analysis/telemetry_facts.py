"""The facts of telemetry that rules in data pick from, each with where it came from.

Levels stand as text with their unit, for that differs with what is measured, and in SI beside it.
"""

from typing import TYPE_CHECKING, Any, Final

from holdshort.analysis.aircraft import Aircraft
from holdshort.analysis.data_paths import DataPath, address_of
from holdshort.analysis.fact_book import FactBook
from holdshort.analysis.facts import Need
from holdshort.document import Path

if TYPE_CHECKING:
    from holdshort.analysis.telemetry import LevelStudy, ReadingStudy, TelemetryStudy

_BASE: Final[Path] = ("computed", "telemetry")


def add_telemetry(book: FactBook, aircraft: Aircraft) -> None:
    """Add every reading with its way and its alarms, and what no alarm tells of."""
    study = aircraft.telemetry
    if study is None or not study.declared:
        if aircraft.setup.of_kind("receiver"):
            need = Need(
                aircraft.setup.place("telemetry"), "what the transmitter shows and alarms on"
            )
            book.lack(_BASE, [need], need)
        return
    place = aircraft.setup.place("telemetry")
    lists = {"watched": list(study.watched), "unwatched": [one.words for one in study.unwatched]}
    book.put(_BASE, {"readings": {}, **lists}, place)
    for one in study.readings:
        _add_reading(book, study, one)


def _add_reading(book: FactBook, study: "TelemetryStudy", one: "ReadingStudy") -> None:
    path = (*_BASE, "readings", one.name)
    way = one.path.devices if isinstance(one.path, DataPath) else None
    facts: dict[str, Any] = {
        "from": one.device.name,
        "measures": one.reading.measures,
        "of": one.subject.name if one.subject else None,
        "shown": one.reading.shown,
        "address": address_of(one.device),
        "reaches_transmitter": None if one.path_need else way is not None,
        "way": list(way) if way else None,
        "alarms": [_alarm(study, level) for level in study.levels if level.of is one],
    }
    book.put(path, facts, one.place)
    if one.path_need is not None:
        book.lack((*path, "reaches_transmitter"), [one.path_need], one.path_need)
    if one.subject_need is not None:
        book.lack((*path, "of"), [one.subject_need], one.subject_need)
    levels = [level for level in study.levels if level.of is one]
    for index, level in enumerate(levels):
        if level.needs and not level.late:
            book.lack((*path, "alarms", index, "late"), level.needs, level.needs[0])


def _alarm(study: "TelemetryStudy", level: "LevelStudy") -> dict[str, Any]:
    known = level.governing is not None
    return {
        "way": level.way,
        "level": level.text,
        "level_si": level.level,
        "wanted": study.wanted_text(level) if known else None,
        "wanted_si": level.wanted,
        "late": bool(level.late) if known and (level.late or not level.needs) else None,
    }
