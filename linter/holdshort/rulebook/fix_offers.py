"""Whether a fix that a rule proposes can be written into the setup file at all."""

from typing import Final

from holdshort.document import Fault, Path, show_path
from holdshort.rulebook.declare import Fix
from holdshort.setup import Loaded

_ENTRY_DEPTH: Final = 2
"""How many steps name one entry: ``devices.gyro``."""


def fix_problem(fix: Fix, loaded: Loaded) -> str:
    """Say in a sentence why a fix cannot be written whatever it does; empty where it may be.

    Only the setup file itself is written, never a catalogue or a hangar file, and never an entry
    in which a mistake of form stands.
    """
    file = loaded.setup.file
    for edit in fix.edits:
        if edit.at.file != file:
            return f"It would change {edit.at.file}, which is not the setup file."
        for fault in loaded.faults:
            if _stands_in_the_way(fault, file, edit.at.path):
                return f"A mistake of form stands at {show_path(fault.path)}: put that right first."
    return "" if fix.edits else "It changes nothing."


def _stands_in_the_way(fault: Fault, file: str, path: Path) -> bool:
    if fault.file != file or not fault.path:
        return False
    return overlap(fault.path[:_ENTRY_DEPTH], path[:_ENTRY_DEPTH])


def overlap(one: Path, other: Path) -> bool:
    """Tell whether two places are the same, or one stands within the other."""
    shared = min(len(one), len(other))
    return one[:shared] == other[:shared]
