"""What may be written at the cursor.

What is being typed is read from the lines as they stand (:mod:`holdshort.editor.outline`), for a
text with half a word in it is often no document; the names to choose from come from the last state
of the text that was one.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final, NamedTuple

from holdshort.document import Node, Path, TreeMap
from holdshort.editor.hovering import kind_of_part
from holdshort.editor.judging import Judged, Kind, kind_of_text
from holdshort.editor.offers import Offer, devices, named, quoted
from holdshort.editor.outline import Context, context
from holdshort.editor.positions import Lines, Point
from holdshort.editor.schema_tree import SchemaTree, tree_of
from holdshort.editor.subjects import names_as_keys, subjects
from holdshort.rulebook import Rulebook
from holdshort.setup import Setup, functions
from holdshort.setup.parts import PART_MODELS
from holdshort.setup.runs import expand_run

_DECIDERS: Final = ("receiver", "hub", "gyro", "engine-controller")
_MOST: Final = 500


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
        found = self.context
        if found.part == "key":
            yield from self._keys(found.path)
            return
        if found.path and isinstance(found.path[-1], int) and not found.in_brackets:
            yield from self._keys(found.path)  # behind a dash a mapping may begin
        yield from self._values()

    @property
    def setup(self) -> Setup | None:
        judged = self.last_good
        return judged.look.loaded.setup if judged is not None and judged.look else None

    def _kind_of_part(self, name: str) -> str:
        return kind_of_part(self.last_good, name, self.context.parts)

    # -- keys -----------------------------------------------------------------------------

    def _keys(self, path: Path) -> Iterator[Offer]:
        taken = _taken(self.context) if self.context.part == "key" else set[str]()
        if self.tree is None:
            if not path:
                yield from (self._key(key, "the first key of a file") for key in _FIRST)
            return
        for entry in self.tree.keys(path, self._kind_of_part):
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
        if setup is None or self.context.part != "key":
            return
        if path == ("failsafe",):
            yield from ((one.name, one.kind) for one in setup.of_kind(*_DECIDERS))
        elif path == ("surfaces",):
            driven = {name for entry in setup.channels.values() for name in entry.channel.drives}
            yield from ((name, "driven by a channel") for name in sorted(driven))
        elif _matches(path, ("failsafe", None, "channels")) or path == ("radio", "channels"):
            for number, entry in setup.channels.items():
                yield str(number), ", ".join(entry.channel.drives)
        elif _matches(path, ("devices", None, "ports")):
            yield from _ports(setup, str(path[1]))
        elif self.last_good and self.last_good.aircraft:
            yield from names_as_keys(path, self.context.around, self.last_good.aircraft)

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
            yield from self._parts(_KINDS[str(bare[-1])])
        elif (bare[:1] == ("leads",) and _ends(bare, "from", "to")) or _is_log_place(bare):
            yield from self._ends_of_leads()
        elif bare[:1] == ("deferrals",) or bare[:1] == ("limits",):
            yield from self._deferral(str(bare[-1]))
        else:
            yield from self._names(bare)

    def _names(self, path: Path) -> Iterator[Offer]:
        judged, setup = self.last_good, self.setup
        if judged is None or setup is None or not path:
            return
        if _ends(path, "backs-up", "heard-by", "servo", "mirrored"):
            yield from self._devices_of_kind(setup, path)
        elif _ends(path, "drives") or ("mixes" in path and _ends(path, "from", "to")):
            yield from self._functions(setup)
        elif _matches(path, ("surfaces", None, "function")):
            yield from (named(name, "control function") for name in functions.ALL)
        elif _ends(path, "channel"):
            for number, entry in setup.channels.items():
                drives = ", ".join(entry.channel.drives)
                yield Offer(str(number), str(number), "channel", drives)
        elif judged.aircraft is not None:
            yield from subjects(path, self.context.present, judged.aircraft)

    def _devices_of_kind(self, setup: Setup, path: Path) -> Iterator[Offer]:
        """Yield receivers but the one that asks, or servos; of a surface's mirrored ones its own.

        A surface that is new has all servos to choose from.
        """
        kind = "servo" if _ends(path, "servo", "mirrored") else "receiver"
        surface = setup.surfaces.get(str(path[1])) if _ends(path, "mirrored") else None
        for one in setup.of_kind(kind):
            asks = path[:2] == ("devices", one.name)
            if not asks and (surface is None or one.name in surface.servo):
                yield named(one.name, one.kind, one.part_name)

    def _functions(self, setup: Setup) -> Iterator[Offer]:
        driven = {name for entry in setup.channels.values() for name in entry.channel.drives}
        for name in setup.surfaces:
            yield Offer(name, quoted(name), "surface", rank=int(name in driven))
        for name in functions.ALL:
            yield Offer(name, quoted(name), "control function", rank=2)

    def _parts(self, kinds: frozenset[str]) -> Iterator[Offer]:
        """Yield the parts of some kinds, of the file and of its catalogues, by their names."""
        judged = self.last_good
        if judged is None or judged.document is None:
            return
        declared: dict[str, dict[str, Node]] = {}
        others = self.setup.documents.values() if self.setup else ()
        for document in (judged.document, *others):
            parts = document.root.get("parts")
            for name, fields in parts.items() if isinstance(parts, TreeMap) else ():
                declared.setdefault(name, dict(fields) if isinstance(fields, TreeMap) else {})
        for name, said in declared.items():
            if kind_of_part(None, name, declared) in {*kinds, ""}:
                yield named(name, "part", _part_detail(said))

    def _ends_of_leads(self) -> Iterator[Offer]:
        """Yield ``device.port`` after a dot, its free ports first, and devices before one."""
        setup = self.setup
        if setup is None:
            return
        owner, dot, _ = self.context.word.strip("\"'").partition(".")
        if not dot:
            yield from devices(setup.devices.values())
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


_KINDS: Final = {
    "like": frozenset(PART_MODELS),
    "part": frozenset(PART_MODELS) - {"connector"},
    "connectors": frozenset({"connector"}),
}
"""The kinds of part that each key may name."""
_FIRST: Final = ("holdshort", "holdshort-parts", "holdshort-hangar")


def _ports(setup: Setup, device: str) -> Iterator[tuple[str, str]]:
    fitted = setup.devices.get(device)
    for port in fitted.ports.values() if fitted else ():
        yield port.name, port.does or "port"


def _part_detail(fields: Mapping[str, Node]) -> str:
    said = (fields.get("kind"), fields.get("like"), fields.get("title"))
    return ", ".join(word for word in said if isinstance(word, str))


def _taken(context: Context) -> set[str]:
    """Return the keys that stand beside the one that is typed, every number of a run."""
    taken: set[str] = set()
    for key in context.present:
        if key != context.word.strip():
            taken |= {key, *_numbers(key)}
    return taken


def _numbers(key: str) -> tuple[str, ...]:
    try:
        return expand_run(key)
    except ValueError:
        return ()


def _is_log_place(path: Path) -> bool:
    return _matches(path, ("log", "columns", None, "at"))


def _ends(path: Path, *steps: str) -> bool:
    return bool(path) and path[-1] in steps


def _matches(path: Path, form: tuple[str | None, ...]) -> bool:
    """Tell whether a path has a form, in which None stands for any name."""
    return len(path) == len(form) and all(
        want is None or want == step for step, want in zip(path, form, strict=True)
    )
