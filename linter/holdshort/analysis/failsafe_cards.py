"""The bench cards of the failsafe: the transmitter off, and each receiver alone hearing nothing.

What each channel must do is what is declared (:mod:`holdshort.analysis.link_loss`); what the codes
that the aircraft follows ask of the engine comes in the words of the rule packs.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from holdshort.analysis.aircraft import Aircraft
from holdshort.analysis.bench_cards import (
    BenchCard,
    CardGroup,
    CardLine,
    CardSource,
    LeftOut,
    in_boxes,
)
from holdshort.analysis.channel_ends import ChannelEnd
from holdshort.analysis.code_words import CodeSaying, CodeWords, sayings, unknown_codes
from holdshort.analysis.direction_cards import READ_THE_PULSE
from holdshort.analysis.facts import Need
from holdshort.analysis.failsafes import is_throttle
from holdshort.analysis.link_loss import Deflection, LinkLoss, LossCase, Output
from holdshort.analysis.pulses import show_pulse, show_share
from holdshort.analysis.senses import expected_movements
from holdshort.analysis.surface_motion import MovingPart
from holdshort.setup import ChannelEntry, Setup
from holdshort.setup.sections import FAILSAFE_WORDS

BEFORE_EACH_FLIGHT: Final = CardSource(
    "UK club procedure: engine stopped, transmitter off, every control goes to its set position; "
    "on again, control is back in a few seconds; a slow return: do not fly",
    "read second-hand",
)
ENGINE_RUNNING: Final = CardSource(
    "Australian notice: members are urged to test with the engine running, the model restrained, "
    "where a power or signal distribution unit is fitted",
    "read second-hand",
)
REVERSED_THROTTLE: Final = CardSource(
    "Australian notice: a large model destroyed; witnesses concluded that a unit on the way "
    "reversed the throttle in failsafe",
    "read second-hand",
)
RIGHT_MEMORY: Final = CardSource(
    "Australian procedure: the right model memory is confirmed first", "read second-hand"
)
ALL_LINKS: Final = CardSource(
    "trade: redundant receivers go to failsafe only when all links are lost; all carry the same "
    "values",
    "common practice",
)

_AGAIN: Final = (
    "After every change of a failsafe value, receiver, distribution unit or throttle direction, "
    "follow these cards again."
)
_STICKS_AWAY: Final = (
    "Hold every stick well away from neutral, so that a control that only stays where it was "
    "shows; the throttle too, but never with the engine able to run."
)
_LET_IT_HEAR_NOTHING: Final = (
    "Keep `{}` powered and let it hear nothing while the others listen: switch its link off in the "
    "transmitter, or screen its aerials."
)
_RUNNING: Final = (
    "Only after all cards before this one. Nobody in the plane of a propeller or rotor, in front "
    "of an intake or behind a tail pipe; an extinguisher that suits the engine at hand; a helper "
    "who can stop the engine without the radio."
)
_RECOVERY: Final = CardLine(
    ("transmitter on again",),
    "control is back in a few seconds",
    note="a slow return: do not fly",
)
_STOPPED: Final = frozenset({"stop", "idle", "off", "closed"})
_SHAPE_WORDS: Final = frozenset(FAILSAFE_WORDS) - {"hold", "no-pulse", "low", "high"}
"""Words that say by themselves where a surface or device goes."""


def failsafe_cards(
    aircraft: Aircraft, codes: Sequence[CodeWords]
) -> tuple[list[CardGroup], list[LeftOut]]:
    """Return the group of failsafe cards; it is left out where no receiver is declared."""
    setup = aircraft.setup
    receivers = setup.of_kind("receiver")
    if not receivers:
        return [], [LeftOut("failsafe", "no receiver is declared")]
    asked = tuple(sayings(codes, setup.follows, _propulsion(setup)))
    writer = _Writer(aircraft, asked)
    cards = [writer.transmitter_off()]
    cards += [writer.deaf(box.name) for box in receivers] if len(receivers) > 1 else []
    if _propulsion(setup) != "none":
        cards.append(writer.running())
    before = (
        _AGAIN,
        _STICKS_AWAY,
        *writer.code_words(unknown_codes(codes, setup.follows)),
    )
    sources = (BEFORE_EACH_FLIGHT, RIGHT_MEMORY, ALL_LINKS, ENGINE_RUNNING, REVERSED_THROTTLE)
    return [CardGroup("failsafe", "Failsafe", before, tuple(cards), sources)], []


def _propulsion(setup: Setup) -> str | None:
    return setup.aircraft.propulsion if setup.aircraft else None


class _Writer:
    """Writes the cards of one aircraft."""

    def __init__(self, aircraft: Aircraft, asked: tuple[CodeSaying, ...]) -> None:
        self.aircraft = aircraft
        self.setup: Setup = aircraft.setup
        self.loss: LinkLoss = aircraft.link_loss
        self.asked = asked
        self.parts: dict[str, MovingPart] = {
            surface.name: surface.part
            for surface in expected_movements(self.setup)
            if surface.part is not None
        }

    def transmitter_off(self) -> BenchCard:
        case = self.loss.all_lost
        return BenchCard(
            "transmitter off",
            "Transmitter off",
            (
                "Engine made safe. This aircraft's model memory selected.",
                "Switch the transmitter off, and start a watch at the same moment.",
                *([READ_THE_PULSE] if self._numbers() else []),
                "When all is read, switch it on again and count the seconds.",
            ),
            (*self._channels(case), *self._times(case), _RECOVERY),
        )

    def deaf(self, name: str) -> BenchCard:
        """Return the card on which one receiver alone hears nothing."""
        case = LossCase(f"receiver {name}", f"`{name}` alone hears nothing", frozenset({name}))
        return BenchCard(
            f"receiver {name} deaf",
            f"Only `{name}` hears nothing",
            (
                "Engine made safe.",
                _LET_IT_HEAR_NOTHING.format(name),
                "Move every stick, and see what follows it.",
            ),
            (*self._following(case), *self._channels(case), _RECOVERY),
            notes=("Where it cannot be done on your radio, write that down instead of ticking.",),
        )

    def running(self) -> BenchCard:
        """Return the card with the engine running."""
        case = self.loss.all_lost
        ends = [end for number in self._numbers() for end in self.loss.throttle_ends(number)]
        lines = [self._engine_line(end, case) for end in ends]
        if not lines:
            lines = [CardLine(("engine",), "stop or idle", "the way of the throttle channel")]
        still = CardLine(("surfaces",), "the same positions as with the engine stopped")
        return BenchCard(
            "transmitter off engine running",
            "Transmitter off, engine running",
            (
                "Aircraft held back, engine a little above idle.",
                "Switch the transmitter off, and time the engine.",
            ),
            (*lines, *self._times(case), still, _RECOVERY),
            cautions=(_RUNNING,),
        )

    def _numbers(self) -> list[int]:
        return [n for n, entry in self.setup.channels.items() if is_throttle(entry, self.setup)]

    def _channels(self, case: LossCase) -> Iterator[CardLine]:
        ends = self.loss.ends
        for number, entry in self.setup.channels.items():
            own = [end for end in ends if end.channel == number]
            if not own:
                yield from self._endless(entry, case)
            for end in own:
                yield from self._end(end, entry, case)
        if not self.setup.channels:
            yield CardLine(("every channel",), "", "the channels of the radio")

    def _endless(self, entry: ChannelEntry, case: LossCase) -> Iterator[CardLine]:
        """Yield what is declared for a channel that no declared lead brings to a device."""
        if case.id != self.loss.all_lost.id:
            return
        receivers = [box.name for box in self.setup.of_kind("receiver")]
        found = dict.fromkeys(self.loss.declared(name, entry)[0] for name in receivers)
        for action in found:
            lacks = "" if action else f"what the receivers do with channel {entry.number}"
            must = f"as set: `{action}`" if action else ""
            if is_throttle(entry, self.setup) and action not in _STOPPED:
                must = "stop or idle"
            yield CardLine(
                (_channel(entry),), must, lacks, "no declared lead brings it to a device"
            )

    def _end(self, end: ChannelEnd, entry: ChannelEntry, case: LossCase) -> Iterator[CardLine]:
        outputs = [output for output in self.loss.outputs(end, case) if not output.works]
        if any(output.engine is not None for output in outputs):
            yield self._engine_line(end, case)
            return
        found: dict[tuple[str, str], list[str]] = {}
        for output in outputs:
            found.setdefault(self._position(end, entry, output), []).append(output.decider)
        for (must, lacks), deciders in found.items():
            note = f"where {' or '.join(deciders)} decides" if len(found) > 1 else ""
            yield CardLine((f"{_channel(entry)} ({end.device.name})",), must, lacks, note)

    def _position(self, end: ChannelEnd, entry: ChannelEntry, output: Output) -> tuple[str, str]:
        """Return where a device must go, or nothing and what is missing to say it."""
        action = output.action
        if action is None:
            return "", f"what `{output.decider}` does with channel {entry.number}"
        if action == "hold":
            return "stays where it was", ""
        if action == "no-pulse":
            return "", f"what `{end.device.name}` does when it gets no pulse"
        stands = [self._stand(found) for found in output.deflections]
        if stands and all(stands):
            return ", ".join(dict.fromkeys(stands)), ""
        if action in _SHAPE_WORDS:
            return action, ""
        if isinstance(output.pulse, Need):
            return "", output.pulse.text
        return "", f"which way `{end.device.name}` goes on `{action}`"

    def _stand(self, found: Deflection) -> str:
        if not found.share:
            return "neutral"
        if not found.toward:
            return ""
        part = self.parts.get(found.surface)
        phrase = part.phrase if part else "trailing edge {}"
        words = phrase.format(found.toward)
        return f"{words}, {show_share(found.share)} of its travel"

    def _engine_line(self, end: ChannelEnd, case: LossCase) -> CardLine:
        """Return where the engine must go; what is declared is told beside it, right or wrong."""
        subjects = (f"engine ({end.device.name})",)
        outputs = [output for output in self.loss.outputs(end, case) if not output.works]
        kinds: dict[str, None] = {}
        for output in outputs:
            if output.action is None:
                return CardLine(subjects, "stop or idle", f"what `{output.decider}` does with it")
            if isinstance(output.engine, Need):
                return CardLine(subjects, "stop or idle", output.engine.text)
            if output.engine is not None:
                kinds[output.engine.words] = None
        declared = " or ".join(kinds)
        if kinds and kinds.keys() <= {"stop", "idle", "throttle closed"}:
            return CardLine(subjects, declared, note=_pulses(outputs))
        note = f"by what is declared: {declared}. Put that right first" if declared else ""
        return CardLine(subjects, "stop or idle", note=note)

    def _times(self, case: LossCase) -> Iterator[CardLine]:
        """Yield a line for each limit of time, or one to write the time in, for each engine."""
        ends = [end for number in self._numbers() for end in self.loss.throttle_ends(number)]
        for end in ends:
            time = self.loss.time(end, case)
            waits = " + ".join(part.text for part in time.parts)
            least = " at least" if time.needs else ""
            note = f"declared waits: {waits}{least}" if waits else ""
            yield from self._time_lines(end.device.name, note)
        if not ends and _propulsion(self.setup) != "none":
            yield from self._time_lines("the engine", "")

    def _time_lines(self, engine: str, note: str) -> Iterator[CardLine]:
        subject = (f"time until {engine} has acted",)
        limits = [saying for saying in self.asked if saying.line.seconds is not None]
        for saying in limits:
            seconds = f"{saying.line.seconds:g} s"
            must = f"within {seconds} from {saying.line.clock} ({saying.title})"
            yield CardLine(subject, must, note=note)
        if not limits:
            yield CardLine(subject, "", "a followed code that gives a time in seconds", note)

    def code_words(self, unknown: Iterable[str]) -> Iterator[str]:
        """Yield what the followed codes ask, in their packs' words, and what is not known."""
        for saying in self.asked:
            line = saying.line
            source = f" Source: {line.source} ({line.confidence})." if line.source else ""
            yield f"{_capital(saying.title)}: {line.words}.{source}"
        for name in unknown:
            yield f"What `{name}` asks is not known: no installed rule pack tells it."
        if not self.setup.follows:
            yield "Not declared: the code that is followed (`follows`)."
        if _propulsion(self.setup) is None:
            yield "Not declared: the `propulsion`, so what codes ask of every engine is listed."

    def _following(self, case: LossCase) -> Iterator[CardLine]:
        ends = [end for end in self.loss.ends if end.channel in self.setup.channels]
        works = [
            end for end in ends if any(output.works for output in self.loss.outputs(end, case))
        ]
        if ends and len(works) == len(ends):
            yield CardLine(("everything",), "follows the sticks as before")
        elif works:
            names = dict.fromkeys(end.device.name for end in works)
            yield from in_boxes(names, "follow the transmitter as before")


def _channel(entry: ChannelEntry) -> str:
    return f"{entry.number} {', '.join(entry.channel.drives)}"


def _pulses(outputs: Iterable[Output]) -> str:
    """Return the pulses that come to an engine, in words, where they are known."""
    found = {output.pulse: None for output in outputs if isinstance(output.pulse, float)}
    return " or ".join(show_pulse(pulse) for pulse in found)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
