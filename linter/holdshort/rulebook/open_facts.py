"""Facts with the unknown ones standing in their places, ready for rules in data.

A fact that is not known is absent from the tree of facts. Here a mark stands in its place, so that
a rule that comes upon it can say that it cannot judge.
"""

from collections.abc import Mapping
from typing import Any, NamedTuple, cast

from holdshort.analysis import Aircraft
from holdshort.analysis.fact_book import normalised_path, path_of
from holdshort.analysis.facts_document import facts
from holdshort.document import Path
from holdshort.rulebook.work_meter import CountedList, CountedMap, Meter
from holdshort.setup import Place


class Unknown:
    """The mark of a fact that is not known: its path, and what is missing to know it."""

    __slots__ = ("needs", "path")

    def __init__(self, path: str, needs: tuple[str, ...]) -> None:
        """Take the normalised path and the needs in words."""
        self.path = path
        self.needs = needs


class OpenFacts(NamedTuple):
    """The facts of one aircraft; the reading of ``tree`` is counted by ``meter``."""

    tree: CountedMap
    origins: Mapping[str, Place]
    meter: Meter

    def place(self, path: Path) -> Place:
        """Return the place of the declaration that a fact came from."""
        return self.origins[normalised_path(path)]


def open_facts(aircraft: Aircraft) -> OpenFacts:
    """Return the facts of an aircraft with a mark for each that is not known."""
    tree, origins = facts(aircraft)
    meter = Meter()
    marks: dict[Path, dict[str, Unknown]] = {}
    for gap in tree["missing"]:
        *home, last = path_of(gap["path"])
        unknown = Unknown(gap["path"], tuple(gap["needs"]))
        marks.setdefault(tuple(home), {})[str(last)] = unknown
    return OpenFacts(_counted(tree, (), marks, meter), origins, meter)


def _counted(
    node: Any, path: Path, marks: Mapping[Path, Mapping[str, Unknown]], meter: Meter
) -> Any:
    """Return plain data with counted containers and the marks in their places."""
    if isinstance(node, dict):
        fields = cast("dict[str, Any]", node)
        copied = {key: _counted(item, (*path, key), marks, meter) for key, item in fields.items()}
        return CountedMap({**copied, **marks.get(path, {})}, meter)
    if isinstance(node, list):
        items = cast("list[object]", node)
        return CountedList(
            [_counted(item, (*path, index), marks, meter) for index, item in enumerate(items)],
            meter,
        )
    return node


def first_unknown(node: Any) -> Unknown | None:
    """Return a fact that is not known at ``node`` or below it, or None."""
    if isinstance(node, Unknown):
        return node
    children: list[Any] = []
    if isinstance(node, dict):
        children = [item for _, item in cast("dict[str, Any]", node).items()]
    elif isinstance(node, list):
        children = list(cast("list[object]", node))
    found = (first_unknown(child) for child in children)
    return next((unknown for unknown in found if unknown is not None), None)
