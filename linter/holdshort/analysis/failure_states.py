"""What a servo, and what a whole control function, does after a failure.

A servo follows the pilot, goes where the failsafe of the box that decides puts it, is left alone
(no pulse comes, or none is declared) or has no power.
"""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Literal, NamedTuple

from holdshort.analysis.control_functions import Effector
from holdshort.analysis.failure_graph import FailureGraph
from holdshort.setup import Fitted

if TYPE_CHECKING:
    from holdshort.analysis.aircraft import Aircraft

Gone = Callable[[int], bool]

State = Literal["works", "half", "part", "stops", "failsafe", "undeclared", "dead"]
"""``works`` follows the pilot, all of it; ``half`` on one of its two sides, ``part`` some of it;
``stops`` is an engine that stops by itself; ``failsafe`` stands at a declared position;
``undeclared`` where a box decides that does not say what it does; ``dead`` is left to itself."""

LOST: frozenset[State] = frozenset({"failsafe", "undeclared", "dead"})


class Standing(NamedTuple):
    """What one servo or device does, and which box decides.

    ``action`` is the declared failsafe action where ``kind`` is ``failsafe``.
    """

    kind: Literal["follows", "failsafe", "undeclared", "no pulse", "no power"]
    decider: str = ""
    action: str = ""


class FunctionState(NamedTuple):
    """What a control function does after a failure, in ``words`` too.

    ``moving`` and ``still`` are the surfaces and devices that follow the pilot, and those that do
    not.
    """

    function: str
    state: State
    words: str
    moving: tuple[str, ...]
    still: tuple[str, ...]

    @property
    def is_lost(self) -> bool:
        """True where nothing of it follows the pilot; an engine that stops by itself is not."""
        return self.state in LOST


def standing(aircraft: "Aircraft", graph: FailureGraph, at: int, gone: Gone) -> Standing:
    """Return what the device at one channel end does while the items that are ``gone`` fail."""
    if not gone(graph.ends[at]):
        return Standing("follows")
    end = aircraft.channel_ends[at]
    if gone(graph.alive(end.device)):
        return Standing("no power")
    found: Standing | None = None
    if not gone(graph.whole(end.taker, end.giver)):
        found = _sent(aircraft, graph, end.giver.device, end.channel, gone)
    return found or Standing("no pulse")


def _sent(
    aircraft: "Aircraft", graph: FailureGraph, first: str, channel: int | None, gone: Gone
) -> Standing | None:
    """Return what a box sends that does not hear the pilot, or None where it sends nothing.

    A box with no failsafe of its own sends on what comes to its first input that is fed.
    """
    deciding = {box.name for box in aircraft.deciding_boxes}
    queue, seen = [first], {first}
    for name in queue:
        box = aircraft.setup.devices[name]
        if gone(graph.alive(box)):
            continue
        if name in deciding:
            return _declared(aircraft, box, channel)
        for taker, giver in graph.inputs(box, channel):
            if giver.device not in seen and not gone(graph.whole(taker, giver)):
                seen.add(giver.device)
                queue.append(giver.device)
    return None


def _declared(aircraft: "Aircraft", box: Fitted, channel: int | None) -> Standing:
    found = aircraft.setup.failsafe.get(box.name)
    action = found.channels.get(channel) if found and channel is not None else None
    if action is None:
        return Standing("undeclared", box.name)
    if action[0] == "no-pulse":
        return Standing("no pulse", box.name)
    return Standing("failsafe", box.name, action[0])


def state_of(
    function: str, serving: Sequence[Effector], at_end: Callable[[int], Standing]
) -> FunctionState:
    """Return what a control function does, from what each of its servos and devices does."""
    standings = {effector: _best(effector, at_end) for effector in serving}
    moving = [found for found in serving if standings[found].kind == "follows"]
    still = [found for found in serving if standings[found].kind != "follows"]
    names = tuple(found.name for found in moving), tuple(found.name for found in still)
    if not still:
        return FunctionState(function, "works", "works", *names)
    if moving:
        return FunctionState(function, *_partly(moving, still), *names)
    kinds = {found.kind for found in standings.values()}
    if "undeclared" in kinds:
        return FunctionState(function, "undeclared", "not declared", *names)
    actions = dict.fromkeys(found.action for found in standings.values() if found.action)
    if kinds == {"failsafe"}:
        words = "hold" if list(actions) == ["hold"] else f"goes {' / '.join(actions)}"
        return FunctionState(function, "failsafe", words, *names)
    return FunctionState(function, "dead", "dead", *names)


def _best(effector: Effector, at_end: Callable[[int], Standing]) -> Standing:
    """Return the best that any servo of a surface does."""
    order = ("follows", "failsafe", "undeclared", "no pulse", "no power")
    found = [at_end(end) for end in effector.ends]
    return min(found, key=lambda one: order.index(one.kind), default=Standing("no pulse"))


def _partly(moving: Sequence[Effector], still: Sequence[Effector]) -> tuple[State, str]:
    """Return ``half`` where one of two sides is left, and otherwise how many are."""
    here = {effector.side for effector in moving}
    away = {effector.side for effector in still}
    if here | away == {"left", "right"} and not here & away:
        return "half", "half"
    return "part", f"{len(moving)} of {len(moving) + len(still)}"
