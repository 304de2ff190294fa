"""One aircraft with everything that follows from its setup, computed on demand and once."""

from collections.abc import Mapping
from functools import cached_property
from typing import TYPE_CHECKING

from holdshort.analysis.channel_ends import ChannelEnd, channel_ends
from holdshort.analysis.drives import Drives
from holdshort.analysis.failsafes import ChannelFailsafe, box_failsafe, deciding_boxes
from holdshort.analysis.feeds import BoxFeeds, box_feeds, shared_carriers
from holdshort.analysis.grounds import Grounds
from holdshort.analysis.load_cases import load_cases
from holdshort.analysis.signals import Signals
from holdshort.analysis.wiring import Supply, Wiring, nodes_of
from holdshort.setup import Fitted, Quantity, Setup

if TYPE_CHECKING:
    from datetime import date

    from holdshort.analysis.balance import BalanceStudy
    from holdshort.analysis.control_loads import ControlLoads
    from holdshort.analysis.energy import PackEnergy
    from holdshort.analysis.failures import FailureStudy
    from holdshort.analysis.known_tests import KnownTest
    from holdshort.analysis.link_loss import LinkLoss
    from holdshort.analysis.power import PowerStudy
    from holdshort.analysis.proof import Evidence
    from holdshort.analysis.sense_chain import SenseChains
    from holdshort.analysis.telemetry import TelemetryStudy


class Aircraft:
    """A setup and the facts that follow from it."""

    def __init__(
        self,
        setup: Setup,
        limits: Mapping[tuple[str, str], Quantity] | None = None,
        today: "date | None" = None,
        tests: "tuple[KnownTest, ...]" = (),
    ) -> None:
        """Hold ``setup``; nothing is computed until it is asked for.

        ``limits`` are the owner's own limits of rules, in SI, by rule id and option name.
        ``today`` is the day on which evidence is judged; without it nothing is too old.
        ``tests`` are the owner's own tests, to be signed for beside those of the trade.
        """
        self.setup = setup
        self.today = today
        self.limits = dict(limits or {})
        self._own_tests = tests
        self._given = frozenset((*vars(self), "_given"))

    def forget(self) -> None:
        """Drop all that was computed; it is computed anew when it is asked for.

        Studies hold the aircraft that holds them: in a run over many files each would wait in
        memory for the collector of garbage, and that for everything that waits.
        """
        for name in vars(self).keys() - self._given:
            del self.__dict__[name]

    @cached_property
    def wiring(self) -> Wiring:
        """The power wiring."""
        return Wiring(self.setup)

    @cached_property
    def power(self) -> "PowerStudy":
        """The power network, solved in each load case when it is asked for."""
        from holdshort.analysis.power import PowerStudy  # noqa: PLC0415  - only what needs it pays

        return PowerStudy(self.setup, self.wiring, load_cases(self.setup))

    def energy(self, pack: Fitted) -> "PackEnergy":
        """Return the charge of ``pack`` and what draws on it in steady flight."""
        if pack.name not in self._energies:
            from holdshort.analysis.energy import energy_of  # noqa: PLC0415  - as above

            self._energies[pack.name] = energy_of(self.power, pack)
        return self._energies[pack.name]

    @cached_property
    def _energies(self) -> "dict[str, PackEnergy]":
        return {}

    @cached_property
    def signals(self) -> Signals:
        """The signal leads."""
        return Signals(self.setup, self.drives.nets)

    @cached_property
    def drives(self) -> Drives:
        """The signal nets, and which channel reaches which device."""
        return Drives(self.setup)

    @cached_property
    def channel_ends(self) -> tuple[ChannelEnd, ...]:
        """The devices that channels end at, with the way from the receiver to each."""
        return channel_ends(self.setup, self.drives)

    @cached_property
    def senses(self) -> "SenseChains":
        """The links between sticks or turns by hand and trailing edges."""
        from holdshort.analysis.sense_chain import SenseChains  # noqa: PLC0415  - as above

        return SenseChains(self.setup, self.channel_ends)

    @cached_property
    def grounds(self) -> Grounds:
        """The grounds that leads join."""
        return Grounds(self.setup)

    def supply(self, device: Fitted) -> Supply:
        """Return what feeds ``device``, at the highest each feed can give."""
        return self.wiring.supply(next(nodes_of(device)))

    @cached_property
    def shared_carriers(self) -> tuple[Fitted, ...]:
        """The boxes with servos on them that a second receiver is meant to keep alive."""
        return shared_carriers(self.setup, self.signals)

    def feeds(self, box: Fitted) -> BoxFeeds:
        """Return by which leads ``box`` takes its power."""
        if box.name not in self._feeds:
            self._feeds[box.name] = box_feeds(self.setup, self.wiring, box)
        return self._feeds[box.name]

    @cached_property
    def _feeds(self) -> dict[str, BoxFeeds]:
        return {}

    @cached_property
    def link_loss(self) -> "LinkLoss":
        """What every channel does when links or signals are lost."""
        from holdshort.analysis.link_loss import LinkLoss  # noqa: PLC0415  - as above

        return LinkLoss(self.setup, self.drives.nets, self.channel_ends)

    @cached_property
    def failures(self) -> "FailureStudy":
        """What is left after each single failure."""
        from holdshort.analysis.failures import FailureStudy  # noqa: PLC0415  - as above

        return FailureStudy(self)

    @cached_property
    def control_loads(self) -> "ControlLoads":
        """What the air asks of every servo, and what the servo has."""
        from holdshort.analysis.control_loads import ControlLoads  # noqa: PLC0415  - as above

        return ControlLoads(self)

    @cached_property
    def balance(self) -> "BalanceStudy | None":
        """Where it balances in every state, or None where the file does not say."""
        if self.setup.balance is None:
            return None
        from holdshort.analysis.balance import BalanceStudy  # noqa: PLC0415  - as above

        return BalanceStudy(self.setup, self.setup.balance)

    @cached_property
    def telemetry(self) -> "TelemetryStudy | None":
        """What reaches the pilot of what is measured, or None where the file names no sensor."""
        if "telemetry" not in self.setup.sections and not self.setup.of_kind("sensor"):
            return None
        from holdshort.analysis.telemetry import TelemetryStudy  # noqa: PLC0415  - as above

        return TelemetryStudy(self)

    @cached_property
    def known_tests(self) -> "tuple[KnownTest, ...]":
        """The tests that may be signed for: those of the trade, then the owner's own."""
        from holdshort.analysis.known_tests import KNOWN_TESTS  # noqa: PLC0415  - as above

        return (*KNOWN_TESTS, *self._own_tests)

    @cached_property
    def evidence(self) -> "Evidence":
        """What the sign-offs in the file are worth."""
        from holdshort.analysis.proof import Evidence  # noqa: PLC0415  - as above

        return Evidence(self)

    @cached_property
    def deciding_boxes(self) -> tuple[Fitted, ...]:
        """The receivers, hubs and gyros that decide what happens on loss of signal."""
        return tuple(deciding_boxes(self.setup))

    def failsafes(self, box: Fitted) -> tuple[ChannelFailsafe, ...]:
        """Return what ``box`` is declared to do with every channel."""
        return tuple(box_failsafe(self.setup, box))
