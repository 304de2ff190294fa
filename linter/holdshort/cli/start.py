"""``holdshort start``: write a commented file to start from, for a layout of one's choice."""

import argparse
import re
import stat
from pathlib import Path
from typing import Final

from holdshort.cli import output
from holdshort.cli.files import Files
from holdshort.document import DocumentError, read_document
from holdshort.document.write import replace_file
from holdshort.setup import load
from holdshort.setup.mistakes import did_you_mean

LAYOUTS: Final = Path(__file__).parent / "layouts"
"""The folder of layouts, each a setup file whose first comment says in a line what it is."""

_NAME: Final = re.compile(r"^(  name: )[^\n]*$", re.MULTILINE)


def run(arguments: argparse.Namespace) -> int:
    """List the layouts, or write the starting file; return the exit code."""
    layouts = {file.stem: file for file in sorted(LAYOUTS.glob("*.yaml"), key=_stem)}
    if arguments.layout is None:
        return _list(layouts, arguments)
    if arguments.layout not in layouts:
        near = did_you_mean(arguments.layout, layouts)
        output.say(f"There is no layout `{arguments.layout}`. {near}".rstrip())
        return 2
    text = layouts[arguments.layout].read_text(encoding="utf-8")
    if arguments.name is not None:
        text = with_name(text, arguments.name)
        problem = _problem(text)
        if problem:
            output.say(f"The aircraft cannot have that name. {problem}")
            return 2
    if arguments.output is None:
        output.write(text)
        return 0
    return _write(Path(arguments.output), text, replace=arguments.replace)


def _list(layouts: dict[str, Path], arguments: argparse.Namespace) -> int:
    if arguments.output is not None or arguments.name is not None:
        output.say("Name a layout to start from; `holdshort start` lists them.")
        return 2
    widest = max(len(name) for name in layouts)
    lines = [f"{name:{widest}}  {_title(file)}" for name, file in layouts.items()]
    output.write("".join(f"{line}\n" for line in lines))
    return 0


def _stem(file: Path) -> str:
    return file.stem


def _title(file: Path) -> str:
    first = file.read_text(encoding="utf-8").partition("\n")[0]
    return first.removeprefix("#").strip()


def with_name(text: str, name: str) -> str:
    """Return a layout with the aircraft's name in place of its own."""
    return _NAME.sub(lambda found: f"{found[1]}{quoted(name)}", text, count=1)


def quoted(text: str) -> str:
    """Return ``text`` as a YAML 1.2 double-quoted scalar on one line."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c.isprintable() else _escape(c) for c in escaped) + '"'


def _escape(character: str) -> str:
    return f"\\U{ord(character):08x}"


def _problem(text: str) -> str:
    """Return what is wrong with the form of a starting file, or nothing."""
    try:
        document = read_document(text.encode(errors="surrogatepass"), "the file")
    except DocumentError as error:
        return error.fault.message
    faults = load(document, Files().catalogue_reader("")).faults
    return faults[0].message if faults else ""


def _write(file: Path, text: str, *, replace: bool) -> int:
    """Write the file aside and put it in place; an existing one only where that was asked."""
    try:
        if file.exists() or file.is_symlink():
            if not replace:
                output.say(f"{file} exists already; `--replace` replaces it.")
                return 2
            if file.exists() and not stat.S_ISREG(file.stat().st_mode):
                output.say(f"{file} is not a file that can be replaced.")
                return 2
        replace_file(file, text.encode())
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        output.say(f"{file} could not be written: {reason}.")
        return 2
    return 0
