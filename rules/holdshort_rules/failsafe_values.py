"""The declared failsafe values themselves: alike on all receivers, up to date, and harmless."""

from collections.abc import Iterator
from typing import Final, NamedTuple

from holdshort.api import (
    SHARE,
    Aircraft,
    Because,
    ChannelEntry,
    ChannelFailsafe,
    Clean,
    Command,
    Finding,
    Fitted,
    Fix,
    Hold,
    Need,
    NotChecked,
    Option,
    Outcome,
    Place,
    QuantityType,
    Setup,
    Severity,
    functions_of,
    listed,
    meaning,
    moves_something,
    plural,
    rule,
    same_value,
    show_share,
)
from holdshort_rules.engine_failsafe import followed
from holdshort_rules.throttle_values import STOP, set_values

_FIXED: Final = frozenset({"hold", "no-pulse"})
_CENTRED: Final = frozenset({"neutral", "0 %", "0%"})
_WORDS: Final = {"travel": "travel", "centre": "centre", "reversed": "direction"}
_FULL_WORDS: Final = frozenset({"up", "down", "open", "closed", "on"})

EXPLICIT: Final = frozenset(
    {"gear", "gear doors", "doors", "brake", "brakes", "flap", "slat", "airbrake", "spoiler"}
)
"""Functions whose position on loss of signal has to be a stated one."""
FLIGHT_CONTROL: Final = frozenset(
    {"aileron", "elevator", "rudder", "elevon", "taileron", "flaperon", "ruddervator", "v-tail",
     "canard", "nozzle"}
)  # fmt: skip
"""Functions that turn the aircraft about an axis."""

GENTLE = Option(
    "surface-failsafe-unsafe",
    "most-deflection",
    "50 %",
    QuantityType(SHARE),
    "the most of its travel that a flight control may take on loss of signal",
)


