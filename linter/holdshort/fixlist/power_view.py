"""The power table for a terminal: what a builder reads beside the bench and the meter.

What is outside a rating is said in a word in capitals; nothing rests on colour. All text passes
through :func:`~holdshort.fixlist.plain.plain`.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from holdshort.analysis import Aircraft
from holdshort.analysis.load_cases import LoadCase
from holdshort.analysis.power_rows import (
    ByCase,
    CollapseRow,
    DeviceRow,
    Extreme,
    LeadRow,
    Mark,
    PackRow,
    PowerTable,
    RailRow,
    Rating,
    Reading,
    RegulatorRow,
    highest,
    lowest,
)
from holdshort.analysis.power_table import power_table
from holdshort.fixlist.paragraphs import WIDTH, fold, folded
from holdshort.fixlist.place_words import place_told
from holdshort.fixlist.plain import plain

CAUTION: Final = (
    "Computed from what is declared, for steady loads: no measurement, and no word on whether the "
    "aircraft may fly. Measure on the bench with everything moving."
)

_COULOMBS_PER_MILLIAMPERE_HOUR: Final = 3.6
_SMALLEST_DROP: Final = 0.005
_INCOMPLETE: Final = "*"
_ASSUMED: Final = "~"
_INDENT: Final = "  "
_GAP: Final = "  "
_OUTSIDE: Final = frozenset({
    "too low", "brown-out", "too high", "collapse", "no supply",
})  # fmt: skip
_WITHOUT_CASE: Final = frozenset({"no supply", "not known"})
_NO_VALUE: Final = {"collapse": "collapse", "no supply": "no supply"}

Row = tuple[str, ...]


def lines(aircraft: Aircraft) -> list[str]:
    """Return the power table of ``aircraft`` as lines of text."""
    return render_text(power_table(aircraft)).splitlines()


def render_text(table: PowerTable) -> str:
    """Return the power table as text of at most :data:`WIDTH` columns."""
    blocks = [
        _heading(table),
        _cases(table.cases),
        _collapsed(table.collapses),
        _voltages(table.rails),
        _currents(table.rails, table.cases),
        _regulators(table.regulators),
        _packs(table.packs, table.cases),
        _leads(table.leads),
        _marks(table),
        _unread(table.unread),
        _incomplete(table),
        _assumptions(table),
        folded(CAUTION),
    ]
    return "\n".join("".join(f"{line.rstrip()}\n" for line in block) for block in blocks if block)


def _heading(table: PowerTable) -> list[str]:
    file = "standard input" if table.file == "-" else table.file
    return [
        *folded(f"Power of {table.aircraft or 'an aircraft without a name'}"),
        *folded(file),
    ]


def _cases(cases: Iterable[LoadCase]) -> list[str]:
    rows = [(case.name, f"packs {per_cent(case.charge)}", case.title) for case in cases]
    return [*folded("Load cases"), *_grid(rows, "<><")]


def _collapsed(rows: Sequence[CollapseRow]) -> list[str]:
    found: list[str] = []
    for row in rows:
        fall = "falls" if len(row.also_falling) == 1 else "fall"
        also = f" `{'`, `'.join(row.also_falling)}` {fall} with it." if row.also_falling else ""
        found += folded(
            f"COLLAPSE in {row.case}: {row.cause}. It gives way at `{row.device}`; "
            f"{share_carried(row.share)} of the load could be carried.{also}"
        )
    return found


def share_carried(share: float) -> str:
    """Return a share in per cent, rounded down: what is said can be carried."""
    return f"{int(share * 1000) / 10:.1f} %" if share else "none"


def _voltages(rails: Iterable[RailRow]) -> list[str]:
    rows: list[Row] = [("", "lowest V", "highest V", "rated V", "")]
    for rail in rails:
        rows.append((rail_name(rail), *extremes(rail.volts), "", ""))
        rows += [voltage_row(device) for device in rail.devices]
    return [*folded("Voltage on each rail and at each device"), *_grid(rows, "<<<<<")]


def voltage_row(device: DeviceRow) -> Row:
    """Return device, lowest and highest voltage, rating and judgement."""
    shown = ("", "") if "no supply" in device.judgements else extremes(device.volts)
    words = ", ".join(_word(judgement) for judgement in device.judgements)
    return (f"  {device.device}", *shown, _rated(device.rating), words)


def _word(word: str) -> str:
    return word.upper() if word in _OUTSIDE else word


def rail_name(rail: RailRow) -> str:
    """Return how a rail is called, by what gives it its voltage."""
    return f"rail {' + '.join(rail.sources)}" if rail.sources else "without a known supply"


def extremes(volts: ByCase) -> tuple[str, str]:
    """Return the lowest and the highest reading, each with its load case."""
    return _extreme(lowest(volts)), _extreme(highest(volts))


def _extreme(found: Extreme | None) -> str:
    if found is None:
        return ""
    case = "" if found.reading.state in _WITHOUT_CASE else found.case
    return f"{figure(found.reading):>6} {case}"


def _rated(rating: Rating) -> str:
    if rating.lowest is None and rating.highest is None:
        return ""
    if rating.lowest is None:
        return f"to {_number(rating.highest)}"
    if rating.highest is None:
        return f"from {_number(rating.lowest)}"
    return f"{_number(rating.lowest)} to {_number(rating.highest)}"


def _currents(rails: Iterable[RailRow], cases: Sequence[LoadCase]) -> list[str]:
    rows: list[Row] = [("", *(case.name for case in cases))]
    for rail in rails:
        if rail.sources:
            rows.append((rail_name(rail), *across(rail.amperes, cases)))
        rows += [
            (f"  {device.device}", *across(device.amperes, cases))
            for device in rail.devices
            if rail.sources and device.amperes
        ]
    return [*folded("Current by load case, A"), *_grid(rows, "<" + ">" * len(cases))]


def across(readings: ByCase, cases: Iterable[LoadCase]) -> Row:
    """Return one figure for each load case."""
    return tuple(figure(readings[case.name]) for case in cases)


def _regulators(rows: Iterable[RegulatorRow]) -> list[str]:
    found: list[str] = []
    for row in rows:
        if found:
            found.append("")
        found += _facts(f"Regulator {row.device} ({row.part})", regulator_facts(row))
        found += _grid(regulator_rows(row), "<<>>>>><")
    return found


def regulator_facts(row: RegulatorRow) -> Iterator[str]:
    """Yield what is set on a regulator and what it is rated for."""
    yield "output not declared" if row.set_to is None else f"set to {_number(row.set_to)} V"
    if row.measured is not None:
        yield f"measured {_number(row.measured)} V"
    rated = _rated(row.input_rating)
    yield f"input {rated} V" if rated else "input rating not stated"
    yield from _current_ratings(row.continuous, row.peak)
    if row.heat_limit is not None:
        yield f"{_number(row.heat_limit)} W of heat"


def _current_ratings(continuous: float | None, peak: float | None) -> Iterator[str]:
    if continuous is not None:
        yield f"{_number(continuous)} A continuous"
    if peak is not None:
        yield f"{_number(peak)} A peak"
    if continuous is None and peak is None:
        yield "current rating not stated"


def regulator_rows(row: RegulatorRow) -> Iterator[Row]:
    """Yield the head and one row for each load case."""
    yield ("", "state", "in V", "in A", "out V", "out A", "heat W", "")
    for case, point in row.points.items():
        state = row.states[case]
        if point is None:
            yield (case, _word(state), *[""] * 6)
            continue
        star = _INCOMPLETE if state == "incomplete" else ""
        figures = (
            point.input_voltage, point.input_current, point.output_voltage, point.output_current,
            point.heat,
        )  # fmt: skip
        marks = ", ".join(_regulator_mark(mark, row) for mark in row.marks[case])
        yield (case, f"{point.regulation.value}{star}", *map(_fixed, figures), marks)


def _regulator_mark(mark: Mark, row: RegulatorRow) -> str:
    if mark == "input too low":
        return f"INPUT UNDER {_number(row.input_rating.lowest)} V"
    if mark == "input too high":
        return f"INPUT OVER {_number(row.input_rating.highest)} V"
    if mark == "too hot":
        return f"OVER {_number(row.heat_limit)} W"
    return _current_mark(mark, row.continuous, row.peak)


def _current_mark(mark: Mark, continuous: float | None, peak: float | None) -> str:
    return f"OVER {_number(peak if mark == 'above peak' else continuous)} A"


def _packs(rows: Iterable[PackRow], cases: Sequence[LoadCase]) -> list[str]:
    found: list[str] = []
    for row in rows:
        if found:
            found.append("")
        found += _facts(f"Pack {row.device} ({row.part})", pack_facts(row))
        found += _grid(pack_rows(row, cases), "<>>>><")
        found += _indented(use_words(row))
    return found


def pack_facts(row: PackRow) -> Iterator[str]:
    """Yield what a pack is and what it is rated for."""
    yield f"{row.cells}-cell {row.chemistry}"
    if row.capacity is None:
        yield "capacity not stated"
    else:
        yield _milliampere_hours(row.capacity)
    yield from _current_ratings(row.continuous, row.peak)


def pack_rows(row: PackRow, cases: Iterable[LoadCase]) -> Iterator[Row]:
    """Yield the head and one row for each load case."""
    yield ("", "charge", "V", "V per cell", "A", "")
    for case in cases:
        volts, amperes = row.volts[case.name], row.amperes[case.name]
        each = Reading(None if volts.value is None else volts.value / row.cells, volts.state)
        shown = (figure(volts), figure(each), figure(amperes))
        marks = ", ".join(
            _current_mark(mark, row.continuous, row.peak) for mark in row.marks[case.name]
        )
        yield (case.name, per_cent(case.charge), *shown, marks)


def use_words(row: PackRow) -> str:
    """Return in words what a flight takes out of a pack, and what is left."""
    use = row.use
    if use.flight_time is None:
        return "Use per flight: not known; needs the flight time under `aircraft`."
    if use.used.value is None:
        return f"Use per flight: {use.used.state}."
    if use.used.state == "incomplete" and not use.used.value:
        return "Use per flight: not known, as loads are missing (see below)."
    taken = _milliampere_hours(use.used.value)
    more = "at least " if use.used.state == "incomplete" else ""
    text = f"Use per flight of {_number(use.flight_time / 60)} min: {more}{taken}"
    if use.left.value is None:
        return f"{text}; what is left is not known, as the capacity is not stated."
    flights = f"{use.flights} flight{'' if use.flights == 1 else 's'}"
    if use.left.value <= 0.0:
        return f"{text}: EMPTY before the end of {flights} from a full pack."
    most = "at most " if use.left.state == "incomplete" else ""
    return f"{text}; {most}{per_cent(use.left.value)} left after {flights} from a full pack."


def _milliampere_hours(charge: float) -> str:
    return f"{charge / _COULOMBS_PER_MILLIAMPERE_HOUR:.0f} mAh"


def _leads(leads: Sequence[LeadRow]) -> list[str]:
    if not leads:
        return []
    told = [
        lead for lead in leads if lead.volts.value is None or lead.volts.value >= _SMALLEST_DROP
    ]
    rows: list[Row] = [("", "wire", "length m", "A", "lost V", "")]
    rows += [lead_row(lead) for lead in told]
    unsaid = len(leads) - len(told)
    lose = "lead loses" if unsaid == 1 else "leads each lose"
    rest = f"{unsaid} more {lose} less than 0.005 V"
    star = _INCOMPLETE if any(lead.volts.state == "incomplete" for lead in leads) else ""
    return [
        *folded("Voltage lost in leads, out and back, in the case where each loses most"),
        *(_grid(rows, "<<>>><") if told else ()),
        *(_indented(f"{rest}{star}.") if unsaid else ()),
    ]


def lead_row(lead: LeadRow) -> Row:
    """Return lead, wire, length, current, loss and load case."""
    wire = "not declared" if lead.wire is None else f"{lead.wire}{_tilde(lead.wire_assumed)}"
    length = "" if lead.length is None else f"{lead.length:.2f}{_tilde(lead.length_assumed)}"
    figures = (figure(lead.amperes), figure(lead.volts))
    return (f"{lead.start} to {lead.end}", wire, length, *figures, lead.case or "")


def _tilde(assumed: object) -> str:
    return _ASSUMED if assumed else ""


def _marks(table: PowerTable) -> list[str]:
    found: list[str] = []
    if table.missing:
        found += folded(
            f"{_INCOMPLETE} incomplete, as facts are missing (see below): a voltage is at most "
            "this, a current or loss at least this."
        )
    if any(lead.wire_assumed or lead.length_assumed for lead in table.leads):
        found += folded(f"{_ASSUMED} not declared; taken from common practice.")
    return found


def _unread(entries: Sequence[str]) -> list[str]:
    if not entries:
        return []
    listed = ", ".join(entries)
    return folded(f"Left out, as they have mistakes of form: {listed}.")


def _incomplete(table: PowerTable) -> list[str]:
    if not table.missing:
        return []
    everywhere = tuple(case.name for case in table.cases)
    found = folded("Incomplete")
    for need in table.missing:
        cases = "" if need.cases == everywhere else f", for {', '.join(need.cases)}"
        found += _indented(f"needs {need.text} ({place_told(need, table.file)}{cases})")
    return found


def _assumptions(table: PowerTable) -> list[str]:
    if not table.assumptions:
        return []
    found = folded("Not declared; taken from common practice")
    for assumed in table.assumptions:
        found += _indented(f"{assumed.text} ({place_told(assumed, table.file)}; common practice)")
    return found


def figure(reading: Reading) -> str:
    """Return a figure to two places, with a star where it is incomplete, or a word."""
    if reading.value is None:
        return _NO_VALUE.get(reading.state, "?")
    star = _INCOMPLETE if reading.state == "incomplete" else ""
    return f"{_fixed(reading.value)}{star}"


def _fixed(value: float) -> str:
    """Return a figure to two places, or a very large one to four digits."""
    rounded = f"{value:.2f}" if abs(value) < 1e5 else f"{value:.3e}"  # noqa: PLR2004
    return "0.00" if rounded == "-0.00" else rounded


def per_cent(share: float) -> str:
    """Return a share in whole per cent."""
    return f"{share * 100:.0f} %"


def _number(value: float | None) -> str:
    return "" if value is None else f"{value:.6g}"


def _facts(head: str, facts: Iterable[str]) -> list[str]:
    """Return short facts behind a head; a line breaks between facts, not inside one."""
    lines = [plain(head) + ":"]
    for at, fact in enumerate([plain(fact) for fact in facts]):
        joint = ", " if at else " "
        if len(lines[-1]) + len(joint) + len(fact) + 1 > WIDTH:
            lines[-1] += joint.rstrip()
            lines.append(_INDENT + fact)
        else:
            lines[-1] += joint + fact
    return [part for line in lines for part in fold(line, WIDTH)]


def _indented(text: str) -> list[str]:
    return folded(text, _INDENT, 2 * _INDENT)


def _grid(rows: Iterable[Row], sides: str) -> Iterator[str]:
    """Return rows in columns; ``sides`` says for each column whether it keeps left or right.

    A first cell that leaves too little room for the others stands on a line of its own.
    """
    cells = [tuple(plain(cell) for cell in row) for row in rows]
    widths = [
        max((len(row[at]) for row in cells if at < len(row)), default=0) for at in range(len(sides))
    ]
    others = sum(widths[1:]) + len(_GAP) * (len(widths) - 1)
    widths[0] = min(widths[0], WIDTH - len(_INDENT) - others)
    for row in cells:
        head, first = row[0], widths[0]
        if len(head) > max(first, 0):
            for line in fold(head, WIDTH - len(_INDENT)):
                yield f"{_INDENT}{line}"
            head = ""
        shown = [head.ljust(first)]
        for cell, width, side in zip(row[1:], widths[1:], sides[1:], strict=False):
            shown.append(cell.ljust(width) if side == "<" else cell.rjust(width))
        yield from fold(f"{_INDENT}{_GAP.join(shown)}".rstrip(), WIDTH)
