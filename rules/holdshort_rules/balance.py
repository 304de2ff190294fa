"""Balance and mass: where the aircraft balances in every state, and what it may weigh."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from holdshort.api import (
    LENGTH,
    SHARE,
    Aircraft,
    Because,
    Clean,
    Finding,
    Hold,
    Need,
    NotChecked,
    Option,
    Outcome,
    Place,
    QuantityType,
    Severity,
    listed,
    rule,
)
from holdshort_rules.codes import CODES, Code, MassLimit
from holdshort_rules.sources import SOURCES

if TYPE_CHECKING:
    from holdshort.api import BalanceState, BalanceStudy

_FORWARD_WHY = (
    "Nose-heavy, it needs more up elevator than there may be to flare, and lands fast on its nose "
    "leg."
)
_AFT_WHY = (
    "Tail-heavy, it answers too much in pitch, and the farther aft the less it comes out of a "
    "stall by itself, until it cannot be flown."
)


@rule(
    "cg-outside-range",
    title="A centre of gravity outside its range, in any state of fuel and gear",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="balance",
    sources=("B1", "B2", "B3", "B4", "B5", "B6", "moments", "uncertainty"),
)
def cg_outside_range(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether the centre of gravity is inside its range in every state."""
    study = aircraft.balance
    if study is None:
        place = aircraft.setup.place("balance")
        yield NotChecked(place, "the balance: a weighing, the tanks and the range it may lie in")
        return
    for need in _gaps(study):
        yield NotChecked(need.place, need.text)
    known = study.known
    forward = [one for one in known if _before(one.forward_margin)]
    aft = [one for one in known if _before(one.aft_margin)]
    if forward:
        yield _outside(aircraft, study, forward, forward_limit=True)
    if aft:
        yield _outside(aircraft, study, aft, forward_limit=False)
    inside = [one for one in known if one not in forward and one not in aft]
    yield from _near(aircraft, study, inside)


def _before(margin: float | None) -> bool:
    return margin is not None and margin < 0.0


def _gaps(study: "BalanceStudy") -> tuple[Need, ...]:
    """Return what is missing to judge; landing has a rule of its own."""
    found: dict[Need, None] = {}
    for state in study.states:
        if state.name != "landing":
            found.update(dict.fromkeys((*state.needs, *state.limit_needs)))
    return tuple(found)


def _outside(
    aircraft: Aircraft, study: "BalanceStudy", states: Sequence["BalanceState"], *,
    forward_limit: bool,
) -> Finding:  # fmt: skip
    def beyond(state: "BalanceState") -> float:
        margin = state.forward_margin if forward_limit else state.aft_margin
        return -(margin or 0.0)

    words = study.words
    worst, *others = sorted(states, key=beyond, reverse=True)
    limits, where = worst.limits, "before the forward" if forward_limit else "behind the aft"
    found = words.station(worst.station) if worst.station else ""
    allowed = words.limits(limits) if limits else ""
    also = ""
    if others:
        names = listed(f"{one.title} ({words.length(beyond(one))})" for one in others)
        also = f" Also {where} limit: {names}."
    return Finding(
        at=worst.place,
        message=f"At {worst.title} it balances at {found}: {words.length(beyond(worst))} {where} "
        f"limit of its range, {allowed}.{also} {_FORWARD_WHY if forward_limit else _AFT_WHY}",
        do=_put_right(study),
        because=_reasons(aircraft, study, worst),
    )


def _put_right(study: "BalanceStudy") -> str:
    advice = study.best_advice()
    if not advice:
        return (
            "Move packs until every state is inside, then weigh it again. Give packs a mass and a "
            "station, and `holdshort show balance` says how far."
        )
    return f"{advice} Then weigh it again."


def _reasons(
    aircraft: Aircraft, study: "BalanceStudy", state: "BalanceState"
) -> tuple[Because, ...]:
    limits = state.limits
    key = "range" if study.balance.range is not None else "envelope"
    found: list[Because] = []
    if limits is not None:
        place = aircraft.setup.place("balance", key)
        mass = study.words.mass(state.mass.value) if state.mass else ""
        found.append(Because(place, f"at {mass} it may be from {study.words.limits(limits)}"))
    if state.fuel and study.balance.tanks:
        place = aircraft.setup.place("balance", "tanks")
        taken = ", taken to be kerosene of 0.80 kg/l" if study.fuel.assumed else ""
        found.append(Because(place, f"{state.fuel * 1e3:.2f} l of fuel are aboard{taken}"))
    return tuple(found)


