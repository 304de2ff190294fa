"""A part is in use where a device or a lead names it, though that entry has a mistake of form."""

import pytest

from holdshort.analysis import Aircraft
from holdshort.document import Document, read_document
from holdshort.rulebook import judge
from holdshort.setup import load
from holdshort_rules import pack

TEXT = """\
holdshort: 1
parts:
  rx: {kind: receiver, ports: {1..4: servo}}
  servo: {kind: servo}
  plug: {kind: connector}
devices:
  rx: {part: rx}
  tail: {part: servo}
leads:
  - {from: rx.1, to: tail, connectors: [plug]}
"""


def no_catalogue(name: str) -> Document:
    raise AssertionError(name)


def unused(text: str) -> list[str]:
    loaded = load(read_document(text.encode(), "wren.yaml"), no_catalogue)
    rules = [(pack, rule) for rule in pack.rules if rule.id == "unfitted-part"]
    found = judge(Aircraft(loaded.setup), rules).found
    return [str(one.finding.at.path[-1]) for one in found if one.finding.at.path[0] == "parts"]


@pytest.mark.parametrize(
    ("old", "new", "wanted"),
    [
        ("", "", []),
        ("connectors: [plug]", "connectors: []", ["plug"]),
        ("connectors: [plug]", "connectors: [plug], wier: 22 AWG", []),
        ("from: rx.1, to: tail", "from: rx.1", []),
        ("{part: servo}", "{part: servo, colour: red}", []),
        ("  - {from", "  - 12\n  - {from", []),
        ("connectors: [plug]", "connectors: [[plug], {plug: 1}]", ["plug"]),
        ("connectors: [plug]", "connectors: plug", []),
    ],
)
def test_a_part_that_is_named_anywhere_is_in_use(old: str, new: str, wanted: list[str]) -> None:
    assert unused(TEXT.replace(old, new, 1)) == wanted
