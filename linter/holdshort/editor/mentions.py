"""Every place of a file that names something: where it is declared, and where it is meant."""

from collections.abc import Iterator
from typing import Final, Literal, NamedTuple

from holdshort.document import Document, Node, Path, Span, TreeList, TreeMap
from holdshort.setup.runs import expand_run

Thing = Literal[
    "device", "port", "part", "surface", "channel", "link", "tank", "item", "test", "rule", "file"
]

_WHOSE: Final = frozenset({"at", "from", "of", "without"})
_CHANNEL: Final = "channel "


class Mention(NamedTuple):
    """One place that names things of one kind: most name one, a run of channels several.

    A port is named ``device.port``. ``path`` is the place in the document, ``declares`` is True
    where the thing is declared there.
    """

    thing: Thing
    names: tuple[str, ...]
    span: Span
    path: Path
    declares: bool = False


def mentions(document: Document) -> list[Mention]:
    """Return everything that a setup file, a file of parts or a hangar file names, in its order."""
    finder = _Finder(document)
    found = [
        *finder.parts(),
        *finder.devices(),
        *finder.leads(),
        *finder.radio(),
        *finder.failsafe(),
        *finder.surfaces(),
        *finder.rules(),
        *finder.tests(),
        *finder.balance(),
        *finder.others(),
        *finder.files(),
    ]
    return sorted(found, key=lambda one: (one.span.line, one.span.column))


def at_point(found: list[Mention], line: int, column: int) -> Mention | None:
    """Return the narrowest mention that holds a place, its end included."""
    hits = [one for one in found if _holds(one.span, line, column)]
    return min(hits, key=lambda one: one.span.end_column - one.span.column, default=None)


def _holds(span: Span, line: int, column: int) -> bool:
    return (span.line, span.column) <= (line, column) <= (span.end_line, span.end_column)


