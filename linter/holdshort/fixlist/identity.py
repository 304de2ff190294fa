"""What programs know a finding by from run to run: its file, and a fingerprint of what it is."""

import hashlib
import os
from typing import Final
from urllib.parse import quote

from holdshort.fixlist.report import Spot

STANDARD_INPUT: Final = "-"
_SEPARATOR: Final = "\0"


def slashed(file: str) -> str:
    """Return the path of a file with ``/`` between its parts, and no part that stays in place."""
    parts = file.replace(os.sep, "/").split("/")
    kept = [part for at, part in enumerate(parts) if part != "." and (part or at == 0)]
    return "/".join(kept) or ("/" if file.startswith(os.sep) else ".")


def uri(file: str) -> str:
    """Return the URI of a file: relative to the current folder, or absolute as the path is.

    Source: RFC 3986, sections 2.1 (percent-encoding) and 4.1 (references); RFC 8089 (``file:``).
    """
    path = slashed(file)
    encoded = quote(_octets(path), safe="/")
    if path.startswith("/"):
        return f"file://{encoded}"
    return f"file:///{encoded}" if os.path.isabs(file) else encoded  # noqa: PTH117  - a drive


def _octets(path: str) -> bytes:
    try:
        return path.encode("utf-8", "surrogateescape")  # bytes of a name that is no UTF-8
    except UnicodeEncodeError:
        return path.encode("utf-8", "surrogatepass")


class Fingerprints:
    """Gives each thing told in one run a fingerprint that moves of lines do not change.

    It is made of what is told (a rule's id, a kind of mistake), the document path and the file.
    Where the same is told there twice, the second has a fingerprint of its own, by its order.
    Changed numbers change no fingerprint; an entry put into a list changes those of entries after
    it, which have no name of their own.
    """

    def __init__(self) -> None:
        """Begin a run."""
        self._seen: dict[tuple[str, str, str], int] = {}

    def of(self, told: str, at: Spot) -> str:
        """Return the fingerprint of one thing told, in hexadecimal."""
        key = told, at.path, slashed(at.file)
        order = self._seen.get(key, 0) + 1
        self._seen[key] = order
        return hashlib.sha256(_octets(_SEPARATOR.join((*key, f"{order}")))).hexdigest()
