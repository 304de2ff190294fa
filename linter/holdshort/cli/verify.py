"""``holdshort verify``: hold a release record against the files as they are."""

import argparse
import json
import os
from pathlib import Path

from holdshort.cli import output
from holdshort.cli.record_facts import PRINTED_INPUT, CannotRecordError, record_facts, say
from holdshort.document import DocumentError
from holdshort.fixlist.plain import plain, wrap
from holdshort.fixlist.record import record_value
from holdshort.fixlist.record_check import LONGEST, Check, NoRecordError, ReadRecord, read_record
from holdshort.fixlist.record_check import check as check_record

_WIDTH = 88
_CAUTIONS = (
    (
        "A record is a fingerprint, not a signature, and no word on the aircraft itself: whoever "
        "can write the file can write another record of it."
    ),
    "Everything is judged as of the day of the record; `holdshort next` says what is due today.",
)


def run(arguments: argparse.Namespace) -> int:
    """Say whether everything is as it was recorded: 0 yes, 1 no, 2 it cannot be judged."""
    try:
        record = read_record(_bytes(arguments.record))
        file = arguments.file or _beside(arguments.record, record.file)
        facts, judged = record_facts(file, arguments.hangar, record.made, called=record.file)
    except (NoRecordError, CannotRecordError, DocumentError, OSError) as error:
        say(error)
        return 2
    output.complain(judged.settings.faults)
    result = check_record(record, record_value(facts))
    if arguments.format == "json":
        output.write(_json(record, file, result))
    else:
        output.write(_text(record, file, result))
    return 0 if result.verified else 1


def _bytes(name: str) -> bytes:
    try:
        with Path(name).open("rb") as stream:
            data = stream.read(LONGEST + 1)
    except (OSError, ValueError) as error:
        reason = (error.strerror if isinstance(error, OSError) else "") or str(error)
        raise NoRecordError(f"{name} cannot be read: {reason}.") from error
    if len(data) > LONGEST:
        raise NoRecordError(f"{name} is too large for a record.")
    return data


def _beside(record: str, name: str) -> str:
    """Return the setup file that a record names, in the record's own folder."""
    if name == PRINTED_INPUT or name != os.path.basename(name):  # noqa: PTH119  - as given
        raise NoRecordError("The record names no file beside it: give it with `--file`.")
    return os.path.join(os.path.dirname(record), name)  # noqa: PTH118, PTH120


def _text(record: ReadRecord, file: str, result: Check) -> str:
    made = record.made.isoformat()
    if result.verified:
        head = f"Verified: {file} and all that was judged with it are as recorded on {made}."
    else:
        head = f"Not verified: {file} is not as recorded on {made}."
    lines = list(_hung(head))
    for words in result.changed:
        lines += _hung(f"- {words}", "  ")
    lines.append("")
    for words in _CAUTIONS:
        lines += _hung(words)
    return "".join(f"{line}\n" for line in lines)


def _hung(text: str, other: str = "") -> list[str]:
    lines = wrap(plain(text), _WIDTH - len(other))
    return [f"{other if index else ''}{line}" for index, line in enumerate(lines)]


def _json(record: ReadRecord, file: str, result: Check) -> str:
    value = {
        "format": "holdshort-verify",
        "version": 1,
        "file": file,
        "made": record.made.isoformat(),
        "verified": result.verified,
        "changed": list(result.changed),
        "cautions": list(_CAUTIONS),
    }
    return json.dumps(value, indent=2, ensure_ascii=True).replace("\x7f", "\\u007f") + "\n"
