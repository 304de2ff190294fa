"""What a watched run depends on, and whether it has changed and stands still again."""

import os
import stat
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

from holdshort.cli.files import Files, yaml_files
from holdshort.document import Document
from holdshort.rulebook.hangar_search import HANGAR_FILE


class Stamp(NamedTuple):
    """What tells one state of a file from another without reading it."""

    changed: int
    size: int
    inode: int
    mode: int


Snapshot = dict[str, Stamp | None]
"""The state of each watched file; None for one that is not there."""


def stamp(path: str) -> Stamp | None:
    """Return the present state of a file, or None where there is none."""
    try:
        found = os.stat(path)  # noqa: PTH116  - asked a few times a second
    except (OSError, ValueError):
        return None
    return Stamp(found.st_mtime_ns, found.st_size, found.st_ino, found.st_mode)


def is_folder(path: str) -> bool:
    """Tell whether a path names a folder, now."""
    found = stamp(path)
    return found is not None and stat.S_ISDIR(found.mode)


def hangar_places(file: str) -> Iterator[str]:
    """Yield where a hangar file would count for ``file``: in its folder and in each above it."""
    for folder in Path(os.path.abspath(file)).parents:  # noqa: PTH100  - links are not followed
        yield str(folder / HANGAR_FILE)


class NotingFiles(Files):
    """The files of one run, which notes each catalogue that is asked for, and its state before."""

    def __init__(self) -> None:
        """Start with nothing noted."""
        super().__init__()
        self.asked: Snapshot = {}
        self._before: Snapshot = {}

    def catalogue(self, path: str) -> Document:
        """Read a file of parts and note its path, whether or not it can be read."""
        if path not in self._before:
            self._before[path] = stamp(path)
        self.asked[path] = self._before[path]
        return super().catalogue(path)


def _never(_: str) -> bool:
    return False


@dataclass(slots=True)
class Watch:
    """Looks at paths again and again, and tells what has changed once it stands still.

    ``paths`` are what was named on the command line. ``passes_by`` tells whether a folder below one
    of them is passed by.
    """

    paths: tuple[str, ...]
    passes_by: Callable[[str], bool] = _never
    _used: dict[str, frozenset[str]] = field(default_factory=dict[str, frozenset[str]])
    _known: Snapshot = field(default_factory=dict[str, "Stamp | None"])
    _moving: Snapshot | None = None

    def own_files(self) -> dict[str, None]:
        """Return the files that the paths name now, those below folders in order."""
        found: dict[str, None] = {}
        for path in self.paths:
            if is_folder(path):
                met = yaml_files(path, self.passes_by)
                found |= dict.fromkeys(file for file in met if isinstance(file, str))
            else:
                found[path] = None
        return found

    def begin(self) -> None:
        """Take the present state of the paths as the one that is known."""
        self._known, self._moving = self._snapshot(), None

    def tick(self) -> frozenset[str]:
        """Look once; return the files that have changed and now stand still, none while they move.

        A save in several steps, such as one by renaming, is one change: it is told when two looks
        in a row see the same.
        """
        now = self._snapshot()
        changed = _differing(self._known, now)
        moving, self._moving = self._moving, now if changed else None
        if not changed or moving != now:
            return frozenset()
        self._known, self._moving = now, None
        return changed

    def touched(self, changed: frozenset[str]) -> list[str]:
        """Return the files to judge again after a change, in the order of the paths."""
        return [
            path
            for path in self.own_files()
            if path in changed or self._used.get(path, frozenset()) & changed
        ]

    def note(self, path: str, used: Snapshot) -> None:
        """Note what a file was judged with, and the states that were read."""
        self._used[path] = frozenset(used)
        for name, state in used.items():
            self._known.setdefault(name, state)

    def forget(self) -> None:
        """Drop what no file that is left was judged with."""
        own = self.own_files()
        self._used = {path: names for path, names in self._used.items() if path in own}
        kept = own.keys() | {name for names in self._used.values() for name in names}
        self._known = {path: state for path, state in self._known.items() if path in kept}

    def _snapshot(self) -> Snapshot:
        own = self.own_files()
        used = (name for names in self._used.values() for name in names)
        return {path: stamp(path) for path in dict.fromkeys([*own, *used])}


def _differing(before: Snapshot, after: Snapshot) -> frozenset[str]:
    """Return the paths whose state differs; one that neither has is no difference."""
    return frozenset(
        path for path in before.keys() | after.keys() if before.get(path) != after.get(path)
    )
