"""Finding parts: in the setup file itself and in its catalogues; parts that are like others."""

from collections.abc import Callable, Iterator, Mapping
from typing import Final, NamedTuple

from pydantic import ValidationError

from holdshort.document import Document, DocumentError, Fault, Node, Path, TreeMap
from holdshort.setup.base import NAME
from holdshort.setup.mistakes import (
    any_of,
    did_you_mean,
    faults_of,
    reference_fault,
    seen,
    seen_first,
    shape_fault,
)
from holdshort.setup.model import Place
from holdshort.setup.parts import PART_MODELS, Part, PartBase

CATALOGUE_KEY: Final = "holdshort-parts"
"""The first key of a file of parts, with its format version."""
CATALOGUE_SECTIONS: Final = (CATALOGUE_KEY, "parts")
FORMAT_VERSION: Final = 1

ReadCatalogue = Callable[[str], Document]
"""Reads the catalogue that a setup file names; raises DocumentError."""


def root_faults(document: Document, format_key: str, known: tuple[str, ...]) -> Iterator[Fault]:
    """Yield the mistakes in the top-level keys of a file: its version and unknown sections."""
    root = document.root
    if format_key not in root:
        do = f"Begin the file with `{format_key}: {FORMAT_VERSION}`."
        yield reference_fault("missing-key", f"`{format_key}` is missing.", document, (), do)
    elif root[format_key] != FORMAT_VERSION or isinstance(root[format_key], bool):
        yield reference_fault(
            "unknown-version",
            f"`{format_key}` is {seen(root[format_key])}, "
            "which is not a version that this program reads.",
            document,
            (format_key,),
            f"Write `{format_key}: {FORMAT_VERSION}`.",
        )
    for key in root:
        if key not in known:
            message, do = f"{seen(key)} is not a section.", did_you_mean(key, known)
            yield reference_fault("unknown-key", message, document, (key,), do, at_key=True)


class Shared(NamedTuple):
    """What several aircraft have in common, and the ``document`` that says so.

    ``catalogues`` are names that ``read`` reads, ``follows`` published codes; both by their place
    in its lists.
    """

    document: Document
    catalogues: Mapping[int, str]
    read: ReadCatalogue
    follows: Mapping[int, str]


class ResolvedPart(NamedTuple):
    """A part after following what it is like."""

    name: str
    part: PartBase
    root: Place
    origins: Mapping[str, Place]


class Shelf:
    """All the parts that one setup file can use, read when they are first asked for."""

    def __init__(self) -> None:
        """Start empty."""
        self.faults: list[Fault] = []
        self._homes: dict[str, tuple[Document, TreeMap]] = {}
        self._resolved: dict[str, ResolvedPart | None] = {}

    def add(self, document: Document) -> None:
        """Take up the parts declared in ``document``."""
        parts = document.root.get("parts")
        if isinstance(parts, TreeMap):
            for name in parts:
                self._add_one(name, document, parts)
        elif parts is not None:
            do = "Write `name: {kind: ...}` lines under it."
            self.faults.append(shape_fault(parts, "a mapping", document, ("parts",), do))

    def _add_one(self, name: str, document: Document, parts: TreeMap) -> None:
        path = ("parts", name)
        if not NAME.fits(name):
            self.faults.append(
                reference_fault(
                    "bad-name",
                    f"{seen(name)} cannot be a name.",
                    document,
                    path,
                    NAME.form,
                    at_key=True,
                )
            )
        if name not in self._homes:
            self._homes[name] = (document, parts)
            return
        first = self._homes[name][0]
        self.faults.append(
            reference_fault(
                "part-given-twice",
                f"Part `{name}` is declared twice: here and in {first.name}.",
                document,
                path,
                "Keep one of them, or give this one another name with `like:`.",
                at_key=True,
            )
        )

    @property
    def names(self) -> tuple[str, ...]:
        """The names of all parts."""
        return tuple(self._homes)

    def find(self, name: str) -> ResolvedPart | None:
        """Return the part called ``name``, or None where it is absent or has mistakes of form.

        Its mistakes are added to :attr:`faults` once.
        """
        if name not in self._resolved:
            found = self._resolve(name) if name in self._homes else None
            self._resolved[name] = found
        return self._resolved[name]

    def check_all(self) -> None:
        """Read every part, so that all mistakes of form are known."""
        for name in self._homes:
            self.find(name)

    def _resolve(self, name: str) -> ResolvedPart | None:
        chain = self._chain(name)
        if not chain:
            return None
        merged: dict[str, Node] = {}
        origins: dict[str, Place] = {}
        for step in reversed(chain):
            document, parts = self._homes[step]
            fields = parts[step]
            assert isinstance(fields, TreeMap)  # noqa: S101  - _chain has checked it
            for key, value in fields.items():
                if key != "like":
                    merged[key] = value
                    origins[key] = Place(document.name, ("parts", step))
        return self._validate(name, merged, origins)

    def _chain(self, name: str) -> list[str]:
        """Return ``name`` and what it is like, up to the last; empty after a fault."""
        chain: list[str] = []
        step: str | None = name
        while step is not None:
            document, parts = self._homes[step]
            fields = parts[step]
            if not isinstance(fields, TreeMap):
                do = "Write it as `{kind: ..., ...}`, or `{like: ...}`."
                self.faults.append(shape_fault(fields, "a mapping", document, ("parts", step), do))
                return []
            chain.append(step)
            parent = fields.get("like")
            if "like" not in fields:
                step = None
            elif not isinstance(parent, str):
                self._like_fault("wrong-value", step, f"`like` is {seen(parent)}.", "Name a part.")
                return []
            elif not self._can_follow(step, parent, chain):
                return []
            else:
                step = parent
        return chain

    def _can_follow(self, step: str, parent: str, chain: list[str]) -> bool:
        """Tell whether ``parent``, which ``step`` is like, leads on; note where it does not."""
        if parent not in self._homes:
            self._like_fault(
                "unknown-part",
                step,
                f"Part `{step}` is like {seen(parent)}, which is not a known part.",
                did_you_mean(parent, self.names),
            )
            return False
        if parent in chain:
            self._resolved.update(dict.fromkeys(chain))
            circle = any_of([*chain[chain.index(parent) :], parent], "then")
            self._like_fault(
                "part-like-itself",
                step,
                f"Part `{parent}` is like itself, by way of {circle}.",
                "Let one of them state its own ratings.",
            )
            return False
        return True

    def _like_fault(self, kind: str, step: str, message: str, do: str) -> None:
        document, _ = self._homes[step]
        fault = reference_fault(kind, message, document, ("parts", step, "like"), do)
        if fault not in self.faults:
            self.faults.append(fault)

    def _validate(
        self, name: str, merged: dict[str, Node], origins: Mapping[str, Place]
    ) -> ResolvedPart | None:
        document, _ = self._homes[name]
        kind = merged.get("kind")
        if not isinstance(kind, str) or kind not in PART_MODELS:
            self._kind_fault(name, kind, document, origins)
            return None
        model = PART_MODELS[kind]
        try:
            part = model.read(merged)
        except ValidationError as error:
            found = faults_of(error, model, lambda steps: self._where(name, origins, steps))
            self.faults += [fault for fault in found if fault not in self.faults]
            return None
        return ResolvedPart(name, part, Place(document.name, ("parts", name)), origins)

    def _where(self, name: str, origins: Mapping[str, Place], steps: Path) -> tuple[Document, Path]:
        """Return where a field of a part stands, be it inherited."""
        home = origins.get(str(steps[0])) if steps else None
        if home is None:
            return self._homes[name][0], ("parts", name, *steps)
        return self._document(home), (*home.path, *steps)

    def _kind_fault(
        self, name: str, kind: Node, document: Document, origins: Mapping[str, Place]
    ) -> None:
        home = origins.get("kind")
        path: Path = ("parts", name)
        if home is None:
            message = f"Part `{name}` does not say its `kind`."
            do = f"Add `kind:` with one of {any_of(PART_MODELS)}."
        else:
            message = f"{seen_first(kind)} is not a kind of part."
            do = did_you_mean(str(kind), PART_MODELS)
            document, path = self._document(home), (*home.path, "kind")
        fault = reference_fault("unknown-kind", message, document, path, do, at_key=home is None)
        if fault not in self.faults:
            self.faults.append(fault)

    def _document(self, place: Place) -> Document:
        return self._homes[str(place.path[1])][0]


