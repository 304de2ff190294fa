"""Sign-offs: what was tested, in which order, and what has changed since."""

from collections.abc import Iterator
from datetime import date
from typing import TYPE_CHECKING, Final

from holdshort.api import (
    CARD_NAMES,
    DAYS,
    Aircraft,
    Because,
    Clean,
    Finding,
    Hold,
    NotChecked,
    Observation,
    Option,
    Outcome,
    Place,
    QuantityType,
    Severity,
    counted,
    listed,
    plural,
    rule,
)

if TYPE_CHECKING:
    from holdshort.api import Judged, KnownTest, Signed

SECTION: Final = "sign-offs"
HOLDS: Final = {hold.word: hold for hold in Hold}
_MOST: Final = 6
OWN_RULE: Final = "failsafe engine running"
"""The test whose absence has a rule of its own, `failsafe-test-engine-running`."""


def _signs(aircraft: Aircraft) -> bool:
    """Tell whether the file has sign-offs that can be judged: a first draft has none."""
    setup = aircraft.setup
    return SECTION in setup.sections and (SECTION,) not in setup.broken


def standings(aircraft: Aircraft) -> "tuple[Judged, ...]":
    """Return what each test that applies stands at; nothing in a file that signs for none."""
    return aircraft.evidence.standings if _signs(aircraft) else ()


def latest(aircraft: Aircraft) -> "Iterator[tuple[KnownTest, Signed]]":
    """Yield each test that applies and is signed, with its latest sign-off."""
    for judged in standings(aircraft):
        if judged.signed is not None:
            yield judged.test, judged.signed


def sign_command(test: "KnownTest") -> str:
    """Return how messages give the command that signs for a test."""
    return f"`holdshort sign FILE {test.name}`"


def _names(names: "tuple[str, ...] | list[str]") -> str:
    return listed([f"`{name}`" for name in names])


def _falling(aircraft: Aircraft, test: "KnownTest") -> tuple[str, ...]:
    """Return the signed tests that rest on one, which count no more with it."""
    evidence = aircraft.evidence
    return tuple(name for name in evidence.resting_on(test.name) if evidence.signed(name))


def _with(aircraft: Aircraft, test: "KnownTest") -> tuple[str, Hold]:
    """Return what falls with a test, in words, and the first hold point that any of it unlocks."""
    evidence = aircraft.evidence
    names = _falling(aircraft, test)
    hold = min([HOLDS[test.before], *(HOLDS[evidence.tests[name].before] for name in names)])
    if not names:
        return "", hold
    return f" With it {plural(len(names), 'falls', 'fall')} {_names(names)}.", hold


