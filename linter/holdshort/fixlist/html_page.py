"""What all pages in HTML share: the template engine, and the policy that lets nothing else in.

A page is one file. Its content security policy names its own style and script by their hashes and
allows nothing else, so whatever a setup file says is text. Every value passes through
:func:`~holdshort.fixlist.plain.plain` and is then escaped; what is already markup is our own.
"""

import base64
import hashlib
from pathlib import Path
from typing import TYPE_CHECKING, Final

from holdshort.fixlist.plain import plain

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup

FOLDER: Final = Path(__file__).parent
"""Where the templates, styles and scripts lie."""


def environment() -> "Environment":
    """Return the template engine, which escapes every value and refuses unknown names."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined  # noqa: PLC0415  - a page pays

    made = Environment(
        loader=FileSystemLoader(FOLDER),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_finalize,
    )
    made.filters["marked"] = marked
    return made


def own(name: str) -> "Markup":
    """Return one of our own styles or scripts, in which nothing of an aircraft stands."""
    from markupsafe import Markup  # noqa: PLC0415  - only a page pays for it

    return Markup((FOLDER / name).read_text(encoding="utf-8"))  # noqa: S704  - our own file


def content_hash(content: str) -> str:
    """Return the hash by which a content security policy allows one inline style or script.

    Source: W3C Content Security Policy Level 3, hash-source.
    """
    digest = hashlib.sha256(content.encode()).digest()
    return f"sha256-{base64.b64encode(digest).decode('ascii')}"


def marked(text: str) -> "Markup":
    """Return ``text``, escaped, with what stands between back ticks set as code.

    A name set as code keeps its own direction of writing, and leaves the sentence its own.
    """
    from markupsafe import Markup, escape  # noqa: PLC0415  - as above

    shown = plain(text)
    if shown.count("`") % 2:
        return escape(shown)
    code = Markup('<code dir="auto">{}</code>')
    return Markup("").join(
        code.format(part) if at % 2 else escape(part) for at, part in enumerate(shown.split("`"))
    )


def _finalize(value: object) -> object:
    return plain(value) if type(value) is str else value
