"""Bounding the work that rules in data may cause: in steps, the same on every machine, and in time.

The containers here are ordinary dictionaries and lists that count what is taken out of them.
"""

import time
from collections.abc import Iterator
from typing import Any, Final

STEPS: Final = 500_000
"""Steps of one rule on one aircraft, a node looked at being one: far more than it needs."""
SECONDS: Final = 5.0
"""What one rule may take on one aircraft; a step takes about a microsecond."""

_LOOKS_AT_CLOCK: Final = 512


class TooMuchWorkError(Exception):
    """A rule in data that asks for more work than is allowed; the text says of what."""


class Meter:
    """Counts the work of one rule, and ends it where it becomes too much."""

    __slots__ = ("_due", "_steps", "_until_look")

    def __init__(self) -> None:
        """Start with the whole allowance."""
        self.reset()

    def reset(self) -> None:
        """Give the whole allowance again."""
        self._steps = 0
        self._until_look = _LOOKS_AT_CLOCK
        self._due = time.monotonic() + SECONDS

    def spend(self, steps: int = 1) -> None:
        """Count some steps. Raises TooMuchWorkError past the allowance."""
        self._steps += steps
        if self._steps > STEPS:
            raise TooMuchWorkError(f"takes more than {STEPS:,} steps")
        self._until_look -= steps
        if self._until_look <= 0:
            self._until_look = _LOOKS_AT_CLOCK
            if time.monotonic() > self._due:
                raise TooMuchWorkError(f"takes more than {SECONDS:g} s")


class CountedMap(dict[str, Any]):
    """A mapping whose reading is counted."""

    __slots__ = ("meter",)
    __hash__ = None

    def __init__(self, items: dict[str, Any], meter: Meter) -> None:
        """Hold ``items``."""
        super().__init__(items)
        self.meter = meter

    def items(self) -> Any:
        """Return the items, counted."""
        self.meter.spend(len(self) + 1)
        return super().items()

    def __getitem__(self, key: str) -> Any:
        self.meter.spend()
        return super().__getitem__(key)

    def __eq__(self, other: object) -> bool:
        self.meter.spend(len(self) + 1)
        return super().__eq__(other)

    def __ne__(self, other: object) -> bool:
        return not self == other


class CountedList(list[Any]):
    """A list whose reading is counted."""

    __slots__ = ("meter",)
    __hash__ = None

    def __init__(self, items: list[Any], meter: Meter) -> None:
        """Hold ``items``."""
        super().__init__(items)
        self.meter = meter

    def __iter__(self) -> Iterator[Any]:
        self.meter.spend(len(self) + 1)
        return super().__iter__()

    def __getitem__(self, key: Any) -> Any:
        self.meter.spend(1 if isinstance(key, int) else len(self))
        return super().__getitem__(key)

    def __eq__(self, other: object) -> bool:
        self.meter.spend(len(self) + 1)
        return super().__eq__(other)

    def __ne__(self, other: object) -> bool:
        return not self == other
