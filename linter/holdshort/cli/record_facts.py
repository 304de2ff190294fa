"""Reading an aircraft for a release record: its files as bytes, their marks, and its judgement."""

import os
import sys
from collections.abc import Callable
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import Final

from holdshort.cli import output
from holdshort.cli.files import STANDARD_INPUT
from holdshort.cli.judged import JudgedFile, judge_document
from holdshort.cli.packs import installed_rulebook
from holdshort.document import DocumentError, Limits, read_document
from holdshort.fixlist.record import FileMark, PackMark, RecordFacts
from holdshort.rulebook.hangar_search import HANGAR_KEY
from holdshort.rulebook.pack_files import pack_identity
from holdshort.setup import FORMAT_KEY

_LIMITS: Final = Limits()
PRINTED_INPUT: Final = "standard input"


class CannotRecordError(Exception):
    """No record can be made; the message says why, or is empty where that was said."""


def record_facts(
    file: str, hangar: str | None, made: date, called: str | None = None
) -> tuple[RecordFacts, JudgedFile]:
    """Return what the record of ``file`` is made from, judged as of the day ``made``.

    ``called`` is the name that the record gives the file, by default its own without folders.
    Raises CannotRecordError, DocumentError for what is no document, and OSError.
    """
    data = _bytes(file)
    document = read_document(data, file)
    if FORMAT_KEY not in document.root:
        kind = "hangar file" if HANGAR_KEY in document.root else "file without `holdshort:`"
        raise CannotRecordError(f"{file} is a {kind}; a record is made of one aircraft.")
    rulebook = installed_rulebook()
    if rulebook is None:
        raise CannotRecordError
    judged = judge_document(document, rulebook, hangar, made)
    label = _labels(file, called)
    others = sorted(name for name in judged.setup.documents if name not in {file, judged.home.name})
    facts = RecordFacts(
        judged.aircraft,
        judged.report,
        made,
        FileMark(label(file), sha256(data).hexdigest()),
        tuple(_mark(name, label) for name in others),
        _mark(judged.home.name, label) if judged.home.name else None,
        tuple(PackMark(*pack_identity(pack)) for pack in judged.settings.packs),
        label,
    )
    if file != STANDARD_INPUT and _bytes(file) != data:
        raise CannotRecordError(f"{file} was changed while it was read: try again.")
    return facts, judged


def _bytes(file: str) -> bytes:
    if file != STANDARD_INPUT:
        path = Path(file)
        if path.exists() and not path.is_file():
            raise CannotRecordError(f"{file} is no file.")
        return _whole(path)
    try:
        return sys.stdin.buffer.read(_LIMITS.size + 1)
    except (OSError, ValueError, AttributeError) as error:
        raise CannotRecordError("Standard input cannot be read.") from error


def _whole(path: Path) -> bytes:
    try:
        with path.open("rb") as stream:
            return stream.read(_LIMITS.size + 1)
    except (OSError, ValueError) as error:
        reason = (error.strerror if isinstance(error, OSError) else "") or str(error)
        raise CannotRecordError(f"{path} cannot be read: {reason}.") from error


def _mark(name: str, label: Callable[[str], str]) -> FileMark:
    return FileMark(label(name), sha256(_whole(Path(name))).hexdigest())


def _labels(file: str, called: str | None) -> Callable[[str], str]:
    """Return what names files as seen from the folder of the setup file, with ``/``."""
    folder = os.path.dirname(os.path.abspath(file))  # noqa: PTH100, PTH120  - as given, dots and all
    own = called or (PRINTED_INPUT if file == STANDARD_INPUT else os.path.basename(file))  # noqa: PTH119
    base = os.getcwd() if file == STANDARD_INPUT else folder  # noqa: PTH109

    def label(name: str) -> str:
        if name in {file, ""}:
            return own if name else ""
        try:
            shown = os.path.relpath(os.path.realpath(name), os.path.realpath(base))
        except ValueError:  # another drive
            shown = name
        return shown.replace(os.sep, "/")

    return label


def say(error: Exception) -> None:
    """Say why no record can be made or compared with, unless that was said."""
    if isinstance(error, DocumentError):
        output.complain([error.fault])
    elif isinstance(error, OSError):
        output.say(f"A file of a rule pack cannot be read: {error}.")
    elif str(error):
        output.say(str(error))
