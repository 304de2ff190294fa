"""Places in short, for the computed views."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from holdshort.analysis.missing import Missing
    from holdshort.analysis.power_rows import Told


def place_told(item: "Missing | Told", own: str) -> str:
    """Return where something stands: its line, and its file unless that is the setup file."""
    if item.line is None:
        return item.file
    line = f"line {item.line}"
    return line if item.file == own else f"{item.file} {line}"
