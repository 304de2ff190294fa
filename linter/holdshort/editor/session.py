"""What is open, what was judged of it and what was told: the whole state of one client."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple

from lsprotocol.types import Diagnostic, TextDocumentContentChangeEvent

from holdshort.editor.buffers import Buffer
from holdshort.editor.diagnostics import Told, diagnostics
from holdshort.editor.homes import Homes
from holdshort.editor.judging import Bench, Judged
from holdshort.editor.locating import Spot, references
from holdshort.editor.mentions import Mention
from holdshort.editor.texts import Texts
from holdshort.editor.uris import same_file
from holdshort.rulebook import Rulebook


class News(NamedTuple):
    """What a client is to show for one file from now on; the version is that of an open text."""

    uri: str
    version: int | None
    diagnostics: list[Diagnostic]


@dataclass(slots=True)
class Session:
    """Takes what a client says, and judges open texts one at a time when it is asked to.

    Everything here runs on one thread, the main one, where alone a rule that never ends can be
    stopped. So a judgement is always one of the text as it is: nothing stale can be told.
    """

    texts: Texts
    rulebook: Rulebook
    runs_folders: bool = False
    today: date | None = None
    bench: Bench = field(init=False)
    waiting: dict[str, None] = field(default_factory=dict[str, None])
    _stale: set[str] = field(default_factory=set[str])
    _judged: dict[str, Judged] = field(default_factory=dict[str, Judged])
    _last_good: dict[str, Judged] = field(default_factory=dict[str, Judged])
    _told: dict[str, Told] = field(default_factory=dict[str, Told])
    _shown: dict[str, News] = field(default_factory=dict[str, "News"])

    def __post_init__(self) -> None:
        """Set up what texts are judged with."""
        homes = Homes(self.texts, self.rulebook, self.runs_folders)
        self.bench = Bench(self.texts, homes, self.today)

    def open(self, uri: str, text: str, version: int | None) -> None:
        """Take up a text, and have it and all that rests on it judged."""
        buffer = self.texts.open(uri, text, version)
        self._has_changed(same_file(buffer.path))

    def change(self, uri: str, changes: list[TextDocumentContentChangeEvent], version: int) -> None:
        """Change an open text; one that is not open is no matter."""
        buffer = self.texts.find(uri)
        if buffer is not None:
            buffer.change(changes, version)
            self._has_changed(same_file(buffer.path))

    def close(self, uri: str) -> list[News]:
        """Forget a text; what rests on the file is judged with what lies on the disk."""
        buffer = self.texts.find(uri)
        if buffer is None:
            return []
        key = same_file(buffer.path)
        self.texts.close(uri)
        for known in (self._judged, self._last_good, self.waiting):
            known.pop(key, None)
        self._stale.discard(key)
        told = self._told.pop(key, {})
        self._has_changed(key)
        silent = News(buffer.uri, None, [])
        self._shown.pop(key, None)
        merged = [self._news(path) for path in told if same_file(path) != key]
        return [silent, *(news for news in merged if news is not None)]

    def all_changed(self) -> None:
        """Have every open text judged: something on the disk has changed."""
        for buffer in self.texts:
            self._must_judge(same_file(buffer.path))

    def _has_changed(self, key: str) -> None:
        if self.texts.at(key) is not None:
            self._must_judge(key)
        for other, judged in self._judged.items():
            if key in judged.files:
                self._must_judge(other)
                self._forget_places(other, key)

    def _must_judge(self, key: str) -> None:
        self.waiting[key] = None
        self._stale.add(key)

    def _forget_places(self, owner: str, key: str) -> None:
        """Drop what was told of places in a text that is another by now."""
        told = self._told.get(owner, {})
        for path in [path for path in told if same_file(path) == key]:
            del told[path]

    def judge_next(self) -> list[News]:
        """Judge the first text that waits, and return what is to be shown for it."""
        key = next(iter(self.waiting), None)
        if key is None:
            return []
        del self.waiting[key]
        buffer = self.texts.at(key)
        return [] if buffer is None else list(self._judge(key, buffer))

    def _judge(self, key: str, buffer: Buffer) -> Iterator[News]:
        judged = self._current(key, buffer)
        before = self._told.get(key, {})
        told = self._told[key] = diagnostics(judged, self.texts)
        for path in dict.fromkeys([judged.path, *told, *before]):
            news = self._news(path)
            if news is not None:
                yield news

    def _news(self, path: str) -> News | None:
        """Return what is to be shown for a file, by all that was judged; None where it is shown."""
        key = same_file(path)
        merged: list[Diagnostic] = []
        for told in self._told.values():
            for other, found in told.items():
                if same_file(other) == key:
                    merged += [one for one in found if one not in merged]
        buffer = self.texts.at(path)
        news = News(self.texts.uri(path), buffer.version if buffer else None, merged)
        if self._shown.get(key) == news:
            return None
        self._shown[key] = news
        return news

    def references(self, judged: Judged, mention: Mention, *, declared: bool) -> list[Spot]:
        """Return every place that names what a mention names; a part is named in many files."""
        own = references(judged, mention, declared=declared)
        if mention.thing != "part":
            return own
        sharing = [
            other
            for other in self._judged.values()
            if other is not judged and same_file(judged.path) in other.files
        ]
        others = [references(other, mention, declared=False) for other in sharing]
        return list(dict.fromkeys([*own, *(spot for found in others for spot in found)]))

    def judged(self, uri: str) -> Judged | None:
        """Return the judgement of a text as it is now, or None where it is not open."""
        buffer = self.texts.find(uri)
        if buffer is None:
            return None
        return self._current(same_file(buffer.path), buffer)

    def _current(self, key: str, buffer: Buffer) -> Judged:
        """Return the judgement of a text as it is now; it is judged once between two changes."""
        known = self._judged.get(key)
        if known is None or key in self._stale:
            known = self._judged[key] = self.bench.judge(buffer)
            self._stale.discard(key)
            if known.document is not None:
                self._last_good[key] = known
        return known

    def last_good(self, uri: str) -> Judged | None:
        """Return the last judgement of a text for which it could be read, if ever it could."""
        current = self.judged(uri)
        if current is None or current.document is not None:
            return current
        buffer = self.texts.find(uri)
        return None if buffer is None else self._last_good.get(same_file(buffer.path))
