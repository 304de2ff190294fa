"""Changing a file in place: locked, read, edited, written aside, put in its place.

Not imported by the package itself, for what edits is dear to import.
"""

import os
import sys
from collections.abc import Callable, Generator
from contextlib import contextmanager
from pathlib import Path as FilePath
from typing import NamedTuple

from holdshort.document.edit import EditableText
from holdshort.document.fault import DocumentError, Fault
from holdshort.document.limits import Limits
from holdshort.document.reader import read_document
from holdshort.document.write import replace_file

if sys.platform != "win32":
    import fcntl

_LIMITS = Limits()
_TRIES = 20


class Rewritten(NamedTuple):
    """The text of a file before and after a change; equal where nothing was changed."""

    before: str
    after: str


def rewrite_file(path: FilePath | str, change: Callable[[EditableText], None]) -> Rewritten:
    """Change the file at ``path``, whole or not at all; nothing that another writes is lost.

    ``change`` edits the text that stands in the file now. It is called again, with the newer text,
    where something that takes no lock, such as an editor, saved the file meanwhile; what it raises
    leaves the file as it was. Only one program at a time is let in, where the system has locks.

    Raises DocumentError for a file that is no document, which is never rewritten, and OSError
    where it cannot be locked or written, or does not stand still.
    """
    target = FilePath(os.path.realpath(path))
    with _locked(target, str(path)):
        for _ in range(_TRIES):
            data = _read(target, str(path))
            read_document(data, str(path))
            before = data.decode()
            editable = EditableText(before, str(path))
            change(editable)
            after = editable.dump()
            if after == before:
                return Rewritten(before, after)
            if _read(target, str(path)) == data:
                replace_file(target, after.encode())
                return Rewritten(before, after)
    raise OSError(f"{path} changes all the time")


def _read(target: FilePath, shown: str) -> bytes:
    try:
        with target.open("rb") as file:
            return file.read(_LIMITS.size + 1)
    except OSError as error:
        reason = error.strerror or str(error)
        fault = Fault("file-unreadable", f"{shown} cannot be read: {reason}.", shown, None)
        raise DocumentError(fault) from error


@contextmanager
def _locked(target: FilePath, shown: str) -> Generator[None]:
    """Hold the file that stands at ``target``, though its predecessors be replaced meanwhile.

    Where the system lacks such locks, comparing the text again just before must do.
    """
    if sys.platform == "win32":
        yield
        return
    while True:
        try:
            descriptor = os.open(target, os.O_RDONLY)
        except OSError as error:
            reason = error.strerror or str(error)
            fault = Fault("file-unreadable", f"{shown} cannot be read: {reason}.", shown, None)
            raise DocumentError(fault) from error
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX)
            if not _stands_at(descriptor, target):
                continue
            yield
            return
        finally:
            os.close(descriptor)


def _stands_at(descriptor: int, target: FilePath) -> bool:
    """Tell whether the opened file is the one that ``target`` names now."""
    try:
        named = target.stat()
    except OSError:
        return False
    own = os.fstat(descriptor)
    return (own.st_dev, own.st_ino) == (named.st_dev, named.st_ino)
