"""What depends on what: which single failures, and which pairs of them, stop a thing from working.

A structure function of reliability: every item works when all of its inputs work, or when any one
does, and when none of its own failures has happened. Loops are allowed: nothing works by leaning
on itself. In a graph in which every item needs any one of its inputs, the single failures that stop
an item are its dominators (Allen and Cocke, data-flow form, from memory; compared with networkx in
the tests); with items that need all, the result is that of a fault tree with AND and OR gates
exchanged, since a gate there says how things fail.
"""

from collections.abc import Callable, Hashable, Iterable, Sequence
from itertools import count
from typing import Final, NamedTuple

SOURCE: Final = "source"
"""The item that always works."""


class Cuts(NamedTuple):
    """The smallest sets of failures that stop one item, of one and of two failures, by number."""

    single: tuple[int, ...]
    pairs: tuple[tuple[int, int], ...]


class Dependence:
    """Items and what each needs; failures are numbers from 0, sets of them are bit masks."""

    def __init__(self, failures: int) -> None:
        """Start with the source alone, for so many failures."""
        self.failures = failures
        self.never = 1 << failures
        """The bit that stands in a mask for an item that does not work even without a failure."""
        self._every = (1 << failures + 1) - 1
        self._number: dict[Hashable, int] = {}
        self._any: list[bool] = []
        self._own: list[int] = []
        self._inputs: list[list[tuple[int, int]]] = []
        self._users: list[list[int]] = []
        self.source = self.item(SOURCE)

    def item(self, key: Hashable, *, needs_any: bool = False, own: int = 0) -> int:
        """Return the number of a new item that needs all, or any, of what it will be given.

        ``own`` is the mask of the failures that stop it by themselves. Without inputs, an item that
        needs all works and one that needs any does not. Raises ValueError for a key in use.
        """
        if key in self._number:
            raise ValueError(f"there is an item {key!r} already")
        number = self._number[key] = len(self._any)
        self._any.append(needs_any)
        self._own.append(own)
        self._inputs.append([])
        self._users.append([])
        return number

    def find(self, key: Hashable) -> int | None:
        """Return the number of an item, or None."""
        return self._number.get(key)

    def give(self, item: int, other: int, by: int = 0) -> None:
        """Let ``item`` need ``other``; the failures in the mask ``by`` break the way between."""
        self._inputs[item].append((other, by))
        self._users[other].append(item)

    def killers(self, failed: int = 0) -> list[int]:
        """Return for each item the mask of the failures that stop it, one at a time.

        ``failed`` have happened already. An item that does not work then has every bit, and the bit
        ``never`` too. The greatest solution of the data-flow equations, found from above.
        """
        found = [self._every] * len(self._any)
        queue = list(range(len(self._any)))
        waiting = [True] * len(self._any)
        for item in queue:
            waiting[item] = False
            mask = self._mask(item, found, failed)
            if mask == found[item]:
                continue
            found[item] = mask
            for user in self._users[item]:
                if not waiting[user]:
                    waiting[user] = True
                    queue.append(user)
        return found

    def _mask(self, item: int, found: Sequence[int], failed: int) -> int:
        own = self._own[item]
        if own & failed:
            return self._every
        if self._any[item]:
            mask = self._every
            for other, by in self._inputs[item]:
                if not by & failed:
                    mask &= found[other] | by
            return mask | own
        mask = own
        for other, by in self._inputs[item]:
            mask |= self._every if by & failed else found[other] | by
        return mask

    def working(self, failed: int = 0, stopped: Iterable[int] = ()) -> list[bool]:
        """Return for each item whether it works when ``failed`` have happened.

        ``stopped`` are items that do not work whatever they are given. Found from below: an item
        starts to work once enough of its inputs do.
        """
        works = [False] * len(self._any)
        barred = set(stopped)
        lacking = [1 if needs_any else 0 for needs_any in self._any]
        for item, inputs in enumerate(self._inputs):
            if not self._any[item]:
                lacking[item] = len(inputs)
        queue = [item for item, left in enumerate(lacking) if not left]
        for item in queue:
            if works[item] or item in barred or self._own[item] & failed:
                continue
            works[item] = True
            for user in dict.fromkeys(self._users[item]):
                served = sum(
                    1 for other, by in self._inputs[user] if other == item and not by & failed
                )
                lacking[user] = max(0, lacking[user] - served)
                if served and not lacking[user]:
                    queue.append(user)
        return works

    def cuts(
        self, items: Sequence[int], progress: Callable[[int, int], None] | None = None
    ) -> list[Cuts]:
        """Return the smallest sets of one and two failures that stop each of ``items``.

        A pair counts only where neither of its two stops the item alone. ``progress`` is called
        with how many failures have been gone through, and of how many.
        """
        alone = self.killers()
        pairs: list[list[tuple[int, int]]] = [[] for _ in items]
        for first in range(self.failures):
            after = self.killers(1 << first)
            for place, item in enumerate(items):
                if alone[item] >> first & 1:
                    continue
                late = after[item] & ~alone[item] & ~(self.never | (1 << first))
                late = late >> first << first
                pairs[place] += [(first, second) for second in bits(late)]
            if progress is not None:
                progress(first + 1, self.failures)
        return [
            Cuts(() if alone[item] & self.never else tuple(bits(alone[item])), tuple(found))
            for item, found in zip(items, pairs, strict=True)
        ]


def bits(mask: int) -> list[int]:
    """Return the numbers of the bits that are set in ``mask``, lowest first."""
    found: list[int] = []
    for number in count():
        if not mask >> number:
            return found
        if mask >> number & 1:
            found.append(number)
    return found
