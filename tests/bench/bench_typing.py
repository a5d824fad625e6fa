"""From a letter typed to diagnostics shown, through the server's own process: plans of 60, 200 and 500 steps.

Run ``python tests/bench/bench_typing.py``. Lines are typed into a sound plan as an editor tells of them. ``a letter``
is typed once what was shown is of the letter before, so that each waits for its own. ``a pause`` ends a line that was
typed at eight letters a second, whatever was shown: the time is from its last letter, after those that were dropped on
the way. In what is shown first no circuit is solved; ``whole`` is the time from the pause to the review with its
circuit, what the server waits before it included. Time by the clock: other work on the machine counts.
"""

from __future__ import annotations

import asyncio
import sys
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from time import perf_counter

from lsprotocol import types as lsp
from pygls.lsp.client import LanguageClient
from size import SMALLEST
from stepped_plans import plan_of

SIZES, LETTERS, PAUSES = ((60,), 3, 1) if SMALLEST else ((60, 200, 500), 60, 20)
TYPED = "  attach G1 to K1, then to 212 A by H1"
LINE = 12
"""Letters of a line that is typed at once."""
BETWEEN = 0.125
"""Seconds from letter to letter, a quick typist's; common practice, no source."""


class Editor:
    """One text that is typed into, with the time of each change and of what is shown of it."""

    def __init__(self, client: LanguageClient, uri: str, text: str) -> None:
        self.client, self.uri, self.version = client, uri, 1
        self.sent = {1: perf_counter()}
        self.shown: dict[int, list[tuple[float, bool]]] = {}
        self.news = asyncio.Event()
        client.text_document_did_open(lsp.DidOpenTextDocumentParams(lsp.TextDocumentItem(uri, "tpg", 1, text)))

    def published(self, params: lsp.PublishDiagnosticsParams) -> None:
        waiting = ("being reviewed", "being computed")
        whole = not any(word in one.message for one in params.diagnostics for word in waiting)
        self.shown.setdefault(params.version or 0, []).append((perf_counter(), whole))
        self.news.set()

    def type(self, line: int, column: int) -> int:
        """The next letter of a new line at a place; the version that the text then has."""
        letter = TYPED[column] if column else f"{TYPED[0]}\n"
        self.version += 1
        place = lsp.Position(line, column)
        self.sent[self.version] = perf_counter()
        self.client.text_document_did_change(
            lsp.DidChangeTextDocumentParams(
                lsp.VersionedTextDocumentIdentifier(self.version, self.uri),
                [lsp.TextDocumentContentChangePartial(lsp.Range(place, place), letter)],
            )
        )
        return self.version

    async def seen(self, version: int, whole: bool = False) -> float:
        """Seconds from a version to the first that was shown of it or a later one."""
        while True:
            self.news.clear()
            times = [
                at for one, shown in self.shown.items() if one >= version for at, done in shown if done or not whole
            ]
            if times:
                return min(times) - self.sent[version]
            await self.news.wait()


async def main() -> None:
    """Prints milliseconds from change to diagnostics: half of them, and 95 of 100, take no longer."""
    random = Random(1)
    editors: dict[str, Editor] = {}
    with TemporaryDirectory() as folder:
        client = LanguageClient("bench", "1")

        @client.feature(lsp.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS)
        def published(params: lsp.PublishDiagnosticsParams) -> None:
            editors[params.uri].published(params)

        await client.start_io(sys.executable, "-m", "groundlint", "serve")
        await client.initialize_async(lsp.InitializeParams(lsp.ClientCapabilities(), root_uri=Path(folder).as_uri()))
        client.initialized(lsp.InitializedParams())
        for size in SIZES:
            text = plan_of(size)
            uri = (Path(folder) / f"{size}.tpg").as_uri()
            first = text[: text.index("stage isolate")].count("\n") + 1
            editors[uri] = editor = Editor(client, uri, text)
            await editor.seen(1, whole=True)
            took: dict[str, list[float]] = {"a letter": [], "a pause": [], "whole": []}
            line = version = 0
            for number in range(LETTERS):
                if number % LINE == 0:
                    line = random.randrange(first, text.count("\n"))
                took["a letter"].append(await editor.seen(editor.type(line, number % LINE)))
            for _ in range(PAUSES):
                line = random.randrange(first, text.count("\n"))
                for column in range(LINE):
                    version = editor.type(line, column)
                    await asyncio.sleep(BETWEEN)
                took["a pause"].append(await editor.seen(version))
                took["whole"].append(await editor.seen(version, whole=True))
            for name, seconds in took.items():
                said(name, size, seconds)
        await client.shutdown_async(None)
        client.exit(None)
        await client.stop()


def said(name: str, size: int, seconds: list[float]) -> None:
    """A row."""
    spent = sorted(one * 1e3 for one in seconds)
    half, most = spent[len(spent) // 2], spent[max(0, -(-len(spent) * 95 // 100) - 1)]
    print(f"{name:11}{size:5} steps   half {half:7.1f} ms   95 of 100 {most:7.1f} ms   of {len(spent)}")


if __name__ == "__main__":
    asyncio.run(main())
