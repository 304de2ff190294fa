"""Findings that the owner accepts for now: taken out one by one, and watched over.

A deferral names a rule and a place, and takes out exactly one finding. What is wrong with a
deferral is a finding of the rules below, which no deferral takes out and no hangar file grades.
"""

from collections.abc import Iterable, Iterator
from datetime import date
from pathlib import Path as FilePath
from typing import Final, NamedTuple

from holdshort.analysis import Aircraft
from holdshort.analysis.facts import Because
from holdshort.document import show_path
from holdshort.rulebook.declare import (
    API_VERSION,
    Check,
    Edit,
    Finding,
    Fix,
    Hold,
    Outcome,
    Pack,
    Rule,
    Severity,
    Source,
    rule,
)
from holdshort.rulebook.judge import Deferred, Found, Judgement
from holdshort.rulebook.wording import listed
from holdshort.setup import Place
from holdshort.setup.sections import Deferral

_MOST_PLACES: Final = 6


def _by_the_engine(_: Aircraft) -> Iterator[Outcome]:
    """Yield nothing: these rules look at findings, not at the aircraft."""
    return iter(())


def _own(rule_id: str, title: str, severity: Severity, hold: Hold) -> Rule:
    declare = rule(
        rule_id,
        title=title,
        severity=severity,
        hold=hold,
        subject="deferrals",
        sources=("practice",),
        fixed=True,
    )
    check: Check = _by_the_engine
    return declare(check)


EXPIRED: Final = _own("deferral-expired", "A deferral past its date", Severity.NOTE, Hold.FLIGHT)
UNUSED: Final = _own(
    "deferral-unused", "A deferral of something that is not found", Severity.CAUTION, Hold.FLIGHT
)
NEEDS_SECOND: Final = _own(
    "deferral-needs-second-name",
    "A warning before power-up deferred by one person alone",
    Severity.WARNING,
    Hold.POWER_UP,
)

PACK: Final = Pack(
    name="holdshort",
    api=API_VERSION,
    rules=(EXPIRED, UNUSED, NEEDS_SECOND),
    sources={
        "practice": Source(
            "practice",
            "common practice: accepted defects have a reason, a name and an end date",
            "common practice",
        )
    },
    pages=FilePath(__file__).parent / "pages",
    cases=FilePath(__file__).parent / "cases",
)
"""The engine's own rules: always there, whatever packs are loaded."""


class _Held(NamedTuple):
    """One deferral while it looks for its finding."""

    place: Place
    deferral: Deferral
    past: bool

    def matches(self, found: Found) -> bool:
        """Tell whether ``found`` is what this deferral names."""
        same_rule = found.rule.id == self.deferral.rule
        return same_rule and show_path(found.finding.at.path) == self.deferral.at.strip()


def is_past(deferral: Deferral, today: date) -> bool:
    """Tell whether the last day of a deferral is past; on that day it still counts."""
    return date.fromisoformat(deferral.until) < today


def has_second(deferral: Deferral) -> bool:
    """Tell whether two different people accept a deferral."""
    second = (deferral.second or "").split()
    return bool(second) and _folded(second) != _folded(deferral.by.split())


def _folded(words: list[str]) -> str:
    return " ".join(words).casefold()


def defer(
    judgement: Judgement, deferrals: Iterable[tuple[Place, Deferral]], today: date
) -> list[Found]:
    """Move each finding that is deferred out of ``judgement.found``; return what is to be said.

    A deferral counts up to and on its last day. One that is past it, or lacks the second name that
    it needs, leaves its finding where it is. What is returned are findings about the deferrals.
    """
    waiting = [_Held(place, item, is_past(item, today)) for place, item in deferrals]
    everything = tuple(judgement.found)
    free = list(everything)
    told: list[Found] = []
    # Those still in force come first: a renewed deferral is not shadowed by the one it renews.
    for held in sorted(waiting, key=_is_past):
        found = next((one for one in free if held.matches(one)), None)
        if found is None:
            told += _unused(held, judgement, everything)
            continue
        _drop(free, found)
        trouble = _trouble(held, found)
        if trouble is None:
            _drop(judgement.found, found)
            judgement.deferred.append(Deferred(found, held.place, held.deferral))
        else:
            told.append(trouble)
    _settle_own_rules(judgement, told)
    return told


def _drop(several: list[Found], one: Found) -> None:
    """Take out this very one, not one that is equal to it."""
    del several[next(index for index, found in enumerate(several) if found is one)]


