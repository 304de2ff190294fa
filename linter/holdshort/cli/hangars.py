"""The hangar files of one run: each found, read and settled with its rules once."""

import os
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Final, NamedTuple

from holdshort.cli import output
from holdshort.cli.files import STANDARD_INPUT, Files
from holdshort.document import Document, DocumentError, Fault, read_regular
from holdshort.rulebook import Rulebook
from holdshort.rulebook.hangar_search import find_hangar, is_open_to_all
from holdshort.rulebook.settings import Settings
from holdshort.setup import Shared

if TYPE_CHECKING:
    from holdshort.rulebook.hangar import Hangar


class Home(NamedTuple):
    """The hangar file that counts for an aircraft: its name, empty where there is none.

    ``shared`` is what it adds to the setup; ``faults`` are the mistakes in its form, of which
    those about rules are known only from :meth:`Hangars.settings`. A file that cannot be read adds
    nothing.
    """

    name: str = ""
    hangar: "Hangar | None" = None
    shared: Shared | None = None
    faults: tuple[Fault, ...] = ()


NO_HANGAR: Final = Home()


@dataclass(slots=True)
class Hangars:
    """The hangar files of one run. ``named`` is the one that was asked for, if one was."""

    files: Files
    named: str | None = None
    _found: dict[str, Path | None] = field(default_factory=dict[str, "Path | None"])
    _homes: dict[str, Home] = field(default_factory=dict[str, Home])
    _settings: dict[str, Settings] = field(default_factory=dict[str, Settings])
    _passed_over: set[Path] = field(default_factory=set[Path])

    def home(self, file: str) -> Home:
        """Return the hangar file that counts for the aircraft file ``file``."""
        folder = "" if file == STANDARD_INPUT else os.path.dirname(file)  # noqa: PTH120
        return self._home(folder, file)

    def read(self, name: str, document: Document | None = None) -> Home:
        """Return the hangar file called ``name``, which may have been read as ``document``."""
        key = os.path.realpath(name)
        if key not in self._homes:
            self._homes[key] = self._read(name, document)
        return self._homes[key]

    def settings(self, home: Home, rulebook: Rulebook) -> Settings:
        """Return what applies under ``home``; ``rulebook`` is what counts without any."""
        if home.hangar is None:
            return Settings(rulebook, faults=home.faults)
        if home.name not in self._settings:
            from holdshort.rulebook.hangar import (  # noqa: PLC0415  - only where there is one
                rules_of,
                settle,
            )

            rules, faults = rules_of(home.hangar, home.hangar.packs, rulebook)
            settled = settle(home.hangar, rules, whole=not faults)
            self._settings[home.name] = settled._replace(faults=(*faults, *settled.faults))
        return self._settings[home.name]

    def passes_by(self, folder: str) -> bool:
        """Tell whether the hangar file above ``folder`` has it passed by."""
        home = self._home(os.path.dirname(folder), folder)  # noqa: PTH120
        if home.hangar is None or not home.hangar.skip:
            return False
        base = os.path.dirname(os.path.realpath(home.name))  # noqa: PTH120
        return os.path.relpath(os.path.realpath(folder), base) in home.hangar.skip.values()

    def _home(self, folder: str, given: str) -> Home:
        if self.named is not None:
            return self.read(self.named)
        found = self._find(folder)
        return NO_HANGAR if found is None else self.read(_shown(found, given))

    def _find(self, folder: str) -> Path | None:
        if folder not in self._found:
            self._found[folder] = self._usable(find_hangar(Path(folder or os.curdir)))
        return self._found[folder]

    def _usable(self, found: Path | None) -> Path | None:
        """Return ``found`` unless anybody may have put it there, which is then said once."""
        if found is None or not is_open_to_all(found):
            return found
        if found not in self._passed_over:
            self._passed_over.add(found)
            output.say(
                f"{found} is not used: everybody may write to its folder. "
                "Name it with --hangar if it is yours."
            )
        return None

    def _read(self, name: str, document: Document | None) -> Home:
        from holdshort.rulebook.hangar import hangar_of  # noqa: PLC0415  - only where there is one

        try:
            hangar = hangar_of(document or read_regular(name))
        except DocumentError as error:
            return Home(name, faults=(error.fault,))
        read = self.files.catalogue_reader(name)
        shared = Shared(hangar.document, hangar.catalogues, read, hangar.follows)
        return Home(name, hangar, shared, hangar.faults)


def _shown(hangar: Path, given: str) -> str:
    """Return the path of a hangar file in the way that another was given: relative or not."""
    if os.path.isabs(given):  # noqa: PTH117
        return str(hangar)
    try:
        return os.path.relpath(hangar)
    except ValueError:  # another drive
        return str(hangar)
