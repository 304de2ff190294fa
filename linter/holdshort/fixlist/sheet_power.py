"""The power network on an aircraft sheet: the rows of ``show power`` as tables."""

from collections.abc import Iterator, Sequence

from holdshort.analysis.load_cases import LoadCase
from holdshort.analysis.power_rows import (
    DeviceRow,
    LeadRow,
    PowerTable,
    RailRow,
    RegulatorRow,
    Told,
)
from holdshort.analysis.power_table import power_table
from holdshort.fixlist.place_words import place_told
from holdshort.fixlist.power_view import (
    CAUTION,
    across,
    figure,
    lead_row,
    pack_facts,
    pack_rows,
    per_cent,
    rail_name,
    regulator_facts,
    regulator_rows,
    share_carried,
    use_words,
    voltage_row,
)
from holdshort.fixlist.sheet_facts import SheetFacts
from holdshort.fixlist.sheet_parts import Cell, Part, Words, listed_parts, table

_FINE: frozenset[str] = frozenset({"within", "no rating", "min not stated", "max not stated"})


def power_parts(facts: SheetFacts) -> tuple[Part, ...]:
    """Return the tables of the power network; nothing where there is no network."""
    shown = power_table(facts.aircraft)
    if not shown.rails:
        return ()
    return (*_collapses(shown), *_cases(shown), *_figures(shown), *_remarks(shown))


def _figures(shown: PowerTable) -> Iterator[Part]:
    yield _rails(shown)
    yield _devices(shown.rails)
    yield _currents(shown.rails, shown.cases)
    for regulator in shown.regulators:
        head, *rows = regulator_rows(regulator)
        caption = f"Regulator {regulator.device} ({regulator.part}): "
        yield table(
            caption + ", ".join(regulator_facts(regulator)),
            ("load case", *head[1:-1], "outside ratings"),
            [_marked(row, regulator) for row in rows],
            "<<>>>>><",
        )
    for pack in shown.packs:
        head, *rows = pack_rows(pack, shown.cases)
        caption = f"Pack {pack.device} ({pack.part}): {', '.join(pack_facts(pack))}"
        heads = ("load case", *head[1:-1], "outside ratings")
        yield table(caption, heads, [(*row[:-1], _outside(row[-1])) for row in rows], "<>>>><")
        yield Words(use_words(pack))
    yield from _leads(shown.leads)


def _collapses(shown: PowerTable) -> Iterator[Part]:
    for row in shown.collapses:
        fall = "falls" if len(row.also_falling) == 1 else "fall"
        also = f" `{'`, `'.join(row.also_falling)}` {fall} with it." if row.also_falling else ""
        yield Words(
            f"COLLAPSE in {row.case}: {row.cause}. It gives way at `{row.device}`; "
            f"{share_carried(row.share)} of the load could be carried.{also}"
        )


def _cases(shown: PowerTable) -> Iterator[Part]:
    rows = [(case.name, per_cent(case.charge), case.title) for case in shown.cases]
    yield table("Load cases", ("load case", "packs at", "what happens"), rows, "<><")


def _rails(shown: PowerTable) -> Part:
    names = tuple(case.name for case in shown.cases)
    rows = [
        (rail_name(rail), *(figure(rail.volts[name]) for name in names))
        for rail in shown.rails
        if rail.sources
    ]
    caption = "Voltage of each rail by load case, V"
    return table(caption, ("rail", *names), rows, "<" + ">" * len(names))


def _devices(rails: Sequence[RailRow]) -> Part:
    rows = [
        (device.device, rail_name(rail).removeprefix("rail "), *_device(device))
        for rail in rails
        for device in rail.devices
    ]
    heads = ("device", "rail", "lowest, V", "highest, V", "rated, V", "against its rating")
    return table("Voltage at each device", heads, rows, "<<<<<<")


def _device(device: DeviceRow) -> tuple[Cell | str, ...]:
    _, low, high, rated, words = voltage_row(device)
    fine = _FINE.issuperset(device.judgements) or device.judgements == ("not known",)
    return low, high, rated, Cell(words) if fine else _outside(words)


def _outside(words: str) -> Cell:
    return Cell(words, "outside", "!") if words else Cell("")


def _currents(rails: Sequence[RailRow], cases: Sequence[LoadCase]) -> Part:
    rows: list[tuple[str, ...]] = []
    for rail in rails:
        if rail.sources:
            rows.append((rail_name(rail), *across(rail.amperes, cases)))
            rows += [
                (device.device, *across(device.amperes, cases))
                for device in rail.devices
                if device.amperes
            ]
    heads = ("rail or device", *(case.name for case in cases))
    return table("Current by load case, A", heads, rows, "<" + ">" * len(cases))


def _marked(row: Sequence[str], regulator: RegulatorRow) -> tuple[Cell | str, ...]:
    case, state, *figures, marks = row
    collapsed = regulator.points[case] is None and bool(state)
    shown = _outside(state) if collapsed else Cell(state)
    return (case, shown, *figures, _outside(marks))


def _leads(leads: Sequence[LeadRow]) -> Iterator[Part]:
    if leads:
        heads = ("lead", "wire", "length, m", "A", "lost, V", "load case")
        caption = "Voltage lost in leads, out and back, in the case where each loses most"
        yield table(caption, heads, [lead_row(lead) for lead in leads], "<<>>><")


def _remarks(shown: PowerTable) -> Iterator[Part]:
    if any(lead.wire_assumed or lead.length_assumed for lead in shown.leads):
        yield Words("~ not declared; taken from common practice.", quiet=True)
    if shown.missing:
        yield Words(
            "* incomplete, as facts are missing: a voltage is at most this, a current or loss at "
            "least this.",
            quiet=True,
        )
    needs = [_need(shown, need) for need in shown.missing]
    yield from listed_parts("Incomplete", needs)
    assumed = [f"{item.text} ({place_told(item, shown.file)})" for item in shown.assumptions]
    yield from listed_parts("Not declared; taken from common practice", assumed)
    if shown.unread:
        yield Words(f"Left out, as they have mistakes of form: {', '.join(shown.unread)}.")
    yield Words(CAUTION, quiet=True)


def _need(shown: PowerTable, need: Told) -> str:
    everywhere = need.cases == tuple(case.name for case in shown.cases)
    cases = "" if everywhere else f", for {', '.join(need.cases)}"
    return f"needs {need.text} ({place_told(need, shown.file)}{cases})"