def read_shelf(
    document: Document,
    catalogues: Mapping[int, str],
    read: ReadCatalogue,
    shared: Shared | None = None,
) -> tuple[Shelf, dict[str, Document]]:
    """Gather the parts of a setup file and of the catalogues it names, by place in its list.

    Returns the shelf and, by name, the documents of the catalogues and of ``shared``, whose
    catalogues are read as well. A catalogue that cannot be read is a fault at the line that names
    it.
    """
    shelf = Shelf()
    shelf.add(document)
    documents: dict[str, Document] = {}
    for index, name in catalogues.items():
        catalogue = _read_catalogue(shelf, document, ("catalogues", index), name, read)
        if catalogue is None:
            continue
        if catalogue.name in documents:
            message = f"Catalogue {seen(name)} is named twice."
            path = ("catalogues", index)
            shelf.faults.append(
                reference_fault("given-twice", message, document, path, "Name it once.")
            )
            continue
        _take_up(catalogue, shelf, documents)
    if shared is not None:
        documents[shared.document.name] = shared.document
        _add_shared(shared, shelf, documents)
    return shelf, documents


def _take_up(catalogue: Document, shelf: Shelf, documents: dict[str, Document]) -> None:
    documents[catalogue.name] = catalogue
    shelf.faults += root_faults(catalogue, CATALOGUE_KEY, CATALOGUE_SECTIONS)
    shelf.add(catalogue)


def _add_shared(shared: Shared, shelf: Shelf, documents: dict[str, Document]) -> None:
    """Add the shared catalogues, but for those that the setup file names itself."""
    for index, name in shared.catalogues.items():
        path = ("catalogues", index)
        catalogue = _read_catalogue(shelf, shared.document, path, name, shared.read)
        if catalogue is None or any(one.root is catalogue.root for one in documents.values()):
            continue
        _take_up(catalogue, shelf, documents)


def _read_catalogue(
    shelf: Shelf, document: Document, path: Path, name: str, read: ReadCatalogue
) -> Document | None:
    try:
        catalogue = read(name)
    except DocumentError as error:
        message = f"Catalogue {seen(name)} could not be read."
        do = "Put right what is said about it, or the path, which is seen from this file."
        shelf.faults.append(error.fault)
        shelf.faults.append(reference_fault("unreadable-catalogue", message, document, path, do))
        return None
    if CATALOGUE_KEY in catalogue.root:
        return catalogue
    message = f"{seen(name)} does not begin with `{CATALOGUE_KEY}: 1`: not a file of parts."
    do = "Name a file of parts, or begin that file so."
    shelf.faults.append(reference_fault("not-a-catalogue", message, document, path, do))
    return None


def as_part(part: PartBase) -> Part:
    """Narrow a validated part to the union of all kinds."""
    assert isinstance(part, Part)  # noqa: S101  - PART_MODELS holds exactly these
    return part
