"""URIs of files: to the path that the system knows, and back."""

import os
import re
from pathlib import Path
from typing import Final
from urllib.parse import unquote_to_bytes, urlsplit

_DRIVE: Final = re.compile(r"/[A-Za-z]:(?=/|$)")


def path_of(uri: str) -> str:
    """Return the path that a ``file`` URI names (RFC 8089); any other URI is its own name.

    Percent signs, spaces, non-ASCII letters and drive letters (``file:///C%3A/models``) are
    understood, and a server's share (``file://server/share``).
    """
    try:
        parts = urlsplit(uri)
    except ValueError:
        return uri
    if parts.scheme.lower() != "file":
        return uri
    path = os.fsdecode(unquote_to_bytes(parts.path))
    if _DRIVE.match(path):
        path = path[1:]
    if parts.netloc and parts.netloc.lower() != "localhost":
        path = f"//{parts.netloc}{path}"
    return os.path.normpath(path) if path else uri


def uri_of(path: str) -> str:
    """Return the URI of a file; what is a URI already stays as it is."""
    if not os.path.isabs(path):  # noqa: PTH117  - a path as text
        return path
    return Path(path).as_uri()


def same_file(path: str) -> str:
    """Return what two paths of one file have in common: the path without links, in one case."""
    try:
        return os.path.normcase(os.path.realpath(path)) if os.path.isabs(path) else path  # noqa: PTH117
    except (OSError, ValueError):
        return path
