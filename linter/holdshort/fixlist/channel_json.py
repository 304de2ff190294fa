r"""The channel table as JSON, for programs. Keys are promises; prose is free.

The shape, whose JSON Schema lies beside this module in ``channels.schema.json``::

    {
      "format": "holdshort-channels",
      "version": 1,                 a change that breaks readers raises it; new keys do not
      "file": "tarn.yaml",          as it was given; "-" is standard input
      "aircraft": "Tarn Swift",
      "radio": {"neutral_us", "full_us", "frame_rate_hertz"},
      "channels": [
        {"number", "drives": ["..."], "reversed", "centre_share", "trim_share", "slow_seconds",
         "copied_from",
         "modes": [                 "mode" is null for the channel's own travel
           {"mode", "low_share", "high_share", "low_us", "centre_us", "high_us"}
         ],
         "ends": [END]}
      ],
      "strays": [END],              fed by a channel that is not declared, or not known
      "not_known": ["..."],         what would have to be declared to know more
      "unread": ["..."],            entries with mistakes of form, left out of all the above
      "caution": "..."
    }

END is ``{"channel", "device", "kind", "way": ["rx.1", "servo.lead"], "reversed", "presumed",
"frame_rate_hertz"}``: ``way`` runs from the receiver's port to the device's; ``reversed`` is true
where boxes on the way turn the pulse round, which the pulses of the channel do not count;
``presumed`` is true where only the number on a port says which channel it gives. What is not
declared or not known is null.

The text is ASCII and holds no control character but line ends.
"""

from typing import Any, Final

from holdshort.analysis import Aircraft
from holdshort.analysis.channel_table import (
    ChannelRow,
    ChannelTable,
    EndRow,
    ModeRow,
    channel_table,
)
from holdshort.fixlist.channel_view import CAUTION
from holdshort.fixlist.json_format import dump

FORMAT: Final = "holdshort-channels"
VERSION: Final = 1


def json_text(aircraft: Aircraft) -> str:
    """Return the channel table of ``aircraft`` as JSON text."""
    return render_json(channel_table(aircraft))


def render_json(table: ChannelTable) -> str:
    """Return the channel table as JSON text."""
    return dump(
        {
            "format": FORMAT,
            "version": VERSION,
            "file": table.file,
            "aircraft": table.aircraft,
            "radio": {
                "neutral_us": _microseconds(table.neutral),
                "full_us": _microseconds(table.full),
                "frame_rate_hertz": table.frame_rate,
            },
            "channels": [_channel(channel) for channel in table.channels],
            "strays": [_end(end) for end in table.strays],
            "not_known": list(table.missing),
            "unread": list(table.unread),
            "caution": CAUTION,
        }
    )


def _channel(channel: ChannelRow) -> dict[str, Any]:
    return {
        "number": channel.number,
        "drives": list(channel.drives),
        "reversed": channel.reversed,
        "centre_share": channel.centre,
        "trim_share": channel.trim,
        "slow_seconds": channel.slow,
        "copied_from": channel.copied_from,
        "modes": [_mode(mode) for mode in channel.modes],
        "ends": [_end(end) for end in channel.ends],
    }


def _mode(mode: ModeRow) -> dict[str, Any]:
    pulses = mode.pulses
    return {
        "mode": mode.mode,
        "low_share": mode.low,
        "high_share": mode.high,
        "low_us": _microseconds(pulses.low if pulses else None),
        "centre_us": _microseconds(pulses.centre if pulses else None),
        "high_us": _microseconds(pulses.high if pulses else None),
    }


def _end(end: EndRow) -> dict[str, Any]:
    return {
        "channel": end.channel,
        "device": end.device,
        "kind": end.kind,
        "way": list(end.way),
        "reversed": end.reversed,
        "presumed": end.presumed,
        "frame_rate_hertz": end.frame_rate,
    }


def _microseconds(pulse: float | None) -> float | None:
    """Return a pulse in microseconds, to a thousandth: below that it is rounding."""
    return None if pulse is None else round(pulse * 1e6, 3)
