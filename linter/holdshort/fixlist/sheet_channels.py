"""Channels on an aircraft sheet: the rows of ``show link-loss`` and ``show channels`` as tables."""

from collections.abc import Iterable, Iterator

from holdshort.analysis.channel_table import ChannelRow, EndRow, ModeRow, channel_table
from holdshort.analysis.link_loss_table import CaseRows, LinkLossTable, link_loss_table
from holdshort.fixlist import channel_view, link_loss_view
from holdshort.fixlist.channel_view import end_told, microseconds, per_cent, settings_told
from holdshort.fixlist.link_loss_view import devices_told, engine_words, output_cells
from holdshort.fixlist.place_words import place_told
from holdshort.fixlist.sheet_facts import SheetFacts
from holdshort.fixlist.sheet_parts import Cell, Part, Words, listed_parts, table

_LOSS_HEADS = ("channel", "drives", "at", "set in", "declared", "pulse, us", "does")
_CHANNEL_HEADS = (
    "channel", "drives", "set", "mode", "travel low", "travel high", "low, us", "centre, us",
    "high, us", "goes to",
)  # fmt: skip
_MODE = 3


def link_loss_parts(facts: SheetFacts) -> tuple[Part, ...]:
    """Return what each loss case does; nothing where no channel reaches a device."""
    shown = link_loss_table(facts.aircraft)
    if not any(case.rows for case in shown.cases):
        return ()
    return (*(part for case in shown.cases for part in _case(case)), *_loss_remarks(shown))


def _case(case: CaseRows) -> Iterator[Part]:
    title = f"{case.case.title[0].upper()}{case.case.title[1:]}"
    if not case.rows:
        yield Words(f"{title}: {devices_told(case.working)} follow the transmitter as before.")
        return
    rows = [[_loss_cell(text) for text in output_cells(row)] for row in case.rows]
    yield table(title, _LOSS_HEADS, rows, "<<<<<><")
    for engine in case.engines:
        yield Words(engine_words(engine))
    if case.working:
        yield Words(f"{devices_told(case.working)} more follow the transmitter as before.")


def _loss_cell(text: str) -> Cell:
    doubtful = text in {"not declared", "not known"}
    return Cell(text, "outside", "!") if doubtful else Cell(text)


def _loss_remarks(shown: LinkLossTable) -> Iterator[Part]:
    if shown.presumed:
        yield Words(
            "Where no port on the way is declared to give a channel, the number on the port "
            "counts.",
            quiet=True,
        )
    needs = [f"needs {item.text} ({place_told(item, shown.file)})" for item in shown.missing]
    yield from listed_parts("Not known", needs)
    yield from _unread(shown.unread)
    yield Words(link_loss_view.CAUTION, quiet=True)


def _unread(entries: tuple[str, ...]) -> Iterator[Part]:
    if entries:
        yield Words(f"Left out, as they have mistakes of form: {', '.join(entries)}.")


def channel_parts(facts: SheetFacts) -> tuple[Part, ...]:
    """Return every channel with its pulses and what it ends at; nothing where there is none."""
    shown = channel_table(facts.aircraft)
    if not shown.channels:
        return ()
    told = ["pulse not declared"]
    if shown.neutral is not None:
        full = microseconds(shown.full)
        told = [f"{microseconds(shown.neutral)} us at neutral, {full} us more at 100 %"]
    if shown.frame_rate is not None:
        told.append(f"{shown.frame_rate:g} Hz")
    rows = [row for channel in shown.channels for row in _rows(channel)]
    strays = [
        f"{end_told(end)}: "
        f"{'channel not known' if end.channel is None else f'channel {end.channel}'}"
        for end in shown.strays
    ]
    ends = [*shown.strays, *(end for channel in shown.channels for end in channel.ends)]
    return (
        Words(f"Radio: {', '.join(told)}."),
        _channels(rows),
        *listed_parts("Fed by a channel that is not declared", strays),
        *_presumed(ends),
        *listed_parts("Not known", shown.missing),
        *_unread(shown.unread),
        Words(channel_view.CAUTION, quiet=True),
    )


def _channels(rows: list[tuple[str, ...]]) -> Part:
    """Return the table of channels, without the column of the modes where there is none."""
    heads: tuple[str, ...] = _CHANNEL_HEADS
    kinds = "><<<>>>>><"
    if not any(row[_MODE] for row in rows):
        heads = (*heads[:_MODE], *heads[_MODE + 1 :])
        kinds = kinds[:_MODE] + kinds[_MODE + 1 :]
        rows = [(*row[:_MODE], *row[_MODE + 1 :]) for row in rows]
    return table("Channels as declared", heads, rows, kinds)


def _presumed(ends: Iterable[EndRow]) -> Iterator[Part]:
    if any(end.presumed for end in ends):
        yield Words(
            "# no port on the way is declared to give a channel; the number on the port counts.",
            quiet=True,
        )


def _rows(channel: ChannelRow) -> Iterator[tuple[str, ...]]:
    """Yield a channel in its own travel, and in each mode that has one of its own."""
    ends = "; ".join(end_told(end) for end in channel.ends) or "no device of its own"
    first, *others = channel.modes
    number = f"{channel.number}"
    settings = ", ".join(settings_told(channel))
    yield (number, ", ".join(channel.drives), settings, first.mode or "", *_figures(first), ends)
    for mode in others:
        yield (number, "as above", "", mode.mode or "", *_figures(mode), "as above")


def _figures(mode: ModeRow) -> tuple[str, ...]:
    pulses = mode.pulses or (None, None, None)
    return (
        per_cent(mode.low),
        per_cent(mode.high),
        *(microseconds(pulse) for pulse in pulses),
    )
