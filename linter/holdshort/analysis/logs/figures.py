"""Figures of a log for a sign-off, by name, as text with a unit."""

from collections.abc import Iterator
from typing import Final

from holdshort.analysis.logs.measured import LONGEST, LOWEST, OVERALL, show_low
from holdshort.analysis.logs.report import LogReport, lowest_of

_MILLIAMPERE_HOUR: Final = 3.6
_MEASURES: Final = {"lost-frames": "lost frames at ", "holds": "holds at "}


def figures_of(report: LogReport) -> dict[str, str]:
    """Return the figures of a log by name. The lowest of two columns of one place counts."""
    found = {
        **dict(_voltages(report)),
        **dict(_sources(report)),
        **dict(_links(report)),
    }
    return {name: found[name] for name in sorted(found)}


def figures_to_sign(report: LogReport) -> dict[str, str]:
    """Return those of the figures that the test asks for."""
    return {name: text for name, text in figures_of(report).items() if name in report.asked}


def _voltages(report: LogReport) -> Iterator[tuple[str, str]]:
    """Yield the figures of voltages, the lowest last so that it counts."""
    for row in sorted(report.voltages, key=lambda row: -lowest_of(row.extremes).value):
        volts = show_low(lowest_of(row.extremes).value)
        yield f"{LOWEST}{row.subject.written}", volts
        if row.subject.device.kind == "receiver":
            yield OVERALL, volts
        if row.dips is not None:
            yield f"{LONGEST}{row.subject.written}", f"{row.dips.longest:.2f} s"


def _sources(report: LogReport) -> Iterator[tuple[str, str]]:
    for resistance in report.resistances:
        if resistance.ohms is not None and resistance.at_source:
            yield f"resistance of {resistance.device}", f"{resistance.ohms * 1e3:.1f} mΩ"
    for current in report.currents:
        if not current.seconds > 0.0:
            continue
        charge = max(current.charge, 0.0) / _MILLIAMPERE_HOUR
        yield f"charge from {current.device}", f"{charge:.0f} mAh"


def _links(report: LogReport) -> Iterator[tuple[str, str]]:
    for link in report.links:
        if link.losses is None:
            quality = f"{lowest_of(link.extremes).value:.0f} %"
            yield f"lowest link quality of {link.of}", quality
            continue
        unit = "frames" if link.measures == "lost-frames" else "holds"
        yield f"{_MEASURES[link.measures]}{link.of}", f"{link.losses.total:.0f} {unit}"
        longest = link.losses.longest
        run = longest.duration if longest else 0.0
        yield f"longest run of {link.measures.replace('-', ' ')} at {link.of}", f"{run:.2f} s"
