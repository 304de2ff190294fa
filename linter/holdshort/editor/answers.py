"""What the server does about each message of its client."""

import gc
from collections.abc import Callable
from typing import Any, BinaryIO, Final, TypeVar

from lsprotocol import types

from holdshort.editor import completing, hovering, locating, mending, symbols
from holdshort.editor.cards import Card, Line
from holdshort.editor.diagnostics import diagnostic_of
from holdshort.editor.offers import Offer
from holdshort.editor.server import Server
from holdshort.rulebook import Rulebook

_KINDS: Final = {
    "key": types.CompletionItemKind.Property,
    "word": types.CompletionItemKind.EnumMember,
    "part": types.CompletionItemKind.Class,
    "port": types.CompletionItemKind.Interface,
    "surface": types.CompletionItemKind.Field,
    "control function": types.CompletionItemKind.Function,
    "rule": types.CompletionItemKind.Constant,
}
_COMPLETION: Final = types.CompletionOptions(trigger_characters=[".", " ", "{"])
_FIXES: Final = types.CodeActionOptions(code_action_kinds=[types.CodeActionKind.QuickFix])
_MOST_FIXES: Final = 10
"""Each is proved by judging the text that it makes, some 50 ms, while the client waits."""

_Params = TypeVar("_Params")


def serve(rulebook: Rulebook, incoming: BinaryIO, outgoing: BinaryIO) -> int:
    """Serve one client until it is gone; return the exit code."""
    server = Server(rulebook)
    tie(server)
    gc.freeze()  # what was loaded stays: looking through it again and again would cost pauses
    server.start_io(incoming, outgoing)
    return server.exit_code


def tie(server: Server) -> None:
    """Tie every message that the server knows to what is done about it."""

    def to(
        method: str, answer: Callable[[Server, _Params], object], options: object = None
    ) -> None:
        def handler(params: _Params) -> object:
            return answer(server, params)

        register: Any = server.feature(method, options)
        register(handler)

    to(types.INITIALIZE, _initialize)
    to(types.INITIALIZED, _initialized)
    to(types.TEXT_DOCUMENT_DID_OPEN, _opened)
    to(types.TEXT_DOCUMENT_DID_CHANGE, _changed)
    to(types.TEXT_DOCUMENT_DID_CLOSE, _closed)
    to(types.TEXT_DOCUMENT_DID_SAVE, _saved)
    to(types.WORKSPACE_DID_CHANGE_WATCHED_FILES, _changed_on_disk)
    to(types.TEXT_DOCUMENT_HOVER, _hover)
    to(types.TEXT_DOCUMENT_COMPLETION, _completion, _COMPLETION)
    to(types.TEXT_DOCUMENT_CODE_ACTION, _code_actions, _FIXES)
    to(types.TEXT_DOCUMENT_DEFINITION, _definition)
    to(types.TEXT_DOCUMENT_DECLARATION, _definition)
    to(types.TEXT_DOCUMENT_REFERENCES, _references)
    to(types.TEXT_DOCUMENT_DOCUMENT_SYMBOL, _symbols)


# -- notices ------------------------------------------------------------------------------


def _initialize(server: Server, params: types.InitializeParams) -> None:
    server.begin(params)


def _initialized(server: Server, _: types.InitializedParams) -> None:
    server.watch_files()


def _opened(server: Server, params: types.DidOpenTextDocumentParams) -> None:
    document = params.text_document
    server.session.open(document.uri, document.text, document.version)
    server.judge_now()


def _changed(server: Server, params: types.DidChangeTextDocumentParams) -> None:
    document = params.text_document
    server.session.change(document.uri, list(params.content_changes), document.version)
    server.judge_soon()


def _closed(server: Server, params: types.DidCloseTextDocumentParams) -> None:
    server.tell(server.session.close(params.text_document.uri))
    server.judge_soon()


def _saved(server: Server, _: types.DidSaveTextDocumentParams) -> None:
    server.session.all_changed()
    server.judge_now()


def _changed_on_disk(server: Server, _: types.DidChangeWatchedFilesParams) -> None:
    server.session.all_changed()
    server.judge_soon()


# -- questions ----------------------------------------------------------------------------


def _hover(server: Server, params: types.HoverParams) -> types.Hover | None:
    uri = params.text_document.uri
    judged, lines = server.readable(uri), server.lines_of(uri)
    if judged is None or lines is None:
        return None
    found = hovering.hover(judged, lines.point(params.position))
    if found is None:
        return None
    can = server.client_capabilities.text_document
    formats = can.hover.content_format if can and can.hover else None
    return types.Hover(server.markup(found[0], formats), lines.range(found[1]))


