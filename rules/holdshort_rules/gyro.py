"""What the gyro believes about how it sits."""

from collections.abc import Iterator

from holdshort.api import (
    Aircraft,
    AxisBelief,
    Because,
    Clean,
    Direction,
    Finding,
    Fitted,
    Hold,
    ImpossibleMountingError,
    Mounting,
    NotChecked,
    Outcome,
    Sense,
    Severity,
    beliefs,
    felt,
    listed,
    mounting_from_faces,
    rule,
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
    )


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
    return f"Its corrections come out {listed(parts)}."


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


def _advice(gyro: Fitted, sits: Mounting) -> str:
    settings = gyro.part.settings if gyro.part.kind == "gyro" else None
    can_be_told = settings is None or any(
        (faces.plugs, faces.label) == (sits.plugs, sits.label) for faces in settings
    )
    proof = "Then teach it again, and check each axis by hand before flight."
    if can_be_told:
        return (
            f"Tell `{gyro.name}` {_faces(sits)}, or turn the box to match what it was told. {proof}"
        )
    options = listed(
        (f"plugs {faces.plugs} and label {faces.label}" for faces in settings or ()), "or"
    )
    return f"Turn the box: `{gyro.name}` cannot be told {_faces(sits)}, only {options}. {proof}"


RULES = (gyro_mounting_mismatch, mounting_impossible)
