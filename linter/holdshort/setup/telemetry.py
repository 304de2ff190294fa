"""Telemetry: what is measured on board, how it reaches the pilot, and where it alarms."""

from typing import Annotated, Literal

from holdshort.setup.base import Items, Name, Section, Text, Whole
from holdshort.setup.measures import Level, Measured
from holdshort.setup.quantities import Duration


class Alarm(Section):
    """Where the transmitter alarms."""

    below: Level | None = None
    """It alarms when the reading is under this."""
    above: Level | None = None
    """It alarms when the reading is over this."""
    cells: Annotated[int, Whole(1, 40)] | None = None
    """Where the level is that of one cell: how many cells it is set for."""
    delay: Duration | None = None
    """How long the reading must stay past the level before it alarms, in seconds."""
    told_by: Items[Literal["sound", "speech", "vibration", "light"]] | None = None
    """How the pilot is told."""


class Reading(Section):
    """One value that the transmitter shows or alarms on."""

    from_: Name
    """The device that measures it: a sensor, a receiver, an engine controller."""
    measures: Measured
    """What it measures."""
    of: Name | None = None
    """The pack, device or tank that it is measured at; by default what the device is wired to
    sense, or the device itself."""
    shown: bool | None = None
    """True where the transmitter shows it."""
    alarm: Alarm | None = None
    """Where the transmitter alarms on it."""
    note: Text | None = None
    """Anything worth saying."""
