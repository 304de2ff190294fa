"""What is left of an aircraft when one thing fails, or two: control functions and rail voltages.

Which functions still follow the pilot comes from :mod:`holdshort.analysis.failure_graph`; what the
others do comes from the declared failsafe of the box that then decides; the rail voltage comes from
the power network solved again without what has failed.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cached_property
from itertools import combinations
from typing import TYPE_CHECKING, Final, Literal, NamedTuple

from holdshort.analysis.circuit import Collapse, ConvergenceError, Element, Solution, solve
from holdshort.analysis.control_functions import (
    FUNCTIONS,
    SHUT_DOWN,
    Effector,
    effectors,
)
from holdshort.analysis.dependence import Cuts, bits
from holdshort.analysis.engine_loss import shut_down
from holdshort.analysis.failure_graph import FailureGraph
from holdshort.analysis.failure_modes import Failure, failure_modes
from holdshort.analysis.failure_states import FunctionState, Gone, Standing, standing, state_of
from holdshort.analysis.load_cases import LoadCase
from holdshort.analysis.power_elements import lead_name, node_name
from holdshort.analysis.supply_paths import leads_of
from holdshort.analysis.wiring import nodes_of
from holdshort.setup import Fitted
from holdshort.setup.parts import Gyro, Hub, Receiver

if TYPE_CHECKING:
    from holdshort.analysis.aircraft import Aircraft

CASES: Final = ("cruise", "hard-manoeuvre")
"""The load cases in which the network is solved after a failure."""
CONTROLS: Final = ("receiver", "hub", "gyro", "servo")
"""Kinds of device whose voltage counts as that of a rail that keeps the aircraft under control."""

Progress = Callable[[int, int], None]


class LowRail(NamedTuple):
    """The lowest voltage at any radio device or servo that still has power.

    ``state`` is ``known``, ``incomplete`` (something on the network is not declared, the voltage is
    at most this), ``collapse`` (no operating point), ``dead`` (none of them has power) or ``not
    known``. ``volts`` is None but for the first two.
    """

    case: str
    state: Literal["known", "incomplete", "collapse", "dead", "not known"]
    device: str = ""
    volts: float | None = None
    starved: tuple[str, ...] = ()
    """Receivers, hubs and gyros below the voltage at which they reset, or in a collapse."""


class Outcome(NamedTuple):
    """What is left after ``failures``: each control function, and the rails by load case."""

    failures: tuple[Failure, ...]
    functions: Mapping[str, FunctionState]
    rails: tuple[LowRail, ...] = ()

    @property
    def lost(self) -> tuple[str, ...]:
        """The functions that no longer follow the pilot; an engine that stops by itself is none."""
        return tuple(name for name, state in self.functions.items() if state.is_lost)


class FailureStudy:
    """Every single failure of an aircraft, and every pair, with what is left after it."""

    def __init__(self, aircraft: "Aircraft") -> None:
        """Build the dependence of every function; voltages are solved when they are asked for."""
        self.aircraft = aircraft
        self.setup = aircraft.setup
        self.failures = failure_modes(self.setup)
        self.effectors = effectors(self.setup, aircraft.channel_ends)
        self.graph = FailureGraph(
            self.setup, aircraft.wiring, aircraft.drives, aircraft.channel_ends, self.failures
        )
        for device in self.setup.devices.values():
            self.graph.alive(device)
        self._moved = {effector: self._effector(effector) for effector in self.effectors}
        self._served = {name: self._function(name) for name in self.functions}

    @cached_property
    def functions(self) -> tuple[str, ...]:
        """The control functions that the aircraft has, in the order of the table."""
        served = {name for effector in self.effectors for name in effector.serves}
        return tuple(name for name in FUNCTIONS if name in served)

    def _effector(self, effector: Effector) -> int:
        graph = self.graph
        item = graph.dependence.item(effector, needs_any=True)
        for end in effector.ends:
            graph.dependence.give(item, graph.ends[end])
        return item

    def _function(self, name: str) -> int:
        item = self.graph.dependence.item(("function", name), needs_any=True)
        for effector in self.serving(name):
            self.graph.dependence.give(item, self._moved[effector])
        return item

    def serving(self, function: str) -> tuple[Effector, ...]:
        """Return what serves a control function."""
        return tuple(found for found in self.effectors if function in found.serves)

    @cached_property
    def killers(self) -> list[int]:
        """For each item of the dependence, the mask of the single failures that stop it."""
        return self.graph.dependence.killers()

    def stops(self, item: int) -> tuple[Failure, ...]:
        """Return the single failures that stop an item; all of them where it never works."""
        return tuple(self.failures[number] for number in bits(self._mask_of(item)))

    def _mask_of(self, item: int) -> int:
        return self.killers[item] & ~self.graph.dependence.never

    def takes_function(self, failure: Failure, name: str) -> bool:
        """True where nothing of a function follows the pilot after ``failure``."""
        return bool(self.killers[self._served[name]] >> failure.number & 1)

    def takes_effector(self, failure: Failure, effector: Effector) -> bool:
        """True where ``effector`` does not follow the pilot after ``failure``."""
        return bool(self.killers[self._moved[effector]] >> failure.number & 1)

    def functions_at_all(self, name: str) -> bool:
        """True where something of a function follows the pilot while nothing has failed."""
        return self._works(self._served[name])

    def effector_at_all(self, effector: Effector) -> bool:
        """True where ``effector`` follows the pilot while nothing has failed."""
        return self._works(self._moved[effector])

    def _works(self, item: int) -> bool:
        return not self.killers[item] & self.graph.dependence.never

    def stops_function(self, name: str) -> tuple[Failure, ...]:
        """Return the single failures after which no surface of a function follows the pilot."""
        return self.stops(self._served[name])

    def stops_effector(self, effector: Effector) -> tuple[Failure, ...]:
        """Return the single failures after which ``effector`` does not follow the pilot."""
        return self.stops(self._moved[effector])

    def stops_device(self, device: Fitted) -> tuple[Failure, ...]:
        """Return the single failures after which ``device`` is without power or has failed."""
        return self.stops(self.graph.alive(device))

    def cuts(self, name: str) -> Cuts:
        """Return the smallest sets of one and two failures that take a function, by number.

        By wiring alone: no voltage is computed.
        """
        return self.graph.dependence.cuts([self._served[name]])[0]

    @cached_property
    def intact(self) -> Outcome:
        """What works, and the rails, while nothing has failed."""
        return self.after(())

    def connected(self, failure: Failure) -> Outcome:
        """Return what is left after one failure, by wiring alone: no voltage is computed."""
        return self._outcome((failure,), self._gone_with(failure))

    def engine_after(self, failure: Failure) -> FunctionState:
        """Return whether the engine can be shut down after one failure, by wiring alone."""
        gone = self._gone_with(failure)
        serving = self.serving(SHUT_DOWN)
        return shut_down(self.aircraft, self.graph, serving, self._at_ends(gone), gone)

    def rail_after(self, failure: Failure) -> LowRail:
        """Return the lowest rail voltage after one failure, in cruise."""
        return self._rails((failure,), self._gone_with(failure), CASES[:1])[0]

    def after(self, failures: Iterable[Failure]) -> Outcome:
        """Return what is left after several failures at once, with the voltages of the rails.

        A receiver, hub or gyro under the voltage at which it resets in cruise gives no signal.
        """
        gone = tuple(failures)
        stopped = self._stopped(gone)
        rails = self._rails(gone, stopped, CASES)
        if rails and rails[0].starved:
            stopped = self._stopped(gone, rails[0].starved)
        return self._outcome(gone, stopped)._replace(rails=rails)

    def singles(self) -> tuple[Outcome, ...]:
        """Return what is left after each single failure, voltages included."""
        return tuple(self.after((failure,)) for failure in self.failures)

    def pairs(self, progress: Progress | None = None) -> tuple[Outcome, ...]:
        """Return the pairs of failures that take more than their two do one at a time.

        What is taken by falling voltage counts too.
        """
        alone = {failure: self.after((failure,)) for failure in self.failures}
        total = len(self.failures) * (len(self.failures) - 1) // 2
        found: list[Outcome] = []
        for number, pair in enumerate(combinations(self.failures, 2), 1):
            outcome = self.after(pair)
            known = {name for failure in pair for name in alone[failure].lost}
            if set(outcome.lost) - known - set(self.intact.lost):
                found.append(outcome)
            if progress is not None:
                progress(number, total)
        return tuple(found)

    def _gone_with(self, failure: Failure) -> Gone:
        bit = 1 << failure.number
        found = self.killers
        return lambda item: bool(found[item] & bit)

    def _stopped(self, failures: tuple[Failure, ...], starved: Iterable[str] = ()) -> Gone:
        barred = [self.graph.alive(self.setup.devices[name]) for name in starved]
        mask = sum(1 << failure.number for failure in set(failures))
        works = self.graph.dependence.working(mask, barred)

        def stopped(item: int) -> bool:
            return not works[item]

        return stopped

    def _at_ends(self, gone: Gone) -> Callable[[int], Standing]:
        standings: dict[int, Standing] = {}

        def at_end(end: int) -> Standing:
            if end not in standings:
                standings[end] = standing(self.aircraft, self.graph, end, gone)
            return standings[end]

        return at_end

    def _outcome(self, failures: tuple[Failure, ...], gone: Gone) -> Outcome:
        at_end = self._at_ends(gone)
        states: dict[str, FunctionState] = {}
        for name in self.functions:
            serving = self.serving(name)
            if name == SHUT_DOWN:
                states[name] = shut_down(self.aircraft, self.graph, serving, at_end, gone)
            else:
                states[name] = state_of(name, serving, at_end)
        return Outcome(failures, states)

    def _rails(
        self, failures: tuple[Failure, ...], gone: Gone, names: Sequence[str]
    ) -> tuple[LowRail, ...]:
        devices = {name for failure in failures for name in failure.devices}
        outputs = {name for failure in failures for name in failure.outputs}
        cables = {cable.index for failure in failures for cable in failure.cables}
        for name in devices:
            cables |= leads_of(self.setup, name)
        out: frozenset[str | int] = frozenset(devices | outputs) | frozenset(cables)
        alive = [
            device for device in self.setup.of_kind(*CONTROLS) if not gone(self.graph.alive(device))
        ]
        cases = [case for case in self.aircraft.power.cases if case.name in names]
        return tuple(self._low(case, out, alive) for case in cases)

    def _low(self, case: LoadCase, out: frozenset[str | int], alive: list[Fitted]) -> LowRail:
        if not alive:
            return LowRail(case.name, "dead")
        try:
            found = self._solved(case, out)
        except ConvergenceError:
            return LowRail(case.name, "not known")
        solution = found.elsewhere if isinstance(found, Collapse) else found
        volts = self._voltages(solution, alive)
        starved = tuple(
            device.name
            for device in alive
            if _resets(device, volts.get(device.name), isinstance(found, Collapse))
        )
        if isinstance(found, Collapse) and len(volts) < len(alive):
            fallen = next(device.name for device in alive if device.name not in volts)
            return LowRail(case.name, "collapse", fallen, None, starved)
        if not volts:
            return LowRail(case.name, "not known")
        lowest = min(volts, key=lambda name: volts[name])
        node = next(nodes_of(self.setup.devices[lowest]))
        needs = self.aircraft.power.needs(case, node)
        state: Literal["known", "incomplete"] = "incomplete" if needs else "known"
        return LowRail(case.name, state, lowest, volts[lowest], starved)

    def _voltages(self, solution: Solution | None, alive: list[Fitted]) -> dict[str, float]:
        found: dict[str, float] = {}
        for device in alive:
            for node in nodes_of(device):
                volts = solution.voltages.get(node_name(node)) if solution else None
                if volts is not None:
                    found[device.name] = volts
        return found

    def _solved(self, case: LoadCase, out: frozenset[str | int]) -> Solution | Collapse:
        """Solve a case without some devices and leads; what changes nothing is solved once."""
        kept = tuple(
            number for number, (owner, _) in enumerate(self._elements(case)) if owner not in out
        )
        key = (case.name, kept)
        if key not in self._solutions:
            elements = self._elements(case)
            self._solutions[key] = solve([elements[number][1] for number in kept])
        return self._solutions[key]

    @cached_property
    def _solutions(self) -> dict[tuple[str, tuple[int, ...]], Solution | Collapse]:
        return {}

    def _elements(self, case: LoadCase) -> list[tuple[str | int, Element]]:
        """Return the elements of a case, each with the device or the lead it stands for."""
        if case.name not in self._listed:
            self._listed[case.name] = [
                (self._owners.get(element.name, element.name), element)
                for element in self.aircraft.power.elements(case)
            ]
        return self._listed[case.name]

    @cached_property
    def _listed(self) -> dict[str, list[tuple[str | int, Element]]]:
        return {}

    @cached_property
    def _owners(self) -> dict[str, str | int]:
        owners: dict[str, str | int] = {
            port.address: device.name
            for device in self.setup.devices.values()
            for port in device.ports.values()
        }
        owners.update({name: name for name in self.setup.devices})
        owners.update({lead_name(cable): cable.index for cable in self.setup.cables})
        return owners


def _resets(device: Fitted, volts: float | None, collapse: bool) -> bool:  # noqa: FBT001
    """True for a radio device under the voltage at which it resets, or in a collapsing network."""
    if not isinstance(device.part, Receiver | Hub | Gyro):
        return False
    if volts is None:
        return collapse
    reset = device.part.brown_out
    return reset is not None and volts < reset
