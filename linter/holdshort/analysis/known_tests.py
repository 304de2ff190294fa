"""The tests that are signed for: what each proves, its place in the order, what it unlocks.

The order is that of re-equipping a large model, step by step (``step``); each test names the
earlier ones that it rests on. What a test proves is chosen by :class:`Chosen` from the stated facts
(:mod:`holdshort.analysis.stated`) and from what follows from them
(:mod:`holdshort.analysis.outcomes`). ``source`` is the row of the trade's rules from which a test's
reason comes.
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Final, Literal, NamedTuple

from holdshort.analysis.known_test_conditions import CONDITIONS
from holdshort.analysis.stated import Facts, Subject, is_setting
from holdshort.setup.quantities import (
    CURRENT,
    DAYS,
    DISTANCE,
    DURATION,
    HEADINGS,
    PACE,
    VOLTAGE,
    QuantityType,
)

if TYPE_CHECKING:
    from holdshort.analysis.aircraft import Aircraft

HoldWord = Literal["power-up", "engine-run", "flight"]

COUNTED: Final = (HEADINGS, DAYS)
"""Dimensions that are counts: a number alone is understood."""


class Figure(NamedTuple):
    """A figure that a test asks for.

    ``low`` and ``high`` (SI) are what it can be at all: outside, it was misread or mistyped.
    """

    name: str
    text: str
    kind: QuantityType
    low: float
    high: float
    required: bool = False


class Chosen(NamedTuple):
    """Facts that a test proves: of all subjects of ``names`` or ``topics``, these ``aspects``.

    Names and aspects may end in ``*``. Where ``where`` is given, only subjects of which that aspect
    holds one of the words; ``but`` are aspects left out.
    """

    names: tuple[str, ...] = ()
    aspects: tuple[str, ...] = ("*",)
    where: tuple[str, tuple[str, ...]] | None = None
    topics: tuple[str, ...] = ()
    but: tuple[str, ...] = ()

    def takes(self, subject: Subject, facts: Mapping[str, str]) -> bool:
        """Tell whether facts of this subject are among those chosen."""
        if subject.topic not in self.topics and not _fits(subject.name, self.names):
            return False
        if self.where is None:
            return True
        text = facts.get(self.where[0], "")
        return any(word in text for word in self.where[1])

    def of(self, facts: Mapping[str, str]) -> Iterator[tuple[str, str]]:
        """Yield the aspects chosen of one subject, settings only, with their texts."""
        for aspect, text in facts.items():
            if is_setting(aspect) and _fits(aspect, self.aspects) and not _fits(aspect, self.but):
                yield aspect, text


def _fits(text: str, patterns: Iterable[str]) -> bool:
    return any(
        text.startswith(pattern[:-1]) if pattern.endswith("*") else text == pattern
        for pattern in patterns
    )


class KnownTest(NamedTuple):
    """One test.

    ``step`` is where it stands in the order of the work; ``after`` are tests that must have been
    passed by then; ``before`` is what may not happen until it is passed. ``applies`` names a
    condition. ``second`` is true where a second person must watch. ``day_of_flying`` is true where
    it is done anew on each day of flying, ``every`` how many days it is good for otherwise.
    ``cards`` are the bench cards it takes: names, or their beginnings with ``*``. ``reason`` says
    why it is done and ``source`` is the row it comes from. ``club`` is true for a club's own.
    """

    name: str
    title: str
    step: int
    before: HoldWord
    reason: str
    source: str
    proves: tuple[Chosen, ...]
    after: tuple[str, ...] = ()
    applies: str = "always"
    figures: tuple[Figure, ...] = ()
    cards: tuple[str, ...] = ()
    second: bool = False
    day_of_flying: bool = False
    every: int | None = None
    club: bool = False

    def takes_card(self, card: str) -> bool:
        """Tell whether a bench card is one that this test takes."""
        return _fits(card, self.cards)

    def why_not(self, aircraft: "Aircraft") -> str:
        """Say why this test does not apply to ``aircraft``; empty where it does."""
        return CONDITIONS[self.applies](aircraft)


def chosen(facts: Facts, choices: Iterable[Chosen]) -> dict[str, dict[str, str]]:
    """Return the facts that ``choices`` take of ``facts``: by subject's name and aspect."""
    several = tuple(choices)
    found: dict[str, dict[str, str]] = {}
    for subject, aspects in facts.items():
        taken = {
            aspect: text
            for choice in several
            if choice.takes(subject, aspects)
            for aspect, text in choice.of(aspects)
        }
        if taken:
            found[subject.name] = dict(sorted(taken.items()))
    return found


