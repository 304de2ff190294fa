"""What a declared failsafe value means, and what an engine makes of it.

A share such as ``-100 %`` is a command of the channel, so reversal, travel and centre act on it as
they do on the stick. A pulse is what the box sends, whatever the channel is set to. The words
``neutral``, ``low`` and ``high`` are commands; ``stop`` and its like are the throttle stick closed.
"""

from collections.abc import Mapping
from itertools import pairwise
from typing import Final, Literal, NamedTuple

from holdshort.analysis.facts import Need
from holdshort.analysis.failsafes import is_throttle
from holdshort.analysis.pulses import HIGH, LOW, NEUTRAL, channel_pulse
from holdshort.setup import ChannelEntry, Fitted, Place, Setup
from holdshort.setup.quantities import PULSE, SHARE, QuantityType
from holdshort.setup.sections import FAILSAFE_WORDS

LEARNED_TOLERANCE: Final = 20e-6
"""How far a pulse may be from a learned one and still be taken for it, in seconds.

Common practice, no published source.
"""

SAME_PULSE: Final = 5e-6
"""Pulses that differ by no more, in seconds, are the same value (common practice, no source)."""

_ROUNDING: Final = 1e-9
"""A thousandth of a microsecond: what sums of floats may be off."""

_NO_POSITION: Final = frozenset({"hold", "no-pulse"})
CLOSED_WORDS: Final = frozenset({"stop", "low", "off", "closed"})
OPEN_WORDS: Final = frozenset({"high", "open"})
_COMMANDS: Final[Mapping[str, float]] = {"neutral": NEUTRAL, "low": LOW, "high": HIGH}
_SHARE: Final = QuantityType(SHARE, signed=True)
_PULSE: Final = QuantityType(PULSE)


class Command(NamedTuple):
    """A command of the channel, before reversal: -1 at the low end, +1 at the high end."""

    share: float


class RawPulse(NamedTuple):
    """A pulse as the box sends it, in seconds."""

    seconds: float


class Word(NamedTuple):
    """A word that stands for no pulse by itself: ``hold``, ``no-pulse``, ``idle``, ``down`` ..."""

    word: str


Meaning = Command | RawPulse | Word


class Understood(NamedTuple):
    """What an engine does on a pulse.

    ``share`` is the power from idle (or from stop, where no idle is learned) to full, from 0 to 1;
    None where there is no telling how much. ``closed`` is a throttle servo at the closed end.
    """

    kind: Literal["stop", "idle", "closed", "power", "hold"]
    share: float | None = None

    @property
    def words(self) -> str:
        """How messages say it: ``stop``, ``35 % power``."""
        if self.kind == "power":
            return "power" if self.share is None else f"{self.share:.0%} power".replace("%", " %")
        return {"hold": "the power it had", "closed": "throttle closed"}.get(self.kind, self.kind)


def meaning(setup: Setup, entry: ChannelEntry, action: str) -> Meaning | Need:
    """Return what ``action`` means for a channel, or what is missing to know it."""
    if action not in FAILSAFE_WORDS:
        if action.endswith("%"):
            return Command(float(_SHARE.read(action)))
        return RawPulse(float(_PULSE.read(action)))
    if is_throttle(entry, setup) and action in CLOSED_WORDS | OPEN_WORDS:
        closed = closed_command(setup)
        if isinstance(closed, Need):
            return closed
        return Command(closed if action in CLOSED_WORDS else -closed)
    command = _COMMANDS.get(action)
    return Word(action) if command is None else Command(command)


def same_value(setup: Setup, entry: ChannelEntry, one: str, other: str) -> bool | Need:
    """Tell whether two declared values mean the same for a channel, or what is missing to tell."""
    if one == other:
        return True
    meant = [meaning(setup, entry, action) for action in (one, other)]
    if all(isinstance(found, Command | Word) for found in meant) and type(meant[0]) is type(
        meant[1]
    ):
        return meant[0] == meant[1]
    if {one, other} & _NO_POSITION:
        return False
    pulses: list[float] = []
    for found in meant:
        pulse = _own_pulse(setup, entry, found)
        if isinstance(pulse, Need):
            return pulse
        pulses.append(pulse)
    return abs(pulses[0] - pulses[1]) <= SAME_PULSE + _ROUNDING


