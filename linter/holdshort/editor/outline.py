"""What a text is about to say, read line by line: for a text that is being typed.

While a word is half typed the text is often no document. So completion reads it in this tolerant
way: mappings and lists by their indentation, brackets by their signs, to the place of the cursor;
nothing after a mistake is lost but what stands in the same brackets. It knows no more YAML than
the project's files use, and never fails: at worst it offers nothing.
"""

import re
from collections.abc import Sequence
from typing import Final, Literal, NamedTuple

from holdshort.document import Limits, Path

# Possessive, so that no line takes time with the square of its length, whoever wrote it.
_KEY: Final = re.compile(
    r"""(?P<key>"[^"]*+"|'[^']*+'|(?:[^\s#\[\]{},&*!|>%@`"'-]|-(?=[^\s#\[\]{},:]))"""
    r"""(?:[^\s#\[\]{},:]++|:(?!\s|$)|\s++(?!:(?:\s|$)))*+)\s*+:(?=\s|$)"""
)
_PLAIN: Final = re.compile(r"[^,\[\]{}]+")
_PLAIN_VALUE: Final = re.compile(r"[^,\[\]{}]{1,200}")
_DEEPEST: Final = Limits().depth
"""How many mappings and lists may stand in each other; those within are read as if they did not."""


class Level(NamedTuple):
    """One mapping or list that is open at some place of the text.

    ``indent`` is the column at which its entries begin in lines, -1 in brackets; ``path`` leads to
    it.
    """

    kind: Literal["map", "list"]
    path: Path
    indent: int


class Context(NamedTuple):
    """What is typed at the cursor.

    ``path`` leads to the mapping whose key is typed (``key``), or to the value that is typed
    (``value``). ``word`` is what stands there already, up to the cursor, ``rest`` what follows it;
    ``present`` are the keys that the mapping has beside, with their plain values, ``around`` those
    of the mapping that it stands in, and ``parts`` those of every part that the text declares.
    """

    part: Literal["key", "value"]
    path: Path
    word: str
    rest: str
    present: dict[str, str]
    parts: dict[str, dict[str, str]]
    in_brackets: bool
    around: dict[str, str] = {}  # noqa: RUF012  - never changed


