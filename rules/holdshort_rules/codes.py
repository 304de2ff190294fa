"""What each code that a setup may follow says on loss of signal: data, no judgement.

Every value names the source that it was taken from; how that source was read stands in
``sources.py``, and ``confidence`` here repeats it. What no source that was read says is a gap, told
in words. A new edition of a code changes this file and nothing else.
"""

from typing import Final, Literal, NamedTuple

Engine = Literal["turbine", "piston", "electric-fan", "electric-propeller"]
Clock = Literal["loss of signal", "failsafe activation"]
Idle = Literal["allowed", "with consent", "refused", "unclear"]
Subject = Literal["compulsory", "action", "time"]

TURBINE: Final[frozenset[Engine]] = frozenset({"turbine"})
PISTON: Final[frozenset[Engine]] = frozenset({"piston"})
ELECTRIC: Final[frozenset[Engine]] = frozenset({"electric-fan", "electric-propeller"})
ANY_ENGINE: Final = TURBINE | PISTON | ELECTRIC


class Compulsory(NamedTuple):
    """A failsafe must be fitted: above a mass (kg), with one of these engines, or always.

    ``above`` and ``engines`` are alternatives within one entry only where one of them is empty.
    """

    source: str
    confidence: str
    words: str
    above: float | None = None
    engines: frozenset[Engine] = frozenset()
    always: bool = False


class EngineAction(NamedTuple):
    """What an engine must do on loss of signal. Stopping is always enough.

    ``idle`` says whether idle is: ``unclear`` where the text that was read does not say.
    """

    source: str
    confidence: str
    words: str
    engines: frozenset[Engine]
    idle: Idle


class TimeLimit(NamedTuple):
    """Within how many seconds the engine must have acted, and from when the clock runs."""

    source: str
    confidence: str
    engines: frozenset[Engine]
    seconds: float
    clock: Clock


class FixedSurfaces(NamedTuple):
    """The flight controls must have a fixed position to go to on loss of signal."""

    source: str
    confidence: str
    words: str


class MassLimit(NamedTuple):
    """What a code asks of an aircraft above a mass (kg), or from it on where ``reached`` is true.

    ``outside`` is True where such an aircraft is not covered by the code at all. ``dry`` is True
    where the mass is that with empty tanks. ``engines`` is empty where it is for any aircraft.
    """

    source: str
    confidence: str
    above: float
    words: str
    outside: bool = False
    reached: bool = False
    dry: bool = False
    engines: frozenset[Engine] = frozenset()


class Gap(NamedTuple):
    """Something that was looked for and not found in what was read.

    ``open`` is True where the code surely says it, so that nothing can be judged without it.
    """

    subject: Subject
    engines: frozenset[Engine]
    words: str
    open: bool = False


class Code(NamedTuple):
    """One code: its name in a setup file, how messages name it, and what it says."""

    id: str
    title: str
    compulsory: tuple[Compulsory, ...] = ()
    actions: tuple[EngineAction, ...] = ()
    limits: tuple[TimeLimit, ...] = ()
    surfaces: FixedSurfaces | None = None
    masses: tuple[MassLimit, ...] = ()
    gaps: tuple[Gap, ...] = ()


_READ: Final = "read"
_SECOND: Final = "read second-hand"
_PRACTICE: Final = "common practice"

