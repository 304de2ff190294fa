"""What is known of a reading, a test, a bench card, the balance or a surface, for a card.

What is computed is said to be so: none of it is a measurement.
"""

from collections.abc import Iterator
from typing import Final

from holdshort.analysis import Aircraft
from holdshort.analysis.cards import card_sheet
from holdshort.analysis.load_table import LoadRow, load_table
from holdshort.analysis.telemetry_table import LevelRow, telemetry_table
from holdshort.document import Path
from holdshort.editor.cards import Card, Line
from holdshort.fixlist.balance_view import HEAD, missing_told, state_row
from holdshort.fixlist.loads_view import share_shown, torque_shown, toward
from holdshort.fixlist.sign_text import standing_words

_OF_BALANCE: Final = (("balance",), ("balance", "range"), ("balance", "envelope"))
_MOST: Final = 12


def section_card(aircraft: Aircraft, path: Path, *, on_key: bool) -> Card | None:
    """Return the card of what stands at ``path``, or None where it is told of elsewhere."""
    match path:
        case ("telemetry", str(name)) if on_key:
            return reading_card(aircraft, name)
        case ("observations", int(index), "card") if not on_key:
            return bench_card(aircraft, index)
        case _ if on_key and path in _OF_BALANCE:
            return balance_card(aircraft)
        case _:
            return None


def reading_card(aircraft: Aircraft, name: str) -> Card | None:
    """Return how a reading reaches the transmitter, and where its alarm would have to be."""
    row = next((row for row in telemetry_table(aircraft).rows if row.name == name), None)
    if row is None:
        return None
    lines = [
        Line("measures", f"{row.measures} of {row.of}" if row.of else row.measures),
        Line("way", " > ".join((*row.way, "transmitter")) if row.way else row.trouble),
        *(line for level in row.levels for line in _level(level)),
    ]
    if row.shown is False:
        lines.append(Line("not shown by the transmitter"))
    return Card(Line("reading", name), tuple(lines))


def _level(level: LevelRow) -> Iterator[Line]:
    late = ", which is too late" if level.late else ""
    yield Line(f"alarm {level.way}{late}", level.declared)
    if level.wanted:
        least = "or more" if level.way == "below" else "or less"
        so_far = ", as far as is known" if level.missing else ""
        wanted = f"{level.wanted} {least}{so_far}: {level.why}"
        yield Line("wanted", wanted.replace("`", "'"))


def balance_card(aircraft: Aircraft) -> Card | None:
    """Return where the centre of gravity is in each state, and how far inside its range."""
    study = aircraft.balance
    if study is None:
        return None
    lines: list[Line] = []
    for state in study.states[:_MOST]:
        name, *cells = state_row(study, state)
        gear = f", gear {state.gear}" if state.gear else ""
        told = (f"{head} {cell}" for head, cell in zip(HEAD[1:], cells, strict=True) if cell != "?")
        lines.append(Line(f"{name}{gear}:", "; ".join(told) or "not known"))
    lines += [Line("missing", text.replace("`", "'")) for text in missing_told(study)[:_MOST]]
    return Card(Line("balance, computed from what is declared"), tuple(lines))


def test_card(aircraft: Aircraft, name: str) -> Card | None:
    """Return what a test is for, and what its latest sign-off is worth."""
    evidence = aircraft.evidence
    test = evidence.tests.get(name)
    if test is None:
        why = evidence.left_out.get(name)
        return None if why is None else Card(Line("test", name), (Line("not for it:", why),))
    asked = [f"{figure.name}: {figure.text}" for figure in test.figures]
    lines = [
        Line("title", test.title),
        Line("why", test.reason),
        Line(f"to be passed before {test.before.replace('-', ' ')}"),
        *([Line("after", ", ".join(test.after))] if test.after else []),
        *(Line("figure", one) for one in asked),
        *([Line("a second person watches")] if test.second else []),
        Line("its latest sign-off", standing_words(evidence.standing(name)).replace("`", "'")),
    ]
    return Card(Line("test", name), tuple(lines))


def bench_card(aircraft: Aircraft, index: int) -> Card | None:
    """Return what is done and seen by the card that an observation names."""
    place = aircraft.setup.place("observations", index)
    name = next((one.card for at, one in aircraft.setup.observations if at == place), None)
    groups = card_sheet(aircraft).groups if name else ()
    card = next((card for group in groups for card in group.cards if card.name == name), None)
    if card is None:
        return None
    lines = [*(Line("do", text) for text in card.do[:_MOST])]
    for line in card.lines[:_MOST]:
        must = line.must or f"not known: {line.lacks}"
        lines.append(Line("see", ": ".join(text for text in (", ".join(line.subjects), must))))
    return Card(Line("card", f"{card.name}: {card.title}"), tuple(lines))


def load_lines(aircraft: Aircraft, surface: str) -> Iterator[Line]:
    """Yield what the air asks of the servo of a surface at its worst, and what the servo has."""
    row = next((row for row in load_table(aircraft).rows if row.surface == surface), None)
    if row is None:
        return
    if row.needs is not None:
        speed = f" and {row.speed:.3g} m/s" if row.speed is not None else ""
        needs = f"{torque_shown(row.needs)} N.m at {toward(row.angle, row.way)}{speed}"
        yield Line("its servo needs, computed", needs)
    if row.has is not None:
        yield from _has(row)
    for missing in row.missing:
        yield Line("for its load is missing", missing.replace("`", "'"))


def _has(row: LoadRow) -> Iterator[Line]:
    volts = f", {row.volts:.2f} V in {row.case}" if row.volts is not None else ""
    at_most = "at most " if row.state == "at most" else ""
    share = f", {share_shown(row.ratio)} of that" if row.ratio is not None else ""
    yield Line(f"{at_most}has", f"{torque_shown(row.has)} N.m ({row.servo}{volts}){share}")
