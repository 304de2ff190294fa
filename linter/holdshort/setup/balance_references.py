"""Names in the balance that lead nowhere: devices, items and tanks; and ranges back to front."""

from collections.abc import Iterator

from holdshort.document import Document, Fault, Path
from holdshort.setup.balance import Balance, Range, in_chord
from holdshort.setup.mistakes import did_you_mean, reference_fault
from holdshort.setup.model import Setup
from holdshort.setup.quantities import Quantity

_BASE = ("balance",)


def balance_faults(setup: Setup, balance: Balance, document: Document) -> Iterator[Fault]:
    """Yield a fault for every name that is of no device, item or tank, and every range backwards.

    Entries with mistakes of form count as known.
    """
    names = _Names(setup, balance, document)
    yield from names.things()
    yield from names.tanks()
    yield from names.twice()
    yield from _overfull(balance, document)
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