@rule(
    "receivers-disagree",
    title="Receivers with different failsafe values",
    severity=Severity.WARNING,
    hold=Hold.ENGINE_RUN,
    subject="failsafe",
    sources=("F30",),
)
def receivers_disagree(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether every receiver has the failsafe values of the main one."""
    setup = aircraft.setup
    every = setup.of_kind("receiver")
    for box in every if len(every) > 1 else ():
        if setup.broken_under("failsafe", box.name) is not None:
            yield NotChecked(
                setup.place("failsafe", box.name),
                f"the failsafe of `{box.name}`, which has a mistake of form",
            )
    receivers = [box for box in every if box.name in setup.failsafe]
    if len(receivers) < 2:  # noqa: PLR2004  - two to compare
        return
    main = _main(receivers)
    for other in receivers:
        if other is not main:
            yield from _compared(setup, main, other)


def _main(receivers: list[Fitted]) -> Fitted:
    """Return the receiver that another one backs up, or the first that backs up none."""
    backed = {box.device.backs_up for box in receivers}
    found = [box for box in receivers if box.name in backed]
    found += [box for box in receivers if box.device.backs_up is None]
    return (found or receivers)[0]


def _compared(setup: Setup, main: Fitted, other: Fitted) -> Iterator[Outcome]:
    ours, theirs = setup.failsafe[main.name].channels, setup.failsafe[other.name].channels
    needs: dict[Need, None] = {}
    differing: list[int] = []
    alike = 0
    for number, entry in setup.channels.items():
        if number not in ours or number not in theirs:
            continue
        same = same_value(setup, entry, ours[number][0], theirs[number][0])
        if isinstance(same, Need):
            needs[same] = None
        elif same:
            alike += 1
        else:
            differing.append(number)
    for need in needs:
        yield NotChecked(need.place, need.text)
    if differing:
        yield _disagreement(setup, main, other, differing)
    elif alike and not needs:
        yield Clean(setup.failsafe[other.name].place)


def _disagreement(setup: Setup, main: Fitted, other: Fitted, numbers: list[int]) -> Finding:
    ours, theirs = setup.failsafe[main.name].channels, setup.failsafe[other.name].channels
    told = listed(
        f"channel {number} ({', '.join(setup.channels[number].channel.drives)}) `{ours[number][0]}`"
        f" on `{main.name}` and `{theirs[number][0]}` on `{other.name}`"
        for number in numbers
    )
    return Finding(
        at=theirs[numbers[0]][1],
        message=f"The receivers go to different places when all links are lost: {told}. Which of "
        "them counts then depends on which one fails last.",
        do=f"Set {plural(len(numbers), 'this channel', 'these channels')} to one value on both "
        "receivers, and test each alone with the transmitter off.",
        because=(Because(ours[numbers[0]][1], f"what `{main.name}` is set to"),),
        fix=_stop_on_all(setup, main, other, numbers),
    )


def _stop_on_all(setup: Setup, main: Fitted, other: Fitted, numbers: list[int]) -> Fix | None:
    """Return the change where all that differs is one throttle, and one receiver stops it."""
    entry = setup.channels[numbers[0]]
    here = [setup.failsafe[box.name].channels[entry.number][0] for box in (main, other)]
    throttle_alone = set(functions_of(entry, setup)) == {"throttle"}
    if len(numbers) > 1 or not throttle_alone or STOP not in here:
        return None
    differing = [
        box.name
        for box in setup.of_kind("receiver")
        if box.name in setup.failsafe
        and entry.number in setup.failsafe[box.name].channels
        and same_value(setup, entry, STOP, setup.failsafe[box.name].channels[entry.number][0])
        is not True
    ]
    return set_values(setup, entry.number, differing, STOP)


@rule(
    "failsafe-older-than-travel",
    title="A failsafe set before a channel's travel, centre or direction was last changed",
    severity=Severity.WARNING,
    hold=Hold.ENGINE_RUN,
    subject="failsafe",
    sources=("F25", "F26"),
)
def failsafe_older_than_travel(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge by date whether the failsafe values of each box belong to the channels as they are."""
    setup = aircraft.setup
    boxes = [box for box in aircraft.deciding_boxes if _depends(setup, box)]
    if not boxes:
        return
    undated = [box for box in boxes if setup.failsafe[box.name].declared.set_on is None]
    used = {entry.number: entry for box in boxes for entry in _depends(setup, box)}
    unchanged = [entry for entry in used.values() if entry.channel.changed is None]
    if len(undated) == len(boxes) and len(unchanged) == len(used):
        yield NotChecked(
            setup.place("failsafe"),
            "when the failsafes were last set (`set-on`), and the channels last `changed`",
        )
        return
    for box in undated:
        entry = setup.failsafe[box.name]
        yield NotChecked(entry.place, f"when the failsafe of `{box.name}` was last set (`set-on`)")
    if unchanged:
        yield _undated_channels(unchanged)
    for box in boxes:
        if box not in undated:
            yield from _dated(setup, box)


def _depends(setup: Setup, box: Fitted) -> list[ChannelEntry]:
    """Return the channels that move something and whose value ``box`` keeps as a position."""
    entry = setup.failsafe.get(box.name)
    if entry is None:
        return []
    return [
        setup.channels[number]
        for number, (action, _) in entry.channels.items()
        if number in setup.channels
        and action not in _FIXED
        and moves_something(setup.channels[number], setup)
    ]


def _undated_channels(entries: list[ChannelEntry]) -> NotChecked:
    word = plural(len(entries), "channel")
    numbers = listed(str(entry.number) for entry in entries)
    return NotChecked(
        entries[0].place,
        f"when travel, centre and direction of {word} {numbers} were last `changed`",
    )


class _Older(NamedTuple):
    """One value of a channel that was changed after the failsafe was set."""

    number: int
    what: str
    day: str
    place: Place


def _dated(setup: Setup, box: Fitted) -> Iterator[Outcome]:
    entry = setup.failsafe[box.name]
    day = entry.declared.set_on or ""
    older = [
        _Older(channel.number, what, changed, _changed_place(channel, what))
        for channel in _depends(setup, box)
        for what, changed in (channel.channel.changed or {}).items()
        if changed > day and (what == "centre" or not _is_centred(entry.channels[channel.number]))
    ]
    place = Place(entry.place.file, (*entry.place.path, "set-on"))
    if not older:
        yield Clean(place)
        return
    told = listed(
        f"the {_WORDS[item.what]} of channel {item.number} on {item.day}" for item in older
    )
    yield Finding(
        at=place,
        message=f"The failsafe of `{box.name}` was set on {day}, and since then there was a "
        f"change: {told}. The stored position may now mean something else: a throttle reversed "
        "after its failsafe was set has run engines up to full power.",
        do=f"Set the failsafe of `{box.name}` again, test it with the transmitter off, and give "
        "the new date.",
        because=tuple(
            Because(
                item.place, f"{_WORDS[item.what]} of channel {item.number} changed on {item.day}"
            )
            for item in older
        ),
    )


def _is_centred(declared: tuple[str, Place]) -> bool:
    return declared[0] in _CENTRED


def _changed_place(channel: ChannelEntry, what: str) -> Place:
    return Place(channel.place.file, (*channel.place.path, "changed", what))


@rule(
    "surface-failsafe-unsafe",
    title="A failsafe that leaves gear, brakes or flaps to chance, or a control at an extreme",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="failsafe",
    sources=("F17", "F20", "F21", "practice"),
    options=(GENTLE,),
)
def surface_failsafe_unsafe(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge where the moving parts of the aircraft go on loss of signal."""
    entries = [
        entry
        for box in aircraft.deciding_boxes
        for entry in aircraft.failsafes(box)
        if entry.action is not None and _functions(aircraft.setup, entry)
    ]
    left: list[ChannelFailsafe] = []
    extreme: list[ChannelFailsafe] = []
    needs: dict[Need, None] = {}
    for entry in entries:
        share = _share(aircraft, entry)
        if entry.action in _FIXED and _must_move(aircraft.setup, entry):
            left.append(entry)
        elif isinstance(share, Need):
            needs[share] = None
        elif abs(share) > GENTLE.of(aircraft):
            extreme.append(entry)
        else:
            yield Clean(entry.at)
    for need in needs:
        yield NotChecked(need.place, need.text)
    if left:
        yield _left(aircraft.setup, left)
    if extreme:
        yield _at_extreme(aircraft, extreme)


def _functions(setup: Setup, entry: ChannelFailsafe) -> set[str]:
    return set(functions_of(entry.channel, setup)) & (EXPLICIT | FLIGHT_CONTROL)


def _must_move(setup: Setup, entry: ChannelFailsafe) -> bool:
    """True for a channel that may not stay where it is: a flight control only by code."""
    return bool(_functions(setup, entry) & EXPLICIT) or _asks_fixed(setup)


def _asks_fixed(setup: Setup) -> bool:
    return any(code.surfaces is not None for code in followed(setup))


def _share(aircraft: Aircraft, entry: ChannelFailsafe) -> float | Need:
    """Return how much of its travel a flight control takes: 1.0 is all of it, either way.

    Gear, brakes and flaps may stand anywhere: none of their travel counts.
    """
    action = entry.action or ""
    if action in _FIXED or not _functions(aircraft.setup, entry) & FLIGHT_CONTROL:
        return 0.0
    if action in _FULL_WORDS:
        return 1.0
    meant = meaning(aircraft.setup, entry.channel, action)
    if isinstance(meant, Need):
        return meant
    if isinstance(meant, Command):
        return meant.share
    return aircraft.link_loss.share_of_pulse(entry.channel, meant)


def _left(setup: Setup, entries: list[ChannelFailsafe]) -> Finding:
    first = entries[0]
    held = any(functions_of(entry.channel, setup)[0] in FLIGHT_CONTROL for entry in entries)
    code = (
        " EU class C4 asks for a fixed position of the flight controls (F17)."
        if held and _asks_fixed(setup)
        else ""
    )
    return Finding(
        at=first.at,
        message=f"When the link is lost, {_named(entries)} {_stay(entries)} where chance "
        f"has left {plural(len(entries), 'it', 'them')}.{code} Gear, brakes and flaps need a "
        "stated position, chosen for a landing that nobody flies.",
        do=f"Give {_numbers(entries)} a stated position, and watch it with the transmitter off.",
        because=_others(entries),
    )


def _at_extreme(aircraft: Aircraft, entries: list[ChannelFailsafe]) -> Finding:
    shares = [_share(aircraft, entry) for entry in entries]
    most = max(abs(share) for share in shares if not isinstance(share, Need))
    return Finding(
        at=entries[0].at,
        message=f"When the link is lost, {_named(entries)} "
        f"{plural(len(entries), 'goes', 'go')} to as much as {show_share(most)} of the travel; "
        f"over {GENTLE.of(aircraft).text} is no gentle turn (common practice). An aircraft that "
        "nobody flies should come down in a shallow turn, not in a dive or a spin.",
        do=f"Set {_numbers(entries)} to neutral, or to a gentle turn, and watch it with the "
        "transmitter off.",
        because=_others(entries),
    )


def _named(entries: list[ChannelFailsafe]) -> str:
    drives = {entry.channel.number: ", ".join(entry.channel.channel.drives) for entry in entries}
    boxes = listed(dict.fromkeys(f"`{entry.box.name}`" for entry in entries))
    word = plural(len(drives), "channel")
    told = listed(f"{number} ({words})" for number, words in drives.items())
    return f"{word} {told} of {boxes}"


def _stay(entries: list[ChannelFailsafe]) -> str:
    return plural(len({entry.channel.number for entry in entries}), "stays", "stay")


def _numbers(entries: list[ChannelFailsafe]) -> str:
    numbers = dict.fromkeys(entry.channel.number for entry in entries)
    return f"{plural(len(numbers), 'channel')} {listed(str(number) for number in numbers)}"


def _others(entries: list[ChannelFailsafe]) -> tuple[Because, ...]:
    places = dict.fromkeys((entry.at, entry.box.name) for entry in entries)
    return tuple(
        Because(at, f"`{box}` is set so here") for at, box in places if at != entries[0].at
    )


RULES = (receivers_disagree, failsafe_older_than_travel, surface_failsafe_unsafe)
