"""The formats that a fix list can be written in, by name; each is loaded when it is asked for.

To add one, write a function that takes a :class:`~holdshort.fixlist.report.Report` and returns
text, and name it here.
"""

import importlib
from collections.abc import Callable
from typing import TYPE_CHECKING, Final, NamedTuple

if TYPE_CHECKING:
    from holdshort.fixlist.report import Report


class Format(NamedTuple):
    """One format: the function that writes it as ``module:function``, and what its files are.

    ``ending`` is how the name of such a file usually ends, ``media_type`` what it is called when it
    is sent somewhere.
    """

    target: str
    ending: str
    media_type: str


FORMATS: Final[dict[str, Format]] = {
    "text": Format("holdshort.fixlist.text:render_text", ".txt", "text/plain"),
    "json": Format("holdshort.fixlist.json_format:render_json", ".json", "application/json"),
    "sarif": Format(
        "holdshort.fixlist.sarif_format:render_sarif", ".sarif", "application/sarif+json"
    ),
    "junit": Format("holdshort.fixlist.junit_format:render_junit", ".xml", "application/xml"),
    "annotations": Format("holdshort.fixlist.annotations:render_annotations", ".txt", "text/plain"),
    "codequality": Format(
        "holdshort.fixlist.code_quality:render_code_quality", ".json", "application/json"
    ),
}
"""Every format by the word that asks for it."""


def render(report: "Report", form: str) -> str:
    """Return the report in the format called ``form``. Raises KeyError where there is none."""
    module, _, name = FORMATS[form].target.partition(":")
    function: Callable[[Report], str] = getattr(importlib.import_module(module), name)
    return function(report)
