"""The files that ``holdshort lint --output KIND=FILE`` writes beside what it prints."""

import os
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import NamedTuple

from holdshort.cli import output
from holdshort.cli.files import STANDARD_INPUT
from holdshort.cli.targets import cannot_write, write_file
from holdshort.fixlist.formats import FORMATS, render
from holdshort.fixlist.report import Report


class Output(NamedTuple):
    """One file to write, and the format to write it in."""

    form: str
    file: Path

    def write(self, report: Report) -> bool:
        """Write the report; False, with the reason told, where that fails."""
        return write_file(self.file, render(report, self.form))


def outputs(asked: Iterable[str], inputs: Iterable[str]) -> tuple[Output, ...] | None:
    """Return the files that ``asked`` names as ``KIND=FILE``, or None after saying what is wrong.

    ``inputs`` are the files that the run reads.
    """
    inputs = tuple(inputs)
    found: list[Output] = []
    troubles: list[str] = []
    for text in asked:
        form, _, name = text.partition("=")
        wrong = _wrong(text, form, name) or cannot_write(Path(name), "the fix list", inputs)
        if wrong:
            troubles.append(wrong)
        else:
            found.append(Output(form, Path(name)))
    troubles += _given_twice(found)
    for trouble in troubles:
        output.say(trouble)
    return None if troubles else tuple(found)


def _wrong(text: str, form: str, name: str) -> str:
    """Say what is wrong with the form of one ``KIND=FILE``, or nothing."""
    if not name:
        return f"`--output` takes a format and a file, as in `sarif=fix-list.sarif`, not `{text}`."
    if form not in FORMATS:
        return f"`--output {text}`: `{form}` is none of {', '.join(FORMATS)}."
    if name.endswith(("/", os.sep)):
        return f"`--output {text}` names a folder, not a file."
    if name == STANDARD_INPUT:
        return f"`--output {text}` names no file; `--format {form}` prints it."
    return ""


def _given_twice(found: Iterable[Output]) -> Iterator[str]:
    seen: set[str] = set()
    for one in found:
        key = os.path.realpath(one.file)
        if key in seen:
            yield f"{one.file} is named by two outputs."
        seen.add(key)
