"""``holdshort rules test``: run the cases of rule packs, and sweep the packs."""

import argparse
import os
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from holdshort.cli import output
from holdshort.fixlist.plain import plain
from holdshort.rulebook import Pack, PackError, checked_rulebook, load_rulebook
from holdshort.rulebook.packs import BUILT_IN, entry_points, is_path, load_pack
from holdshort.rulebook.wording import counted, sentence
from holdshort.testkit import CaseResult, Flaw, Trial, try_pack

_FAILED = 1
_NOT_DONE = 2


def run(arguments: argparse.Namespace) -> int:
    """Try the packs that were named, or all installed ones; return the exit code."""
    installed = [name for name, _ in entry_points()]
    named: list[str] = arguments.packs or installed
    packs = [_loaded(name, installed) for name in named]
    if not packs:
        output.say("No rule pack is installed: there is nothing to test.")
        return _NOT_DONE
    trials = [try_pack(pack) for pack in packs if pack is not None]
    for trial in trials:
        for problem in trial.unreadable:
            output.say(problem)
    output.write(_rendered(trials, arguments.format))
    if None in packs or not all(trial.job_done for trial in trials):
        return _NOT_DONE
    return 0 if all(trial.passed for trial in trials) else _FAILED


def _loaded(name: str, installed: list[str]) -> Pack | None:
    """Load one pack, alone and beside the built-in one; say what is wrong with it."""
    if name not in installed and not is_path(name) and os.path.exists(name):  # noqa: PTH110
        name = os.path.join(".", name)  # noqa: PTH118
    try:
        pack = load_pack(name)
        if BUILT_IN not in {name, pack.name}:
            checked_rulebook([*load_rulebook().packs, pack])
    except PackError as error:
        output.say(f"Rules cannot be loaded: {sentence(str(error))}")
        return None
    return pack


def _rendered(trials: list[Trial], form: str) -> str:
    if form == "json":
        from holdshort.fixlist.json_format import dump  # noqa: PLC0415  - only when asked

        return dump(_data(trials))
    return "".join(f"{plain(line)}\n" for trial in trials for line in _lines(trial))


def _lines(trial: Trial) -> Iterator[str]:
    for result in trial.failed:
        yield f"{_place(result.file, result.line)}: {result.rule}: {result.name}"
        for problem in result.problems:
            yield f"    line {problem.line}: {problem.text}"
    for flaw in trial.flaws:
        about = f"{flaw.rule}: " if flaw.rule and not flaw.text.startswith(flaw.rule) else ""
        yield f"{_place(flaw.file, flaw.line)}: {about}{flaw.text}"
    passed = len(trial.results) - len(trial.failed)
    yield (
        f"{trial.pack.name}: {counted(len(trial.pack.rules), 'rule')}, "
        f"{counted(len(trial.results), 'case')}: {passed} as expected, {len(trial.failed)} not; "
        f"{len(trial.flaws)} other {'thing' if len(trial.flaws) == 1 else 'things'} to put right."
    )


def _place(file: str, line: int) -> str:
    shown = _shown(file)
    return f"{shown}:{line}" if line else shown


def _shown(file: str) -> str:
    """Return a path below the current folder from there, and any other as it is."""
    path = Path(file)
    if path.is_absolute() and path.is_relative_to(Path.cwd()):
        return str(path.relative_to(Path.cwd()))
    return file


def _data(trials: Iterable[Trial]) -> dict[str, Any]:
    """Return what was tried as data; lines are from 1, and 0 where none is to blame."""
    return {
        "format": "holdshort-rules-test",
        "version": 1,
        "packs": [_trial_data(trial) for trial in trials],
    }


def _trial_data(trial: Trial) -> dict[str, Any]:
    return {
        "pack": trial.pack.name,
        "rules": [rule.id for rule in trial.pack.rules],
        "passed": trial.passed,
        "cases": [_case_data(result) for result in trial.results],
        "flaws": [_flaw_data(flaw) for flaw in trial.flaws],
        "unreadable": list(trial.unreadable),
    }


def _case_data(result: CaseResult) -> dict[str, Any]:
    return {
        "rule": result.rule,
        "name": result.name,
        "file": result.file,
        "line": result.line,
        "passed": not result.problems,
        "problems": [{"line": flaw.line, "text": flaw.text} for flaw in result.problems],
    }


def _flaw_data(flaw: Flaw) -> dict[str, Any]:
    return {"rule": flaw.rule, "file": flaw.file, "line": flaw.line, "text": flaw.text}