_ALL: Final = (
    Code(
        "general",
        "common practice",
        actions=(
            EngineAction("practice", _PRACTICE, "stop or idle", ANY_ENGINE, idle="allowed"),
        ),
        gaps=(
            Gap("compulsory", ANY_ENGINE, "no published code is named"),
            Gap("time", ANY_ENGINE, "no published code is named"),
        ),
    ),
    Code(
        "uk",
        "the UK code",
        compulsory=(
            Compulsory("F1", _SECOND, "above 7 kg", above=7.0),
            Compulsory("F2", _SECOND, "with a gas turbine, at any mass", engines=TURBINE),
        ),
        actions=(
            EngineAction(
                "F9", _READ, "idle only with the event organiser's consent", TURBINE, "with consent"
            ),
            EngineAction("F4", _SECOND, "throttle closed or idle", PISTON, idle="allowed"),
            EngineAction("F6", _SECOND, "an electric motor off", ELECTRIC, idle="refused"),
        ),
        limits=(TimeLimit("F8", _READ, TURBINE, 3.0, "loss of signal"),),
        masses=(
            MassLimit(
                "P14", _READ, 25.0,
                "design and construction assessed, a certificate, a programme of test flights and "
                "a pilot found competent",
            ),
        ),
        gaps=(Gap("time", PISTON | ELECTRIC, "no time limit was found for these engines"),),
    ),
    Code(
        "us",
        "the US turbine rule",
        actions=(
            EngineAction("F10", _SECOND, "idle, preferably off", TURBINE, idle="allowed"),
        ),
        limits=(TimeLimit("F10", _SECOND, TURBINE, 2.0, "failsafe activation"),),
        masses=(
            MassLimit("P7", _READ, 25.0, "a permit to fly of the first large class"),
            MassLimit("P7", _READ, 35.0, "a permit to fly of the second large class"),
            MassLimit(
                "P7", _READ, 45.4, "nothing: its classes for turbines end at 45.4 kg",
                outside=True, engines=TURBINE,
            ),
            MassLimit("P7", _READ, 56.7, "nothing: its classes end at 56.7 kg", outside=True),
        ),
        gaps=(
            Gap("compulsory", ANY_ENGINE, "no mass or engine that makes it compulsory was found"),
            Gap("action", PISTON | ELECTRIC, "no engine action was found for these engines"),
            Gap("time", PISTON | ELECTRIC, "no time limit was found for these engines"),
        ),
    ),
    Code(
        "canada",
        "the Canadian turbine rule",
        compulsory=(
            Compulsory("F11", _SECOND, "with a turbine", engines=TURBINE),
        ),
        actions=(
            EngineAction("F11", _SECOND, "shut down; idle is not enough", TURBINE, idle="refused"),
        ),
        limits=(TimeLimit("F11", _SECOND, TURBINE, 2.0, "loss of signal"),),
        gaps=(
            Gap("compulsory", PISTON | ELECTRIC, "no rule was found for these engines"),
            Gap("action", PISTON | ELECTRIC, "no engine action was found for these engines"),
            Gap("time", PISTON | ELECTRIC, "no time limit was found for these engines"),
        ),
    ),
    Code(
        "australia",
        "the Australian code",
        masses=(
            MassLimit(
                "P11", _SECOND, 25.0,
                "an inspector from before building on, who assesses electronics, linkages and "
                "engine, and three logged test flights",
                reached=True, dry=True,
            ),
        ),
        gaps=(
            Gap("compulsory", ANY_ENGINE, "its text was not read, only advice to test (F24)"),
            Gap("action", ANY_ENGINE, "its text was not read, only advice to test (F24)"),
            Gap("time", PISTON | ELECTRIC, "its text was not read, only advice to test (F24)"),
            Gap("time", TURBINE, "its turbine text was not read", open=True),
        ),
    ),
    Code(
        "germany",
        "the German code",
        compulsory=(
            Compulsory(
                "F14", _READ, "with any engine, as drives must stop by themselves",
                engines=ANY_ENGINE,
            ),
        ),
        actions=(
            EngineAction(
                "F14", _READ, "drives are stopped (the text that was read breaks off there)",
                ANY_ENGINE, idle="unclear",
            ),
        ),
        masses=(
            MassLimit(
                "P15", _READ, 25.0, "registration and proof of airworthiness, strength included"
            ),
            MassLimit("P15", _READ, 150.0, "nothing: its class ends at 150 kg", outside=True),
        ),
        gaps=(Gap("time", ANY_ENGINE, "no time limit was found"),),
    ),
    Code(
        "eu-c4",
        "EU class C4",
        compulsory=(
            Compulsory(
                "F17", _READ, "for every aircraft of the class (below 25 kg, CE-marked)",
                always=True,
            ),
        ),
        surfaces=FixedSurfaces(
            "F17", _READ, "a pre-determined fixed position of the flight controls on lost link"
        ),
        masses=(
            MassLimit(
                "F17", _READ, 25.0, "nothing: the class is for less than 25 kg",
                outside=True, reached=True,
            ),
        ),
        gaps=(
            Gap("action", ANY_ENGINE, "it says nothing about the engine"),
            Gap("time", ANY_ENGINE, "it names no time"),
        ),
    ),
    Code(
        "fai-aerobatics",
        "the FAI aerobatics rule",
        compulsory=(
            Compulsory("F12", _SECOND, "with any engine", engines=ANY_ENGINE),
        ),
        actions=(
            EngineAction("F12", _SECOND, "shut off or fully idle", ANY_ENGINE, idle="allowed"),
        ),
        masses=(
            MassLimit(
                "T17", _SECOND, 25.0, "nothing: a model aircraft has at most 25 kg, fuel and all",
                outside=True,
            ),
        ),
        gaps=(
            Gap(
                "time", ANY_ENGINE,
                "it says \"at the moment\" the signal fails, without a figure", open=True,
            ),
        ),
    ),
)  # fmt: skip

CODES: Final = {code.id: code for code in _ALL}
