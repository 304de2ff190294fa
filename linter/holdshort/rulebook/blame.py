"""Finding the file and line of a pack where something went wrong. Loaded only when it did."""

import ast
import importlib.machinery
import os
import traceback
from pathlib import Path
from types import CodeType

from holdshort.rulebook.declare import Rule

_ENGINE = str(Path(__file__).resolve().parent.parent) + os.sep


def error_place(error: BaseException, root: str = "") -> str:
    """Return ``file, line 7`` of the last line of the pack that ``error`` passed through.

    ``root`` is the pack's folder or file. Where the pack has no line in it, the last line that
    is not the engine's is named; empty where there is none.
    """
    if isinstance(error, SyntaxError) and error.filename:
        return f"{error.filename}, line {error.lineno or 1}"
    frames = [
        frame
        for frame in traceback.extract_tb(error.__traceback__)
        if not frame.filename.startswith(("<", _ENGINE))
    ]
    own = [frame for frame in frames if root and _is_in(frame.filename, root)]
    last = (own or frames)[-1:]
    return f"{last[0].filename}, line {last[0].lineno}" if last else ""


def _is_in(file: str, root: str) -> bool:
    return file == root or file.startswith(root.rstrip(os.sep) + os.sep)


def root_of(module_name: str) -> str:
    """Return the folder or file of the top-level package of a module; empty: there is none."""
    top = module_name.partition(".")[0]
    try:
        spec = importlib.machinery.PathFinder.find_spec(top)
    except (ImportError, ValueError):
        return ""
    if spec is None or spec.origin is None:
        return ""
    return os.path.dirname(spec.origin) if spec.submodule_search_locations else spec.origin  # noqa: PTH120


def assignment_place(file: str, name: str) -> str:
    """Return ``file, line 7`` where a module gives ``name`` its value, or just the file."""
    try:
        tree = ast.parse(Path(file).read_bytes())
    except (OSError, SyntaxError, ValueError):
        return file
    for statement in tree.body:
        if isinstance(statement, ast.Assign):
            targets = statement.targets
        elif isinstance(statement, ast.AnnAssign):
            targets = [statement.target]
        else:
            continue
        if any(isinstance(target, ast.Name) and target.id == name for target in targets):
            return f"{file}, line {statement.lineno}"
    return file


def rule_place(rule: Rule) -> str:
    """Return ``file, line 7`` where a rule is declared, or nothing where that is not known."""
    place = declared_at(rule)
    return f"{place[0]}, line {place[1]}" if place else ""


def declared_at(rule: Rule) -> tuple[str, int] | None:
    """Return the file and line where a rule is declared, or None where that is not known."""
    check: object = rule.check
    where = getattr(check, "where", "")  # a rule made from data says it itself
    if isinstance(where, str) and ", line " in where:
        file, _, line = where.rpartition(", line ")
        return (file, int(line)) if line.isdecimal() else None
    code = getattr(check, "__code__", None)
    if not isinstance(code, CodeType) or code.co_filename.startswith(_ENGINE):
        return None
    return code.co_filename, code.co_firstlineno


def crash_place(error: BaseException, rule: Rule) -> str:
    """Return ``file, line 7`` where a rule failed; where it was declared, if it only misspoke."""
    place = declared_at(rule)
    root = os.path.dirname(place[0]) if place else ""  # noqa: PTH120
    return error_place(error, root) or rule_place(rule)