_THROTTLE: Final = ("functions", ("throttle",))
_STEADIED: Final = ("steadied", ("yes",))
_GYRO_CHANNEL: Final = ("functions", ("gyro",))
_CHANNEL: Final = ("channel *",)
_WAY: Final = ("way of channel *",)
_DEVICE: Final = ("device *",)
_PART: Final = ("part *",)
_A_GYRO: Final = ("kind", ("gyro",))
_A_BOX: Final = ("kind", ("distribution", "hub", "gyro"))
_A_RECEIVER: Final = ("kind", ("receiver",))
_AN_ENGINE: Final = ("kind", ("engine-controller", "pump", "valve"))
_A_SERVO: Final = ("kind", ("servo",))
_ON_THE_WAY: Final = ("kind", (*_A_RECEIVER[1], *_A_BOX[1], *_A_SERVO[1]))
_BRAKE_CHANNEL: Final = ("functions", ("brake",))
_FUEL_CHANNEL: Final = ("functions", ("fuel", "stop"))

_WAYS: Final = Chosen(_WAY, ("to *",))
_MIXES: Final = (Chosen(("radio",), ("mix*",)), Chosen(_DEVICE, ("mix*",), _A_BOX))
_BUSES: Final = Chosen(("lead *",), ("joins",), ("joins", ("bus-out", "bus-in")))
_ENGINE: Final = (
    Chosen(_CHANNEL, ("*",), _THROTTLE, but=("steadied", "functions")),
    Chosen(_WAY, ("to *",), _THROTTLE),
    Chosen(("radio",), ("throttle cut", "pulse*", "sense throttle")),
    Chosen(_DEVICE, ("kind", "part", "learned*"), _AN_ENGINE),
    Chosen(_PART, ("pulse*",), _AN_ENGINE),
)
_FUEL: Final = (
    Chosen(_CHANNEL, ("drives", "reversed", "travel"), _FUEL_CHANNEL),
    Chosen(_WAY, ("to *",), _FUEL_CHANNEL),
)
_BRAKES: Final = (
    Chosen(_CHANNEL, ("drives", "reversed", "travel"), _BRAKE_CHANNEL),
    Chosen(_WAY, ("to *",), _BRAKE_CHANNEL),
    Chosen(_DEVICE, ("part",), ("kind", ("brake",))),
)
_FAILSAFE: Final = (
    Chosen(topics=("failsafe",)),
    Chosen(_CHANNEL, ("drives", "travel", "centre", "reversed", "trim")),
    Chosen(("radio",), ("pulse*", "sense*", "transmitter")),
    Chosen(("link *",)),
    Chosen(_DEVICE, ("part", "backs up"), _A_RECEIVER),
    Chosen(_DEVICE, ("part",), _A_BOX),
    Chosen(_DEVICE, ("kind", "part", "learned*"), _AN_ENGINE),
    Chosen(_PART, ("on signal loss", "delay"), _AN_ENGINE),
    _BUSES,
    _WAYS,
)
_POWER: Final = (
    Chosen(topics=("power",), but=("alarm*", "kind", "mass")),
    Chosen(_DEVICE, ("part", "output")),
    Chosen(
        _PART,
        ("voltage*", "draws*", "ratings*", "brown out", "idle current", "cruise current",
         "output*", "contact*", "resistance"),
    ),
    Chosen(
        ("lead *",),
        ("carries", "joins", "wire", "length", "extension", "connector*"),
        ("carries", ("power",)),
    ),
)  # fmt: skip
_GYRO: Final = (
    Chosen(_DEVICE, ("kind", "part", "mounting*", "told*", "directions*", "mix*"), _A_GYRO),
    Chosen(_PART, ("senses", "correction", "normal gives*"), _A_GYRO),
    Chosen(_CHANNEL, ("drives", "centre", "travel", "reversed"), _STEADIED),
    Chosen(_WAY, ("to *",), _STEADIED),
)
_RADIO_GEAR: Final = (
    Chosen(topics=("aerials",)),
    Chosen(("place of *",), ("at",), ("kind", ("receiver", "battery"))),
    Chosen(_DEVICE, ("part",), _A_RECEIVER),
    Chosen(("radio",), ("transmitter", "frame rate")),
    Chosen(("link *",)),
)
# What figures can be at all is common practice, no source.
_TIME: Final = Figure(
    "time", "from switching off to the engine's action", QuantityType(DURATION), 0.02, 60.0
)
_LOWEST: Final = Figure(
    "lowest voltage", "the lowest that showed at a receiver", QuantityType(VOLTAGE), 2.0, 60.0
)
_RANGE_FIGURES: Final = (
    Figure(
        "distance", "how far away it worked", QuantityType(DISTANCE), PACE, 3000.0, required=True
    ),
    Figure(
        "headings", "how many ways it was turned", QuantityType(HEADINGS), 1.0, 36.0, required=True
    ),
)

