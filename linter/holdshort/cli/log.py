"""``holdshort log``: read a measured log and set it beside what was declared and computed."""

import argparse
import os
import stat
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from holdshort.analysis import Aircraft
from holdshort.analysis.known_tests import KnownTest
from holdshort.analysis.logs.clock import FORMS
from holdshort.analysis.logs.layout import Layout, find_layout
from holdshort.analysis.logs.report import LogReport, log_report
from holdshort.analysis.logs.rows import FLAWS
from holdshort.analysis.logs.study import LogReading, LogStudy, Plan
from holdshort.analysis.logs.subjects import plan_of
from holdshort.cli import output
from holdshort.cli.files import STANDARD_INPUT, Files, open_named
from holdshort.cli.hangars import Hangars
from holdshort.cli.log_files import LogFileError, Piece, read_pieces
from holdshort.cli.packs import installed_rulebook
from holdshort.cli.views import PICTURE_ENDINGS
from holdshort.document.write import replace_file
from holdshort.setup import Setup, load
from holdshort.setup.logs import LogColumns
from holdshort.setup.mistakes import did_you_mean

_FEW: Final = 40
_EXAMPLE: Final = "log: {time: Time, columns: {Rx V: {measures: voltage, at: front-rx}}}"


def run(arguments: argparse.Namespace) -> int:
    """Print what the log says; 1 where a voltage is outside its limits, 2 where part is unread."""
    trouble = _cannot(arguments)
    if trouble:
        output.say(trouble)
        return 2
    opened = open_named(arguments.file)
    if opened.document is None:
        output.complain([opened.fault] if opened.fault else [])
        return 2
    rulebook = installed_rulebook()
    if rulebook is None:
        return 2
    files = Files()
    hangars = Hangars(files, arguments.hangar)
    home = hangars.home(opened.name)
    loaded = load(opened.document, files.catalogue_reader(opened.name), home.shared)
    settings = hangars.settings(home, rulebook)
    faults = (*settings.faults, *loaded.faults)
    output.complain(faults)
    aircraft = Aircraft(loaded.setup, settings.quantities, tests=settings.tests)
    try:
        report = _read(aircraft, arguments)
    except LogFileError as error:
        output.say(str(error))
        return 2
    if not _give(report, arguments):
        return 2
    if faults or report.layout.missing or report.empty:
        return 2
    return 1 if report.is_held else 0


def _cannot(arguments: argparse.Namespace) -> str:
    """Say why the log cannot be shown as asked, or nothing."""
    picture = arguments.plot
    if picture is None:
        return ""
    if Path(picture).suffix.lower().removeprefix(".") not in PICTURE_ENDINGS:
        return f"A picture ends in .{' or .'.join(PICTURE_ENDINGS)}, and {picture} does not."
    inputs = [name for name in (arguments.file, arguments.log) if name]
    if os.path.realpath(picture) in {os.path.realpath(name) for name in inputs}:
        return f"{picture} is what is to be read; the picture would replace it."
    return ""


def _read(aircraft: Aircraft, arguments: argparse.Namespace) -> LogReport:
    """Read the log. Raises LogFileError where there is nothing to tell of it."""
    test = _test(aircraft, arguments.sign)
    path = arguments.log or _newest(aircraft.setup, arguments.file)
    pieces = read_pieces(path)
    first = next(pieces, Piece([], 1.0))
    layout = _layout(aircraft.setup, path, first.lines)
    plan = plan_of(aircraft, curves=arguments.plot is not None)
    reading = _fed(layout, plan, first, pieces).finish()
    if not reading.rows:
        hint = f" {FORMS}" if ("time", "") in reading.flaws else ""
        raise LogFileError(f"{path}: no row could be read.{_first_flaw(reading)}{hint}")
    return log_report(aircraft, path, layout, plan, reading, test)


def _test(aircraft: Aircraft, name: str) -> KnownTest:
    """Return the test that is to be signed off. Raises LogFileError where there is none."""
    tests = {test.name: test for test in aircraft.known_tests}
    if name not in tests:
        raise LogFileError(f"`{name}` is not a known test. {did_you_mean(name, tests)}".rstrip())
    return tests[name]


