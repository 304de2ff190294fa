"""Which way the surfaces go: for the sticks, for the gyro, and as seen on the bench."""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from holdshort.api import (
    CARD_NAMES,
    HAND_CARDS,
    STICK_CARDS,
    ActualMovement,
    Aircraft,
    Axis,
    Because,
    Clean,
    ExpectedSurface,
    Finding,
    Fitted,
    Hold,
    Mix,
    Need,
    NotChecked,
    Observation,
    Outcome,
    Place,
    Severity,
    Shove,
    Verdict,
    actual_movements,
    control_function,
    expected_movements,
    is_steered,
    listed,
    plural,
    rule,
)

_FIRST_CARDS = {card for card, (_, sign) in (*HAND_CARDS.items(), *STICK_CARDS.items()) if sign > 0}


def _judged(aircraft: Aircraft, *, hand: bool) -> list[ActualMovement]:
    """Return the movements for one sign of each turn: the other sign is its mirror image."""
    cards = HAND_CARDS if hand else STICK_CARDS
    return [
        movement
        for movement in actual_movements(aircraft)
        if movement.card in cards and movement.card in _FIRST_CARDS
    ]


def _unknown(needs: Iterable[Need]) -> Iterator[NotChecked]:
    """Yield each missing fact once, however many surfaces want it."""
    for need in dict.fromkeys(needs):
        yield NotChecked(need.place, need.text)


def _needs(surfaces: Iterable[ExpectedSurface]) -> Iterator[Need]:
    for surface in surfaces:
        yield from surface.needs


def _without_surfaces(aircraft: Aircraft, *, wanted: bool) -> Iterator[NotChecked]:
    if wanted and not aircraft.setup.surfaces:
        place = aircraft.setup.place("surfaces")
        yield NotChecked(place, "the surfaces, and the servos that move them")


def _because(movements: Iterable[ActualMovement]) -> tuple[Because, ...]:
    return tuple(dict.fromkeys(link for movement in movements for link in movement.because))


def _comparison(movement: ActualMovement) -> str:
    return (
        f"`{movement.surface}` moves the wrong way for {movement.card} ({movement.words}, not "
        f"{movement.expected.words})"
    )


