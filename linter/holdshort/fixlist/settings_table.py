"""What applies to one aircraft, gathered: each value with the place that says so."""

from collections.abc import Iterator
from datetime import date
from typing import Literal, NamedTuple

from holdshort.rulebook.deferrals import PACK, has_second, is_past
from holdshort.rulebook.settings import Limit, Settings
from holdshort.setup import Place, Setup


class Applied(NamedTuple):
    """One aircraft and what applies to it on the day ``today``.

    ``was_named`` is true where the hangar file was asked for, not found.
    """

    setup: Setup
    settings: Settings
    was_named: bool
    today: date


class NamedRow(NamedTuple):
    """Something that is named in a file: a catalogue, a code."""

    name: str
    where: str
    at: Place


class PackRow(NamedTuple):
    """One pack of rules."""

    name: str
    rules: int


class LimitRow(NamedTuple):
    """One limit: ``where`` is the place that sets it, empty for the default.

    ``source`` says where the default comes from, ``confidence`` how that source was read.
    """

    rule: str
    option: str
    text: str
    value: str
    si: float
    default: str
    source: str
    confidence: str
    where: str
    at: Place | None


class SeverityRow(NamedTuple):
    """One severity that the owner gives, in place of the one the rule is ``delivered`` with."""

    rule: str
    severity: str
    delivered: str
    where: str
    at: Place


class TestRow(NamedTuple):
    """A test of the club's own: ``every`` is for how many days it is good, None without a term."""

    name: str
    title: str
    before: str
    after: tuple[str, ...]
    every: int | None
    where: str
    at: Place


State = Literal["in force", "past"]


class DeferralRow(NamedTuple):
    """One deferral, and whether its last day is past.

    ``alone`` is true where no second person accepts it. Whether it needs one only its finding
    tells, which is not looked for here.
    """

    rule: str
    at: str
    reason: str
    by: str
    second: str
    until: str
    state: State
    alone: bool
    where: str
    place: Place


class SettingsTable(NamedTuple):
    """All that applies. ``found`` says how the hangar file was found; both empty: there is none."""

    file: str
    aircraft: str
    hangar: str
    found: str
    catalogues: tuple[NamedRow, ...]
    packs: tuple[PackRow, ...]
    codes: tuple[NamedRow, ...]
    limits: tuple[LimitRow, ...]
    severities: tuple[SeverityRow, ...]
    tests: tuple[TestRow, ...]
    deferrals: tuple[DeferralRow, ...]


def settings_table(applied: Applied) -> SettingsTable:
    """Gather what applies to one aircraft."""
    setup, settings = applied.setup, applied.settings
    return SettingsTable(
        file=setup.file,
        aircraft=setup.aircraft.name if setup.aircraft else "",
        hangar=settings.hangar.name if settings.hangar else "",
        found=_found(applied),
        catalogues=tuple(_catalogues(applied)),
        packs=tuple(PackRow(pack.name, len(pack.rules)) for pack in (*settings.packs, PACK)),
        codes=tuple(_named(setup, code, place) for code, place in setup.code_places.items()),
        limits=tuple(_limit(applied, limit) for limit in settings.every_limit()),
        severities=tuple(
            SeverityRow(
                rule_id, grade.severity.word, grade.rule.severity.word,
                where(setup, grade.place), grade.place,
            )
            for rule_id, grade in settings.severities.items()
        ),
        tests=tuple(_tests(applied)),
        deferrals=tuple(_deferrals(applied)),
    )  # fmt: skip


def where(setup: Setup, place: Place) -> str:
    """Return a place in short: its file and line."""
    file = "standard input" if place.file == "-" else place.file
    return f"{file} line {setup.span(place).line}"


def _found(applied: Applied) -> str:
    if applied.settings.hangar is None:
        return ""
    if applied.was_named:
        return "named on the command line"
    return "found in the folder of the aircraft or above"


def _catalogues(applied: Applied) -> Iterator[NamedRow]:
    """Yield the catalogues that are named, by the aircraft first, then by the hangar file."""
    setup, hangar = applied.setup, applied.settings.hangar
    for document in (setup.documents[setup.file], hangar):
        names = document.root.get("catalogues") if document else None
        for index, name in enumerate(names if isinstance(names, list) else ()):
            if document is not None and isinstance(name, str):
                yield _named(setup, name, Place(document.name, ("catalogues", index)))


def _named(setup: Setup, name: str, place: Place) -> NamedRow:
    return NamedRow(name, where(setup, place), place)


def _limit(applied: Applied, limit: Limit) -> LimitRow:
    rule, option = limit.rule, limit.option
    found = applied.settings.rulebook.find(rule.id)
    source = found[0].sources[option.source] if found else None
    return LimitRow(
        rule=rule.id,
        option=option.name,
        text=option.text,
        value=limit.quantity.text,
        si=float(limit.quantity),
        default=option.default,
        source=option.source,
        confidence=source.confidence if source else "",
        where=where(applied.setup, limit.place) if limit.place else "",
        at=limit.place,
    )


def _tests(applied: Applied) -> Iterator[TestRow]:
    """Yield the tests that the hangar file adds, in its order."""
    hangar = applied.settings.hangar
    if hangar is None:
        return
    for test in applied.settings.tests:
        place = Place(hangar.name, ("tests", test.name))
        yield TestRow(
            test.name, test.title, test.before, test.after, test.every,
            where(applied.setup, place), place,
        )  # fmt: skip


def _deferrals(applied: Applied) -> Iterator[DeferralRow]:
    for place, item in applied.setup.deferrals:
        yield DeferralRow(
            rule=item.rule,
            at=item.at,
            reason=item.reason,
            by=item.by,
            second=item.second or "",
            until=item.until,
            state="past" if is_past(item, applied.today) else "in force",
            alone=not has_second(item),
            where=where(applied.setup, place),
            place=place,
        )
