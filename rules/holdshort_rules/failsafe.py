"""What is declared to happen when the link is lost."""

from collections.abc import Iterator

from holdshort.api import (
    Aircraft,
    ChannelFailsafe,
    Clean,
    Finding,
    Fitted,
    Fix,
    Hold,
    NotChecked,
    Outcome,
    Severity,
    is_throttle,
    listed,
    moves_something,
    plural,
    rule,
)
from holdshort_rules.throttle_values import (
    add_values,
    common_word,
    drives_throttle_alone,
    leaves_running,
    set_values,
)


@rule(
    "channel-without-failsafe",
    title="A channel with no declared failsafe on some receiver or hub",
    severity=Severity.WARNING,
    hold=Hold.ENGINE_RUN,
    subject="failsafe",
    sources=("F3", "F7", "F21", "F30"),
)
def channel_without_failsafe(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether every box that decides has a failsafe for every channel."""
    setup = aircraft.setup
    if not setup.channels:
        if aircraft.deciding_boxes:
            yield NotChecked(setup.place("radio", "channels"), "the channels of the radio")
        return
    unread = setup.broken_under("radio", "channels")
    if unread is not None:
        yield NotChecked(setup.place(*unread), "the channels that have a mistake of form")
    for box in aircraft.deciding_boxes:
        hurt = setup.broken_under("failsafe", box.name)
        if hurt is not None:
            yield NotChecked(
                setup.place(*hurt), f"the failsafe of `{box.name}`, which has a mistake of form"
            )
            continue
        yield from _box(aircraft, box)


def _box(aircraft: Aircraft, box: Fitted) -> Iterator[Outcome]:
    setup = aircraft.setup
    missing = [entry for entry in aircraft.failsafes(box) if entry.action is None]
    if not missing:
        yield Clean(box.at())
    throttle = [entry for entry in missing if is_throttle(entry.channel, setup)]
    moving = [
        entry
        for entry in missing
        if entry not in throttle and moves_something(entry.channel, setup)
    ]
    quiet = [entry for entry in missing if entry not in throttle and entry not in moving]
    if throttle:
        found = _missing(box, throttle, Severity.WARNING, _THROTTLE)
        yield found._replace(fix=_stop(aircraft, box, throttle))
    if moving:
        yield _missing(box, moving, Severity.WARNING, _MOVING)
    if quiet:
        yield _missing(box, quiet, Severity.CAUTION, _QUIET)


def _stop(aircraft: Aircraft, box: Fitted, throttle: list[ChannelFailsafe]) -> Fix | None:
    """Return the closed throttle to declare; a box without any may have no failsafe of its own."""
    entry = aircraft.setup.failsafe.get(box.name)
    has_own = box.kind == "receiver" or (entry is not None and bool(entry.channels))
    channels = [failsafe.channel for failsafe in throttle]
    exact = all(
        drives_throttle_alone(aircraft, channel)
        and not leaves_running(aircraft, box.name, channel, common_word(aircraft, channel))
        for channel in channels
    )
    return add_values(aircraft, box, channels) if has_own and exact else None


_THROTTLE = (
    "A receiver as delivered often holds the last position: the engine would keep the power it had "
    "when the link was lost."
)
_MOVING = "A receiver as delivered often holds the last position, whatever it was."
_QUIET = "What they do on loss of signal is left to chance."


def _missing(box: Fitted, entries: list[ChannelFailsafe], severity: Severity, why: str) -> Finding:
    named = listed(
        f"{entry.channel.number} ({', '.join(entry.channel.channel.drives)})" for entry in entries
    )
    word = plural(len(entries), "channel")
    numbers = f"{word} {listed(str(entry.channel.number) for entry in entries)}"
    return Finding(
        at=entries[0].at,
        message=f"`{box.name}` has no declared failsafe for {word} {named}. {why}",
        do=_advice(box, numbers, is_engine=why is _THROTTLE),
        severity=severity,
    )


def _advice(box: Fitted, numbers: str, *, is_engine: bool) -> str:
    position = (
        "engine stop (or idle where the rules you follow allow it)"
        if is_engine
        else "a stated position"
    )
    words = (
        f"Set {numbers} of `{box.name}` to {position}, declare it under `failsafe:`, and test it "
        "with the transmitter off."
    )
    if box.kind == "receiver":
        return words
    return f"{words} If the box has no failsafe of its own, declare `passes-on: true`."


@rule(
    "throttle-failsafe-holds",
    title="The throttle holds its last position when the link is lost",
    severity=Severity.WARNING,
    hold=Hold.ENGINE_RUN,
    subject="failsafe",
    sources=("F4", "F7", "F12", "F27", "F28"),
)
def throttle_failsafe_holds(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether any box is declared to hold the throttle on loss of signal."""
    setup = aircraft.setup
    if not any(is_throttle(channel, setup) for channel in setup.channels.values()):
        if setup.channels and (setup.aircraft is None or setup.aircraft.propulsion != "none"):
            yield NotChecked(
                setup.place("radio", "channels"), "the channel that drives the throttle"
            )
        return
    for box in aircraft.deciding_boxes:
        for entry in aircraft.failsafes(box):
            if is_throttle(entry.channel, setup) and entry.action is not None:
                yield _held(aircraft, entry) if entry.action == "hold" else Clean(entry.at)


def _held(aircraft: Aircraft, entry: ChannelFailsafe) -> Finding:
    number = entry.channel.number
    return Finding(
        at=entry.at,
        message=f"`{entry.box.name}` holds channel {number}, the throttle, when the link is lost: "
        "the engine keeps its power and the aircraft flies on with nobody in control. That is "
        "worse than a failsafe left undeclared: it is certain to happen.",
        do=f"Set channel {number} of `{entry.box.name}` to engine stop, or to idle where the rules "
        "you follow allow it, and test it with the transmitter off.",
        fix=_close(aircraft, entry),
    )


def _close(aircraft: Aircraft, entry: ChannelFailsafe) -> Fix | None:
    """Return the change in every box that holds the channel: receivers are to agree."""
    boxes = [
        box.name
        for box in aircraft.deciding_boxes
        for other in aircraft.failsafes(box)
        if other.channel is entry.channel and other.action == "hold"
    ]
    word = common_word(aircraft, entry.channel)
    running = any(leaves_running(aircraft, box, entry.channel, word) for box in boxes)
    if running or not drives_throttle_alone(aircraft, entry.channel):
        return None
    return set_values(aircraft.setup, entry.channel.number, boxes, word)


RULES = (channel_without_failsafe, throttle_failsafe_holds)
