"""Which tests must be done, and the shortest list of them after a change.

A test whose own sign-off still proves what the setup says need not be done again only because one
that it rests on must be: it counts again as soon as that one was done, if by its own day the
earlier one had been passed with what it proves now.
"""

from collections.abc import Iterable
from typing import Final

from holdshort.analysis.proof import Evidence, Judged, Standing
from holdshort.analysis.spreading import spread

_BAD_IN_THEMSELVES: Final = frozenset({
    Standing.MISSING,
    Standing.FAILED,
    Standing.HAND_EDITED,
    Standing.VOID,
    Standing.FUTURE,
})  # fmt: skip


def must_be_done(evidence: Evidence) -> tuple[Judged, ...]:
    """Return the tests to be done for all to count, no more than needed, in their order.

    Signed for in this order, each on a day after every other sign-off, they make every test count.
    Tests that are only too old are not among them: others may rest on them.
    """
    return tuple(one for one in evidence.standings if _must(evidence, one))


def must_be_done_for(evidence: Evidence, names: Iterable[str]) -> tuple[Judged, ...]:
    """Return what of :func:`must_be_done` is needed for the tests ``names`` to count."""
    needed = resting_under(evidence, names)
    return tuple(one for one in must_be_done(evidence) if one.test.name in needed)


def resting_under(evidence: Evidence, names: Iterable[str]) -> frozenset[str]:
    """Return ``names`` and every test that they rest on, directly or through others."""
    known = (name for name in names if name in evidence.tests)
    return frozenset(spread(known, lambda name: evidence.earlier(evidence.tests[name])))


def _must(evidence: Evidence, judged: Judged) -> bool:
    if judged.signed is None or judged.standing in _BAD_IN_THEMSELVES:
        return True
    day = judged.signed.sign_off.on
    return any(not evidence.passed_by(name, day) for name in evidence.earlier(judged.test))
