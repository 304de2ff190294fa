"""Putting a file in the place of an old one, whole or not at all."""

from __future__ import annotations

import errno
import os
import pathlib
import stat

_OPEN_NEW = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)


def replace_file(path: pathlib.Path | str, data: bytes) -> None:
    """Replace a file's content, or make the file; a link is followed, the mode bits stay.

    The data are written aside in the same folder first and brought to disk, so that the old
    file stays whole until the new one is. OSError when that fails, or the file is protected
    against writing; nothing is left aside. Another name of the same file (a hard link) keeps the
    old content.
    """
    target = pathlib.Path(os.path.realpath(path))
    if target.exists() and not os.access(target, os.W_OK):  # the folder alone would let it pass
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(path))
    aside = target.with_name(f".{target.name}.{os.getpid()}-{os.urandom(4).hex()}.part")
    descriptor = os.open(aside, _OPEN_NEW, 0o666)
    try:
        with os.fdopen(descriptor, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if target.exists():
            aside.chmod(stat.S_IMODE(target.stat().st_mode))
        aside.replace(target)
    except BaseException:
        aside.unlink(missing_ok=True)
        raise
    _sync_folder(target.parent)


def _sync_folder(folder: pathlib.Path) -> None:
    """Bring a folder's entries to disk where the system can open a folder."""
    if os.name != "posix":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
