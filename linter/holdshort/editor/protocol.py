"""The protocol as this server speaks it: open texts are kept here alone, and nonsense is answered.

pygls keeps texts of its own, which splits lines where the protocol does not and fails on texts that
are not open; here its handlers only pass on what the client says.
"""

from collections.abc import Callable, Generator
from typing import Any, cast

from lsprotocol import types
from pygls.exceptions import JsonRpcException, JsonRpcInvalidRequest
from pygls.protocol import LanguageServerProtocol, lsp_method

_Steps = Generator[Any, Any, Any]


class Protocol(LanguageServerProtocol):
    """Hands every notification about texts to the server's own handler, and to nothing else."""

    exit_code: int | None = None

    @lsp_method(types.TEXT_DOCUMENT_DID_OPEN)
    def lsp_text_document__did_open(self, params: types.DidOpenTextDocumentParams) -> _Steps:
        """Pass it on."""
        yield self._own(types.TEXT_DOCUMENT_DID_OPEN), (params,), None

    @lsp_method(types.TEXT_DOCUMENT_DID_CHANGE)
    def lsp_text_document__did_change(self, params: types.DidChangeTextDocumentParams) -> _Steps:
        """Pass it on."""
        yield self._own(types.TEXT_DOCUMENT_DID_CHANGE), (params,), None

    @lsp_method(types.TEXT_DOCUMENT_DID_CLOSE)
    def lsp_text_document__did_close(self, params: types.DidCloseTextDocumentParams) -> _Steps:
        """Pass it on."""
        yield self._own(types.TEXT_DOCUMENT_DID_CLOSE), (params,), None

    @lsp_method(types.EXIT)
    def lsp_exit(self, *args: Any) -> _Steps:
        """End with 0 after a shutdown, with 1 without one (protocol 3.17, "Exit Notification")."""
        self.exit_code = self.left_alone
        yield from super().lsp_exit(*args)  # pyright: ignore[reportUnknownMemberType]

    def _own(self, method: str) -> Callable[..., None]:
        """Return the server's own handler of a message."""
        manager: Any = self.fm
        return cast("Callable[..., None]", manager.features[method])

    @property
    def left_alone(self) -> int:
        """The exit code where the client went without a word: 0 if it had asked for the end."""
        return 0 if self._shutdown else 1

    def structure_message(self, data: dict[str, Any]) -> Any:
        """Read a message; a request that makes no sense is answered: somebody waits for it."""
        try:
            return super().structure_message(data)
        except JsonRpcException as error:
            if "jsonrpc" in data and "method" in data and isinstance(data.get("id"), int | str):
                self._send_response(data["id"], error=error.to_response_error())
            raise

    def handle_message(self, message: Any) -> None:
        """Handle a message; a request before the client has introduced itself is refused."""
        method, number = getattr(message, "method", ""), getattr(message, "id", None)
        early = self._workspace is None and method not in {types.INITIALIZE, types.EXIT}
        if not hasattr(message, "jsonrpc") or (early and number is None):
            return
        if early and number is not None:
            error = JsonRpcInvalidRequest("the client has not initialized the server")
            self._send_response(number, error=error.to_response_error())
            return
        super().handle_message(message)
