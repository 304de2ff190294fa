"""Names in the balance that lead nowhere: devices, items and tanks; and ranges back to front."""

from collections.abc import Iterator

from holdshort.document import Document, Fault, Path
from holdshort.setup.balance import Balance, Change, Range, in_chord
from holdshort.setup.mistakes import did_you_mean, reference_fault
from holdshort.setup.model import Setup
from holdshort.setup.quantities import Quantity

_BASE = ("balance",)

_SAME_PLACE = 1e-3
"""Stations closer than this, m, are the same: they are measured to a millimetre at best."""


def balance_faults(setup: Setup, balance: Balance, document: Document) -> Iterator[Fault]:
    """Yield a fault for every name that is of no device, item or tank, and every range backwards.

    Entries with mistakes of form count as known.
    """
    names = _Names(setup, balance, document)
    yield from names.things()
    yield from names.tanks()
    yield from names.twice()
    yield from _overfull(balance, document)
    yield from _lighter_than_tare(balance, document)
    yield from _elsewhere(setup, balance, document)
    if balance.range is not None:
        yield from _backwards(document, (*_BASE, "range"), balance.range)
    for index, limits in enumerate(balance.envelope or ()):
        yield from _backwards(document, (*_BASE, "envelope", index), limits)


def _backwards(document: Document, path: Path, limits: Range) -> Iterator[Fault]:
    same_kind = in_chord(limits.from_) == in_chord(limits.to)
    if same_kind and limits.from_ > limits.to:
        message = f"This range runs forward, from `{limits.from_.text}` to `{limits.to.text}`."
        do = "Stations are aft positive: give the foremost place as `from`."
        yield reference_fault("range-backwards", message, document, path, do)


def _overfull(balance: Balance, document: Document) -> Iterator[Fault]:
    """Yield a fault for every volume that is more than its tank holds."""
    tanks = balance.tanks or {}
    said: list[tuple[Path, str, Quantity | None]] = [
        ((*_BASE, "tanks", name, "unusable"), name, tank.unusable) for name, tank in tanks.items()
    ]
    for name, weighing in (balance.weighings or {}).items():
        for tank, volume in (weighing.tanks or {}).items():
            said.append(((*_BASE, "weighings", name, "tanks", tank), tank, volume))
    for path, name, held in said:
        if name in tanks and held is not None and held > tanks[name].capacity:
            message = f"`{name}` holds {tanks[name].capacity.text}, not {held.text}."
            do = "Correct the one or the other."
            yield reference_fault("more-than-it-holds", message, document, path, do)


def _lighter_than_tare(balance: Balance, document: Document) -> Iterator[Fault]:
    """Yield a fault for every scale that shows less than the tare on it."""
    for name, weighing in (balance.weighings or {}).items():
        for point, scale in weighing.points.items():
            if scale.tare is None or scale.tare <= scale.load:
                continue
            message = f"The scale under `{point}` shows {scale.load.text}, less than its tare."
            do = "Give as `load` what the scale shows with the tare on it, or leave `tare` out."
            path = (*_BASE, "weighings", name, "points", point, "tare")
            yield reference_fault("tare-above-load", message, document, path, do)


def _elsewhere(setup: Setup, balance: Balance, document: Document) -> Iterator[Fault]:
    """Yield a fault where the last change put a thing where it does not sit.

    A change before the newest weighing, or before the thing was last moved, may have been followed
    by another.
    """
    weighed = max((one.on for one in (balance.weighings or {}).values()), default="")
    last: dict[str, tuple[str, Change]] = {}
    for name, change in (balance.changes or {}).items():
        of = change.of or name
        if change.on > weighed and (of not in last or change.on >= last[of][1].on):
            last[of] = name, change
    for of, (name, change) in last.items():
        now, put = _sits(setup, balance, of, change.on), change.in_
        if now is None or put is None or abs(now - put.station) <= _SAME_PLACE:
            continue
        message = f"`{of}` was put at {put.station.text} on {change.on}, and sits at {now.text}."
        path = (*_BASE, "changes", name, "in")
        yield reference_fault("places-differ", message, document, path, "Correct the one or other.")


def _sits(setup: Setup, balance: Balance, name: str, since: str) -> Quantity | None:
    """Return the declared station of a device or an item that was not moved after a day."""
    fitted, item = setup.devices.get(name), (balance.items or {}).get(name)
    place = fitted.device.at if fitted is not None else item
    if place is None or (place.changed or "") > since:
        return None
    return place.station


class _Names:
    """Looks names up among devices, items and tanks."""

    def __init__(self, setup: Setup, balance: Balance, document: Document) -> None:
        self.setup = setup
        self.balance = balance
        self.document = document

    def things(self) -> Iterator[Fault]:
        """Yield a fault for every name that is neither of a device nor of an item."""
        for name in self.balance.movable or {}:
            yield from self._thing((*_BASE, "movable", name), name, at_key=True)
        for name, change in (self.balance.changes or {}).items():
            if change.of is not None:
                yield from self._thing((*_BASE, "changes", name, "of"), change.of)
        for name, weighing in (self.balance.weighings or {}).items():
            for left in weighing.without or ():
                yield from self._thing((*_BASE, "weighings", name, "without"), left)

    def tanks(self) -> Iterator[Fault]:
        """Yield a fault for every tank of a weighing that is none of the aircraft."""
        known = self.balance.tanks or {}
        for name, weighing in (self.balance.weighings or {}).items():
            for tank in weighing.tanks or {}:
                if tank in known or self.setup.broken_under("balance", "tanks", tank):
                    continue
                message = f"`{tank}` is not a tank of this aircraft."
                path = (*_BASE, "weighings", name, "tanks", tank)
                do = did_you_mean(tank, known) or "Declare it under `balance.tanks`."
                yield reference_fault("unknown-tank", message, self.document, path, do, at_key=True)

    def twice(self) -> Iterator[Fault]:
        """Yield a fault for every item that has the name of a device."""
        for name in self.balance.items or {}:
            if name in self.setup.devices:
                message = f"`{name}` is a device, and an item of the balance as well."
                do = f"Give its mass and place at `devices.{name}`, or another name to the item."
                path = (*_BASE, "items", name)
                yield reference_fault("given-twice", message, self.document, path, do, at_key=True)

    def _thing(self, path: Path, name: str, *, at_key: bool = False) -> Iterator[Fault]:
        known = (*self.setup.devices, *(self.balance.items or {}))
        broken = self.setup.broken_under
        if name in known or broken("devices", name) or broken("balance", "items", name):
            return
        message = f"`{name}` is neither a fitted device nor an item of the balance."
        do = did_you_mean(name, known)
        yield reference_fault("unknown-device", message, self.document, path, do, at_key=at_key)