class _Reader:
    """Reads lines one after another, keeping the levels that are open.

    ``pending`` holds, by level, the last key while nothing has been read of its value; ``keys`` the
    keys of every mapping, with the plain value that each has on its own line.
    """

    def __init__(self) -> None:
        self.levels: list[Level] = [Level("map", (), 0)]
        self.pending: dict[int, str | None] = {}
        self.counts: dict[Path, int] = {}
        self.keys: dict[Path, dict[str, str]] = {}
        self.text_indent = -1

    @property
    def top(self) -> Level:
        return self.levels[-1]

    @property
    def in_brackets(self) -> bool:
        return self.top.indent < 0

    @property
    def pending_key(self) -> str | None:
        return self.pending.get(len(self.levels) - 1)

    def line(self, text: str) -> None:
        """Read one whole line."""
        body = text.lstrip(" ")
        indent = len(text) - len(body)
        if not body.strip() or body.startswith("#") or 0 <= self.text_indent < indent:
            return
        self.text_indent = -1
        if self.in_brackets and self.goes_on(indent, body):
            self.flow(body, 0)
        else:
            self.block(body, indent)

    def goes_on(self, indent: int, body: str) -> bool:
        """Tell whether a line goes on in the brackets that are open; close them where it does not.

        Brackets that were never closed must not swallow the rest of the file.
        """
        outer = next(level for level in reversed(self.levels) if level.indent >= 0)
        if indent > outer.indent or body[:1] in {"]", "}", ","}:
            return True
        while self.in_brackets:
            self.pop()
        return False

    def pop(self) -> None:
        self.pending.pop(len(self.levels) - 1, None)
        self.levels.pop()

    def push(self, kind: Literal["map", "list"], path: Path, indent: int) -> None:
        if len(self.levels) > _DEEPEST:
            return
        self.levels.append(Level(kind, path, indent))
        self.pending[len(self.levels) - 1] = None
        if kind == "map":
            self.keys.setdefault(path, {})

    def enter(self, indent: int, *, dash: bool) -> None:
        """Close and open levels for an entry at a column of a line."""
        while len(self.levels) > 1 and self.top.indent > indent:
            self.pop()
        if self.top.kind == "list" and self.top.indent == indent and not dash:
            self.pop()
        top, key = self.top, self.pending_key
        opens = top.indent < indent or (dash and top.indent == indent)
        if top.kind == "map" and key is not None and opens:
            self.push("list" if dash else "map", (*top.path, key), indent)

    def items(self, body: str, indent: int) -> tuple[str, int, Path | None]:
        """Read the dashes that begin a line; return what follows, its column, its item's path."""
        path: Path | None = None
        while body.startswith("- ") or body.rstrip() == "-":
            self.enter(indent, dash=True)
            if self.top.kind != "list":
                return "", indent, None
            number = self.counts.get(self.top.path, -1) + 1
            self.counts[self.top.path] = number
            path = (*self.top.path, number)
            rest = body[1:].lstrip(" ")
            indent += len(body) - len(rest)
            body = rest
            if rest.startswith("- "):
                self.push("list", path, indent)
        return body, indent, path

    def block(self, body: str, indent: int) -> None:
        """Read a line that stands in no brackets."""
        body, indent, item = self.items(body, indent)
        found = _KEY.match(body)
        if item is not None:
            if body[:1] in {"{", "["}:
                self.value(item, body)
                return
            if found or not body.strip():
                self.push("map", item, indent)
        if found is not None:
            self.enter(indent, dash=False)
            self.key(_unquoted(found["key"]), body[found.end() :].strip())

    def key(self, key: str, value: str) -> None:
        """Take a key of the mapping that is open, and what follows it on its line."""
        top = self.top
        if top.kind != "map":
            return
        self.keys.setdefault(top.path, {})[key] = _plain_value(value)
        self.pending[len(self.levels) - 1] = key if not value or value[0] == "#" else None
        if value[:1] in {"|", ">"}:
            self.text_indent = top.indent
        elif value[:1] in {"{", "["}:
            self.value((*top.path, key), value)

    def value(self, path: Path, text: str) -> None:
        """Read a value in brackets that begins ``text``."""
        self.push("map" if text[0] == "{" else "list", path, -1)
        self.flow(text, 1)

    def flow(self, text: str, at: int) -> None:
        """Read on within brackets, from one place of a line to its end or theirs."""
        while at < len(text) and self.in_brackets:
            if text[at] == "#" and (at == 0 or text[at - 1] == " "):
                return
            at = self.flow_step(text, at)

    def flow_step(self, text: str, at: int) -> int:
        """Take what stands at one place within brackets; return the place behind it."""
        sign = text[at]
        if sign in "]}":
            self.pop()
        elif sign in "{[":
            self.push("map" if sign == "{" else "list", self.flow_path(), -1)
        elif sign == ",":
            self.pending[len(self.levels) - 1] = None
            if self.top.kind == "list":
                self.counts[self.top.path] = self.counts.get(self.top.path, 0) + 1
        elif not sign.isspace():
            return self.flow_word(text, at)
        return at + 1

    def flow_path(self) -> Path:
        """Return the path of the value that stands next within brackets."""
        top = self.top
        if top.kind == "list":
            return (*top.path, self.counts.setdefault(top.path, 0))
        return (*top.path, self.pending_key or "")

    def flow_word(self, text: str, at: int) -> int:
        found = _KEY.match(text, at)
        if found and self.top.kind == "map":
            key = _unquoted(found["key"])
            value = _PLAIN_VALUE.match(text, found.end())
            self.keys.setdefault(self.top.path, {})[key] = _plain_value(value[0] if value else "")
            self.pending[len(self.levels) - 1] = key
            return found.end()
        if text[at] in "\"'":
            end = text.find(text[at], at + 1)
            return len(text) if end < 0 else end + 1
        plain = _PLAIN.match(text, at)
        return at + 1 if plain is None else plain.end()


