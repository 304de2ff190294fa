"""What is shown for the word under the pointer."""

from collections.abc import Callable, Mapping
from typing import Final, cast

from holdshort.analysis import Aircraft
from holdshort.document import Path, Span, TreeMap
from holdshort.editor.cards import Card, Line
from holdshort.editor.facts import (
    channel_card,
    device_card,
    item_card,
    lead_card,
    link_card,
    part_card,
    port_card,
    shown,
    surface_card,
    tank_card,
)
from holdshort.editor.judging import Judged
from holdshort.editor.locating import mention_at, path_at
from holdshort.editor.mentions import Mention
from holdshort.editor.positions import Point
from holdshort.editor.schema_tree import kind_in, tree_of
from holdshort.editor.section_facts import section_card, test_card
from holdshort.rulebook import Rulebook
from holdshort.rulebook.deferrals import PACK as OWN_RULES
from holdshort.setup import Setup
from holdshort.setup.parts import PART_MODELS


def hover(judged: Judged, point: Point) -> tuple[Card, Span] | None:
    """Return the card for a place, and what it is about; None where there is nothing to say."""
    document = judged.document
    if document is None:
        return None
    mention = mention_at(judged, point)
    if mention is not None:
        card = _named(judged, mention)
        if card is not None:
            return card, mention.span
    path, on_key = path_at(document, point)
    lead = _lead(judged, path) if on_key or len(path) == 2 else None  # noqa: PLR2004
    if lead is not None:
        return lead, document.key_span_at(path)
    about = describe(judged, path) if on_key else ""
    aircraft = judged.aircraft
    known = None if aircraft is None else section_card(aircraft, path, on_key=on_key)
    span = document.key_span_at(path) if on_key else document.span_at(path)
    if known is not None:
        return known._replace(own=about), span
    return (Card(Line("key", str(path[-1])), own=about), span) if about else None


def _named(judged: Judged, mention: Mention) -> Card | None:
    name = mention.names[0]
    if mention.thing == "rule":
        return _rule(judged, name)
    if judged.aircraft is None or judged.report is None:
        return None
    aircraft, setup = judged.aircraft, judged.aircraft.setup
    if mention.thing == "device":
        device = setup.devices.get(name)
        return None if device is None else device_card(aircraft, judged.report, device)
    if mention.thing == "port":
        owner, _, port = name.partition(".")
        fitted = setup.devices.get(owner)
        return None if fitted is None else port_card(setup, aircraft, fitted, port)
    if mention.thing == "part":
        return _part(judged, name)
    if mention.thing == "channel":
        return channel_card(aircraft, int(name)) if name.isdecimal() else None
    made = _BY_NAME.get(mention.thing)
    return None if made is None else made(aircraft, name)


_BY_NAME: Final[Mapping[str, Callable[[Aircraft, str], Card | None]]] = {
    "surface": surface_card,
    "link": link_card,
    "tank": tank_card,
    "item": item_card,
    "test": test_card,
}


def _rule(judged: Judged, name: str) -> Card | None:
    rules = judged.home.settings.rulebook if judged.home else Rulebook(())
    found = Rulebook((*rules.packs, OWN_RULES)).find(name)
    if found is None:
        return None
    pack, rule = found
    lines = (
        Line("title", rule.title),
        Line(f"{rule.severity.word}, holds {rule.hold.word.replace('-', ' ')}"),
        Line("pack", pack.name),
        *(
            Line("limit", f"{one.name}: {one.text}, by default {one.default}")
            for one in rule.options
        ),
    )
    return Card(Line("rule", rule.id), lines)


def _part(judged: Judged, name: str) -> Card | None:
    """Return the card of a part that some device is one of, or of its declaration alone."""
    if judged.look is None:
        return None
    setup = judged.look.loaded.setup
    for fitted in setup.devices.values():
        if fitted.part_name == name:
            return part_card(name, fitted.part, fitted.part_root.file)
    connector = setup.connectors.get(name)
    if connector is not None:
        return part_card(name, connector, setup.file)
    return _unfitted(setup, name)


def _unfitted(setup: Setup, name: str) -> Card | None:
    """Return the card of a part that no device is one of: what its declaration says."""
    for document in setup.documents.values():
        parts = document.root.get("parts")
        fields = parts.get(name) if isinstance(parts, TreeMap) else None
        if isinstance(fields, TreeMap):
            lines = [Line("field", f"{key}: {shown(value)}") for key, value in fields.items()]
            return Card(Line("part", name), (*lines, Line("declared in", document.name)))
    return None


def _lead(judged: Judged, path: Path) -> Card | None:
    """Return the card of the lead that ``path`` leads to, or to one of whose ends it leads."""
    if path[:1] != ("leads",) or judged.aircraft is None or judged.report is None:
        return None
    if len(path) == 3 and path[2] not in {"from", "to"}:  # noqa: PLR2004
        return None
    for cable in judged.aircraft.setup.cables:
        if cable.place.path == path[:2]:
            return lead_card(judged.aircraft, judged.report, cable)
    return None


def describe(judged: Judged, path: Path) -> str:
    """Return what the schema says of the key at ``path``, in Markdown."""
    rulebook = judged.home.settings.rulebook if judged.home else Rulebook(())
    tree = tree_of(judged.kind, rulebook)
    return "" if tree is None else tree.describe(path, lambda name: kind_of_part(judged, name))


def kind_of_part(
    judged: Judged | None, name: str, typed: Mapping[str, Mapping[str, object]] | None = None
) -> str:
    """Return the kind of a part by its declaration or by what it is like; empty where unknown.

    ``typed`` are the parts of the text as it is being typed, where it is.
    """

    def other(like: str) -> str:
        setup = judged.look.loaded.setup if judged and judged.look else None
        for document in setup.documents.values() if setup else ():
            parts = document.root.get("parts")
            if isinstance(parts, TreeMap) and like in parts:
                return kind_in(parts, like, _plain(parts, like), _unknown)
        return ""

    root = judged.document.root.get("parts") if judged and judged.document else None
    own: Mapping[str, object] = root if isinstance(root, TreeMap) else {}
    parts: Mapping[str, object] = typed if typed is not None else own
    kind = kind_in(parts, name, _plain(parts, name), other)
    return kind if kind in PART_MODELS else ""


def _plain(parts: Mapping[str, object], name: str) -> dict[str, str]:
    fields = parts.get(name)
    if not isinstance(fields, dict):
        return {}
    said = cast("dict[str, object]", fields)
    return {key: value for key, value in said.items() if isinstance(value, str) and value}


def _unknown(_: str) -> str:
    return ""
