"""Everything that is declared and computed of one aircraft, as plain data for rules in data.

The shape, whose JSON Schema lies beside this module in ``facts.schema.json``::

    {
      "format": "holdshort-facts",
      "version": 1,                 a change that breaks readers raises it; new keys do not
      "file": "tarn.yaml",
      "aircraft": "Tarn Swift",     absent where it has no name
      "setup": {...},               the setup file at its own paths; a quantity is
                                    {"text": "8.4 V", "si": 8.4, "unit": "V"}
      "computed": {
        "devices": {name: {"part", "kind", "ratings": {...}}},
        "cases", "rails", "leads", "regulators", "packs", "collapses",
        "channels", "failsafe", "link_loss", "mountings", "gyros", "failures", "loads",
        "balance", "telemetry"
      },
      "missing": [{"path", "needs": ["..."], "file", "line"}],
      "unread": ["devices.gyro"]    entries with mistakes of form, left out of all the above
    }

A fact that is not known is absent, and ``missing`` says where it would stand and what is needed
to know it. Units stand in the key names of computed facts.
"""

from collections.abc import Mapping
from typing import Any, Final, cast

from holdshort.analysis.aircraft import Aircraft
from holdshort.analysis.balance_facts import add_balance
from holdshort.analysis.control_facts import (
    add_channels,
    add_failsafes,
    add_failures,
    add_gyros,
    add_link_loss,
)
from holdshort.analysis.declared_tree import declared_tree, ratings_tree
from holdshort.analysis.fact_book import SETUP, FactBook
from holdshort.analysis.load_facts import add_loads
from holdshort.analysis.power_facts import add_power
from holdshort.analysis.telemetry_facts import add_telemetry
from holdshort.document import Path, show_path
from holdshort.setup import Place

FORMAT: Final = "holdshort-facts"
VERSION: Final = 1


def facts(aircraft: Aircraft) -> tuple[dict[str, Any], dict[str, Place]]:
    """Return the facts of ``aircraft``, and the place each came from.

    Places are by the Normalized Path (RFC 9535, section 2.7) of the fact in the tree, for every
    node of it and for every fact that is missing. A computed fact has the place of the declaration
    that it is about.
    """
    setup = aircraft.setup
    book = FactBook(setup)
    book.tree |= {"format": FORMAT, "version": VERSION, "file": setup.file}
    if setup.aircraft is not None:
        book.put(("aircraft",), setup.aircraft.name, setup.place("aircraft", "name"))
    book.tree[SETUP] = declared_tree(setup)
    _devices(book)
    for add in (
        add_power,
        add_channels,
        add_failsafes,
        add_link_loss,
        add_gyros,
        add_failures,
        add_loads,
        add_balance,
        add_telemetry,
    ):
        add(book, aircraft)
    book.tree["missing"] = book.missing()
    book.tree["unread"] = [show_path(path) for path in sorted(setup.broken, key=str)]
    return book.tree, book.origins()


def _devices(book: FactBook) -> None:
    """Add what every fitted device is, with the ratings of its part wherever they stand."""
    setup = book.setup
    base: Path = ("computed", "devices")
    book.put(base, {}, setup.place("devices") if setup.devices else setup.place())
    for device in setup.devices.values():
        path = (*base, device.name)
        facts = {"part": device.part_name, "kind": device.kind}
        book.put(path, facts, device.at())
        ratings = ratings_tree(setup, device.origins)
        book.put((*path, "ratings"), ratings, device.part_place())
        for steps in _paths(ratings):
            book.places[(*path, "ratings", *steps)] = device.part_place(*steps)


def _paths(node: object) -> list[Path]:
    """Return the paths of all nodes below a node."""
    items: Mapping[str | int, object] = {}
    if isinstance(node, dict):
        items = cast("dict[str | int, object]", node)
    elif isinstance(node, list):
        items = dict(enumerate(cast("list[object]", node)))
    return [(key, *steps) for key, item in items.items() for steps in ((), *_paths(item))]
