"""A client of the language server: it starts the real process and speaks the protocol to it."""

import json
import os
import queue
import shutil
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
PATIENCE = 60.0
Json = dict[str, Any]


class Client:
    """Speaks JSON-RPC 2.0 with Content-Length headers (LSP 3.17, "Base Protocol").

    Written for these tests from the published protocol, and sharing nothing with the server, so
    that it can tell what the server really sent.
    """

    def __init__(self, folder: Path, *arguments: str) -> None:
        command = [sys.executable, "-m", "holdshort", "serve", *arguments]
        self.process = subprocess.Popen(
            command,
            cwd=folder,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            env={**os.environ, "HOLDSHORT_TRACEBACK": "1"},
        )
        self.number = 0
        self.introduced: Json = {}
        self.encoding = "utf-16"
        self.incoming: queue.Queue[Json | None] = queue.Queue()
        self.diagnostics: dict[str, Json] = {}
        self.asked_by_server: list[Json] = []
        self.errors: list[bytes] = []
        threading.Thread(target=self._read, daemon=True).start()
        threading.Thread(target=self._drain, daemon=True).start()

    # -- the wire -------------------------------------------------------------------------

    def _drain(self) -> None:
        assert self.process.stderr is not None
        for line in self.process.stderr:
            self.errors.append(line)

    def _read(self) -> None:
        stream = self.process.stdout
        assert stream is not None
        while True:
            length = 0
            line = stream.readline()
            while line.strip():
                if line.lower().startswith(b"content-length:"):
                    length = int(line.split(b":")[1])
                line = stream.readline()
            if not length:
                self.incoming.put(None)
                return
            self.incoming.put(json.loads(stream.read(length)))

    def send_bytes(self, body: bytes) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write(b"Content-Length: %d\r\n\r\n" % len(body) + body)
        self.process.stdin.flush()

    def send(self, message: Json) -> None:
        self.send_bytes(json.dumps({"jsonrpc": "2.0", **message}).encode())

    def notify(self, method: str, params: object = None) -> None:
        self.send({"method": method, "params": params})

    def _take(self) -> Json:
        message = self.incoming.get(timeout=PATIENCE)
        assert message is not None, f"the server has ended: {b''.join(self.errors).decode()}"
        if message.get("method") == "textDocument/publishDiagnostics":
            self.diagnostics[message["params"]["uri"]] = message["params"]
        elif "method" in message and "id" in message:
            self.asked_by_server.append(message)
            self.send({"id": message["id"], "result": None})
        return message

    def request(self, method: str, params: object = None) -> Any:
        answer = self.answer(method, params)
        assert "error" not in answer, answer
        return answer["result"]

    def answer(self, method: str, params: object = None) -> Json:
        self.number += 1
        self.send({"id": self.number, "method": method, "params": params})
        while True:
            message = self._take()
            if message.get("id") == self.number and "method" not in message:
                return message

    # -- the session ----------------------------------------------------------------------

    def begin(self, *, encodings: list[str] | None = None, options: object = None) -> Json:
        general = {"positionEncodings": encodings} if encodings else {}
        capabilities = {
            "general": general,
            "workspace": {
                "workspaceEdit": {"documentChanges": True},
                "didChangeWatchedFiles": {"dynamicRegistration": True},
            },
            "textDocument": {"hover": {"contentFormat": ["markdown", "plaintext"]}},
        }
        params: Json = {"processId": os.getpid(), "rootUri": None, "capabilities": capabilities}
        if options is not None:
            params["initializationOptions"] = options
        found: Json = self.request("initialize", params)
        self.introduced = found
        self.encoding = found["capabilities"].get("positionEncoding", "utf-16")
        self.notify("initialized", {})
        return found

    def open(self, path: Path, text: str | None = None, *, uri: str = "", version: int = 1) -> str:
        uri = uri or path.as_uri()
        text = path.read_text(encoding="utf-8") if text is None else text
        item = {"uri": uri, "languageId": "yaml", "version": version, "text": text}
        self.diagnostics.pop(uri, None)
        self.notify("textDocument/didOpen", {"textDocument": item})
        return uri

    def replace(self, uri: str, text: str, version: int) -> None:
        self.change(uri, [{"text": text}], version)

    def change(self, uri: str, changes: list[Json], version: int) -> None:
        document = {"uri": uri, "version": version}
        params = {"textDocument": document, "contentChanges": changes}
        self.notify("textDocument/didChange", params)

    def told(self, uri: str, version: int | None = None) -> list[Json]:
        """Wait for the diagnostics of a text, of one version of it, and return them."""
        while True:
            found = self.diagnostics.get(uri)
            if found is not None and (version is None or found.get("version") == version):
                return list(found["diagnostics"])
            self._take()

    def told_until(self, uri: str, holds: Callable[[list[Json]], bool]) -> list[Json]:
        """Wait until what is told of a text is as it should be, and return it."""
        while True:
            found = self.diagnostics.get(uri)
            if found is not None and holds(found["diagnostics"]):
                return list(found["diagnostics"])
            self._take()

    def at(self, uri: str, method: str, position: Json, **more: object) -> Any:
        params = {"textDocument": {"uri": uri}, "position": position, **more}
        return self.request(f"textDocument/{method}", params)

    def end(self) -> int:
        self.request("shutdown")
        self.notify("exit")
        return self.process.wait(timeout=PATIENCE)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a folder with a copy of the large example and its shelf of parts."""
    shutil.copytree(EXAMPLES / "parts", tmp_path / "parts")
    shutil.copy(EXAMPLES / "tarn-swift.yaml", tmp_path)
    (tmp_path / ".git").mkdir()  # the search for a hangar file ends here
    return tmp_path


def started(folder: Path) -> Iterator[Client]:
    """Yield a client of a new server, and leave nothing of it."""
    made = Client(folder)
    yield made
    if made.process.poll() is None:
        made.process.kill()
    made.process.wait(timeout=PATIENCE)
    for stream in (made.process.stdin, made.process.stdout, made.process.stderr):
        if stream is not None:
            stream.close()


@pytest.fixture
def fresh(folder: Path) -> Iterator[Client]:
    """Return the client of a server of its own, that has not introduced itself yet."""
    yield from started(folder)


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Client]:
    """Return the client of a server that several tests ask, each about files of its own."""
    for made in started(tmp_path_factory.mktemp("shared")):
        made.begin()
        yield made
        assert made.end() == 0
        assert b"".join(made.errors) == b""


@pytest.fixture
def client(shared: Client) -> Iterator[Client]:
    """Return the client of the shared server, which is well and has nothing open afterwards."""
    yield shared
    for uri in list(shared.diagnostics):
        shared.notify("textDocument/didClose", {"textDocument": {"uri": uri}})
    nowhere = {"textDocument": {"uri": "file:///nowhere.yaml"}}
    assert shared.request("textDocument/documentSymbol", nowhere) is None
    shared.diagnostics.clear()
