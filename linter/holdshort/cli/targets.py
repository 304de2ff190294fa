"""Files that a command writes: what may not be replaced, and writing in one piece."""

import os
import re
import stat
from collections.abc import Iterable
from pathlib import Path
from typing import Final

from holdshort.cli import output
from holdshort.cli.files import STANDARD_INPUT, is_ours
from holdshort.document import Limits
from holdshort.document.write import replace_file

_RULES: Final = re.compile(rb"^(?:\xef\xbb\xbf)?[\"']?holdshort-rules[\"']?[ \t]*:", re.MULTILINE)


def cannot_write(file: Path, what: str, inputs: Iterable[str]) -> str:
    """Say why ``what`` cannot be written to ``file``, or nothing.

    Nothing that is read is replaced: no file among ``inputs``, and none that is, or is meant to be,
    a setup file, a file of parts, a hangar file or a file of rules.
    """
    try:
        if not file.exists():
            return ""
        if not stat.S_ISREG(file.stat().st_mode):
            return f"{file} is not a file that can be replaced."
        if not os.access(file, os.W_OK):
            return f"{file} is protected against writing."
        if is_ours(str(file)):
            kinds = "a setup file, a file of parts or a hangar file"
            return f"{file} is {kinds}; {what} would replace it."
        if _is_rules(file):
            return f"{file} is a file of rules; {what} would replace it."
        if any(_same(file, name) for name in inputs):
            return f"{file} is read by this run; {what} would replace it."
    except (OSError, ValueError) as error:
        return f"{file} cannot be looked at: {_reason(error)}."
    return ""


def _is_rules(file: Path) -> bool:
    """Tell whether a file is, or is meant to be, a club's rules in YAML."""
    with file.open("rb") as opened:
        return _RULES.search(opened.read(Limits().size)) is not None


def _same(file: Path, name: str) -> bool:
    return name != STANDARD_INPUT and os.path.exists(name) and file.samefile(name)  # noqa: PTH110


def write_file(file: Path, text: str) -> bool:
    """Put ``text`` in the place of ``file``; False, with the reason told, where that fails."""
    try:
        # What a name on the command line cannot give as UTF-8 is written as an escape.
        replace_file(file, text.encode("utf-8", "backslashreplace"))
    except (OSError, ValueError) as error:
        output.say(f"{file} could not be written: {_reason(error)}.")
        return False
    return True


def _reason(error: OSError | ValueError) -> str:
    return (error.strerror if isinstance(error, OSError) else None) or str(error)
