"""The channel table for a terminal: what to compare with the transmitter and the plugs.

All text passes through :func:`~holdshort.fixlist.plain.plain`.
"""

from collections.abc import Iterable, Iterator
from typing import Final

from holdshort.analysis import Aircraft
from holdshort.analysis.channel_table import (
    ChannelRow,
    ChannelTable,
    EndRow,
    ModeRow,
    channel_table,
)
from holdshort.fixlist.paragraphs import paragraph
from holdshort.fixlist.plain import plain, wrap

CAUTION: Final = (
    "Computed from what is declared: no word on what the transmitter and the boxes are really set "
    "to. Look at every surface before flight."
)

_NAMES: Final = 34
_INDENT: Final = " " * 5
_HEADING: Final = (
    f"{'ch':>3}  {'drives':<{_NAMES}}{'travel low, high':>18}{'pulse low, centre, high, us':>29}"
)
_PRESUMED: Final = "#"
_UNKNOWN: Final = "-"


def lines(aircraft: Aircraft) -> list[str]:
    """Return the channel table of ``aircraft`` as lines of text."""
    return render_text(channel_table(aircraft)).splitlines()


def render_text(table: ChannelTable) -> str:
    """Return the channel table as text as wide as all views, long names apart."""
    blocks = [
        _heading(table),
        _channels(table.channels),
        _strays(table.strays),
        _legend(table),
        paragraph(f"Not known: {'; '.join(table.missing)}.") if table.missing else [],
        paragraph(f"Left out, for mistakes of form: {', '.join(table.unread)}.")
        if table.unread
        else [],
        paragraph(CAUTION),
    ]
    return "\n".join("".join(f"{line}\n" for line in block) for block in blocks if block)


def _heading(table: ChannelTable) -> list[str]:
    file = "standard input" if table.file == "-" else table.file
    facts = [
        "pulse not declared"
        if table.neutral is None
        else f"{microseconds(table.neutral)} us at neutral, "
        f"{microseconds(table.full)} us more at 100 %",
    ]
    if table.frame_rate is not None:
        facts.append(f"{table.frame_rate:g} Hz")
    return [
        *paragraph(f"Channels of {table.aircraft}"),
        *paragraph(file),
        *paragraph(f"Radio: {', '.join(facts)}"),
    ]


def _channels(channels: Iterable[ChannelRow]) -> list[str]:
    found = [line for channel in channels for line in _channel(channel)]
    return [_HEADING, *found] if found else ["No channel is declared."]


def _channel(channel: ChannelRow) -> Iterator[str]:
    names = list(wrap(plain(", ".join(channel.drives)), _NAMES - 1))
    first, *others = channel.modes
    head = names.pop(0) if len(names[0]) < _NAMES else ""
    yield f"{channel.number:>3}  {head:<{_NAMES}}{_figures(first)}".rstrip()
    for name in names:
        yield f"{_INDENT}{name}"
    settings = ", ".join(settings_told(channel))
    if settings:
        yield from _hanging(settings)
    if first.mode is not None:
        yield from _hanging(f"the line above is mode {first.mode}")
    for mode in others:
        yield from _mode(mode)
    for end in channel.ends:
        yield from _hanging(f"to {end_told(end)}")
    if not channel.ends:
        yield f"{_INDENT}to no device of its own"


def settings_told(channel: ChannelRow) -> Iterator[str]:
    """Yield what is set on a channel beside its travel."""
    if channel.reversed:
        yield "reversed"
    if channel.centre is not None:
        yield f"centre {_signed(channel.centre)}"
    if channel.trim is not None:
        yield f"trim {_signed(channel.trim)}"
    if channel.slow is not None:
        yield f"slow {channel.slow:g} s"
    if channel.copied_from is not None:
        yield f"copied from {channel.copied_from}"


def _mode(mode: ModeRow) -> Iterator[str]:
    name = plain(f"in {mode.mode}")
    if len(name) < _NAMES:
        yield f"{_INDENT}{name:<{_NAMES}}{_figures(mode)}".rstrip()
        return
    yield from _hanging(name)
    yield f"{_INDENT}{'':<{_NAMES}}{_figures(mode)}".rstrip()


def _figures(mode: ModeRow) -> str:
    pulses = mode.pulses or (None, None, None)
    travel = f"{per_cent(mode.low):>9}{per_cent(mode.high):>9}"
    return f"{travel}{'':<8}" + "".join(f"{microseconds(pulse):>7}" for pulse in pulses)


def _strays(ends: Iterable[EndRow]) -> list[str]:
    found = [
        line
        for end in ends
        for line in _hanging(
            f"{end_told(end)}: "
            + ("channel not known" if end.channel is None else f"channel {end.channel}")
        )
    ]
    return ["Fed by a channel that is not declared", *found] if found else []


def end_told(end: EndRow) -> str:
    """Return the way to one device in words."""
    notes = [f"{end.frame_rate:g} Hz"] if end.frame_rate is not None else []
    if end.reversed:
        notes.append("turned round on the way")
    told = f" ({', '.join(notes)})" if notes else ""
    return f"{end.shown}{f' {_PRESUMED}' if end.presumed else ''}{told}"


def _legend(table: ChannelTable) -> list[str]:
    ends = [*table.strays, *(end for channel in table.channels for end in channel.ends)]
    if not any(end.presumed for end in ends):
        return []
    return paragraph(
        f"{_PRESUMED} no port on the way is declared to give a channel; the number on the port "
        "counts."
    )


def _hanging(text: str) -> list[str]:
    return paragraph(text, _INDENT)


def microseconds(pulse: float | None) -> str:
    """Return a pulse (seconds) in microseconds, or a dash."""
    if pulse is None:
        return _UNKNOWN
    return f"{pulse * 1e6:.1f}".removesuffix(".0")


def per_cent(share: float | None) -> str:
    """Return a share in per cent, or a dash."""
    if share is None:
        return _UNKNOWN
    return f"{share * 100:.1f}".removesuffix(".0") + " %"


def _signed(share: float) -> str:
    return f"{'-' if share < 0 else '+'}{per_cent(abs(share))}" if share else "0 %"
