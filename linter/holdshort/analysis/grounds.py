"""Whether two ports that exchange a signal stand on one ground.

A servo lead has three wires: ground, supply and signal (common practice, no source). The signal is
a voltage against ground, so a signal wire by itself says nothing unless some other lead joins the
grounds of the two devices. Every lead but a bare signal wire carries ground; all ports of a device
share its ground, but for a port with an opto-coupler, whose ground is that of the lead alone.
"""

from holdshort.analysis.spreading import spread
from holdshort.setup import Cable, Port, Setup


class Grounds:
    """The grounds of a setup, joined by every lead that carries ground."""

    def __init__(self, setup: Setup) -> None:
        """Join the grounds; leads with an unknown end join nothing and are kept in ``gaps``."""
        self._neighbours: dict[str, set[str]] = {}
        self.gaps: list[Cable] = []
        for cable in setup.cables:
            start, end = cable.start.port, cable.end.port
            if not cable.carries_ground:
                continue
            if start is None or end is None:
                self.gaps.append(cable)
                continue
            one, other = ground_of(start), ground_of(end)
            self._neighbours.setdefault(one, set()).add(other)
            self._neighbours.setdefault(other, set()).add(one)

    def joined(self, port: Port) -> frozenset[str]:
        """Return the grounds that are joined to that of ``port``, its own included."""
        near = self._neighbours
        return frozenset(spread((ground_of(port),), lambda ground: near.get(ground, ())))

    def have_common(self, one: Port, other: Port) -> bool:
        """True where the grounds of both ports are joined."""
        return ground_of(other) in self.joined(one)

    def gap_beside(self, one: Port, other: Port) -> Cable | None:
        """Return a lead with an unknown end that could join the two grounds, or None."""
        near = self.joined(one) | self.joined(other)
        for cable in self.gaps:
            for end in (cable.start, cable.end):
                if (ground_of(end.port) if end.port else end.device) in near:
                    return cable
        return None


def ground_of(port: Port) -> str:
    """Return the name of the ground of ``port``: its device's, or its own by an opto-coupler."""
    return port.address if port.optical else port.device