def _near(
    aircraft: Aircraft, study: "BalanceStudy", inside: Sequence["BalanceState"]
) -> Iterator[Outcome]:
    """Judge states that are inside: whether by more than they are known."""
    unsure = [one for one in inside if _is_unsure(one)]
    blind = [one for one in inside if one.station is not None and one.station.spread is None]
    for state in inside:
        if state not in unsure and state not in blind:
            yield Clean(state.place)
    if blind:
        place = aircraft.setup.place("balance", "accuracy")
        margin = min(one.margin or 0.0 for one in blind)
        yield NotChecked(
            place,
            "how closely loads and stations are measured, to tell whether "
            f"{study.words.length(margin)} inside the range is inside",
        )
    if unsure:
        yield _too_near(aircraft, study, min(unsure, key=lambda one: one.margin or 0.0))


def _is_unsure(state: "BalanceState") -> bool:
    if state.station is None or state.station.spread is None or state.margin is None:
        return False
    return state.margin < state.station.spread


def _too_near(aircraft: Aircraft, study: "BalanceStudy", state: "BalanceState") -> Finding:
    words = study.words
    margin, station, limits = state.margin or 0.0, state.station, state.limits
    which = "forward" if state.forward_margin == state.margin else "aft"
    found = words.station(station) if station else ""
    allowed = words.limits(limits) if limits else ""
    return Finding(
        at=state.place,
        message=f"At {state.title} it balances at {found}: {words.length(margin)} inside the "
        f"{which} limit of its range, {allowed}, which is less than it was measured to. It may be "
        "outside.",
        do=f"Weigh it more closely, or bring it farther inside. {study.best_advice()}".strip(),
        because=_reasons(aircraft, study, state),
        severity=Severity.CAUTION,
    )