@rule(
    "sign-off-missing",
    title="A test that nobody has signed for",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="evidence",
    sources=(
        "part-e", "S1", "G7", "G9", "G15", "G24", "G30", "F22", "F30", "P37", "P39", "B7", "R3",
        "R8", "R9", "R10", "T1", "T2", "T5", "T6",
    ),
)  # fmt: skip
def sign_off_missing(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether each test that applies is signed for, once the file signs for any."""
    setup = aircraft.setup
    if SECTION not in setup.sections:
        yield NotChecked(
            setup.place(SECTION),
            "`sign-offs`: which tests were done, as `holdshort sign` writes them down",
        )
        return
    hurt = _unreadable(aircraft)
    if hurt is not None:
        yield hurt
    for judged in standings(aircraft):
        if judged.signed is not None:
            yield Clean(judged.signed.at)
        elif hurt is None and judged.test.name != OWN_RULE:
            yield _missing(aircraft, judged.test)


def _unreadable(aircraft: Aircraft) -> NotChecked | None:
    """Return what is missing where a sign-off cannot be read: any test might be signed there."""
    hurt = aircraft.setup.broken_under(SECTION)
    if hurt is None:
        return None
    return NotChecked(aircraft.setup.place(*hurt), "this sign-off without a mistake of form")


def _missing(aircraft: Aircraft, test: "KnownTest") -> Finding:
    evidence = aircraft.evidence
    first = [name for name in test.after if name in evidence.tests and not evidence.signed(name)]
    before = f" First comes {_names(first)}." if first else ""
    cards = f" The bench cards have it step by step.{before}" if test.cards else before
    second = " with a second person" if test.second else ""
    return Finding(
        at=aircraft.setup.place(SECTION, test.name),
        message=f"`{test.name}` is not signed for: {_lower(test.title)}. Why: {test.reason}.",
        do=f"Do it{second}, and sign with {sign_command(test)}.{cards}",
        hold=HOLDS[test.before],
    )


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


@rule(
    "sign-off-void",
    title="A sign-off whose proof has changed since",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="evidence",
    sources=("part-e", "F26"),
)
def sign_off_void(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether the setup still says what the latest sign-off of each test proved."""
    for judged in standings(aircraft):
        signed = judged.signed
        if signed is None or signed.sign_off.outcome == "failed":
            continue
        if judged.standing == "void":
            yield _void(aircraft, judged, signed)
        elif judged.standing == "changed by hand":
            yield _by_hand(aircraft, judged, signed)
        else:
            yield Clean(signed.at)


def _void(aircraft: Aircraft, judged: "Judged", signed: "Signed") -> Finding:
    shown = [change.words for change in judged.changes[:_MOST]]
    more = len(judged.changes) - len(shown)
    rest = f"; and {more} more" if more else ""
    falls, hold = _with(aircraft, judged.test)
    return Finding(
        at=signed.at,
        message=f"`{judged.test.name}` was passed on {signed.sign_off.on}, and what it proved has "
        f"changed: {'; '.join(shown)}{rest}. It proves nothing of the aircraft as it is now."
        f"{falls}",
        do=f"Do it again and sign with {sign_command(judged.test)}, or put back what was changed.",
        hold=hold,
    )


def _by_hand(aircraft: Aircraft, judged: "Judged", signed: "Signed") -> Finding:
    sign_off = signed.sign_off
    falls, hold = _with(aircraft, judged.test)
    if sign_off.proved is None:
        why = "holds nothing of what it proved"
    elif sign_off.fingerprint is None:
        why = "has no fingerprint of what it proved"
    else:
        why = "has been changed by hand: its fingerprint does not fit what it says it proved"
    return Finding(
        at=signed.at,
        message=f"The sign-off of `{judged.test.name}` of {sign_off.on} {why}. There is no telling "
        f"what was tested then, so it does not count.{falls}",
        do=f"Do the test again and sign with {sign_command(judged.test)}, which writes all down.",
        hold=hold,
    )


@rule(
    "sign-off-failed",
    title="A test that was last failed",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="evidence",
    sources=("practice",),
)
def sign_off_failed(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether the latest sign-off of each test is a pass."""
    for test, signed in latest(aircraft):
        sign_off = signed.sign_off
        if sign_off.outcome == "passed":
            yield Clean(signed.at)
            continue
        falls, hold = _with(aircraft, test)
        noted = f" Noted then: {sign_off.note}" if sign_off.note else ""
        yield Finding(
            at=signed.at,
            message=f"`{test.name}` was last failed, on {sign_off.on} by {sign_off.by}. "
            f"Why it is done: {test.reason}.{falls}{noted}",
            do=f"Put right what failed, do it again, and sign with {sign_command(test)}.",
            hold=hold,
        )


@rule(
    "sign-off-out-of-order",
    title="A test signed before one that it rests on",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="evidence",
    sources=("part-e",),
)
def sign_off_out_of_order(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether all that a test rests on had been passed by its day."""
    for judged in standings(aircraft):
        signed = judged.signed
        if signed is None:
            continue
        if judged.standing in {"out of order", "dated in the future"}:
            yield _early(aircraft, judged, signed)
            continue
        unsigned = [name for name in judged.earlier if not aircraft.evidence.signed(name)]
        if judged.standing == "falls with an earlier one" and unsigned:
            groundless = _groundless(aircraft, judged, signed, unsigned)
            yield _unreadable(aircraft) or groundless
        elif judged.standing.counts:
            yield Clean(signed.at)


def _early(aircraft: Aircraft, judged: "Judged", signed: "Signed") -> Finding:
    falls, hold = _with(aircraft, judged.test)
    day, name = signed.sign_off.on, judged.test.name
    if judged.standing == "dated in the future":
        message = f"`{name}` is signed for {day}, which is still to come.{falls}"
        do = f"Do it, and sign with {sign_command(judged.test)} on the day."
    else:
        message = (
            f"`{name}` was signed on {day}, before {_names(judged.earlier)} had been passed as the "
            f"aircraft is now. It rests on that: {judged.test.reason}.{falls}"
        )
        do = f"Do it again, and sign with {sign_command(judged.test)}."
    return Finding(at=signed.at, message=message, do=do, hold=hold)


def _groundless(
    aircraft: Aircraft, judged: "Judged", signed: "Signed", unsigned: list[str]
) -> Finding:
    falls, hold = _with(aircraft, judged.test)
    are = plural(len(unsigned), "is", "are")
    return Finding(
        at=signed.at,
        message=f"`{judged.test.name}` was signed on {signed.sign_off.on}, and {_names(unsigned)}, "
        f"which it rests on, {are} not signed at all.{falls}",
        do=f"Do {_names(unsigned)} first, then this one again; sign for each.",
        hold=hold,
    )


DAY_OF_FLYING: Final = Option(
    "sign-off-expired",
    "day-of-flying",
    "0 days",
    QuantityType(DAYS, zero=True),
    "for how many days a test that belongs to the day of flying is good",
    source="F22",
)


@rule(
    "sign-off-expired",
    title="A sign-off that is too old",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="evidence",
    sources=("F22", "R11", "R14"),
    options=(DAY_OF_FLYING,),
)
def sign_off_expired(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether tests that belong to the day of flying, or have a term, are recent enough."""
    if aircraft.today is None:
        return
    for judged in standings(aircraft):
        signed, limit = judged.signed, aircraft.evidence.age_limit(judged.test)
        if signed is None or limit is None:
            continue
        if judged.standing == "too old":
            yield _expired(aircraft, judged, signed, limit)
        elif judged.standing == "valid":
            yield Clean(signed.at)


def _expired(aircraft: Aircraft, judged: "Judged", signed: "Signed", limit: float) -> Finding:
    test, age = judged.test, judged.age or 0
    last = "on the day of flying" if not limit else f"every {counted(int(limit), 'day')}"
    again = "on the day" if not limit else "now"
    return Finding(
        at=signed.at,
        message=f"`{test.name}` was last done on {signed.sign_off.on}, {counted(age, 'day')} "
        f"before {(aircraft.today or date.min).isoformat()}; it is to be done {last}. "
        f"Why: {test.reason}.",
        do=f"Do it {again}, and sign with {sign_command(test)}.",
        hold=HOLDS[test.before],
    )


@rule(
    "signed-by-one-person",
    title="A test for two people signed by one",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="evidence",
    sources=("G7", "G8"),
)
def signed_by_one_person(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether tests that call for a second pair of eyes name a second person."""
    for test, signed in latest(aircraft):
        sign_off = signed.sign_off
        if not test.second or sign_off.outcome != "passed":
            continue
        second = _folded(sign_off.second or "")
        if second and second != _folded(sign_off.by):
            yield Clean(signed.at)
            continue
        why = "the second name is the first once more" if second else "nobody else is named"
        yield Finding(
            at=signed.at,
            message=f"`{test.name}` was signed by {sign_off.by} alone ({why}). Whoever rigged a "
            "control sees what was meant, and a reversed one looks right.",
            do="Let a second person read out loud what moves which way, and sign again with "
            f"{sign_command(test)} and `--second`.",
            hold=HOLDS[test.before],
        )


def _folded(name: str) -> str:
    return " ".join(name.split()).casefold()


@rule(
    "signed-against-observation",
    title="A test signed as passed against what was seen",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="evidence",
    sources=("G7", "G8"),
)
def signed_against_observation(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge passed direction tests against what was last seen on their bench cards."""
    last = {entry.card: (place, entry) for place, entry in _observed(aircraft)}
    for test, signed in latest(aircraft):
        if signed.sign_off.outcome != "passed":
            continue
        own = [last[card] for card in last if test.takes_card(card)]
        wrong = [(place, entry) for place, entry in own if entry.seen != "as it must"]
        if wrong:
            cards = listed([f"`{entry.card}` ({entry.seen}, {entry.on})" for _, entry in wrong])
            yield Finding(
                at=signed.at,
                message=f"`{test.name}` was signed as passed on {signed.sign_off.on}, and last "
                f"seen on its {plural(len(wrong), 'card')} was: {cards}. Both cannot be.",
                do="Follow those cards again, write down what is seen, and sign for what is true.",
                because=tuple(Because(place, f"seen: {entry.seen}") for place, entry in wrong),
                hold=HOLDS[test.before],
            )
        elif own:
            yield Clean(signed.at)


def _observed(aircraft: Aircraft) -> Iterator[tuple[Place, Observation]]:
    """Yield what was seen on cards of directions, oldest first."""
    found = [one for one in aircraft.setup.observations if one[1].card in CARD_NAMES]
    yield from sorted(found, key=_day_seen)


def _day_seen(one: tuple[Place, Observation]) -> str:
    return one[1].on


@rule(
    "sign-off-of-unknown-test",
    title="A sign-off of a test that is not known",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="evidence",
    sources=("practice",),
)
def sign_off_of_unknown_test(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether each sign-off names a test of the trade or of the hangar file."""
    if not _signs(aircraft):
        return
    unknown = {signed.at for signed in aircraft.evidence.unknown}
    for at, sign_off in aircraft.setup.sign_offs:
        if at in unknown:
            yield Finding(
                at=Place(at.file, (*at.path, "test")),
                message=f"`{sign_off.test}` is not a test of the trade, nor of the hangar file: "
                "this sign-off stands for nothing.",
                do="Name the test as `holdshort sign FILE` lists it, or add it to the hangar file "
                "under `tests`.",
            )
        else:
            yield Clean(at)


RULES = (
    sign_off_missing,
    sign_off_void,
    sign_off_failed,
    sign_off_out_of_order,
    sign_off_expired,
    signed_by_one_person,
    signed_against_observation,
    sign_off_of_unknown_test,
)