def _is_past(held: _Held) -> bool:
    return held.past


def _settle_own_rules(judgement: Judgement, told: list[Found]) -> None:
    """Count the rules about deferrals that have nothing to say as clean."""
    spoke = {found.rule.id for found in told}
    judgement.clean += [one for one in PACK.rules if one.id not in spoke]
    judgement.ran += [(PACK, one) for one in PACK.rules]


def _trouble(held: _Held, found: Found) -> Found | None:
    """Return why the deferral of ``found`` does not count, or None."""
    if held.past:
        return _expired(held, found)
    holds_power_up = found.severity is Severity.WARNING and found.hold is Hold.POWER_UP
    if holds_power_up and not has_second(held.deferral):
        return _needs_second(held, found)
    return None


def _at(held: _Held, key: str) -> Place:
    return Place(held.place.file, (*held.place.path, key))


def _because(found: Found) -> tuple[Because, ...]:
    return (Because(found.finding.at, f"`{found.rule.id}` is found here"),)


def _expired(held: _Held, found: Found) -> Found:
    finding = Finding(
        at=_at(held, "until"),
        message=f"`{held.deferral.by}` accepted `{held.deferral.rule}` until "
        f"{held.deferral.until}, and that day is past: the finding counts again.",
        do="Put right what was found and take the deferral out, or look at it anew and give it "
        "another day.",
        because=_because(found),
        fix=_take_out(held, "It is past its day: what it was about counts, with it or without."),
    )
    return Found(PACK, EXPIRED, finding, EXPIRED.severity, found.hold)


def _needs_second(held: _Held, found: Found) -> Found:
    same = "the second name is the first once more" if held.deferral.second else "no second name"
    finding = Finding(
        at=_at(held, "second") if held.deferral.second else held.place,
        message=f"`{held.deferral.rule}` is a warning that holds power-up, and is deferred by "
        f"`{held.deferral.by}` alone ({same}): it is not accepted. What may injure someone is "
        "not for one person to wave through.",
        do="Put right what was found, or let a second person look at it and add `second:` with "
        "their name.",
        because=_because(found),
    )
    return Found(PACK, NEEDS_SECOND, finding, NEEDS_SECOND.severity, NEEDS_SECOND.hold)


def _unused(held: _Held, judgement: Judgement, everything: tuple[Found, ...]) -> Iterator[Found]:
    """Yield a finding where the rule was judged and found nothing at the place named."""
    wanted, place = held.deferral.rule, held.deferral.at.strip()
    if any(crash.rule.id == wanted for crash in judgement.crashes):
        return  # a rule that failed may well have found it
    unjudged = [item.not_checked.at for item in judgement.unjudged if item.rule.id == wanted]
    if any(show_path(at.path) == place for at in unjudged):
        return  # what could not be judged may well be there
    why = _why_unused(wanted, place, judgement, everything)
    places = {show_path(one.finding.at.path) for one in everything if one.rule.id == wanted}
    # A rule or place that is misspelt is for its owner to correct.
    mended = wanted in judgement.rules and (not places or place in places)
    finding = Finding(
        at=held.place,
        message=f"This deferral takes nothing out. {why}",
        do="Take the deferral out, or name the rule and the place as the fix list gives them.",
        fix=_take_out(held, "It takes nothing out.") if mended else None,
    )
    yield Found(PACK, UNUSED, finding, UNUSED.severity, UNUSED.hold)


def _take_out(held: _Held, why: str) -> Fix:
    text = f"Takes this deferral out of the file. {why} Nothing is to be done on the aircraft."
    return Fix(text, (Edit("remove", held.place),))


def _why_unused(
    wanted: str, place: str, judgement: Judgement, everything: tuple[Found, ...]
) -> str:
    if any(own.id == wanted for own in PACK.rules):
        return "What is said about deferrals cannot be deferred."
    if wanted not in judgement.rules:
        from holdshort.setup.mistakes import did_you_mean  # noqa: PLC0415  - only a mistake pays

        return f"There is no rule `{wanted}`. {did_you_mean(wanted, judgement.rules)}".rstrip()
    places = [show_path(one.finding.at.path) for one in everything if one.rule.id == wanted]
    if place in places:
        return f"`{wanted}` finds one thing there for each deferral before this one."
    if places:
        shown = listed([f"`{one}`" for one in dict.fromkeys(places[:_MOST_PLACES])])
        return f"`{wanted}` finds nothing at `{place}`; it does at {shown}."
    return f"`{wanted}` finds nothing at `{place}`."