def _completion(server: Server, params: types.CompletionParams) -> types.CompletionList | None:
    uri = params.text_document.uri
    lines = server.lines_of(uri)
    if lines is None:
        return None
    last = server.session.last_good(uri)
    rules = last.home.settings.rulebook if last and last.home else server.rulebook
    offers = completing.complete(lines, lines.point(params.position), last, rules)
    if offers is None:
        return None
    place = types.Range(lines.position(*offers.start), lines.position(*offers.end))
    items = [_item(server, offer, place, number) for number, offer in enumerate(offers.found)]
    return types.CompletionList(is_incomplete=False, items=items)


def _item(server: Server, offer: Offer, place: types.Range, number: int) -> types.CompletionItem:
    can = server.client_capabilities.text_document
    item = can.completion.completion_item if can and can.completion else None
    card = Card(Line("key", offer.label), own=offer.about)
    formats = item.documentation_format if item else None
    return types.CompletionItem(
        label=offer.label,
        kind=_KINDS.get(offer.what, types.CompletionItemKind.Value),
        detail=", ".join(word for word in (offer.what, offer.detail) if word),
        documentation=server.markup(card, formats) if offer.about else None,
        sort_text=f"{number:05}",
        filter_text=offer.insert.rstrip(": "),
        insert_text_format=types.InsertTextFormat.PlainText,
        text_edit=types.TextEdit(place, offer.insert),
    )


def _code_actions(server: Server, params: types.CodeActionParams) -> list[types.CodeAction] | None:
    """Return the fixes of the findings whose marks a range touches."""
    uri = params.text_document.uri
    judged, lines = server.readable(uri), server.lines_of(uri)
    wanted = params.context.only
    if judged is None or lines is None or judged.report is None:
        return None
    if wanted is not None and not any(_is_for_fixes(kind) for kind in wanted):
        return None
    touched = [
        (finding, diagnostic)
        for finding in judged.report.findings
        if finding.fix is not None and finding.at.file == judged.path
        for diagnostic in [diagnostic_of(finding, server.session.texts)]
        if _touch(diagnostic.range, params.range)
    ]
    asked = [pair[0] for pair in touched[:_MOST_FIXES]]
    made = mending.mends(judged, asked, server.session.bench, lines)
    shown = {id(finding): diagnostic for finding, diagnostic in touched}
    return [
        types.CodeAction(
            title=one.title,
            kind=types.CodeActionKind.QuickFix,
            diagnostics=[shown[id(one.finding)]],
            edit=_edit(server, uri, one.edits),
        )
        for one in made
    ]


def _is_for_fixes(kind: types.CodeActionKind | str) -> bool:
    """Tell whether a kind that a client asks for is that of fixes, or one that has them in it."""
    asked = str(kind.value) if isinstance(kind, types.CodeActionKind) else kind
    return asked in {"", types.CodeActionKind.QuickFix.value}


def _edit(server: Server, uri: str, edits: tuple[types.TextEdit, ...]) -> types.WorkspaceEdit:
    workspace = server.client_capabilities.workspace
    can = workspace.workspace_edit if workspace else None
    buffer = server.session.texts.find(uri)
    if can is None or not can.document_changes or buffer is None:
        return types.WorkspaceEdit(changes={uri: list(edits)})
    identity = types.OptionalVersionedTextDocumentIdentifier(uri, buffer.version)
    return types.WorkspaceEdit(document_changes=[types.TextDocumentEdit(identity, list(edits))])


def _touch(one: types.Range, other: types.Range) -> bool:
    return _order(one.start) <= _order(other.end) and _order(other.start) <= _order(one.end)


def _order(position: types.Position) -> tuple[int, int]:
    return position.line, position.character


# -- places -------------------------------------------------------------------------------


def _definition(
    server: Server, params: types.DefinitionParams | types.DeclarationParams
) -> list[types.Location] | None:
    found = server.mention(params.text_document.uri, params.position)
    if found is None:
        return None
    return [server.location(spot) for spot in locating.declarations(*found)] or None


def _references(server: Server, params: types.ReferenceParams) -> list[types.Location] | None:
    found = server.mention(params.text_document.uri, params.position)
    if found is None:
        return None
    with_own = params.context.include_declaration
    spots = server.session.references(*found, declared=with_own)
    return [server.location(spot) for spot in spots] or None


def _symbols(
    server: Server, params: types.DocumentSymbolParams
) -> list[types.DocumentSymbol] | None:
    uri = params.text_document.uri
    judged, lines = server.readable(uri), server.lines_of(uri)
    if judged is None or lines is None or judged.document is None:
        return None
    return symbols.symbols(judged.document, lines)
