"""Telemetry: what is measured on board, how it reaches the pilot, and where it alarms."""

from holdshort.setup.base import Section, Text


class Reading(Section):
    """One value that the transmitter shows or alarms on."""

    note: Text | None = None
    """Anything worth saying."""
