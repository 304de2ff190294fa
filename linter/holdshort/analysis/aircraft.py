"""One aircraft with everything that follows from its setup, computed on demand and once."""

from collections.abc import Mapping
from functools import cached_property
from typing import TYPE_CHECKING

from holdshort.analysis.failsafes import ChannelFailsafe, box_failsafe, deciding_boxes
from holdshort.analysis.feeds import BoxFeeds, box_feeds, shared_carriers
from holdshort.analysis.load_cases import load_cases
from holdshort.analysis.signals import Signals
from holdshort.analysis.wiring import Supply, Wiring, nodes_of
from holdshort.setup import Fitted, Quantity, Setup

if TYPE_CHECKING:
    from holdshort.analysis.power import PowerStudy


class Aircraft:
    """A setup and the facts that follow from it."""

    def __init__(
        self, setup: Setup, limits: Mapping[tuple[str, str], Quantity] | None = None
    ) -> None:
        """Hold ``setup``; nothing is computed until it is asked for.

        ``limits`` are the owner's own limits of rules, in SI, by rule id and option name.
        """
        self.setup = setup
        self.limits = dict(limits or {})

    @cached_property
    def wiring(self) -> Wiring:
        """The power wiring."""
        return Wiring(self.setup)

    @cached_property
    def power(self) -> "PowerStudy":
        """The power network, solved in each load case when it is asked for."""
        from holdshort.analysis.power import PowerStudy  # noqa: PLC0415  - only what needs it pays

        return PowerStudy(self.setup, self.wiring, load_cases(self.setup))

    @cached_property
    def signals(self) -> Signals:
        """The signal leads."""
        return Signals(self.setup)

    def supply(self, device: Fitted) -> Supply:
        """Return what feeds ``device``, at the highest each feed can give."""
        return self.wiring.supply(next(nodes_of(device)))

    @cached_property
    def shared_carriers(self) -> tuple[Fitted, ...]:
        """The boxes with servos on them that a second receiver is meant to keep alive."""
        return shared_carriers(self.setup, self.signals)

    def feeds(self, box: Fitted) -> BoxFeeds:
        """Return by which leads ``box`` takes its power."""
        return box_feeds(self.setup, self.wiring, box)

    @cached_property
    def deciding_boxes(self) -> tuple[Fitted, ...]:
        """The receivers, hubs and gyros that decide what happens on loss of signal."""
        return tuple(deciding_boxes(self.setup))

    def failsafes(self, box: Fitted) -> tuple[ChannelFailsafe, ...]:
        """Return what ``box`` is declared to do with every channel."""
        return tuple(box_failsafe(self.setup, box))
