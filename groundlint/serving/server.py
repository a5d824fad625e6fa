"""The server: the protocol's messages to what answers them.

The texts are kept here, and not by the library, whose lines end at more than the protocol's do. A fault while a message
is answered is an error of that message; the server goes on.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from lsprotocol import types as lsp
from pygls.exceptions import JsonRpcException, JsonRpcInvalidParams, JsonRpcInvalidRequest
from pygls.io_ import run_websocket
from pygls.lsp.server import LanguageServer
from pygls.protocol import LanguageServerProtocol
from pygls.workspace import PositionCodec

from groundlint.language.reader import read_statements
from groundlint.language.statements import Use as UseStatement
from groundlint.reading import read_plan
from groundlint.serving import actions, outline, rule_completion, rules
from groundlint.serving.completion import completions
from groundlint.serving.diagnostics import NAME
from groundlint.serving.document import Document, open_texts, uri_of
from groundlint.serving.hover import hover
from groundlint.serving.jobs import Desk, File, Opened, Text
from groundlint.serving.names import Key, Names, Use
from groundlint.serving.places import Lines
from groundlint.serving.reviews import Reviews
from groundlint.text import Source

PICTURE, RULE = "groundlint/picture", "groundlint/rule"
"""Methods that are not of the protocol, for what is shown beside a text: the line after the step at a place, and the
page of a rule."""
WATCHED = ("**/groundlint.toml", "**/pyproject.toml", "**/*.tpg", "**/*.rule", "**/*.book")


class _Protocol(LanguageServerProtocol):
    """The library's, but that every request has an answer: an editor waits for one too where the request can't be
    understood, or comes after the end (JSON-RPC 2.0, 5)."""

    def structure_message(self, data: dict[str, Any]) -> Any:
        try:
            return super().structure_message(data)
        except JsonRpcException as error:
            if "id" in data and "method" in data:
                self._send_response(data["id"], error=error.to_response_error())
            raise

    def handle_message(self, message: Any) -> None:
        number = getattr(message, "id", None)
        if self._shutdown and number is not None and hasattr(message, "method"):
            self._send_response(number, error=JsonRpcInvalidRequest("the server has been ended").to_response_error())
            return
        super().handle_message(message)


class Server:
    """One editor's server."""

    def __init__(self, desk: Desk, version: str) -> None:
        self.desk = desk
        self.ended_well = False
        self.documents: dict[str, Document] = {}
        self.lsp = LanguageServer(NAME, version, protocol_cls=_Protocol)
        self.reviews = Reviews(desk, self.documents, self._publish, self._refresh)
        for change in (lsp.TEXT_DOCUMENT_DID_OPEN, lsp.TEXT_DOCUMENT_DID_CHANGE, lsp.TEXT_DOCUMENT_DID_CLOSE):
            del self.lsp.protocol.fm.builtin_features[change]
        self._texts()
        self._asked_of_plans()
        self._asked_of_names()
        self._edits()

    def run(self) -> bool:
        """Serves standard input and output to the end; whether the editor has ended it as it should."""
        with os.fdopen(os.dup(1), "wb") as out:  # the library closes what it writes to
            self.lsp.start_io(stdout=out)
        self.reviews.end()
        return self.ended_well

    async def talk(self, socket: Any) -> None:
        """Serves a page of a browser until it goes. ``socket`` receives, sends and closes as a web socket does."""
        try:
            report = self.lsp.report_server_error
            await run_websocket(socket, threading.Event(), self.lsp.protocol, error_handler=report)
        finally:
            self.reviews.end()

    # ---- texts ----

    def _texts(self) -> None:
        feature = self.lsp.feature

        @feature(lsp.INITIALIZED)
        def initialized(_: lsp.InitializedParams) -> None:
            self.reviews.quick.warm()
            watching = self.lsp.client_capabilities.workspace
            files = watching.did_change_watched_files if watching is not None else None
            if files is not None and files.dynamic_registration:
                options = lsp.DidChangeWatchedFilesRegistrationOptions([lsp.FileSystemWatcher(one) for one in WATCHED])
                what = lsp.Registration("watched", lsp.WORKSPACE_DID_CHANGE_WATCHED_FILES, options)
                self.lsp.client_register_capability(lsp.RegistrationParams([what]))

        @feature(lsp.SHUTDOWN)
        def shutdown(_: None) -> None:
            self.ended_well = True
            self.reviews.end()

        @feature(lsp.EXIT)
        def leave(_: None) -> None:
            self.reviews.end()

        @feature(lsp.TEXT_DOCUMENT_DID_OPEN)
        def opened(params: lsp.DidOpenTextDocumentParams) -> None:
            item = params.text_document
            codec = PositionCodec(self.lsp.server_capabilities.position_encoding)
            self._take(Document(item.uri, item.language_id, item.version, item.text, codec.client_num_units))

        @feature(lsp.TEXT_DOCUMENT_DID_CHANGE)
        def changed(params: lsp.DidChangeTextDocumentParams) -> None:
            old = self._document(params.text_document.uri)
            text = old.text
            for change in params.content_changes:
                text = Lines(text, old.units).changed(change)
            self._take(Document(old.uri, old.language, params.text_document.version, text, old.units))

        @feature(lsp.TEXT_DOCUMENT_DID_CLOSE)
        def closed(params: lsp.DidCloseTextDocumentParams) -> None:
            document = self.documents.pop(params.text_document.uri, None)
            self.reviews.forget(params.text_document.uri)
            if document is not None:
                self.lsp.text_document_publish_diagnostics(lsp.PublishDiagnosticsParams(document.uri, []))

        @feature(lsp.TEXT_DOCUMENT_DID_SAVE)
        def saved(params: lsp.DidSaveTextDocumentParams) -> None:
            self.reviews.want_all(but=params.text_document.uri)

        @feature(lsp.WORKSPACE_DID_CHANGE_WATCHED_FILES)
        def on_disk(_: lsp.DidChangeWatchedFilesParams) -> None:
            self.reviews.want_all()

    def _take(self, document: Document) -> None:
        self.documents[document.uri] = document
        path = str(document.path)
        for uri, (_, reviewed) in list(self.reviews.found.items()):
            if uri in self.documents and any(file.path == path for file in reviewed.files.values()):
                self.reviews.want(uri)
        self.reviews.want(document.uri)

    def _document(self, uri: str) -> Document:
        document = self.documents.get(uri)
        if document is None:
            raise JsonRpcInvalidParams(f"{uri} is not open")
        return document

    def _publish(self, document: Document, shown: list[lsp.Diagnostic]) -> None:
        self.lsp.text_document_publish_diagnostics(
            lsp.PublishDiagnosticsParams(document.uri, shown, version=document.version)
        )

    def _refresh(self) -> None:
        """What was computed is there: hints can be asked for again."""
        workspace = self.lsp.client_capabilities.workspace
        if workspace is not None and workspace.inlay_hint is not None and workspace.inlay_hint.refresh_support:
            self.lsp.workspace_inlay_hint_refresh(None)

    def _at(self, params: Any) -> tuple[Document, int]:
        document = self._document(params.text_document.uri)
        return document, document.lines.offset(params.position)

    # ---- what a text says ----

    def _asked_of_plans(self) -> None:
        feature = self.lsp.feature

        @feature(lsp.TEXT_DOCUMENT_HOVER)
        def hovered(params: lsp.HoverParams) -> lsp.Hover | None:
            document, offset = self._at(params)
            if document.of_rules:
                return rules.hover(document, offset)
            use = document.names.at(offset)
            elsewhere = self._elsewhere(document, use.key) if use is not None else None
            return hover(document, offset, self.reviews.of(document), elsewhere[0] if elsewhere is not None else None)

        @feature(lsp.TEXT_DOCUMENT_COMPLETION, lsp.CompletionOptions(trigger_characters=[" "]))
        def completed(params: lsp.CompletionParams) -> list[lsp.CompletionItem]:
            document, offset = self._at(params)
            if document.of_rules:
                declared = rules.declared(document, self._shelf(document), open_texts(self.documents))
                return rule_completion.completions(document, offset, declared)
            reviewed = self.reviews.found.get(document.uri)
            return completions(document, offset, reviewed[1].rules if reviewed is not None else ())

        @feature(lsp.TEXT_DOCUMENT_DOCUMENT_SYMBOL)
        def symbols(params: lsp.DocumentSymbolParams) -> list[lsp.DocumentSymbol]:
            document = self._document(params.text_document.uri)
            return rules.symbols(document) if document.of_rules else outline.symbols(document)

        @feature(lsp.TEXT_DOCUMENT_FOLDING_RANGE)
        def folds(params: lsp.FoldingRangeParams) -> list[lsp.FoldingRange]:
            document = self._document(params.text_document.uri)
            return outline.folds(document, rules.symbols(document) if document.of_rules else outline.symbols(document))

        @feature(lsp.TEXT_DOCUMENT_SEMANTIC_TOKENS_FULL, outline.LEGEND)
        def tokens(params: lsp.SemanticTokensParams) -> lsp.SemanticTokens:
            document = self._document(params.text_document.uri)
            found = rules.rule_tokens(document) if document.of_rules else outline.plan_tokens(document)
            return outline.tokens(document, list(found))

        @feature(lsp.TEXT_DOCUMENT_INLAY_HINT)
        def hints(params: lsp.InlayHintParams) -> list[lsp.InlayHint]:
            document = self._document(params.text_document.uri)
            reviewed = self.reviews.of(document)
            if reviewed is None:
                return []
            start, end = document.lines.offset(params.range.start), document.lines.offset(params.range.end)
            return [
                lsp.InlayHint(document.lines.position(one.at), one.label, tooltip=one.more or None, padding_left=True)
                for one in reviewed.hints
                if start <= one.at <= end
            ]

        @feature(RULE)
        async def explained(params: Any) -> str:
            """The page of a rule: ``textDocument`` and ``rule`` in."""
            found: str = await self.reviews.quick.ask("rule", self._document(params.textDocument.uri).path, params.rule)
            return found

        @feature(PICTURE)
        async def pictured(params: Any) -> dict[str, Any]:
            """What the review came to, and the line after the step at a place: ``textDocument`` and ``position`` in.
            ``status`` is null while rules wait, ``picture`` where the plan was not read whole."""
            document = self._document(params.textDocument.uri)
            offset = document.lines.offset(lsp.Position(params.position.line, params.position.character))
            picture = await self.reviews.picture(document, offset)
            reviewed = self.reviews.of(document)
            status = reviewed.status if reviewed is not None else None
            return {
                "version": document.version,
                "failure": reviewed.failure if reviewed is not None else "",
                "unread": reviewed is not None and reviewed.unread,
                "note": reviewed.note if reviewed is not None else "",
                "status": asdict(status) if status is not None else None,
                "picture": asdict(picture) if picture is not None else None,
            }

    # ---- names ----

    def _asked_of_names(self) -> None:
        feature = self.lsp.feature

        @feature(lsp.TEXT_DOCUMENT_DEFINITION)
        def defined(params: lsp.DefinitionParams) -> list[lsp.Location]:
            document, offset = self._at(params)
            if document.of_rules:
                return self._in_books(document, offset)
            use = document.names.at(offset)
            if use is None:
                return self._used_file(document, offset)
            declared = document.names.declared.get(use.key)
            if declared is not None:
                return [lsp.Location(document.uri, document.lines.range(declared.start, declared.end))]
            found = self._elsewhere(document, use.key)
            return [found[1]] if found is not None else []

        @feature(lsp.TEXT_DOCUMENT_REFERENCES)
        def references(params: lsp.ReferenceParams) -> list[lsp.Location]:
            document, offset = self._at(params)
            if document.of_rules:
                declared = params.context.include_declaration
                named = rules.references(document, offset, self._shelf(document), open_texts(self.documents), declared)
                return self._there(document, named)
            use = document.names.at(offset)
            if use is None:
                return []
            places = {
                (one.start, one.end): None
                for one in document.names.of(use.key)
                if params.context.include_declaration or not one.kind
            }
            return [lsp.Location(document.uri, document.lines.range(*place)) for place in places]

        @feature(lsp.TEXT_DOCUMENT_PREPARE_RENAME)
        def may_be_renamed(params: lsp.PrepareRenameParams) -> lsp.Range | None:
            document, offset = self._at(params)
            if document.of_rules:
                name = rules.may_be_renamed(document, offset, self._shelf(document), open_texts(self.documents))
                return document.lines.range(name.start, name.end) if name is not None else None
            use = document.names.at(offset)
            if use is None or use.key not in document.names.declared:
                return None
            return document.lines.range(use.start, use.end)

        @feature(lsp.TEXT_DOCUMENT_RENAME)
        def renamed(params: lsp.RenameParams) -> lsp.WorkspaceEdit:
            document, offset = self._at(params)
            if document.of_rules:
                texts = open_texts(self.documents)
                places = rules.renamed(document, offset, self._shelf(document), texts, params.new_name)
                if isinstance(places, str):
                    raise JsonRpcInvalidParams(places)
                return self._put(document, places, params.new_name)
            use = document.names.at(offset)
            if use is None:
                raise JsonRpcInvalidParams("no name of the plan stands here")
            found = actions.renamed(document, use, params.new_name)
            if isinstance(found, str):
                raise JsonRpcInvalidParams(found)
            return document.edit(found, self._versioned)

    def _in_books(self, document: Document, offset: int) -> list[lsp.Location]:
        return self._there(
            document, rules.definition(document, offset, self._shelf(document), open_texts(self.documents))
        )

    @staticmethod
    def _there(document: Document, found: Iterable[rules.There]) -> list[lsp.Location]:
        return [
            lsp.Location(uri_of(one.path), Lines(one.text, document.units).range(one.start, one.end)) for one in found
        ]

    def _put(self, document: Document, places: Iterable[rules.There], text: str) -> lsp.WorkspaceEdit:
        """A text in the place of stretches of files, those that are open in the version at hand."""
        edits: dict[str, list[lsp.TextEdit]] = {}
        for place in self._there(document, places):
            edits.setdefault(place.uri, []).append(lsp.TextEdit(place.range, text))
        if not self._versioned:
            return lsp.WorkspaceEdit(changes=dict(edits))
        versions = {uri: one.version for uri, one in self.documents.items()}
        return lsp.WorkspaceEdit(
            document_changes=[
                lsp.TextDocumentEdit(lsp.OptionalVersionedTextDocumentIdentifier(uri, versions.get(uri)), list(some))
                for uri, some in edits.items()
            ]
        )

    def _shelf(self, document: Document) -> tuple[Path, ...]:
        """Where books are looked for, for a file of one."""
        return self.desk.shelf(document.path) if document.path is not None else ()

    def _elsewhere(self, document: Document, key: Key) -> tuple[Use, lsp.Location] | None:
        """Where a file that the plan uses declares a name."""
        for file in self._used(document):
            source = Source(file.path, file.text)
            found = Names(read_statements(source).text.statements, source).declared.get(key)
            if found is not None:
                place = Lines(source.text, document.units).range(found.start, found.end)
                return found, lsp.Location(uri_of(file.path), place)
        return None

    def _used(self, document: Document) -> Iterable[File]:
        """The files that a plan uses, and those that they use, as far as they can be read."""
        if not any(isinstance(one, UseStatement) for one in document.statements):
            return ()
        opener = Opened(self.desk.opener(document.path), Text("", document.path, "", open_texts(self.documents)))
        read_plan(document.source, opener)
        return opener.files.values()

    def _used_file(self, document: Document, offset: int) -> list[lsp.Location]:
        """The file that a statement takes in."""
        one = document.statement_at(offset)
        if not isinstance(one, UseStatement):
            return []
        paths = [file.path for file in self._used(document) if file.path.replace("\\", "/").endswith(f"/{one.path}")]
        return [lsp.Location(uri_of(path), Lines("", document.units).whole()) for path in paths[:1]]

    # ---- edits ----

    @property
    def _versioned(self) -> bool:
        """Whether the editor states the versions of a text that an edit is for."""
        workspace = self.lsp.client_capabilities.workspace
        edits = workspace.workspace_edit if workspace is not None else None
        return bool(edits is not None and edits.document_changes)

    def _edits(self) -> None:
        feature = self.lsp.feature
        kinds: Sequence[lsp.CodeActionKind] = (lsp.CodeActionKind.QuickFix, actions.FIX_ALL)

        @feature(lsp.TEXT_DOCUMENT_FORMATTING)
        def formatted(params: lsp.DocumentFormattingParams) -> list[lsp.TextEdit]:
            document = self._document(params.text_document.uri)
            pieces = actions.formatted(document)
            if isinstance(pieces, str):
                words = f"not laid out: {pieces}"
                self.lsp.window_show_message(lsp.ShowMessageParams(lsp.MessageType.Warning, words))
                return []
            return [lsp.TextEdit(document.lines.range(start, end), text) for start, end, text in pieces]

        @feature(lsp.TEXT_DOCUMENT_CODE_ACTION, lsp.CodeActionOptions(kinds, resolve_provider=True))
        async def offered(params: lsp.CodeActionParams) -> list[lsp.CodeAction]:
            document = self._document(params.text_document.uri)
            only = params.context.only
            found: list[lsp.CodeAction] = []
            offers = () if document.of_rules else await self.reviews.offers(document)
            if only is None or any(lsp.CodeActionKind.QuickFix.startswith(kind) for kind in only):
                start, end = document.lines.offset(params.range.start), document.lines.offset(params.range.end)
                shown = self.reviews.shown.get(document.uri, [])
                found += actions.meant(document, start, end, shown, self._versioned)
                found += actions.offered(document, offers, start, end, shown, self._versioned)
            if any(offer.proven for offer in offers) and (only is None or actions.FIX_ALL in only):
                title = "Mend the plan as far as it can be, each edit reviewed"
                found.append(
                    lsp.CodeAction(title, actions.FIX_ALL, data={"uri": document.uri, "version": document.version})
                )
            return found

        @feature(lsp.CODE_ACTION_RESOLVE)
        async def resolved(action: lsp.CodeAction) -> lsp.CodeAction:
            data: Any = action.data or {}
            document = self._document(data.get("uri", ""))
            if document.version != data.get("version"):
                raise JsonRpcInvalidParams("the text has changed since this was offered")
            text = await self.reviews.mended(document)
            if text is not None:
                action.edit = document.edit(actions.replaced(document.text, text), self._versioned)
            return action
