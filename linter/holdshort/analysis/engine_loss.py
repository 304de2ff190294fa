"""Whether the engine can still be shut down after a failure, or stops by itself."""

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Final

from holdshort.analysis.control_functions import SHUT_DOWN, Effector
from holdshort.analysis.failsafe_values import CLOSED_WORDS, Understood
from holdshort.analysis.failure_graph import FailureGraph
from holdshort.analysis.failure_states import FunctionState, Gone, Standing, State
from holdshort.setup import Fitted
from holdshort.setup.parts import EngineController

if TYPE_CHECKING:
    from holdshort.analysis.aircraft import Aircraft

_WORST: Final[tuple[State, ...]] = ("works", "stops", "failsafe", "undeclared", "dead")
_OF_ITS_OWN: Final[dict[str, State]] = {"stop": "stops", "idle": "failsafe", "hold": "dead"}
_WORDS: Final[dict[State, str]] = {
    "works": "works",
    "stops": "stops",
    "failsafe": "idles",
    "undeclared": "not declared",
    "dead": "runs on",
}


def shut_down(
    aircraft: "Aircraft",
    graph: FailureGraph,
    serving: Sequence[Effector],
    at_end: Callable[[int], Standing],
    gone: Gone,
) -> FunctionState:
    """Return whether the engine can be shut down, or stops, after a failure.

    Each engine controller that is fitted must; a throttle servo, ignition or fuel valve that works
    stops the engine whatever its controller does. The state is that of the worst engine.
    """
    moving = tuple(found.name for found in serving if _follows(found, at_end))
    still = tuple(found.name for found in serving if found.name not in moving)
    engines, others = _sorted_out(aircraft, serving)
    states: list[State] = [
        _engine(aircraft, graph, engine, ends, at_end, gone) for engine, ends in engines
    ]
    if others:
        best: State = _best([_by_end(aircraft, end, at_end(end)) for end in others])
        states = [_best([state, best]) for state in states] or [best]
    state: State = _WORST[max((_WORST.index(state) for state in states), default=-1)]
    return FunctionState(SHUT_DOWN, state, _WORDS[state], moving, still)


def _follows(effector: Effector, at_end: Callable[[int], Standing]) -> bool:
    return any(at_end(end).kind == "follows" for end in effector.ends)


def _sorted_out(
    aircraft: "Aircraft", serving: Iterable[Effector]
) -> tuple[list[tuple[Fitted, list[int]]], list[int]]:
    """Return the engine controllers with their ends, and the ends of everything else."""
    engines: dict[str, list[int]] = {}
    others: list[int] = []
    for end in dict.fromkeys(end for effector in serving for end in effector.ends):
        device = aircraft.channel_ends[end].device
        if device.kind == "engine-controller":
            engines.setdefault(device.name, []).append(end)
        else:
            others.append(end)
    return [(aircraft.setup.devices[name], ends) for name, ends in engines.items()], others


def _engine(
    aircraft: "Aircraft",
    graph: FailureGraph,
    engine: Fitted,
    ends: Sequence[int],
    at_end: Callable[[int], Standing],
    gone: Gone,
) -> State:
    if gone(graph.alive(engine)):
        return "stops"
    return _best([_by_end(aircraft, end, at_end(end)) for end in ends])


def _best(states: Iterable[State]) -> State:
    return _WORST[min(_WORST.index(state) for state in states)]


def _by_end(aircraft: "Aircraft", at: int, found: Standing) -> State:
    """Return what an engine does by one of its inputs."""
    if found.kind == "follows":
        return "works"
    if found.kind == "failsafe":
        return _at_failsafe(aircraft, at, found)
    end = aircraft.channel_ends[at]
    if found.kind == "no pulse" and isinstance(end.device.part, EngineController):
        does = end.device.part.on_signal_loss
        if does is None:
            return "undeclared"
        return _OF_ITS_OWN[does]
    return "undeclared" if found.kind == "undeclared" else "dead"


def _at_failsafe(aircraft: "Aircraft", at: int, found: Standing) -> State:
    """Return what an engine makes of a failsafe value.

    Where the pulse cannot be worked out, words such as ``stop`` are taken to do what they say.
    """
    end = aircraft.channel_ends[at]
    engine = aircraft.link_loss.output_of(end, found.decider).engine
    if isinstance(engine, Understood):
        kinds: dict[str, State] = {"stop": "stops", "closed": "stops", "idle": "failsafe"}
        return kinds.get(engine.kind, "dead")
    if found.action in CLOSED_WORDS:
        return "stops"
    if found.action == "idle":
        return "failsafe"
    return "dead" if found.action == "hold" else "undeclared"
