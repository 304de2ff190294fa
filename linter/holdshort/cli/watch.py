"""``holdshort watch``: print the fix list now and after each save, until Ctrl-C."""

import argparse
import os
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Final

from holdshort.cli import output
from holdshort.cli.files import STANDARD_INPUT, Opened, open_met, open_named
from holdshort.cli.hangars import Hangars, Home
from holdshort.cli.judged import this_day
from holdshort.cli.lint import LintRun
from holdshort.cli.packs import installed_rulebook
from holdshort.cli.watched import NotingFiles, Snapshot, Watch, hangar_places, stamp
from holdshort.fixlist.plain import plain
from holdshort.fixlist.report import FileReport, Report
from holdshort.fixlist.text import PLAIN_WIDTH, render_text
from holdshort.rulebook import Hold, Rulebook
from holdshort.rulebook.wording import counted, listed

PAUSE: Final = 0.25
"""Seconds between two looks, at least."""

_SHARE: Final = 20
"""How many times as long as a look took the pause after it is, so that looking costs little."""

_CLEAR: Final = "\x1b[H\x1b[2J"
_MOST_NAMED: Final = 4


def run(arguments: argparse.Namespace) -> int:
    """Watch what was named until Ctrl-C, which ends it with 0."""
    if STANDARD_INPUT in arguments.paths:
        output.say("Standard input cannot be watched. Name a file or a folder.")
        return 2
    rulebook = installed_rulebook()
    if rulebook is None:
        return 2
    until = next(hold for hold in Hold if hold.word == arguments.until)
    clears = not arguments.no_clear and output.width() is not None
    watcher = Watcher(Watch(tuple(arguments.paths)), rulebook, until, arguments.hangar, clears)
    try:
        watcher.begin()
        while watcher.has_reader:
            _pause_after(watcher.step)
    except KeyboardInterrupt:
        output.write("\n")
    return 0


def _pause_after(look: Callable[[], None]) -> None:
    started = time.monotonic()
    look()
    time.sleep(max(PAUSE, _SHARE * (time.monotonic() - started)))


@dataclass(slots=True)
class Watcher:
    """Judges what is watched, all of it first and then what a change touches."""

    watch: Watch
    rulebook: Rulebook
    until: Hold
    hangar: str | None = None
    clears: bool = False
    has_reader: bool = True
    _held: dict[str, int] = field(default_factory=dict[str, int])

    def begin(self) -> None:
        """Judge everything."""
        self.watch.passes_by = Hangars(NotingFiles(), self.hangar).passes_by
        self.watch.begin()
        self._judge(self.watch.own_files(), "")

    def step(self) -> None:
        """Look once, and judge what a change touches."""
        changed = self.watch.tick()
        if changed:
            self._judge(self.watch.touched(changed), _what_changed(changed))

    def _judge(self, paths: Iterable[str], what: str) -> None:
        files = NotingFiles()
        hangars = Hangars(files, self.hangar)
        files.passes_by = self.watch.passes_by = hangars.passes_by
        judging = LintRun(files, hangars, self.rulebook, self.until, this_day())
        reports: list[FileReport] = []
        for path in paths:
            files.asked = self._hangars_of(path)
            opened = self._open(path)
            packs = _packs_of(hangars.home(path))
            found = [] if opened is None else list(judging.reports(opened))
            reports += found
            self.watch.note(path, {**packs, **files.asked})
            self._count(path, found)
        self.watch.forget()
        own = self.watch.own_files()
        self._held = {path: held for path, held in self._held.items() if path in own}
        self._show(reports, what)

    def _hangars_of(self, path: str) -> Snapshot:
        """Return the state of every hangar file that may count for a file, there or not."""
        names = hangar_places(path) if self.hangar is None else (self.hangar,)
        return {name: stamp(name) for name in names}

    def _open(self, path: str) -> Opened | None:
        """Read a file; one that was met in a folder and is none of ours is passed by."""
        return open_named(path) if path in self.watch.paths else open_met(path)

    def _count(self, path: str, found: Iterable[FileReport]) -> None:
        self._held.pop(path, None)
        for report in found:
            if report.kind == "aircraft":
                self._held[path] = report.tally.held_in_all

    def _show(self, reports: list[FileReport], what: str) -> None:
        now = datetime.now().astimezone().strftime("%H:%M:%S")
        heading = f"== {now}  {what or 'watching; Ctrl-C ends it'} =="
        text = f"{_CLEAR if self.clears else ''}{plain(heading)}\n\n"
        if reports:
            width = output.width() or PLAIN_WIDTH
            text += render_text(
                Report(self.until, tuple(reports)), width, colour=output.in_colour()
            )
        if not self._held:
            text += "There is no setup file here that can be judged.\n"
        elif len(self._held) > 1:
            text += f"Held in all {len(self._held)} aircraft: {sum(self._held.values())}\n"
        self.has_reader = output.write(f"{text}\n")


def _packs_of(home: Home) -> Snapshot:
    """Return the state of the files of the rule packs that lie beside a hangar file."""
    named = home.hangar.packs.values() if home.hangar else ()
    folder = Path(home.name).parent
    found: Snapshot = {}
    for pack in (folder / name for name in named):
        files = sorted(pack.rglob("*.py")) if pack.is_dir() else [pack] if pack.is_file() else []
        found |= {str(file): stamp(str(file)) for file in files}
    return found


def _what_changed(changed: Iterable[str]) -> str:
    """Say which files have changed and which are gone: ``aircraft.yaml changed``."""
    names = sorted(changed)
    gone = [name for name in names if stamp(name) is None]
    saved = [name for name in names if name not in gone]
    said = [
        f"{_some(group)} {word}" for group, word in ((saved, "changed"), (gone, "gone")) if group
    ]
    return ", ".join(said)


def _some(names: list[str]) -> str:
    shown = list(dict.fromkeys(_shortest(name) for name in names))
    return listed(shown) if len(shown) <= _MOST_NAMED else counted(len(shown), "file")


def _shortest(name: str) -> str:
    try:
        return min(os.path.relpath(name), os.path.normpath(name), key=len)
    except ValueError:  # another drive
        return name
