"""How the gyro sits, what it has learned, and when it works."""

import itertools
import math
from collections.abc import Iterator
from typing import Final, Literal

from holdshort.api import (
    ANGLE,
    AXES,
    Aircraft,
    Axis,
    AxisBelief,
    Because,
    ChannelEntry,
    Clean,
    Direction,
    Edit,
    Finding,
    Fitted,
    Fix,
    Hold,
    ImpossibleMountingError,
    Mode,
    Mounting,
    Need,
    NotChecked,
    Option,
    Outcome,
    Place,
    QuantityType,
    Sense,
    Setup,
    Severity,
    beliefs,
    cross_coupling,
    exceeds,
    felt,
    listed,
    mounting_from_faces,
    plural,
    rule,
    tilt_angle,
)


@rule(
    "mounting-impossible",
    title="A mounting that no box can have",
    severity=Severity.WARNING,
    hold=Hold.POWER_UP,
    subject="gyro",
    sources=("G23",),
)
def mounting_impossible(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether each declared mounting is one that a box can have."""
    for device in aircraft.setup.devices.values():
        for key in ("mounting", "told"):
            if getattr(device.device, key) is None:
                continue
            try:
                _mounting(device, key)
            except ImpossibleMountingError as error:
                yield Finding(
                    at=device.at(key),
                    message=f"The `{key}` of `{device.name}` is not possible: {error}",
                    do="Look at the box again: which way do the plugs face, which way the label?",
                )
            else:
                yield Clean(device.at(key))


@rule(
    "gyro-mounting-mismatch",
    title="The gyro sits otherwise than it has been told",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="gyro",
    sources=("G23", "G24", "part-b"),
)
def gyro_mounting_mismatch(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge, for each axis, whether the gyro's belief about a turn is the truth."""
    for gyro in aircraft.setup.of_kind("gyro"):
        if gyro.device.mounting is None:
            yield NotChecked(gyro.at(), f"the `mounting` of `{gyro.name}`: how it really sits")
        elif gyro.device.told is None:
            yield NotChecked(gyro.at(), f"what `{gyro.name}` has been `told` about how it sits")
        else:
            yield _compared(gyro)


def _compared(gyro: Fitted) -> Outcome:
    try:
        sits, told = _mounting(gyro, "mounting"), _mounting(gyro, "told")
    except ImpossibleMountingError:
        return NotChecked(gyro.at("mounting"), f"a possible mounting of `{gyro.name}`")
    senses = gyro.part.senses if gyro.part.kind == "gyro" else ()
    judged = [belief for belief in beliefs(sits, told) if belief.axis in senses]
    if all(belief.sense is Sense.RIGHT for belief in judged):
        return Clean(gyro.at("told"))
    return Finding(
        at=gyro.at("told"),
        message=f"`{gyro.name}` sits with {_faces(sits)}, but it has been told {_faces(told)}. "
        f"{_axes(judged)}{_feeling(sits, told, judged)} {_danger(judged)}",
        do=_advice(gyro, sits),
        because=(Because(gyro.at("mounting"), f"it sits with {_faces(sits)}"),),
        fix=_tell(gyro, sits) if _can_be_told(gyro, sits) else None,
    )


def _tell(gyro: Fitted, sits: Mounting) -> Fix:
    """Return the change of what the gyro is told; how it sits is for the builder to look at."""
    told = gyro.device.told
    faces = {"plugs": sits.plugs, "label": sits.label}
    if told is not None and told.right is not None:
        faces["right"] = sits.right
    edits = [
        Edit("set", gyro.at("told", key), str(face))
        for key, face in faces.items()
        if getattr(told, key) != face
    ]
    again = ""
    if told is not None and told.changed is not None and not _is_to_teach(gyro, told.changed):
        edits.append(Edit("remove", gyro.at("told", "changed")))
        again = " The day of the last change is taken out: give the new one."
    return Fix(
        f"Tells `{gyro.name}` {_faces(sits)} in the file.{again} Look first that it sits so, tell "
        "the gyro itself the same, teach it again, and check each axis by hand before flight.",
        tuple(edits),
    )


def _is_to_teach(gyro: Fitted, changed: str) -> bool:
    """True where the day of a change says that the gyro is to be taught again: it is to stay so."""
    taught = gyro.device.taught
    return taught is not None and taught < changed


def _mounting(device: Fitted, key: str) -> Mounting:
    faces = getattr(device.device, key)
    right = Direction(faces.right) if faces.right else None
    return mounting_from_faces(Direction(faces.plugs), Direction(faces.label), right)


def _faces(mounting: Mounting) -> str:
    return f"plugs {mounting.plugs} and label {mounting.label}"


def _axes(judged: list[AxisBelief]) -> str:
    """Say how its corrections come out in each axis."""
    parts: list[str] = []
    for sense, words in (
        (Sense.REVERSED, "reversed in"),
        (Sense.CROSSED, "crossed in"),
        (Sense.RIGHT, "right in"),
    ):
        axes = [belief.axis for belief in judged if belief.sense is sense]
        if axes:
            parts.append(f"{words} {listed(axes)}")
    return f"By that alone its corrections come out {listed(parts)}."


def _feeling(sits: Mounting, told: Mounting, judged: list[AxisBelief]) -> str:
    """Say what it feels instead, where axes are crossed."""
    if not any(belief.sense is Sense.CROSSED for belief in judged):
        return ""
    pairs = [(true, believed) for true, believed in felt(sits, told) if true != believed]
    return f" It feels {listed(f'{true} as {believed}' for true, believed in pairs)}."


def _danger(judged: list[AxisBelief]) -> str:
    if any(belief.sense is Sense.CROSSED for belief in judged):
        return "A crossed correction moves the wrong surface; the aircraft can be lost at lift-off."
    return (
        "A reversed correction adds to every disturbance instead of damping it; the aircraft can "
        "be lost at lift-off."
    )


def _can_be_told(gyro: Fitted, sits: Mounting) -> bool:
    settings = gyro.part.settings if gyro.part.kind == "gyro" else None
    return settings is None or any(
        (faces.plugs, faces.label) == (sits.plugs, sits.label) for faces in settings
    )


def _advice(gyro: Fitted, sits: Mounting) -> str:
    settings = gyro.part.settings if gyro.part.kind == "gyro" else None
    proof = "Then teach it again, and check each axis by hand before flight."
    if _can_be_told(gyro, sits):
        return (
            f"Tell `{gyro.name}` {_faces(sits)}, or turn the box to match what it was told. {proof}"
        )
    options = listed(
        (f"plugs {faces.plugs} and label {faces.label}" for faces in settings or ()), "or"
    )
    return f"Turn the box: `{gyro.name}` cannot be told {_faces(sits)}, only {options}. {proof}"


TILT = Option(
    rule="mounting-tilted",
    name="tilt",
    default="5 deg",
    kind=QuantityType(ANGLE),
    text="the most that a gyro may be off its faces",
    source="practice",
)


@rule(
    "mounting-tilted",
    title="A gyro that sits at a tilt",
    severity=Severity.CAUTION,
    hold=Hold.FLIGHT,
    subject="gyro",
    sources=("G28",),
    options=(TILT,),
)
def mounting_tilted(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge how far each gyro is off the faces of its mounting."""
    limit = TILT.of(aircraft)
    for gyro in aircraft.setup.of_kind("gyro"):
        tilt = gyro.device.mounting.tilt if gyro.device.mounting else None
        named = {axis: getattr(tilt, axis, None) for axis in ("roll", "pitch", "yaw")}
        known = {axis: angle for axis, angle in named.items() if angle is not None}
        angle = tilt_angle(*(known.get(axis, 0.0) for axis in named))
        missing = [axis for axis in named if axis not in known]
        if exceeds(angle, limit):
            texts = [f"{value.text} in {axis}" for axis, value in known.items() if value]
            yield _tilted(gyro, angle, texts, limit.text)
        elif missing:
            yield NotChecked(
                gyro.at("mounting"),
                f"the `tilt` of `{gyro.name}` in {listed(missing)}: how far it is off its faces",
            )
        else:
            yield Clean(gyro.at("mounting", "tilt"))


def _tilted(gyro: Fitted, angle: float, texts: list[str], limit: str) -> Finding:
    together = f", {math.degrees(angle):.1f} degrees in all" if len(texts) > 1 else ""
    return Finding(
        at=gyro.at("mounting", "tilt"),
        message=f"`{gyro.name}` is off its faces by {listed(texts)}{together}; at most {limit} is "
        f"allowed. It takes up to {cross_coupling(angle):.1%} of a turn for one about another "
        "axis, and moves surfaces that have nothing to correct.",
        do=f"Seat `{gyro.name}` square to the aircraft, or set the tilt in the gyro where it can "
        "be set.",
    )


@rule(
    "gyro-learned-too-early",
    title="A gyro that was taught before something it learned was changed",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="gyro",
    sources=("G30",),
)
def gyro_learned_too_early(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether each gyro was taught after the last change of what it learns."""
    for gyro in aircraft.setup.of_kind("gyro"):
        fixed = gyro.part.kind == "gyro" and gyro.part.correction == "fixed"
        if gyro.device.taught is None:
            if not fixed:
                yield NotChecked(gyro.at(), f"when `{gyro.name}` was last `taught`")
            continue
        channels = aircraft.senses.steadied_channels(gyro)
        if isinstance(channels, Need):
            yield NotChecked(channels.place, channels.text)
        elif not channels:
            yield NotChecked(gyro.at("taught"), f"the surfaces that `{gyro.name}` steadies")
        else:
            yield _taught_after(gyro, gyro.device.taught, _changes(gyro, channels))


def _changes(gyro: Fitted, channels: tuple[ChannelEntry, ...]) -> list[tuple[str, Place, str]]:
    """Return what a gyro learned: what it is, where its date stands, and the date or nothing."""
    found: list[tuple[str, Place, str]] = []
    for key, words in (("mounting", "mounting"), ("told", "told mounting")):
        day = getattr(getattr(gyro.device, key), "changed", None) or ""
        found.append((f"the {words} of `{gyro.name}`", gyro.at(key, "changed"), day))
    for entry in channels:
        days = entry.channel.changed or {}
        driven = ", ".join(entry.channel.drives)
        for value, words in _LEARNED.items():
            place = Place(entry.place.file, (*entry.place.path, "changed", value))
            text = f"the {words} of channel {entry.number} ({driven})"
            found.append((text, place, days.get(value) or ""))
    return found


_LEARNED: Final[dict[Literal["centre", "travel", "reversed"], str]] = {
    "centre": "centre",
    "travel": "travel",
    "reversed": "reversal",
}


def _taught_after(gyro: Fitted, taught: str, changes: list[tuple[str, Place, str]]) -> Outcome:
    later = [change for change in changes if change[2] > taught]
    undated = [text for text, _, day in changes if not day]
    if later:
        named = listed(f"{text} was changed on {day}" for text, _, day in later)
        return Finding(
            at=gyro.at("taught"),
            message=f"`{gyro.name}` was last taught on {taught}, but {named}. It corrects from "
            "the old centres and to the old end points, and may push a servo past its stop.",
            do=f"Teach `{gyro.name}` again, check each axis by hand, and write the new date.",
            because=tuple(Because(place, f"{text}, {day}") for text, place, day in later),
        )
    if undated:
        return NotChecked(
            gyro.at("taught"),
            f"when {listed(undated)} {plural(len(undated), 'was', 'were')} last `changed`",
        )
    return Clean(gyro.at("taught"))


@rule(
    "no-gyro-off",
    title="No way to fly without the gyro, or gains that do not fit the modes",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="gyro",
    sources=("G15", "G17"),
)
def no_gyro_off(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether some mode has no gyro, and whether each other mode has its gains."""
    setup = aircraft.setup
    gyros = setup.of_kind("gyro")
    if not gyros:
        return
    if not setup.modes:
        yield NotChecked(setup.place("radio", "modes"), "the flight modes: which has the gyro off")
        return
    sensed: list[Axis] = [axis for axis in AXES if any(_has(gyro, axis) for gyro in gyros)]
    yield _way_out(setup)
    for name, mode in setup.modes.items():
        if not _is_off(mode):
            yield _gains(setup, name, mode, sensed)
    yield from _order(setup, sensed)


def _has(gyro: Fitted, axis: str) -> bool:
    return gyro.part.kind == "gyro" and axis in gyro.part.senses


def _is_off(mode: Mode) -> bool:
    """True for a mode without gyro: switched off, or every gain at nothing."""
    if mode.gyro is not None:
        return mode.gyro == "off"
    return bool(mode.gains) and not any((mode.gains or {}).values())


def _way_out(setup: Setup) -> Outcome:
    off = [name for name, mode in setup.modes.items() if _is_off(mode)]
    place = setup.place("radio", "modes")
    if off:
        return Clean(setup.place("radio", "modes", off[0]))
    unsaid = [name for name, mode in setup.modes.items() if mode.gyro is None and not mode.gains]
    if unsaid:
        named = listed(f"`{name}`" for name in unsaid)
        return NotChecked(place, f"whether the `gyro` is on or off in {named}")
    return Finding(
        at=place,
        message="The gyro works in every flight mode. If it fails or corrects the wrong way in "
        "the air, nothing takes it out.",
        do="Give one mode `gyro: off`, put it where the thumb finds it, and trim the aircraft in "
        "that mode first.",
    )


def _gains(setup: Setup, name: str, mode: Mode, sensed: list[Axis]) -> Outcome:
    place = setup.place("radio", "modes", name)
    if not mode.gains:
        return NotChecked(place, f"the gyro `gains` in mode `{name}`")
    missing = [axis for axis in sensed if axis not in mode.gains]
    if not missing:
        return Clean(setup.place("radio", "modes", name, "gains"))
    return Finding(
        at=setup.place("radio", "modes", name, "gains"),
        message=f"Mode `{name}` has no gyro gain in {listed(missing)}. What the gyro does there "
        "is whatever was left in it.",
        do=f"Set the gain in {listed(missing)} for mode `{name}`, 0 % where none is wanted.",
    )


def _order(setup: Setup, sensed: list[Axis]) -> Iterator[Outcome]:
    """Yield whether the gains fall, or stay, where a mode is flown faster."""
    working = {name: mode for name, mode in setup.modes.items() if not _is_off(mode)}
    if len(working) < 2:  # noqa: PLR2004  - one mode has no order
        return
    unsaid = [name for name, mode in working.items() if mode.speed is None]
    if unsaid:
        yield NotChecked(
            setup.place("radio", "modes"),
            f"the `speed` of {listed(f'`{name}`' for name in unsaid)}",
        )
    by_speed = sorted(
        (mode.speed, name) for name, mode in working.items() if mode.speed is not None
    )
    pairs = [(slow, fast) for (_, slow), (_, fast) in itertools.pairwise(by_speed)]
    wrong: list[tuple[Axis, str, str]] = [
        (axis, slow, fast)
        for slow, fast in pairs
        for axis in sensed
        if _rises(working[slow], working[fast], axis)
    ]
    for fast in dict.fromkeys(fast for _, _, fast in wrong):
        yield _rising(setup, [entry for entry in wrong if entry[2] == fast])
    if pairs and not wrong and not unsaid:
        yield Clean(setup.place("radio", "modes"))


def _rises(slow: Mode, fast: Mode, axis: Axis) -> bool:
    below, above = (slow.gains or {}).get(axis), (fast.gains or {}).get(axis)
    return below is not None and above is not None and above > below


def _rising(setup: Setup, wrong: list[tuple[Axis, str, str]]) -> Finding:
    _, slow, fast = wrong[0]
    modes = setup.modes
    texts = [
        f"{(modes[fast].gains or {})[axis].text} in {axis} against "
        f"{(modes[slow].gains or {})[axis].text}"
        for axis, _, _ in wrong
    ]
    speeds = [speed.text for name in (fast, slow) if (speed := modes[name].speed) is not None]
    return Finding(
        at=setup.place("radio", "modes", fast, "gains"),
        message=f"Mode `{fast}`, flown at {speeds[0]}, has more gyro gain than `{slow}` at "
        f"{speeds[1]}: {listed(texts)}. Surfaces bite harder the faster the air, so a gain that "
        "is right when slow makes the aircraft shake when fast.",
        do=f"Lower the gains of `{fast}` below those of `{slow}`.",
        because=(Because(setup.place("radio", "modes", slow, "gains"), "the gains when slower"),),
    )


RULES = (
    gyro_mounting_mismatch,
    mounting_impossible,
    mounting_tilted,
    gyro_learned_too_early,
    no_gyro_off,
)