KNOWN_TESTS: Final = (
    KnownTest(
        "centres",
        "Every servo at neutral stands where it must, set by mechanics",
        5,
        "flight",
        "a trimmed centre eats travel and later shifts gyro and failsafe",
        "S1",
        (
            Chosen(_CHANNEL, ("drives", "centre", "trim")),
            Chosen(("surface *",), ("servo", "linkage*")),
            Chosen(("radio",), ("pulse centre",)),
            Chosen(_DEVICE, ("part",), _A_SERVO),
            Chosen(_PART, ("pulse centre",), _A_SERVO),
            _WAYS,
        ),
        applies="channels",
    ),
    KnownTest(
        "directions",
        "Each stick moves each surface the right way, read out loud by a second person",
        7,
        "flight",
        "the only check that finds a double reverse",
        "G7",
        (
            Chosen(_CHANNEL, ("drives", "reversed")),
            Chosen(
                ("surface *",),
                ("servo", "function", "side", "longer pulse", "mirrored", "linkage pushes"),
            ),
            Chosen(("radio",), ("sense*",)),
            Chosen(_DEVICE, ("part",), _ON_THE_WAY),
            *_MIXES,
            _WAYS,
        ),
        after=("centres",),
        applies="channels",
        cards=("aileron stick *", "elevator stick *", "rudder stick *"),
        second=True,
    ),
    KnownTest(
        "travels",
        "Travels as designed, and no bind at any combination of sticks, trims and mixes",
        8,
        "flight",
        "gyro and failsafe use these end points, and a stalled servo draws its full current",
        "G9",
        (
            Chosen(_CHANNEL, ("drives", "travel", "slow", "centre", "reversed")),
            Chosen(("mode *",), ("travel*",)),
            Chosen(("surface *",), but=("steadied in", "loads*")),
            Chosen(("radio",), ("pulse*",)),
            Chosen(_DEVICE, ("part",), _A_SERVO),
            Chosen(_PART, ("pulse*",), _A_SERVO),
            *_MIXES,
            _WAYS,
        ),
        after=("directions",),
        applies="channels",
        cards=("surfaces held by hand",),
    ),
    KnownTest(
        "throttle range",
        "Throttle range, trim and cut set, and the engine controller taught",
        9,
        "engine-run",
        "the failsafe value must lie inside a known range",
        "part-e",
        _ENGINE,
        after=("directions",),
        applies="engine",
        cards=("throttle stick *",),
    ),
    KnownTest(
        "gyro taught",
        "Mounting told, and travels and centres learned, after the last change to them",
        10,
        "flight",
        "a gyro that learned earlier holds the wrong limits",
        "G30",
        _GYRO,
        after=("travels",),
        applies="gyro that learns",
    ),
    KnownTest(
        "gyro correction",
        "Turned by hand each way in each axis, the trailing edge follows the motion",
        11,
        "flight",
        "a correction of the wrong sign adds to the turn instead of opposing it",
        "G24",
        (
            *_GYRO,
            Chosen(
                ("surface *",),
                ("servo", "function", "side", "longer pulse", "mirrored", "steadied in"),
                ("steadied in", ("roll", "pitch", "yaw")),
            ),
            Chosen(_CHANNEL, ("drives", "reversed"), _GYRO_CHANNEL),
        ),
        after=("directions", "gyro taught"),
        applies="gyro",
        cards=("roll *", "nose *"),
        second=True,
    ),
    KnownTest(
        "gyro off",
        "Gyro switched off: no surface moves by hand, every stick works",
        11,
        "flight",
        "a stabiliser that fails must be switched off by the pilot",
        "G15",
        (
            Chosen(("mode *",), ("gyro",)),
            Chosen(_CHANNEL, ("drives", "travel", "centre", "trim", "reversed"), _GYRO_CHANNEL),
            Chosen(_WAY, ("to *",), _GYRO_CHANNEL),
            Chosen(_DEVICE, ("part",), _A_GYRO),
        ),
        after=("gyro correction",),
        applies="gyro",
        cards=("gyro off *",),
    ),
    KnownTest(
        "failsafe",
        "Transmitter off, engine cold: every control goes to its set place, and comes back",
        14,
        "engine-run",
        "set values have been found reversed, held or never stored",
        "F22",
        _FAILSAFE,
        after=("travels", "throttle range", "gyro off"),
        applies="receiver",
        figures=(
            _TIME,
            Figure("recovery", "from switching on to control", QuantityType(DURATION), 0.0, 60.0),
        ),
        cards=("transmitter off",),
        day_of_flying=True,
    ),
    KnownTest(
        "failsafe of each receiver",
        "Each receiver alone hears nothing: what it decides goes to its set place",
        14,
        "engine-run",
        "every receiver carries its own values, and each may decide",
        "F30",
        _FAILSAFE,
        after=("failsafe",),
        applies="several receivers",
        cards=("receiver *",),
    ),
    KnownTest(
        "receiver switch-over",
        "One link off at a time: control goes on without a jump",
        14,
        "flight",
        "a second receiver that was never seen to take over is no second receiver",
        "F30",
        (
            Chosen(("link *",)),
            Chosen(_DEVICE, ("part", "backs up", "frame rate"), _A_RECEIVER),
            Chosen(_DEVICE, ("part",), _A_BOX),
            Chosen(_CHANNEL, ("drives",)),
            Chosen(("radio",), ("transmitter",)),
            _BUSES,
            _WAYS,
        ),
        after=("failsafe of each receiver",),
        applies="several receivers",
    ),
    KnownTest(
        "voltage under load",
        "All servos moving together, voltage watched at the receivers",
        15,
        "flight",
        "a receiver that resets in the air has no control until it is back",
        "P39",
        _POWER,
        after=("travels",),
        applies="power",
        figures=(_LOWEST._replace(required=True),),
    ),
    KnownTest(
        "each supply alone",
        "Each pack alone carries all servos moving; each feed switched off in turn",
        15,
        "flight",
        "two feeds are two only where either carries everything",
        "P37",
        _POWER,
        after=("voltage under load",),
        applies="several packs",
        figures=(_LOWEST,),
    ),
    KnownTest(
        "telemetry alarms",
        "Every telemetry alarm made to sound once, every sensor missed once",
        15,
        "flight",
        "a low-voltage warning that was set wrong has been followed by lost control",
        "P24",
        (
            Chosen(topics=("telemetry",)),
            Chosen(_DEVICE, ("part",), _A_RECEIVER),
            Chosen(("radio",), ("transmitter",)),
            Chosen(("link *",)),
            Chosen(("lead *",), ("joins",), ("joins", ("data",))),
        ),
        applies="alarms",
        cards=("telemetry alarms",),
    ),
    KnownTest(
        "balance",
        "Weighed and balanced: without fuel and at take-off, gear up and down",
        16,
        "flight",
        "outside its range the aircraft may not be flyable, whatever else is right",
        "B7",
        (
            Chosen(topics=("balance",), but=("ballast *", "movable *")),
            Chosen(("aircraft",), ("mass*", "fuel")),
            Chosen(("place of *",), ("at", "mass")),
            Chosen(_DEVICE, ("part",)),
            Chosen(_PART, ("mass",)),
        ),
        cards=("weigh and balance",),
    ),
    KnownTest(
        "range check engine off",
        "Range check with the engine off, at range-test power, from every side",
        17,
        "engine-run",
        "the radio as it is fitted now, its aerials where they are now",
        "R3",
        _RADIO_GEAR,
        after=(
            "failsafe",
            "receiver switch-over",
            "each supply alone",
            "voltage under load",
            "balance",
        ),
        applies="receiver",
        figures=_RANGE_FIGURES,
        cards=("range check engine off",),
        day_of_flying=True,
    ),
    KnownTest(
        "fuel valve",
        "The fuel valve stops the flow, by hand or by switch",
        18,
        "engine-run",
        "fuel must be stopped where the controller no longer does it",
        "T5",
        (
            Chosen(("aircraft",), ("propulsion",)),
            Chosen(_DEVICE, ("part", "port *"), _AN_ENGINE),
            *_FUEL,
        ),
        applies="fuel valve",
    ),
    KnownTest(
        "extinguisher ready",
        "An extinguisher that suits a turbine, no powder, within reach; a second kind ready",
        18,
        "engine-run",
        "a wet start burns before anybody has walked to the car",
        "T1",
        (Chosen(("aircraft",), ("propulsion",)),),
        applies="turbine",
        day_of_flying=True,
    ),
    KnownTest(
        "engine run",
        "Restrained, idle to full: surfaces watched for jitter, brakes hold",
        19,
        "flight",
        "noise and vibration of the engine show in the controls first",
        "R9",
        (*_ENGINE, *_BRAKES, Chosen(("aircraft",), ("propulsion",))),
        after=(
            "throttle range",
            "failsafe",
            "range check engine off",
            "fuel valve",
            "extinguisher ready",
        ),
        applies="engine",
        figures=(Figure("current", "drawn at full power", QuantityType(CURRENT), 0.01, 1000.0),),
    ),
    KnownTest(
        "both shut-downs",
        "The engine stops by the transmitter, and by the means that needs no radio",
        19,
        "flight",
        "one way to stop it is none when that way fails",
        "T6",
        (*_ENGINE, *_FUEL, Chosen(("aircraft",), ("propulsion",))),
        after=("engine run",),
        applies="engine",
    ),
    KnownTest(
        "range check engine running",
        "The range check again, at idle and at full power",
        20,
        "flight",
        "loss or judder that comes with the engine is noise or vibration",
        "R8",
        (
            *_RADIO_GEAR,
            Chosen(("aircraft",), ("propulsion",)),
            Chosen(_DEVICE, ("part",), _AN_ENGINE),
        ),
        after=("range check engine off", "both shut-downs"),
        applies="engine",
        figures=_RANGE_FIGURES,
        cards=("range check engine running",),
    ),
    KnownTest(
        "failsafe engine running",
        "Restrained, engine running, transmitter off: it falls to idle or stops, timed",
        20,
        "flight",
        "a unit on the way can reverse the throttle in failsafe, and only this shows it",
        "F24",
        _FAILSAFE,
        after=("failsafe", "both shut-downs"),
        applies="engine behind a box",
        figures=(_TIME._replace(required=True),),
        cards=("transmitter off engine running",),
    ),
    KnownTest(
        "model memory and full power",
        "Range-test mode left, full power and this aircraft's memory on the display",
        21,
        "flight",
        "aircraft have been lost in range-test mode, and on another one's memory",
        "R10",
        (
            Chosen(("aircraft",), ("name",)),
            Chosen(("radio",), ("transmitter",)),
            Chosen(("link *",)),
        ),
        after=("range check engine off", "range check engine running"),
        applies="receiver",
        cards=("range test mode left",),
        day_of_flying=True,
    ),
)
"""The tests of the trade, in the order in which they are done."""
