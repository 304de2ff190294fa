"""The change of a failsafe value that leaves the engine running to the one that stops it."""

from collections.abc import Collection, Iterable, Iterator
from typing import Final

from holdshort.api import (
    Aircraft,
    ChannelEntry,
    Edit,
    Fitted,
    Fix,
    Place,
    Setup,
    Understood,
    functions_of,
    listed,
    plural,
)

STOP: Final = "stop"
"""Stopping the engine is enough under every code that a setup can follow."""

_CLOSED: Final = (STOP, "idle")


def drives_throttle_alone(aircraft: Aircraft, entry: ChannelEntry) -> bool:
    """True for a channel that drives the throttle and nothing else."""
    return set(functions_of(entry, aircraft.setup)) == {"throttle"}


def common_word(aircraft: Aircraft, entry: ChannelEntry) -> str:
    """Return the word that closes the throttle: the one that boxes here agree on, or ``stop``."""
    words = {
        failsafe.action
        for box in aircraft.deciding_boxes
        for failsafe in aircraft.failsafes(box)
        if failsafe.channel is entry and failsafe.action in _CLOSED
    }
    return words.pop() or STOP if len(words) == 1 else STOP


def leaves_running(aircraft: Aircraft, box: str, entry: ChannelEntry, word: str) -> bool:
    """True where ``word``, set in ``box``, is known to leave an engine with power."""
    found = (
        aircraft.link_loss.output_of(end, box, word).engine
        for end in aircraft.link_loss.throttle_ends(entry.number)
        if aircraft.link_loss.reaches(box, end)
    )
    return any(isinstance(engine, Understood) and engine.kind == "power" for engine in found)


def value_place(setup: Setup, box: str, number: int) -> Place:
    """Return where the failsafe value of a channel stands, though it be in a run."""
    return setup.place("failsafe", box, "channels", str(number))


def set_values(setup: Setup, number: int, boxes: Iterable[str], word: str) -> Fix:
    """Return the change that sets a channel to ``word`` in boxes that declare a value for it."""
    names = list(dict.fromkeys(boxes))
    edits = [Edit("set", value_place(setup, name, number), word) for name in names]
    undated = [edit for name in names for edit in _undated(setup, name)]
    return Fix(f"{_words(number, names, word)}{_again(undated)}", (*edits, *undated))


def add_values(aircraft: Aircraft, box: Fitted, entries: Iterable[ChannelEntry]) -> Fix:
    """Return the change that declares a closed throttle for channels without a value."""
    edits = list(_additions(aircraft, box, entries))
    numbers = [str(edit.at.path[-1]) for edit in edits]
    words = listed(dict.fromkeys(f"`{edit.value}`" for edit in edits))
    text = (
        f"Declares {plural(len(edits), 'channel')} {listed(numbers)} of `{box.name}` as {words} in "
        f"the file. {_ITSELF.format(box=f'`{box.name}`')}"
    )
    undated = list(_undated(aircraft.setup, box.name))
    return Fix(f"{text}{_again(undated)}", (*edits, *undated))


def _additions(aircraft: Aircraft, box: Fitted, entries: Iterable[ChannelEntry]) -> Iterator[Edit]:
    for entry in entries:
        place = value_place(aircraft.setup, box.name, entry.number)
        yield Edit("add", place, common_word(aircraft, entry))


def _undated(setup: Setup, box: str) -> Iterator[Edit]:
    """Yield the edit that takes out when a box was last set: it vouches for no value written now.

    Not where a channel of it was changed since: that day shows that the box is to be set again.
    """
    entry = setup.failsafe.get(box)
    day = entry.declared.set_on if entry else None
    if entry is None or day is None:
        return
    channels = (
        setup.channels[number].channel for number in entry.channels if number in setup.channels
    )
    if all(changed <= day for channel in channels for changed in (channel.changed or {}).values()):
        yield Edit("remove", setup.place("failsafe", box, "set-on"))


def _again(undated: Collection[Edit]) -> str:
    return " The day on which it was last set is taken out: give the new one." if undated else ""


_ITSELF: Final = (
    "Set the failsafe of {box} itself so, and watch it with the transmitter off and the engine "
    "made safe, before the engine runs."
)


def _words(number: int, names: list[str], word: str) -> str:
    boxes = listed(f"`{name}`" for name in names)
    return (
        f"Sets the failsafe of channel {number} of {boxes} to `{word}` in the file. "
        f"{_ITSELF.format(box=boxes)}"
    )
