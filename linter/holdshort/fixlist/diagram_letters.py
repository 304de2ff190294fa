"""How wide text is, without a font at hand: never less than in DejaVu Sans, which is a wide one.

The classes hold the advance widths of DejaVu Sans (and Bold), rounded up to 1/20 of the font size.
"""

from typing import Final

from holdshort.fixlist.plain import plain

_CLASSES: Final = (
    (0.30, "IJijl"), (0.35, " '.,/:;\\|"), (0.40, "()-[]ft"), (0.45, "!r"), (0.50, '"*_`'),
    (0.55, "?csz"), (0.60, "FLkvxy"), (0.65, "$0123456789EPSTYabdeghnopqu{}"),
    (0.70, "ABCKRVXZ"), (0.75, "NU"), (0.80, "&DGHOQ"), (0.85, "#+<=>^w~"), (0.90, "M"),
    (0.95, "%"), (1.00, "@Wm"),
)  # fmt: skip
_BOLD_CLASSES: Final = (
    (0.35, "'ijl"), (0.40, " ,./:;IJ\\|"), (0.45, "-f"), (0.50, "!()[]_`rt"), (0.55, '"*'),
    (0.60, "?csz"), (0.65, "Lx"), (0.70, "$0123456789EFTaekovy"), (0.75, "CPSYZbdghnpqu{}"),
    (0.80, "ABKRVX"), (0.85, "#+<=>DGHNOQU^~"), (0.90, "&"), (0.95, "w"), (1.00, "@M"),
    (1.05, "%m"), (1.15, "W"),
)  # fmt: skip
_REGULAR: Final = {letter: width for width, letters in _CLASSES for letter in letters}
_BOLD: Final = {letter: width for width, letters in _BOLD_CLASSES for letter in letters}
_OTHER: Final = 1.45
"""For letters that are not listed: the widest of the Latin, Greek and Cyrillic ones."""
_WIDEST: Final = 1.6
_LATIN: Final = 0.85
_LATIN_BOLD: Final = 0.90
_MORE: Final = "\N{HORIZONTAL ELLIPSIS}"


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Return the room that ``text`` takes at a font size, in the same unit."""
    widths = _BOLD if bold else _REGULAR
    return size * sum(widths.get(letter) or _unlisted(letter, bold=bold) for letter in text)


def _unlisted(letter: str, *, bold: bool) -> float:
    # Accented Latin letters but for the ligatures are no wider than the widest plain ones.
    if letter.isalpha() and "\xc0" <= letter <= "\xff" and letter not in "\xc6\xe6":
        return _LATIN_BOLD if bold else _LATIN
    return _WIDEST if bold else _OTHER


def fitted(text: str, size: float, room: float, *, bold: bool = False) -> str:
    """Return ``text`` in a form that can be shown, cut with an ellipsis where it is too wide."""
    shown = plain(text)
    if text_width(shown, size, bold=bold) <= room:
        return shown
    rest = room - text_width(_MORE, size, bold=bold)
    return shown[: _fitting(shown, size, rest, bold=bold)].rstrip() + _MORE


def _fitting(text: str, size: float, room: float, *, bold: bool) -> int:
    """Return how many letters of ``text`` fit."""
    for at, letter in enumerate(text):
        room -= text_width(letter, size, bold=bold)
        if room < 0.0:
            return at
    return len(text)


def broken(
    text: str, size: float, room: float, most: int, *, bold: bool = False
) -> tuple[str, ...]:
    """Return ``text`` on at most ``most`` lines of ``room``, broken behind spaces and hyphens."""
    left = plain(text)
    lines: list[str] = []
    while len(lines) < most - 1 and text_width(left, size, bold=bold) > room:
        cut = _break_at(left, size, room, bold=bold)
        lines.append(left[:cut].rstrip())
        left = left[cut:].lstrip()
    return (*lines, fitted(left, size, room, bold=bold))


def _break_at(text: str, size: float, room: float, *, bold: bool) -> int:
    """Return how many letters of ``text`` go on a line, one at least."""
    fits = max(1, _fitting(text, size, room, bold=bold))
    breaks = [at + 1 for at in range(fits) if text[at] in " -_."]
    return breaks[-1] if breaks and breaks[-1] * 3 >= fits else fits
