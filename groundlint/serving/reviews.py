"""The reviews of what is open: which are wanted, which are made, and what is shown of them."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Callable
from typing import Any

from lsprotocol import types as lsp

from groundlint.language.reader import unmarked_plans
from groundlint.serving import diagnostics, rules
from groundlint.serving.document import Document, open_texts
from groundlint.serving.jobs import Desk, Offer, Reviewed, Text
from groundlint.serving.picture import Picture
from groundlint.serving.worker import FaultError, GoneError, Worker
from groundlint.words.faults import fault

QUIET = 0.6
"""Seconds without a change after which a circuit is solved. A circuit takes seconds, and what is typed on changes
it."""
PATIENCE = 0.5
"""Seconds after which it is said of a text that shows nothing that its review is still being made."""

Publish = Callable[[Document, list[lsp.Diagnostic]], None]


class Reviews:
    """Reviews of the open texts. One process makes those without a circuit, another whole ones; what is no longer the
    text is dropped, and a whole review of it is ended when the next is to begin."""

    def __init__(self, desk: Desk, documents: dict[str, Document], publish: Publish, whole: Callable[[], None]) -> None:
        self.documents = documents
        self.publish = publish
        self.whole_is_there = whole
        self.quick, self.slow = Worker(desk), Worker(desk)
        self.found: dict[str, tuple[Document, Reviewed]] = {}
        self.shown: dict[str, list[lsp.Diagnostic]] = {}
        self._wanted: list[str] = []
        self._task: asyncio.Task[None] | None = None
        self._whole: dict[str, tuple[Document, asyncio.Task[Reviewed | None]]] = {}
        self._offers: dict[str, tuple[Document, asyncio.Task[tuple[Offer, ...]]]] = {}

    def want(self, uri: str) -> None:
        """A text has been opened or changed."""
        self._wanted = [uri, *(one for one in self._wanted if one != uri)]
        self._drop(uri)
        if self._task is None or self._task.done():
            self._task = asyncio.create_task(self._go_on())

    def want_all(self, but: str = "") -> None:
        """What other texts rest on has changed."""
        for uri in [uri for uri in self.documents if uri != but]:
            self.want(uri)

    def forget(self, uri: str) -> None:
        """A text has been closed."""
        self._drop(uri)
        for kept in (self.found, self.shown):
            kept.pop(uri, None)

    def _drop(self, uri: str) -> None:
        """Nobody waits for the whole review of a text any more. A process that is at it goes on, since what it has
        solved is kept, and is ended where another text wants it."""
        for waiting in (self._whole.pop(uri, None), self._offers.pop(uri, None)):
            if waiting is not None:
                waiting[1].cancel()

    def end(self) -> None:
        """Ends the processes, and what waits for them."""
        for uri in list(self.documents):
            self._drop(uri)
        self._wanted.clear()
        self.quick.stop()
        self.slow.stop()

    def of(self, document: Document) -> Reviewed | None:
        """The review of this very text, as far as it is there."""
        found = self.found.get(document.uri)
        return found[1] if found is not None and found[0] is document else None

    def current(self, document: Document) -> bool:
        """Whether a text is still what it was."""
        return self.documents.get(document.uri) is document

    # ---- first reviews ----

    async def _go_on(self) -> None:
        while self._wanted:
            document = self.documents.get(self._wanted.pop(0))
            if document is None:
                continue
            try:
                await self._look_at(document)
            except Exception as error:  # a fault of our own must not stop the others, nor pass for a review
                self._take(document, _failed(error))

    async def _look_at(self, document: Document) -> None:
        if document.of_rules:
            await self._book(document)
        elif document.markdown and not document.fences and not unmarked_plans(document.text):
            self._show(document, [])
        else:
            await self._first(document)

    async def _first(self, document: Document) -> None:
        asked = asyncio.ensure_future(self._asked(self.quick, "first", self._text(document)))
        done, _ = await asyncio.wait({asked}, timeout=PATIENCE)
        if not done and self.current(document) and not self.shown.get(document.uri):
            self._show(document, [diagnostics.note(document, "this text is being reviewed")])
        reviewed: Reviewed = await asked
        if not self.current(document):
            return
        self._take(document, reviewed)
        if reviewed.later:
            self._whole[document.uri] = document, asyncio.create_task(self._solve(document))
        else:
            self.whole_is_there()

    async def _book(self, document: Document) -> None:
        if document.path is None:
            self._show(
                document, [diagnostics.note(document, "this file is not saved yet: of which book it is, is not known")]
            )
            return
        folder = document.path.parent
        book = [one for one in self.documents.values() if one.of_rules and one.path and one.path.parent == folder]
        found = await self._asked(self.quick, "book", document.path, open_texts(self.documents))
        for one in filter(self.current, book):  # wrong or right together; one that has changed since is checked again
            if isinstance(found, Reviewed):
                self._take(one, found)
            else:
                self._show(one, rules.diagnostics(one, found))

    def _text(self, document: Document) -> Text:
        others = open_texts({uri: one for uri, one in self.documents.items() if uri != document.uri})
        return Text(document.name, document.path, document.text, others)

    async def _asked(self, worker: Worker, job: str, *args: Any) -> Any:
        """What comes of a job; where it fails, a review that says so."""
        try:
            return await worker.ask(job, *args)
        except FaultError as error:
            return _failed(error)
        except GoneError:
            return Reviewed("the process that was reviewing it has ended; it is reviewed again when it is changed")

    def _take(self, document: Document, reviewed: Reviewed) -> None:
        self.found[document.uri] = document, reviewed
        self._show(document, diagnostics.diagnostics(document, reviewed))

    def _show(self, document: Document, shown: list[lsp.Diagnostic]) -> None:
        self.shown[document.uri] = shown
        self.publish(document, shown)

    # ---- whole reviews ----

    async def _solve(self, document: Document) -> Reviewed | None:
        """The whole review of a text, once nothing has changed for a while; None where it is no longer the text."""
        await asyncio.sleep(QUIET)
        if not self.current(document):
            return None
        busy = self.slow.busy_with[0] if self.slow.busy_with else None
        if isinstance(busy, Text) and all(
            (one.name, one.text) != (busy.name, busy.text) for one in self.documents.values()
        ):
            self.slow.end()
        reviewed: Reviewed = await self._asked(self.slow, "whole", self._text(document))
        if not self.current(document):
            return None
        try:
            self._take(document, reviewed)
        except Exception as error:  # as above
            self._take(document, _failed(error))
        self.whole_is_there()
        return reviewed

    async def offers(self, document: Document) -> tuple[Offer, ...]:
        """Every edit that is offered for a text, those that a review has proven among them; nothing where it is no
        longer the text."""
        waiting = self._whole.get(document.uri)
        if waiting is not None and waiting[0] is document:
            await asyncio.shield(waiting[1])
        reviewed = self.of(document)
        if reviewed is None or reviewed.failure:
            return ()
        kept = self._offers.get(document.uri)
        if kept is None or kept[0] is not document:
            kept = self._offers[document.uri] = document, asyncio.create_task(self._proven(document))
        return (*await asyncio.shield(kept[1]), *reviewed.offers) if self.current(document) else ()

    async def _proven(self, document: Document) -> tuple[Offer, ...]:
        with contextlib.suppress(GoneError, FaultError):
            offers: tuple[Offer, ...] = await self.slow.ask("repairs", self._text(document))
            return offers
        return ()

    async def picture(self, document: Document, offset: int) -> Picture | None:
        """The line after the step at a place, with what was computed so far; None where there is no review to draw it
        from."""
        reviewed = self.of(document)
        if reviewed is None or reviewed.failure or reviewed.unread:
            return None
        with contextlib.suppress(GoneError, FaultError):
            found: Picture | None = await self.quick.ask(
                "picture", self._text(document), offset, None if reviewed.later else reviewed.electrical
            )
            return found
        return None

    async def mended(self, document: Document) -> str | None:
        """The text with every edit made that mends it; None where that is not known."""
        with contextlib.suppress(GoneError, FaultError):
            text: str | None = await self.slow.ask("mended", self._text(document))
            return text if self.current(document) else None
        return None


def _failed(error: Exception) -> Reviewed:
    """What is said of a text where we have failed."""
    why = error if isinstance(error, FaultError) else fault(error)
    return Reviewed(f"groundlint failed on it ({why}); please report this")