def _own_pulse(setup: Setup, entry: ChannelEntry, meant: Meaning | Need) -> float | Need:
    """Return the pulse that a meaning gives straight from the receiver, in seconds."""
    if isinstance(meant, Command):
        return channel_pulse(setup, entry.number, meant.share)
    if isinstance(meant, RawPulse):
        return meant.seconds
    if isinstance(meant, Word):
        text = f"channel {entry.number} declared in the same way on both, not as `{meant.word}`"
        return Need(entry.place, f"{text} on one and a figure on the other")
    return meant


def closed_command(setup: Setup) -> float | Need:
    """Return the command of the closed throttle stick: -1 or +1, or what is missing to know it."""
    sense = (setup.radio.sense or {}).get("throttle")
    if sense is None:
        return Need(
            setup.place("radio", "sense"),
            "what the throttle stick forward gives, a longer or a shorter pulse "
            "(`sense: {throttle: longer}`)",
        )
    return LOW if sense == "longer" else HIGH


def learned_pulse(engine: Fitted, name: Literal["stop", "idle", "full"]) -> float | Need:
    """Return a pulse that an engine controller has learned, in seconds, or what is missing."""
    learned = engine.device.learned or {}
    if name in learned:
        return float(learned[name])
    return Need(learned_place(engine), f"the pulse that `{engine.name}` has learned as {name}")


def learned_place(engine: Fitted) -> Place:
    """Return the place where the learned pulses of an engine controller stand, or should."""
    return engine.at("learned") if engine.device.learned else engine.at()


def unlearned(engine: Fitted) -> Need:
    """Return what is missing where an engine controller has no learned pulses declared."""
    return Need(engine.at(), f"the pulses that `{engine.name}` has `learned`: stop, idle, full")


def understood(engine: Fitted, pulse: float) -> Understood | Need:
    """Return what an engine controller takes ``pulse`` (seconds) for, after what it has learned.

    At a learned stop, or beyond it, the engine stops; from there to a learned idle it idles; past
    idle the power rises in proportion to full.
    """
    learned = _learned(engine)
    if not learned:
        return unlearned(engine)
    if not _in_one_order(learned):
        return Need(
            engine.at("learned"),
            f"learned pulses of `{engine.name}` that run one way from stop over idle to full",
        )
    return _taken_for(engine, learned, pulse)


def _learned(engine: Fitted) -> Mapping[str, float]:
    declared = engine.device.learned
    return {} if declared is None else {name: float(pulse) for name, pulse in declared.items()}


def _in_one_order(learned: Mapping[str, float]) -> bool:
    found = [learned[name] for name in ("stop", "idle", "full") if name in learned]
    steps = [after - before for before, after in pairwise(found)]
    return not steps or all(step > 0 for step in steps) or all(step < 0 for step in steps)


def _taken_for(engine: Fitted, learned: Mapping[str, float], pulse: float) -> Understood | Need:
    """Judge ``pulse`` where the learned pulses run one way; a lone one tells only itself."""
    for kind in ("stop", "idle"):
        if kind in learned and abs(pulse - learned[kind]) <= LEARNED_TOLERANCE + _ROUNDING:
            return Understood("stop" if kind == "stop" else "idle")
    stop, idle, full = (learned.get(name) for name in ("stop", "idle", "full"))
    values = [learned[name] for name in ("stop", "idle", "full") if name in learned]
    if len(values) == 1:
        missing: Literal["stop", "full"] = "stop" if full is not None else "full"
        return _not_learned(engine, missing)
    sign = 1.0 if values[-1] > values[0] else -1.0
    if stop is not None and sign * (pulse - stop) < 0:
        return Understood("stop")
    if idle is not None and sign * (pulse - idle) < 0:
        return Understood("idle") if stop is not None else _not_learned(engine, "stop")
    if full is None:
        return Understood("power")
    start = idle if idle is not None else values[0]
    return Understood("power", min(1.0, (pulse - start) / (full - start)))


def _not_learned(engine: Fitted, name: Literal["stop", "full"]) -> Need:
    return Need(learned_place(engine), f"the pulse that `{engine.name}` has learned as {name}")
