"""Plain sentences for what a YAML parser says about broken syntax."""

from __future__ import annotations

from typing import Any, NamedTuple, Never

from holdshort.document.place import Span
from holdshort.document.scalars import shorten
from holdshort.document.source import Source


class _Saying(NamedTuple):
    """A sentence for the problems whose text holds one of `signs`, as parsers write them."""

    signs: tuple[str, ...]
    kind: str
    message: str
    do: str
    at_start: bool = False


_AFTER_VALUE = ("block mapping", "block collection", "<document start>")
_INDENT_DO = "Line up keys of one mapping, and dashes of one list, in one column."

# Signs are matched against context and problem, in the words of libyaml and of PyYAML.
_SAYINGS = (
    _Saying(
        ("maximum nesting depth",),
        "too-deep",
        "Mappings and lists stand far too deep in each other.",
        "Take out the inner levels.",
    ),
    _Saying(
        ("directive", "incompatible YAML document"),
        "directive",
        "This directive is not read; files are YAML 1.2.",
        "Delete the line.",
    ),
    _Saying(
        ("while scanning an anchor", "while scanning an alias"),
        "anchor",
        "`&` and `*` start an anchor or an alias in YAML, and these are not read.",
        "Put text that starts with `&` or `*` in quotes; write shared values out.",
    ),
    _Saying(
        ("while scanning a tag", "while parsing a tag", "undefined tag handle", "tag URI"),
        "tag",
        "`!` starts a tag in YAML, and tags are not read.",
        "Delete the tag, or put text that starts with `!` in quotes.",
    ),
    _Saying(
        (
            "quoted scalar found unexpected end of stream",
            "unexpected document indicator",
            "unexpected document separator",
        ),
        "unclosed-quote",
        "This quoted text has no closing quote.",
        "Write the closing quote; in single quotes an apostrophe is written twice.",
        at_start=True,
    ),
    _Saying(
        ("unknown escape character", "hexdecimal", "hexadecimal", "Unicode character escape"),
        "bad-escape",
        "This backslash escape in double quotes is not known in YAML.",
        "Write a backslash as `\\\\`, or use single quotes, where it stands for itself.",
    ),
    _Saying(
        ("unexpected ':'",),
        "colon-without-space",
        "Between brackets a colon needs a space behind it.",
        "Write `key: value`.",
    ),
    _Saying(
        ("mapping values are not allowed",),
        "misplaced-colon",
        "A colon stands where no key can be: a second one in a line, or a line indented wrongly.",
        "Put text that holds `: ` in quotes; check the indentation of this line.",
    ),
    _Saying(
        ("',' or ']'",),
        "unclosed-bracket",
        "A list in brackets is not closed, or a comma is missing before this place.",
        "Write `]` after the last item and a comma between items.",
    ),
    _Saying(
        ("',' or '}'",),
        "unclosed-bracket",
        "A mapping in braces is not closed, or a comma is missing before this place.",
        "Write `}` after the last value and a comma between entries.",
    ),
    _Saying(
        ("could not find expected ':'",),
        "missing-colon",
        "This key has no colon after it.",
        "Write `key: value`, with a space behind the colon.",
        at_start=True,
    ),
    _Saying(
        ("sequence entries are not allowed", "mapping keys are not allowed"),
        "misplaced-indicator",
        "A list item or a key mark stands where none can be.",
        "Start the item on a line of its own, or put the text in quotes.",
    ),
    _Saying(
        ("block mapping", "block collection", "'-' indicator"),
        "bad-indentation",
        "This line fits neither the block above it nor the one around that.",
        _INDENT_DO,
    ),
    _Saying(
        ("<document start>", "'<document start>'"),
        "after-the-end",
        "Something stands here that belongs to nothing above it.",
        "Delete it, or indent it under a key.",
    ),
    _Saying(
        ("block scalar",),
        "bad-block-text",
        "This block of text does not start as `|` or `>` must.",
        "Write `|` or `>` at the end of the line and the text below it, indented.",
    ),
    _Saying(
        ("node content", "while parsing a node"),
        "missing-value",
        "A value is expected here, and something else stands here.",
        "Write the value, or put it in quotes if it starts with a YAML sign.",
    ),
)


def refuse_syntax(source: Source, error: Any) -> Never:
    """Raise a DocumentError for what the YAML parser found wrong, at the place it gives."""
    mark = getattr(error, "problem_mark", None)
    start = getattr(error, "context_mark", None)
    span = source.point(mark.line, mark.column) if mark is not None else Span(1, 1, 1, 1)
    opening = source.point(start.line, start.column) if start is not None else None
    _refuse_tab(source, span)
    said = f"{getattr(error, 'context', None) or ''} {getattr(error, 'problem', None) or ''}"
    if "cannot start any token" in said:
        _refuse_sign(source, span)
    if any(sign in said for sign in _AFTER_VALUE):
        _refuse_leftover(source, span)
    for saying in _SAYINGS:
        if any(sign in said for sign in saying.signs):
            if saying.at_start and opening is not None:
                span, opening = opening, None
            source.refuse(saying.kind, saying.message, span, saying.do, _related(opening, span))
    source.refuse(
        "yaml-syntax",
        f"This is not YAML: {shorten(said.strip() or str(error))}.",
        span,
        "Compare the line with those around it.",
        _related(opening, span),
    )


def _related(opening: Span | None, span: Span) -> tuple[tuple[str, Span], ...]:
    if opening is None or opening == span:
        return ()
    return (("what it belongs to starts here", opening),)


def _refuse_tab(source: Source, span: Span) -> None:
    """Raise a DocumentError when a tab stands at the place, or indents its line."""
    line = source.lines[span.line - 1]
    indentation = line[: len(line) - len(line.lstrip(" \t"))]
    if "\t" not in indentation and line[span.column - 1 : span.column] != "\t":
        return
    source.refuse(
        "tab-indentation",
        "A tab stands here; YAML is indented with spaces only.",
        span,
        "Put spaces in its place.",
    )


def _refuse_leftover(source: Source, span: Span) -> None:
    """Raise a DocumentError when the place is behind a value on its line."""
    if not source.lines[span.line - 1][: span.column - 1].strip(" -"):
        return
    source.refuse(
        "after-the-value",
        "Something stands here behind the end of a value.",
        span,
        "Put the whole value in one pair of quotes; in single quotes an apostrophe is "
        "written twice.",
    )


def _refuse_sign(source: Source, span: Span) -> Never:
    sign = source.lines[span.line - 1][span.column - 1 : span.column]
    source.refuse(
        "reserved-character",
        f'A value cannot start with "{sign}", which is reserved in YAML.',
        span,
        "Put the value in quotes.",
    )
