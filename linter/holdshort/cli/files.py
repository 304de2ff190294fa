"""Finding and reading files: the setup files below a folder, standard input, catalogues."""

import os
import re
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Final, NamedTuple

from holdshort.document import (
    Document,
    DocumentError,
    Fault,
    Limits,
    read_document,
    read_regular,
)
from holdshort.rulebook.hangar_search import HANGAR_KEY
from holdshort.setup import FORMAT_KEY
from holdshort.setup.catalogue import CATALOGUE_KEY

STANDARD_INPUT: Final = "-"
_ENDINGS: Final = (".yaml", ".yml")
_LIMITS: Final = Limits()
_OURS: Final = re.compile(
    rb"^(?:\xef\xbb\xbf)?[\"']?holdshort(?:-parts|-hangar)?[\"']?[ \t]*:", re.MULTILINE
)


class Opened(NamedTuple):
    """One file: its document, or why there is none."""

    name: str
    document: Document | None
    fault: Fault | None = None

    @property
    def is_catalogue(self) -> bool:
        """True for a file of parts."""
        if self.document is None:
            return False
        root = self.document.root
        return CATALOGUE_KEY in root and FORMAT_KEY not in root

    @property
    def is_hangar(self) -> bool:
        """True for a hangar file."""
        if self.document is None:
            return False
        root = self.document.root
        return HANGAR_KEY in root and FORMAT_KEY not in root and CATALOGUE_KEY not in root

    @property
    def other_kind(self) -> str:
        """What kind of file this is, in words, where it is none of an aircraft; else empty."""
        if self.is_catalogue:
            return "file of parts"
        return "hangar file" if self.is_hangar else ""


def _never(_: str) -> bool:
    return False


@dataclass(slots=True)
class Files:
    """The files of one run. No file is given out twice, and no catalogue is parsed twice."""

    passes_by: Callable[[str], bool] = _never
    """Tells whether a folder below one that is searched is passed by."""
    _given: set[str] = field(default_factory=set[str])
    _catalogues: dict[str, Document] = field(default_factory=dict[str, Document])
    _broken: dict[str, Fault] = field(default_factory=dict[str, Fault])

    def open(self, path: str) -> Iterator[Opened]:
        """Yield the file that ``path`` names, or every setup file and catalogue below a folder."""
        if path != STANDARD_INPUT and os.path.isdir(path):  # noqa: PTH112  - NUL is no folder
            yield from self._below(path)
        elif self._is_new(path):
            yield open_named(path)

    def catalogue_reader(self, setup_file: str) -> "Catalogues":
        """Return what reads the catalogues that ``setup_file`` names."""
        folder = "" if setup_file == STANDARD_INPUT else os.path.dirname(setup_file)  # noqa: PTH120
        return Catalogues(self, folder)

    def catalogue(self, path: str) -> Document:
        """Read a file of parts, parsing it once a run. Raises DocumentError."""
        key = _real(path)
        if key in self._broken:
            raise DocumentError(self._broken[key]._replace(file=path))
        if key not in self._catalogues:
            try:
                self._catalogues[key] = read_regular(path)
            except DocumentError as error:
                # What is said of a file that cannot be read names its path: not to be reused.
                if error.fault.span is not None:
                    self._broken[key] = error.fault
                raise
        found = self._catalogues[key]
        return found if found.name == path else Document(path, found.root)

    def _is_new(self, path: str) -> bool:
        key = path if path == STANDARD_INPUT else _real(path)
        if key in self._given:
            return False
        self._given.add(key)
        return True

    def _below(self, folder: str) -> Iterator[Opened]:
        aircraft = 0
        catalogues = 0
        unread = False
        for path in yaml_files(folder, self.passes_by):
            if isinstance(path, Fault):
                unread = True
                yield Opened(path.file, None, path)
                continue
            opened = open_met(path)
            if opened is None:
                continue
            catalogues += opened.is_catalogue
            aircraft += not (opened.is_catalogue or opened.is_hangar)
            if self._is_new(path):
                yield opened
        if not aircraft and not unread:
            yield Opened(folder, None, _nothing_there(folder, catalogues))


@dataclass(frozen=True, slots=True)
class Catalogues:
    """Reads catalogues by the names that one setup file gives them, from its own folder."""

    files: Files
    folder: str

    def __call__(self, name: str) -> Document:
        """Return the catalogue. Raises DocumentError."""
        return self.files.catalogue(os.path.normpath(os.path.join(self.folder, name)))  # noqa: PTH118


def open_named(path: str) -> Opened:
    """Read the file that ``path`` names, or standard input."""
    try:
        document = _read_standard_input() if path == STANDARD_INPUT else read_regular(path)
    except DocumentError as error:
        return Opened(path, None, error.fault)
    return Opened(path, document)


def _read_standard_input() -> Document:
    try:
        data = sys.stdin.buffer.read(_LIMITS.size + 1)
    except (OSError, ValueError, AttributeError) as error:
        message = "Standard input cannot be read."
        fault = Fault("file-unreadable", message, STANDARD_INPUT, None, "Name a file instead.")
        raise DocumentError(fault) from error
    return read_document(data, STANDARD_INPUT)


def yaml_files(folder: str, passes_by: Callable[[str], bool]) -> Iterator[str | Fault]:
    """Yield the YAML files below a folder, sorted; links to folders are not followed."""
    waiting = [folder]
    while waiting:
        here = waiting.pop()
        try:
            with os.scandir(here) as entries:
                found = sorted(entries, key=lambda entry: entry.name)
        except OSError as error:
            message = f"The folder {here} cannot be read: {error.strerror}."
            yield Fault("folder-unreadable", message, here, None, "Give yourself leave to read it.")
            continue
        inner: list[str] = []
        for entry in found:
            if entry.is_dir(follow_symlinks=False):
                if not entry.name.startswith(".") and not passes_by(entry.path):
                    inner.append(entry.path)
            elif entry.name.lower().endswith(_ENDINGS) and _is_regular(entry):
                yield entry.path
        waiting += reversed(inner)


def _is_regular(entry: "os.DirEntry[str]") -> bool:
    try:
        return entry.is_file()
    except OSError:
        return False


def open_met(path: str) -> Opened | None:
    """Read a file met in a folder; None where it is not one of ours."""
    try:
        with open(path, "rb") as file:  # noqa: PTH123  - start-up cost
            data = file.read(_LIMITS.size + 1)
    except OSError:
        return open_named(path)
    if FORMAT_KEY.encode() not in data:
        return None
    try:
        document = read_document(data, path)
    except DocumentError as error:
        return Opened(path, None, error.fault) if _OURS.search(data) else None
    if {FORMAT_KEY, CATALOGUE_KEY, HANGAR_KEY} & document.root.keys():
        return Opened(path, document)
    return None


def is_ours(path: str) -> bool:
    """True for a file that is, or is meant to be, a setup file or a file of parts.

    True as well for one that cannot be read, for nobody knows what it is.
    """
    return open_met(path) is not None


def _nothing_there(folder: str, catalogues: int) -> Fault:
    but = " Files of parts are there; they are judged in the aircraft." if catalogues else ""
    return Fault(
        "no-setup-file",
        f"There is no setup file in the folder {folder}.{but}",
        folder,
        None,
        "A setup file ends in .yaml or .yml and begins with `holdshort: 1`.",
    )


def _real(path: str) -> str:
    try:
        return os.path.realpath(path)
    except (OSError, ValueError):
        return path
