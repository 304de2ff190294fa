"""``holdshort show``: print one computed view of one aircraft, or draw it."""

import argparse
import importlib
import os
import stat
import time
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from holdshort.analysis import Aircraft
from holdshort.cli import output
from holdshort.cli.files import Files, open_named
from holdshort.cli.hangars import Hangars, Home
from holdshort.cli.packs import installed_rulebook
from holdshort.cli.views import PICTURE_ENDINGS, VIEWS, View
from holdshort.fixlist.plain import plain
from holdshort.setup import Loaded, load

if TYPE_CHECKING:
    from holdshort.cli.judged import Bench
    from holdshort.fixlist.report import FileReport
    from holdshort.fixlist.settings_table import Applied


def run(arguments: argparse.Namespace) -> int:
    """Print the view, return the exit code: 2 where the file has mistakes of form.

    The mistakes are told first. A picture is drawn before anything is printed.
    """
    view = VIEWS[arguments.view]
    trouble = _cannot(view, arguments)
    if trouble:
        output.say(trouble)
        return 2
    files = Files()
    opened = open_named(arguments.file)
    if opened.document is None:
        output.complain([opened.fault] if opened.fault else [])
        return 2
    hangars = Hangars(files, arguments.hangar)
    home = hangars.home(opened.name)
    loaded = load(opened.document, files.catalogue_reader(opened.name), home.shared)
    if view.settings or view.judged:
        return _show_ruled(view, loaded, hangars, home, arguments)
    faults = (*home.faults, *loaded.faults)
    output.complain(faults)
    aircraft = Aircraft(loaded.setup)
    if arguments.plot is not None and not _draw(view, aircraft, arguments.plot):
        return 2
    output.write(_text(view, aircraft, arguments.format, pairs=arguments.pairs))
    return 2 if faults else 0


def _show_ruled(
    view: View, loaded: Loaded, hangars: Hangars, home: Home, arguments: argparse.Namespace
) -> int:
    """Print a view, or draw it, that the rules have a say in; 2 also where that cannot be done."""
    from holdshort.cli.judged import Bench, this_day  # noqa: PLC0415  - only when asked

    rulebook = installed_rulebook()
    if rulebook is None:
        return 2
    settings = hangars.settings(home, rulebook)
    faults = (*settings.faults, *loaded.faults)
    output.complain(faults)
    bench = Bench(hangars.files, home, settings, this_day())
    show = _show_settings if view.settings else _show_judged
    return 0 if show(view, loaded, bench, arguments) and not faults else 2


def _show_judged(view: View, loaded: Loaded, bench: "Bench", arguments: argparse.Namespace) -> bool:
    """Show what the rules say; False where one failed or nothing could be drawn."""
    from holdshort.fixlist.report import make_report  # noqa: PLC0415  - only when asked

    aircraft, _, judgement = bench.judge(loaded)
    report = make_report(loaded, judgement, hangar=bench.home.name)
    for crash in report.crashes:
        output.say(f"The rule `{crash.rule}` of pack `{crash.pack}` failed: {crash.error}")
    if arguments.plot is not None and not _draw(view, aircraft, arguments.plot, report):
        return False
    output.write(_text(view, aircraft, arguments.format, pairs=False, report=report))
    return not report.crashes


def _show_settings(
    view: View, loaded: Loaded, bench: "Bench", arguments: argparse.Namespace
) -> bool:
    """Show what applies."""
    from holdshort.fixlist.settings_table import Applied  # noqa: PLC0415  - only when asked

    was_named = arguments.hangar is not None
    applied = Applied(loaded.setup, bench.settings, was_named, bench.today)
    output.write(_text(view, applied, arguments.format, pairs=False))
    return True


def _cannot(view: View, arguments: argparse.Namespace) -> str:
    """Say why the view cannot be shown as asked, or nothing."""
    if arguments.format == "json" and not view.json:
        return f"`show {arguments.view}` has no JSON form."
    if arguments.pairs and not view.pairs:
        return f"`show {arguments.view}` fails nothing, so there are no pairs of failures."
    if arguments.plot is None:
        return ""
    if not view.picture:
        return f"`show {arguments.view}` has no picture."
    if _ending(arguments.plot) not in PICTURE_ENDINGS:
        return f"A picture ends in .{' or .'.join(PICTURE_ENDINGS)}, and {arguments.plot} does not."
    if os.path.realpath(arguments.plot) == os.path.realpath(arguments.file):
        return f"{arguments.plot} is the setup file; the picture would replace it."
    return ""


def _ending(name: str) -> str:
    return Path(name).suffix.lower().removeprefix(".")


def _text(
    view: View,
    aircraft: "Aircraft | Applied",
    form: str,
    *,
    pairs: bool,
    report: "FileReport | None" = None,
) -> str:
    extra: tuple[object, ...] = (_progress(),) if pairs else ()
    extra = extra if report is None else (*extra, report)
    if form == "json":
        text: str = _function(view.json)(aircraft, *extra)
        return text
    lines: Iterable[str] = _function(view.target)(aircraft, *extra)
    return "".join(f"{plain(line)}\n" for line in lines)


def _progress() -> Callable[[int, int], None]:
    """Return what tells on standard error, each second, how far a long job is."""
    due = time.monotonic() + 1.0

    def tell(done: int, total: int) -> None:
        nonlocal due
        if time.monotonic() >= due and done < total:
            output.say(f"{done} of {total} pairs")
            due = time.monotonic() + 1.0

    return tell


def _draw(view: View, aircraft: Aircraft, name: str, report: "FileReport | None" = None) -> bool:
    """Write the picture; False, with the reason told, where that cannot be done."""
    extra = () if report is None else (report,)
    try:
        data: bytes = _function(view.picture)(aircraft, _ending(name), *extra)
    except ModuleNotFoundError as error:
        if (error.name or "").partition(".")[0] != "matplotlib":
            raise
        output.say("A picture needs matplotlib: `pip install 'holdshort[plot]'` installs it.")
        return False
    return _write(Path(name), data)


def _write(file: Path, data: bytes) -> bool:
    from holdshort.document.write import replace_file  # noqa: PLC0415  - only a picture needs it

    try:
        if file.exists() and not stat.S_ISREG(file.stat().st_mode):
            output.say(f"{file} is not a file that can be replaced.")
            return False
        replace_file(file, data)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        output.say(f"{file} could not be written: {reason}.")
        return False
    return True


def _function(target: str) -> Callable[..., Any]:
    module, _, name = target.partition(":")
    function: Callable[..., Any] = getattr(importlib.import_module(module), name)
    return function
