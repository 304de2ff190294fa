"""The hangar file that counts for an aircraft, and what it adds: read anew when it has changed.

Opening a file in an editor is no leave to run what lies beside it: a pack of rules that is a folder
of Python runs only where the client was told so. Packs in YAML are data, and installed ones were
put there by their owner.
"""

import os
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final, NamedTuple

from holdshort.document import Document, DocumentError
from holdshort.editor.texts import Stamp, Texts, stamp
from holdshort.editor.uris import same_file
from holdshort.rulebook import Rulebook
from holdshort.rulebook.hangar import Hangar, hangar_of, rules_of, settle
from holdshort.rulebook.hangar_search import find_hangar, is_open_to_all
from holdshort.rulebook.packs import is_path
from holdshort.rulebook.settings import Settings
from holdshort.setup import Shared

_DATA: Final = (".yaml", ".yml")


class Home(NamedTuple):
    """What counts for an aircraft beside its own file.

    ``name`` is the hangar file, empty where there is none, ``skipped`` the places in its list of
    packs whose rules are not run here, ``passed_over`` a hangar file that is not used because
    anybody may have left it there. ``files`` are all the files that this rests on.
    """

    settings: Settings
    name: str = ""
    shared: Shared | None = None
    skipped: tuple[int, ...] = ()
    passed_over: str = ""
    files: frozenset[str] = frozenset()


class _Known(NamedTuple):
    document: Document
    packs: dict[str, Stamp]
    home: Home


@dataclass(slots=True)
class Homes:
    """The hangar files of one session."""

    texts: Texts
    rulebook: Rulebook
    runs_folders: bool = False
    _known: dict[str, _Known] = field(default_factory=dict[str, _Known])

    def home(self, file: str) -> Home:
        """Return what counts for the aircraft file ``file``."""
        if not os.path.isabs(file):  # noqa: PTH117  - a text that has no file
            return Home(Settings(self.rulebook))
        found = find_hangar(Path(os.path.dirname(file)))  # noqa: PTH120
        if found is None:
            return Home(Settings(self.rulebook))
        if is_open_to_all(found):
            return Home(Settings(self.rulebook), passed_over=str(found))
        return self.read(str(found))

    def read(self, name: str) -> Home:
        """Return what the hangar file called ``name`` asks for."""
        key = same_file(name)
        try:
            document = self.texts.document(name)
            known = self._known.get(key)
            if (
                known
                and known.document.root is document.root
                and known.packs == _stamps(known.packs)
            ):
                return known.home
            hangar = hangar_of(document)
        except DocumentError as error:
            settings = Settings(self.rulebook, faults=(error.fault,))
            return Home(settings, name, files=frozenset({key}))
        home = self._home(name, hangar)
        self._known[key] = _Known(document, _stamps(_pack_files(hangar)), home)
        return home

    def _home(self, name: str, hangar: Hangar) -> Home:
        skipped = () if self.runs_folders else tuple(_folders(hangar))
        asked = {index: pack for index, pack in hangar.packs.items() if index not in skipped}
        rules, faults = rules_of(hangar, asked, self.rulebook)
        settled = settle(hangar, rules, whole=not faults and not skipped)
        settings = settled._replace(faults=(*faults, *settled.faults))
        read = catalogue_reader(self.texts, name)
        shared = Shared(hangar.document, hangar.catalogues, read, hangar.follows)
        files = frozenset(same_file(path) for path in (name, *_pack_files(hangar)))
        return Home(settings, name, shared, skipped, files=files)


def _folders(hangar: Hangar) -> list[int]:
    """Return the places of the packs that are folders of Python, whatever they are called."""
    return [
        index
        for index, name in hangar.packs.items()
        if is_path(name) and not (name.endswith(_DATA) and not os.path.isdir(_beside(hangar, name)))  # noqa: PTH112
    ]


def _pack_files(hangar: Hangar) -> list[str]:
    """Return the files of data that packs are."""
    return [_beside(hangar, name) for name in hangar.packs.values() if name.endswith(_DATA)]


def _beside(hangar: Hangar, name: str) -> str:
    folder = os.path.dirname(hangar.document.name)  # noqa: PTH120
    return os.path.normpath(os.path.join(folder, name))  # noqa: PTH118


def _stamps(paths: Iterable[str]) -> dict[str, Stamp]:
    return {path: stamp(path) for path in paths}


def catalogue_reader(texts: Texts, file: str) -> Callable[[str], Document]:
    """Return what reads the catalogues that ``file`` names, from its own folder."""
    folder = os.path.dirname(file) if os.path.isabs(file) else ""  # noqa: PTH117, PTH120

    def read(name: str) -> Document:
        return texts.document(os.path.normpath(os.path.join(folder, name)))  # noqa: PTH118

    return read