@rule(
    "stick-reversed",
    title="A stick that moves a surface the wrong way",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="directions",
    sources=("part-b", "G8", "G21"),
)
def stick_reversed(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether each stick moves each surface the way that makes the turn it asks for."""
    movements = _judged(aircraft, hand=False)
    steered = [entry for entry in aircraft.setup.channels.values() if is_steered(entry)]
    yield from _without_surfaces(aircraft, wanted=bool(steered))
    yield from _unknown(_needs(expected_movements(aircraft.setup)))
    yield from _unknown(movement.need for movement in movements if movement.need)
    fighting = _fighting(aircraft)
    by_channel: dict[int | None, list[ActualMovement]] = {}
    for movement in movements:
        if movement.verdict is Verdict.RIGHT:
            yield Clean(aircraft.setup.place("surfaces", movement.surface))
        if movement.servo not in fighting and movement.verdict is not Verdict.UNKNOWN:
            by_channel.setdefault(movement.channel, []).append(movement)
    wrong: dict[Place, list[ActualMovement]] = {}
    for group in by_channel.values():
        for place, movement in _to_change(aircraft, group):
            wrong.setdefault(place, []).append(movement)
    for place, group in wrong.items():
        yield _wrong_stick(aircraft, place, group)


def _to_change(
    aircraft: Aircraft, group: list[ActualMovement]
) -> Iterator[tuple[Place, ActualMovement]]:
    """Yield each reversed movement of one channel with the declaration to change.

    The channel where all that it moves is reversed, else the mix that moves that surface, else the
    surface.
    """
    turned = [movement for movement in group if movement.verdict is Verdict.REVERSED]
    for movement in turned:
        entry = aircraft.setup.channels.get(movement.channel or 0)
        if entry is not None and len(turned) == len(group):
            yield entry.place, movement
        else:
            place = aircraft.setup.place("surfaces", movement.surface)
            yield _mix_place(movement) or place, movement


def _mix_place(movement: ActualMovement) -> Place | None:
    return next((link.place for link in movement.because if "mixes" in link.place.path), None)


def _wrong_stick(aircraft: Aircraft, place: Place, group: list[ActualMovement]) -> Finding:
    learned = any(
        gyro.part.kind == "gyro" and gyro.part.correction == "learned"
        for gyro in aircraft.setup.of_kind("gyro")
    )
    again = " Then teach the gyro again." if learned else ""
    return Finding(
        at=place,
        message=f"By what is declared, {listed(dict.fromkeys(map(_comparison, group)))}. An "
        "aircraft with a reversed control is lost as soon as it leaves the ground.",
        do=f"{_stick_advice(place, group)}{again} Check every stick with a second person reading "
        "the movements out loud.",
        because=_because(group),
    )


def _stick_advice(place: Place, group: list[ActualMovement]) -> str:
    if "mixes" in place.path:
        return "Look at the aircraft; if it moves so, change the sign of that mix."
    if "channels" in place.path:
        number = group[0].channel
        return f"Look at the aircraft; if it moves so, reverse channel {number} in the transmitter."
    servos = listed(dict.fromkeys(f"`{movement.servo}`" for movement in group))
    return f"Look at the aircraft; if it moves so, reverse the output that {servos} hangs on."


@rule(
    "correction-reversed",
    title="A gyro that corrects the wrong way",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="gyro",
    sources=("part-b", "G24", "G25", "G26", "G27"),
)
def correction_reversed(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether each correction opposes the turn that it is for."""
    movements = _judged(aircraft, hand=True)
    yield from _without_surfaces(aircraft, wanted=bool(aircraft.setup.of_kind("gyro")))
    needs = _needs(s for s in expected_movements(aircraft.setup) if s.steadied_in)
    yield from _unknown(needs)
    yield from _unknown(movement.need for movement in movements if movement.need)
    by_axis: dict[tuple[str, Axis], list[ActualMovement]] = {}
    fighting = _fighting(aircraft)
    for movement in movements:
        if movement.expected.way and movement.gyro and movement.servo not in fighting:
            by_axis.setdefault((movement.gyro, movement.axis), []).append(movement)
    for (gyro, axis), group in by_axis.items():
        yield from _corrections(aircraft, aircraft.setup.devices[gyro], axis, group)


def _corrections(
    aircraft: Aircraft, gyro: Fitted, axis: Axis, group: list[ActualMovement]
) -> Iterator[Outcome]:
    known = [movement for movement in group if movement.verdict is not Verdict.UNKNOWN]
    for movement in known:
        if movement.verdict is Verdict.RIGHT:
            yield Clean(aircraft.setup.place("surfaces", movement.surface))
    wrong = [movement for movement in known if movement.verdict is not Verdict.RIGHT]
    belief = aircraft.senses.belief(gyro, axis)
    if wrong and not isinstance(belief, Need) and (belief.driven_by, belief.sign) != (axis, 1):
        yield NotChecked(
            gyro.at("told"),
            f"a `told` mounting that agrees with how `{gyro.name}` sits: it is wrong in {axis}",
        )
        return
    by_stick = _reversed_sticks(aircraft)
    own = [movement for movement in wrong if (movement.servo, axis) not in by_stick]
    learned = gyro.part.kind == "gyro" and gyro.part.correction == "learned"
    if learned and len(own) < len(wrong):
        yield NotChecked(
            gyro.at("taught"),
            f"the {axis} stick put right first: `{gyro.name}` learned its sense from it",
        )
    wrong = own if learned else wrong
    if wrong and len(wrong) == len(known):
        yield _wrong_axis(gyro, axis, wrong)
        return
    for surface in dict.fromkeys(movement.surface for movement in wrong):
        mine = [movement for movement in wrong if movement.surface == surface]
        yield _wrong_output(aircraft, gyro, axis, mine)


def _reversed_sticks(aircraft: Aircraft) -> set[tuple[str, Axis]]:
    return {
        (movement.servo, movement.axis)
        for movement in _judged(aircraft, hand=False)
        if movement.verdict is Verdict.REVERSED
    }


_ADDS = "It adds to every disturbance instead of damping it; the aircraft can be lost at lift-off."


def _wrong_axis(gyro: Fitted, axis: Axis, wrong: list[ActualMovement]) -> Finding:
    flag = (gyro.device.directions or {}).get(axis, "normal")
    other = "reversed" if flag == "normal" else "normal"
    texts = listed(dict.fromkeys(map(_comparison, wrong)))
    return Finding(
        at=gyro.at("directions", axis),
        message=f"`{gyro.name}` corrects the wrong way in {axis}: {texts}. {_ADDS}",
        do=f"Set `{gyro.name}` to {other} in {axis}, then turn the airframe by hand and watch the "
        "first movement.",
        because=_because(wrong),
    )


def _wrong_output(
    aircraft: Aircraft, gyro: Fitted, axis: Axis, wrong: list[ActualMovement]
) -> Finding:
    surface = wrong[0].surface
    servos = listed(dict.fromkeys(f"`{movement.servo}`" for movement in wrong))
    return Finding(
        at=aircraft.setup.place("surfaces", surface),
        message=f"`{gyro.name}` corrects `{surface}` the wrong way in {axis} and others the right "
        f"way: {listed(dict.fromkeys(map(_comparison, wrong)))}. {_ADDS}",
        do=f"Reverse the output of {servos} in the gyro, then its channel in the transmitter, so "
        "that the stick stays right. Check both on the bench.",
        because=_because(wrong),
    )


class Fight(NamedTuple):
    """Servos of one surface that go one way, those that go the other, and why."""

    surface: str
    one: tuple[str, ...]
    other: tuple[str, ...]
    because: tuple[Because, ...]


def _fighting(aircraft: Aircraft) -> set[str]:
    """Return the servos that fight another one: their directions are told of as a fight."""
    found = [_opposed(aircraft, twins) for twins in aircraft.senses.twins()]
    fights = [fight for fight in found if isinstance(fight, Fight)]
    return {servo for fight in fights for servo in (*fight.one, *fight.other)}


def _opposed(aircraft: Aircraft, twins: tuple[Shove, ...]) -> Fight | Need | None:
    """Return how the servos of one surface oppose each other, None where they agree."""
    name = twins[0].surface.name
    declared = aircraft.setup.surfaces[name]
    if declared.mirrored is None and declared.longer_pulse is None:
        place = aircraft.setup.place("surfaces", name)
        return Need(place, f"which servos of `{name}` sit `mirrored`, and its `longer-pulse`")
    axes: tuple[Axis | None, ...] = twins[0].surface.steered_in or (None,)
    for axis in axes:
        ways: dict[int, list[str]] = {}
        because: tuple[Because, ...] = ()
        for twin in twins:
            sense = aircraft.senses.relative_sense(twin, axis)
            if isinstance(sense, Need):
                return sense
            whole = sense.then(aircraft.senses.mirrored_sense(twin))
            ways.setdefault(whole.sign, []).append(twin.servo)
            because = (*because, *whole.because)
        if len(ways) > 1:
            one, other = map(tuple, ways.values())
            return Fight(name, one, other, tuple(dict.fromkeys(because)))
    return None


@rule(
    "servos-fight",
    title="Servos on one surface that push against each other",
    severity=Severity.WARNING,
    hold=Hold.POWER_UP,
    subject="directions",
    sources=("practice",),
)
def servos_fight(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether all servos of one surface push it the same way."""
    for twins in aircraft.senses.twins():
        name = twins[0].surface.name
        found = _opposed(aircraft, twins)
        if found is None:
            yield Clean(aircraft.setup.place("surfaces", name, "servo"))
        elif isinstance(found, Need):
            yield NotChecked(found.place, found.text)
        else:
            yield _fight(aircraft, found)


def _fight(aircraft: Aircraft, found: Fight) -> Finding:
    first, second = _pushing(found.one, "one way"), _pushing(found.other, "the other")
    others = listed(f"`{servo}`" for servo in found.other)
    return Finding(
        at=aircraft.setup.place("surfaces", found.surface, "servo"),
        message=f"On `{found.surface}`, {first} while {second}. Both stall, take their full "
        "current, and break gears, horn or hinge.",
        do=f"Take the arms off, reverse the output of {others}, or declare it under `mirrored` "
        "where it sits mirrored; fit the arms again when both move together.",
        because=found.because,
    )


def _pushing(servos: tuple[str, ...], way: str) -> str:
    return (
        f"{listed(f'`{servo}`' for servo in servos)} {plural(len(servos), 'pushes', 'push')} {way}"
    )


@rule(
    "surface-bypasses-gyro",
    title="A surface that should be steadied and whose servo is not behind the gyro",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="gyro",
    sources=("practice",),
)
def surface_bypasses_gyro(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether the signal of each steadied surface goes through a gyro of that axis."""
    setup = aircraft.setup
    yield from _without_surfaces(aircraft, wanted=bool(setup.of_kind("gyro")))
    for shove in aircraft.senses.shoves:
        if not shove.surface.steadied_in:
            continue
        if shove.end is None:
            need = aircraft.senses.unled(shove)
            yield NotChecked(need.place, need.text)
            continue
        bare = _unsteadied(aircraft, shove)
        if bare:
            yield _bypassed(aircraft, shove, bare)
        else:
            yield Clean(setup.place("surfaces", shove.surface.name))


def _unsteadied(aircraft: Aircraft, shove: Shove) -> list[Axis]:
    gyro_for = aircraft.senses.gyro_for
    return [axis for axis in shove.surface.steadied_in if gyro_for(shove, axis) is None]


def _bypassed(aircraft: Aircraft, shove: Shove, axes: list[Axis]) -> Finding:
    name = shove.surface.name
    gyros = [
        gyro
        for gyro in aircraft.setup.of_kind("gyro")
        if gyro.part.kind == "gyro" and set(axes) & set(gyro.part.senses)
    ]
    named = listed(f"`{gyro.name}`" for gyro in gyros)
    why = f"is not behind {named}" if gyros else "is behind no gyro: none that senses it is fitted"
    said = "declared to be" if shove.surface.declared else "commonly"
    place = aircraft.setup.place("surfaces", name)
    return Finding(
        at=Place(place.file, (*place.path, "steadied-in")) if shove.surface.declared else place,
        message=f"`{name}` is {said} steadied in {listed(axes)}, but `{shove.servo}` {why}: its "
        f"signal comes from `{shove.way[-2].address}`. The gyro cannot move it, and the aircraft "
        "is less steady than the setup says.",
        do=f"Plug `{shove.servo}` into the gyro"
        + (
            ", or take the axis out of `steadied-in`."
            if shove.surface.declared
            else ", or state under `steadied-in` what steadies it."
        ),
    )


@rule(
    "mixed-twice",
    title="A mix both in the transmitter and in a box behind it",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="directions",
    sources=("practice",),
)
def mixed_twice(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether a mix that lives in the transmitter lives in a hub or gyro as well."""
    for shove in {shove.surface.name: shove for shove in aircraft.senses.shoves}.values():
        names = dict.fromkeys(port.device for port in shove.way)
        boxes = [aircraft.setup.devices[name] for name in names]
        for box in boxes:
            if box.kind in {"hub", "gyro"}:
                yield from _mixes(aircraft, box, shove.surface.name)


def _mixes(aircraft: Aircraft, box: Fitted, surface: str) -> Iterator[Outcome]:
    radio = aircraft.senses.mixes_to(surface)
    own = aircraft.senses.box_mixes_to(box, surface)
    if own and aircraft.setup.radio.mixes is None:
        place = aircraft.setup.place("radio", "mixes")
        yield NotChecked(place, f"the `mixes` of the transmitter to `{surface}`, `[]` if none")
    elif radio and box.device.mixes is None:
        yield NotChecked(box.at("mixes"), f"the `mixes` that live in `{box.name}`, `[]` if none")
    for place, mix in own:
        again = [entry for entry in radio if _follows(entry[1]) == _follows(mix)]
        if again:
            yield _twice(box, surface, place, mix, again[0])
        elif aircraft.setup.radio.mixes is not None:
            yield Clean(place)
    if radio and box.device.mixes is not None and not own:
        yield Clean(box.at("mixes"))


def _follows(mix: Mix) -> str:
    return control_function(mix.from_) or mix.from_


def _twice(box: Fitted, surface: str, place: Place, mix: Mix, again: tuple[Place, Mix]) -> Finding:
    return Finding(
        at=place,
        message=f"`{mix.from_}` is mixed to `{surface}` in the transmitter ({again[1].share.text}) "
        f"and once more in `{box.name}` ({mix.share.text}). The two add up or cancel: the surface "
        "runs out of travel, or stays still.",
        do=f"Keep the mix in one place: take it out of the transmitter, or out of `{box.name}`.",
        because=(Because(again[0], "the same mix in the transmitter"),),
    )


@rule(
    "directions-observed",
    title="A direction that was seen to be wrong on the bench",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="directions",
    sources=("G7", "G8", "part-b"),
)
def directions_observed(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge what was last seen on each bench card of directions."""
    setup = aircraft.setup
    wanted = _wanted(aircraft)
    latest: dict[str, tuple[Place, Observation]] = {}
    for place, observation in setup.observations:
        before = latest.get(observation.card)
        if observation.card in CARD_NAMES and (before is None or before[1].on <= observation.on):
            latest[observation.card] = (place, observation)
    for place, observation in latest.values():
        if observation.seen == "as it must":
            yield Clean(place)
        else:
            yield _observed(aircraft, place, observation)
    missing = [f"`{card}`" for card in wanted if card not in latest]
    if missing:
        cards = f"the {plural(len(missing), 'card')} {listed(missing)}"
        yield NotChecked(setup.place("observations"), f"what was seen on {cards}")


def _wanted(aircraft: Aircraft) -> list[str]:
    """Return the cards on which some surface must move."""
    surfaces = expected_movements(aircraft.setup)
    moving = {
        movement.card
        for surface in surfaces
        for movement in (*surface.hand, *surface.sticks)
        if movement.way is not None
    }
    return [card for card in CARD_NAMES if card in moving]


def _observed(aircraft: Aircraft, place: Place, seen: Observation) -> Finding:
    must = [
        f"`{surface.name}` {movement.words}"
        for surface in expected_movements(aircraft.setup)
        for movement in (*surface.hand, *surface.sticks)
        if movement.card == seen.card and movement.way is not None
    ]
    what = {"reversed": "the movement was reversed", "nothing": "nothing moved"}.get(
        seen.seen, "something else moved"
    )
    by = f" by {seen.by}" if seen.by else ""
    wanted = f" It must be: {listed(must)}." if must else ""
    return Finding(
        at=place,
        message=f"On the card `{seen.card}`, {what} when it was looked at on {seen.on}{by}."
        f"{wanted} What was seen counts more than what is declared.",
        do=f"{_remedy(seen.card)} Then follow the card again and write down what you see.",
    )


def _remedy(card: str) -> str:
    if card in STICK_CARDS:
        return "Follow that channel from the stick to the servo and put its direction right."
    return "Check how the gyro sits, what it was told, its direction settings and its gain."


RULES = (
    stick_reversed,
    correction_reversed,
    servos_fight,
    surface_bypasses_gyro,
    mixed_twice,
    directions_observed,
)
