"""Where a value stands: its path in the document and its span in the text."""

from __future__ import annotations

from typing import NamedTuple, TypeAlias

Path: TypeAlias = tuple[str | int, ...]
"""The way from the root to a value: keys as text, list positions as numbers from 0."""

_QUOTED_IN_PATHS = frozenset(" .,:\"'[]{}\\")


class Span(NamedTuple):
    """A piece of text: lines and columns from 1, columns in code points, end exclusive."""

    line: int
    column: int
    end_line: int
    end_column: int


def show_path(path: Path) -> str:
    """Write a path for people: `devices.gyro.told`, `leads[5].from`, `devices."front rx"`."""
    if not path:
        return "the whole file"
    shown = ""
    for step in path:
        if isinstance(step, int):
            shown += f"[{step}]"
        else:
            shown += f".{_show_key(step)}" if shown else _show_key(step)
    return shown


def _show_key(key: str) -> str:
    if key and key.isprintable() and _QUOTED_IN_PATHS.isdisjoint(key):
        return key
    escaped = key.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return f'"{escaped}"'
