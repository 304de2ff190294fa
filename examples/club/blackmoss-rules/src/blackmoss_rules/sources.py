"""Where the club's rules come from."""

from holdshort.api import Source

SOURCES = {
    "committee": Source(
        "committee",
        "Blackmoss committee (invented), minutes of the spring meeting: packs and the charge book",
        "read",
    ),
    "coulombs": Source("coulombs", "charge is current times time: Q = I t", "derived"),
}
