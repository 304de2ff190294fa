"""How the columns of a measured log are to be read, and what was read out of logs so far."""

from typing import Annotated, Final, Literal

from holdshort.setup.base import Day, End, Items, Section, Text, Wording, short_for
from holdshort.setup.quantities import Duration, Voltage

Measure = Literal["voltage", "current", "position", "link-quality", "lost-frames", "holds"]
"""What a column of a log may hold."""

UNITS: Final[dict[str, tuple[str, ...]]] = {
    "voltage": ("V", "mV"),
    "current": ("A", "mA"),
    "position": ("%", "us"),
    "link-quality": ("%",),
    "lost-frames": (),
    "holds": (),
}
"""The units of each measure; the first is taken where a column states none."""


HEADING: Final = Wording(
    "the heading of a column",
    "As it stands in the first line of the log, on one line, up to 200 characters.",
    r"[^\r\n]{1,200}",
    ("Rx V", "column 2"),
)
Heading = Annotated[str, HEADING]

FIGURE: Final = Wording(
    "the name of a figure",
    "Words on one line, up to 120 characters, without `=`.",
    r"[^\r\n=]{1,120}",
    ("lowest voltage at front-rx",),
)
FigureName = Annotated[str, FIGURE]


class LogTime(Section):
    """The column that says when each row was written."""

    column: Heading
    """Its heading, or `column 1` for the first column of a log without headings."""
    unit: Literal["s", "ms", "us", "min", "clock", "date"] | None = None
    """What it counts in: `clock` is h:mm:ss, `date` is date and time as in ISO 8601. Where it is
    absent, plain numbers are seconds and the other forms are known by their look."""
    gap: Duration | None = None
    """Rows further apart than this are not joined, in seconds; by default five times the usual."""


class LogColumn(Section):
    """What one column of a log means."""

    measures: Measure
    """What it holds. `lost-frames` and `holds` count up from power-up, unless `each-row` says
    otherwise."""
    at: End | None = None
    """Where a voltage is measured: a device, or one of its ports."""
    of: Text | None = None
    """What a current, position or link figure is of: a device, a link, a surface, `channel 3`."""
    unit: Literal["V", "mV", "A", "mA", "%", "us"] | None = None
    """The unit of its figures; volts, amperes or per cent where it is absent."""
    below: Voltage | None = None
    """A voltage under this is a dip, in volts, where the limit is not to come from the device."""
    each_row: bool = False
    """True where each row gives what was lost since the row before."""


class LogFigures(Section):
    """What was read out of one log, kept beside the setup."""

    file: Text | None = None
    """The log that it was read out of."""
    on: Day
    """The day on which the log was written."""
    figures: dict[FigureName, Text]
    """What was measured, each with its unit, as `holdshort log` prints it."""
    note: Text | None = None
    """Anything worth saying."""


class LogColumns(Section):
    """What the columns of a log in CSV mean."""

    time: Annotated[LogTime, short_for(Heading | LogTime, "column")] | None = None
    """The column that holds the time."""
    columns: dict[Heading, LogColumn] | None = None
    """What each column measures, by its heading; columns that are not named are passed over."""
    delimiter: Literal[",", ";", "tab", "|"] | None = None
    """What stands between two cells, where it is not plain from the headings."""
    decimal: Literal["point", "comma"] | None = None
    """The decimal mark, where it is not plain from the figures."""
    files: Items[Text] | None = None
    """Logs of this aircraft, by their path as seen from this file; the newest last."""
    results: Items[LogFigures] | None = None
    """What was read out of logs so far. Rules judge these figures; no rule reads a log."""
    note: Text | None = None
    """Anything worth saying."""
