"""One server, a real process, for each file of tests; and an editor that talks to it."""

from __future__ import annotations

import asyncio
import os
import sys
from collections.abc import AsyncIterator, Awaitable, Callable
from pathlib import Path
from typing import Any

import pytest
import pytest_asyncio
from lsprotocol import types as lsp
from pytest_lsp import ClientServerConfig, LanguageClient

from groundlint.serving.places import Lines

HANGS = 300
"""Seconds after which a server that says nothing is taken for dead, so that the run ends."""


def utf16(text: str) -> int:
    return len(text.encode("utf-16-le", "surrogatepass")) // 2


class Editor:
    """What an editor does: texts are opened, changed and asked about; what is published is kept."""

    def __init__(self, client: LanguageClient, folder: Path) -> None:
        self.client = client
        self.folder = folder
        self.texts: dict[str, str] = {}
        self.versions: dict[str, int] = {}
        self.published: dict[str, lsp.PublishDiagnosticsParams] = {}
        self.news = asyncio.Event()

        client.protocol.fm.features.pop("textDocument/publishDiagnostics")  # of the library, which keeps no versions

        @client.feature("textDocument/publishDiagnostics")
        def published(params: lsp.PublishDiagnosticsParams) -> None:
            self.published[params.uri] = params
            self.news.set()

    def open(self, name: str, text: str, *, on_disk: bool = True, language: str = "tpg") -> str:
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        if on_disk:
            path.write_text(text, encoding="utf-8", newline="")
        uri = path.as_uri()
        if uri in self.texts:
            self.close(uri)
        self.show(uri, text, language)
        return uri

    def show(self, uri: str, text: str, language: str = "tpg") -> None:
        """Opens a text. Versions go on where it was open before, so that nothing is taken for what was said then."""
        self.texts[uri], self.versions[uri] = text, self.versions.get(uri, 0) + 1
        item = lsp.TextDocumentItem(uri, language, self.versions[uri], text)
        self.client.text_document_did_open(lsp.DidOpenTextDocumentParams(item))

    def close(self, uri: str) -> None:
        del self.texts[uri]
        self.client.text_document_did_close(lsp.DidCloseTextDocumentParams(lsp.TextDocumentIdentifier(uri)))

    def change(self, uri: str, start: int, end: int, text: str) -> None:
        """Puts a text in the place of a stretch."""
        place = Lines(self.texts[uri], utf16).range(start, end)
        self.texts[uri] = f"{self.texts[uri][:start]}{text}{self.texts[uri][end:]}"
        self.versions[uri] += 1
        self.client.text_document_did_change(
            lsp.DidChangeTextDocumentParams(
                lsp.VersionedTextDocumentIdentifier(self.versions[uri], uri),
                [lsp.TextDocumentContentChangePartial(place, text)],
            )
        )

    def write(self, uri: str, text: str) -> None:
        """Puts another text in the place of the whole."""
        self.change(uri, 0, len(self.texts[uri]), text)

    def at(self, uri: str, words: str, into: int = 0) -> dict[str, Any]:
        """The place of some words, as the parameters of a request have it."""
        place = Lines(self.texts[uri], utf16).position(self.texts[uri].index(words) + into)
        return {"text_document": lsp.TextDocumentIdentifier(uri), "position": place}

    def of(self, uri: str) -> lsp.TextDocumentIdentifier:
        return lsp.TextDocumentIdentifier(uri)

    def stretch(self, uri: str, place: lsp.Range) -> str:
        """The words of a range."""
        lines = Lines(self.texts[uri], utf16)
        return self.texts[uri][lines.offset(place.start) : lines.offset(place.end)]

    def edited(self, uri: str, edits: Any) -> str:
        """The text with edits made that do not overlap."""
        lines, text = Lines(self.texts[uri], utf16), self.texts[uri]
        for edit in sorted(edits, key=lambda one: (one.range.start.line, one.range.start.character), reverse=True):
            text = f"{text[: lines.offset(edit.range.start)]}{edit.new_text}{text[lines.offset(edit.range.end) :]}"
        return text

    async def reviewed(self, uri: str) -> list[lsp.Diagnostic]:
        """What is shown once the text as it now is has been reviewed whole."""
        while True:
            self.news.clear()
            now = self.published.get(uri)
            if now is not None and now.version == self.versions[uri] and not any(map(is_waiting, now.diagnostics)):
                return list(now.diagnostics)
            await asyncio.wait_for(self.news.wait(), HANGS)


def is_waiting(one: lsp.Diagnostic) -> bool:
    return "being reviewed" in one.message or "being computed" in one.message


Start = Callable[..., Awaitable[Editor]]


@pytest_asyncio.fixture(scope="module", loop_scope="module")
async def start(kept_in: Path, tmp_path_factory: pytest.TempPathFactory) -> AsyncIterator[Start]:
    """Starts a server and an editor with it, in a folder whose settings name one book."""
    cache = tmp_path_factory.mktemp("cache")
    kept_in.mkdir(parents=True, exist_ok=True)
    (cache / "groundlint").symlink_to(kept_in)
    started: list[LanguageClient] = []

    async def begin(capabilities: lsp.ClientCapabilities | None = None) -> Editor:
        folder = tmp_path_factory.mktemp("plans")
        (folder / "groundlint.toml").write_text('books = ["practice", "us-29cfr1910-269"]\n')
        command = [sys.executable, "-m", "groundlint", "serve", "--as-of", "2026-06-30"]
        client = await ClientServerConfig(command, server_env={**os.environ, "XDG_CACHE_HOME": str(cache)}).start()
        started.append(client)
        editor = Editor(client, folder)
        asked = capabilities or lsp.ClientCapabilities()
        await client.initialize_session(lsp.InitializeParams(asked, root_uri=folder.as_uri()))
        return editor

    yield begin
    for client in started:
        await client.shutdown_session()
        assert client._server is not None
        assert client._server.returncode == 0
        await client.stop()


@pytest_asyncio.fixture(scope="module", loop_scope="module")
async def editor(start: Start) -> Editor:
    return await start()
