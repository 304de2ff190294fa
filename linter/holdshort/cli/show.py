"""``holdshort show``: print one computed view of one aircraft."""

import argparse
import importlib
from collections.abc import Callable, Iterable

from holdshort.analysis import Aircraft
from holdshort.cli import output
from holdshort.cli.files import Files, open_named
from holdshort.cli.views import VIEWS
from holdshort.document import Fault
from holdshort.fixlist.plain import plain
from holdshort.setup import load


def run(arguments: argparse.Namespace) -> int:
    """Print the view, return the exit code: 2 where the file has mistakes of form."""
    files = Files()
    opened = open_named(arguments.file)
    if opened.document is None:
        _complain([opened.fault] if opened.fault else [])
        return 2
    loaded = load(opened.document, files.catalogue_reader(opened.name))
    lines = _view(arguments.view)(Aircraft(loaded.setup))
    output.write("".join(f"{plain(line)}\n" for line in lines))
    _complain(loaded.faults)
    return 2 if loaded.faults else 0


def _view(name: str) -> Callable[[Aircraft], Iterable[str]]:
    module, _, function = VIEWS[name].target.partition(":")
    view: Callable[[Aircraft], Iterable[str]] = getattr(importlib.import_module(module), function)
    return view


def _complain(faults: Iterable[Fault]) -> None:
    for fault in faults:
        place = f"{fault.file}:{fault.span.line}: " if fault.span else ""
        output.say(f"{place}{fault.message} {fault.do}".rstrip())
