"""Ending other people's code that runs too long."""

import signal
from collections.abc import Callable
from types import FrameType
from typing import Any, Final, Self

SECONDS: Final = 10.0
"""What loading one pack, and judging one aircraft by one rule, may take: far more than it needs."""

_AGAIN: Final = 1.0
"""How soon code that went on regardless is ended once more, in seconds."""


class OutOfTimeError(BaseException):
    """Raised inside code that ran too long; no ``except Exception`` in that code stops it."""

    def __init__(self, seconds: float) -> None:
        """Say how many seconds were allowed."""
        super().__init__(f"still running after {seconds:g} s")
        self.seconds = seconds


class TimeLimit:
    """A limit in seconds of wall clock on each of several jobs, one after another.

    ::

        with TimeLimit(10.0) as limit:
            limit.start()
            try:
                job()
            finally:
                limit.stop()

    It works on the main thread of systems that have interval timers (Linux, macOS). Elsewhere,
    and where the calling program runs such a timer of its own, there is no limit. Code that
    stays inside one call of a compiled library is ended when that call returns.
    """

    __slots__ = ("_before", "_works", "seconds")

    def __init__(self, seconds: float = SECONDS) -> None:
        """Take the limit; nothing is limited yet."""
        self.seconds = seconds
        self._works = False
        self._before: Callable[[int, FrameType | None], Any] | int | None = None

    def __enter__(self) -> Self:
        """Make ready, where the system can."""
        if not hasattr(signal, "setitimer"):
            return self
        self._before = signal.getsignal(signal.SIGALRM)
        if self._before is None or signal.getitimer(signal.ITIMER_REAL)[0]:
            return self
        try:
            signal.signal(signal.SIGALRM, self._end)
        except ValueError:  # not the main thread
            return self
        self._works = True
        return self

    def __exit__(self, *_: object) -> None:
        """Put everything back."""
        if self._works:
            self.stop()
            signal.signal(signal.SIGALRM, self._before)
            self._works = False

    def start(self) -> None:
        """Begin to count. When the time is up, OutOfTimeError is raised in what is running."""
        if self._works:
            signal.setitimer(signal.ITIMER_REAL, self.seconds, _AGAIN)

    def stop(self) -> None:
        """Stop counting."""
        if self._works:
            signal.setitimer(signal.ITIMER_REAL, 0.0)

    def _end(self, _number: int, _frame: FrameType | None) -> None:
        raise OutOfTimeError(self.seconds)
