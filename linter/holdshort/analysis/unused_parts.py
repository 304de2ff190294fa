"""Parts declared in the setup file itself that nothing in it uses."""

from holdshort.analysis.spreading import spread
from holdshort.document import Node
from holdshort.setup import Setup


def unused_parts(setup: Setup) -> tuple[str, ...]:
    """Return the parts declared in place that no device, lead or other used part refers to.

    What an entry with a mistake of form refers to is used too. Catalogues are shared between
    aircraft: what stands there unused is no fault of this one.
    """
    root = setup.documents[setup.file].root
    parts = _mapping(root.get("parts"))
    used = {name for device in _mapping(root.get("devices")).values() for name in _part_of(device)}
    for lead in _items(root.get("leads")):
        connectors = _mapping(lead).get("connectors")
        names = [connectors, *_items(connectors)]
        used.update(name for name in names if isinstance(name, str))

    def parent(name: str) -> tuple[str, ...]:
        found = _mapping(parts.get(name)).get("like")
        return (found,) if isinstance(found, str) else ()

    kept = set(spread(used, parent))
    return tuple(name for name in parts if name not in kept)


def _part_of(device: Node) -> list[str]:
    part = _mapping(device).get("part")
    return [part] if isinstance(part, str) else []


def _items(value: Node) -> list[Node]:
    return value if isinstance(value, list) else []


def _mapping(value: Node) -> dict[str, Node]:
    return value if isinstance(value, dict) else {}
