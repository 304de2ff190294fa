"""Writing to the terminal: standard output for what was asked, standard error for trouble."""

import contextlib
import os
import sys
from collections.abc import Iterable
from typing import TextIO

from holdshort.document import Fault
from holdshort.fixlist.plain import plain


class OutputError(Exception):
    """What was asked for could not be written; the message is the system's reason."""


def write(text: str) -> bool:
    """Write ``text`` to standard output, now. A reader that has gone away is no error: False then.

    Characters that the terminal's encoding lacks are written as escapes.
    Raises OutputError where it cannot be written, as on a full disk.
    """
    stream = _stream(sys.stdout)
    try:
        stream.write(text)
        stream.flush()
    except BrokenPipeError:
        _discard(stream)
        return False
    except OSError as error:
        _discard(stream)
        raise OutputError(error.strerror or str(error)) from error
    return True


def write_data(data: bytes) -> None:
    """Write ``data`` to standard output as it is. Raises OutputError as :func:`write` does."""
    stream = _stream(sys.stdout)
    try:
        stream.flush()
        stream.buffer.write(data)
        stream.flush()
    except BrokenPipeError:
        _discard(stream)
    except OSError as error:
        _discard(stream)
        raise OutputError(error.strerror or str(error)) from error


def say(text: str) -> None:
    """Write one line to standard error, if that can be done."""
    with contextlib.suppress(OSError, ValueError, OutputError):
        stream = _stream(sys.stderr)
        stream.write(f"holdshort: {plain(text)}\n")
        stream.flush()


def width() -> int | None:
    """Return the width of the terminal that standard output is, or None where it is none."""
    if not _is_terminal():
        return None
    columns = os.environ.get("COLUMNS", "")
    if columns.isdecimal() and int(columns) > 0:
        return int(columns)
    with contextlib.suppress(OSError, ValueError):
        return os.get_terminal_size(sys.stdout.fileno()).columns
    return None


def in_colour() -> bool:
    """Tell whether colour is wanted: on a terminal that can show it, unless NO_COLOR is set."""
    if os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb":
        return False
    return _is_terminal()


def _is_terminal() -> bool:
    try:
        return sys.stdout.isatty()
    except (AttributeError, ValueError):
        return False


def _stream(stream: TextIO | None) -> TextIO:
    # A program started with the stream closed has None here, whatever the type says.
    if stream is None:
        raise OutputError("it is closed")
    reconfigure = getattr(stream, "reconfigure", None)
    if callable(reconfigure):
        reconfigure(errors="backslashreplace")
    return stream


def _discard(stream: TextIO) -> None:
    """Send what is still to be written nowhere, so that the end of the program is quiet."""
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)


def complain(faults: Iterable[Fault]) -> None:
    """Say mistakes of form, each with its place, where no report lists them."""
    for fault in faults:
        place = f"{fault.file}:{fault.span.line}: " if fault.span else ""
        say(f"{place}{fault.message} {fault.do}".rstrip())
