"""What may be written at the cursor.

What is being typed is read from the lines as they stand (:mod:`holdshort.editor.outline`), for a
text with half a word in it is often no document; the names to choose from come from the last state
of the text that was one.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final, NamedTuple

from holdshort.document import Path, TreeMap
from holdshort.editor.hovering import kind_of_part
from holdshort.editor.judging import Judged, Kind, kind_of_text
from holdshort.editor.outline import Context, context
from holdshort.editor.positions import Lines, Point
from holdshort.editor.schema_tree import SchemaTree, tree_of
from holdshort.rulebook import Rulebook
from holdshort.setup import Fitted, Setup, functions
from holdshort.setup.parts import PART_MODELS

_DECIDERS: Final = ("receiver", "hub", "gyro", "engine-controller")
_WHOSE: Final = ("at", "from", "of", "senses")
_MOST: Final = 500
_SIGNS: Final = frozenset(":#{}[],&*!|>%@`\"'")


class Offer(NamedTuple):
    """One thing that may be written: how it is listed, and what is written for it.

    ``about`` is Markdown of the program's own, ``detail`` may be the file's text. ``rank`` orders:
    lower comes first.
    """

    label: str
    insert: str
    what: str
    detail: str = ""
    about: str = ""
    rank: int = 0


class Offers(NamedTuple):
    """What may be written in place of the text from ``start`` to the cursor, on one line."""

    start: Point
    end: Point
    found: tuple[Offer, ...]


def complete(
    lines: Lines, point: Point, last_good: Judged | None, rulebook: Rulebook
) -> Offers | None:
    """Return what may be written at a place, or None where nothing is known."""
    found = context(lines.lines, point.line - 1, point.column - 1)
    kind = kind_of_text(lines.text) if last_good is None else last_good.kind
    tree = tree_of(kind, rulebook)
    if found is None:
        return None
    desk = _Desk(found, last_good, rulebook, tree, kind)
    offers = {offer.label: offer for offer in desk.offers() if _fits(offer, found.word)}
    start, end = Point(point.line, point.column - len(found.word)), point
    return Offers(start, end, tuple(sorted(offers.values(), key=_rank)[:_MOST]))


def _rank(offer: Offer) -> int:
    return offer.rank


def _fits(offer: Offer, word: str) -> bool:
    """Tell whether an offer has the letters of a word in their order: the client sorts the rest."""
    left = iter(offer.label.casefold())
    return all(letter in left for letter in word.strip("\"'").casefold())


@dataclass(frozen=True, slots=True)
class _Desk:
    """Everything that offers are made from."""

    context: Context
    last_good: Judged | None
    rulebook: Rulebook
    tree: SchemaTree | None
    kind: Kind

    def offers(self) -> Iterator[Offer]:
        if self.context.part == "key":
            yield from self._keys()
        else:
            yield from self._values()

    @property
    def setup(self) -> Setup | None:
        judged = self.last_good
        return judged.look.loaded.setup if judged is not None and judged.look else None

    def _kind_of_part(self, name: str) -> str:
        return kind_of_part(self.last_good, name, self.context.parts)

    # -- keys -----------------------------------------------------------------------------

    def _keys(self) -> Iterator[Offer]:
        taken = {key for key in self.context.present if key != self.context.word.strip()}
        if self.tree is None:
            if not self.context.path:
                yield from (self._key(key, "the first key of a file") for key in _FIRST)
            return
        for entry in self.tree.keys(self.context.path, self._kind_of_part):
            if entry.name not in taken:
                yield self._key(entry.name, "key", about=entry.about)
        for name, detail in self._names_as_keys():
            if name not in taken:
                yield self._key(name, detail)

    def _key(self, name: str, what: str, about: str = "") -> Offer:
        colon = "" if self.context.rest.lstrip().startswith(":") else ": "
        return Offer(name, f"{quoted(name)}{colon}", what, about=about)

    def _names_as_keys(self) -> Iterator[tuple[str, str]]:
        """Yield the names that stand as keys at some places."""
        path, setup = self.context.path, self.setup
        if setup is None:
            return
        if path == ("failsafe",):
            yield from ((one.name, one.kind) for one in setup.of_kind(*_DECIDERS))
        elif path == ("surfaces",):
            driven = {name for entry in setup.channels.values() for name in entry.channel.drives}
            yield from ((name, "driven by a channel") for name in sorted(driven))
        elif _matches(path, ("devices", None, "ports")):
            device = setup.devices.get(str(path[1]))
            for port in device.ports.values() if device else ():
                yield port.name, port.does or "port"
        elif _matches(path, ("failsafe", None, "channels")) or path == ("radio", "channels"):
            for number, entry in setup.channels.items():
                yield str(number), ", ".join(entry.channel.drives)

    # -- values ---------------------------------------------------------------------------

    def _values(self) -> Iterator[Offer]:
        path = self.context.path
        if self.tree is not None:
            for word in self.tree.values(path, self._kind_of_part):
                yield Offer(word, word, "word")
        bare = path[:-1] if path and isinstance(path[-1], int) else path
        if _matches(bare, ("parts", None, "kind")):
            yield from (Offer(kind, kind, "kind of part") for kind in PART_MODELS)
        elif _matches(bare, ("parts", None, "like")) or _ends(bare, "part", "connectors"):
            yield from self._parts()
        elif bare[:1] == ("leads",) and _ends(bare, "from", "to"):
            yield from self._ends_of_leads()
        elif bare[:1] == ("deferrals",) or bare[:1] == ("limits",):
            yield from self._deferral(str(bare[-1]))
        else:
            yield from self._names(bare)

    def _names(self, path: Path) -> Iterator[Offer]:
        setup = self.setup
        if setup is None or not path:
            return
        if _ends(path, "backs-up", "heard-by"):
            yield from _devices(setup.of_kind("receiver"))
        elif _ends(path, "servo", "mirrored"):
            yield from _devices(setup.of_kind("servo"))
        elif _ends(path, "drives") or ("mixes" in path and _ends(path, "from", "to")):
            yield from self._functions(setup)
        elif _ends(path, "of", "senses") or path[0] in {"telemetry", "log"}:
            yield from _devices(setup.devices.values() if _ends(path, *_WHOSE) else ())
        elif _ends(path, "channel"):
            for number, entry in setup.channels.items():
                drives = ", ".join(entry.channel.drives)
                yield Offer(str(number), str(number), "channel", drives)

    def _functions(self, setup: Setup) -> Iterator[Offer]:
        driven = {name for entry in setup.channels.values() for name in entry.channel.drives}
        for name in setup.surfaces:
            yield Offer(name, quoted(name), "surface", rank=int(name in driven))
        for name in functions.ALL:
            yield Offer(name, quoted(name), "control function", rank=2)

    def _parts(self) -> Iterator[Offer]:
        """Yield the parts of the file and of its catalogues, by their names."""
        judged = self.last_good
        if judged is None or judged.document is None:
            return
        others = self.setup.documents.values() if self.setup else ()
        for document in (judged.document, *others):
            parts = document.root.get("parts")
            for name, fields in parts.items() if isinstance(parts, TreeMap) else ():
                yield Offer(name, quoted(name), "part", _part_detail(fields))

    def _ends_of_leads(self) -> Iterator[Offer]:
        """Yield ``device.port`` after a dot, its free ports first, and devices before one."""
        setup = self.setup
        if setup is None:
            return
        owner, dot, _ = self.context.word.strip("\"'").partition(".")
        if not dot:
            for device in setup.devices.values():
                yield Offer(device.name, quoted(device.name), device.kind, device.part_name)
            return
        fitted = setup.devices.get(owner)
        used = self._used_ports(setup)
        for port in fitted.ports.values() if fitted else ():
            free = port.address not in used
            detail = f"{port.does or 'not declared'}{'' if free else ', has a lead'}"
            channel = f", channel {port.channel}" if port.channel else ""
            yield Offer(
                port.address, quoted(port.address), "port", detail + channel, rank=int(not free)
            )

    def _used_ports(self, setup: Setup) -> set[str]:
        """Return the ports that have a lead, other than the lead that is being typed."""
        return {
            end.port.address
            for cable in setup.cables
            for end in (cable.start, cable.end)
            if end.port is not None and end.place.path != self.context.path
        }

    def _deferral(self, key: str) -> Iterator[Offer]:
        if key == "rule":
            for _, rule in self.rulebook:
                yield Offer(rule.id, rule.id, "rule", rule.title)
        report = self.last_good.report if self.last_good else None
        if key == "at" and report is not None:
            wanted = self.context.present.get("rule")
            for finding in report.findings:
                if not wanted or finding.rule == wanted:
                    yield Offer(finding.at.path, quoted(finding.at.path), "place", finding.rule)


_FIRST: Final = ("holdshort", "holdshort-parts", "holdshort-hangar")


def _devices(devices: Iterable[Fitted]) -> Iterator[Offer]:
    for device in devices:
        yield Offer(device.name, quoted(device.name), device.kind, device.part_name)


def _part_detail(fields: object) -> str:
    if not isinstance(fields, TreeMap):
        return ""
    said = (fields.get("kind"), fields.get("like"), fields.get("title"))
    return ", ".join(word for word in said if isinstance(word, str))


def _ends(path: Path, *steps: str) -> bool:
    return bool(path) and path[-1] in steps


def _matches(path: Path, form: tuple[str | None, ...]) -> bool:
    """Tell whether a path has a form, in which None stands for any name."""
    return len(path) == len(form) and all(
        want is None or want == step for step, want in zip(path, form, strict=True)
    )


def quoted(name: str) -> str:
    """Return a name as YAML takes it: in quotes where it has signs that mean something there."""
    awkward = not name or name != name.strip() or name[0] in "-?~" or not name.isprintable()
    if awkward or not _SIGNS.isdisjoint(name):
        return "'" + name.replace("'", "''") + "'"
    return name