def _fed(layout: Layout, plan: Plan, first: Piece, pieces: Iterator[Piece]) -> LogStudy:
    study = LogStudy(layout, plan)
    study.feed(first.lines[layout.first_line - 1 :])
    due = time.monotonic() + 1.0
    for piece in pieces:
        study.feed(piece.lines)
        if time.monotonic() >= due:
            output.say(f"{study.rows:,} rows read, {piece.share * 100.0:.0f} % of the file")
            due = time.monotonic() + 1.0
    return study


def _first_flaw(reading: LogReading) -> str:
    for (flaw, _), tally in reading.flaws.items():
        return f" The first is one {FLAWS[flaw]}, line {tally.line}: `{tally.text}`."
    return ""


def _newest(setup: Setup, file: str) -> str:
    """Return the newest log that the setup file names, from where that file lies."""
    names = setup.log.files if setup.log and setup.log.files else ()
    if not names:
        raise LogFileError("Name a log to read, or list logs under `log: files:`.")
    folder = "" if file == STANDARD_INPUT else os.path.dirname(file)  # noqa: PTH120
    return os.path.normpath(os.path.join(folder, names[-1]))  # noqa: PTH118


def _layout(setup: Setup, path: str, lines: list[str]) -> Layout:
    """Return where the columns are. Raises LogFileError where that leaves nothing to read."""
    declared = setup.log
    layout = find_layout(lines, declared or LogColumns.model_construct())
    if layout is None:
        raise LogFileError(f"{path} is empty.")
    if setup.broken_under("log"):
        raise LogFileError(f"{setup.file} has mistakes of form under `log`, told above.")
    heads = _headings(layout)
    if declared is None or not declared.columns or declared.time is None:
        lacks = "section `log`" if declared is None else "`columns` and `time` under `log`"
        raise LogFileError(
            f"{setup.file} has no {lacks}, so it is not known what {path} holds. {heads} "
            f"Write for example `{_EXAMPLE}`."
        )
    if layout.time is None:
        wanted = declared.time.column
        raise LogFileError(f"{path} has no column `{wanted}`, which is to hold the time. {heads}")
    if not layout.columns:
        raise LogFileError(f"{path} has none of the columns that `log` names. {heads}")
    return layout


def _headings(layout: Layout) -> str:
    named = [head for head in layout.headings if head]
    if not named:
        columns = "column" if layout.width == 1 else "columns"
        return f"It has {layout.width} {columns} and no headings: write `column 1` and so on."
    more = f" and {len(named) - _FEW} more" if len(named) > _FEW else ""
    return f"Its headings are: {', '.join(f'`{head}`' for head in named[:_FEW])}{more}."


def _give(report: LogReport, arguments: argparse.Namespace) -> bool:
    """Draw the picture, then print; False where either cannot be done."""
    if arguments.plot is not None and not _draw(report, arguments.plot):
        return False
    if arguments.format == "json":
        from holdshort.fixlist.log_json import render_json  # noqa: PLC0415  - only when asked

        output.write(render_json(report))
        return True
    from holdshort.fixlist.log_view import render_text  # noqa: PLC0415  - as above

    output.write(render_text(report))
    return True


def _draw(report: LogReport, name: str) -> bool:
    try:
        from holdshort.fixlist.log_picture import draw  # noqa: PLC0415  - only a picture needs it
    except ModuleNotFoundError as error:
        if (error.name or "").partition(".")[0] != "matplotlib":
            raise
        output.say("A picture needs matplotlib: `pip install 'holdshort[plot]'` installs it.")
        return False
    file = Path(name)
    try:
        if file.exists() and not stat.S_ISREG(file.stat().st_mode):
            output.say(f"{file} is not a file that can be replaced.")
            return False
        replace_file(file, draw(report, file.suffix.lower().removeprefix(".")))
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        output.say(f"{file} could not be written: {reason}.")
        return False
    return True
