"""What applies to one aircraft, and who says so, for a terminal.

All text passes through :func:`~holdshort.fixlist.plain.plain`.
"""

from collections.abc import Iterator
from typing import Final

from holdshort.fixlist.paragraphs import paragraph
from holdshort.fixlist.settings_table import (
    Applied,
    DeferralRow,
    LimitRow,
    SettingsTable,
    TestRow,
    settings_table,
)

_PRACTICE: Final = "common practice"

_CAUTION: Final = (
    "Limits are the owner's to set; makers' instructions and local rules go before them."
)


def lines(applied: Applied) -> list[str]:
    """Return what applies as lines of text."""
    return list(render(settings_table(applied)))


def render(table: SettingsTable) -> Iterator[str]:
    """Yield the table as lines as wide as all views, long names apart."""
    yield from paragraph(f"Settings for {table.aircraft or 'an aircraft without a name'}")
    yield from paragraph("standard input" if table.file == "-" else table.file)
    yield from paragraph(_hangar(table))
    for title, rows in (
        ("Catalogues", [f"{row.name}, named in {row.where}" for row in table.catalogues]),
        ("Packs", [f"{row.name}: {_rules(row.rules)}" for row in table.packs]),
        ("Codes", [f"{row.name}, named in {row.where}" for row in table.codes]),
        ("Severities", [
            f"{row.rule}: {row.severity}, not {row.delivered} ({row.where})"
            for row in table.severities
        ]),
        ("Limits", [_limit(row) for row in table.limits]),
        ("Tests of the club", [_test(row) for row in table.tests]),
        ("Deferrals", [_deferral(row) for row in table.deferrals]),
    ):  # fmt: skip
        yield ""
        yield f"{title} ({len(rows)})" if rows else f"{title}: none"
        for row in rows:
            yield from paragraph(row, "  ", "    ")
    yield ""
    yield from paragraph(_CAUTION)


def _hangar(table: SettingsTable) -> str:
    if not table.hangar:
        return "No hangar file: none in its folder, nor above it to where the search ends."
    return f"Hangar file: {table.hangar}, {table.found}"


def _rules(count: int) -> str:
    return f"{count} rule{'' if count == 1 else 's'}"


def _limit(row: LimitRow) -> str:
    owner = f"{row.where}; default {row.default}" if row.where else f"default; {_source(row)}"
    return f"{row.rule}, {row.option}: {row.value} ({owner}): {row.text}"


def _source(row: LimitRow) -> str:
    if row.confidence == _PRACTICE:
        return "common practice, no source"
    return f"source {row.source}, {row.confidence}"


def _test(row: TestRow) -> str:
    before = "the engine runs" if row.before == "engine-run" else row.before
    after = f", after {', '.join(row.after)}" if row.after else ""
    good = "" if row.every is None else f", good for {row.every} day{'' if row.every == 1 else 's'}"
    return f"{row.name}: {row.title}; before {before}{after}{good} ({row.where})"


def _deferral(row: DeferralRow) -> str:
    names = f"{row.by} and {row.second}" if row.second else row.by
    return (
        f"{row.rule} at {row.at}, until {row.until} ({_state(row)}), by {names}: "
        f"{row.reason} ({row.where})"
    )


def _state(row: DeferralRow) -> str:
    if row.state == "past":
        return "PAST ITS DATE"
    if row.alone:
        return "not past its day; without a second name no warning that holds power-up is accepted"
    return "not past its day"
