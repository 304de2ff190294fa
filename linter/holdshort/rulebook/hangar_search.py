"""Looking for the hangar file: settings that all aircraft of a club or workshop share.

Every lint looks, and few find one: this module stays small and asks the system for little.
"""

import os
import re
import stat
from pathlib import Path
from typing import Final

HANGAR_FILE: Final = "hangar.yaml"
"""What a hangar file is called that is to be found by itself."""

HANGAR_KEY: Final = "holdshort-hangar"
"""The first key of a hangar file, with its format version."""

VERSION_CONTROL: Final = (".git", ".hg", ".jj", ".svn", ".bzr")
"""What the root of a folder under version control holds: the search ends there."""

_MOST_READ: Final = 1 << 21
# A misspelt first key is still meant for us: passing the file over would hide what it asks for.
_OURS: Final = rb"(?m)^(?:\xef\xbb\xbf)?[\"']?holdshort"


def find_hangar(start: Path) -> Path | None:
    """Return the hangar file that counts for the file or folder ``start``, or None.

    Looks in its folder and upwards, up to and in the first one that is the root of a folder under
    version control. A ``hangar.yaml`` in which no line begins with ``holdshort`` is somebody
    else's, and is passed over.
    """
    folder = os.path.abspath(start)  # noqa: PTH100  - a path as given: links are not followed
    if not os.path.isdir(folder):  # noqa: PTH112  - start-up cost
        folder = os.path.dirname(folder)  # noqa: PTH120  - start-up cost
    while True:
        file = os.path.join(folder, HANGAR_FILE)  # noqa: PTH118  - start-up cost
        if os.path.isfile(file) and _is_hangar(file):  # noqa: PTH113  - start-up cost
            return Path(file)
        above = os.path.dirname(folder)  # noqa: PTH120  - start-up cost
        if above == folder or _is_root(folder):
            return None
        folder = above


def is_open_to_all(hangar: Path) -> bool:
    """Tell whether everybody may put a file where ``hangar`` lies.

    A hangar file can name Python packs, and those are run; one that anybody on the machine may
    have left in a common folder is no setting of this club's.
    """
    try:
        return bool(hangar.parent.stat().st_mode & stat.S_IWOTH)
    except OSError:
        return True


def _is_hangar(file: str) -> bool:
    try:
        with open(file, "rb") as stream:  # noqa: PTH123  - start-up cost
            return re.search(_OURS, stream.read(_MOST_READ)) is not None
    except OSError:
        return True  # whoever keeps it there means it to be read: that it cannot be is to be told


def _is_root(folder: str) -> bool:
    return any(os.path.lexists(os.path.join(folder, name)) for name in VERSION_CONTROL)  # noqa: PTH118
