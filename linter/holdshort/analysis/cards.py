"""All bench cards of one aircraft, with the cautions that stand at the top."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from holdshort.analysis.aircraft import Aircraft
from holdshort.analysis.alarm_cards import alarm_cards
from holdshort.analysis.balance_cards import balance_cards
from holdshort.analysis.bench_cards import CardGroup, CardSheet, LeftOut
from holdshort.analysis.code_words import CodeWords
from holdshort.analysis.direction_cards import direction_cards
from holdshort.analysis.failsafe_cards import failsafe_cards
from holdshort.analysis.hold_cards import hold_cards
from holdshort.analysis.range_cards import range_cards
from holdshort.document import show_path
from holdshort.setup import Setup

_MADE_SAFE: Final[Mapping[str, str]] = {
    "turbine": "fuel off, pump and engine controller unpowered, wheels chocked",
    "piston": "fuel off, ignition off and unpowered, propeller off; nobody in its plane",
    "electric-fan": "motor pack disconnected; nothing loose and no fingers near the fan",
    "electric-propeller": "motor pack disconnected or propeller off; nobody in its plane",
}


def card_sheet(aircraft: Aircraft, codes: Sequence[CodeWords] = ()) -> CardSheet:
    """Return the bench cards of ``aircraft``; ``codes`` are what rule packs tell of codes."""
    setup = aircraft.setup
    groups, left_out = direction_cards(aircraft)
    failsafe, without = failsafe_cards(aircraft, codes)
    loaded, unloaded = _mass_loads_and_alarms(aircraft)
    return CardSheet(
        file=setup.file,
        aircraft=setup.aircraft.name if setup.aircraft else None,
        cautions=tuple(_cautions(setup)),
        groups=(*groups, *loaded, *failsafe, range_cards(setup)),
        left_out=(*left_out, *unloaded, *without),
        unread=tuple(show_path(path) for path in sorted(setup.broken, key=str)),
    )


def _mass_loads_and_alarms(aircraft: Aircraft) -> tuple[list[CardGroup], list[LeftOut]]:
    """Return the groups on balance, loads and alarms, and why one of them is not there."""
    groups: list[CardGroup] = []
    left_out: list[LeftOut] = []
    held, balance, alarms = hold_cards(aircraft), balance_cards(aircraft), alarm_cards(aircraft)
    if held is None:
        left_out.append(LeftOut("surfaces held by hand", "no `loads` of a surface are declared"))
    else:
        groups.append(held)
    if balance is None:
        left_out.append(LeftOut("weigh and balance", "no `balance` is declared"))
    else:
        groups.append(balance)
    if alarms is None:
        left_out.append(LeftOut("telemetry alarms", "no alarm under `telemetry` is declared"))
    else:
        groups.append(alarms)
    return groups, left_out


def _cautions(setup: Setup) -> Iterator[str]:
    propulsion = setup.aircraft.propulsion if setup.aircraft else None
    if propulsion is None:
        yield "Engine made safe first (not declared: the `propulsion`, so all of it):"
        for kind, words in _MADE_SAFE.items():
            yield f"{kind}: {words}."
    elif propulsion in _MADE_SAFE:
        yield f"Engine made safe first: {_MADE_SAFE[propulsion]}."
    yield "A second person reads each line out loud, and looks; you move the stick or the airframe."
    yield "Keep hands, hair and leads away from surfaces, retracts and linkages: all may move."
    yield (
        "One thing not as it must be: stop, put it right, declare the change, and print the cards "
        "again."
    )
