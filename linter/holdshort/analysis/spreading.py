"""What can be reached from a thing, from one to the next: along leads, signals or tests."""

from collections.abc import Callable, Hashable, Iterable, Iterator
from typing import TypeVar

Thing = TypeVar("Thing", bound=Hashable)


def spread(starts: Iterable[Thing], beside: Callable[[Thing], Iterable[Thing]]) -> Iterator[Thing]:
    """Yield ``starts`` and all that is reached from them, each once, nearest first.

    ``beside`` gives what is next to a thing; it is asked only when what follows is wanted.
    """
    queue = list(dict.fromkeys(starts))
    seen = set(queue)
    for thing in queue:
        yield thing
        for other in beside(thing):
            if other not in seen:
                seen.add(other)
                queue.append(other)
