"""Every failure beside every control function, worst first: the facts behind the views."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

from holdshort.analysis.control_functions import FLIGHT, SHUT_DOWN
from holdshort.analysis.control_ways import ControlWay, control_ways
from holdshort.analysis.failure_graph import ASSUMPTIONS
from holdshort.analysis.failures import Outcome, Progress
from holdshort.document import show_path

if TYPE_CHECKING:
    from holdshort.analysis.aircraft import Aircraft


class FailureTable(NamedTuple):
    """What is left of an aircraft after every failure.

    ``lines`` gives, for each failure by number, the line of the file from 1 that declares it.
    ``pairs`` is None where pairs were not asked for; else those that take more than each of their
    two does alone. ``unread`` are entries with mistakes of form, which are left out.
    """

    file: str
    aircraft: str
    functions: tuple[str, ...]
    intact: Outcome
    singles: tuple[Outcome, ...]
    pairs: tuple[Outcome, ...] | None
    ways: tuple[ControlWay, ...]
    lines: Mapping[int, int]
    assumptions: tuple[str, ...]
    unread: tuple[str, ...]


def failure_table(
    aircraft: "Aircraft", *, pairs: bool = False, progress: Progress | None = None
) -> FailureTable:
    """Return what is left after every failure, the worst first.

    ``progress`` is called with the number of pairs gone through, and of how many.
    """
    study, setup = aircraft.failures, aircraft.setup
    return FailureTable(
        file=setup.file,
        aircraft=setup.aircraft.name if setup.aircraft else "",
        functions=study.functions,
        intact=study.intact,
        singles=tuple(sorted(study.singles(), key=severity)),
        pairs=tuple(sorted(study.pairs(progress), key=severity)) if pairs else None,
        ways=control_ways(study),
        lines={failure.number: setup.span(failure.place).line for failure in study.failures},
        assumptions=(
            *ASSUMPTIONS,
            *(
                f"`{box.name}` hears a link of its own: none is declared for it"
                for box in setup.of_kind("receiver")
                if not study.graph.hears(box.name)
            ),
            *(failure.assumed for failure in study.failures if failure.assumed),
        ),
        unread=tuple(show_path(path) for path in sorted(setup.broken, key=str)),
    )


def severity(outcome: Outcome) -> tuple[float, ...]:
    """Return what sorts the worst outcome first.

    Pitch and roll count most, then an engine that runs on, then how many functions are lost or
    halved, then the voltage that is left.
    """
    states = outcome.functions
    flight = sum(1 for name in FLIGHT if name in states and states[name].is_lost)
    engine = SHUT_DOWN in states and states[SHUT_DOWN].state == "dead"
    less = sum(1 for state in states.values() if state.state in {"half", "part"})
    volts = [rail.volts if rail.volts is not None else 0.0 for rail in outcome.rails]
    numbers = [failure.number for failure in outcome.failures]
    return (-flight, -float(engine), -len(outcome.lost), -less, *volts, *numbers)
