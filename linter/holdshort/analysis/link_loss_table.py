"""What every channel does in every loss case, as one table, ready to be shown.

Pulses are in seconds, shares from 0 to 1.
"""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from holdshort.analysis.aircraft import Aircraft
from holdshort.analysis.channel_ends import ChannelEnd
from holdshort.analysis.facts import Need
from holdshort.analysis.link_loss import Deflection, LinkLoss, LossCase, LossTime, Output
from holdshort.analysis.missing import Missing, missing_in
from holdshort.analysis.pulses import show_pulse, show_share
from holdshort.document import show_path
from holdshort.setup import Setup


class OutputRow(NamedTuple):
    """What comes to one device on one channel in one loss case.

    ``decided_by`` are the boxes whose failsafe may count, where several send the same;
    ``declared`` is None where they declare none.
    ``pulse`` is None where there is none, or none that is known; ``effect`` says in words what the
    device does.
    """

    channel: int
    drives: str
    device: str
    decided_by: tuple[str, ...]
    declared: str | None
    pulse: float | None
    effect: str


class EngineTime(NamedTuple):
    """How soon one engine has acted: the waits in words, and their sum (seconds, at least)."""

    device: str
    waits: tuple[str, ...]
    since_loss: float
    since_failsafe: float
    complete: bool


class CaseRows(NamedTuple):
    """One loss case: what leaves the transmitter's command, and how soon the engines act.

    ``working`` counts the devices that go on following the transmitter.
    """

    case: LossCase
    rows: tuple[OutputRow, ...]
    engines: tuple[EngineTime, ...]
    working: int


class LinkLossTable(NamedTuple):
    """The whole table of one aircraft."""

    file: str
    aircraft: str | None
    cases: tuple[CaseRows, ...]
    missing: tuple[Missing, ...]
    unread: tuple[str, ...]
    """Entries with mistakes of form, which are left out."""
    presumed: bool
    """True where some channel is taken from the number printed on a port."""


def link_loss_table(aircraft: Aircraft) -> LinkLossTable:
    """Return what every channel of ``aircraft`` does in every loss case."""
    setup, loss = aircraft.setup, aircraft.link_loss
    needs: dict[Need, None] = {}
    for end in loss.ends:
        if end.need is not None:
            needs[end.need] = None
    cases = tuple(_case(loss, case, needs) for case in loss.cases)
    return LinkLossTable(
        file=setup.file,
        aircraft=setup.aircraft.name if setup.aircraft else None,
        cases=cases,
        missing=tuple(_placed(setup, needs)),
        unread=tuple(sorted(show_path(path) for path in setup.broken)),
        presumed=any(end.presumed for end in loss.ends),
    )


def _case(loss: LinkLoss, case: LossCase, needs: dict[Need, None]) -> CaseRows:
    rows: list[OutputRow] = []
    times: list[EngineTime] = []
    working = 0
    for end in _known(loss):
        outputs = loss.outputs(end, case)
        if any(output.works for output in outputs):
            working += 1
            continue
        for output in outputs:
            needs |= dict.fromkeys(_needs(loss, end, output))
        rows += _merged(_row(loss.setup, end, output) for output in outputs)
        if end.device.kind == "engine-controller":
            time = loss.time(end, case)
            needs |= dict.fromkeys(time.needs)
            times.append(_time(end, time))
    rows.sort(key=lambda row: row.channel)
    return CaseRows(case, tuple(rows), tuple(times), working)


def _merged(rows: Iterable[OutputRow]) -> list[OutputRow]:
    """Return rows that differ by nothing but the deciding box as one."""
    found: dict[OutputRow, tuple[str, ...]] = {}
    for row in rows:
        key = row._replace(decided_by=())
        found[key] = (*found.get(key, ()), *row.decided_by)
    return [key._replace(decided_by=boxes) for key, boxes in found.items()]


def _known(loss: LinkLoss) -> Iterator[ChannelEnd]:
    for end in loss.ends:
        if end.channel is not None and end.channel in loss.setup.channels:
            yield end


def _needs(loss: LinkLoss, end: ChannelEnd, output: Output) -> Iterator[Need]:
    if isinstance(output.engine, Need):
        yield from loss.needs_of(end, output)
    elif isinstance(output.pulse, Need):
        yield output.pulse


def _row(setup: Setup, end: ChannelEnd, output: Output) -> OutputRow:
    number = end.channel or 0
    return OutputRow(
        channel=number,
        drives=", ".join(setup.channels[number].channel.drives),
        device=end.device.name,
        decided_by=(output.decider,),
        declared=_declared(setup, output, number),
        pulse=output.pulse if isinstance(output.pulse, float) else None,
        effect=_effect(output),
    )


def _declared(setup: Setup, output: Output, number: int) -> str | None:
    entry = setup.failsafe.get(output.decider)
    if entry is not None and entry.declared.passes_on and number not in entry.channels:
        return "passes-on"
    return output.action


def _effect(output: Output) -> str:
    if output.action is None:
        return "not declared"
    if output.engine is not None:
        return "not known" if isinstance(output.engine, Need) else output.engine.words
    if output.action == "hold":
        return "stays where it was"
    if output.action == "no-pulse":
        return "gets no pulse"
    if output.deflections:
        return ", ".join(_stand(deflection) for deflection in output.deflections)
    return show_pulse(output.pulse) if isinstance(output.pulse, float) else output.action


def _stand(found: Deflection) -> str:
    if not found.share:
        return "neutral"
    way = f"trailing edge {found.toward}" if found.toward else "off neutral"
    return f"{way}, {show_share(found.share)} of its travel"


def _time(end: ChannelEnd, time: LossTime) -> EngineTime:
    return EngineTime(
        device=end.device.name,
        waits=tuple(part.text for part in time.parts),
        since_loss=time.since_loss,
        since_failsafe=time.since_failsafe,
        complete=not time.needs,
    )


def _placed(setup: Setup, needs: Iterable[Need]) -> list[Missing]:
    """Return what is missing, the setup file's own first, by line."""
    found = [missing_in(setup, need) for need in needs]
    return sorted(found, key=lambda item: (item.file != setup.file, item.file, item.line or 0))
