"""The bench cards of directions: sticks, turns of the airframe by hand, and both with the gyro off.

What must move which way comes from :func:`~holdshort.analysis.senses.expected_movements`: from
where a surface sits, never from how it is set up, so that a card can show a set-up to be wrong.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Final, NamedTuple

from holdshort.analysis.aircraft import Aircraft
from holdshort.analysis.bench_cards import (
    STAY,
    BenchCard,
    CardGroup,
    CardLine,
    CardSource,
    LeftOut,
    in_boxes,
)
from holdshort.analysis.channel_ends import ChannelEnd, pulse_at
from holdshort.analysis.facts import Need
from holdshort.analysis.failsafe_values import closed_command, understood, unlearned
from holdshort.analysis.failsafes import is_throttle
from holdshort.analysis.mounting import Axis
from holdshort.analysis.pulses import show_pulse
from holdshort.analysis.senses import (
    HAND_CARDS,
    STICK_CARDS,
    STICK_OF,
    ExpectedMovement,
    ExpectedSurface,
    expected_movements,
    side_of,
)
from holdshort.analysis.surface_motion import STEERED_IN
from holdshort.setup import ChannelEntry, Setup
from holdshort.setup.functions import control_function
from holdshort.setup.parts import Part

FOLLOW_RULE: Final = CardSource(
    "the trailing edge follows the motion of the part that carries it; a stick wants the opposite",
    "derived",
)
SECOND_PERSON: Final = CardSource(
    "EASA community note and a club checklist: a second person checks the sense of every control",
    "read second-hand",
)
FREE_AND_CORRECT: Final = CardSource(
    "accident of 2014 with a reversed elevator: check controls free and correct, not just free",
    "read second-hand",
)
NO_BIND: Final = CardSource(
    "UK club course and a club checklist: no clash or bind at any extreme; a stalled servo buzzes",
    "read second-hand",
)
OFF_SWITCH: Final = CardSource(
    "14 CFR 25.672(b) and 29.672(b): the pilot can override a stabiliser or switch it off", "read"
)

READ_THE_PULSE: Final = (
    "Read the engine's pulse with a pulse meter on its throttle lead, or on its controller's "
    "display where that can be powered with the engine unable to run."
)

_STICK_DO: Final[Mapping[str, str]] = {
    "aileron stick right": "Move the aileron stick fully right and hold it",
    "aileron stick left": "Move the aileron stick fully left and hold it",
    "elevator stick back": "Pull the elevator stick fully back and hold it",
    "elevator stick forward": "Push the elevator stick fully forward and hold it",
    "rudder stick right": "Move the rudder stick fully right and hold it",
    "rudder stick left": "Move the rudder stick fully left and hold it",
}
_HAND_DO: Final[Mapping[str, str]] = {
    "roll right": "Turn the airframe quickly by about 20 degrees, right wing down",
    "roll left": "Turn the airframe quickly by about 20 degrees, left wing down",
    "nose up": "Turn the airframe quickly by about 20 degrees, nose up",
    "nose down": "Turn the airframe quickly by about 20 degrees, nose down",
    "nose right": "Swing the nose quickly to the right by about 20 degrees",
    "nose left": "Swing the nose quickly to the left by about 20 degrees",
}


class _Mover(NamedTuple):
    """A surface as the cards see it; ``expected`` is None for one that has no direction."""

    name: str
    expected: ExpectedSurface | None
    mixed_in: frozenset[Axis]


class _Undeclared(NamedTuple):
    """Something that a channel steers with and that is no declared surface."""

    words: str
    axes: tuple[Axis, ...]


def direction_cards(aircraft: Aircraft) -> tuple[list[CardGroup], list[LeftOut]]:
    """Return the groups of cards for sticks, hand motions and gyro off, and what is left out."""
    setup = aircraft.setup
    movers = tuple(_movers(aircraft))
    missing = tuple(_undeclared(aircraft))
    groups = [_sticks(aircraft, movers, missing)]
    if setup.of_kind("gyro"):
        groups += [_hand(setup, movers, missing), _gyro_off(setup, groups[0])]
        return groups, []
    why = "no gyro is declared"
    return groups, [LeftOut("hand motions, and sticks with the gyro off", why)]


def _movers(aircraft: Aircraft) -> Iterator[_Mover]:
    known = {surface.name: surface for surface in expected_movements(aircraft.setup)}
    for name in aircraft.setup.surfaces:
        yield _Mover(name, known.get(name), frozenset(_mixed_axes(aircraft, name)))


def _mixed_axes(aircraft: Aircraft, name: str) -> Iterator[Axis]:
    """Yield the axes whose stick a declared mix brings to a surface."""
    mixes = list(aircraft.senses.mixes_to(name))
    for box in aircraft.setup.devices.values():
        mixes += aircraft.senses.box_mixes_to(box, name)
    for _, mix in mixes:
        axis = STICK_OF.get(control_function(mix.from_) or "")
        if axis is not None:
            yield axis


def _undeclared(aircraft: Aircraft) -> Iterator[_Undeclared]:
    """Yield what channels steer with, but for which no surface says which servo moves it."""
    setup = aircraft.setup
    moving = {servo for surface in setup.surfaces.values() for servo in surface.servo}
    covered = {end.channel for end in aircraft.channel_ends if end.device.name in moving}
    functions = {
        (control_function(surface.function or name), side_of(name, surface))
        for name, surface in setup.surfaces.items()
    }
    for number, entry in setup.channels.items():
        for words in entry.channel.drives:
            function = control_function(words)
            axes = _steered_axes(function)
            named = words in setup.surfaces or (function, _side(words)) in functions
            if axes and number not in covered and not named:
                yield _Undeclared(words, axes)


def _steered_axes(function: str | None) -> tuple[Axis, ...]:
    if function == "nozzle":
        return ("pitch", "yaw")
    return ("yaw",) if function == "steering" else STEERED_IN.get(function or "", ())


def _side(words: str) -> str | None:
    found = [side for side in ("left", "right") if side in words.lower().split()]
    return found[0] if len(found) == 1 else None


def _sticks(
    aircraft: Aircraft, movers: tuple[_Mover, ...], missing: tuple[_Undeclared, ...]
) -> CardGroup:
    setup = aircraft.setup
    cards = [
        BenchCard(
            name,
            _title(name),
            (f"{_STICK_DO[name]}; the other sticks stay in the middle.",),
            tuple(_stick_lines(name, axis, movers, missing)),
        )
        for name, (axis, _) in STICK_CARDS.items()
    ]
    before = [
        "Transmitter on first, this aircraft's model memory selected, then the receivers.",
        "Keep the aircraft still, so that a gyro adds nothing.",
        "Stand behind the aircraft, looking forward: left is its left. Say each movement out loud.",
        "At every end of travel listen: a servo that buzzes is stalled. Look for clashes.",
    ]
    if not _mixes_declared(setup):
        before.append(
            "No mix is declared: a surface that moves for a mix of yours will move on a card that "
            "says it stays still. Declare it under `mixes` and print the cards again."
        )
    cards += _throttle_cards(aircraft)
    sources = (FOLLOW_RULE, FREE_AND_CORRECT, SECOND_PERSON, NO_BIND)
    return CardGroup("sticks", "Sticks", tuple(before), tuple(cards), sources)


def _mixes_declared(setup: Setup) -> bool:
    boxes = [box.device.mixes for box in setup.devices.values()]
    return any(mixes is not None for mixes in (setup.radio.mixes, *boxes))


def _title(name: str) -> str:
    return name[0].upper() + name[1:]


def _stick_lines(
    card: str, axis: Axis, movers: tuple[_Mover, ...], missing: tuple[_Undeclared, ...]
) -> Iterator[CardLine]:
    def line(mover: _Mover) -> CardLine:
        return _stick_line(card, axis, mover)

    yield from _gathered(movers, line, axis, missing)


def _gathered(
    movers: Iterable[_Mover],
    line: Callable[[_Mover], CardLine],
    axis: Axis,
    missing: Iterable[_Undeclared],
) -> Iterator[CardLine]:
    """Yield what moves, what is to be written in, and then all that stays still in one line."""
    found = [line(mover) for mover in movers]
    yield from (each for each in found if each.must != STAY)
    for item in missing:
        if axis in item.axes:
            lacks = f"`{item.words}` under `surfaces`, with the servo that moves it"
            yield CardLine((item.words,), "", lacks)
    if not found:
        yield CardLine(("every surface",), "", "the surfaces, and the servos that move them")
    still = (name for each in found if each.must == STAY for name in each.subjects)
    yield from in_boxes(still, STAY)


def _stick_line(card: str, axis: Axis, mover: _Mover) -> CardLine:
    surface = mover.expected
    subjects = (mover.name,)
    if surface is not None:
        steered = surface.steered_in or (_steered_axes(surface.function) if surface.needs else ())
        if surface.needs and axis in steered:
            return CardLine(subjects, "", surface.needs[0].text)
        movement = _movement(surface.sticks, card)
        if movement is not None and movement.way is not None:
            return CardLine(subjects, movement.words)
    if axis in mover.mixed_in:
        return CardLine(subjects, "", "which way the mix is meant to move it on this card")
    return CardLine(subjects, STAY)


def _movement(movements: Iterable[ExpectedMovement], card: str) -> ExpectedMovement | None:
    return next((movement for movement in movements if movement.card == card), None)


def _hand(setup: Setup, movers: tuple[_Mover, ...], missing: tuple[_Undeclared, ...]) -> CardGroup:
    sensed = {axis for gyro in setup.of_kind("gyro") for axis in _senses(gyro.part)}
    cards: list[BenchCard] = []
    for name, (axis, _) in HAND_CARDS.items():
        unknown = missing if axis in sensed else ()
        lines = tuple(_hand_lines(name, axis, movers, unknown))
        do = (f"{_HAND_DO[name]}, and watch the first movement of each surface.",)
        cards.append(BenchCard(name, _title(name), do, lines))
    before = (*_hand_before(setup), *_assumed(movers))
    title = "Hand motions, gyro on"
    return CardGroup("hand motions", title, before, tuple(cards), (FOLLOW_RULE,))


def _senses(part: Part) -> tuple[Axis, ...]:
    return part.senses if part.kind == "gyro" else ()


def _hand_before(setup: Setup) -> Iterator[str]:
    yield "The sticks first: a test by hand is blind to a reversed stick."
    yield f"Gyro on{_in_mode(setup, 'on')}, its gain in every axis as high as it goes."
    yield "Hands off the sticks."
    yield (
        "Only the first movement counts: some gyros bring the surface back when the turn stops, "
        "others keep it deflected."
    )
    yield "Two people hold a large aircraft; nobody holds it by a surface."
    if len(setup.of_kind("gyro")) > 1:
        yield "Several gyros are declared: test one at a time, with the others off."


def _assumed(movers: Iterable[_Mover]) -> Iterator[str]:
    surfaces = [mover.expected for mover in movers if mover.expected is not None]
    names = [f"`{each.name}`" for each in surfaces if each.steadied_in and not each.declared]
    if names:
        yield (
            f"Not declared: `steadied-in` of {', '.join(names)}. What the gyro steadies there is "
            "taken from common practice."
        )


def _in_mode(setup: Setup, state: str) -> str:
    modes = [f"`{name}`" for name, mode in setup.modes.items() if mode.gyro == state]
    return f" (mode {' or '.join(modes)})" if modes else ""


def _hand_lines(
    card: str, axis: Axis, movers: tuple[_Mover, ...], missing: tuple[_Undeclared, ...]
) -> Iterator[CardLine]:
    def line(mover: _Mover) -> CardLine:
        return _hand_line(card, axis, mover)

    yield from _gathered(movers, line, axis, missing)


def _hand_line(card: str, axis: Axis, mover: _Mover) -> CardLine:
    surface = mover.expected
    if surface is None or axis not in surface.steadied_in:
        return CardLine((mover.name,), STAY)
    if surface.needs:
        return CardLine((mover.name,), "", surface.needs[0].text)
    movement = _movement(surface.hand, card)
    if movement is None or movement.way is None:
        return CardLine((mover.name,), STAY)
    return CardLine((mover.name,), movement.words)


def _gyro_off(setup: Setup, sticks: CardGroup) -> CardGroup:
    mode = _in_mode(setup, "off")
    lacks = "" if mode else " (not declared: a mode with `gyro: off`; use your own switch)"
    stick_lines = tuple(
        CardLine((card.name,), "every surface as on its own card")
        for card in sticks.cards
        if card.name in STICK_CARDS
    )
    hand_lines = tuple(CardLine((name,), "no surface moves") for name in HAND_CARDS)
    cards = (
        BenchCard(
            "gyro off sticks",
            "Gyro off: the sticks again",
            ("Move each stick each way, and compare with its card among the sticks.",),
            stick_lines,
        ),
        BenchCard(
            "gyro off by hand",
            "Gyro off: turn it by hand",
            ("Turn the airframe each way, as on the cards by hand. Hands off the sticks.",),
            hand_lines,
        ),
    )
    before = (f"Switch the gyro off{mode}{lacks}.",)
    return CardGroup("gyro off", "Gyro off", before, cards, (OFF_SWITCH,))


def _throttle_cards(aircraft: Aircraft) -> Iterator[BenchCard]:
    setup = aircraft.setup
    if setup.aircraft is not None and setup.aircraft.propulsion == "none":
        return
    throttles = [entry for entry in setup.channels.values() if is_throttle(entry, setup)]
    for name, opens in (("throttle stick back", False), ("throttle stick forward", True)):
        way = "Push the throttle stick fully forward" if opens else "Pull the throttle fully back"
        lines = [
            line for entry in throttles for line in _throttle_lines(aircraft, entry, opens=opens)
        ]
        if not throttles:
            lines.append(CardLine(("throttle",), "", "the channel that drives the throttle"))
        yield BenchCard(
            name,
            _title(name),
            (
                f"{way}, trim in the middle, throttle cut not in use.",
                READ_THE_PULSE,
            ),
            tuple(lines),
            cautions=("Engine made safe first, as above: this card moves the throttle.",),
        )


def _throttle_lines(aircraft: Aircraft, entry: ChannelEntry, *, opens: bool) -> Iterator[CardLine]:
    ends = aircraft.link_loss.throttle_ends(entry.number)
    if not ends:
        yield CardLine(("throttle",), "", "the way of the throttle channel to the engine")
    for end in ends:
        if end.device.kind == "engine-controller":
            yield from _controller_lines(aircraft.setup, end, opens=opens)
        else:
            yield CardLine((end.device.name,), f"throttle {'opens fully' if opens else 'closes'}")


def _controller_lines(setup: Setup, end: ChannelEnd, *, opens: bool) -> Iterator[CardLine]:
    engine = end.device
    learned = engine.device.learned or {}
    wanted = ("full",) if opens else ("stop", "idle")
    words = [f"{word} at {show_pulse(learned[word])}" for word in wanted if word in learned]
    lacks = "" if words else unlearned(engine).text
    subject = (f"pulse at {engine.name}",)
    yield CardLine(subject, ", or ".join(words), lacks, _by_declaration(setup, end, opens=opens))


def _by_declaration(setup: Setup, end: ChannelEnd, *, opens: bool) -> str:
    """Return what the declared channel gives there, and what the engine takes it for."""
    closed = closed_command(setup)
    if isinstance(closed, Need):
        return ""
    pulse = pulse_at(setup, end, -closed if opens else closed, None)
    if isinstance(pulse, Need):
        return ""
    taken = understood(end.device, pulse)
    means = "" if isinstance(taken, Need) else f", taken for {taken.words}"
    return f"the declared channel gives {show_pulse(pulse)}{means}"
