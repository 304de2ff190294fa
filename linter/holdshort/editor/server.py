"""The language server: what a client asks, and what it is told without asking."""

import asyncio
import os
import sys
import time
from collections.abc import Iterable
from typing import Any, Final, cast

from lsprotocol import types
from pygls.lsp.server import LanguageServer

from holdshort import __version__
from holdshort.editor import locating
from holdshort.editor.cards import Card
from holdshort.editor.judging import Judged
from holdshort.editor.mentions import Mention
from holdshort.editor.positions import Lines
from holdshort.editor.protocol import Protocol
from holdshort.editor.schema_tree import warm_up
from holdshort.editor.session import News, Session
from holdshort.editor.texts import Texts
from holdshort.rulebook import Rulebook

PAUSE: Final = 0.15
"""Seconds without a change after which a text is judged."""

_WATCHED: Final = ("**/*.yaml", "**/*.yml")


class Server(LanguageServer):
    """One client's server. Everything runs on the event loop of the main thread.

    A judgement takes some 20 ms, so it is made between messages rather than beside them: only on
    the main thread can a rule that never ends be stopped, and nothing stale can be told.
    """

    def __init__(self, rulebook: Rulebook, pause: float = PAUSE) -> None:
        """Take the rules that count without a hangar file."""
        super().__init__(  # pyright: ignore[reportUnknownMemberType]
            "holdshort",
            __version__,
            text_document_sync_kind=types.TextDocumentSyncKind.Incremental,
            protocol_cls=Protocol,
        )
        self.rulebook = rulebook
        self.pause = pause
        self.session = Session(Texts(), rulebook)
        self._timer: asyncio.Handle | None = None
        self._took = 0.0
        self._is_warm = False

    def report_server_error(self, error: Exception, source: Any) -> None:
        """Say trouble on standard error: a client can do nothing about it."""
        del source
        if os.environ.get("HOLDSHORT_TRACEBACK") == "1":
            sys.stderr.write(f"holdshort: {type(error).__name__}: {error}\n")

    @property
    def exit_code(self) -> int:
        """What the process ends with (protocol 3.17, "Exit Notification")."""
        protocol = cast("Protocol", self.protocol)
        return protocol.exit_code if protocol.exit_code is not None else protocol.left_alone

    # -- from the client ------------------------------------------------------------------

    def begin(self, params: types.InitializeParams) -> None:
        """Take what the client can do and what it asks for."""
        encoding = self.protocol.workspace.position_encoding or types.PositionEncodingKind.Utf16
        options: object = params.initialization_options
        asked = cast("dict[str, object]", options) if isinstance(options, dict) else {}
        runs_folders = asked.get("packs") is True
        self.session = Session(Texts(str(encoding)), self.rulebook, runs_folders)

    def watch_files(self) -> None:
        """Ask the client to tell of files that change on the disk, where it can."""
        workspace = self.client_capabilities.workspace
        watched = workspace.did_change_watched_files if workspace else None
        if watched is None or not watched.dynamic_registration:
            return
        watchers = [types.FileSystemWatcher(glob_pattern=pattern) for pattern in _WATCHED]
        options = types.DidChangeWatchedFilesRegistrationOptions(watchers)
        method = types.WORKSPACE_DID_CHANGE_WATCHED_FILES
        wish = types.Registration("files", method, options)
        self.client_register_capability(types.RegistrationParams([wish]))

    def judge_soon(self) -> None:
        """Judge what waits once the client is quiet; what took long waits longer."""
        if self._timer is not None:
            self._timer.cancel()
        wait = max(self.pause, 2 * self._took)
        self._timer = asyncio.get_running_loop().call_later(wait, self._judge)

    def judge_now(self) -> None:
        """Judge what waits at once, one text at a time, with messages between."""
        if self._timer is not None:
            self._timer.cancel()
        self._timer = asyncio.get_running_loop().call_soon(self._judge)

    def _judge(self) -> None:
        self._timer = None
        started = time.monotonic()
        try:
            news = self.session.judge_next()
        except Exception as error:  # noqa: BLE001  - one text must not end the server
            self.report_server_error(error, None)
            news = []
        self._took = time.monotonic() - started
        self.tell(news)
        if self.session.waiting:
            self.judge_now()
        elif not self._is_warm:
            self._is_warm = True
            asyncio.get_running_loop().call_later(self.pause, warm_up)

    def tell(self, news: list[News]) -> None:
        """Send diagnostics."""
        for one in news:
            self.text_document_publish_diagnostics(
                types.PublishDiagnosticsParams(one.uri, one.diagnostics, one.version)
            )

    # -- for the client -------------------------------------------------------------------

    def lines_of(self, uri: str) -> Lines | None:
        """Return the lines of an open text."""
        buffer = self.session.texts.find(uri)
        return None if buffer is None else buffer.lines

    def readable(self, uri: str) -> Judged | None:
        """Return what is known of an open text of ours that can be read as it stands."""
        judged = self.session.judged(uri)
        if judged is None or judged.document is None or judged.kind == "other":
            return None
        return judged

    def markup(self, card: Card, formats: Iterable[types.MarkupKind] | None) -> types.MarkupContent:
        """Return a card as the client can show it."""
        return card.markup(markdown=formats is None or types.MarkupKind.Markdown in formats)

    def location(self, spot: locating.Spot) -> types.Location:
        """Return a piece of a file as the client counts."""
        texts = self.session.texts
        return types.Location(texts.uri(spot.file), texts.lines(spot.file).range(spot.span))

    def mention(self, uri: str, position: types.Position) -> tuple[Judged, Mention] | None:
        """Return what is named at a position."""
        judged, lines = self.readable(uri), self.lines_of(uri)
        if judged is None or lines is None:
            return None
        found = locating.mention_at(judged, lines.point(position))
        return None if found is None else (judged, found)
