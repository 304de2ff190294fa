"""The facts of one aircraft as JSON: what rules in data pick from.

The shape is told in :mod:`holdshort.analysis.facts_document`; its JSON Schema lies beside that
module in ``facts.schema.json``. The text is ASCII and holds no control character but line ends.
"""

from collections.abc import Iterator

from holdshort.analysis import Aircraft
from holdshort.analysis.facts_document import facts
from holdshort.fixlist.json_format import dump


def json_text(aircraft: Aircraft) -> str:
    """Return the facts of ``aircraft`` as JSON text."""
    tree, _ = facts(aircraft)
    return dump(tree)


def lines(aircraft: Aircraft) -> Iterator[str]:
    """Yield the lines of the same text: facts have no other form."""
    yield from json_text(aircraft).splitlines()
