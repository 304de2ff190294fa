"""What the columns of a log refer to: names that lead nowhere, units that do not fit."""

from collections.abc import Iterator
from typing import Final

from holdshort.document import Document, Fault, Path
from holdshort.setup import functions
from holdshort.setup.logs import UNITS, LogColumn
from holdshort.setup.mistakes import any_of, did_you_mean, reference_fault
from holdshort.setup.model import Place, Setup
from holdshort.setup.references import resolve_end

_LINKED: Final = ("link-quality", "lost-frames", "holds")
_NOUNS: Final = {
    "voltage": "a voltage",
    "current": "a current",
    "position": "a position",
    "link-quality": "a link quality",
    "lost-frames": "a number of lost frames",
    "holds": "a number of holds",
}
_CHANNEL: Final = "channel "


def channel_of(words: str) -> int | None:
    """Return the channel that ``channel 3`` names, or None."""
    number = words.removeprefix(_CHANNEL).strip()
    if not words.startswith(_CHANNEL) or not (number.isascii() and number.isdecimal()):
        return None
    return int(number) if len(number) < 3 else None  # noqa: PLR2004  - channels are 1 to 99


def log_faults(setup: Setup, document: Document) -> Iterator[Fault]:
    """Yield a fault for every column that cannot be what it says."""
    for heading, column in (setup.log.columns or {}).items() if setup.log else ():
        path: Path = ("log", "columns", heading)
        yield from _unit(document, path, heading, column)
        yield from _subject(setup, document, path, heading, column)


def _unit(document: Document, path: Path, heading: str, column: LogColumn) -> Iterator[Fault]:
    units = UNITS[column.measures]
    noun = _NOUNS[column.measures]
    if column.unit is not None and column.unit not in units:
        message = f"`{heading}` measures {noun}, and `{column.unit}` is no unit of that."
        do = f"Write `unit: {units[0]}`." if units else "Take `unit` out: it is a bare number."
        yield reference_fault("wrong-unit", message, document, (*path, "unit"), do)
    for key, stated, fits in (
        ("below", column.below is not None, column.measures == "voltage"),
        ("each-row", column.each_row, column.measures in {"lost-frames", "holds"}),
    ):
        if stated and not fits:
            message = f"`{heading}` measures {noun}, which has no `{key}`."
            do = f"Take `{key}` out."
            yield reference_fault("misplaced-setting", message, document, (*path, key), do)


def _subject(
    setup: Setup, document: Document, path: Path, heading: str, column: LogColumn
) -> Iterator[Fault]:
    wanted, other = ("at", "of") if column.measures == "voltage" else ("of", "at")
    stated = column.at if wanted == "at" else column.of
    astray = column.of if wanted == "at" else column.at
    noun = _NOUNS[column.measures]
    if astray is not None:
        message = f"`{heading}` measures {noun}: its subject stands under `{wanted}`."
        do = f"Write `{wanted}: {astray}`."
        yield reference_fault("misplaced-setting", message, document, (*path, other), do)
    elif stated is None:
        message = f"`{heading}` does not say what {noun[2:]} it measures."
        yield reference_fault("no-subject", message, document, path, f"Add `{wanted}: ...`.")
    elif column.measures == "voltage":
        yield from _end(setup, document, (*path, "at"), stated)
    elif column.measures == "position":
        yield from _position(setup, document, (*path, "of"), stated)
    else:
        known = [*setup.devices]
        if column.measures in _LINKED:
            receivers = [device.name for device in setup.of_kind("receiver")]
            known = [*setup.links, *receivers]
        yield from _known(setup, document, (*path, "of"), stated, known)


def _known(
    setup: Setup, document: Document, path: Path, name: str, known: list[str]
) -> Iterator[Fault]:
    hurt = setup.broken_under("devices", name) or setup.broken_under("radio", "links", name)
    if name in known or hurt or "devices" not in setup.sections:
        return
    what = "link or receiver" if setup.links and set(setup.links) <= set(known) else "device"
    message = f"`{name}` is not a {what} of this aircraft."
    yield reference_fault("unknown-device", message, document, path, did_you_mean(name, known))


def _end(setup: Setup, document: Document, path: Path, written: str) -> Iterator[Fault]:
    if "devices" not in setup.sections or setup.broken_under("devices"):
        return
    end = resolve_end(written, Place(setup.file, path), setup.devices, set(setup.broken))
    if end.trouble == "no-device":
        message = f"`{end.device}` is not a fitted device."
        do = did_you_mean(end.device, setup.devices)
        yield reference_fault("unknown-device", message, document, path, do)
    elif end.trouble == "no-port":
        message = f"`{end.device}` has no such port as `{written.partition('.')[2]}`."
        do = f"Did you mean {any_of(end.near[:6])}?" if end.near else ""
        yield reference_fault("unknown-port", message, document, path, do)


def _position(setup: Setup, document: Document, path: Path, words: str) -> Iterator[Fault]:
    number = channel_of(words)
    if words.startswith(_CHANNEL):
        if setup.broken_under("radio", "channels") or not setup.channels:
            return
        if number not in setup.channels:
            message = f"`{words}` is not a channel that the radio declares."
            do = f"Declared channels: {', '.join(map(str, setup.channels))}."
            yield reference_fault("unknown-channel", message, document, path, do)
        return
    if words in setup.surfaces or functions.control_function(words) is not None:
        return
    known = [*setup.surfaces, *(device.name for device in setup.of_kind("servo"))]
    yield from _known(setup, document, path, words, [*known, *functions.ALL])
