"""How things are fitted."""

from collections.abc import Iterator

from holdshort.api import Aircraft, Clean, Finding, Hold, NotChecked, Outcome, Severity, rule

_ENOUGH = 2


@rule(
    "battery-held-once",
    title="A battery held by one means only",
    severity=Severity.WARNING,
    hold=Hold.FLIGHT,
    subject="club",
    sources=("committee",),
)
def battery_held_once(aircraft: Aircraft) -> Iterator[Outcome]:
    """Judge whether each battery is held by two means."""
    for battery in aircraft.setup.of_kind("battery"):
        held_by = battery.device.retained_by
        if held_by is None:
            yield NotChecked(battery.at(), f"what holds `{battery.name}` (`retained-by`)")
        elif len(held_by) < _ENOUGH:
            means = held_by[0] if held_by else "nothing"
            yield Finding(
                at=battery.at("retained-by"),
                message=f"`{battery.name}` is held by {means} alone. A pack that moves pulls its "
                "plug out and shifts the centre of gravity.",
                do="Add a second means, such as a stop or a second strap, and declare it.",
            )
        else:
            yield Clean(battery.at())


RULES = (battery_held_once,)
