"""The bench card on which every telemetry alarm sounds once, and every sensor is missed once."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from holdshort.analysis.aircraft import Aircraft
from holdshort.analysis.bench_cards import BenchCard, CardGroup, CardLine, CardSource
from holdshort.analysis.telemetry import LINK_READINGS

if TYPE_CHECKING:
    from holdshort.analysis.telemetry import LevelStudy, TelemetryStudy

CARD: Final = "telemetry alarms"

_SOURCES: Final = (
    CardSource(
        "UK CHIRP report on AAIB-28421: the low-voltage warning was set below the recommended "
        "level, and control was lost",
        "read",
    ),
    CardSource("every alarm made to sound once, every sensor unplugged once", "common practice"),
)
_PAST: Final = (
    "One alarm at a time: move its level past what is shown, and wait, until it sounds.",
    "Set it back to the level on the line, and read it again.",
)
_PLUG: Final = "Last, pull the telemetry plug of each sensor off, and put it back."
_TELEMETRY_ONLY: Final = (
    "Pull telemetry plugs alone: no supply, no bus and no servo plug comes off for this."
)
_LINK: Final = "or let it sound in range-test mode, at the range check"


def alarm_cards(aircraft: Aircraft) -> CardGroup | None:
    """Return the group of that card, or None where no alarm has a level."""
    study = aircraft.telemetry
    if study is None or not study.levels:
        return None
    lost = tuple(_lost(study))
    card = BenchCard(
        CARD,
        "Let every alarm sound",
        (
            "Engine made safe. Transmitter and receivers on. Look at every reading.",
            *_PAST,
            *((_PLUG,) if lost else ()),
        ),
        (*(_line(level) for level in study.levels), *lost),
        cautions=(_TELEMETRY_ONLY,) if lost else (),
    )
    before = ("After alarms are set, and after any change to sensors, receivers or packs.",)
    return CardGroup("alarms", "Telemetry alarms", before, (card,), _SOURCES)


def _line(level: "LevelStudy") -> CardLine:
    one = level.of
    alarm = one.reading.alarm
    told = " and ".join(alarm.told_by or ()) if alarm else ""
    by = f", by {told}" if told else ""
    back = "" if level.late else f"; set back to {level.way} {level.text}"
    return CardLine((one.name,), f"sounds{by}{back}", note=_note(level))


def _note(level: "LevelStudy") -> str:
    if level.of.broken is not None:
        return "nothing brings it to the transmitter: put that right first"
    if level.late:
        return f"{level.way} {level.text} comes too late: put that right first"
    return _LINK if level.of.reading.measures in LINK_READINGS else ""


def _lost(study: "TelemetryStudy") -> Iterator[CardLine]:
    """Yield a line for each sensor that is shown or alarms, with its plug off."""
    sensors = dict.fromkeys(
        one.device.name for one in study.readings if one.used and one.device.kind == "sensor"
    )
    for name in sensors:
        yield CardLine((f"plug of {name} off",), "the transmitter tells that the reading is gone")
