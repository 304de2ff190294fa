"""Reading one file: bytes to a document, or one located error."""

from __future__ import annotations

import os
import pathlib
import stat

from holdshort.document.builder import build_tree
from holdshort.document.fault import DocumentError, Fault
from holdshort.document.limits import Limits
from holdshort.document.place import Span
from holdshort.document.source import decode
from holdshort.document.tree import Document

_DEFAULT_LIMITS = Limits()


def read_document(data: bytes, name: str, limits: Limits = _DEFAULT_LIMITS) -> Document:
    """Read the bytes of one YAML 1.2 file; DocumentError when it is no document."""
    if len(data) > limits.size:
        raise _too_large(name, limits)
    return Document(name, build_tree(decode(data, name), limits))


def read_file(
    path: pathlib.Path | str, name: str | None = None, limits: Limits = _DEFAULT_LIMITS
) -> Document:
    """Read one YAML 1.2 file, never more of it than the limit and one byte.

    DocumentError when it is no document, and when the file cannot be opened or read. `name`
    is how the file is shown, by default the path as given.
    """
    shown = str(path) if name is None else name
    try:
        with pathlib.Path(path).open("rb") as file:
            data = file.read(limits.size + 1)
    except (OSError, ValueError) as error:
        raise DocumentError(_unreadable(error, shown)) from error
    return read_document(data, shown, limits)


def read_regular(path: pathlib.Path | str) -> Document:
    """Read a regular file as :func:`read_file` does: no device or pipe is opened."""
    shown = str(path)
    try:
        mode = os.stat(path).st_mode  # noqa: PTH116  - a path as given, NUL and all
    except (OSError, ValueError):
        return read_file(path)  # which says why not
    if not stat.S_ISREG(mode) and not stat.S_ISDIR(mode):
        message = f"{shown} is neither a file nor a folder."
        raise DocumentError(Fault("file-not-regular", message, shown, None, "Name a file."))
    return read_file(path)


def _too_large(name: str, limits: Limits) -> DocumentError:
    message = f"The file is larger than {limits.size:,} bytes, the most that is read."
    do = "Split it: shared parts and limits may lie in files of their own."
    return DocumentError(Fault("file-too-large", message, name, Span(1, 1, 1, 1), do))


def _unreadable(error: OSError | ValueError, name: str) -> Fault:
    if isinstance(error, FileNotFoundError):
        return Fault("file-missing", f"There is no file {name}.", name, None, "Check the path.")
    if isinstance(error, IsADirectoryError):
        message = f"{name} is a folder, not a file."
        return Fault("file-is-folder", message, name, None, "Name a file in it.")
    if isinstance(error, PermissionError):
        message = f"The file {name} may not be read: permission denied."
        return Fault("file-not-permitted", message, name, None, "Give yourself leave to read it.")
    reason = (error.strerror if isinstance(error, OSError) else None) or str(error)
    message = f"The file {name} cannot be read: {reason}."
    return Fault("file-unreadable", message, name, None, "Check the path.")
