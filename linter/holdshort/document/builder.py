"""From parse events to a tree with places, in one pass and without recursion."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Never

from holdshort.document.limits import Limits
from holdshort.document.place import Path, Span
from holdshort.document.scalars import NumberRefusedError, resolve_plain, shorten
from holdshort.document.source import Source, describe_character, forbidden_in
from holdshort.document.tree import Node, TreeList, TreeMap
from holdshort.document.wording import refuse_syntax

_INSTEAD = (
    "Write the values out; name one part in `parts:` for what many devices share, and a run "
    "of ports such as `1..6` for like ports."
)
_EMPTY_DO = "Write at least one key and its value, such as `aircraft:`."

# A third of the time of Span(...); pyright cannot see through a built-in's own constructor.
_new_tuple: Callable[[type[Span], tuple[int, int, int, int]], Span] = tuple.__new__  # pyright: ignore[reportUnknownMemberType, reportUnknownVariableType]


def build_tree(source: Source, limits: Limits, *, pure: bool = False) -> TreeMap:
    """Build the tree of a decoded file; DocumentError when it is refused.

    The C parser does the work where PyYAML has one, unless `pure` asks for the Python one.
    """
    import yaml  # noqa: PLC0415 - dear to import, and needed only once there is a file

    loader: Any = yaml.BaseLoader if pure else getattr(yaml, "CBaseLoader", yaml.BaseLoader)
    builder = _Builder(source, limits)
    handlers: dict[type[Any], Callable[[Any], None]] = {
        yaml.ScalarEvent: builder.scalar,
        yaml.MappingStartEvent: builder.open_map,
        yaml.MappingEndEvent: builder.close,
        yaml.SequenceStartEvent: builder.open_list,
        yaml.SequenceEndEvent: builder.close,
        yaml.AliasEvent: builder.alias,
        yaml.DocumentStartEvent: builder.open_document,
    }
    try:
        next_event: Callable[[], Any] = loader(source.text).get_event
        for event in iter(next_event, None):
            handler = handlers.get(event.__class__)
            if handler is not None:
                handler(event)
    except (yaml.YAMLError, ValueError) as error:
        # The Python parser lets ValueError through for an escape beyond the last character.
        refuse_syntax(source, error)
    return builder.finish()


class _Builder:
    """The state of one pass: the open collection, the key that waits, and those around them."""

    __slots__ = (
        "around",
        "escapes",
        "key",
        "last",
        "limits",
        "nodes",
        "open",
        "questions",
        "root",
        "seen_document",
        "source",
    )

    def __init__(self, source: Source, limits: Limits) -> None:
        self.source = source
        self.limits = limits
        self.root: TreeMap | None = None
        self.open: TreeMap | TreeList | None = None
        self.key: str | None = None
        self.around: list[tuple[TreeMap | TreeList | None, str | None]] = []
        self.last = Span(1, 1, 1, 1)
        self.nodes = 0
        self.escapes = "\\" in source.text
        self.questions = "?" in source.text
        self.seen_document = False

    def finish(self) -> TreeMap:
        """Return the root; DocumentError when nothing stands in it."""
        if not self.root:
            span = self.root.span if self.root is not None else Span(1, 1, 1, 1)
            self.source.refuse("empty", "The file holds no key and no value.", span, _EMPTY_DO)
        return self.root

    def open_document(self, event: Any) -> None:
        """Refuse directives and a second document."""
        start, end = event.start_mark.line, event.end_mark.line
        span = self.source.point(start, event.start_mark.column)
        if self.seen_document:
            self.source.refuse(
                "second-document",
                "A second document starts here; one file holds one document.",
                span,
                "Delete the line `---`, or move what follows into a file of its own.",
            )
        self.seen_document = True
        if start == end:
            return
        for number in range(start, end):
            line = self.source.lines[number]
            if line.startswith("%") and line.split("#")[0].split() != ["%YAML", "1.2"]:
                self.source.refuse(
                    "directive",
                    f"The directive `{shorten(line)}` is not read; files are YAML 1.2.",
                    Span(number + 1, 1, number + 1, len(line) + 1),
                    "Delete the line.",
                )

    def scalar(self, event: Any) -> None:
        """Take a key or a value."""
        start = event.start_mark
        end = event.end_mark
        span = _new_tuple(Span, (start.line + 1, start.column + 1, end.line + 1, end.column + 1))
        text: str = event.value
        style: str | None = event.style
        if event.anchor is not None or event.tag is not None:
            self.refuse_property(event)
        self.nodes += 1
        if self.nodes > self.limits.nodes or len(text) > self.limits.scalar:
            self.refuse_size(text, span)
        if style:
            span = self.check_style(text, style, span)
        if self.key is None and type(self.open) is TreeMap:
            self.take_key(self.open, text, span, plain=not style)
        elif style:
            self.place(text, span)
        else:
            self.place_plain(text, span)

    def place_plain(self, text: str, span: Span) -> None:
        """Place a plain value, keeping how it was written where it is not text."""
        try:
            value = resolve_plain(text, self.limits.digits)
        except NumberRefusedError as refused:
            do = "Write the number in full, within what an aircraft needs, or as text in quotes."
            self.refuse(refused.kind, str(refused), span, do)
        if type(value) is not str:
            span = self.keep_written(text, span)
        self.place(value, span)

    def keep_written(self, text: str, span: Span) -> Span:
        """Note how a value that is not text was written; return its span, mended."""
        parent, key = self.open, self.key
        if type(parent) is TreeList:
            parent.written[len(parent)] = text
        elif type(parent) is TreeMap and key is not None:
            parent.written[key] = text
            key_span = parent.key_spans[key]
            if not text and key_span.end_line != span.line:
                # The parser puts a value that is left out before the next thing it sees.
                line, column = key_span.end_line, key_span.end_column
                return Span(line, column, line, column)
        return span

    def place(self, value: Node, span: Span) -> None:
        """Put a value where the document stands; the root must be a mapping."""
        parent = self.open
        key = self.key
        self.last = span
        if key is not None and type(parent) is TreeMap:
            parent[key] = value
            parent.value_spans[key] = span
            self.key = None
        elif type(parent) is TreeList:
            parent.append(value)
            parent.value_spans.append(span)
        elif type(value) is TreeMap:
            self.root = value
        else:
            self.refuse_root(value, span)

    def take_key(self, parent: TreeMap, text: str, span: Span, *, plain: bool) -> None:
        """Take a key of the open mapping; it may stand there only once."""
        if plain and text == "<<":
            self.refuse("merge-key", "The merge key `<<` is not read.", span, _INSTEAD)
        if self.questions and (text or not plain):
            self.check_question(span)
        first = parent.key_spans.get(text)
        if first is not None:
            self.source.refuse(
                "duplicate-key",
                f'The key "{shorten(text)}" stands twice in one mapping: '
                f"first on line {first.line}, again on line {span.line}.",
                span,
                "Keep one of the two, or rename one.",
                (("first written here", first),),
                (*self.path(), text),
            )
        parent.key_spans[text] = span
        self.key = text

    def check_question(self, span: Span) -> None:
        """Refuse a key that starts with a question mark between brackets.

        The parsers take it for the sign of a key, as YAML 1.1 did, and drop it.
        """
        line = self.source.lines[span.line - 1]
        if span.column > 1 and line[span.column - 2] == "?":
            point = self.source.point(span.line - 1, span.column - 2)
            message = "Text between brackets cannot start with a question mark."
            self.refuse("bare-question-mark", message, point, "Put the text in quotes.")

    def open_map(self, event: Any) -> None:
        """Start a mapping."""
        self.open_collection(event, TreeMap)

    def open_list(self, event: Any) -> None:
        """Start a list."""
        self.open_collection(event, TreeList)

    def open_collection(self, event: Any, form: type[TreeMap | TreeList]) -> None:
        """Start a mapping or a list, where one may stand."""
        if event.anchor is not None or event.tag is not None:
            self.refuse_property(event)
        mark = event.start_mark
        line, column = mark.line + 1, mark.column + 1
        span = Span(line, column, line, column)
        self.nodes += 1
        if self.nodes > self.limits.nodes:
            self.refuse_size("", span)
        if self.key is None and type(self.open) is TreeMap:
            what = "mapping" if form is TreeMap else "list"
            message = f"A {what} stands where a key is expected; a key is a word or a number."
            point = self.source.point(mark.line, mark.column)
            self.refuse("key-not-scalar", message, point, "Write a name before the colon.")
        if len(self.around) >= self.limits.depth:
            message = f"Mappings and lists stand more than {self.limits.depth} deep in each other."
            point = self.source.point(mark.line, mark.column)
            self.refuse("too-deep", message, point, "Take out the inner levels.")
        if self.open is None and form is TreeList:
            self.refuse_root(TreeList(span), self.source.point(mark.line, mark.column))
        self.around.append((self.open, self.key))
        self.open = form(span)
        self.key = None

    def close(self, event: Any) -> None:
        """End a collection; one without a closing bracket ends with its last child."""
        done = self.open
        if done is None:
            return
        start, end = event.start_mark, event.end_mark
        line, column = end.line + 1, end.column + 1
        if start.line == end.line and start.column == end.column:
            line, column = self.last.end_line, self.last.end_column
        done.span = Span(done.span.line, done.span.column, line, column)
        self.open, self.key = self.around.pop()
        self.place(done, done.span)

    def alias(self, event: Any) -> None:
        """Refuse an alias."""
        message = f"The alias `*{shorten(event.anchor)}` is not read."
        self.refuse("alias", message, _event_span(event), _INSTEAD)

    def check_style(self, text: str, style: str, span: Span) -> Span:
        """Return the span of a quoted or block scalar, its characters checked."""
        if style in "|>":
            return self.trim_block(span)
        if style == '"' and self.escapes:
            found = forbidden_in(text)
            if found is not None:
                kind, description = describe_character(found.group())
                message = f"This text holds {description}, written as an escape."
                self.refuse(kind, message, span, "Delete the escape.")
        return span

    def trim_block(self, span: Span) -> Span:
        """Cut back a block scalar to its last line that holds anything."""
        lines = self.source.lines
        number = min(span.end_line, len(lines))
        piece = lines[number - 1]
        if number == span.end_line:
            piece = piece[: span.end_column - 1]
        while number > span.line and not piece.strip(" \t"):
            number -= 1
            piece = lines[number - 1]
        return Span(span.line, span.column, number, len(piece) + 1)

    def path(self) -> Path:
        """Return the path of what is being read."""
        steps = [_step(parent, key) for parent, key in self.around[1:]]
        if self.open is not None:
            steps.append(_step(self.open, self.key))
        return tuple(step for step in steps if step is not None)

    def refuse(self, kind: str, message: str, span: Span, do: str) -> Never:
        """Raise a DocumentError about what is being read."""
        self.source.refuse(kind, message, span, do, path=self.path())

    def refuse_root(self, value: Node, span: Span) -> Never:
        """Raise a DocumentError about a root that is no mapping."""
        if value is None:
            text = self.source.text.replace("\r\n", "\n").replace("\r", "\n")
            if span.line > text.count("\n") + 1:  # behind the last line, as after a bare `---`
                span = Span(1, 1, 1, 1)
            self.source.refuse("empty", "The file holds no key and no value.", span, _EMPTY_DO)
        what = "a list" if isinstance(value, TreeList) else f'only "{shorten(str(value))}"'
        message = f"The file holds {what}; keys with values are expected."
        close = isinstance(value, str) and ":" in value
        do = "Write a space behind the colon: `key: value`." if close else _EMPTY_DO
        self.source.refuse("not-a-mapping", message, span, do)

    def refuse_property(self, event: Any) -> Never:
        """Raise a DocumentError about an anchor or a tag, which stand before a value."""
        mark = event.start_mark
        line = self.source.lines[int(mark.line)]
        written = (line[int(mark.column) :].split() or [""])[0]
        span = Span(mark.line + 1, mark.column + 1, mark.line + 1, mark.column + 1 + len(written))
        if written.startswith("&"):
            message = f"The anchor `{shorten(written)}` is not read."
            self.refuse("anchor", message, span, _INSTEAD)
        message = f"The tag `{shorten(written)}` is not read; a value is what it looks like."
        self.refuse(
            "tag", message, span, "Delete the tag; put text that looks like a number in quotes."
        )

    def refuse_size(self, text: str, span: Span) -> Never:
        """Raise a DocumentError about too many nodes or a text that is too long."""
        limits = self.limits
        if self.nodes > limits.nodes:
            message = f"The file holds more than {limits.nodes:,} keys and values."
            self.refuse("too-many-nodes", message, span, "Split it into several files.")
        message = f"This text has {len(text):,} characters; at most {limits.scalar:,} are read."
        self.refuse("scalar-too-long", message, span, "Shorten it.")


def _step(parent: TreeMap | TreeList | None, key: str | None) -> str | int | None:
    return len(parent) if type(parent) is TreeList else key


def _event_span(event: Any) -> Span:
    start, end = event.start_mark, event.end_mark
    return Span(start.line + 1, start.column + 1, end.line + 1, end.column + 1)