@rule(
    "cg-not-checked-at-landing-fuel",
    title="A balance at landing that cannot be worked out",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="balance",
    sources=("B2", "B3", "B4"),
)
def cg_not_checked_at_landing_fuel(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether an aircraft that carries fuel has its balance at landing worked out."""
    study = aircraft.balance
    if study is None or study.fuel.carried is False:
        return
    if study.fuel.carried is None:
        place = aircraft.setup.place("aircraft", "propulsion")
        yield NotChecked(place, "what propels it, or its tanks, to know whether it carries fuel")
        return
    landings = [state for state in study.states if state.name == "landing"]
    needs = dict.fromkeys(need for state in landings for need in (*state.needs, *state.limit_needs))
    if not needs:
        yield from (Clean(state.place) for state in landings)
        return
    missing = list(needs)
    unread = [need for need in missing if _is_unread(aircraft, need)]
    if unread:
        yield from (NotChecked(need.place, need.text) for need in unread)
        return
    told = listed(need.text for need in missing)
    yield Finding(
        at=missing[0].place,
        message=f"Where it balances at landing is not known: it needs {told}. Burning fuel moves "
        "the centre of gravity away from the tank in use, so that an aircraft that balances at "
        "take-off may be outside its range when it comes in, slow and low.",
        do=f"Declare {told}.",
        because=tuple(Because(need.place, f"missing: {need.text}") for need in missing[1:]),
    )


def _is_unread(aircraft: Aircraft, need: Need) -> bool:
    """True where what is missing is there, with a mistake of form."""
    return any(need.place.path[: len(path)] == path for path in aircraft.setup.broken)


@rule(
    "weighed-before-change",
    title="A weighing older than something that was moved or fitted",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="balance",
    sources=("B7",),
)
def weighed_before_change(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether the weighing is newer than what was changed, or the changes are worked in."""
    study = aircraft.balance
    if study is None:
        return
    for section in ("weighings", "changes", "items", "gear"):
        hurt = aircraft.setup.broken_under("balance", section)
        if hurt is not None:
            place = aircraft.setup.place(*hurt)
            yield NotChecked(place, f"the entry in `{section}` with a mistake of form")
            return
    stale = {one.weighing for one in study.stale}
    for name in study.weighings:
        if name not in stale:
            yield Clean(aircraft.setup.place("balance", "weighings", name))
    for one in study.stale:
        place = aircraft.setup.place("balance", "weighings", one.weighing, "on")
        yield Finding(
            at=one.place,
            message=f"`{one.name}` was fitted or moved on {one.day}, after the aircraft was "
            f"weighed on {one.weighed}. The balance that is worked out is that of before.",
            do=f"Weigh it again, or declare what was done to `{one.name}` under "
            f"`balance.changes`, by that name or with `of: {one.name}`: its mass, and where it was "
            "taken from and put.",
            because=(Because(place, f"`{one.weighing}` was on {one.weighed}"),),
        )


_SIDEWAYS = Option(
    "cg-off-centre-line",
    "most",
    "5 mm",
    QuantityType(LENGTH, zero=True),
    "how far off the centre line the balance may be where `balance.sideways` does not say",
)


@rule(
    "cg-off-centre-line",
    title="A centre of gravity off the centre line",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="balance",
    sources=("practice", "moments"),
    options=(_SIDEWAYS,),
)
def cg_off_centre_line(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge how far to the side the centre of gravity lies, in the worst state."""
    study = aircraft.balance
    if study is None:
        return
    states = [state for state in study.states if state.mass is not None]
    needs = dict.fromkeys(need for state in states for need in state.side_needs)
    hurt = aircraft.setup.broken_under("balance", "sideways")
    if hurt is not None:
        yield NotChecked(aircraft.setup.place(*hurt), "`sideways` without its mistake of form")
        return
    if needs:
        told = listed(dict.fromkeys(need.text for need in needs))
        yield NotChecked(next(iter(needs)).place, told)
        return
    if states:
        yield _sideways(aircraft, study, states)


def _sideways(
    aircraft: Aircraft, study: "BalanceStudy", states: Sequence["BalanceState"]
) -> Outcome:
    own, most = study.balance.sideways, _SIDEWAYS.of(aircraft)
    left, right = (own.left, own.right) if own is not None else (most, most)

    def beyond(state: "BalanceState") -> float:
        side = state.side.value if state.side else 0.0
        return max(side - right, -side - left)

    def spread(state: "BalanceState") -> float:
        return (state.side.spread if state.side else None) or 0.0

    worst = max(states, key=lambda state: beyond(state) + spread(state))
    if worst.side is None or beyond(worst) + spread(worst) <= 0.0:
        return Clean(worst.place)
    unsure = beyond(worst) <= 0.0
    words = study.words
    to_right = worst.side.value > 0.0
    off = words.reckoned(worst.side._replace(value=abs(worst.side.value)))
    says = (
        Because(aircraft.setup.place("balance", "sideways"), "declared here"),
    ) if own is not None else ()  # fmt: skip
    return Finding(
        at=worst.place,
        message=f"At {worst.title} it balances {off} to the {'right' if to_right else 'left'} of "
        f"the centre line; {words.length(right if to_right else left)} is allowed"
        f"{', and it is not measured closely enough to tell' if unsure else ''}. One wing is "
        "heavier: held up with aileron at one speed it drops at another, first of all near the "
        "stall.",
        do=_level(study, worst),
        because=says,
        severity=Severity.NOTE if unsure else None,
    )


def _level(study: "BalanceStudy", state: "BalanceState") -> str:
    """Say what brings the balance of a state onto the centre line: mass times the way it goes."""
    off, mass = (state.side.value if state.side else 0.0), (state.mass.value if state.mass else 0.0)
    moment = mass * abs(off)
    light = "left" if off > 0.0 else "right"
    return (
        f"Move a pack to the {light}, or put weight on the {light} wing tip, and weigh it again. "
        f"To the centre line it takes {study.words.mass(moment)} at 1 m from it, and twice that at "
        "half a metre."
    )


_DIFFERENCE = Option(
    "mass-differs",
    "most",
    "2 %",
    QuantityType(SHARE, zero=True),
    "how much the declared mass may differ from what was weighed",
)


@rule(
    "mass-differs",
    title="A declared mass that is not the one weighed",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="balance",
    sources=("practice",),
    options=(_DIFFERENCE,),
)
def mass_differs(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether `aircraft.mass` is what the weighing and the tanks add up to."""
    study, declared = aircraft.balance, aircraft.setup.aircraft
    if study is None or declared is None or declared.mass is None:
        return
    for key, said, found in (
        ("dry", declared.mass.dry, study.empty_mass),
        ("ready", declared.mass.ready, study.flying_mass),
    ):
        if said is None:
            continue
        place = aircraft.setup.place("aircraft", "mass", key)
        if found is None:
            need = _why_no_mass(study)
            yield NotChecked(need.place, need.text)
        else:
            yield _compared(aircraft, study, place, said, found.value)


def _why_no_mass(study: "BalanceStudy") -> Need:
    needs = [need for state in study.states if state.mass is None for need in state.needs]
    place = study.bases["down"].place
    return needs[0] if needs else Need(place, "loads that add up to more than nothing")


def _compared(
    aircraft: Aircraft, study: "BalanceStudy", place: Place, said: float, found: float
) -> Outcome:
    most = _DIFFERENCE.of(aircraft)
    difference = abs(said - found) / found
    if difference <= most:
        return Clean(place)
    words, dry = study.words, place.path[-1] == "dry"
    state = "with empty tanks" if dry else "ready to fly"
    return Finding(
        at=place,
        message=f"Declared are {words.mass(said)} {state}, but what was weighed adds up to "
        f"{words.mass(found)}: {difference * 100:.1f} % off, and {most.text} is allowed. What is "
        "judged by the mass (codes, packs, the load on controls) is judged by the wrong one, or "
        "something was left out of the weighing.",
        do=f"Find out which is wrong: weigh it again, or declare {words.mass(found)}.",
        because=(Because(study.bases["down"].place, "what was weighed"),),
    )


@rule(
    "over-mass-for-code",
    title="More mass than a followed code takes without more ado",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="balance",
    sources=("T17", "F17", "P7", "P11", "P14", "P15"),
)
def over_mass_for_code(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge the mass against what each followed code says about it."""
    for name in aircraft.setup.follows:
        code = CODES[name]
        if code.masses:
            yield _by_code(aircraft, code)


def _by_code(aircraft: Aircraft, code: Code) -> Outcome:
    setup = aircraft.setup
    dry = code.masses[0].dry
    mass, place = _mass(aircraft, dry=dry)
    at = setup.code_places.get(code.id, place)
    if mass is None:
        return NotChecked(place, f"the mass {'dry' if dry else 'ready to fly'}, for {code.title}")
    over = [limit for limit in code.masses if _is_over(mass, limit)]
    propulsion = setup.aircraft.propulsion if setup.aircraft else None
    if propulsion is None and any(limit.engines for limit in over):
        return NotChecked(
            setup.place("aircraft", "propulsion"), f"what propels it, for {code.title}"
        )
    over = [limit for limit in over if not limit.engines or propulsion in limit.engines]
    if not over:
        return Clean(place)
    return _over(place, at, code, max(over, key=lambda limit: limit.above), mass)


def _is_over(mass: float, limit: MassLimit) -> bool:
    return mass >= limit.above if limit.reached else mass > limit.above


def _mass(aircraft: Aircraft, *, dry: bool) -> tuple[float | None, Place]:
    """Return the mass as weighed, or else as declared, and where it stands."""
    study = aircraft.balance
    weighed = None if study is None else study.empty_mass if dry else study.flying_mass
    if study is not None and weighed is not None:
        return weighed.value, study.bases["down"].place
    place = aircraft.setup.place("aircraft", "mass", "dry" if dry else "ready")
    declared = aircraft.setup.aircraft.mass if aircraft.setup.aircraft else None
    if declared is None:
        return None, place
    return declared.dry if dry else declared.ready, place


def _over(place: Place, at: Place, code: Code, limit: MassLimit, mass: float) -> Finding:
    source = SOURCES[limit.source]
    state = "dry" if limit.dry else "ready to fly"
    limit_words = f"{'from' if limit.reached else 'above'} {limit.above:g} kg"
    covered = (
        f"{code.title} has {limit.words}"
        if limit.outside
        else f"{limit_words} {code.title} asks for {limit.words}"
    )
    do = (
        "Take mass off, or fly it by another code and declare that one."
        if limit.outside
        else "Get what the code asks for, and defer this with its number and date, or take mass "
        "off."
    )
    return Finding(
        at=place,
        message=f"It has {mass:.2f} kg {state}, and {covered} ({source.text}; {source.confidence})."
        " Whoever flies it without that may be uninsured, and the strength of the airframe was "
        "never looked at by anyone else.",
        do=do,
        because=(Because(at, f"{code.title} is followed"),),
        severity=None if limit.outside else Severity.CAUTION,
    )


RULES = (
    cg_outside_range,
    cg_not_checked_at_landing_fuel,
    weighed_before_change,
    cg_off_centre_line,
    mass_differs,
    over_mass_for_code,
)