class _Finder:
    """Looks through one document; what has another shape than it should names nothing."""

    def __init__(self, document: Document) -> None:
        self.document = document
        root = document.root
        self.device_names = _keys(root.get("devices"))
        self.named: dict[Thing, frozenset[str]] = {
            "surface": _keys(root.get("surfaces")),
            "link": _keys(_get(root.get("radio"), "links")),
            "tank": _keys(_get(root.get("balance"), "tanks")),
            "item": _keys(_get(root.get("balance"), "items")),
        }

    def parts(self) -> Iterator[Mention]:
        for name, part in self._entries("parts"):
            yield self._key("part", (name,), ("parts", name), declares=True)
            yield from self._words("part", part, ("parts", name, "like"))

    def devices(self) -> Iterator[Mention]:
        for name, device in self._entries("devices"):
            path: Path = ("devices", name)
            yield self._key("device", (name,), path, declares=True)
            yield from self._words("part", device, (*path, "part"))
            yield from self._words("device", device, (*path, "backs-up"))
            for key, setting in _pairs(_get(device, "ports")):
                ports = tuple(f"{name}.{port}" for port in _expanded(key))
                yield self._key("port", ports, (*path, "ports", key))
                yield from self._words("channel", setting, (*path, "ports", key, "channel"))

    def leads(self) -> Iterator[Mention]:
        leads = self.document.root.get("leads")
        for index, lead in enumerate(leads if isinstance(leads, TreeList) else ()):
            for key in ("from", "to"):
                end = _get(lead, key)
                if isinstance(end, str):
                    yield from self._end(end, ("leads", index, key))
            yield from self._words("part", lead, ("leads", index, "connectors"))

    def _end(self, end: str, path: Path) -> Iterator[Mention]:
        """Yield the device, and the port, that one end of a lead names."""
        device, dot, _ = end.partition(".")
        yield Mention("device", (device,), self._piece(path, end, 0, len(device)), path)
        if dot:
            span = self._piece(path, end, len(device) + 1, len(end))
            yield Mention("port", (end,), span, path)

    def radio(self) -> Iterator[Mention]:
        radio = self.document.root.get("radio")
        for name, link in _pairs(_get(radio, "links")):
            yield self._key("link", (name,), ("radio", "links", name), declares=True)
            yield from self._words("device", link, ("radio", "links", name, "heard-by"))
        for key, channel in _pairs(_get(radio, "channels")):
            path: Path = ("radio", "channels", key)
            yield self._key("channel", _expanded(key), path, declares=True)
            yield from self._surface_words(channel, (*path, "drives"))
        for name, mode in _pairs(_get(radio, "modes")):
            yield from self._channels(_get(mode, "travel"), ("radio", "modes", name, "travel"))
        yield from self._mixes(radio, ("radio",))
        for name, device in self._entries("devices"):
            yield from self._mixes(device, ("devices", name))

    def _mixes(self, owner: Node, path: Path) -> Iterator[Mention]:
        mixes = _get(owner, "mixes")
        for index, mix in enumerate(mixes if isinstance(mixes, TreeList) else ()):
            for key in ("from", "to"):
                yield from self._surface_words(mix, (*path, "mixes", index, key))

    def failsafe(self) -> Iterator[Mention]:
        for name, entry in self._entries("failsafe"):
            yield self._key("device", (name,), ("failsafe", name))
            yield from self._channels(_get(entry, "channels"), ("failsafe", name, "channels"))

    def _channels(self, node: Node, path: Path) -> Iterator[Mention]:
        for key, _ in _pairs(node):
            yield self._key("channel", _expanded(key), (*path, key))

    def surfaces(self) -> Iterator[Mention]:
        for name, surface in self._entries("surfaces"):
            yield self._key("surface", (name,), ("surfaces", name), declares=True)
            for key in ("servo", "mirrored"):
                yield from self._words("device", surface, ("surfaces", name, key))

    def files(self) -> Iterator[Mention]:
        """Yield the catalogues, by their paths as seen from this file."""
        yield from self._words("file", self.document.root, ("catalogues",))

    def balance(self) -> Iterator[Mention]:
        """Yield the tanks and items, and the keys that name those or devices."""
        balance = self.document.root.get("balance")
        for name, _ in _pairs(_get(balance, "tanks")):
            yield self._key("tank", (name,), ("balance", "tanks", name), declares=True)
        for name, _ in _pairs(_get(balance, "items")):
            thing = self._device_or_item(name)
            path: Path = ("balance", "items", name)
            yield self._key(thing, (name,), path, declares=thing == "item")
        for name, _ in _pairs(_get(balance, "movable")):
            yield self._key(self._device_or_item(name), (name,), ("balance", "movable", name))
        for name, weighing in _pairs(_get(balance, "weighings")):
            for tank, _ in _pairs(_get(weighing, "tanks")):
                path = ("balance", "weighings", name, "tanks", tank)
                yield self._key("tank", (tank,), path)

    def _device_or_item(self, name: str) -> Thing:
        return "device" if name in self.device_names else "item"

    def others(self) -> Iterator[Mention]:
        """Yield whose the figures are in the sections about loads, telemetry and logs."""
        for section in ("balance", "telemetry", "log"):
            yield from self._below((section,), self.document.root.get(section))
        for name, device in self._entries("devices"):
            yield from self._said(("devices", name, "senses"), _get(device, "senses"))

    def _below(self, path: Path, node: Node) -> Iterator[Mention]:
        """Yield what is named under the keys that say whose a figure is, at any depth."""
        of_position = _get(node, "measures") == "position"
        for key, value in _pairs(node):
            if key in _WHOSE:
                yield from self._said((*path, key), value, surfaces_first=of_position)
            else:
                yield from self._below((*path, key), value)

    def _said(self, path: Path, value: Node, *, surfaces_first: bool = False) -> Iterator[Mention]:
        if isinstance(value, TreeList):
            for index, entry in enumerate(value):
                yield from self._said((*path, index), entry)
        if not isinstance(value, str):
            return
        thing = self._thing_called(value)
        channel = value.removeprefix(_CHANNEL).strip() if value.startswith(_CHANNEL) else ""
        if value.partition(".")[0] in self.device_names and not (
            surfaces_first and thing == "surface"
        ):
            yield from self._end(value, path)
        elif thing is not None:
            yield Mention(thing, (value,), self.document.span_at(path), path)
        elif channel.isdecimal():
            span = self._piece(path, value, len(value) - len(channel), len(value))
            yield Mention("channel", (channel,), span, path)

    def _thing_called(self, name: str) -> Thing | None:
        """Return what is called so, devices aside."""
        for thing, names in self.named.items():
            if name in names:
                return thing
        return None

    def tests(self) -> Iterator[Mention]:
        """Yield the tests that are signed for, and a club's own in its hangar file."""
        sign_offs = self.document.root.get("sign-offs")
        for index, sign_off in enumerate(sign_offs if isinstance(sign_offs, TreeList) else ()):
            yield from self._words("test", sign_off, ("sign-offs", index, "test"))
        for name, _ in self._entries("tests"):
            yield self._key("test", (name,), ("tests", name), declares=True)

    def rules(self) -> Iterator[Mention]:
        deferrals = self.document.root.get("deferrals")
        for index, deferral in enumerate(deferrals if isinstance(deferrals, TreeList) else ()):
            yield from self._words("rule", deferral, ("deferrals", index, "rule"))
        for section in ("limits", "severities"):
            for name, _ in self._entries(section):
                yield self._key("rule", (name,), (section, name))

    def _entries(self, section: str) -> Iterator[tuple[str, Node]]:
        return _pairs(self.document.root.get(section))

    def _key(
        self, thing: Thing, names: tuple[str, ...], path: Path, *, declares: bool = False
    ) -> Mention:
        return Mention(thing, names, self.document.key_span_at(path), path, declares)

    def _words(self, thing: Thing, owner: Node, path: Path) -> Iterator[Mention]:
        """Yield each name that the value of the last step of ``path`` is, or lists."""
        value = _get(owner, str(path[-1]))
        if isinstance(value, TreeList):
            for index, word in enumerate(value):
                if isinstance(word, str):
                    spot = (*path, index)
                    yield Mention(thing, (word,), self.document.span_at(spot), spot)
        elif isinstance(value, str | int) and not isinstance(value, bool):
            yield Mention(thing, (str(value),), self.document.span_at(path), path)

    def _surface_words(self, owner: Node, path: Path) -> Iterator[Mention]:
        for found in self._words("surface", owner, path):
            if found.names[0] in self.named["surface"]:
                yield found

    def _piece(self, path: Path, text: str, start: int, end: int) -> Span:
        """Return the span of a piece of a text; of one that is not plain, that of the whole."""
        span = self.document.span_at(path)
        if span.line != span.end_line or span.end_column - span.column != len(text):
            return span
        return Span(span.line, span.column + start, span.line, span.column + end)


def _get(node: Node, key: str) -> Node:
    return node.get(key) if isinstance(node, TreeMap) else None


def _keys(node: Node) -> frozenset[str]:
    return frozenset(node if isinstance(node, TreeMap) else ())


def _pairs(node: Node) -> Iterator[tuple[str, Node]]:
    return iter(node.items() if isinstance(node, TreeMap) else ())


def _expanded(key: str) -> tuple[str, ...]:
    try:
        return expand_run(key)
    except ValueError:
        return (key,)
