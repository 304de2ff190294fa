"""The aircraft sheet as one page: to read on a phone or a desk, or to print on A4 and hand over.

The page needs nothing else: no other file, no network. Its own policy forbids all but the one style
and the one script in it. Without the script everything is there to read; the script filters.
"""

from typing import Any

from holdshort import __version__
from holdshort.fixlist.diagram_svg import STYLE_SHEET
from holdshort.fixlist.html_page import content_hash, environment, own
from holdshort.fixlist.report import CAUTIONS
from holdshort.fixlist.sheet_drawing import draw
from holdshort.fixlist.sheet_facts import SheetFacts
from holdshort.fixlist.sheet_sections import SECTIONS, SheetSection
from holdshort.fixlist.text import file_named


def render_page(facts: SheetFacts) -> str:
    """Return the sheet as one HTML page."""
    from markupsafe import Markup  # noqa: PLC0415  - only a page pays for it

    facts = facts._replace(drawing=draw(facts))
    style = own("cards.css") + own("sheet.css") + Markup(STYLE_SHEET)  # noqa: S704  - all ours
    script = own("sheet.js")
    text: str = (
        environment()
        .get_template("sheet.html.jinja")
        .render(
            heading=facts.report.aircraft or file_named(facts.report.file),
            file=file_named(facts.report.file),
            made=facts.made.isoformat(),
            version=__version__,
            style=style,
            script=script,
            policy=_policy(style, script),
            cautions=CAUTIONS,
            sections=[shown for section in SECTIONS if (shown := _section(section, facts))],
        )
    )
    return text + "\n"


def _section(section: SheetSection, facts: SheetFacts) -> dict[str, Any] | None:
    content = section.build(facts)
    if not content:
        return None
    return {
        "id": section.id,
        "title": section.title,
        "block": f"sheet_{section.block}.html.jinja",
        "new_page": section.new_page,
        "wide": section.wide,
        "content": content,
    }


def _policy(style: str, script: str) -> str:
    """Return the content security policy: nothing but our own style and script."""
    return (
        f"default-src 'none'; style-src '{content_hash(style)}'; "
        f"script-src '{content_hash(script)}'; base-uri 'none'; form-action 'none'"
    )