def context(lines: Sequence[str], line: int, column: int) -> Context | None:
    """Return what is typed at a line and column, both from 0, or None where nothing can be."""
    if not 0 <= line < len(lines):
        return None
    reader = _Reader()
    for text in lines[:line]:
        reader.line(text)
    before, after = lines[line][:column], lines[line][column:]
    found = _at_cursor(reader, before, after)
    if found is None:
        return None
    if any(sign in after for sign in ",]}"):
        reader.line(f"{' ' * len(before)}{after}")
    for text in lines[line + 1 :]:
        reader.line(text)
    path = found.path if found.part == "key" else found.path[:-1]
    parts = {str(one[1]): keys for one, keys in reader.keys.items() if _is_part(one)}
    return found._replace(
        present=dict(reader.keys.get(path, {})),
        parts=parts,
        around=dict(reader.keys.get(path[:-1], {})),
    )


def _is_part(path: Path) -> bool:
    return len(path) == 2 and path[0] == "parts"  # noqa: PLR2004  - ``parts`` and a name


def _at_cursor(reader: _Reader, before: str, after: str) -> Context | None:
    body = before.lstrip(" ")
    indent = len(before) - len(body)
    if body.startswith("#") or " #" in before or 0 <= reader.text_indent < indent:
        return None
    if reader.in_brackets and (not body or reader.goes_on(indent, body)):
        return _in_brackets(reader, body, after, 0)
    body, indent, item = reader.items(body, indent)
    if item is not None:
        if body[:1] in {"{", "["}:
            reader.push("map" if body[0] == "{" else "list", item, -1)
            return _in_brackets(reader, body, after, 1)
        if not _KEY.match(body):
            return Context("value", item, body, after, {}, {}, in_brackets=False)
        reader.push("map", item, indent)
    return _in_lines(reader, body, indent, after)


def _in_lines(reader: _Reader, body: str, indent: int, after: str) -> Context | None:
    reader.enter(indent, dash=False)
    top = reader.top
    if top.kind != "map":
        return None
    found = _KEY.match(body)
    if found is None:
        if top.indent != indent:
            return None
        return Context("key", top.path, body, after, {}, {}, in_brackets=False)
    value = body[found.end() :]
    if not value:
        return None  # the cursor stands on the colon
    path, value = (*top.path, _unquoted(found["key"])), value.lstrip(" ")
    if value[:1] in {"{", "["}:
        reader.push("map" if value[0] == "{" else "list", path, -1)
        return _in_brackets(reader, value, after, 1)
    return Context("value", path, value, after, {}, {}, in_brackets=False)


def _in_brackets(reader: _Reader, body: str, after: str, start: int) -> Context | None:
    """Return what is typed within brackets, having read all that stands before it."""
    cut = _word_start(body, start)
    word = body[cut:]
    if not word and body[cut - 1 : cut] == ":":
        return None  # the cursor stands on the colon: a space is to be typed first
    reader.flow(body[:cut], start)
    if not reader.in_brackets:
        return None
    if reader.top.kind == "map" and reader.pending_key is None:
        return Context("key", reader.top.path, word, after, {}, {}, in_brackets=True)
    return Context("value", reader.flow_path(), word, after, {}, {}, in_brackets=True)


def _word_start(body: str, start: int) -> int:
    """Return where the word begins that ends ``body``: behind the last sign, colon or space."""
    at = len(body)
    while at > start and body[at - 1] not in "[]{},":
        if body[at - 1] == ":" and (at == len(body) or body[at].isspace()):
            break
        at -= 1
    while at < len(body) and body[at].isspace():
        at += 1
    return at


def _unquoted(key: str) -> str:
    return key[1:-1] if key[:1] in {'"', "'"} else key.strip()


def _plain_value(value: str) -> str:
    bare = value.partition(" #")[0].strip()
    return bare[1:-1] if bare[:1] in {'"', "'"} and bare[-1:] == bare[:1] else bare
